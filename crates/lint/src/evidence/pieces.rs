//! Pieces and blocks: what hangs together, and where it meets the rest.

use ohmline_circuit::{BranchId, ElementId, Kind, Law, NodeId};
use ohmline_syntax::{Evidence, EvidenceKind, EvidenceStep};
use rustc_hash::{FxHashMap, FxHashSet};

use super::ways::{Open, Way};
use super::{Teller, loops, points};

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
    let members = teller.elements();
    let own = round(teller, members.iter().flat_map(|id| teller.facts.circuit.branches_of(*id)), |node| node);
    let mut steps: Vec<EvidenceStep> = members.iter().map(|id| member(teller, *id)).collect();
    let joints = joints(teller, &own, &members);
    let conclusion = match joints.len() {
        0 => "nothing else is joined to them, and none of them is a source",
        1 => "they meet the rest at this one point, and none of them is a source",
        _ => "outside of them no way leads from one of these points to another, and none of them is a source",
    };
    steps.extend(joints.into_iter().map(|(_, step)| step));
    Some(teller.evidence(EvidenceKind::Piece, steps, conclusion.to_owned()))
}

/// Parts without a source that meet the rest at points which something without resistance joins.
pub(super) fn bypassed(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let circuit = teller.facts.circuit;
    let numbers = &teller.facts.topologies[teller.state.index()].point;
    let point = |node: NodeId| numbers[node.index()];
    let all = teller.elements().into_iter().flat_map(|id| circuit.branches_of(id));
    let resisting = all.filter(|branch| {
        let [from, to] = ends(teller, *branch);
        (from == to || !teller.ways.is_short(*branch)) && !is_off(teller, *branch)
    });
    let mut own = round(teller, resisting, |node| NodeId(point(node)));
    let touched: Vec<NodeId> = own.iter().flat_map(|id| ends(teller, *id)).collect();
    // Where a way leads from one of its points to another one outside, it meets the rest.
    let leaves = |branch: BranchId| {
        let [from, to] = ends(teller, branch);
        !own.contains(&branch) && from != to && !teller.ways.is_short(branch) && !is_off(teller, branch)
    };
    let mut outer: FxHashSet<u32> = FxHashSet::default();
    let reached = |node: NodeId| {
        teller.ways.reach(node, |way| matches!(way, Way::Branch(branch) if teller.ways.is_short(branch)))
    };
    for node in &touched {
        let met = |near: &NodeId| teller.ways.at(*near).any(|link| link.branch().is_none_or(leaves));
        if outer.contains(&point(*node)) || reached(*node).iter().any(met) {
            outer.insert(point(*node));
        }
    }
    // What joins nodes inside without resistance is part of it too.
    let mut inner: Vec<NodeId> = touched.into_iter().filter(|node| !outer.contains(&point(*node))).collect();
    let mut seen: FxHashSet<NodeId> = inner.iter().copied().collect();
    while let Some(node) = inner.pop() {
        for link in teller.ways.at(node) {
            if let Some(branch) = link.branch().filter(|branch| teller.ways.is_short(*branch)) {
                own.insert(branch);
                if seen.insert(link.to) {
                    inner.push(link.to);
                }
            }
        }
    }
    let mut members: Vec<ElementId> = own.iter().map(|id| circuit.branch(*id).element).collect();
    members.sort_unstable();
    members.dedup();
    let mut steps: Vec<EvidenceStep> = members.iter().map(|id| member_of(teller, *id, &own)).collect();
    let joints = joints(teller, &own, &[]);
    let mut nodes: Vec<NodeId> =
        joints.iter().map(|(node, _)| *node).filter(|node| outer.contains(&point(*node))).collect();
    nodes.sort_unstable_by_key(|node| (point(*node), *node));
    steps.extend(joints.into_iter().map(|(_, step)| step));
    let mut passed: FxHashSet<BranchId> = FxHashSet::default();
    for pair in nodes.windows(2).filter(|pair| point(pair[0]) == point(pair[1])) {
        let path = teller.ways.path(
            pair[0],
            pair[1],
            |way| matches!(way, Way::Branch(branch) if teller.ways.is_short(branch) && !own.contains(&branch)),
        )?;
        let new: Vec<_> =
            path.into_iter().filter(|link| link.branch().is_some_and(|branch| passed.insert(branch))).collect();
        steps.extend(points::joiners(teller, &new));
    }
    let (they, meet, none, them) = match members.len() {
        1 => ("it", "meets", "it is no source", "it"),
        _ => ("they", "meet", "none of them is a source", "them"),
    };
    let rest = match (nodes.len(), outer.len()) {
        (_, 2..) => {
            format!("outside of {them} no way leads from one of these points to another but without resistance")
        }
        (2.., _) => format!("so these are one point; {they} {meet} the rest nowhere else"),
        _ => format!("{they} {meet} the rest at this one point"),
    };
    let conclusion = format!("{rest}, and {none}: nothing drives current through {them}");
    Some(teller.evidence(EvidenceKind::Piece, steps, conclusion))
}

