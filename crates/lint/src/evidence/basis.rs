//! What a rule notes down for the proof of its finding.

use ohmline_circuit::topology::{Evidence as Why, How, RelationVerdict, Role};
use ohmline_circuit::{ElementId, Fault, Kind, NodeId, StateId};
use ohmline_solve::Cause;
use ohmline_syntax::tree::{Item, ItemKind, Relation, Segment, Stmt, StmtKind};
use ohmline_syntax::{Basis, FileSpan, Proof, Span};

use crate::facts::Facts;
use crate::places;

fn numbers(ids: &[ElementId]) -> Vec<u32> {
    ids.iter().map(|id| id.0).collect()
}

fn of(proof: Proof, state: StateId, elements: &[ElementId], others: &[ElementId]) -> Basis {
    Basis { elements: numbers(elements), others: numbers(others), ..Basis::new(proof, state.0) }
}

fn at(proof: Proof, state: StateId, elements: &[ElementId], node: NodeId) -> Basis {
    Basis { elements: numbers(elements), nodes: vec![node.0], ..Basis::new(proof, state.0) }
}

/// The loop through `subjects` that `way` closes without resistance.
pub fn short(state: StateId, subjects: &[ElementId], way: &[ElementId]) -> Basis {
    of(Proof::Short, state, subjects, way)
}

/// A closed path through one of `through` that leaves out `without`.
pub fn detour(state: StateId, through: &[ElementId], without: &[ElementId]) -> Basis {
    of(Proof::Detour, state, through, without)
}

/// The cut of two elements that carry one current.
pub fn pair(state: StateId, one: ElementId, other: ElementId) -> Basis {
    of(Proof::Pair, state, &[one], &[other])
}

/// The cut that an element without current is.
pub fn bridge(state: StateId, element: ElementId) -> Basis {
    of(Proof::Bridge, state, &[element], &[])
}

/// The cut across which `sources` drive current, or nothing conducts.
pub fn island(state: StateId, sources: &[ElementId], node: NodeId) -> Basis {
    at(Proof::Island, state, sources, node)
}

/// Between which points two members run.
pub fn ends(state: StateId, one: &[ElementId], other: &[ElementId]) -> Basis {
    of(Proof::Ends, state, one, other)
}

/// What meets at a point.
pub fn meeting(state: StateId, node: NodeId) -> Basis {
    at(Proof::Meeting, state, &[], node)
}

/// The piece of an element.
pub fn piece(element: ElementId) -> Basis {
    of(Proof::Piece, StateId::DRAWN, &[element], &[])
}

/// A part without a source.
pub fn block(elements: &[ElementId]) -> Basis {
    of(Proof::Block, StateId::DRAWN, elements, &[])
}

/// Parts without a source that meet the rest at points which something without resistance joins.
pub fn bypassed(state: StateId, elements: &[ElementId]) -> Basis {
    of(Proof::Bypassed, state, elements, &[])
}

/// What series and parallel leave between two points, an element left out.
pub fn core(state: StateId, from: NodeId, to: NodeId, without: Option<ElementId>) -> Basis {
    let without = without.as_slice();
    Basis { nodes: vec![from.0, to.0], ..of(Proof::Core, state, without, &[]) }
}

/// What is left around an element of a circuit with its sources.
pub fn driven(state: StateId, element: ElementId) -> Basis {
    of(Proof::Driven, state, &[element], &[])
}

/// The wires between the two points of a question, which are one node.
pub fn wires(node: NodeId) -> Basis {
    at(Proof::Wires, StateId::DRAWN, &[], node)
}

/// An element whose two ends are at one potential.
pub fn balance(state: StateId, element: ElementId) -> Basis {
    of(Proof::Balance, state, &[element], &[])
}

