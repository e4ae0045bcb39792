//! Cuts: all elements with one end on either side of two.

use ohmline_circuit::topology::Role;
use ohmline_circuit::{BranchId, ElementId, Fault, Kind, Law, NodeId, Params, Rational};
use ohmline_solve::DiodeState;
use ohmline_syntax::{Evidence, EvidenceSide};
use rustc_hash::FxHashSet;

use super::ways::{Open, Way};
use super::{Teller, pieces};

/// Longest list of the elements of a side.
const MOST: usize = 200;

/// Two elements that all current from one side to the other passes, there and back.
pub(super) fn pair(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let circuit = teller.facts.circuit;
    let (one, other) = (*teller.elements().first()?, *teller.others().first()?);
    [Open::Moment, Open::Steady].into_iter().find_map(|open| {
        let branch_of = |id: ElementId| circuit.branches_of(id).filter(|branch| teller.ways.carries(*branch, open));
        branch_of(one).find_map(|first| {
            branch_of(other).find_map(|second| {
                let inside = side(teller, &[first, second], open)?;
                let parted = |branch: BranchId| {
                    let place = circuit.branch(branch);
                    inside.contains(&place.from) != inside.contains(&place.to)
                };
                if !parted(second) {
                    return None;
                }
                let (name, partner) = (teller.facts.name(one), teller.facts.name(other));
                let settled = if open == Open::Steady { ", once capacitors are charged" } else { "" };
                let conclusion = format!(
                    "nothing else that carries current crosses{settled}, so what passes {name} has to pass {partner}"
                );
                Some(cut(teller, &inside, &[one, other], conclusion))
            })
        })
    })
}

/// An element that is all that could carry current from one side to the other.
pub(super) fn bridge(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let circuit = teller.facts.circuit;
    let id = *teller.elements().first()?;
    let is = |branch: &BranchId, role: Role| teller.facts.role(teller.state, *branch) == Some(role);
    let dead = circuit.branches_of(id).find(|branch| is(branch, Role::Dead));
    // A capacitor is a gap in steady state; it is dead when it lies on no closed path before that either.
    let (dead, open) = match dead {
        Some(dead) => (dead, Open::Steady),
        None => match circuit.branches_of(id).find(|branch| teller.ways.carries(*branch, Open::Moment)) {
            Some(branch) => (branch, Open::Moment),
            // A gap that would carry nothing if it were none.
            None => (circuit.branches_of(id).next()?, Open::Steady),
        },
    };
    let inside = side(teller, &[dead], Open::Drawn).or_else(|| side(teller, &[dead], open))?;
    let name = teller.facts.name(id);
    let alone = crossing(teller, &inside).len() == 1;
    let which = if alone { "nothing else crosses" } else { "nothing else that crosses lets current pass" };
    let conclusion = format!("{which}, so no current could come back: {name} carries none");
    Some(cut(teller, &inside, &[id], conclusion))
}

/// The side that a node lies on when nothing conducts to the other.
pub(super) fn island(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let circuit = teller.facts.circuit;
    let at = *teller.nodes().first()?;
    let sources = teller.elements();
    let beyond = |all: bool| {
        let stops = |branch: BranchId| match teller.ways.law(branch) {
            Law::Drive(_) => all || sources.contains(&circuit.branch(branch).element),
            Law::Open | Law::Capacitor { .. } => true,
            Law::Diode { .. } => blocks(teller, circuit.branch(branch).element),
            _ => false,
        };
        teller.ways.reach(at, |way| matches!(way, Way::Branch(branch) if !stops(branch)))
    };
    // Other current sources may lie on one side or cross too; what all of them drive across must not cancel.
    let inside = match sources[..] {
        [] => beyond(true),
        _ => [false, true].into_iter().map(beyond).find(|inside| driven_across(teller, inside) != 0)?,
    };
    if crossing(teller, &inside).is_empty() {
        return Some(pieces::alone(teller, &inside));
    }
    let mut driven: Vec<ElementId> = crossing(teller, &inside).into_iter().filter(|id| drives(teller, *id)).collect();
    driven.retain(|id| !sources.contains(id));
    let conclusion = match (sources.len(), driven.is_empty()) {
        (0, true) => {
            "nothing that crosses conducts, so nothing ties the potentials of the two sides together".to_owned()
        }
        (0, false) => "nothing that crosses ties the potentials of the two sides together".to_owned(),
        (1, true) => format!("what {} drives across has no way back", teller.list(&sources)),
        _ => "there is no other way across, so the currents driven across would have to cancel, and do not".to_owned(),
    };
    Some(cut(teller, &inside, &sources, conclusion))
}

fn blocks(teller: &Teller<'_, '_>, diode: ElementId) -> bool {
    let state = teller.facts.answers.states.get(teller.state.index());
    !state.is_some_and(|state| state.diodes.contains(&(diode, DiodeState::Conducting)))
}

/// What all current sources together drive into a side.
fn driven_across(teller: &Teller<'_, '_>, inside: &FxHashSet<NodeId>) -> Rational {
    let circuit = teller.facts.circuit;
    let mut sum = Rational::from(0);
    for branch in crossing(teller, inside).into_iter().flat_map(|id| circuit.branches_of(id)) {
        let place = circuit.branch(branch);
        if let Law::Drive(drive) = teller.ways.law(branch) {
            sum += match (inside.contains(&place.from), inside.contains(&place.to)) {
                (true, false) => drive,
                (false, true) => -drive,
                _ => continue,
            };
        }
    }
    sum
}

