//! Pieces of the drawing and their 0 V points: the same in every state.

use ohmline_circuit::{Circuit, NodeId};

use crate::answers::Reference;
use crate::operate::Sets;

/// Pieces and references.
pub(crate) struct Frame {
    /// The piece of each node.
    pub piece: Vec<u32>,
    /// The 0 V point of each piece, or `u32::MAX` for a lone junction without elements.
    pub zero: Vec<u32>,
    /// The same, as stated in the answers.
    pub references: Vec<Reference>,
    /// All 0 V points.
    pub zeros: Vec<u32>,
}

impl Frame {
    /// By drawn connections: every branch joins its ends, open switches too.
    pub fn new(circuit: &Circuit) -> Self {
        let mut sets = Sets::new(circuit.nodes.len());
        for branch in &circuit.branches {
            sets.join(branch.from.0, branch.to.0);
        }
        for element in &circuit.elements {
            for pair in element.terminals.windows(2) {
                sets.join(pair[0].0, pair[1].0);
            }
        }
        let (piece, pieces) = sets.numbered();
        let mut zero = vec![u32::MAX; pieces];
        let mut chosen = vec![true; pieces];
        for (node, _) in &circuit.references {
            let of = piece[node.index()] as usize;
            if zero[of] == u32::MAX {
                zero[of] = node.0;
                chosen[of] = false;
            }
        }
        let mut occupied = vec![false; pieces];
        for element in circuit.elements.iter().filter(|element| element.is_placed()) {
            let of = piece[element.terminals[0].index()] as usize;
            occupied[of] = true;
            if element.kind.is_source() && zero[of] == u32::MAX {
                // Terminals of sources: `+`, then `-`.
                zero[of] = element.terminals[element.terminals.len() - 1].0;
            }
        }
        for (node, of) in piece.iter().enumerate() {
            let of = *of as usize;
            if occupied[of] && zero[of] == u32::MAX {
                zero[of] = node as u32;
            }
        }
        let references = (0..pieces)
            .filter(|of| occupied[*of])
            .map(|of| Reference { node: NodeId(zero[of]), chosen: chosen[of] })
            .collect();
        let zeros = zero.iter().copied().filter(|node| *node != u32::MAX).collect();
        Self { piece, zero, references, zeros }
    }
}
