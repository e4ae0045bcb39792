//! Ways to rewrite the text at a place, as people think of circuits: each is offered only where it can be carried out whole.

mod equivalent;
mod junction;
mod meters;
mod polarity;
mod preferred;
mod state;

use ohmline_analysis::Analysis;
use ohmline_syntax::tree::{Item, ItemKind, Segment, Stmt, StmtKind};
use ohmline_syntax::{Edit, FileId, FileSpan, Span, Tree};

use crate::occurrences::Index;

/// A way to rewrite the text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Rewrite {
    /// What it does, as an instruction.
    pub title: String,
    /// Whether it changes what stands there and keeps what it does to the rest of the circuit; else it adds or only writes it anew.
    pub kind: RewriteKind,
    /// Edits of the document, which do not overlap.
    pub edits: Vec<Edit>,
}

/// What a rewriting is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum RewriteKind {
    /// The same circuit in other words, or with a group of it replaced by its equivalent.
    Refactor,
    /// Another circuit, or more of it.
    Change,
}

/// A place in the document, and all that is known of it.
pub(crate) struct Here<'a> {
    pub analysis: &'a Analysis,
    pub index: &'a Index,
    pub tree: &'a Tree,
    pub offset: u32,
    /// Index of the statement at the place.
    pub number: usize,
}

impl<'a> Here<'a> {
    pub fn stmt(&self) -> &'a Stmt {
        &self.tree.stmts[self.number]
    }

    /// The statement as a path that is not in a part or a `repeat`, where one text stands for several places.
    pub fn path(&self) -> Option<&'a Segment> {
        match &self.stmt().node.kind {
            StmtKind::Path(segment) if !self.in_block() => Some(segment),
            _ => None,
        }
    }

    pub fn in_block(&self) -> bool {
        let number = self.number as u32;
        self.tree.blocks.iter().any(|block| block.head <= number && number < block.close)
    }

    pub fn edit(&self, span: Span, text: impl Into<String>) -> Edit {
        Edit { at: FileSpan::new(FileId::MAIN, span), text: text.into() }
    }

    /// Lines at the end of the text.
    pub fn lines_at_end(&self, text: &str) -> Edit {
        let end = self.tree.text.len() as u32;
        let gap = if self.tree.text.is_empty() || self.tree.text.ends_with('\n') { "" } else { "\n" };
        self.edit(Span::new(end, end), format!("{gap}{text}"))
    }

    /// The statement that declares an element of the document, if it declares nothing else.
    pub fn declared_alone(&self, name: &str) -> Option<usize> {
        self.tree.stmts.iter().position(|stmt| match &stmt.node.kind {
            StmtKind::Declare(declare) => declare.names.len() == 1 && declare.names[0].text == name,
            _ => false,
        })
    }

    /// Where the last declaration stands: new ones go below it.
    pub fn last_declaration(&self) -> usize {
        let is = |stmt: &Stmt| matches!(stmt.node.kind, StmtKind::Declare(_));
        self.tree.stmts.iter().rposition(is).unwrap_or(0)
    }

    /// A name with these letters in front that nothing has.
    pub fn free_name(&self, letters: &str) -> String {
        let scope = crate::occurrences::Scope { file: FileId::MAIN, part: None };
        let free = |number: &u32| {
            let name = format!("{letters}{number}");
            self.index.named(scope, &name).is_none() && self.index.junction(scope, &name).is_none()
        };
        format!("{letters}{}", (1..100_000u32).find(free).unwrap_or(1))
    }
}

/// Every segment of a path, groups inside of groups too.
pub(crate) fn segments<'a>(segment: &'a Segment, visit: &mut dyn FnMut(&'a Segment)) {
    visit(segment);
    for item in &segment.items {
        if let ItemKind::Group(alternatives) = &item.kind {
            alternatives.iter().for_each(|own| segments(own, visit));
        }
    }
}

/// The name of an item that is an element alone, without sign or dot.
pub(crate) fn plain_name(item: &Item) -> Option<&str> {
    match &item.kind {
        ItemKind::Element { before: None, target, after: None } if target.parts.len() == 1 => {
            Some(&target.parts[0].text)
        }
        _ => None,
    }
}

/// Everything that can be rewritten at an offset of the document.
pub fn rewrites(analysis: &Analysis, index: &Index, offset: u32) -> Vec<Rewrite> {
    let tree = &analysis.sources.file(FileId::MAIN).tree;
    let Some(stmt) = tree.stmt_at(offset) else { return Vec::new() };
    if stmt.node.kind == StmtKind::Error || !stmt.node.problems.is_empty() {
        return Vec::new();
    }
    let number = tree.stmts.partition_point(|own| own.offset < stmt.offset);
    let here = Here { analysis, index, tree, offset, number };
    let mut out = Vec::new();
    equivalent::offer(&here, &mut out);
    junction::offer(&here, &mut out);
    state::offer(&here, &mut out);
    meters::offer(&here, &mut out);
    polarity::offer(&here, &mut out);
    preferred::offer(&here, &mut out);
    out
}

#[cfg(test)]
mod tests;