/// Whether a branch is the contact that a changeover does not stand on.
fn is_off(teller: &Teller<'_, '_>, branch: BranchId) -> bool {
    let circuit = teller.facts.circuit;
    teller.ways.law(branch) == Law::Open && circuit.element(circuit.branch(branch).element).kind == Kind::Changeover
}

fn ends(teller: &Teller<'_, '_>, branch: BranchId) -> [NodeId; 2] {
    let place = teller.facts.circuit.branch(branch);
    [place.from, place.to]
}

/// The points at which branches meet the rest, each with what is joined there; elements that belong to the part are no rest.
fn joints(teller: &Teller<'_, '_>, own: &FxHashSet<BranchId>, members: &[ElementId]) -> Vec<(NodeId, EvidenceStep)> {
    let circuit = teller.facts.circuit;
    let mut nodes: Vec<NodeId> = own.iter().flat_map(|id| ends(teller, *id)).collect();
    nodes.sort_unstable();
    nodes.dedup();
    let owners: FxHashSet<ElementId> = own.iter().map(|id| circuit.branch(*id).element).collect();
    let they = if owners.len() == 1 { "it is" } else { "they are" };
    let found = nodes.into_iter().filter_map(|node| {
        let links = teller.ways.at(node).filter_map(|link| link.branch());
        let others = links.filter(|branch| !own.contains(branch)).map(|branch| circuit.branch(branch).element);
        let beside = circuit.ends(node).iter().map(|end| end.element);
        let beside = beside.filter(|id| !members.contains(id) && !owners.contains(id));
        let mut rest: Vec<ElementId> = others.chain(beside).collect();
        rest.sort_unstable();
        rest.dedup();
        let leads = |id: &ElementId| {
            let mut branches = circuit.branches_of(*id).filter(|branch| ends(teller, *branch).contains(&node));
            branches.any(|branch| {
                let [from, to] = ends(teller, branch);
                !is_off(teller, branch) && from != to
            })
        };
        let nowhere = match (rest.iter().any(leads), rest.len()) {
            (true, _) => "",
            (false, 1) => " alone, which leads nowhere from there",
            (false, _) => " alone, which lead nowhere from there",
        };
        let text = format!("at {} {they} joined to {}{nowhere}", teller.node(node), teller.list(&rest));
        (!rest.is_empty()).then(|| (node, teller.place(node, text)))
    });
    found.collect()
}

/// The branches among these that lie on closed paths of theirs, over points: of a potentiometer or a changeover perhaps only one does.
fn round(
    teller: &Teller<'_, '_>,
    branches: impl Iterator<Item = BranchId>,
    point: impl Fn(NodeId) -> NodeId,
) -> FxHashSet<BranchId> {
    let mut own: FxHashSet<BranchId> = branches.collect();
    loop {
        let mut touched: FxHashMap<NodeId, usize> = FxHashMap::default();
        for node in own.iter().flat_map(|id| ends(teller, *id)) {
            *touched.entry(point(node)).or_default() += 1;
        }
        let before = own.len();
        own.retain(|id| ends(teller, *id).iter().all(|node| touched[&point(*node)] > 1));
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

/// A member of which perhaps only one branch belongs to the part.
fn member_of(teller: &Teller<'_, '_>, id: ElementId, own: &FxHashSet<BranchId>) -> EvidenceStep {
    let mut branches = teller.facts.circuit.branches_of(id).filter(|branch| own.contains(branch));
    match (teller.facts.circuit.element(id).branches.len(), branches.next(), branches.next()) {
        (2.., Some(only), None) => teller.step(id, None, loops::part(teller, only)),
        _ if teller.facts.circuit.is_bridged(teller.state, id) => {
            let name = teller.facts.name(id);
            teller.step(id, None, format!("{name}, which the case puts a wire across"))
        }
        _ => member(teller, id),
    }
}
