//! slipped-prefix: a claimed value has the right digits and the wrong prefix.

use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::slip::{self, Slip};

/// See the module.
pub struct SlippedPrefix;

static META: Meta = Meta {
    name: "slipped-prefix",
    severity: Severity::Error,
    group: Group::ClaimsAndAnswers,
    summary: "a claimed value has the right digits and the wrong prefix",
    why: "Milli for nothing, kilo for mega: the digits are right and the answer is a thousand times off. It is the \
          commonest slip of all in electricity, and no lamp or fuse forgives it.",
    bad: "battery  B1 = 12 V\n\
          resistor R1 = 2.4 kohm\n\
          B1+ -- R1 -- B1-\n\
          claim current through R1 = 5.0 A\n",
    good: "battery  B1 = 12 V\n\
          resistor R1 = 2.4 kohm\n\
          B1+ -- R1 -- B1-\n\
          claim current through R1 = 5.0 mA\n",
    ignore_when: "never in a key; write statements to judge as text",
    fix: "Writes the value that the circuit gives. The circuit stays, so answers do not change.",
};

impl Rule for SlippedPrefix {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for (index, slip) in facts.slips().iter().enumerate() {
            let Some(Slip::Prefix(power)) = slip else { continue };
            let tail = format!("the digits are right, a prefix is off by 10^{}, here or in a value", 3 * power);
            let question = "Do the units on both sides fit: volts over ohms, volts over kilohms?".to_owned();
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
            &super::SlippedPrefix,
            expect![[r#"
                error slipped-prefix: The current through R1 is 5.00 mA, not 5.0 A: the digits are right, a prefix is off by 10^3, here or in a value
                  at 4:28 `5.0 A` solved: 5.00 mA
                  ask: Do the units on both sides fit: volts over ohms, volts over kilohms?
                  fix: Claim 5.00 mA (4:28 `5.0 A` -> "5.00 mA")
            "#]],
        );
    }
}
