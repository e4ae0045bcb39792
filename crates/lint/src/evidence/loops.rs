//! Closed paths: those without resistance, and those that leave an element out.

use ohmline_circuit::{BranchId, ElementId, Kind, Law, NodeId, Unit};
use ohmline_syntax::{Evidence, EvidenceKind, EvidenceStep, Proof};

use super::Teller;
use super::ways::{Link, Open, Way};
use crate::{places, wording};

/// The loop through the elements of a finding, closed without resistance.
pub(super) fn short(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let circuit = teller.facts.circuit;
    let subjects = teller.elements();
    if let [only] = subjects[..] {
        let wired = circuit.branches_of(only).find(|id| circuit.branch(*id).from == circuit.branch(*id).to);
        let branch = wired.or_else(|| circuit.branches_of(only).next())?;
        let place = circuit.branch(branch);
        if circuit.is_bridged(teller.state, only) {
            return Some(by_the_case(teller, only, branch));
        }
        if place.from == place.to {
            return Some(by_a_wire(teller, only, branch));
        }
    }
    let all: Vec<ElementId> = subjects.iter().chain(&teller.others()).copied().collect();
    let both = match subjects[..] {
        [only] => through_both(teller, only),
        _ => None,
    };
    let path = round(teller, &all).or(both)?;
    // The way between comes first and what the finding is about last: "... back through B1".
    let whole = rotate(path, |link| is_one_of(teller, link, &subjects));
    let inside: Vec<ElementId> = all
        .iter()
        .copied()
        .filter(|id| circuit.branches_of(*id).any(|branch| has_resistance(&teller.ways.law(branch))))
        .filter(|id| subjects.contains(id))
        .collect();
    let sources = all.iter().any(|id| wording::is_emf(circuit, teller.state, *id));
    let conclusion = match (inside.is_empty(), sources) {
        (true, _) => "there is no resistance on the way".to_owned(),
        (false, true) => format!("there is no resistance on the way but inside {}", teller.list(&inside)),
        (false, false) => format!("there is no resistance on the way beside {}", teller.list(&inside)),
    };
    Some(teller.evidence(EvidenceKind::Loop, told(teller, &whole, subjects.first().copied()), conclusion))
}

/// A closed path of elements that are a branch of no other.
pub(super) fn closed(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let elements = teller.elements();
    let path = round(teller, &elements)?;
    let conclusion = format!("this closed path has {}, so they end where they begin", teller.list(&elements));
    Some(teller.evidence(EvidenceKind::Loop, told(teller, &path, None), conclusion))
}

/// A potentiometer whose two ends are one point: through both of its branches, and back without resistance.
fn through_both(teller: &Teller<'_, '_>, element: ElementId) -> Option<Vec<Link>> {
    let circuit = teller.facts.circuit;
    let mut branches = circuit.branches_of(element);
    let (first, second) = (branches.next()?, branches.next()?);
    let ([a, wiper], b) = ([circuit.branch(first).from, circuit.branch(first).to], circuit.branch(second).to);
    if circuit.element(element).kind != Kind::Potentiometer || !teller.facts.is_one_point(teller.state, a, b) {
        return None;
    }
    let along = [(first, a, wiper), (second, wiper, b)];
    let along = along.map(|(branch, from, to)| Link { way: Way::Branch(branch), from, to });
    Some(along.into_iter().chain(teller.ways.zero_path(b, a, &[element])?).collect())
}

/// Whether a voltage across it, or a current through it, meets a resistance.
fn has_resistance(law: &Law) -> bool {
    match law {
        Law::Resistance(_) | Law::Unknown | Law::Open | Law::Capacitor { .. } | Law::Drive(_) => true,
        Law::Emf { internal, .. } => *internal != 0,
        Law::Diode { resistance, .. } => *resistance != 0,
        Law::Short => false,
    }
}

fn is_one_of(teller: &Teller<'_, '_>, link: &Link, elements: &[ElementId]) -> bool {
    matches!(link.way, Way::Branch(branch) if elements.contains(&teller.facts.circuit.branch(branch).element))
}

