//! Loose ends, and what carries nothing because of them.

use ohmline_circuit::{BranchId, Circuit, ElementId, End, Kind, NodeId};

use crate::facts::Facts;

/// What hangs at loose ends.
#[derive(Default)]
pub struct Loose {
    /// Nodes that at most one end touches, though nobody asks for them to be open, in node order.
    pub nodes: Vec<NodeId>,
    /// For each branch: whether it lies on a tree that hangs at such a node. Empty when there are none.
    pruned: Vec<bool>,
}

impl Loose {
    /// Cuts off leaf after leaf. Linear; nothing is allocated when there is no loose end.
    pub fn find(facts: &Facts<'_>) -> Self {
        let circuit = facts.circuit;
        if circuit.end_offsets.len() != circuit.nodes.len() + 1 {
            return Self::default();
        }
        let mut nodes: Vec<NodeId> = circuit.node_ids().filter(|node| circuit.ends(*node).len() <= 1).collect();
        if nodes.is_empty() {
            return Self::default();
        }
        let mut spared = vec![false; circuit.nodes.len()];
        for node in &circuit.asked_nodes {
            spared[node.index()] = true;
        }
        nodes.retain(|node| !spared[node.index()] && !facts.broken().node(*node));
        if nodes.is_empty() {
            return Self::default();
        }
        for node in circuit.node_ids() {
            spared[node.index()] |= facts.broken().any && facts.broken().node(node);
        }
        let mut degree = vec![0u32; circuit.nodes.len()];
        for branch in &circuit.branches {
            degree[branch.from.index()] += 1;
            degree[branch.to.index()] += 1;
        }
        let mut pruned = vec![false; circuit.branches.len()];
        let mut queue: Vec<NodeId> = nodes.iter().copied().filter(|node| degree[node.index()] == 1).collect();
        while let Some(node) = queue.pop() {
            if degree[node.index()] != 1 || spared[node.index()] {
                continue;
            }
            let Some((branch, other)) = last_branch(circuit, node, &pruned) else { continue };
            pruned[branch.index()] = true;
            degree[node.index()] -= 1;
            degree[other.index()] -= 1;
            queue.push(other);
        }
        Self { nodes, pruned }
    }

    /// Whether an element carries nothing because of a loose end.
    pub fn explains(&self, circuit: &Circuit, element: ElementId) -> bool {
        !self.pruned.is_empty() && circuit.branches_of(element).all(|branch| self.pruned[branch.index()])
    }
}

/// The only branch at a node that is not cut off yet, and its other end.
fn last_branch(circuit: &Circuit, node: NodeId, pruned: &[bool]) -> Option<(BranchId, NodeId)> {
    circuit.ends(node).iter().flat_map(|end| circuit.branches_of(end.element)).find_map(|id| {
        let branch = circuit.branch(id);
        if pruned[id.index()] || branch.from == branch.to {
            None
        } else if branch.from == node {
            Some((id, branch.to))
        } else if branch.to == node {
            Some((id, branch.from))
        } else {
            None
        }
    })
}

/// What stands in line behind a loose end.
pub struct Chain {
    /// The elements from the loose end inward; the first is the one at the loose end.
    pub elements: Vec<ElementId>,
    /// Where the line ends: a node at which something else joins, or nothing at all (another loose end).
    pub last: NodeId,
}

/// Follows the line behind a loose end, as long as it does not divide.
pub fn chain(circuit: &Circuit, from: NodeId) -> Option<Chain> {
    let [mut end] = circuit.ends(from)[..] else { return None };
    let mut elements = Vec::new();
    let mut last = from;
    loop {
        elements.push(end.element);
        let element = circuit.element(end.element);
        let [a, b] = element.terminals[..] else { break };
        last = if end.terminal == 0 { b } else { a };
        let ahead: Option<End> = match *circuit.ends(last) {
            [x, y] if x.element == end.element && y.element != end.element => Some(y),
            [x, y] if y.element == end.element && x.element != end.element => Some(x),
            _ => None,
        };
        match ahead {
            Some(next) if !circuit.asked_nodes.contains(&last) && elements.len() < circuit.elements.len() => end = next,
            _ => break,
        }
    }
    Some(Chain { elements, last })
}

/// Whether a terminal may well stay unused: a contact of a changeover, an end of a potentiometer.
pub fn may_stay_open(circuit: &Circuit, end: End) -> bool {
    match circuit.element(end.element).kind {
        Kind::Changeover => end.terminal != 0,
        Kind::Potentiometer => end.terminal != 2,
        _ => false,
    }
}
