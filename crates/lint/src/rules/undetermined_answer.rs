//! undetermined-answer: a question or a claim that has no single answer.

use ohmline_circuit::{Ask, Claim, StateId};
use ohmline_solve::Cause;
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::{Facts, asked_element};
use crate::registry::{Group, Meta, Rule};
use crate::{pieces, words};

/// See the module.
pub struct UndeterminedAnswer;

static META: Meta = Meta {
    name: "undetermined-answer",
    severity: Severity::Warning,
    group: Group::ClaimsAndAnswers,
    summary: "a question or a claim that has no single answer",
    why: "Some quantities have no single value: the voltage between two circuits that nothing joins, say. A real voltmeter would show \
          something there, but not twice the same. Such a question cannot be marked, so better ask another.",
    bad: "battery  B1, B2 = 6 V\nresistor R1, R2 = 12 ohm\nB1+ -- R1 -- B1-\nB2+ -- @far -- R2 -- B2-\n\
          claim voltage from B1+ to @far = 6 V\n",
    good: "battery  B1, B2 = 6 V\nresistor R1, R2 = 12 ohm\nB1+ -- R1 -- B1-\nB2+ -- @far -- R2 -- B2-\nB1- -- B2-\n\
           claim voltage from B1+ to @far = 0 V\n",
    ignore_when: "That there is no single answer is the lesson",
    fix: "None: it takes another wire, another value or another question.",
};

impl Rule for UndeterminedAnswer {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let circuit = facts.circuit;
        for (ask, answer) in circuit.finds.iter().zip(&facts.answers.finds) {
            if let Err(cause) = &answer.value {
                found.extend(report(facts, ask, cause, Severity::Info, "asked here"));
            }
        }
        for (claim, verdict) in circuit.claims.iter().zip(&facts.answers.claims) {
            if let (Claim::Value { ask, .. }, Some(Err(cause))) =
                (claim, verdict.as_ref().map(|verdict| &verdict.solved))
            {
                found.extend(report(facts, ask, cause, Severity::Warning, "claimed here"));
            }
        }
        for (reading, verdict) in circuit.measured.iter().zip(&facts.answers.measured) {
            if let Err(cause) = &verdict.predicted {
                found.extend(report(facts, &reading.ask, cause, Severity::Info, "read here"));
            }
        }
    }
}

fn report(facts: &Facts<'_>, ask: &Ask, cause: &Cause, severity: Severity, here: &str) -> Option<Diagnostic> {
    if is_said_elsewhere(facts, ask, cause) {
        return None;
    }
    let case = facts.circuit.states[ask.state.index()].name.as_ref();
    let place = case.map(|name| format!(" in \"{name}\"")).unwrap_or_default();
    let why = words::cause(facts.circuit, cause);
    let message = format!("The {}{place} has no single value: {why}", ask.text);
    let mut said = Diagnostic::new(META.name, severity, ask.at, message)
        .here(here)
        .ask("Could you find a second answer that fits everything that is given?");
    said.cases = case.iter().map(ToString::to_string).collect();
    said.basis = basis::cause(ask.state, cause).map(Box::new);
    Some(said)
}

/// Whether the cause is a finding of its own.
fn is_said_elsewhere(facts: &Facts<'_>, ask: &Ask, cause: &Cause) -> bool {
    let floats = |node| {
        pieces::of_node(facts, node).is_some_and(|piece| facts.pieces().floats(piece) || facts.broken().piece(piece))
    };
    if asked_element(&ask.quantity).is_some_and(|id| {
        let element = facts.circuit.element(id);
        // Shorted by a case on purpose, or not in the drawing: said where that is.
        !element.is_placed() || pieces::of_element(facts, id).is_some_and(|piece| facts.pieces().floats(piece))
    }) {
        return true;
    }
    match cause {
        Cause::VoltageLoop { .. } | Cause::CurrentCut { .. } | Cause::NoDiodeState { .. } | Cause::NotSteady => true,
        Cause::ZeroLoop { elements } => elements.len() > 1 || is_bypassed(facts, ask.state, elements),
        // Unreadable values are reported at the value; values to be found are not solved yet, which is said at the value.
        Cause::UnknownValue { .. } => true,
        Cause::Floating { at } => floats(*at),
        Cause::Between { from, to, diode } => !diode && (floats(*from) || floats(*to)),
        Cause::NoMeaning { .. } | Cause::SeveralDiodeStates { .. } => false,
    }
}

/// Whether the single element of a loop has both ends at one node, which is reported as such.
fn is_bypassed(facts: &Facts<'_>, _state: StateId, elements: &[ohmline_circuit::ElementId]) -> bool {
    elements.iter().all(|id| facts.two_nodes(*id).is_some_and(|(a, b)| a == b))
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn the_voltage_between_two_circuits() {
        rule_says(
            "undetermined-answer",
            "battery B1, B2 = 6 V\n\
             resistor R1, R2 = 12 ohm\n\
             B1+ -- R1 -- B1-\n\
             B2+ -- @far -- R2 -- B2-\n\
             find voltage from B1+ to @far\n",
            expect![[r#"
                info undetermined-answer: The voltage from B1+ to @far has no single value: nothing that can carry current connects B1+ and @far
                  at 5:6 `voltage from B1+ to @far` asked here
                  ask: Could you find a second answer that fits everything that is given?
            "#]],
        );
    }
}