/// The path with the first run of links that are `last` at its end.
fn rotate(mut path: Vec<Link>, last: impl Fn(&Link) -> bool) -> Vec<Link> {
    if path.iter().all(&last) {
        return path;
    }
    let Some(at) = (0..path.len()).find(|at| last(&path[*at]) && !last(&path[(at + 1) % path.len()])) else {
        return path;
    };
    let length = path.len();
    path.rotate_left((at + 1) % length);
    path
}

/// The branch by which an element is part of a loop without resistance.
fn branch_in(teller: &Teller<'_, '_>, element: ElementId) -> Option<BranchId> {
    let branches: Vec<BranchId> = teller.facts.circuit.branches_of(element).collect();
    let one_point = |branch: &BranchId| {
        let place = teller.facts.circuit.branch(*branch);
        teller.facts.is_one_point(teller.state, place.from, place.to)
    };
    match branches[..] {
        [only] => Some(only),
        // Of a changeover or a potentiometer the part without resistance, else the one that something without resistance is beside.
        _ => {
            let short = branches.iter().copied().find(|branch| teller.ways.is_short(*branch));
            short.or_else(|| branches.into_iter().find(one_point))
        }
    }
}

/// The closed path through these elements: in their order if that closes, else in the order in which they meet; what is missing between
/// two of them is filled in by a way without resistance, if need be.
fn round(teller: &Teller<'_, '_>, elements: &[ElementId]) -> Option<Vec<Link>> {
    let branches: Vec<BranchId> = elements.iter().filter_map(|id| branch_in(teller, *id)).collect();
    if branches.len() != elements.len() || branches.is_empty() {
        return None;
    }
    let orders = [(true, true), (true, false), (false, true), (false, false)];
    let walks = [false, true].into_iter().flat_map(|fill| orders.map(|(in_order, forward)| (fill, in_order, forward)));
    walks.into_iter().find_map(|(fill, in_order, forward)| walk(teller, elements, &branches, fill, in_order, forward))
}

fn walk(
    teller: &Teller<'_, '_>,
    elements: &[ElementId],
    branches: &[BranchId],
    fill: bool,
    in_order: bool,
    forward: bool,
) -> Option<Vec<Link>> {
    let circuit = teller.facts.circuit;
    let first = circuit.branch(branches[0]);
    let (start, mut node) = if forward { (first.from, first.to) } else { (first.to, first.from) };
    let mut path = vec![Link { way: Way::Branch(branches[0]), from: start, to: node }];
    let mut left: Vec<BranchId> = branches[1..].to_vec();
    let one_point = |a: NodeId, b: NodeId| teller.facts.is_one_point(teller.state, a, b);
    while !left.is_empty() {
        let touches = |branch: &BranchId| {
            let place = circuit.branch(*branch);
            place.from == node || place.to == node
        };
        let near = |branch: &BranchId| {
            let place = circuit.branch(*branch);
            one_point(place.from, node) || one_point(place.to, node)
        };
        let at = if in_order { Some(0) } else { left.iter().position(touches).or_else(|| left.iter().position(near)) }?;
        let branch = left.remove(at);
        let place = circuit.branch(branch);
        // Round a loop of two, either end will do; else the one that is here, then the one that a way without resistance leads to.
        let ends = [(place.from, place.to), (place.to, place.from)];
        let (from, to) = ends
            .iter()
            .copied()
            .find(|(from, _)| *from == node)
            .or_else(|| ends.iter().copied().find(|(from, _)| one_point(*from, node)))?;
        if from != node {
            if !fill {
                return None;
            }
            path.extend(teller.ways.zero_path(node, from, elements)?);
        }
        path.push(Link { way: Way::Branch(branch), from, to });
        node = to;
    }
    if node != start {
        if !fill {
            return None;
        }
        path.extend(teller.ways.zero_path(node, start, elements)?);
    }
    let mut passed: Vec<u32> = path.iter().filter_map(Link::branch).map(|branch| branch.0).collect();
    passed.sort_unstable();
    passed.windows(2).all(|pair| pair[0] != pair[1]).then_some(path)
}

