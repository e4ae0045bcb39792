//! Ways to rewrite the text at a place, as people think of circuits: each is offered only where it can be carried out whole.

mod equivalent;
mod group;
mod junction;
mod meters;
mod part;
mod polarity;
mod preferred;
mod state;

use ohmline_analysis::Analysis;
use ohmline_syntax::lexer::{TokenKind, tokens};
use ohmline_syntax::tree::{Item, ItemKind, Segment, Stmt, StmtKind};
use ohmline_syntax::{Edit, FileId, FileSpan, Span, Tree};

use crate::occurrences::{Index, Scope};
pub use part::part_of;

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

/// The scope of the document itself.
const OWN: Scope = Scope { file: FileId::MAIN, part: None };

impl<'a> Here<'a> {
    /// The statement at an offset, if it can be read.
    pub fn new(analysis: &'a Analysis, index: &'a Index, offset: u32) -> Option<Self> {
        let tree = &analysis.sources.file(FileId::MAIN).tree;
        let stmt = tree.stmt_at(offset)?;
        if stmt.node.kind == StmtKind::Error || !stmt.node.problems.is_empty() {
            return None;
        }
        let number = tree.stmts.partition_point(|own| own.offset < stmt.offset);
        Some(Here { analysis, index, tree, offset, number })
    }

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
        self.is_in_block(self.number)
    }

    /// Whether a statement stands in a part or a `repeat`.
    pub fn is_in_block(&self, number: usize) -> bool {
        let number = number as u32;
        self.tree.blocks.iter().any(|block| block.head <= number && number < block.close)
    }

    pub fn edit(&self, span: Span, text: impl Into<String>) -> Edit {
        Edit { at: FileSpan::new(FileId::MAIN, span), text: text.into() }
    }

    /// The line ends of the document.
    pub fn newline(&self) -> &'static str {
        if self.tree.text.contains("\r\n") { "\r\n" } else { "\n" }
    }

    /// Where the line of an offset ends.
    pub fn line_end(&self, offset: u32) -> u32 {
        let rest = &self.tree.text[offset as usize..];
        offset + rest.find(['\r', '\n']).unwrap_or(rest.len()) as u32
    }

    /// A stretch widened to whole lines, with the end of the last.
    pub fn whole_lines(&self, span: Span) -> Span {
        let start = self.tree.text[..span.start as usize].rfind(['\r', '\n']).map_or(0, |at| at as u32 + 1);
        let end = self.line_end(span.end);
        let rest = &self.tree.text[end as usize..];
        let newline = if rest.starts_with("\r\n") { 2 } else { u32::from(!rest.is_empty()) };
        Span::new(start, end + newline)
    }

    /// How often the document speaks of a junction.
    pub fn junction_uses(&self, name: &str) -> Option<usize> {
        Some(self.index.of(self.index.junction(OWN, name)?).count())
    }

    /// Lines at the end of the text, which end as its lines do.
    pub fn lines_at_end(&self, text: &str) -> Edit {
        let end = self.tree.text.len() as u32;
        let gap = if self.tree.text.is_empty() || self.tree.text.ends_with('\n') { "" } else { "\n" };
        self.edit(Span::new(end, end), format!("{gap}{text}").replace("\r\n", "\n").replace('\n', self.newline()))
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
        self.free_names(letters).next().unwrap_or_else(|| format!("{letters}1"))
    }

    /// Names for points that nothing has.
    pub fn free_points(&self) -> impl Iterator<Item = String> {
        self.free_names("p")
    }

    /// The name of a part that nothing has.
    pub fn free_part(&self, letters: &str) -> Option<String> {
        let taken = |name: &String| self.index.part_seen(&self.analysis.sources, FileId::MAIN, name).is_some();
        self.free_names(letters).find(|name| !taken(name))
    }

    fn free_names(&self, letters: &str) -> impl Iterator<Item = String> {
        let free = |name: &String| self.index.named(OWN, name).is_none() && self.index.junction(OWN, name).is_none();
        (1..100_000u32).map(move |number| format!("{letters}{number}")).filter(free)
    }
}

/// The text of a stretch with single blanks, on one line; `None` where a comment stands in it.
pub(crate) fn on_one_line(tree: &Tree, span: Span) -> Option<String> {
    let text = tree.slice(span);
    let is_comment = |kind: TokenKind| matches!(kind, TokenKind::Comment | TokenKind::Doc);
    if tokens(text).iter().any(|token| is_comment(token.kind)) {
        return None;
    }
    Some(text.split_whitespace().collect::<Vec<_>>().join(" "))
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
    let Some(here) = Here::new(analysis, index, offset) else { return Vec::new() };
    let mut out = Vec::new();
    equivalent::offer(&here, &mut out);
    junction::offer(&here, &mut out);
    group::offer(&here, &mut out);
    state::offer(&here, &mut out);
    meters::offer(&here, &mut out);
    polarity::offer(&here, &mut out);
    preferred::offer(&here, &mut out);
    out
}

#[cfg(test)]
mod random;
#[cfg(test)]
mod tests;