fn drives(teller: &Teller<'_, '_>, id: ElementId) -> bool {
    teller.facts.circuit.branches_of(id).any(|branch| matches!(teller.ways.law(branch), Law::Drive(_)))
}

/// The smaller side when some branches are taken away; `None` when that parts nothing.
fn side(teller: &Teller<'_, '_>, without: &[BranchId], open: Open) -> Option<FxHashSet<NodeId>> {
    let place = teller.facts.circuit.branch(*without.first()?);
    let may = |way: Way| match way {
        Way::Branch(branch) => !without.contains(&branch) && teller.ways.carries(branch, open),
        Way::Question => true,
    };
    teller.ways.smaller_side(place.from, place.to, may)
}

/// The elements with an end on either side, in text order.
fn crossing(teller: &Teller<'_, '_>, inside: &FxHashSet<NodeId>) -> Vec<ElementId> {
    let circuit = teller.facts.circuit;
    let mut met: Vec<ElementId> = inside
        .iter()
        .flat_map(|node| circuit.ends(*node))
        .map(|end| end.element)
        .filter(|id| circuit.element(*id).terminals.iter().any(|node| !inside.contains(node)))
        .collect();
    met.sort_unstable();
    met.dedup();
    met
}

/// The cut in words: the elements of the finding first, then what else crosses and why it does not count.
fn cut(teller: &Teller<'_, '_>, inside: &FxHashSet<NodeId>, subjects: &[ElementId], conclusion: String) -> Evidence {
    let circuit = teller.facts.circuit;
    let crossing = crossing(teller, inside);
    let (mut first, rest): (Vec<ElementId>, Vec<ElementId>) = crossing.iter().partition(|id| subjects.contains(id));
    first.extend(rest);
    let steps = first
        .iter()
        .map(|id| {
            let terminals = &circuit.element(*id).terminals;
            let near = terminals.iter().copied().find(|node| inside.contains(node));
            let far = terminals.iter().copied().find(|node| !inside.contains(node));
            let between = match (near, far) {
                (Some(near), Some(far)) => {
                    format!("{} crosses, from {} to {}", teller.facts.name(*id), teller.node(near), teller.node(far))
                }
                _ => format!("{} crosses", teller.facts.name(*id)),
            };
            let text = if subjects.contains(id) { between } else { format!("{between}: {}", why_not(teller, *id)) };
            teller.step(*id, near, text)
        })
        .collect();
    let sides = [one_side(teller, inside, &crossing, true), one_side(teller, inside, &crossing, false)];
    teller.cut(steps, sides, conclusion)
}

/// Why an element that crosses a cut does not let current pass that others drive.
fn why_not(teller: &Teller<'_, '_>, id: ElementId) -> String {
    let circuit = teller.facts.circuit;
    if circuit.states[teller.state.index()].faults.get(&id) == Some(&Fault::Open) {
        return "taken out".to_owned();
    }
    let shorted = |branch: BranchId| {
        let place = circuit.branch(branch);
        teller.ways.law(branch) != Law::Short && teller.facts.is_one_point(teller.state, place.from, place.to)
    };
    if circuit.branches_of(id).any(shorted) {
        return "its two ends are one point, so it carries nothing".to_owned();
    }
    let topology = &teller.facts.topologies[teller.state.index()];
    if let Some(by) = circuit.branches_of(id).find_map(|branch| topology.bypassed_by(circuit, branch)) {
        let leads = if by.len() == 1 { "leads" } else { "lead" };
        return format!("{} {leads} past it without resistance, so it carries nothing", teller.list(&by));
    }
    let why = match (circuit.element(id).kind, circuit.params(teller.state, id)) {
        (_, Params::Switch { closed: Some(false) }) => "open",
        (_, Params::Changeover { .. }) => "thrown the other way",
        (Kind::Voltmeter, _) => "an ideal voltmeter, which carries nothing",
        (Kind::Capacitor | Kind::Electrolytic, _) => "charged, a capacitor carries nothing",
        (Kind::Diode, _) => "it blocks",
        (Kind::CurrentSource, _) => "an ideal current source, which lets only its own current pass",
        _ => "it carries nothing",
    };
    why.to_owned()
}

fn one_side(teller: &Teller<'_, '_>, inside: &FxHashSet<NodeId>, crossing: &[ElementId], inner: bool) -> EvidenceSide {
    let circuit = teller.facts.circuit;
    let piece = |node: &NodeId| teller.facts.topologies[teller.state.index()].piece[node.index()];
    let own = inside.iter().next().map(piece);
    let is_here = |node: &NodeId| inside.contains(node) == inner;
    let members: Vec<ElementId> = if inner {
        let mut members: Vec<ElementId> =
            inside.iter().flat_map(|node| circuit.ends(*node)).map(|end| end.element).collect();
        members.sort_unstable();
        members.dedup();
        members
    } else {
        circuit.element_ids().collect()
    };
    let members = members.into_iter().filter(|id| {
        let terminals = &circuit.element(*id).terminals;
        !terminals.is_empty() && terminals.iter().all(|node| is_here(node) && Some(piece(node)) == own)
    });
    let mut side = EvidenceSide::default();
    for id in members {
        if side.elements.len() < MOST {
            side.elements.push(teller.facts.name(id).to_owned());
        } else {
            side.more += 1;
        }
    }
    let mut points: Vec<NodeId> =
        crossing.iter().flat_map(|id| &circuit.element(*id).terminals).copied().filter(|node| is_here(node)).collect();
    points.sort_unstable();
    points.dedup();
    side.points = points.into_iter().take(MOST).map(|node| teller.label(node)).collect();
    side
}
