//! The branches that carry one current after reduction, in their order round, with the groups between them.

use rustc_hash::FxHashSet;

use super::{Lines, Topology};
use crate::model::{BranchId, Circuit, ElementId, NodeId};

/// A branch of the ring and the group that follows it.
#[derive(Clone, Debug)]
pub(super) struct Step {
    /// The branch.
    pub(super) branch: BranchId,
    /// Where the way round enters it.
    pub(super) enters: NodeId,
    /// Where the way round leaves it.
    pub(super) leaves: NodeId,
    /// The elements between it and the next branch of the ring.
    pub(super) group: Vec<ElementId>,
    /// The nodes of that group, at least the one where the two branches meet.
    pub(super) nodes: Vec<NodeId>,
}

impl Topology {
    /// The ring of a two-edge-cut class: taking its branches away leaves as many parts, each between two of them. The way round starts
    /// along the first branch.
    pub(super) fn ring(&self, circuit: &Circuit, lines: &Lines, class: u32) -> Vec<Step> {
        let members = lines.classes.members(class);
        let is_member: FxHashSet<u32> = members.iter().copied().collect();
        let mut steps = Vec::new();
        let Some(&first) = members.first() else { return steps };
        let mut branch = BranchId(first);
        let mut enters = circuit.branch(branch).from;
        loop {
            let place = circuit.branch(branch);
            let leaves = if place.from == enters { place.to } else { place.from };
            let mut nodes = vec![leaves];
            let mut seen = FxHashSet::from_iter([leaves]);
            let mut group = Vec::new();
            let mut onward = None;
            let mut head = 0;
            while head < nodes.len() {
                let node = nodes[head];
                head += 1;
                for (next, other) in self.live_steps(circuit, lines, node) {
                    match next {
                        Some(next) if is_member.contains(&next.0) => {
                            if next != branch || node != leaves {
                                onward = onward.or(Some((next, node)));
                            }
                        }
                        _ => {
                            if let Some(next) = next {
                                group.push(circuit.branch(next).element);
                            }
                            if seen.insert(other) {
                                nodes.push(other);
                            }
                        }
                    }
                }
            }
            group.sort_unstable();
            group.dedup();
            steps.push(Step { branch, enters, leaves, group, nodes });
            match onward {
                // A ring has as many branches as its class; the bound keeps a false label from going round for ever.
                Some((next, node)) if next.0 != first && steps.len() < members.len() => (branch, enters) = (next, node),
                _ => return steps,
            }
        }
    }

    /// The live branches at a node, each with the node at its other end; `None` for a pair of points that a question closes.
    pub(super) fn live_steps(&self, circuit: &Circuit, lines: &Lines, node: NodeId) -> Vec<(Option<BranchId>, NodeId)> {
        let mut steps = Vec::new();
        for end in circuit.ends(node) {
            for branch in circuit.branches_of(end.element) {
                let place = circuit.branch(branch);
                if lines.live[branch.index()] && (place.from == node || place.to == node) {
                    steps.push((Some(branch), if place.from == node { place.to } else { place.from }));
                }
            }
        }
        for &(a, b) in &self.closing {
            if a == node || b == node {
                steps.push((None, if a == node { b } else { a }));
            }
        }
        steps.dedup();
        steps
    }
}
