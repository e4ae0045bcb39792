//! voltage-sag: a battery loses much of its voltage inside itself.

use ohmline_circuit::{ElementId, Kind, Law, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::rules::bare_diode;
use crate::rules::shorted_source::is_at_shorted_source;
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct VoltageSag;

static META: Meta = Meta {
    name: "voltage-sag",
    severity: Severity::Info,
    group: Group::Sources,
    summary: "a battery loses much of its voltage inside itself",
    why: "What the internal resistance takes is lost to the load and heats the battery. Where a quarter and more is lost \
          the load is too heavy for the battery, and a small change of the load changes everything.",
    bad: "battery  B1 = 6 V, internal 2 ohm\n\
          resistor R1 = 2 ohm\n\
          B1+ -- R1 -- B1-\n",
    good: "battery  B1 = 6 V, internal 0.2 ohm\n\
          resistor R1 = 2 ohm\n\
          B1+ -- R1 -- B1-\n",
    ignore_when: "lost voltage or matched load is the lesson",
    fix: "None: a stronger battery or a lighter load, as you choose.",
};

impl Rule for VoltageSag {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<ElementId, (f64, f64)> = ByState::new();
        // A diode without a resistor is reported as that.
        let bare = bare_diode::bare(facts);
        for answers in facts.solved() {
            for &id in facts.of_kind(Kind::Battery).iter().filter(|id| bare.iter().all(|(_, own, _)| own != *id)) {
                let Some(Law::Emf { emf, internal }) = facts.law_of(answers.state, id) else { continue };
                if internal == 0 || emf <= 0 {
                    continue;
                }
                let (Some(volts), Some(current)) = (facts.volts(answers.state, id), facts.amperes(answers.state, id))
                else {
                    continue;
                };
                let emf = ohmline_solve::Number::exact(emf).to_f64();
                let sags = current > 0.0 && volts < emf * facts.limits().sagging_share * (1.0 - 1e-9);
                if sags && !is_at_shorted_source(facts, answers.state, id) {
                    all.add(id, answers.state, (volts, emf));
                }
            }
        }
        for (id, seen) in all.into_found() {
            let (volts, emf) = seen[states::worst(&seen, |(volts, emf)| 1.0 - volts / emf)].1;
            let name = facts.name(id);
            let (volts, emf) = (wording::float(volts, Unit::Volt), wording::float(emf, Unit::Volt));
            let message = format!("{name} drops to {volts} under its load, from {emf} without");
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .ask(format!("How much of the {emf} of {name} reaches the load, and where is the rest?"))
                .help("Lighten the load, or take a battery of less internal resistance");
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            found.push(said);
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::VoltageSag,
            expect![[r#"
            info voltage-sag: B1 drops to 3.00 V under its load, from 6.00 V without
              at 3:1 `B1+`
              ask: How much of the 6.00 V of B1 reaches the load, and where is the rest?
              help: Lighten the load, or take a battery of less internal resistance
        "#]],
        );
    }
}