/// Both ends of an element are one node.
fn by_a_wire(teller: &Teller<'_, '_>, element: ElementId, branch: BranchId) -> Evidence {
    let facts = teller.facts;
    let node = facts.circuit.branch(branch).from;
    let (one, other) = (end_word(teller, element, branch, true), end_word(teller, element, branch, false));
    let mut wire = teller.place(node, format!("from {one} along plain wires to {other}: they are one point"));
    if let [at] = places::wires(facts, node)[..] {
        wire.at = at;
    }
    let volts = step_of_voltage(teller, own_law(teller, element, branch), false);
    let back = teller.step(element, Some(node), format!("back through {}{volts} to {one}", facts.name(element)));
    let conclusion = beside(teller, element, branch);
    teller.evidence(EvidenceKind::Loop, vec![wire, back], conclusion)
}

/// A case puts a wire across the element.
fn by_the_case(teller: &Teller<'_, '_>, element: ElementId, branch: BranchId) -> Evidence {
    let facts = teller.facts;
    let place = facts.circuit.branch(branch);
    let (one, other) = (end_word(teller, element, branch, true), end_word(teller, element, branch, false));
    let mut wire = teller.place(place.to, format!("from {one} along the wire of the case to {other}"));
    wire.at = facts.circuit.states[teller.state.index()].at.unwrap_or(wire.at);
    let volts = step_of_voltage(teller, own_law(teller, element, branch), false);
    let back = teller.step(element, Some(place.from), format!("back through {}{volts} to {one}", facts.name(element)));
    let conclusion = beside(teller, element, branch);
    teller.evidence(EvidenceKind::Loop, vec![wire, back], conclusion)
}

fn beside(teller: &Teller<'_, '_>, element: ElementId, branch: BranchId) -> String {
    let name = teller.facts.name(element);
    let own = own_law(teller, element, branch);
    match own {
        own if !has_resistance(&own) => "there is no resistance on the way".to_owned(),
        Law::Emf { .. } => format!("there is no resistance on the way but inside {name}"),
        _ => format!("there is no resistance on the way beside {name}"),
    }
}

/// How a branch behaves by itself, whatever a case puts across it.
fn own_law(teller: &Teller<'_, '_>, element: ElementId, branch: BranchId) -> Law {
    let circuit = teller.facts.circuit;
    circuit.params(teller.state, element).law(branch.0 > circuit.element(element).branches.start)
}

/// `B1+`, `the left end of R1`.
fn end_word(teller: &Teller<'_, '_>, element: ElementId, branch: BranchId, first: bool) -> String {
    let circuit = teller.facts.circuit;
    let second = branch.0 > circuit.element(element).branches.start;
    let terminal = match (circuit.element(element).kind, second, first) {
        (Kind::Changeover, _, true) => 0,
        (Kind::Changeover, second, false) => 1 + u8::from(second),
        (Kind::Potentiometer, false, true) => 0,
        (Kind::Potentiometer, false, false) | (Kind::Potentiometer, true, true) => 2,
        (Kind::Potentiometer, true, false) => 1,
        (_, _, first) => u8::from(!first),
    };
    wording::terminal(circuit, element, terminal)
}

/// The branch of an element, with why it has no resistance, or which of its branches it is.
fn through(teller: &Teller<'_, '_>, branch: BranchId) -> String {
    let circuit = teller.facts.circuit;
    let id = circuit.branch(branch).element;
    if teller.ways.is_short(branch) {
        return wording::conductor(circuit, teller.state, id);
    }
    match circuit.element(id).branches.len() {
        1 => teller.facts.name(id).to_owned(),
        _ => part(teller, branch),
    }
}

/// One of several branches of an element: `P1 (from P1.a to P1.wiper)`.
pub(super) fn part(teller: &Teller<'_, '_>, branch: BranchId) -> String {
    let id = teller.facts.circuit.branch(branch).element;
    let (from, to) = (end_word(teller, id, branch, true), end_word(teller, id, branch, false));
    format!("{} (from {from} to {to})", teller.facts.name(id))
}

