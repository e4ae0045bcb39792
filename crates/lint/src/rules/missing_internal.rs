//! missing-internal: the terminal voltage of an ideal battery is asked.

use ohmline_circuit::Amount;
use ohmline_circuit::{Params, Quantity};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct MissingInternal;

static META: Meta = Meta {
    name: "missing-internal",
    severity: Severity::Info,
    group: Group::Sources,
    summary: "the terminal voltage of an ideal battery is asked",
    why: "Under load the voltage at a battery's terminals falls below its electromotive force by what its internal \
          resistance takes. Without one the answer is the number in the declaration, whatever the load.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1+ -- R1 -- B1-\n\
          find voltage across B1\n",
    good: "battery  B1 = 6 V, internal 0.5 ohm\n\
          resistor R1 = 12 ohm\n\
          B1+ -- R1 -- B1-\n\
          find voltage across B1\n",
    ignore_when: "internal resistance has not been taught yet",
    fix: "None: only you know the resistance.",
};

impl Rule for MissingInternal {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for ask in &facts.circuit.finds {
            let Quantity::VoltageAcross(id) = ask.quantity else { continue };
            let Params::Battery { emf: Amount::Known(emf), internal, .. } = facts.circuit.params(ask.state, id) else {
                continue;
            };
            let ideal = match internal {
                None => true,
                Some(Amount::Known(ohms)) => *ohms == 0,
                Some(_) => false,
            };
            if ideal && facts.circuit.element(id).is_placed() {
                let name = facts.name(id);
                let emf = crate::wording::exact(emf, ohmline_circuit::Unit::Volt);
                let message =
                    format!("{name} has no internal resistance, so the voltage across it is {emf} under any load");
                found.push(
                    Diagnostic::new(META.name, META.severity, ask.at, message)
                        .label(facts.circuit.element(id).declared, "no `internal` here")
                        .ask(format!("Does the voltage across {name} change when more current is drawn?"))
                        .help("Add `, internal ... ohm` to its declaration if the load should matter"),
                );
            }
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
            &super::MissingInternal,
            expect![[r#"
            info missing-internal: B1 has no internal resistance, so the voltage across it is 6.00 V under any load
              at 4:6 `voltage across B1`
              ask: Does the voltage across B1 change when more current is drawn?
              -- 1:10 `B1` no `internal` here
              help: Add `, internal ... ohm` to its declaration if the load should matter
        "#]],
        );
    }
}
