//! Changes of a text as the editor sends them.

use ohmline_syntax::{Encoding, LineCol, LineIndex};
use tower_lsp::lsp_types::{Position, TextDocumentContentChangeEvent};

/// Applies one change. A range that is out of bounds or the wrong way round is brought into bounds.
pub fn apply(text: &mut String, change: &TextDocumentContentChangeEvent, encoding: Encoding) {
    match change.range {
        None => change.text.clone_into(text),
        Some(range) => {
            let lines = LineIndex::new(text);
            let at = |position: Position| lines.offset(text, line_col(position), encoding) as usize;
            let (start, end) = (at(range.start), at(range.end));
            text.replace_range(start.min(end)..start.max(end), &change.text);
        }
    }
}

/// A position of the protocol as a line and column.
pub fn line_col(position: Position) -> LineCol {
    LineCol { line: position.line, col: position.character }
}

/// The text of a line up to a position; `None` when there is no such line.
pub fn line_before(text: &str, at: Position, encoding: Encoding) -> Option<&str> {
    let lines = LineIndex::new(text);
    let start = lines.line_start(at.line)? as usize;
    text.get(start..lines.offset(text, line_col(at), encoding) as usize)
}

#[cfg(test)]
mod tests {
    use tower_lsp::lsp_types::Range;

    use super::*;

    fn change(range: Option<[u32; 4]>, text: &str) -> TextDocumentContentChangeEvent {
        let range = range.map(|[a, b, c, d]| Range::new(Position::new(a, b), Position::new(c, d)));
        TextDocumentContentChangeEvent { range, range_length: None, text: text.to_owned() }
    }

    fn applied(text: &str, encoding: Encoding, range: [u32; 4], by: &str) -> String {
        let mut text = text.to_owned();
        apply(&mut text, &change(Some(range), by), encoding);
        text
    }

    // Language Server Protocol 3.17, "Text Documents": in UTF-16 the letter of U+10400 takes two columns.
    #[test]
    fn columns_count_in_the_chosen_encoding() {
        assert_eq!(applied("a\u{10400}b", Encoding::Utf16, [0, 3, 0, 3], "-"), "a\u{10400}-b");
        assert_eq!(applied("a\u{10400}b", Encoding::Utf8, [0, 5, 0, 5], "-"), "a\u{10400}-b");
        assert_eq!(applied("a\u{10400}b", Encoding::Utf32, [0, 2, 0, 2], "-"), "a\u{10400}-b");
    }

    #[test]
    fn impossible_ranges_are_brought_into_bounds() {
        assert_eq!(applied("ab\ncd", Encoding::Utf16, [9, 9, 12, 0], "!"), "ab\ncd!");
        assert_eq!(applied("ab\ncd", Encoding::Utf16, [0, 99, 0, 99], "!"), "ab!\ncd");
        assert_eq!(applied("ab\ncd", Encoding::Utf16, [1, 1, 0, 1], ""), "ad");
        assert_eq!(applied("ab\r\ncd", Encoding::Utf16, [0, 99, 0, 99], "!"), "ab!\r\ncd");
        // In the middle of a character: its start.
        assert_eq!(applied("\u{10400}", Encoding::Utf16, [0, 1, 0, 1], "-"), "-\u{10400}");
        assert_eq!(applied("Ω", Encoding::Utf8, [0, 1, 0, 9], "-"), "-");
        assert_eq!(applied("x", Encoding::Utf16, [u32::MAX, u32::MAX, u32::MAX, u32::MAX], "y"), "xy");
    }
}