/// The voltage that a source or a diode fixes, as a step up or down along the way; only round a loop in which nothing else takes one up.
fn step_of_voltage(teller: &Teller<'_, '_>, law: Law, forward: bool) -> String {
    if teller.basis.proof != Proof::Short {
        return String::new();
    }
    let volts = match law {
        Law::Emf { emf, .. } => emf,
        Law::Diode { drop, .. } => drop,
        _ => return String::new(),
    };
    // From + to -, or the way a diode conducts, is a step down.
    let down = forward == (volts >= 0);
    let size = if volts < 0 { -volts } else { volts };
    format!(" ({} {})", wording::exact(&size, Unit::Volt), if down { "down" } else { "up" })
}

/// A closed path in words. Points that the element of the finding touches are called by its terminals, if these have names.
fn told(teller: &Teller<'_, '_>, path: &[Link], subject: Option<ElementId>) -> Vec<EvidenceStep> {
    let circuit = teller.facts.circuit;
    let point = |node: NodeId| {
        let own = subject.filter(|id| circuit.element(*id).kind.is_polar());
        let terminal = own.and_then(|id| circuit.element(id).terminals.iter().position(|at| *at == node));
        match (own, terminal) {
            (Some(id), Some(terminal)) => wording::terminal(circuit, id, terminal as u8),
            _ => teller.node(node),
        }
    };
    let mut steps = Vec::with_capacity(path.len());
    for (at, link) in path.iter().enumerate() {
        let what = match link.way {
            Way::Branch(branch) => {
                let forward = circuit.branch(branch).from == link.from;
                let volts = step_of_voltage(teller, teller.ways.law(branch), forward);
                format!("through {}{volts}", through(teller, branch))
            }
            Way::Question => "through what the question puts between".to_owned(),
        };
        let to = point(link.to);
        let text = if at == 0 {
            format!("from {} {what} to {to}", point(link.from))
        } else if at + 1 == path.len() {
            format!("back {what} to {to}")
        } else {
            format!("on {what} to {to}")
        };
        steps.push(match link.way {
            Way::Branch(branch) => teller.step(circuit.branch(branch).element, Some(link.to), text),
            Way::Question => teller.place(link.to, text),
        });
    }
    steps
}

/// A closed path through one of the elements that leaves out all of the others.
pub(super) fn detour(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let (through, without) = (teller.elements(), teller.others());
    let found = [Open::Steady, Open::Moment].into_iter().find_map(|open| {
        let there = through.iter().take(4).find_map(|id| past(teller, *id, &without, open).map(|path| (*id, path)));
        // One closed path is as good as the other: two elements carry one current either way round.
        there.map(|(id, path)| (id, path, without.clone())).or_else(|| {
            let back = without.iter().take(4).find_map(|id| past(teller, *id, &through, open).map(|path| (*id, path)));
            back.map(|(id, path)| (id, path, through.clone()))
        })
    });
    let (id, path, without) = found?;
    let whole = rotate(path, |link| is_one_of(teller, link, &[id]));
    let name = teller.facts.name(id);
    let conclusion = if without == [id] {
        format!("current can pass one part of {name} and leave out the other")
    } else {
        let left = teller.list(&without);
        format!("this closed path leaves out {left}: what passes {name} need not pass {left}")
    };
    Some(teller.evidence(EvidenceKind::Loop, told(teller, &whole, None), conclusion))
}

/// A closed path through a branch of an element without its other branches and without those of others.
fn past(teller: &Teller<'_, '_>, id: ElementId, without: &[ElementId], open: Open) -> Option<Vec<Link>> {
    let circuit = teller.facts.circuit;
    circuit.branches_of(id).find_map(|own| {
        if !teller.ways.carries(own, open) {
            return None;
        }
        let place = circuit.branch(own);
        let path = teller.ways.path(place.to, place.from, |way| match way {
            Way::Branch(branch) => {
                circuit.branch(branch).element != id
                    && teller.ways.carries(branch, open)
                    && !without.contains(&circuit.branch(branch).element)
            }
            Way::Question => true,
        })?;
        Some([Link { way: Way::Branch(own), from: place.from, to: place.to }].into_iter().chain(path).collect())
    })
}
