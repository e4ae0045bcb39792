//! A text of the notation in one spelling, its declarations aligned.
//!
//! Purpose: what `ohmline format` and the editor's formatting do.
//! Boundary: works on tokens and the shape of statements; knows no electricity.
//! Invariants:
//! - The meaning stays, the direction of a path stays, every comment stays: the text is read again before it is given out, and a
//!   statement for which that would not hold is left alone.
//! - A line that cannot be read is left byte for byte as it is, but for blanks at its end.
//! - Formatting what is formatted changes nothing.
//! - Edits are as small as lines: a line that stays is not touched.
//!
//! The style is described in the reference of the notation, `grammar/README.md`. How it is made: [`source`] splits a text into lines,
//! [`spelling`] writes each in its own words, [`columns`] pads what stands below each other, [`meaning`] compares old and new.

mod columns;
mod meaning;
mod source;
mod spelling;
mod units;

use std::ops::Range;

use ohmline_syntax::{LineIndex, Span, Tree, parse};

use source::Source;

/// Blanks for each block around a line.
pub const INDENT: usize = 2;

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
    changes_of(&parse(text), first, last)
}

/// As [`changes_in`], of a text that was read already.
pub fn changes_of(tree: &Tree, first: u32, last: u32) -> Vec<Change> {
    let text = &*tree.text;
    let source = Source::new(tree);
    let count = source.lines.len();
    let own = (first as usize).min(count)..(last as usize).saturating_add(1).min(count);
    if own.start >= own.end {
        return Vec::new();
    }
    // Nothing reaches over a blank line: no statement, no column.
    let window = source.sharing_columns(source.between_blank_lines(own.clone()), own.clone());
    let wanted = formatted(&source, window.clone());
    let mut out = Vec::new();
    for (line, new) in source.lines[own.clone()].iter().zip(&wanted[own.start - window.start..]) {
        let old = &text[line.span.range()];
        if old != new {
            out.push(smallest(line.span, old, new));
        }
    }
    if own.end == count && !text.ends_with(['\n', '\r']) {
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
pub fn indentation_at(tree: &Tree, line: u32) -> usize {
    let lines = LineIndex::new(&tree.text);
    let of = |stmt: u32| tree.stmts.get(stmt as usize).map(|stmt| lines.line_of(stmt.offset));
    // An empty line at the end of the text is inside of nothing.
    if lines.line_start(line).is_none_or(|start| start as usize >= tree.text.len()) {
        return 0;
    }
    let around = tree.blocks.iter().filter(|block| {
        of(block.head).is_some_and(|head| head < line) && of(block.close).is_none_or(|close| line < close)
    });
    around.count() * INDENT
}

/// Whether a text is formatted.
pub fn is_formatted(text: &str) -> bool {
    changes(text).is_empty()
}

/// What lines become, without their ends.
fn formatted(source: &Source<'_>, window: Range<usize>) -> Vec<String> {
    let mut left_alone = vec![false; window.len()];
    // Statements that would not mean the same are left alone, and the columns made without them.
    for _ in 0..2 {
        let wanted = columns::layout(source, window.clone(), &left_alone);
        let bad = meaning::changed(source, window.clone(), &wanted);
        if bad.is_empty() {
            return wanted;
        }
        for line in bad {
            left_alone[line - window.start] = true;
        }
    }
    window.map(|line| source.as_is(line).to_owned()).collect()
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

#[cfg(test)]
mod tests;
