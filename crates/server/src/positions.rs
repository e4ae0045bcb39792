//! Byte offsets of one text to positions of the protocol, many of them.

use std::cell::Cell;

use ohmline_syntax::{Encoding, LineCol, LineIndex};
use tower_lsp::lsp_types::Position;

/// Converts offsets of a text. It keeps the line of the last one, since the next mostly stands in it or in the one below.
pub struct Positions<'a> {
    text: &'a str,
    lines: &'a LineIndex,
    encoding: Encoding,
    last: Cell<Line>,
}

/// A line of a text.
#[derive(Clone, Copy)]
struct Line {
    number: u32,
    start: u32,
    /// Where its text ends, before its line end.
    end: u32,
    /// Where the next one starts; `None` in the last line.
    next: Option<u32>,
    /// A column is a byte, in whatever encoding.
    ascii: bool,
}

impl Line {
    fn new(text: &str, lines: &LineIndex, number: u32) -> Self {
        let start = lines.line_start(number).unwrap_or(text.len() as u32);
        let next = lines.line_start(number + 1);
        let body = text.get(start as usize..next.map_or(text.len(), |next| next as usize)).unwrap_or("");
        let body = match next {
            Some(_) => body.strip_suffix("\r\n").or_else(|| body.strip_suffix(['\n', '\r'])).unwrap_or(body),
            None => body,
        };
        Self { number, start, end: start + body.len() as u32, next, ascii: body.is_ascii() }
    }

    fn holds(&self, offset: u32) -> bool {
        self.start <= offset && self.next.is_none_or(|next| offset < next)
    }
}

impl<'a> Positions<'a> {
    /// For a text, whose lines these are.
    pub fn new(text: &'a str, lines: &'a LineIndex, encoding: Encoding) -> Self {
        Self { text, lines, encoding, last: Cell::new(Line::new(text, lines, 0)) }
    }

    /// The position of an offset; clamps as [`LineIndex::line_col`] does.
    pub fn position(&self, offset: u32) -> Position {
        let mut line = self.last.get();
        if !line.holds(offset) {
            let below = line.next.map(|_| Line::new(self.text, self.lines, line.number + 1));
            line = below
                .filter(|below| below.holds(offset))
                .unwrap_or_else(|| Line::new(self.text, self.lines, self.lines.line_of(offset)));
            self.last.set(line);
        }
        if line.ascii {
            return Position::new(line.number, offset.min(line.end) - line.start);
        }
        let LineCol { line, col } = self.lines.line_col(self.text, offset, self.encoding);
        Position::new(line, col)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// Whatever was asked before, each answer is that of the index.
        #[test]
        fn positions_are_those_of_the_index(
            pieces in prop::collection::vec(prop::sample::select(vec!["a", "Ω", "\r\n", "\n", "\r", "🚢", "e\u{301}", "\t", "lamp"]), 0..40),
            offsets in prop::collection::vec(0u32..90, 1..40),
        ) {
            let text = pieces.concat();
            let lines = LineIndex::new(&text);
            for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                let positions = Positions::new(&text, &lines, encoding);
                for offset in &offsets {
                    let wanted = lines.line_col(&text, *offset, encoding);
                    prop_assert_eq!(positions.position(*offset), Position::new(wanted.line, wanted.col));
                }
            }
        }
    }
}
