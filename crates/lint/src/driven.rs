//! What is left of a circuit with its sources when it is put together as far as a person without equations can.
//!
//! Resistances in series and side by side make one, sources in line add up, equal ones side by side are one, and what stands straight across an
//! ideal voltage is solved by itself. What then still hangs together at points where three or more meet takes the equations of junctions and loops.

use ohmline_circuit::{BranchId, ElementId, Law, NodeId, Rational, StateId};
use rustc_hash::FxHashMap;

use crate::facts::Facts;

/// A line between two points: an element, or several that were put together.
#[derive(Clone)]
pub struct Line {
    /// A node of each of the two points.
    pub ends: [NodeId; 2],
    /// The elements that went into it, in text order.
    pub members: Vec<ElementId>,
    points: [u32; 2],
    /// What drives along it, from the second end to the first.
    emf: Rational,
    /// Whether it has no resistance: an ideal voltage.
    ideal: bool,
    /// Whether a current source drives its own current through it.
    fixed: bool,
}

impl Line {
    fn turned(&self) -> Self {
        let ([a, b], [from, to]) = (self.points, self.ends);
        Self { points: [b, a], ends: [to, from], emf: -self.emf.clone(), ..self.clone() }
    }

    fn take(&mut self, members: &[ElementId]) {
        self.members.extend_from_slice(members);
        self.members.sort_unstable();
        self.members.dedup();
    }
}

/// What takes equations in a state; nothing where a diode or an unknown value stands in the way of saying so.
pub fn lines(facts: &Facts<'_>, state: StateId) -> Vec<Line> {
    let circuit = facts.circuit;
    let Some(topology) = facts.topologies.get(state.index()) else { return Vec::new() };
    let sources = circuit.elements.iter().filter(|element| element.kind.is_source() && element.is_placed()).count();
    let mut lines = Vec::new();
    for (at, branch) in circuit.branches.iter().enumerate() {
        let (emf, ideal, fixed) = match circuit.law(state, BranchId(at as u32)) {
            Law::Resistance(_) => (Rational::from(0), false, false),
            Law::Emf { emf, internal } => (emf, internal == 0, false),
            Law::Drive(_) => (Rational::from(0), false, true),
            Law::Open | Law::Short | Law::Capacitor { .. } => continue,
            Law::Diode { .. } | Law::Unknown => return Vec::new(),
        };
        // What carries nothing since the values balance may be taken out, which is said by itself.
        let balanced = || {
            let current = facts.current(state, branch.element);
            current.is_some_and(|current| current.to_f64() == 0.0)
        };
        if sources == 1 && balanced() {
            continue;
        }
        lines.push(Line {
            ends: [branch.from, branch.to],
            members: vec![branch.element],
            points: [topology.point[branch.from.index()], topology.point[branch.to.index()]],
            emf,
            ideal,
            fixed,
        });
    }
    while side_by_side(&mut lines) || in_line(&mut lines) {}
    lines.sort_by(|one, other| one.members.cmp(&other.members));
    lines
}

/// Puts two together that run between the same two points, or takes out what comes back to where it began.
fn side_by_side(lines: &mut Vec<Line>) -> bool {
    let before = lines.len();
    lines.retain(|line| line.points[0] != line.points[1]);
    let key = |line: &Line| (line.points[0].min(line.points[1]), line.points[0].max(line.points[1]));
    let mut by: FxHashMap<(u32, u32), Vec<usize>> = FxHashMap::default();
    for (at, line) in lines.iter().enumerate() {
        by.entry(key(line)).or_default().push(at);
    }
    let mut gone = vec![false; lines.len()];
    for same in by.into_values().filter(|same| same.len() > 1) {
        // An ideal voltage decides by itself what the others carry.
        if let Some(ideal) = same.iter().copied().find(|at| lines[*at].ideal) {
            same.into_iter().filter(|at| *at != ideal && !lines[*at].ideal).for_each(|at| gone[at] = true);
            continue;
        }
        for (place, &one) in same.iter().enumerate() {
            for &other in same[..place].iter().filter(|_| !gone[one]) {
                let later =
                    if lines[other].points == lines[one].points { lines[one].clone() } else { lines[one].turned() };
                if !gone[other] && lines[other].emf == later.emf && lines[other].fixed == later.fixed {
                    gone[one] = true;
                    lines[other].take(&later.members);
                    break;
                }
            }
        }
    }
    let mut gone = gone.into_iter();
    lines.retain(|_| !gone.next().unwrap_or(false));
    lines.len() != before
}

/// Joins two that meet at a point with nothing else, or takes out what ends at a point alone.
fn in_line(lines: &mut Vec<Line>) -> bool {
    let mut touching: FxHashMap<u32, Vec<usize>> = FxHashMap::default();
    for (at, line) in lines.iter().enumerate() {
        line.points.iter().for_each(|point| touching.entry(*point).or_default().push(at));
    }
    let mut points: Vec<(u32, Vec<usize>)> = touching.into_iter().filter(|(_, at)| at.len() < 3).collect();
    points.sort_unstable();
    let Some((point, at)) = points.into_iter().next() else { return false };
    match at[..] {
        [one, other] if one != other => {
            let second = lines.remove(one.max(other));
            let first = lines[one.min(other)].clone();
            // From the far end of the first to the point, and on to the far end of the second.
            let first = if first.points[1] == point { first } else { first.turned() };
            let second = if second.points[0] == point { second } else { second.turned() };
            let mut whole = Line {
                ends: [first.ends[0], second.ends[1]],
                points: [first.points[0], second.points[1]],
                emf: first.emf + second.emf,
                ideal: first.ideal && second.ideal,
                fixed: first.fixed || second.fixed,
                members: first.members,
            };
            whole.take(&second.members);
            lines[one.min(other)] = whole;
        }
        _ => {
            lines.remove(at[0]);
        }
    }
    true
}

/// The lines that hang together with an element, if it is in one of them.
pub fn around(lines: &[Line], id: ElementId) -> Vec<&Line> {
    let Some(first) = lines.iter().find(|line| line.members.contains(&id)) else { return Vec::new() };
    let mut points: Vec<u32> = first.points.to_vec();
    let mut at = 0;
    while let Some(point) = points.get(at).copied() {
        for line in lines.iter().filter(|line| line.points.contains(&point)) {
            points.extend(line.points.iter().filter(|other| !points.contains(other)).copied().collect::<Vec<_>>());
        }
        at += 1;
    }
    lines.iter().filter(|line| points.contains(&line.points[0])).collect()
}

/// The points at which lines meet: a node of each, with the first element of each line there.
pub fn points(lines: &[&Line]) -> Vec<(NodeId, Vec<ElementId>)> {
    let mut found: Vec<(u32, NodeId, Vec<ElementId>)> = Vec::new();
    for line in lines {
        for (point, node) in line.points.into_iter().zip(line.ends) {
            match found.iter_mut().find(|(known, ..)| *known == point) {
                Some((_, _, met)) => met.push(line.members[0]),
                None => found.push((point, node, vec![line.members[0]])),
            }
        }
    }
    found.into_iter().map(|(_, node, met)| (node, met)).collect()
}
