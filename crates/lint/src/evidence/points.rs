//! Points: between which of them elements run, and what meets there.

use ohmline_circuit::{ElementId, Fault, Kind, NodeId};
use ohmline_syntax::{Evidence, EvidenceKind, EvidenceStep};

use super::Teller;
use super::ways::Link;
use crate::wording;

/// What runs between two points: the elements at its ends, each with the point.
struct Member {
    name: String,
    ends: [(ElementId, NodeId); 2],
}

/// Between which points two members run, and whether these are the same.
pub(super) fn ends(teller: &Teller<'_, '_>) -> Option<Evidence> {
    // What is asked about joins nothing, even where it has no resistance.
    let asked: Vec<ElementId> = teller.elements().into_iter().chain(teller.others()).collect();
    let same = |a: NodeId, b: NodeId| {
        a == b || teller.facts.is_one_point(teller.state, a, b) && teller.ways.zero_path(a, b, &asked).is_some()
    };
    let (one, other) = (member(teller, &teller.elements(), &same)?, member(teller, &teller.others(), &same)?);
    let [(_, a), (_, b)] = one.ends;
    let [(_, mut c), (_, mut d)] = other.ends;
    if !same(a, c) && !same(b, d) && (same(a, d) || same(b, c)) {
        std::mem::swap(&mut c, &mut d);
    }
    let mut steps = Vec::new();
    for member in [&one, &other] {
        let (first, second) = (member.ends[0], member.ends[1]);
        for (words, (id, node)) in [("one end", first), ("the other end", second)] {
            steps.push(teller.step(id, Some(node), format!("{words} of {} is at {}", member.name, teller.node(node))));
        }
    }
    let mut shared = Vec::new();
    let mut apart = Vec::new();
    for (x, y) in [(a, c), (b, d)] {
        if same(x, y) {
            shared.push(x);
            steps.extend(joiners(teller, &teller.ways.zero_path(x, y, &asked)?));
        } else {
            apart.push((x, y));
        }
    }
    let conclusion = match (&shared[..], &apart[..]) {
        ([_, _], _) => "both run between the same two points".to_owned(),
        ([one], [(x, y)]) => format!(
            "they share {}, but {} and {} are two points, which nothing without resistance joins",
            teller.node(*one),
            teller.node(*x),
            teller.node(*y)
        ),
        _ => "they share no point".to_owned(),
    };
    Some(teller.evidence(EvidenceKind::Points, steps, conclusion))
}

/// The two points that elements run between as a whole: those that an odd number of their ends touch, or the only two that any touches.
fn member(teller: &Teller<'_, '_>, elements: &[ElementId], same: &impl Fn(NodeId, NodeId) -> bool) -> Option<Member> {
    let circuit = teller.facts.circuit;
    let mut touched: Vec<(ElementId, NodeId, usize)> = Vec::new();
    for id in elements {
        // Of what is joined at three points, the ends of the branches in use.
        let live: Vec<NodeId> = match circuit.element(*id).terminals[..] {
            [a, b] => vec![a, b],
            _ => circuit
                .branches_of(*id)
                .filter(|branch| teller.ways.carries(*branch, super::ways::Open::Steady))
                .flat_map(|branch| [circuit.branch(branch).from, circuit.branch(branch).to])
                .collect(),
        };
        for node in live {
            // A single element may have no resistance: its own two ends are then one point, and still two ends.
            let known = touched.iter_mut().find(|(_, at, _)| *at == node || elements.len() > 1 && same(*at, node));
            match known {
                Some((_, _, count)) => *count += 1,
                None => touched.push((*id, node, 1)),
            }
        }
    }
    let odd: Vec<(ElementId, NodeId)> =
        touched.iter().filter(|(_, _, count)| count % 2 == 1).map(|(id, node, _)| (*id, *node)).collect();
    let ends = match (&odd[..], &touched[..]) {
        ([one, other], _) => [*one, *other],
        ([], [one, other]) => [(one.0, one.1), (other.0, other.1)],
        _ => return None,
    };
    Some(Member { name: wording::elements(circuit, elements), ends })
}

/// The steps of a way without resistance.
pub(super) fn joiners(teller: &Teller<'_, '_>, path: &[Link]) -> Vec<EvidenceStep> {
    let circuit = teller.facts.circuit;
    let told = path.iter().filter_map(|link| {
        let id = circuit.branch(link.branch()?).element;
        let name = wording::conductor(circuit, teller.state, id);
        let (a, b) = (teller.node(link.from), teller.node(link.to));
        Some(teller.step(id, Some(link.to), format!("{name} joins {a} and {b} without resistance")))
    });
    told.collect()
}

/// The ends of an element that lets nothing pass by itself.
pub(super) fn gap(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let circuit = teller.facts.circuit;
    let id = *teller.elements().first()?;
    let name = teller.facts.name(id);
    let steps = circuit.element(id).terminals.iter().enumerate().map(|(at, node)| {
        let terminal = wording::terminal(circuit, id, at as u8);
        let place = match teller.node(*node) {
            // A terminal that nothing else is joined to is called by its own name.
            name if name == terminal || name.starts_with("the end of ") => format!("{terminal} is joined to nothing"),
            name => format!("{terminal} is at {name}"),
        };
        teller.step(id, Some(*node), place)
    });
    let why = match (circuit.states[teller.state.index()].faults.get(&id), circuit.element(id).kind) {
        (Some(Fault::Open), _) => "is taken out",
        (_, Kind::Switch) => "is open",
        (_, Kind::Voltmeter) => "is an ideal voltmeter",
        (_, Kind::Capacitor | Kind::Electrolytic) => "is charged",
        _ => "carries nothing",
    };
    let conclusion = format!("{name} {why}, so no current passes from one end to the other");
    Some(teller.evidence(EvidenceKind::Points, steps.collect(), conclusion))
}

/// What meets at a point: all that does.
pub(super) fn meeting(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let circuit = teller.facts.circuit;
    let node = *teller.nodes().first()?;
    let ends = circuit.ends(node);
    let mut steps: Vec<EvidenceStep> = ends
        .iter()
        .map(|end| {
            let terminal = wording::terminal(circuit, end.element, end.terminal);
            let place = match teller.node(node) {
                name if name == terminal || name.starts_with("the end of ") => String::new(),
                name => format!(" is at {name}"),
            };
            teller.step(end.element, Some(node), format!("{terminal}{place}"))
        })
        .collect();
    let conclusion = match ends {
        [] => {
            steps.push(teller.place(node, format!("{} is where wires meet", teller.node(node))));
            "no element is joined there".to_owned()
        }
        [_] => "nothing else is joined there, so a current that came to this point could not go on".to_owned(),
        _ => "that is all that meets there".to_owned(),
    };
    Some(teller.evidence(EvidenceKind::Points, steps, conclusion))
}
