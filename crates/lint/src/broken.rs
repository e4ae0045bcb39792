//! What stands in text that could not be read: it counts as connected, so that nothing is said about connections that are
//! only missing because their statement is.

use ohmline_circuit::NodeId;
use ohmline_syntax::Severity;
use ohmline_syntax::tree::StmtKind;
use rustc_hash::FxHashSet;

use crate::context::Context;

/// Nodes and pieces whose connections may be incomplete.
#[derive(Default)]
pub struct Broken {
    /// Whether anything at all could not be read or understood, in any statement.
    pub any: bool,
    nodes: Vec<NodeId>,
    pieces: FxHashSet<u32>,
}

impl Broken {
    /// Whether something at this node may be missing.
    pub fn node(&self, node: NodeId) -> bool {
        self.nodes.binary_search(&node).is_ok()
    }

    /// Whether something in this piece may be missing.
    pub fn piece(&self, piece: u32) -> bool {
        self.pieces.contains(&piece)
    }

    /// Takes over what the builder found doubtful.
    pub fn find(context: &Context<'_>) -> Self {
        let circuit = context.circuit;
        let misread = circuit.diagnostics.iter().any(|said| said.severity == Severity::Error);
        let unread = || {
            let mut stmts = context.sources.files.iter().flat_map(|file| &file.tree.stmts);
            stmts.any(|stmt| stmt.node.kind == StmtKind::Error)
        };
        let mut broken =
            Self { any: misread || unread(), nodes: circuit.doubtful_nodes.clone(), pieces: FxHashSet::default() };
        if let Some(topology) = context.topologies.first() {
            let piece = |node: &NodeId| topology.piece.get(node.index()).copied();
            broken.pieces = circuit.doubtful_nodes.iter().filter_map(piece).collect();
        }
        broken
    }
}
