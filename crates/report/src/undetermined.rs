//! The quantities without a single value, with their reasons.

use ohmline_circuit::{Circuit, Kind};
use ohmline_solve::{CauseId, StateAnswers, Value};

/// A quantity that has no single value: its name before the element or point, that element or point, and the cause.
pub(crate) struct Undetermined<'a> {
    /// `current through`, say.
    pub of: &'static str,
    /// `R1`, `P1.wiper`, `@fork`.
    pub what: std::borrow::Cow<'a, str>,
    /// Why.
    pub cause: CauseId,
    /// Whether it only follows from another quantity of the same element that is undetermined for the same reason.
    pub follows: bool,
}

/// All of them in one state: elements in text order, then junctions.
pub(crate) fn undetermined<'a>(circuit: &'a Circuit, answers: &'a StateAnswers) -> Vec<Undetermined<'a>> {
    let mut found = Vec::new();
    let cause = |value: Option<&Value>| match value {
        Some(Value::Undetermined(cause)) => Some(*cause),
        _ => None,
    };
    for id in circuit.declared_ids() {
        let element = circuit.element(id);
        let Some(answer) = answers.elements.get(id.index()).and_then(Option::as_ref) else { continue };
        let first = found.len();
        let mut add = |of, what: std::borrow::Cow<'a, str>, value: Option<&Value>| {
            if let Some(cause) = cause(value) {
                found.push(Undetermined { of, what, cause, follows: false });
            }
        };
        let name = || element.name.as_str().into();
        add("current through", name(), answer.current.as_ref());
        add("voltage across", name(), answer.voltage.as_ref());
        if matches!(element.kind, Kind::Potentiometer | Kind::Changeover) {
            for (terminal, value) in element.kind.terminals().iter().zip(&answer.into) {
                add("current into", format!("{}.{terminal}", element.name).into(), Some(value));
            }
        }
        let direct = found.len();
        let mut add = |of, value: Option<&Value>| {
            if let Some(cause) = cause(value) {
                let follows = found[first..direct].iter().any(|earlier: &Undetermined<'_>| earlier.cause == cause);
                found.push(Undetermined { of, what: name(), cause, follows });
            }
        };
        add("power of", Some(&answer.power));
        add("charge of", answer.charge.as_ref());
        add("energy of", answer.energy.as_ref());
    }
    for (node, value) in circuit.nodes.iter().zip(&answers.potentials) {
        if let (Some(cause), false) = (cause(Some(value)), node.names.is_empty()) {
            found.push(Undetermined { of: "potential at", what: node.label.as_str().into(), cause, follows: false });
        }
    }
    found
}
