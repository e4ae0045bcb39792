//! Questions about one element.

use std::collections::VecDeque;

use rustc_hash::FxHashMap;
use smallvec::SmallVec;

use super::graph::Graph;
use super::nature::Nature;
use super::{Lines, NONE, Role, Topology};
use crate::model::{BranchId, Circuit, ElementId, Kind, NodeId};

/// A chain of elements in direct series, in order.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Chain {
    /// The elements along it; a potentiometer with both branches in the chain stands here twice.
    pub elements: Vec<ElementId>,
    /// The nodes along it: where it begins, each node between two elements, where it ends. A closed chain ends where it begins.
    pub nodes: Vec<NodeId>,
}

impl Chain {
    /// Where it begins.
    pub fn from(&self) -> NodeId {
        self.nodes[0]
    }

    /// Where it ends.
    pub fn to(&self) -> NodeId {
        self.nodes[self.nodes.len() - 1]
    }
}

impl Topology {
    /// The other elements in direct series with this one, in text order. Capacitors count as branches: what stands so at every moment.
    ///
    /// An element of several branches (a changeover, a potentiometer) is in series when the branches of it that are on a closed path all
    /// are; a potentiometer used as a divider therefore is in series with nothing.
    pub fn series_with(&self, circuit: &Circuit, element: ElementId) -> Vec<ElementId> {
        self.others(circuit, &self.lines, &self.series, &self.lines.chains, element)
    }

    /// The other elements that carry the same current whatever the values, those of [`Self::series_with`] included.
    pub fn series_reduced_with(&self, circuit: &Circuit, element: ElementId) -> Vec<ElementId> {
        self.others(circuit, &self.lines, &self.series_reduced, &self.lines.classes, element)
    }

    /// The other elements that carry the same current in steady state, when capacitors carry nothing any more.
    pub fn steady_series_with(&self, circuit: &Circuit, element: ElementId) -> Vec<ElementId> {
        let lines = self.steady_lines();
        self.others(circuit, lines, &lines.reduced, &lines.classes, element)
    }

    /// The other elements between the same two points.
    pub fn parallel_with(&self, _circuit: &Circuit, element: ElementId) -> Vec<ElementId> {
        let class = self.parallels.element.get(element.index()).copied().unwrap_or(NONE);
        self.parallels.members.members(class).iter().map(|&other| ElementId(other)).filter(|&e| e != element).collect()
    }

    /// The longest chain of elements in direct series that this one belongs to, itself alone at least. `None` when it carries no current, or when
    /// its branches in use belong to different chains.
    pub fn branch_chain(&self, circuit: &Circuit, element: ElementId) -> Option<Chain> {
        let mut live = circuit.branches_of(element).filter(|branch| self.lines.live[branch.index()]);
        let first = live.next()?;
        let chain = self.series[first.index()];
        if chain == NONE {
            let place = circuit.branch(first);
            return live.next().is_none().then(|| Chain { elements: vec![element], nodes: vec![place.from, place.to] });
        }
        live.all(|branch| self.series[branch.index()] == chain).then(|| self.chain(circuit, chain))
    }

    /// The chain with this number in [`Topology::series`].
    pub fn chain(&self, circuit: &Circuit, number: u32) -> Chain {
        let mut nodes = Vec::new();
        let mut elements = Vec::new();
        if let Some(&(begin, _)) = self.lines.chain_ends.get(number as usize) {
            let mut node = NodeId(begin);
            nodes.push(node);
            for &branch in self.lines.chains.members(number) {
                let place = circuit.branch(BranchId(branch));
                node = if place.from == node { place.to } else { place.from };
                nodes.push(node);
                elements.push(place.element);
            }
        }
        Chain { elements, nodes }
    }

    /// Whether an element carries current at some moment: some branch of it is on a closed path (capacitors count as branches).
    pub fn is_live(&self, circuit: &Circuit, element: ElementId) -> bool {
        !self.bridged.contains(&element) && circuit.branches_of(element).any(|branch| self.lines.live[branch.index()])
    }

