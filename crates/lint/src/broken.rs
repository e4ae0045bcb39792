//! What stands in text that could not be read: it counts as connected, so that nothing is said about connections that are
//! only missing because their statement is.

use ohmline_circuit::NodeId;
use ohmline_syntax::Severity;
use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::words::{KINDS, STATEMENTS};
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
        if broken.any {
            broken.add_unread(context);
        }
        if let Some(topology) = context.topologies.first() {
            let piece = |node: &NodeId| topology.piece.get(node.index()).copied();
            broken.pieces = broken.nodes.iter().filter_map(piece).collect();
        }
        broken
    }

    /// The terminals of every element that is not declared, or that an unreadable path of the file asked about names.
    fn add_unread(&mut self, context: &Context<'_>) {
        let Some(main) = context.sources.files.first() else { return };
        let circuit = context.circuit;
        for id in &circuit.undeclared {
            self.nodes.extend(&circuit.element(*id).terminals);
        }
        for stmt in &main.tree.stmts {
            if stmt.node.kind != StmtKind::Error {
                continue;
            }
            let words =
                main.tree.slice(stmt.range()).split(|c: char| !c.is_alphanumeric() && !matches!(c, '_' | '.' | '@'));
            let first = words.clone().next().unwrap_or("");
            if STATEMENTS.contains(&first) || KINDS.contains(&first) {
                continue;
            }
            for word in words {
                // `P1.wiper` speaks of P1; `Left.D1` is a name as a whole.
                let id = circuit
                    .element_names
                    .get(word)
                    .or_else(|| circuit.element_names.get(word.rsplit_once('.').map_or(word, |(element, _)| element)));
                if let Some(id) = id {
                    self.nodes.extend(&circuit.element(*id).terminals);
                }
            }
        }
        self.nodes.sort_unstable();
        self.nodes.dedup();
    }
}
