//! needless-digits: a claim has more digits than any data bear.

use ohmline_circuit::Claim;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct NeedlessDigits;

static META: Meta = Meta {
    name: "needless-digits",
    severity: Severity::Hint,
    group: Group::ClaimsAndAnswers,
    summary: "a claim has more digits than any data bear",
    why: "Three or four digits are what data and instruments give. A claim of six and more holds only as long as nobody \
          touches a value, and teaches that digits are accuracy.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 7 ohm\n\
          B1+ -- R1 -- B1-\n\
          claim current through R1 = 0.857143 A\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 7 ohm\n\
          B1+ -- R1 -- B1-\n\
          claim current through R1 = 0.857 A\n",
    ignore_when: "the digits check the arithmetic",
    fix: "None: only you know how many are wanted.",
};

impl Rule for NeedlessDigits {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for (claim, verdict) in facts.circuit.claims.iter().zip(&facts.answers.claims) {
            let Claim::Value { ask, stated, .. } = claim else { continue };
            let holds = verdict.as_ref().is_some_and(|verdict| verdict.holds == Some(true));
            if holds && stated.last_digit.is_some() && stated.digits >= 6 {
                let message = format!(
                    "The {} is claimed with {} digits; three or four are what data bear",
                    ask.text, stated.digits
                );
                found.push(
                    Diagnostic::new(META.name, META.severity, stated.at, message)
                        .ask("How many digits do the values have that this was worked out from?"),
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
            &super::NeedlessDigits,
            expect![[r#"
            hint needless-digits: The current through R1 is claimed with 6 digits; three or four are what data bear
              at 4:28 `0.857143 A`
              ask: How many digits do the values have that this was worked out from?
        "#]],
        );
    }
}
