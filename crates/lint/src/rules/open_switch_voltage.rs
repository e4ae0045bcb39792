//! open-switch-voltage: the voltage across an open switch is asked.

use ohmline_circuit::{Params, Quantity, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct OpenSwitchVoltage;

static META: Meta = Meta {
    name: "open-switch-voltage",
    severity: Severity::Hint,
    group: Group::SwitchesAndCases,
    summary: "the voltage across an open switch is asked",
    why: "No current passes an open switch, and yet there is a voltage across it: that between the two points it would \
          join. In studies more than half of the learners answer zero (C. Kautz and D. Timmermann).",
    bad: "battery  B1 = 6 V\n\
          lamp     L1 = 12 ohm\n\
          switch   S1 = open\n\
          B1+ -- S1 -- L1 -- B1-\n\
          find voltage across S1\n",
    good: "battery  B1 = 6 V\n\
          lamp     L1 = 12 ohm\n\
          switch   S1 = open\n\
          B1+ -- S1 -- L1 -- B1-\n\
          find voltage across L1\n",
    ignore_when: "that is what the question is for",
    fix: "None is needed.",
};

impl Rule for OpenSwitchVoltage {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for ask in &facts.circuit.finds {
            let Quantity::VoltageAcross(id) = ask.quantity else { continue };
            let Params::Switch { closed: Some(false) } = facts.circuit.params(ask.state, id) else { continue };
            let Some(volts) = facts.volts(ask.state, id).filter(|volts| *volts != 0.0) else { continue };
            let name = facts.name(id);
            let message = format!(
                "{name} is open and carries nothing, yet {} stands across it: expect many to answer zero",
                wording::float(volts.abs(), Unit::Volt)
            );
            found.push(
                Diagnostic::new(META.name, META.severity, ask.at, message)
                    .ask(format!("Which two points does {name} part, and what are their potentials?")),
            );
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
            &super::OpenSwitchVoltage,
            expect![[r#"
            hint open-switch-voltage: S1 is open and carries nothing, yet 6.00 V stands across it: expect many to answer zero
              at 5:6 `voltage across S1`
              ask: Which two points does S1 part, and what are their potentials?
        "#]],
        );
    }
}
