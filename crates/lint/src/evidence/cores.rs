//! What series and parallel leave: every resistance, and every point with what meets there.

use ohmline_circuit::{ElementId, NodeId};
use ohmline_syntax::{Evidence, EvidenceKind, EvidenceStep};

use super::Teller;
use crate::core::Core;
use crate::{driven, wording};

/// All that is left between two points.
pub(super) fn core(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let [from, to] = teller.nodes()[..] else { return None };
    let core = Core::between(teller.facts, teller.state, from, to, teller.elements().first().copied());
    if core.edges().is_empty() {
        return None;
    }
    let mut steps: Vec<EvidenceStep> = core.edges().iter().map(|edge| line(teller, &edge.members, edge.ends)).collect();
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

/// All that hangs together around an element when resistances and sources are put together.
pub(super) fn driven(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let all = driven::lines(teller.facts, teller.state);
    let lines = driven::around(&all, *teller.elements().first()?);
    if lines.is_empty() {
        return None;
    }
    let mut steps: Vec<EvidenceStep> = lines.iter().map(|one| line(teller, &one.members, one.ends)).collect();
    for (node, met) in driven::points(&lines) {
        let names: Vec<&str> = met.iter().map(|id| teller.facts.name(*id)).collect();
        steps.push(teller.place(node, format!("at {} {} meet", teller.node(node), wording::list(&names))));
    }
    let conclusion = "no two of these make one, and at each point three or more meet, so the current there divides in a way that only \
                      equations tell";
    Some(teller.evidence(EvidenceKind::Core, steps, conclusion.to_owned()))
}

/// A line of what is left: its elements, all of them, since who checks the proof has to see which, and between which points it runs.
fn line(teller: &Teller<'_, '_>, members: &[ElementId], ends: [NodeId; 2]) -> EvidenceStep {
    let names = |members: &[ElementId]| members.iter().map(|id| teller.facts.name(*id)).collect::<Vec<_>>().join(", ");
    let [a, b] = ends.map(|node| teller.node(node));
    let text = match members {
        [first @ .., last] if !first.is_empty() => {
            format!("{} and {}, put together, from {a} to {b}", names(first), teller.facts.name(*last))
        }
        _ => format!("{}, from {a} to {b}", names(members)),
    };
    teller.step(members[0], None, text)
}
