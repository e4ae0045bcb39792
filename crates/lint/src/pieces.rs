//! Pieces of the circuit: what drives them, what is asked in them, which of them float.

use ohmline_circuit::{ElementId, NodeId, Params};

use crate::facts::Facts;

/// A piece: everything that drawn connections join.
#[derive(Clone, Default)]
pub struct Piece {
    /// How many elements it has.
    pub elements: usize,
    /// Whether a battery, a source, or a charge that was there at the beginning drives it.
    pub driven: bool,
    /// Whether a statement asks between points of it, which declares them open on purpose.
    pub asked_points: bool,
}

/// All pieces.
#[derive(Default)]
pub struct Pieces {
    pieces: Vec<Piece>,
    floating: Vec<bool>,
}

impl Pieces {
    /// Looks at every element once.
    pub fn find(facts: &Facts<'_>) -> Self {
        let Some(topology) = facts.topologies.first() else { return Self::default() };
        let circuit = facts.circuit;
        let mut pieces = vec![Piece::default(); topology.pieces as usize];
        for element in &circuit.elements {
            let Some(first) = element.terminals.first() else { continue };
            let Some(piece) = topology.piece.get(first.index()).and_then(|at| pieces.get_mut(*at as usize)) else {
                continue;
            };
            piece.elements += 1;
            piece.driven |= element.kind.is_source() || starts_charged(&element.params);
        }
        for node in &circuit.asked_nodes {
            if let Some(piece) = topology.piece.get(node.index()).and_then(|at| pieces.get_mut(*at as usize)) {
                piece.asked_points = true;
            }
        }
        // Without any source the largest piece is the circuit, and the others hang loose beside it.
        let main = if pieces.iter().any(|piece| piece.driven) {
            None
        } else {
            (0..pieces.len()).max_by_key(|at| (pieces[*at].elements, std::cmp::Reverse(*at)))
        };
        let floating = (0..pieces.len())
            .map(|at| {
                let piece = &pieces[at];
                let spared = piece.driven || piece.asked_points || piece.elements == 0 || main == Some(at);
                !spared && !facts.broken().piece(at as u32)
            })
            .collect();
        Self { pieces, floating }
    }

    /// The piece with this number.
    pub fn get(&self, piece: u32) -> Option<&Piece> {
        self.pieces.get(piece as usize)
    }

    /// Whether a piece hangs at nothing and is driven by nothing.
    pub fn floats(&self, piece: u32) -> bool {
        self.floating.get(piece as usize).copied().unwrap_or(false)
    }

    /// The pieces that float.
    pub fn floating(&self) -> impl Iterator<Item = u32> {
        self.floating.iter().enumerate().filter(|(_, floats)| **floats).map(|(at, _)| at as u32)
    }
}

/// Whether an element holds a charge or a current at the beginning, which can drive others.
pub fn starts_charged(params: &Params) -> bool {
    matches!(params, Params::Capacitor { initial: Some(_), .. } | Params::Inductor { initial: Some(_), .. })
}

/// The piece of a node.
pub fn of_node(facts: &Facts<'_>, node: NodeId) -> Option<u32> {
    facts.topologies.first()?.piece.get(node.index()).copied()
}

/// The piece of an element that stands in the drawing.
pub fn of_element(facts: &Facts<'_>, element: ElementId) -> Option<u32> {
    of_node(facts, *facts.circuit.element(element).terminals.first()?)
}
