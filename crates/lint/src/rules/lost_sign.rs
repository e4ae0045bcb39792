//! lost-sign: a claimed value differs from the solution in its sign only.

use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::slip::{self, Slip};

/// See the module.
pub struct LostSign;

static META: Meta = Meta {
    name: "lost-sign",
    severity: Severity::Error,
    group: Group::ClaimsAndAnswers,
    summary: "a claimed value differs from the solution in its sign only",
    why: "The sign says which way: for an element, from left to right in its path counts as positive; for a battery, out \
          of its plus. The opposite sign is another statement, such as that a battery drives where it is charged.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1- -- R1 -- B1+\n\
          claim current through R1 = 0.5 A\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1+ -- R1 -- B1-\n\
          claim current through R1 = 0.5 A\n",
    ignore_when: "never in a key; write statements to judge as text",
    fix: "Writes the value that the circuit gives. The circuit stays, so answers do not change.",
};

impl Rule for LostSign {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for (index, slip) in facts.slips().iter().enumerate() {
            let Some(Slip::Sign) = slip else { continue };
            let tail = "only the sign is off; an element counts from left to right in its path, a source out of its +";
            let question = "Which way does the current really go, and which way counts as positive here?".to_owned();
            found.extend(slip::report(facts, &META, index, tail, question));
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
            &super::LostSign,
            expect![[r#"
                error lost-sign: The current through R1 is -0.5 A, not 0.5 A: only the sign is off; an element counts from left to right in its path, a source out of its +
                  at 4:28 `0.5 A` solved: -0.5 A
                  ask: Which way does the current really go, and which way counts as positive here?
                  fix: Claim -0.5 A (4:28 `0.5 A` -> "-0.5 A")
            "#]],
        );
    }
}