/// What the wire of an alternative without an element shorts: a line of elements through the group at this place.
pub fn shorted_group(facts: &Facts<'_>, group: FileSpan) -> Option<Basis> {
    let (_, stmt) = places::statement(facts, group)?;
    let StmtKind::Path(path) = &stmt.node.kind else { return None };
    let mut spans = Vec::new();
    line(find(path, stmt, group.span)?, stmt, &mut spans);
    let element = |span: Span| {
        let inside = |used: &FileSpan| used.file == group.file && used.span.to(span) == span;
        facts.circuit.element_ids().find(|id| facts.circuit.element(*id).uses.iter().any(inside))
    };
    let elements: Vec<ElementId> = spans.into_iter().filter_map(element).collect();
    match elements[..] {
        [] => None,
        [only] => Some(short(StateId::DRAWN, &[only], &[])),
        _ => Some(of(Proof::Round, StateId::DRAWN, &elements, &[])),
    }
}

/// The group at a place.
fn find<'t>(segment: &'t Segment, stmt: &Stmt, place: Span) -> Option<&'t Item> {
    segment.items.iter().find_map(|item| match &item.kind {
        ItemKind::Group(_) if stmt.span(item.span) == place => Some(item),
        ItemKind::Group(alternatives) => alternatives.iter().find_map(|segment| find(segment, stmt, place)),
        _ => None,
    })
}

/// Where the elements of one line through an item stand.
fn line(item: &Item, stmt: &Stmt, into: &mut Vec<Span>) {
    match &item.kind {
        ItemKind::Junction(_) => {}
        ItemKind::Element { .. } => into.push(stmt.span(item.span)),
        ItemKind::Group(alternatives) => {
            let before = into.len();
            for segment in alternatives {
                segment.items.iter().for_each(|item| line(item, stmt, into));
                if into.len() > before {
                    return;
                }
            }
        }
    }
}

/// An element that lets nothing pass by itself.
pub fn gap(state: StateId, element: ElementId) -> Basis {
    of(Proof::Gap, state, &[element], &[])
}

/// What shows that a quantity has no single value.
pub fn cause(state: StateId, cause: &Cause) -> Option<Basis> {
    match cause {
        Cause::ZeroLoop { elements } | Cause::VoltageLoop { elements, .. } => Some(short(state, &[], elements)),
        Cause::CurrentCut { sources, at, .. } => Some(island(state, sources, *at)),
        Cause::Floating { at } => Some(island(state, &[], *at)),
        Cause::Between { from, diode: false, .. } => Some(island(state, &[], *from)),
        _ => None,
    }
}

/// What shows that members stand, or do not stand, as a claim says.
pub fn relation(
    facts: &Facts<'_>,
    state: StateId,
    relation: Relation,
    branches: &[Vec<ElementId>],
    verdict: &RelationVerdict,
) -> Option<Basis> {
    // A single member in brackets is judged as if its elements had been listed.
    let singles: Vec<Vec<ElementId>> = match branches {
        [only] => only.iter().map(|id| vec![*id]).collect(),
        _ => branches.to_vec(),
    };
    let (first, second) = match branches {
        [_] => (singles.first()?, singles.last()?),
        _ => (singles.get(verdict.pair.0)?, singles.get(verdict.pair.1)?),
    };
    if first == second {
        return None;
    }
    match (&verdict.evidence, relation) {
        (Why::Idle(element), _) => {
            let capacitor = matches!(facts.circuit.element(*element).kind, Kind::Capacitor | Kind::Electrolytic);
            let dead = facts.circuit.branches_of(*element).any(|branch| facts.role(state, branch) == Some(Role::Dead));
            let out = facts.circuit.states[state.index()].faults.get(element) == Some(&Fault::Open);
            let waits = dead || capacitor && !out;
            facts.circuit.element(*element).is_placed().then(|| match waits {
                true => bridge(state, *element),
                false => gap(state, *element),
            })
        }
        (Why::ShortedBy(element, by), _) => Some(short(state, &[*element], by)),
        (Why::Bypassed { part, .. }, _) => Some(bypassed(state, part)),
        (Why::NoBranch(members), _) => match members[..] {
            [one] => Some(detour(state, &[one], &[one])),
            [one, .., other] => Some(detour(state, &[one], &[other])),
            [] => None,
        },
        (Why::Closed(members), _) => Some(of(Proof::Round, state, members, &[])),
        (_, Relation::Series) if verdict.how != How::No => Some(pair(state, *first.first()?, *second.first()?)),
        (_, Relation::Series) => Some(detour(state, first, second)),
        (_, Relation::Parallel) => Some(ends(state, first, second)),
    }
}
