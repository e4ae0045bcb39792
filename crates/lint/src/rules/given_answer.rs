//! given-answer: what is asked stands in a declaration.

use ohmline_circuit::{Amount, Kind, Quantity};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::facts::amounts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct GivenAnswer;

static META: Meta = Meta {
    name: "given-answer",
    severity: Severity::Info,
    group: Group::ClaimsAndAnswers,
    summary: "what is asked stands in a declaration",
    why: "The voltage of an ideal source, the current of a current source and a value that is declared need no solving: \
          the answer is on the page. Mostly another element was meant.",
    bad: "source   E1 = 6 V\n\
          resistor R1, R2 = 12 ohm\n\
          E1+ -- R1 -- R2 -- E1-\n\
          find voltage across E1\n",
    good: "source   E1 = 6 V\n\
          resistor R1, R2 = 12 ohm\n\
          E1+ -- R1 -- R2 -- E1-\n\
          find voltage across R1\n",
    ignore_when: "reading the declaration is the exercise",
    fix: "None: only you know what should be asked.",
};

impl Rule for GivenAnswer {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for ask in &facts.circuit.finds {
            let (id, given) = match ask.quantity {
                Quantity::VoltageAcross(id) => (id, facts.circuit.element(id).kind == Kind::VoltageSource),
                Quantity::CurrentThrough(id) => (id, facts.circuit.element(id).kind == Kind::CurrentSource),
                Quantity::ValueOf(id) => (id, true),
                _ => continue,
            };
            let known = amounts(facts.circuit.params(ask.state, id))
                .next()
                .is_some_and(|amount| matches!(amount, Amount::Known(_)));
            if given && known {
                let message = format!("The {} is given: it stands in the declaration of {}", ask.text, facts.name(id));
                found.push(
                    Diagnostic::new(META.name, META.severity, ask.at, message)
                        .label(facts.circuit.element(id).value_at, "the answer")
                        .ask("What is there to find?")
                        .help("Ask for what has to be worked out"),
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
            &super::GivenAnswer,
            expect![[r#"
            info given-answer: The voltage across E1 is given: it stands in the declaration of E1
              at 4:6 `voltage across E1`
              ask: What is there to find?
              -- 1:15 `6 V` the answer
              help: Ask for what has to be worked out
        "#]],
        );
    }
}
