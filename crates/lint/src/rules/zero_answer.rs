//! zero-answer: what is asked is zero by the nature of the element.

use ohmline_circuit::{Kind, Law, Quantity};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct ZeroAnswer;

static META: Meta = Meta {
    name: "zero-answer",
    severity: Severity::Hint,
    group: Group::ClaimsAndAnswers,
    summary: "what is asked is zero by the nature of the element",
    why: "No current passes an open switch or an ideal voltmeter, and no voltage stands across a closed switch or an ideal \
          ammeter, whatever the circuit. That may be the very point of the question.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          ammeter  A1\n\
          B1+ -- +A1- -- R1 -- B1-\n\
          find voltage across A1\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          ammeter  A1\n\
          B1+ -- +A1- -- R1 -- B1-\n\
          find current through A1\n",
    ignore_when: "that is what the question is for",
    fix: "None is needed.",
};

impl Rule for ZeroAnswer {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for ask in &facts.circuit.finds {
            let (id, zero) = match ask.quantity {
                Quantity::CurrentThrough(id) => (id, matches!(facts.law_of(ask.state, id), Some(Law::Open))),
                Quantity::VoltageAcross(id) => (id, matches!(facts.law_of(ask.state, id), Some(Law::Short))),
                Quantity::PowerOf(id) => (id, matches!(facts.law_of(ask.state, id), Some(Law::Open | Law::Short))),
                _ => continue,
            };
            let kind = facts.circuit.element(id).kind;
            if zero && matches!(kind, Kind::Switch | Kind::Ammeter | Kind::Voltmeter | Kind::Fuse) {
                let message =
                    format!("The {} is zero whatever the circuit, since {} is ideal", ask.text, facts.name(id));
                found.push(
                    Diagnostic::new(META.name, META.severity, ask.at, message)
                        .ask(format!("What does an ideal {} do to voltage and current?", kind.word())),
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
            &super::ZeroAnswer,
            expect![[r#"
            hint zero-answer: The voltage across A1 is zero whatever the circuit, since A1 is ideal
              at 5:6 `voltage across A1`
              ask: What does an ideal ammeter do to voltage and current?
        "#]],
        );
    }
}