    /// What leads past a branch that is one of a part which is bypassed as a whole: the elements that join the ends of the part.
    pub fn bypassed_by(&self, circuit: &Circuit, branch: BranchId) -> Option<Vec<ElementId>> {
        if !self.bypass.has(branch.0) {
            return None;
        }
        match self.bypassed(circuit, circuit.branch(branch).element)? {
            super::Evidence::Bypassed { by, .. } => Some(by),
            _ => None,
        }
    }

    /// Whether a branch is one of a part that carries nothing since something without resistance joins its ends.
    pub fn is_bypassed(&self, branch: BranchId) -> bool {
        self.bypass.has(branch.0)
    }

    /// The open switches that an element without current waits for: those that would lie on one line with it, were every open switch closed.
    pub fn waits_for(&self, circuit: &Circuit, element: ElementId) -> Vec<ElementId> {
        let mut edges = Vec::new();
        for (branch, place) in circuit.branches.iter().enumerate() {
            let closes = match self.natures[branch] {
                Nature::Open => circuit.element(place.element).kind == Kind::Switch,
                Nature::Removed => false,
                _ => self.role[branch] != Role::Shorted,
            };
            if closes && place.from != place.to {
                edges.push(branch);
            }
        }
        let ends = edges.iter().map(|&branch| [circuit.branches[branch].from.0, circuit.branches[branch].to.0]);
        let ends = ends.chain(self.closing.iter().map(|(a, b)| [a.0, b.0]));
        let labels = Graph::new(circuit.nodes.len(), ends.collect()).labels();
        let own = circuit.element(element).branches.clone();
        let label = edges
            .iter()
            .zip(&labels)
            .find(|&(&branch, &label)| own.contains(&(branch as u32)) && label != 0)
            .map_or(0, |(_, &label)| label);
        if label == 0 {
            return Vec::new();
        }
        edges
            .iter()
            .zip(&labels)
            .filter(|&(&branch, &other)| other == label && self.natures[branch] == Nature::Open)
            .map(|(&branch, _)| circuit.branches[branch].element)
            .collect()
    }

    /// The elements of zero resistance that join both ends of a branch without it, one after the other: nothing when a plain wire does. `None`
    /// when its ends are not one point.
    pub fn shorted_by(&self, circuit: &Circuit, branch: BranchId) -> Option<Vec<ElementId>> {
        let place = circuit.branch(branch);
        if place.from == place.to || self.bridged.contains(&place.element) {
            return Some(Vec::new());
        }
        if self.role[branch.index()] != Role::Shorted && self.point[place.from.index()] != self.point[place.to.index()]
        {
            return None;
        }
        let path = self.zero_path(circuit, place.from, place.to, |other| other != branch)?;
        Some(path.into_iter().map(|branch| circuit.branch(branch).element).collect())
    }

    /// Loops of zero resistance, each as the elements round it: the share of current among them is undetermined. At most
    /// `limit` of them, one for each branch that closes a loop.
    pub fn zero_loops(&self, circuit: &Circuit, limit: usize) -> Vec<Vec<ElementId>> {
        let mut loops = Vec::new();
        let mut shorts = Vec::new();
        for (branch, place) in circuit.branches.iter().enumerate() {
            if self.natures[branch] == Nature::Short && self.role[branch] == Role::Shorted {
                if place.from == place.to {
                    loops.push(vec![place.element]);
                } else {
                    shorts.push(branch as u32);
                }
            }
        }
        if !shorts.is_empty() {
            let ends = shorts.iter().map(|&branch| circuit.branch(BranchId(branch))).map(|b| [b.from.0, b.to.0]);
            let graph = Graph::new(circuit.nodes.len(), ends.collect());
            let (order, reached_by) = graph.forest();
            let mut depth = vec![0u32; graph.nodes()];
            for &node in &order {
                let edge = reached_by[node as usize];
                if edge != NONE {
                    depth[node as usize] = depth[graph.other(edge, node) as usize] + 1;
                }
            }
            let element = |edge: u32| circuit.branch(BranchId(shorts[edge as usize])).element;
            for edge in 0..shorts.len() as u32 {
                if loops.len() >= limit {
                    break;
                }
                let [mut a, mut b] = graph.ends()[edge as usize];
                if reached_by[a as usize] == edge || reached_by[b as usize] == edge {
                    continue;
                }
                let (mut there, mut back) = (vec![element(edge)], Vec::new());
                while a != b {
                    let (deeper, path) =
                        if depth[a as usize] > depth[b as usize] { (&mut a, &mut back) } else { (&mut b, &mut there) };
                    let up = reached_by[*deeper as usize];
                    path.push(element(up));
                    *deeper = graph.other(up, *deeper);
                }
                there.extend(back.into_iter().rev());
                loops.push(there);
            }
        }
        loops.truncate(limit);
        loops
    }

