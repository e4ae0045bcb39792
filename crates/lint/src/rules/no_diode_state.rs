//! no-diode-state: no combination of conducting and blocking diodes fits.
//!
//! That several combinations fit with different answers cannot be: what a state that satisfies every law gives is the only answer, up to
//! shares within loops of zero resistance, which are reported as such.

use ohmline_circuit::ElementId;
use ohmline_solve::Cause;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::rules::bare_diode;
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct NoDiodeState;

static META: Meta = Meta {
    name: "no-diode-state",
    severity: Severity::Error,
    group: Group::Sources,
    summary: "no combination of conducting and blocking diodes fits",
    why: "An ideal diode with a fixed drop straight across a source cannot conduct (the voltages disagree) and cannot block (it is pushed \
          forward). A real diode would carry a very large current for a moment; it needs a resistor in series.",
    bad: "battery B1 = 6 V\ndiode   D1 = 0.7 V\nB1+ -- +D1- -- B1-\n",
    good: "battery  B1 = 6 V\ndiode    D1 = 0.7 V\nresistor R1 = 100 ohm\nB1+ -- R1 -- +D1- -- B1-\n",
    ignore_when: "Never: no currents fit",
    fix: "None: a resistance in line decides the current.",
};

impl Rule for NoDiodeState {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<Vec<ElementId>, ()> = ByState::new();
        for answers in facts.solved() {
            for cause in &answers.causes {
                if let Cause::NoDiodeState { diodes } = cause {
                    all.add(diodes.clone(), answers.state, ());
                }
            }
        }
        for (diodes, seen) in all.into_found() {
            let names = wording::elements(facts.circuit, &diodes);
            let (can, their) =
                if diodes.len() == 1 { ("can neither conduct nor block", "its") } else { ("fit in no state", "their") };
            let source = match (diodes.as_slice(), seen.first()) {
                ([one], Some((state, ()))) => bare_diode::source_across(facts, *state, *one),
                _ => None,
            };
            let message = match source {
                Some(source) => {
                    let source = facts.name(source);
                    format!("Nothing limits the current through {names}: no resistance stands between it and {source}")
                }
                None => format!("{names} {can}: no current agrees with {their} fixed drop"),
            };
            let at = diodes.first().map(|id| facts.place(*id)).unwrap_or_default();
            let mut said = Diagnostic::new(META.name, META.severity, at, message)
                .ask(format!("What limits the current through {names}?"))
                .help("Put a resistor in series, or give the diode a resistance");
            for diode in diodes.iter().skip(1).take(6) {
                said = said.label(facts.place(*diode), facts.name(*diode));
            }
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            found.push(said);
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_diode_across_a_battery() {
        rule_says(
            "no-diode-state",
            "battery B1 = 6 V\n\
             diode D1 = 0.7 V\n\
             B1+ -- +D1- -- B1-\n",
            expect![[r#"
                error no-diode-state: Nothing limits the current through D1: no resistance stands between it and B1
                  at 3:8 `+D1-`
                  ask: What limits the current through D1?
                  help: Put a resistor in series, or give the diode a resistance
            "#]],
        );
    }
}
