//! A text of the notation in one spelling, its declarations aligned.
//!
//! Purpose: what `ohmline format` and the editor's formatting do.
//! Boundary: works on tokens and the shape of statements; knows no electricity.
//! Invariants:
//! - The meaning stays, the direction of a path stays, every comment stays: each line is read again before it is given out, and left
//!   alone where that would not hold.
//! - A line that cannot be read is left byte for byte as it is, but for blanks at its end.
//! - Formatting what is formatted changes nothing.
//! - Edits are as small as lines: a line that stays is not touched.
//!
//! The style: one blank between words; `--`, `=` and `|` between blanks, `,` and `:` with one behind; kinds of neighboring declarations
//! padded to one width; two blanks for each block around; comments behind lines begin in one column. A statement on several lines
//! keeps the layout that its writer gave it.

mod line;
mod units;

use ohmline_syntax::lexer::{Token, TokenKind, tokens};
use ohmline_syntax::tree::{StmtKind, Tree};
use ohmline_syntax::{LineIndex, Span, parse};

use line::Line;

/// Blanks for each block around a line.
pub const INDENT: usize = 2;
/// Blanks before a comment behind a statement.
const BEFORE_COMMENT: usize = 2;
/// Kinds longer than this do not widen the column of all others.
const WIDEST_KIND: usize = 20;

/// A replacement of a stretch of the text, within one line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Change {
    /// What is replaced.
    pub span: Span,
    /// By what.
    pub text: String,
}

/// What changes in a text so that it is formatted, in order.
pub fn changes(text: &str) -> Vec<Change> {
    changes_in(text, 0, u32::MAX)
}

/// What changes in the lines from `first` to `last` (from 0, both included); columns are those that all lines share.
pub fn changes_in(text: &str, first: u32, last: u32) -> Vec<Change> {
    let tree = parse(text);
    let lines = split(text, &tree);
    let wanted = layout(text, &lines);
    let mut out = Vec::new();
    for (number, (line, new)) in lines.iter().zip(&wanted).enumerate() {
        if (number as u32) < first || (number as u32) > last {
            continue;
        }
        let old = &text[line.span.range()];
        if old != new {
            out.push(smallest(line.span, old, new));
        }
    }
    let ends_well = text.is_empty() || text.ends_with(['\n', '\r']);
    if !ends_well && last as usize >= lines.len().saturating_sub(1) {
        let end = text.len() as u32;
        let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
        match out.last_mut().filter(|change| change.span.end == end) {
            Some(change) => change.text.push_str(newline),
            None => out.push(Change { span: Span::new(end, end), text: newline.to_owned() }),
        }
    }
    out
}

/// The formatted text.
pub fn format(text: &str) -> String {
    apply(text, &changes(text))
}

/// A text with changes made, which are in order and do not overlap.
pub fn apply(text: &str, changes: &[Change]) -> String {
    let mut out = String::with_capacity(text.len());
    let mut from = 0;
    for change in changes {
        out.push_str(&text[from..change.span.start as usize]);
        out.push_str(&change.text);
        from = change.span.end as usize;
    }
    out.push_str(&text[from..]);
    out
}

/// The blanks that a line at this place of a text begins with: those of the blocks around it.
pub fn indentation_at(text: &str, line: u32) -> usize {
    let tree = parse(text);
    let lines = split(text, &tree);
    lines.get(line as usize).map_or(0, |line| line.depth * INDENT)
}

/// The change without what both begin or end with.
fn smallest(span: Span, old: &str, new: &str) -> Change {
    let front: usize = old.chars().zip(new.chars()).take_while(|(a, b)| a == b).map(|(a, _)| a.len_utf8()).sum();
    let back: usize = old[front..]
        .chars()
        .rev()
        .zip(new[front..].chars().rev())
        .take_while(|(a, b)| a == b)
        .map(|(a, _)| a.len_utf8())
        .sum();
    Change {
        span: Span::new(span.start + front as u32, span.end - back as u32),
        text: new[front..new.len() - back].to_owned(),
    }
}

