//! An element between two points at one potential: the two lines that divide a voltage alike, or else the two potentials.

use ohmline_circuit::{BranchId, ElementId, Law, NodeId, Rational, Unit};
use ohmline_solve::{Number, Value};
use ohmline_syntax::{Evidence, EvidenceKind, EvidenceStep};

use super::Teller;
use super::ways::{Link, Open};
use crate::wording;

/// Resistances in line from a point to where something else joins.
struct Arm {
    links: Vec<Link>,
    ohms: Rational,
}

impl Arm {
    fn end(&self) -> Option<NodeId> {
        self.links.last().map(|link| link.to)
    }
}

/// Why nothing passes an element that lies on closed paths.
pub(super) fn balance(teller: &Teller<'_, '_>) -> Option<Evidence> {
    let id = *teller.elements().first()?;
    divided(teller, id).or_else(|| potentials(teller, id))
}

/// Both ends divide the same voltage in the same ratio.
fn divided(teller: &Teller<'_, '_>, id: ElementId) -> Option<Evidence> {
    let (a, b) = teller.facts.two_nodes(id)?;
    let (one, mut other) = (arms(teller, id, a)?, arms(teller, id, b)?);
    if one[0].end() == other[1].end() {
        other.reverse();
    }
    let ends = (one[0].end()?, one[1].end()?);
    if (other[0].end()?, other[1].end()?) != ends || ends.0 == ends.1 {
        return None;
    }
    let balanced = &one[0].ohms * &other[1].ohms == &one[1].ohms * &other[0].ohms;
    if !balanced {
        return None;
    }
    let mut steps = Vec::new();
    for (middle, [up, down]) in [(a, &one), (b, &other)] {
        let up = up.links.iter().rev().map(|link| Link { way: link.way, from: link.to, to: link.from });
        for (at, link) in up.chain(down.links.iter().copied()).enumerate() {
            steps.push(step(teller, &link, if at == 0 { "" } else { "on " })?);
        }
        debug_assert!(steps.iter().any(|step: &EvidenceStep| step.point == Some(teller.label(middle))));
    }
    let ratio = |arms: &[Arm; 2]| {
        let [up, down] = [0, 1].map(|at| wording::exact(&arms[at].ohms, Unit::Ohm));
        format!("{up} to {down}")
    };
    let conclusion = format!(
        "{} and {} divide the voltage between {} and {} in the same ratio, {} and {}, so none is left across {}",
        teller.node(a),
        teller.node(b),
        teller.node(ends.0),
        teller.node(ends.1),
        ratio(&one),
        ratio(&other),
        teller.facts.name(id)
    );
    Some(teller.evidence(EvidenceKind::Lines, steps, conclusion))
}

fn step(teller: &Teller<'_, '_>, link: &Link, on: &str) -> Option<EvidenceStep> {
    let branch = link.branch()?;
    let id = teller.facts.circuit.branch(branch).element;
    let Law::Resistance(ohms) = teller.ways.law(branch) else { return None };
    let (from, to) = (teller.node(link.from), teller.node(link.to));
    let through = format!("through {} ({})", teller.facts.name(id), wording::exact(&ohms, Unit::Ohm));
    let text = if on.is_empty() { format!("from {from} {through} to {to}") } else { format!("{on}{through} to {to}") };
    Some(teller.step(id, Some(link.to), text))
}

/// The two lines of resistances that lead from an end of an element.
fn arms(teller: &Teller<'_, '_>, id: ElementId, node: NodeId) -> Option<[Arm; 2]> {
    let starts = carrying(teller, node, id);
    let [one, other] = starts[..] else { return None };
    Some([arm(teller, one)?, arm(teller, other)?])
}

fn arm(teller: &Teller<'_, '_>, first: Link) -> Option<Arm> {
    let mut arm = Arm { links: Vec::new(), ohms: Rational::from(0) };
    let mut link = first;
    while arm.links.len() < 100 {
        let branch = link.branch()?;
        let Law::Resistance(ohms) = teller.ways.law(branch) else { return None };
        arm.ohms += ohms;
        arm.links.push(link);
        let on: Vec<Link> = carrying(teller, link.to, teller.facts.circuit.branch(branch).element);
        match on[..] {
            [only] if matches!(only.branch().map(|branch| teller.ways.law(branch)), Some(Law::Resistance(_))) => {
                link = only;
            }
            _ => return Some(arm),
        }
    }
    None
}

/// What leads away from a node and can carry current, but for an element.
fn carrying(teller: &Teller<'_, '_>, node: NodeId, without: ElementId) -> Vec<Link> {
    let carries = |branch: BranchId| {
        teller.ways.carries(branch, Open::Steady) && teller.facts.circuit.branch(branch).element != without
    };
    teller.ways.at(node).filter(|link| link.branch().is_none_or(carries)).collect()
}

/// The potentials of the two ends, as they are solved for.
fn potentials(teller: &Teller<'_, '_>, id: ElementId) -> Option<Evidence> {
    let (a, b) = teller.facts.two_nodes(id)?;
    let answers = teller.facts.answers.states.get(teller.state.index())?;
    let at = |node: NodeId| match answers.potentials.get(node.index()) {
        Some(Value::Known(value)) => Some(value.clone()),
        _ => None,
    };
    let (one, other): (Number, Number) = (at(a)?, at(b)?);
    if one != other {
        return None;
    }
    let told = |node: NodeId, volts: &Number| {
        let text = format!("{} is at {}", teller.node(node), wording::number(volts, Unit::Volt));
        teller.step(id, Some(node), format!("{}: {text}", teller.facts.name(id)))
    };
    let steps = vec![told(a, &one), told(b, &other)];
    let conclusion = format!("both ends of {} are at one potential, so it carries none", teller.facts.name(id));
    Some(teller.evidence(EvidenceKind::Points, steps, conclusion))
}
