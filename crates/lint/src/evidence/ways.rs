//! The drawing as ways for current, in one state. The laws decide, not the classes of the topology, so that a proof does not lean on what it
//! is to prove.

use std::collections::VecDeque;

use ohmline_circuit::{BranchId, ElementId, Kind, Law, NodeId, StateId};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::facts::Facts;

/// Which ways count.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Open {
    /// Every drawn element, whatever it does.
    Drawn,
    /// What carries current at some moment: capacitors too.
    Moment,
    /// What carries current in steady state.
    Steady,
}

/// A way from one node to another.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// Through a branch.
    Branch(BranchId),
    /// Through what a question puts between two points.
    Question,
}

/// A step along a path: the way, and where it leads to.
#[derive(Clone, Copy)]
pub(super) struct Link {
    pub(super) way: Way,
    pub(super) from: NodeId,
    pub(super) to: NodeId,
}

impl Link {
    /// The branch that it leads through.
    pub(super) fn branch(&self) -> Option<BranchId> {
        match self.way {
            Way::Branch(branch) => Some(branch),
            Way::Question => None,
        }
    }
}

pub(super) struct Ways<'t, 'a> {
    facts: &'t Facts<'a>,
    state: StateId,
}

impl<'t, 'a> Ways<'t, 'a> {
    pub(super) fn new(facts: &'t Facts<'a>, state: StateId) -> Self {
        Self { facts, state }
    }

    /// How a branch behaves.
    pub(super) fn law(&self, branch: BranchId) -> Law {
        self.facts.circuit.law(self.state, branch)
    }

    /// Whether a branch has no resistance.
    pub(super) fn is_short(&self, branch: BranchId) -> bool {
        self.law(branch) == Law::Short
    }

    /// Whether a branch is one of a part that something without resistance leads past.
    fn is_bypassed(&self, branch: BranchId) -> bool {
        self.facts.topologies.get(self.state.index()).is_some_and(|topology| topology.is_bypassed(branch))
    }

    /// Whether a branch can carry current.
    pub(super) fn carries(&self, branch: BranchId, open: Open) -> bool {
        let place = self.facts.circuit.branch(branch);
        if place.from == place.to {
            return false;
        }
        if open == Open::Drawn {
            return true;
        }
        let kind = self.facts.circuit.element(place.element).kind;
        if self.is_bypassed(branch) {
            return false;
        }
        let apart = || !self.facts.is_one_point(self.state, place.from, place.to);
        let out = self.facts.circuit.states[self.state.index()].faults.get(&place.element)
            == Some(&ohmline_circuit::Fault::Open);
        match self.law(branch) {
            Law::Capacitor { .. } => open == Open::Moment && apart(),
            // A capacitor of unknown size is still a capacitor.
            Law::Open if !out && matches!(kind, Kind::Capacitor | Kind::Electrolytic) => {
                open == Open::Moment && apart()
            }
            Law::Open => false,
            Law::Resistance(_) => apart(),
            Law::Diode { drop, resistance } if drop != 0 || resistance != 0 => apart(),
            Law::Unknown if matches!(kind, Kind::Resistor | Kind::Lamp | Kind::Voltmeter) => apart(),
            Law::Short | Law::Emf { .. } | Law::Drive(_) | Law::Diode { .. } | Law::Unknown => true,
        }
    }

    /// The branches at a node that lead away from it, each with where it leads, and what a question joins there.
    pub(super) fn at(&self, node: NodeId) -> impl Iterator<Item = Link> + '_ {
        let circuit = self.facts.circuit;
        let branches =
            circuit.ends(node).iter().flat_map(|end| circuit.branches_of(end.element)).filter_map(move |id| {
                let place = circuit.branch(id);
                let to = match (place.from == node, place.to == node) {
                    (true, false) => place.to,
                    (false, true) => place.from,
                    _ => return None,
                };
                Some(Link { way: Way::Branch(id), from: node, to })
            });
        let closing = self.facts.topologies.get(self.state.index()).map_or(&[][..], |topology| topology.closing());
        let asked = closing.iter().filter_map(move |&(a, b)| {
            let to = if a == node {
                b
            } else if b == node {
                a
            } else {
                return None;
            };
            Some(Link { way: Way::Question, from: node, to })
        });
        branches.chain(asked)
    }

    /// A shortest path over the ways that `may` be used.
    pub(super) fn path(&self, from: NodeId, to: NodeId, may: impl Fn(Way) -> bool) -> Option<Vec<Link>> {
        let mut reached: FxHashMap<NodeId, Link> = FxHashMap::default();
        let mut queue = VecDeque::from([from]);
        while let Some(node) = queue.pop_front() {
            if node == to {
                let mut path = Vec::new();
                let mut node = to;
                while node != from {
                    let link = reached[&node];
                    path.push(link);
                    node = link.from;
                }
                path.reverse();
                return Some(path);
            }
            for link in self.at(node) {
                if link.to != from && may(link.way) && !reached.contains_key(&link.to) {
                    reached.insert(link.to, link);
                    queue.push_back(link.to);
                }
            }
        }
        None
    }

    /// All nodes that the ways lead to which `may` be used.
    pub(super) fn reach(&self, from: NodeId, may: impl Fn(Way) -> bool) -> FxHashSet<NodeId> {
        let mut inside = FxHashSet::from_iter([from]);
        let mut stack = vec![from];
        while let Some(node) = stack.pop() {
            for link in self.at(node) {
                if may(link.way) && inside.insert(link.to) {
                    stack.push(link.to);
                }
            }
        }
        inside
    }

    /// The smaller of the two parts that two nodes lie in; `None` when the ways join them. Both are followed in turn, so that a small part of
    /// a large circuit is found fast.
    pub(super) fn smaller_side(
        &self,
        one: NodeId,
        other: NodeId,
        may: impl Fn(Way) -> bool,
    ) -> Option<FxHashSet<NodeId>> {
        let mut sides = [one, other].map(|node| (FxHashSet::from_iter([node]), vec![node]));
        if one == other {
            return None;
        }
        for turn in (0..2).cycle() {
            let (mut inside, mut stack) = std::mem::take(&mut sides[turn]);
            let Some(node) = stack.pop() else { return Some(inside) };
            for link in self.at(node) {
                if may(link.way) && inside.insert(link.to) {
                    if sides[1 - turn].0.contains(&link.to) {
                        return None;
                    }
                    stack.push(link.to);
                }
            }
            sides[turn] = (inside, stack);
        }
        None
    }

    /// A path of branches without resistance, other than those of some elements.
    pub(super) fn zero_path(&self, from: NodeId, to: NodeId, without: &[ElementId]) -> Option<Vec<Link>> {
        self.path(from, to, |way| match way {
            Way::Branch(branch) => {
                self.is_short(branch) && !without.contains(&self.facts.circuit.branch(branch).element)
            }
            Way::Question => false,
        })
    }
}
