//! zero-resistance: a resistor or a lamp has no resistance.

use ohmline_circuit::{Amount, Kind, Params};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct ZeroResistance;

static META: Meta = Meta {
    name: "zero-resistance",
    severity: Severity::Warning,
    group: Group::ValuesAndUnits,
    summary: "a resistor or a lamp has no resistance",
    why: "A resistance of zero is a wire: whatever stands beside it is shorted, and the share of current between two of \
          them is undecided. Draw a wire, or give the value.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          resistor R2 = 0 ohm\n\
          B1+ -- R1 -- R2 -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          resistor R2 = 0.5 ohm\n\
          B1+ -- R1 -- R2 -- B1-\n",
    ignore_when: "a link of zero ohms is really fitted",
    fix: "None: only you know the value.",
};

impl Rule for ZeroResistance {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for id in facts.of_kinds(&[Kind::Resistor, Kind::Lamp]) {
            let element = facts.circuit.element(id);
            let (Params::Resistor { resistance: Amount::Known(ohms), .. }
            | Params::Lamp { resistance: Amount::Known(ohms), .. }) = &element.params
            else {
                continue;
            };
            let Some((from, to)) = facts.two_nodes(id).filter(|_| *ohms == 0) else { continue };
            let (from, to) = (wording::node(facts.circuit, from), wording::node(facts.circuit, to));
            let message = format!("{} has no resistance, so it is a wire from {from} to {to}", element.name);
            found.push(
                Diagnostic::new(META.name, META.severity, element.value_at, message)
                    .ask(format!("What does {} do that a wire would not do?", element.name))
                    .help("Give its value, or draw a wire instead"),
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
            &super::ZeroResistance,
            expect![[r#"
            warning zero-resistance: R2 has no resistance, so it is a wire from the point between R1 and R2 to B1-
              at 3:15 `0 ohm`
              ask: What does R2 do that a wire would not do?
              help: Give its value, or draw a wire instead
        "#]],
        );
    }
}
