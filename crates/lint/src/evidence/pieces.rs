//! Pieces and blocks: what hangs together, and where it meets the rest.

use ohmline_circuit::{BranchId, ElementId, NodeId};
use ohmline_syntax::{Evidence, EvidenceKind, EvidenceStep};
use rustc_hash::{FxHashMap, FxHashSet};

use super::Teller;
use super::ways::{Open, Way};

/// All that drawn connections join to an element: nothing of it is joined to anything else.
pub(super) fn piece(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let circuit = teller.facts.circuit;
    let start = *circuit.element(*teller.elements().first()?).terminals.first()?;
    // What a question puts between two points is no connection of the drawing.
    let drawn = |way| matches!(way, Way::Branch(branch) if teller.ways.carries(branch, Open::Drawn));
    let nodes = teller.ways.reach(start, drawn);
    let mut members: Vec<ElementId> =
        nodes.iter().flat_map(|node| circuit.ends(*node)).map(|end| end.element).collect();
    members.sort_unstable();
    members.dedup();
    let steps = members.iter().map(|id| member(teller, *id)).collect();
    let whole = members.len() == circuit.elements.iter().filter(|element| element.is_placed()).count();
    let (none, it) = match members.len() {
        1 => ("it is no source", "it"),
        _ => ("none of them is a source", "them"),
    };
    let conclusion = if whole {
        format!("that is the whole circuit, and {none}")
    } else {
        format!("no wire joins {it} to anything else, and {none}")
    };
    Some(teller.evidence(EvidenceKind::Piece, steps, conclusion))
}

/// A side that nothing crosses from: a piece beside the rest.
pub(super) fn alone(teller: &Teller<'_, '_>, nodes: &FxHashSet<NodeId>) -> Evidence {
    let circuit = teller.facts.circuit;
    let mut members: Vec<ElementId> =
        nodes.iter().flat_map(|node| circuit.ends(*node)).map(|end| end.element).collect();
    members.sort_unstable();
    members.dedup();
    let steps = members.iter().map(|id| member(teller, *id)).collect();
    let it = if members.len() == 1 { "it" } else { "them" };
    teller.evidence(EvidenceKind::Piece, steps, format!("no wire joins {it} to anything else"))
}

/// A part without a source, and every point at which it meets the rest.
pub(super) fn block(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let circuit = teller.facts.circuit;
    let members = teller.elements();
    let own = round(teller, &members);
    let mut nodes: Vec<NodeId> = own.iter().flat_map(|id| [circuit.branch(*id).from, circuit.branch(*id).to]).collect();
    nodes.sort_unstable();
    nodes.dedup();
    let mut steps: Vec<EvidenceStep> = members.iter().map(|id| member(teller, *id)).collect();
    let mut joints = 0;
    for node in nodes {
        let mut rest: Vec<ElementId> = teller
            .ways
            .at(node)
            .filter_map(|link| match link.way {
                Way::Branch(branch) if !own.contains(&branch) => Some(circuit.branch(branch).element),
                _ => None,
            })
            .chain(circuit.ends(node).iter().map(|end| end.element).filter(|id| !members.contains(id)))
            .collect();
        rest.sort_unstable();
        rest.dedup();
        if !rest.is_empty() {
            joints += 1;
            let text = format!("at {} they are joined to {}", teller.node(node), teller.list(&rest));
            steps.push(teller.place(node, text));
        }
    }
    let conclusion = match joints {
        0 => "nothing else is joined to them, and none of them is a source",
        1 => "they meet the rest at this one point, and none of them is a source",
        _ => "outside of them no way leads from one of these points to another, and none of them is a source",
    };
    Some(teller.evidence(EvidenceKind::Piece, steps, conclusion.to_owned()))
}

/// The branches of these elements that lie on closed paths of theirs: of a potentiometer or a changeover perhaps only one does.
fn round(teller: &Teller<'_, '_>, members: &[ElementId]) -> FxHashSet<BranchId> {
    let circuit = teller.facts.circuit;
    let mut own: FxHashSet<BranchId> = members.iter().flat_map(|id| circuit.branches_of(*id)).collect();
    loop {
        let mut touched: FxHashMap<NodeId, usize> = FxHashMap::default();
        for id in &own {
            for node in [circuit.branch(*id).from, circuit.branch(*id).to] {
                *touched.entry(node).or_default() += 1;
            }
        }
        let before = own.len();
        own.retain(|id| [circuit.branch(*id).from, circuit.branch(*id).to].iter().all(|node| touched[node] > 1));
        if own.len() == before {
            return own;
        }
    }
}

fn member(teller: &Teller<'_, '_>, id: ElementId) -> EvidenceStep {
    let name = teller.facts.name(id);
    let text = match teller.facts.circuit.element(id).terminals[..] {
        [a, b] if a == b => format!("{name}, with both ends at {}", teller.node(a)),
        [a, b] => format!("{name}, from {} to {}", teller.node(a), teller.node(b)),
        _ => name.to_owned(),
    };
    teller.step(id, None, text)
}
