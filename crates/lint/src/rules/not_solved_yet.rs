//! not-solved-yet: a form that is read but whose answer is still to come.

use ohmline_circuit::Amount;
use ohmline_syntax::{Diagnostic, FileSpan, Severity};

use crate::facts::{Facts, amounts};
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct NotSolvedYet;

static META: Meta = Meta {
    name: "not-solved-yet",
    severity: Severity::Info,
    group: Group::ClaimsAndAnswers,
    summary: "a form that is read but not solved yet",
    why: "The notation knows more than this version solves: values to be found, moments after a change, the tolerance of a \
          prediction. Nothing is guessed in their place; what depends on them is shown as undetermined.",
    bad: "battery  B1 = 4.5 V\nresistor R1 = ? ohm\nB1+ -- R1 -- B1-\n",
    good: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nB1+ -- R1 -- B1-\n",
    ignore_when: "Always: it only says what is left open",
    fix: "None is needed.",
};

impl Rule for NotSolvedYet {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let circuit = facts.circuit;
        let mut say =
            |at: FileSpan, message: String| found.push(Diagnostic::new(META.name, META.severity, at, message));
        let mut any_asked = false;
        for element in &circuit.elements {
            if amounts(&element.params).any(|amount| *amount == Amount::Asked) {
                any_asked = true;
                say(element.value_at, format!("The value of {} is to be found, which is not solved yet", element.name));
            }
        }
        if !any_asked {
            for given in &circuit.givens {
                say(given.ask.stmt, "A `given` fixes a value to be found, which is not solved yet".into());
            }
        }
        for ask in facts.asks().filter(|ask| ask.after.is_some()) {
            say(ask.at, format!("The {} is not solved yet: only steady states are", ask.text));
        }
        for (reading, verdict) in circuit.measured.iter().zip(&facts.answers.measured) {
            if verdict.agrees.is_none() && verdict.predicted.is_ok() && reading.ask.after.is_none() {
                say(
                    reading.ask.stmt,
                    format!("Comparing a reading of the {} with its prediction is not solved yet", reading.ask.text),
                );
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn values_to_be_found() {
        rule_says(
            "not-solved-yet",
            "battery B1 = 4.5 V\n\
             resistor R1 = ? ohm\n\
             B1+ -- R1 -- B1-\n\
             given current through R1 = 0.5 A\n\
             find value of R1\n",
            expect![[r#"
                info not-solved-yet: The value of R1 is to be found, which is not solved yet
                  at 2:15 `? ohm`
            "#]],
        );
    }
}
