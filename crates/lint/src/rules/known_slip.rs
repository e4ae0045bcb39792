//! known-slip: a claimed value is what a common slip gives.

use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::slip::{self, Slip};

/// See the module.
pub struct KnownSlip;

static META: Meta = Meta {
    name: "known-slip",
    severity: Severity::Error,
    group: Group::ClaimsAndAnswers,
    summary: "a claimed value is what a common slip gives",
    why: "Some slips are so common that their results are known: an equal split of the current, the whole battery voltage \
          across each element, resistances side by side that are added up. Knowing which one fits says what to talk about.",
    bad: "battery  B1 = 21 V\n\
          resistor R1 = 68 ohm\n\
          resistor R2 = 120 ohm\n\
          resistor R3 = 180 ohm\n\
          B1+ -- R1 -- ( R2 | R3 ) -- B1-\n\
          claim current through R2 = 75 mA\n",
    good: "battery  B1 = 21 V\n\
          resistor R1 = 68 ohm\n\
          resistor R2 = 120 ohm\n\
          resistor R3 = 180 ohm\n\
          B1+ -- R1 -- ( R2 | R3 ) -- B1-\n\
          claim current through R2 = 90 mA\n",
    ignore_when: "never in a key; write statements to judge as text",
    fix: "Writes the value that the circuit gives. The circuit stays, so answers do not change.",
};

impl Rule for KnownSlip {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for (index, slip) in facts.slips().iter().enumerate() {
            let Some(Slip::Model(words)) = slip else { continue };
            let tail = format!("that is what {words}");
            let question =
                "Which law did you use, and do its voltage, current and resistance belong to the same element?"
                    .to_owned();
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
            &super::KnownSlip,
            expect![[r#"
                error known-slip: The current through R2 is 90 mA, not 75 mA: that is what an equal split among R2 and R3 gives
                  at 6:28 `75 mA` solved: 90 mA
                  ask: Which law did you use, and do its voltage, current and resistance belong to the same element?
                  fix: Claim 90 mA (6:28 `75 mA` -> "90 mA")
            "#]],
        );
    }
}
