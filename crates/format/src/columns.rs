//! What stands below each other in neighboring lines begins in one column, as long as that opens no wide gaps.

use std::ops::Range;

use ohmline_syntax::lexer::Token;
use ohmline_syntax::tree::StmtKind;

use crate::INDENT;
use crate::source::{Line, Source};
use crate::spelling::{Cell, Open, spell, width};

/// Blanks before a comment behind a statement.
const BEFORE_COMMENT: usize = 2;
/// Kinds longer than this do not widen the column of all others.
const WIDEST_KIND: usize = 20;
/// How calm the columns of `=` and of options are.
const CELLS: Calm = Calm { step: 4, spread: 10 };
/// How calm the columns of comments are.
const COMMENTS: Calm = Calm { step: 24, spread: 48 };

/// Which widths share a column: sorted, each is at most a step above the next smaller, and all of them are within a spread. So one name
/// that is much longer than the others does not push them away from what belongs to them.
#[derive(Clone, Copy)]
struct Calm {
    step: usize,
    spread: usize,
}

impl Calm {
    /// The column of each width: the largest of those it shares one with.
    fn columns(self, widths: &[usize]) -> Vec<usize> {
        let mut sorted = widths.to_vec();
        sorted.sort_unstable();
        sorted.dedup();
        // The largest width of each company, in order.
        let mut companies: Vec<usize> = Vec::new();
        let mut least = 0;
        for width in sorted {
            match companies.last_mut() {
                Some(largest) if width - *largest <= self.step && width - least <= self.spread => *largest = width,
                _ => {
                    least = width;
                    companies.push(width);
                }
            }
        }
        widths.iter().map(|width| companies[companies.partition_point(|largest| largest < width)]).collect()
    }
}

/// A declaration that is being laid out.
struct Row<'a> {
    /// Its number among the lines laid out.
    line: usize,
    text: String,
    cells: Vec<(usize, Cell)>,
    kind: &'a StmtKind,
}

impl Row<'_> {
    fn place(&self, wanted: Cell) -> Option<usize> {
        self.cells.iter().find(|(_, cell)| *cell == wanted).map(|(at, _)| *at)
    }

    /// Moves a cell to the right.
    fn pad(&mut self, wanted: Cell, by: usize) {
        let Some(number) = self.cells.iter().position(|(_, cell)| *cell == wanted) else { return };
        self.text.insert_str(self.cells[number].0, &" ".repeat(by));
        for (at, _) in &mut self.cells[number..] {
            *at += by;
        }
    }

    /// The name of the option of this number.
    fn option(&self, number: usize) -> Option<&str> {
        match self.kind {
            StmtKind::Declare(declare) => declare.options.get(number).map(|option| option.name.text.as_str()),
            _ => None,
        }
    }
}

/// What lines become, without their ends; those `left_alone` stay as they are, but for blanks at their ends.
pub fn layout(source: &Source<'_>, window: Range<usize>, left_alone: &[bool]) -> Vec<String> {
    let lines = &source.lines[window.clone()];
    let stmt = |number: usize| source.stmt(&lines[number]).filter(|_| !left_alone[number]);
    let mut out: Vec<String> = Vec::with_capacity(lines.len());
    // Neighboring declarations, or neighboring `let`s.
    let mut group: Vec<Row<'_>> = Vec::new();
    let mut open = Open::new();
    for (number, line) in lines.iter().enumerate() {
        let Some(stmt) = stmt(number) else {
            if source.is_comment(line) {
                let old = source.text[line.span.range()].trim();
                out.push(format!("{:indent$}{old}", "", indent = line.depth * INDENT));
                // What documents a declaration belongs to it.
                if source.is_doc(line) {
                    continue;
                }
            } else {
                out.push(source.as_is(window.start + number).to_owned());
            }
            align(&mut group, &mut out);
            continue;
        };
        let kind = &stmt.node.kind;
        if line.first {
            open.clear();
        }
        let spelled = spell(source, line, kind, &mut open);
        let is_value = matches!(kind, StmtKind::Declare(_) | StmtKind::Let { .. });
        let same_sort =
            group.last().is_none_or(|last| std::mem::discriminant(last.kind) == std::mem::discriminant(kind));
        if !is_value || !same_sort {
            align(&mut group, &mut out);
        }
        if is_value && line.first {
            group.push(Row { line: number, text: String::new(), cells: spelled.cells, kind });
        }
        out.push(spelled.text);
    }
    align(&mut group, &mut out);
    let is_kept = |number: usize| stmt(number).is_none() && !source.is_comment(&lines[number]);
    align_comments(source, lines, &mut out, is_kept);
    out
}

