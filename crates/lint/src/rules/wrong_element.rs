//! wrong-element: a claimed value is that of another element.

use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::slip::{self, Slip};
use crate::wording;

/// See the module.
pub struct WrongElement;

static META: Meta = Meta {
    name: "wrong-element",
    severity: Severity::Error,
    group: Group::ClaimsAndAnswers,
    summary: "a claimed value is that of another element",
    why: "Two elements beside each other, two numbers that have changed places: a current divider upside down, or the row \
          above in the table. The number is right and the name is not.",
    bad: "battery  B1 = 21 V\n\
          resistor R1 = 68 ohm\n\
          resistor R2 = 120 ohm\n\
          resistor R3 = 180 ohm\n\
          B1+ -- R1 -- ( R2 | R3 ) -- B1-\n\
          claim current through R2 = 60 mA\n",
    good: "battery  B1 = 21 V\n\
          resistor R1 = 68 ohm\n\
          resistor R2 = 120 ohm\n\
          resistor R3 = 180 ohm\n\
          B1+ -- R1 -- ( R2 | R3 ) -- B1-\n\
          claim current through R3 = 60 mA\n",
    ignore_when: "never in a key; write statements to judge as text",
    fix: "Writes the value that the circuit gives. The circuit stays, so answers do not change.",
};

impl Rule for WrongElement {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for (index, slip) in facts.slips().iter().enumerate() {
            let Some(Slip::Elements(elements)) = slip else { continue };
            let tail = format!(
                "that is what {} {}",
                wording::elements(facts.circuit, elements),
                wording::verb(elements.len(), "has", "have")
            );
            let question =
                format!("Does this number belong to it, or to {}?", wording::elements(facts.circuit, elements));
            found.extend(slip::report(facts, &META, index, &tail, question));
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
            &super::WrongElement,
            expect![[r#"
                error wrong-element: The current through R2 is 90 mA, not 60 mA: that is what R3 has
                  at 6:28 `60 mA` solved: 90 mA
                  ask: Does this number belong to it, or to R3?
                  fix: Claim 90 mA (6:28 `60 mA` -> "90 mA")
            "#]],
        );
    }
}