    /// The branches of zero resistance at a node, each with the node at its other end.
    pub(super) fn zero_steps(&self, circuit: &Circuit, node: NodeId) -> SmallVec<[(BranchId, NodeId); 4]> {
        let mut steps = SmallVec::new();
        for end in circuit.ends(node) {
            for branch in circuit.branches_of(end.element) {
                let place = circuit.branch(branch);
                let touches = place.from == node || place.to == node;
                if touches && place.from != place.to && self.natures[branch.index()] == Nature::Short {
                    steps.push((branch, if place.from == node { place.to } else { place.from }));
                }
            }
        }
        steps
    }

    /// The shortest path of branches of zero resistance between two nodes over the branches that `may` be used.
    pub(super) fn zero_path(
        &self,
        circuit: &Circuit,
        from: NodeId,
        to: NodeId,
        may: impl Fn(BranchId) -> bool,
    ) -> Option<Vec<BranchId>> {
        let mut reached: FxHashMap<NodeId, (BranchId, NodeId)> = FxHashMap::default();
        let mut queue = VecDeque::from([from]);
        while let Some(node) = queue.pop_front() {
            if node == to {
                let mut path = Vec::new();
                let mut node = to;
                while node != from {
                    let (branch, before) = reached[&node];
                    path.push(branch);
                    node = before;
                }
                path.reverse();
                return Some(path);
            }
            for (branch, next) in self.zero_steps(circuit, node) {
                if next != from && may(branch) && !reached.contains_key(&next) {
                    reached.insert(next, (branch, node));
                    queue.push_back(next);
                }
            }
        }
        None
    }

    /// The elements of zero resistance along a way from one node to another: none where they are one node, `None` where no such way is.
    pub fn joined_by(&self, circuit: &Circuit, from: NodeId, to: NodeId) -> Option<Vec<ElementId>> {
        let path = self.zero_path(circuit, from, to, |_| true)?;
        Some(path.into_iter().map(|branch| circuit.branch(branch).element).collect())
    }

    /// The class of an element whose live branches all have one.
    pub(super) fn class_of(&self, circuit: &Circuit, lines: &Lines, classes: &[u32], element: ElementId) -> u32 {
        let mut live = circuit.branches_of(element).filter(|branch| lines.live[branch.index()]);
        let class = live.next().map_or(NONE, |branch| classes[branch.index()]);
        if live.all(|branch| classes[branch.index()] == class) { class } else { NONE }
    }

    fn others(
        &self,
        circuit: &Circuit,
        lines: &Lines,
        classes: &[u32],
        groups: &super::Groups,
        element: ElementId,
    ) -> Vec<ElementId> {
        let class = self.class_of(circuit, lines, classes, element);
        let mut others: Vec<ElementId> = groups
            .members(class)
            .iter()
            .map(|&branch| circuit.branch(BranchId(branch)).element)
            .filter(|&other| other != element && self.class_of(circuit, lines, classes, other) == class)
            .collect();
        others.sort_unstable();
        others.dedup();
        others
    }
}
