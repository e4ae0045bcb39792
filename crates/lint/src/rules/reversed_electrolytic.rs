//! reversed-electrolytic: an electrolytic capacitor with its `-` above its `+`.

use ohmline_circuit::{ElementId, Kind, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::{Facts, is_negative, size};
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct ReversedElectrolytic;

static META: Meta = Meta {
    name: "reversed-electrolytic",
    severity: Severity::Warning,
    group: Group::RatingsAndSafety,
    summary: "an electrolytic capacitor with its - above its +",
    why: "The insulating film of an electrolytic capacitor stands only one polarity. The wrong way round it conducts, heats, and can burst.",
    bad: "battery      B1 = 9 V\nresistor     R1 = 1 kohm\nelectrolytic C1 = 100 uF\nB1+ -- R1 -- -C1+ -- B1-\n",
    good: "battery      B1 = 9 V\nresistor     R1 = 1 kohm\nelectrolytic C1 = 100 uF\nB1+ -- R1 -- +C1- -- B1-\n",
    ignore_when: "The capacitor is made for both polarities; then declare it as `capacitor`",
    fix: "Turns the capacitor round. Its charge changes sign; currents in steady state stay.",
};

impl Rule for ReversedElectrolytic {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<ElementId, Number> = ByState::new();
        for answers in facts.solved() {
            for &id in facts.of_kind(Kind::Electrolytic) {
                if let Some(voltage) = facts.voltage(answers.state, id).filter(|voltage| is_negative(voltage)) {
                    all.add(id, answers.state, size(voltage));
                }
            }
        }
        for (id, seen) in all.into_found() {
            let voltage = &seen[states::worst(&seen, Number::to_f64)].1;
            let name = facts.name(id);
            let message = format!(
                "{name} stands the wrong way round: its - is {} above its +",
                wording::number(voltage, Unit::Volt)
            );
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .ask(format!("Which terminal of {name} is at the higher potential?"))
                .help("Turn it round");
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            said.fixes.extend(crate::places::turn_round(facts, id));
            found.push(said);
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn turned_round() {
        rule_says(
            "reversed-electrolytic",
            "battery B1 = 9 V\n\
             resistor R1 = 1 kohm\n\
             electrolytic C1 = 100 uF\n\
             B1+ -- R1 -- -C1+ -- B1-\n",
            expect![[r#"
                warning reversed-electrolytic: C1 stands the wrong way round: its - is 9.00 V above its +
                  at 4:14 `-C1+`
                  ask: Which terminal of C1 is at the higher potential?
                  help: Turn it round
                  fix: Turn it round: `+C1-` (4:14 `-C1+` -> "+C1-")
            "#]],
        );
    }
}