/// The lines of a text, with what stands in each.
fn split<'a>(text: &'a str, tree: &'a Tree) -> Vec<Line<'a>> {
    let index = LineIndex::new(text);
    let all = tokens(text);
    let mut lines: Vec<Line<'a>> = Vec::new();
    let mut start = 0u32;
    let mut own: Vec<Token> = Vec::new();
    let finish = |lines: &mut Vec<Line<'a>>, start: u32, end: u32, own: &mut Vec<Token>| {
        lines.push(Line::new(Span::new(start, end), std::mem::take(own)));
    };
    for token in all {
        if token.kind == TokenKind::Newline {
            finish(&mut lines, start, token.start, &mut own);
            start = token.end();
        } else {
            own.push(token);
        }
    }
    if start < text.len() as u32 {
        finish(&mut lines, start, text.len() as u32, &mut own);
    }
    // Which statement is all of a line.
    for stmt in &tree.stmts {
        let (first, last) = (index.line_of(stmt.offset), index.line_of(stmt.range().end.max(stmt.offset)));
        let sound = stmt.node.problems.is_empty() && stmt.node.kind != StmtKind::Error;
        for at in first..=last {
            if let Some(line) = lines.get_mut(at as usize) {
                line.stmt = (sound && first == last && line.stmts == 0).then_some(&stmt.node.kind);
                line.stmts += 1;
                line.offset = stmt.offset;
                line.goes_on = first != last;
            }
        }
    }
    // How deep each line stands.
    for block in &tree.blocks {
        let Some(head) = tree.stmts.get(block.head as usize) else { continue };
        let from = index.line_of(head.offset) + 1;
        let to = match tree.stmts.get(block.close as usize) {
            Some(close) => index.line_of(close.offset),
            None => lines.len() as u32,
        };
        for at in from..to.min(lines.len() as u32) {
            lines[at as usize].depth += 1;
        }
    }
    lines
}

/// What each line becomes, without its end.
fn layout(text: &str, lines: &[Line<'_>]) -> Vec<String> {
    let mut out: Vec<String> = Vec::with_capacity(lines.len());
    let mut number = 0;
    while number < lines.len() {
        // A group: declarations with nothing between them but comments.
        let from = number;
        while number < lines.len() && (lines[number].kind().is_some() || lines[number].is_comment()) {
            number += 1;
        }
        if number == from {
            out.push(lines[from].spelled(text, 0));
            number += 1;
            continue;
        }
        let group = &lines[from..number];
        let width = group
            .iter()
            .filter_map(Line::kind)
            .map(|kind| kind.chars().count())
            .filter(|width| *width <= WIDEST_KIND)
            .max()
            .unwrap_or(0);
        out.extend(group.iter().map(|line| line.spelled(text, width)));
    }
    align_comments(text, lines, &mut out);
    out
}

/// Puts the comments behind neighboring lines into one column.
fn align_comments(text: &str, lines: &[Line<'_>], out: &mut [String]) {
    let mut number = 0;
    while number < lines.len() {
        let from = number;
        while number < lines.len() && lines[number].comment_behind().is_some() && !lines[number].is_kept() {
            number += 1;
        }
        if number == from {
            number += 1;
            continue;
        }
        let width = out[from..number].iter().map(|line| line.chars().count()).max().unwrap_or(0);
        for at in from..number {
            let Some(comment) = lines[at].comment_behind() else { continue };
            let pad = width - out[at].chars().count() + BEFORE_COMMENT;
            out[at].extend(std::iter::repeat_n(' ', pad));
            out[at].push_str(comment.text(text).trim_end());
        }
    }
}

/// Whether a text is formatted.
pub fn is_formatted(text: &str) -> bool {
    changes(text).is_empty()
}

#[cfg(test)]
mod tests;