/// Puts the cells of neighboring declarations into columns.
fn align(group: &mut Vec<Row<'_>>, out: &mut [String]) {
    let mut rows = std::mem::take(group);
    for row in &mut rows {
        row.text = std::mem::take(&mut out[row.line]);
    }
    let indent = rows.iter().map(|row| row.text.len() - row.text.trim_start().len()).max().unwrap_or(0);
    let kinds = |at: &[usize]| -> Vec<usize> {
        let widest = at.iter().copied().filter(|own| *own <= indent + WIDEST_KIND + 1).max().unwrap_or(0);
        at.iter().map(|own| (*own).max(widest)).collect()
    };
    let all: Vec<usize> = (0..rows.len()).collect();
    pad(&mut rows, &all, Cell::Names, kinds);
    pad(&mut rows, &all, Cell::Equals, |at| CELLS.columns(at));
    let most = rows.iter().map(|row| row.cells.len()).max().unwrap_or(0);
    for number in 0..most {
        // Only what is spoken of in the same word is set below each other.
        let mut named: Vec<(&str, Vec<usize>)> = Vec::new();
        for (row, name) in rows.iter().enumerate().filter_map(|(at, row)| Some((at, row.option(number)?))) {
            match named.iter_mut().find(|(own, _)| *own == name) {
                Some((_, had)) => had.push(row),
                None => named.push((name, vec![row])),
            }
        }
        let named: Vec<Vec<usize>> = named.into_iter().map(|(_, rows)| rows).collect();
        for own in named {
            pad(&mut rows, &own, Cell::Option(number), |at| CELLS.columns(at));
        }
    }
    for row in rows {
        out[row.line] = row.text;
    }
}

/// Pads before a cell of some rows, as far as `columns` says of the places where it stands.
fn pad(rows: &mut [Row<'_>], own: &[usize], cell: Cell, columns: impl Fn(&[usize]) -> Vec<usize>) {
    let (own, at): (Vec<usize>, Vec<usize>) = own
        .iter()
        .filter_map(|row| {
            let at = rows[*row].place(cell)?;
            Some((*row, width(&rows[*row].text[..at])))
        })
        .unzip();
    for ((row, at), column) in own.into_iter().zip(&at).zip(columns(&at)) {
        if column > *at {
            rows[row].pad(cell, column - at);
        }
    }
}

/// Puts the comments behind neighboring lines into columns; lines without one may stand between them.
fn align_comments(source: &Source<'_>, lines: &[Line], out: &mut [String], is_kept: impl Fn(usize) -> bool) {
    let mut own: Vec<(usize, Token)> = Vec::new();
    for (number, line) in lines.iter().enumerate() {
        if line.stmt.is_none() || is_kept(number) {
            put_comments(source, std::mem::take(&mut own), out);
        } else if let Some(comment) = source.comment_behind(line) {
            own.push((number, *comment));
        }
    }
    put_comments(source, own, out);
}

fn put_comments(source: &Source<'_>, own: Vec<(usize, Token)>, out: &mut [String]) {
    let widths: Vec<usize> = own.iter().map(|(line, _)| width(&out[*line])).collect();
    for (((line, comment), width), column) in own.into_iter().zip(&widths).zip(COMMENTS.columns(&widths)) {
        out[line].extend(std::iter::repeat_n(' ', column - width + BEFORE_COMMENT));
        out[line].push_str(comment.text(source.text).trim_end());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_shares_a_column() {
        assert_eq!(CELLS.columns(&[2, 2, 5, 2]), [5, 5, 5, 5]);
        // One that is far longer stands alone.
        assert_eq!(CELLS.columns(&[2, 2, 10, 2]), [2, 2, 10, 2]);
        assert_eq!(CELLS.columns(&[2, 6, 10, 14, 12]), [12, 12, 12, 14, 12]);
        assert_eq!(CELLS.columns(&[]), [0usize; 0]);
    }
}
