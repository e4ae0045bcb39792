//! What a case changes, as its author wrote it.

use ohmline_circuit::{Sources, State};
use ohmline_syntax::tree::StmtKind;

/// The assignments of a case, on one line: `S1 = open, L2 = shorted`.
pub(crate) fn changes(sources: &Sources, state: &State) -> String {
    let written = state.at.and_then(|at| {
        let tree = &sources.files.get(at.file.0 as usize)?.tree;
        let stmt = tree.stmt_at(at.span.start)?;
        let StmtKind::Case { assigns, .. } = &stmt.node.kind else { return None };
        let parts = assigns.iter().map(|assign| {
            let text = tree.slice(stmt.span(assign.target.span.to(assign.value.span)));
            text.split_whitespace().collect::<Vec<_>>().join(" ")
        });
        Some(parts.collect::<Vec<_>>().join(", "))
    });
    written.unwrap_or_default()
}
