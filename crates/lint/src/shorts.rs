//! Elements whose two ends are one point, and what joins them.

use ohmline_circuit::topology::Role;
use ohmline_circuit::{BranchId, ElementId, Law, NodeId, StateId};
use ohmline_syntax::Basis;
use rustc_hash::FxHashMap;

use crate::blocks;
use crate::evidence::basis;
use crate::facts::Facts;
use crate::rules::shorted_source::is_at_shorted_source;
use crate::wording;

/// What joins both ends of elements.
pub struct Bypass {
    /// The elements whose ends are one point, or which hang at one point together.
    pub elements: Vec<ElementId>,
    /// What joins them: none for a plain wire.
    pub way: Vec<ElementId>,
}

impl Bypass {
    /// The elements in words; of an element of several branches one may join what another hangs at.
    pub fn names(&self, facts: &Facts<'_>) -> String {
        if !self.elements.iter().any(|id| self.way.contains(id)) {
            return wording::elements(facts.circuit, &self.elements);
        }
        let name = |id: &ElementId| match self.way.contains(id) {
            true => format!("the rest of {}", facts.name(*id)),
            false => facts.name(*id).to_owned(),
        };
        let names: Vec<String> = self.elements.iter().map(name).collect();
        wording::list(&names.iter().map(String::as_str).collect::<Vec<_>>())
    }

    /// What shows it: for one element the loop, for more the part that they are.
    pub fn basis(&self, facts: &Facts<'_>, state: StateId) -> Basis {
        match self.elements[..] {
            [only] if facts.circuit.element(only).branches.len() == 1 => basis::short(state, &[only], &self.way),
            _ => basis::bypassed(state, &self.elements),
        }
    }
}

/// Elements other than sources whose two ends are one point in a state, by what joins them. A source that is shorted at the same point is the
/// cause, and its followers are left out; so is what a case shorts on purpose.
pub fn bypasses(facts: &Facts<'_>, state: StateId) -> Vec<((NodeId, NodeId), Bypass)> {
    let circuit = facts.circuit;
    let Some(topology) = facts.topologies.get(state.index()) else { return Vec::new() };
    let mut found: Vec<((NodeId, NodeId), Bypass)> = Vec::new();
    let mut index: FxHashMap<(NodeId, NodeId), usize> = FxHashMap::default();
    let faults = &circuit.states[state.index()].faults;
    for (at, branch) in circuit.branches.iter().enumerate() {
        let id = branch.element;
        let same_node = branch.from == branch.to;
        if !same_node && topology.role.get(at) != Some(&Role::Shorted) {
            continue;
        }
        let element = circuit.element(id);
        let two_ended = element.branches.len() == 1;
        if element.kind.is_source() || !two_ended || faults.contains_key(&id) {
            continue;
        }
        if !same_node && circuit.law(state, BranchId(at as u32)) == Law::Short {
            continue;
        }
        if facts.broken().node(branch.from) || facts.broken().node(branch.to) {
            continue;
        }
        let key = (branch.from.min(branch.to), branch.from.max(branch.to));
        if let Some(at) = index.get(&key) {
            found[*at].1.elements.push(id);
            continue;
        }
        let Some(way) = topology.shorted_by(circuit, BranchId(at as u32)) else { continue };
        if way.iter().any(|id| faults.contains_key(id)) || is_at_shorted_source(facts, state, id) {
            continue;
        }
        index.insert(key, found.len());
        found.push((key, Bypass { elements: vec![id], way }));
    }
    for block in blocks::bypassed(facts, state) {
        let (one, other) = block.nodes;
        if block.elements.iter().any(|id| faults.contains_key(id))
            || facts.broken().node(one)
            || facts.broken().node(other)
        {
            continue;
        }
        if let Some(at) = index.get(&(one, other)) {
            found[*at].1.elements.extend(block.elements);
            found[*at].1.elements.sort_unstable();
            continue;
        }
        let Some(way) = topology.joined_by(circuit, one, other) else { continue };
        let first = block.elements[0];
        if way.is_empty() || way.iter().any(|id| faults.contains_key(id)) || is_at_shorted_source(facts, state, first) {
            continue;
        }
        index.insert((one, other), found.len());
        found.push(((one, other), Bypass { elements: block.elements, way }));
    }
    found
}
