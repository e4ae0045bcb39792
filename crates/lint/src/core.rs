//! What is left of a circuit between two points when series and parallel have been reduced as far as they go.

use ohmline_circuit::{BranchId, ElementId, Law, NodeId, StateId};

use crate::facts::Facts;

/// A resistance between two points: a single element, or several that were reduced to one.
#[derive(Clone, Copy)]
struct Edge {
    from: u32,
    to: u32,
    /// The element, or the first of those that went into it.
    element: ElementId,
    /// Whether it is still a single element.
    single: bool,
}

/// The resistances left between two points.
pub struct Core {
    edges: Vec<Edge>,
    terminals: [u32; 2],
}

impl Core {
    /// Reduces as far as series, parallel and dead ends go. An electromotive force counts as its internal resistance, as it does when the resistance
    /// between two points is asked; with a diode in the way nothing is said, so nothing is left.
    pub fn between(facts: &Facts<'_>, state: StateId, from: NodeId, to: NodeId, without: Option<ElementId>) -> Self {
        let circuit = facts.circuit;
        let mut point: Vec<u32> =
            facts.topologies.get(state.index()).map_or_else(Vec::new, |topology| topology.point.clone());
        if point.len() != circuit.nodes.len() {
            return Self { edges: Vec::new(), terminals: [0, 0] };
        }
        let mut edges = Vec::new();
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
                }
                Law::Resistance(_) | Law::Emf { .. } | Law::Unknown => edges.push((*branch, branch.element)),
                Law::Diode { .. } => return Self { edges: Vec::new(), terminals: [0, 0] },
                Law::Open | Law::Short | Law::Drive(_) | Law::Capacitor { .. } => {}
            }
        }
        let edge = |(branch, element): (ohmline_circuit::Branch, ElementId)| Edge {
            from: point[branch.from.index()],
            to: point[branch.to.index()],
            element,
            single: true,
        };
        let terminals = [point[from.index()], point[to.index()]];
        let mut core = Self { edges: edges.into_iter().map(edge).collect(), terminals };
        core.reduce();
        core
    }

    /// An element at which reduction stops: without it the rest would reduce, if there is one such element. `None` when everything reduces.
    pub fn blocker(&self) -> Option<ElementId> {
        if self.edges.len() <= 1 {
            return None;
        }
        let mut order: Vec<usize> = (0..self.edges.len()).collect();
        // What is written last is most often what was laid across the rest.
        order.sort_by_key(|at| (!self.edges[*at].single, std::cmp::Reverse(self.edges[*at].element)));
        let solves = |at: &usize| {
            let mut rest = Self { edges: self.edges.clone(), terminals: self.terminals };
            rest.edges.remove(*at);
            rest.reduce();
            rest.edges.len() == 1
        };
        order.iter().copied().take(40).find(|at| solves(at)).or(order.first().copied()).map(|at| self.edges[at].element)
    }

    fn reduce(&mut self) {
        while self.merge_parallel() | self.merge_series() {}
    }

    /// Takes out loops and puts what runs between the same two points together.
    fn merge_parallel(&mut self) -> bool {
        let before = self.edges.len();
        self.edges.retain(|edge| edge.from != edge.to);
        self.edges.sort_by_key(|edge| (edge.from.min(edge.to), edge.from.max(edge.to), edge.element));
        self.edges.dedup_by(|later, first| {
            let same = (later.from.min(later.to), later.from.max(later.to))
                == (first.from.min(first.to), first.from.max(first.to));
            first.single &= !same;
            same
        });
        self.edges.len() != before
    }

    /// Takes out dead ends and joins what meets at a point with nothing else.
    fn merge_series(&mut self) -> bool {
        let mut touching: rustc_hash::FxHashMap<u32, Vec<usize>> = rustc_hash::FxHashMap::default();
        for (at, edge) in self.edges.iter().enumerate() {
            for point in [edge.from, edge.to] {
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
                    let other = |edge: Edge| if edge.from == *point { edge.to } else { edge.from };
                    let (first, second) = (self.edges[one], self.edges[two]);
                    let element = first.element.min(second.element);
                    self.edges[one] = Edge { from: other(first), to: other(second), element, single: false };
                    self.edges.remove(two);
                    return true;
                }
                _ => {}
            }
        }
        // Parts that hang together with neither terminal.
        false
    }
}
