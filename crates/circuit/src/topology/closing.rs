//! Where a question closes the circuit.
//!
//! A circuit without a source that a statement asks the resistance of carries no current as drawn: every element would be on no
//! closed path. Whoever asks thinks of something joined to the two points, so the pair counts as a branch.

use super::UnionFind;
use super::lines::Lines;
use crate::model::{Ask, Circuit, Claim, Quantity};

/// The pairs of points asked about in pieces where no source is on a closed path, each once.
pub(super) fn pairs(circuit: &Circuit, piece: &[u32], lines: &Lines) -> Vec<[u32; 2]> {
    let claimed = circuit.claims.iter().filter_map(|claim| match claim {
        Claim::Value { ask, .. } => Some(ask),
        Claim::Relation { .. } => None,
    });
    let read = circuit.givens.iter().chain(&circuit.measured).map(|reading| &reading.ask);
    let mut pairs: Vec<[u32; 2]> = circuit.finds.iter().chain(claimed).chain(read).filter_map(asked_pair).collect();
    pairs.sort_unstable();
    pairs.dedup();
    if pairs.is_empty() {
        return pairs;
    }
    let mut driven = vec![false; piece.len()];
    for (branch, place) in circuit.branches.iter().enumerate() {
        if lines.live[branch] && circuit.element(place.element).kind.is_source() {
            driven[piece[place.from.index()] as usize] = true;
        }
    }
    pairs.retain(|[a, b]| {
        let (a, b) = (piece[*a as usize], piece[*b as usize]);
        a == b && !driven[a as usize]
    });
    pairs
}

fn asked_pair(ask: &Ask) -> Option<[u32; 2]> {
    match ask.quantity {
        Quantity::ResistanceBetween(a, b) | Quantity::CapacitanceBetween(a, b) if a != b => {
            Some([a.0.min(b.0), a.0.max(b.0)])
        }
        _ => None,
    }
}

/// The piece of each node by drawn connections, and how many there are.
pub(super) fn pieces(circuit: &Circuit) -> (Vec<u32>, u32) {
    let mut pieces = UnionFind::new(circuit.nodes.len());
    for branch in &circuit.branches {
        pieces.union(branch.from.0, branch.to.0);
    }
    pieces.numbered()
}
