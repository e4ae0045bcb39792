//! What is left of a circuit between two points when series and parallel have been reduced as far as they go.
//!
//! In which order groups are put together does not change what is left (R. Duffin, Topology of series-parallel networks, Journal of Mathematical
//! Analysis and Applications 10, 1965).

use ohmline_circuit::topology::components;
use ohmline_circuit::{BranchId, ElementId, Law, NodeId, StateId};
use rustc_hash::FxHashMap;

use crate::facts::Facts;

/// A resistance between two points: a single element, or several that were reduced to one.
#[derive(Clone)]
pub struct Edge {
    /// A node of each of the two points.
    pub ends: [NodeId; 2],
    /// The elements that went into it, in text order.
    pub members: Vec<ElementId>,
    points: [u32; 2],
}

/// The resistances left between two points.
pub struct Core {
    edges: Vec<Edge>,
    terminals: [u32; 2],
    /// Sources without resistance, which count as wires.
    pub wires: Vec<ElementId>,
}

impl Core {
    /// Reduces as far as series and parallel go what lies on ways from one point to the other. An electromotive force counts as its internal
    /// resistance, as it does when the resistance between two points is asked; with a diode in the way nothing is said, so nothing is left.
    pub fn between(facts: &Facts<'_>, state: StateId, from: NodeId, to: NodeId, without: Option<ElementId>) -> Self {
        let circuit = facts.circuit;
        let mut core = Self { edges: Vec::new(), terminals: [0, 0], wires: Vec::new() };
        let Some(topology) = facts.topologies.get(state.index()) else { return core };
        let mut point = topology.point.clone();
        let mut branches = Vec::new();
        for (at, branch) in circuit.branches.iter().enumerate() {
            if Some(branch.element) == without {
                continue;
            }
            match circuit.law(state, BranchId(at as u32)) {
                Law::Emf { internal, .. } if internal == 0 => {
                    let (old, new) = (point[branch.from.index()], point[branch.to.index()]);
                    for one in point.iter_mut().filter(|one| **one == old) {
                        *one = new;
                    }
                    core.wires.push(branch.element);
                }
                Law::Resistance(_) | Law::Emf { .. } | Law::Unknown => branches.push(*branch),
                Law::Diode { .. } => return core,
                Law::Open | Law::Short | Law::Drive(_) | Law::Capacitor { .. } => {}
            }
        }
        core.terminals = [point[from.index()], point[to.index()]];
        let edge = |branch: &ohmline_circuit::Branch| Edge {
            ends: [branch.from, branch.to],
            members: vec![branch.element],
            points: [point[branch.from.index()], point[branch.to.index()]],
        };
        // What lies on a way from one point to the other lies on a closed path with something that joins the two.
        let mut all: Vec<(usize, usize)> = vec![(core.terminals[0] as usize, core.terminals[1] as usize)];
        let edges: Vec<Edge> = branches.iter().map(edge).collect();
        all.extend(edges.iter().map(|edge| (edge.points[0] as usize, edge.points[1] as usize)));
        let own = components(circuit.nodes.len(), &all).into_iter().find(|component| component.contains(&0));
        let own = own.unwrap_or_default();
        core.edges = own.into_iter().filter(|at| *at > 0).map(|at| edges[at - 1].clone()).collect();
        core.reduce();
        core
    }

    /// What is left, when more is left than one resistance.
    pub fn edges(&self) -> &[Edge] {
        if self.edges.len() > 1 { &self.edges } else { &[] }
    }

    /// The points at which what is left meets: a node of each, the edges there, and whether it is one of the two that are asked about.
    pub fn points(&self) -> Vec<(NodeId, Vec<&Edge>, bool)> {
        let mut found: Vec<(u32, NodeId, Vec<&Edge>)> = Vec::new();
        for edge in self.edges() {
            for (point, node) in edge.points.into_iter().zip(edge.ends) {
                match found.iter_mut().find(|(known, ..)| *known == point) {
                    Some((_, _, edges)) => edges.push(edge),
                    None => found.push((point, node, vec![edge])),
                }
            }
        }
        found.into_iter().map(|(point, node, edges)| (node, edges, self.terminals.contains(&point))).collect()
    }

    /// An element at which reduction stops: without it the rest would reduce, if there is one such element. `None` when everything reduces.
    pub fn blocker(&self) -> Option<ElementId> {
        if self.edges.len() <= 1 {
            return None;
        }
        let mut order: Vec<usize> = (0..self.edges.len()).collect();
        // What is written last is most often what was laid across the rest.
        order.sort_by_key(|at| (self.edges[*at].members.len() > 1, std::cmp::Reverse(self.edges[*at].members[0])));
        let solves = |at: &usize| {
            let mut rest = Self { edges: self.edges.clone(), terminals: self.terminals, wires: Vec::new() };
            rest.edges.remove(*at);
            rest.reduce();
            rest.edges.len() == 1
        };
        let found = order.iter().copied().take(40).find(|at| solves(at)).or(order.first().copied());
        found.map(|at| self.edges[at].members[0])
    }

    fn reduce(&mut self) {
        while self.merge_parallel() | self.merge_series() {}
        self.edges.sort_by(|one, other| one.members.cmp(&other.members));
    }

    /// Takes out loops and puts what runs between the same two points together.
    fn merge_parallel(&mut self) -> bool {
        let before = self.edges.len();
        self.edges.retain(|edge| edge.points[0] != edge.points[1]);
        let key = |edge: &Edge| (edge.points[0].min(edge.points[1]), edge.points[0].max(edge.points[1]));
        self.edges.sort_by(|one, other| key(one).cmp(&key(other)).then_with(|| one.members.cmp(&other.members)));
        self.edges.dedup_by(|later, first| {
            let same = key(later) == key(first);
            if same {
                first.take(&mut later.members);
            }
            same
        });
        self.edges.len() != before
    }

    /// Takes out dead ends and joins what meets at a point with nothing else.
    fn merge_series(&mut self) -> bool {
        let mut touching: FxHashMap<u32, Vec<usize>> = FxHashMap::default();
        for (at, edge) in self.edges.iter().enumerate() {
            for point in edge.points {
                touching.entry(point).or_default().push(at);
            }
        }
        let mut points: Vec<(&u32, &Vec<usize>)> =
            touching.iter().filter(|(point, _)| !self.terminals.contains(point)).collect();
        points.sort_unstable();
        for (point, at) in points {
            match at[..] {
                [only] => {
                    self.edges.remove(only);
                    return true;
                }
                [one, two] if one != two => {
                    let mut second = self.edges.remove(one.max(two));
                    let first = &mut self.edges[one.min(two)];
                    let here = usize::from(first.points[1] == *point);
                    let there = usize::from(second.points[0] == *point);
                    (first.points[here], first.ends[here]) = (second.points[there], second.ends[there]);
                    first.take(&mut second.members);
                    return true;
                }
                _ => {}
            }
        }
        false
    }
}

impl Edge {
    fn take(&mut self, members: &mut Vec<ElementId>) {
        self.members.append(members);
        self.members.sort_unstable();
        // A potentiometer may go into it with both its branches.
        self.members.dedup();
    }
}
