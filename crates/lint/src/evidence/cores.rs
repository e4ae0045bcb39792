//! What series and parallel leave: every resistance, and every point with what meets there.

use ohmline_circuit::ElementId;
use ohmline_syntax::{Evidence, EvidenceKind, EvidenceStep};

use super::Teller;
use crate::core::{Core, Edge};
use crate::wording;

/// All that is left between two points.
pub(super) fn core(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let [from, to] = teller.nodes()[..] else { return None };
    let core = Core::between(teller.facts, teller.state, from, to, teller.elements().first().copied());
    if core.edges().is_empty() {
        return None;
    }
    let mut steps: Vec<EvidenceStep> = core
        .edges()
        .iter()
        .map(|edge| {
            let [a, b] = edge.ends.map(|node| teller.node(node));
            let text = match edge.members.len() {
                1 => format!("{}, from {a} to {b}", name(teller, edge)),
                _ => format!("{}, put together, from {a} to {b}", name(teller, edge)),
            };
            teller.step(edge.members[0], None, text)
        })
        .collect();
    for (node, edges, asked) in core.points() {
        let names: Vec<&str> = edges.iter().map(|edge| teller.facts.name(edge.members[0])).collect();
        let place = teller.node(node);
        let names = wording::list(&names);
        let text = match (asked, edges.len()) {
            (true, 1) => format!("at {place}, which is asked about, there is {names}"),
            (true, _) => format!("at {place}, which is asked about, {names} meet"),
            (false, _) => format!("at {place} {names} meet"),
        };
        steps.push(teller.place(node, text));
    }
    let sources = match core.wires.len() {
        0 => String::new(),
        1 => format!(" ({} counts as a wire here)", teller.list(&core.wires)),
        _ => format!(" ({} count as wires here)", teller.list(&core.wires)),
    };
    let conclusion = format!(
        "no two of them run between the same two points, and at each point between three or more meet: neither parallel nor series goes on{sources}"
    );
    Some(teller.evidence(EvidenceKind::Core, steps, conclusion))
}

/// The elements of a resistance, all of them: who checks the proof has to see which.
fn name(teller: &Teller<'_, '_>, edge: &Edge) -> String {
    let names = |members: &[ElementId]| members.iter().map(|id| teller.facts.name(*id)).collect::<Vec<_>>().join(", ");
    match edge.members[..] {
        [only] => teller.facts.name(only).to_owned(),
        [ref first @ .., last] => format!("{} and {}", names(first), teller.facts.name(last)),
        [] => String::new(),
    }
}
