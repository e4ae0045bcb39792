//! needless-given: a condition is given though no value is open.

use ohmline_circuit::Amount;
use ohmline_syntax::{Diagnostic, Severity};
use ohmline_syntax::{FileSpan, Safety, Span};

use crate::facts::Facts;
use crate::facts::amounts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct NeedlessGiven;

static META: Meta = Meta {
    name: "needless-given",
    severity: Severity::Info,
    group: Group::ClaimsAndAnswers,
    summary: "a condition is given though no value is open",
    why: "`given` fixes values that are written `?`. Where every value is known it fixes nothing: what is meant is a \
          claim, or a value has been filled in since.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1+ -- R1 -- B1-\n\
          given current through R1 = 0.5 A\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1+ -- R1 -- B1-\n\
          claim current through R1 = 0.5 A\n",
    ignore_when: "a value is about to be written `?`",
    fix: "Writes `claim`. No answer changes.",
};

impl Rule for NeedlessGiven {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.circuit.givens.is_empty() || !facts.is_sound() {
            return;
        }
        let params = facts.circuit.elements.iter().map(|element| &element.params);
        let overridden = facts.circuit.states.iter().flat_map(|state| state.overrides.values());
        if params.chain(overridden).any(|params| amounts(params).any(|amount| *amount == Amount::Asked)) {
            return;
        }
        for given in &facts.circuit.givens {
            let start = given.ask.stmt.span.start;
            let word = FileSpan::new(given.ask.stmt.file, Span::new(start, start + "given".len() as u32));
            let message = format!("The {} is given, and no value is left to be found from it", given.ask.text);
            found.push(
                Diagnostic::new(META.name, META.severity, given.ask.at, message)
                    .help("Write `?` for the value that it should fix, or claim it")
                    .fix("Write `claim`", Safety::Safe, word, "claim"),
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
            &super::NeedlessGiven,
            expect![[r#"
            info needless-given: The current through R1 is given, and no value is left to be found from it
              at 4:7 `current through R1`
              help: Write `?` for the value that it should fix, or claim it
              fix: Write `claim` (4:1 `given` -> "claim")
        "#]],
        );
    }
}
