//! Files that a document includes.

use ohmline_analysis::Analysis;
use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::{FileId, Span};

/// An `include` of the document.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Link {
    /// The name of the file, with its quotes.
    pub span: Span,
    /// What it leads to.
    pub file: FileId,
}

/// Every `include` of the document that leads to a file.
pub fn links(analysis: &Analysis) -> Vec<Link> {
    let source = analysis.sources.file(FileId::MAIN);
    let of = source.includes.iter().filter_map(|(number, target)| {
        let stmt = source.tree.stmts.get(*number as usize)?;
        let StmtKind::Include(text) = &stmt.node.kind else { return None };
        Some(Link { span: stmt.span(text.span), file: target.clone().ok()? })
    });
    of.collect()
}
