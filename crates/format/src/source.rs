//! A text in lines: what stands in each, and which statement it belongs to.

use std::ops::Range;

use ohmline_syntax::Span;
use ohmline_syntax::lexer::{Token, TokenKind, tokens};
use ohmline_syntax::tree::{Stmt, StmtKind, Tree};

/// A text, read.
pub struct Source<'a> {
    pub text: &'a str,
    pub tree: &'a Tree,
    tokens: Vec<Token>,
    /// Without an empty one behind the last line end.
    pub lines: Vec<Line>,
}

/// A line of the text.
#[derive(Clone, Debug)]
pub struct Line {
    /// Without its end.
    pub span: Span,
    /// Which tokens it holds, blanks included.
    tokens: Range<u32>,
    /// The statement that stands in it or goes on in it.
    pub stmt: Option<u32>,
    /// Whether that statement begins in it.
    pub first: bool,
    /// Blocks around it.
    pub depth: usize,
}

const fn is_comment(token: &Token) -> bool {
    matches!(token.kind, TokenKind::Comment | TokenKind::Doc)
}

impl<'a> Source<'a> {
    pub fn new(tree: &'a Tree) -> Self {
        let text = &*tree.text;
        let tokens = tokens(text);
        let mut lines: Vec<Line> = Vec::new();
        let (mut start, mut from) = (0u32, 0u32);
        let line = |start: u32, end: u32, tokens: Range<u32>| Line {
            span: Span::new(start, end),
            tokens,
            stmt: None,
            first: false,
            depth: 0,
        };
        for (at, token) in tokens.iter().enumerate() {
            if token.kind == TokenKind::Newline {
                lines.push(line(start, token.start, from..at as u32));
                start = token.end();
                from = at as u32 + 1;
            }
        }
        if start < text.len() as u32 {
            lines.push(line(start, text.len() as u32, from..tokens.len() as u32));
        }
        let mut source = Self { text, tree, tokens, lines };
        source.assign_statements();
        source.measure_depths();
        source
    }

    /// A statement begins on a line of its own and ends with a line.
    fn assign_statements(&mut self) {
        let mut line = 0;
        for (number, stmt) in self.tree.stmts.iter().enumerate() {
            let range = stmt.range();
            while self.lines.get(line).is_some_and(|line| line.span.end < range.start) {
                line += 1;
            }
            let mut first = true;
            while let Some(own) = self.lines.get_mut(line).filter(|own| own.span.start < range.end) {
                own.stmt = Some(number as u32);
                own.first = first;
                first = false;
                line += 1;
            }
        }
    }

    fn measure_depths(&mut self) {
        // Where the depth changes, by line: one behind a head, one at what closes it.
        let mut changes: Vec<(usize, isize)> = Vec::new();
        let line_of = |lines: &[Line], offset: u32| lines.partition_point(|line| line.span.end < offset);
        for block in &self.tree.blocks {
            let Some(head) = self.tree.stmts.get(block.head as usize) else { continue };
            let from = line_of(&self.lines, head.offset) + 1;
            let to = self.tree.stmts.get(block.close as usize).map(|close| line_of(&self.lines, close.offset));
            let to = to.unwrap_or(self.lines.len());
            if from < to {
                changes.extend([(from, 1), (to, -1)]);
            }
        }
        changes.sort_unstable();
        let mut changes = changes.into_iter().peekable();
        let mut depth = 0isize;
        for (number, line) in self.lines.iter_mut().enumerate() {
            while let Some((_, by)) = changes.next_if(|(at, _)| *at <= number) {
                depth += by;
            }
            line.depth = depth.max(0) as usize;
        }
    }

    /// The lines around, up to the blank lines before and behind them.
    pub fn between_blank_lines(&self, own: Range<usize>) -> Range<usize> {
        let blank = |line: &Line| self.words(line).next().is_none();
        let before = self.lines[..own.start].iter().rposition(blank).map_or(0, |at| at + 1);
        let behind = self.lines[own.end..].iter().position(blank).map_or(self.lines.len(), |at| own.end + at);
        before..behind
    }

    /// Those lines of a window that can share a statement or a column with some of it. A column of comments goes through all lines.
    pub fn sharing_columns(&self, window: Range<usize>, own: Range<usize>) -> Range<usize> {
        if self.lines[window.clone()].iter().any(|line| self.comment_behind(line).is_some()) {
            return window;
        }
        let in_columns = |line: &Line| {
            let is_value = |stmt: &Stmt| matches!(stmt.node.kind, StmtKind::Declare(_) | StmtKind::Let { .. });
            self.is_doc(line) || self.stmt(line).is_some_and(is_value)
        };
        let joined = |above: usize| {
            let (above, below) = (&self.lines[above], &self.lines[above + 1]);
            (above.stmt.is_some() && above.stmt == below.stmt) || (in_columns(above) && in_columns(below))
        };
        let (mut start, mut end) = (own.start, own.end);
        while start > window.start && joined(start - 1) {
            start -= 1;
        }
        while end < window.end && joined(end - 1) {
            end += 1;
        }
        start..end
    }

    /// The tokens of a line that are no blanks, comments included.
    pub fn words(&self, line: &Line) -> impl DoubleEndedIterator<Item = &Token> {
        let own = line.tokens.start as usize..line.tokens.end as usize;
        self.tokens[own].iter().filter(|token| token.kind != TokenKind::Blank)
    }

    /// The tokens of a line that are neither blanks nor comments.
    pub fn code(&self, line: &Line) -> impl Iterator<Item = &Token> {
        self.words(line).filter(|token| !is_comment(token))
    }

    /// Whether a line holds a comment and nothing else.
    pub fn is_comment(&self, line: &Line) -> bool {
        self.words(line).next().is_some_and(is_comment)
    }

    /// Whether a line documents the statement below.
    pub fn is_doc(&self, line: &Line) -> bool {
        self.words(line).next().is_some_and(|token| token.kind == TokenKind::Doc)
    }

    /// The comment behind the statement of a line.
    pub fn comment_behind(&self, line: &Line) -> Option<&Token> {
        self.words(line).next_back().filter(|last| is_comment(last) && !self.is_comment(line))
    }

    /// The statement of a line, if it was read. Long wires are read as wires, and nothing else may be wrong with it.
    pub fn stmt(&self, line: &Line) -> Option<&'a Stmt> {
        let stmt = &self.tree.stmts[line.stmt? as usize];
        let is_slip = stmt.node.problems.iter().any(|problem| problem.rule != "long-wire");
        (stmt.node.kind != StmtKind::Error && !is_slip).then_some(stmt)
    }

    /// A line as it is, but for blanks at its end.
    pub fn as_is(&self, line: usize) -> &'a str {
        let line = &self.lines[line];
        let old = &self.text[line.span.range()];
        let own = line.tokens.start as usize..line.tokens.end as usize;
        match self.tokens[own].last() {
            Some(last) if last.kind == TokenKind::Blank => &old[..(last.start - line.span.start) as usize],
            Some(last) if is_comment(last) => old.trim_end(),
            _ => old,
        }
    }
}
