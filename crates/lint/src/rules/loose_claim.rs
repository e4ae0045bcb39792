//! loose-claim: a claim allows for nearly anything.

use ohmline_circuit::{Claim, Rational, Within};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct LooseClaim;

static META: Meta = Meta {
    name: "loose-claim",
    severity: Severity::Warning,
    group: Group::ClaimsAndAnswers,
    summary: "a claim allows for nearly anything",
    why: "A claim that holds within half its value cannot fail, so it checks nothing. Mostly the unit of the tolerance is \
          wrong: an absolute value instead of percent.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1+ -- R1 -- B1-\n\
          claim current through R1 = 0.5 A within 80%\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1+ -- R1 -- B1-\n\
          claim current through R1 = 0.5 A within 5%\n",
    ignore_when: "only the order of size is claimed",
    fix: "None: only you know how close it should be.",
};

impl Rule for LooseClaim {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for claim in &facts.circuit.claims {
            let Claim::Value { ask, stated, within: Some(within) } = claim else { continue };
            let loose = match within {
                Within::Relative(share) => *share >= Rational::from_signeds(1, 2),
                Within::Absolute(width) => {
                    stated.value != 0 && {
                        let size = if stated.value < 0 { -&stated.value } else { stated.value.clone() };
                        width * Rational::from(2) >= size
                    }
                }
            };
            if loose {
                let message = format!(
                    "The claim about the {} allows for half its value and more, so it checks nothing",
                    ask.text
                );
                found.push(
                    Diagnostic::new(META.name, META.severity, stated.at, message)
                        .ask("Which values would this claim still call right?")
                        .help("Allow for a few percent, as in `within 2%`"),
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
            &super::LooseClaim,
            expect![[r#"
            warning loose-claim: The claim about the current through R1 allows for half its value and more, so it checks nothing
              at 4:28 `0.5 A`
              ask: Which values would this claim still call right?
              help: Allow for a few percent, as in `within 2%`
        "#]],
        );
    }
}
