//! Blocks: parts of the drawing that stay together whichever single point is taken out. Every closed path lies within one of them, so a
//! block without a source carries nothing, whatever the values.

use ohmline_circuit::topology::components;
use ohmline_circuit::{Branch, BranchId, ElementId, Kind, Law, NodeId, StateId};

use crate::facts::Facts;

/// A block of two branches or more.
pub struct Block {
    /// Its elements, in text order.
    pub elements: Vec<ElementId>,
    /// The only point that it shares with the rest, if there is exactly one.
    pub hinge: Option<NodeId>,
    /// Whether a question closes it from outside.
    pub asked: bool,
}

/// All blocks of two branches or more in which nothing drives a current, with every gap taken as joined and all points asked about taken as one outside circuit. Depth
/// first, without recursion (J. Hopcroft, R. Tarjan, Algorithm 447, 1973).
pub fn blocks(facts: &Facts<'_>) -> Vec<Block> {
    let circuit = facts.circuit;
    let branches = circuit.branches.len();
    let mut edges: Vec<(usize, usize)> =
        circuit.branches.iter().map(|branch| (branch.from.index(), branch.to.index())).collect();
    edges.extend(circuit.asked_nodes.windows(2).map(|pair| (pair[0].index(), pair[1].index())));
    let found = components(circuit.nodes.len(), &edges);
    let mut shared = vec![0u8; circuit.nodes.len()];
    let mut last = vec![usize::MAX; circuit.nodes.len()];
    for (number, component) in found.iter().enumerate() {
        for node in component.iter().flat_map(|edge| [edges[*edge].0, edges[*edge].1]) {
            if last[node] != number {
                last[node] = number;
                shared[node] = shared[node].saturating_add(1);
            }
        }
    }
    let drives = |edge: &usize| {
        circuit.branches.get(*edge).is_some_and(|branch| {
            let element = circuit.element(branch.element);
            element.kind.is_source() || crate::pieces::starts_charged(&element.params)
        })
    };
    let block = |component: Vec<usize>| {
        let hinges: Vec<usize> =
            nodes_of(&edges, &component).into_iter().filter(|node| shared[*node] > 1).take(2).collect();
        let mut elements: Vec<ElementId> =
            component.iter().filter_map(|edge| circuit.branches.get(*edge)).map(|branch| branch.element).collect();
        elements.sort_unstable();
        elements.dedup();
        Block {
            elements,
            hinge: if let [one] = hinges[..] { Some(NodeId(one as u32)) } else { None },
            asked: component.iter().any(|edge| *edge >= branches),
        }
    };
    found.into_iter().filter(|component| component.len() > 1 && !component.iter().any(drives)).map(block).collect()
}

/// A block without a source that hangs at a single point in a state, the point being two nodes of the drawing that something without resistance
/// joins: all current takes that way.
pub struct Bypassed {
    /// Its elements, in text order.
    pub elements: Vec<ElementId>,
    /// The two nodes.
    pub nodes: (NodeId, NodeId),
}

/// All such blocks of two branches or more. Gaps are taken as joined, so that what only waits for a switch is none of them.
pub fn bypassed(facts: &Facts<'_>, state: StateId) -> Vec<Bypassed> {
    let circuit = facts.circuit;
    let Some(topology) = facts.topologies.get(state.index()) else { return Vec::new() };
    let point = |node: NodeId| topology.point.get(node.index()).map_or(node.index(), |point| *point as usize);
    let joins = |branch: &Branch| branch.from != branch.to && point(branch.from) == point(branch.to);
    if !circuit.branches.iter().any(joins) {
        return Vec::new();
    }
    let branches = circuit.branches.len();
    // The contact that a changeover does not stand on leads nowhere.
    let off = |at: usize| {
        circuit.element(circuit.branches[at].element).kind == Kind::Changeover
            && circuit.law(state, BranchId(at as u32)) == Law::Open
    };
    let ends = |(at, branch): (usize, &Branch)| match off(at) {
        true => (0, 0),
        false => (point(branch.from), point(branch.to)),
    };
    let mut edges: Vec<(usize, usize)> = circuit.branches.iter().enumerate().map(ends).collect();
    edges.extend(circuit.asked_nodes.windows(2).map(|pair| (point(pair[0]), point(pair[1]))));
    let size = edges.iter().map(|(a, b)| a.max(b) + 1).max().unwrap_or(0);
    let found = components(size, &edges);
    let mut shared = vec![0u8; size];
    for component in &found {
        for node in nodes_of(&edges, component) {
            shared[node] = shared[node].saturating_add(1);
        }
    }
    let drives = |edge: &usize| {
        circuit.branches.get(*edge).is_none_or(|branch| {
            let element = circuit.element(branch.element);
            element.kind.is_source() || crate::pieces::starts_charged(&element.params)
        })
    };
    let bypassed = |component: &Vec<usize>| {
        if component.len() < 2 || component.iter().any(|edge| *edge >= branches || drives(edge)) {
            return None;
        }
        let hinges: Vec<usize> =
            nodes_of(&edges, component).into_iter().filter(|node| shared[*node] > 1).take(2).collect();
        let [hinge] = hinges[..] else { return None };
        let mut elements: Vec<ElementId> = component.iter().map(|edge| circuit.branches[*edge].element).collect();
        let ends = component.iter().flat_map(|edge| [circuit.branches[*edge].from, circuit.branches[*edge].to]);
        let mut nodes: Vec<NodeId> = ends.filter(|node| point(*node) == hinge).collect();
        nodes.sort_unstable();
        nodes.dedup();
        elements.sort_unstable();
        elements.dedup();
        match nodes[..] {
            [one, .., other] => Some(Bypassed { elements, nodes: (one, other) }),
            _ => None,
        }
    };
    found.iter().filter_map(bypassed).collect()
}

/// The nodes that edges touch, each once.
fn nodes_of(edges: &[(usize, usize)], component: &[usize]) -> Vec<usize> {
    let mut nodes: Vec<usize> = component.iter().flat_map(|edge| [edges[*edge].0, edges[*edge].1]).collect();
    nodes.sort_unstable();
    nodes.dedup();
    nodes
}
