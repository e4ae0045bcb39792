//! Whether a wire between two points would short a source.

use ohmline_circuit::{Kind, Law, NodeId, StateId};
use rustc_hash::FxHashSet;

use crate::facts::Facts;

/// Most points looked at; where more hang together without resistance, the answer is "it might".
const MOST_POINTS: usize = 1000;

/// Whether one of two points can be reached from the other through sources of voltage and what conducts without resistance, a switch that stands open
/// now among it: a wire between the two would then leave nothing to limit the current but what is inside the sources.
pub fn would_short(facts: &Facts<'_>, a: NodeId, b: NodeId) -> bool {
    if facts.is_one_point(StateId::DRAWN, a, b) {
        return false;
    }
    let circuit = facts.circuit;
    let mut seen: FxHashSet<NodeId> = FxHashSet::from_iter([a]);
    let mut todo = vec![a];
    while let Some(at) = todo.pop() {
        if at == b || seen.len() > MOST_POINTS {
            return true;
        }
        for branch in circuit.ends(at).iter().flat_map(|end| circuit.branches_of(end.element)) {
            let ends = circuit.branch(branch);
            let passes = matches!(circuit.law(StateId::DRAWN, branch), Law::Emf { .. } | Law::Short)
                || matches!(circuit.element(ends.element).kind, Kind::Switch | Kind::Changeover);
            let next = if ends.from == at { ends.to } else { ends.from };
            if passes && (ends.from == at || ends.to == at) && seen.insert(next) {
                todo.push(next);
            }
        }
    }
    false
}
