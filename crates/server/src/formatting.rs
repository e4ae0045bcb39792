//! Formatting: of the text as it stands in the editor at this moment, never of one kept from an analysis.

use ohmline_format::{Change, INDENT, changes, changes_in, indentation_at};
use ohmline_syntax::{Encoding, LineIndex, Span};
use tower_lsp::lsp_types::{Position, Range, TextEdit};

fn edits(text: &str, found: &[Change], encoding: Encoding) -> Vec<TextEdit> {
    let lines = LineIndex::new(text);
    let position = |offset: u32| {
        let at = lines.line_col(text, offset, encoding);
        Position::new(at.line, at.col)
    };
    let range = |span: Span| Range::new(position(span.start), position(span.end));
    found.iter().map(|change| TextEdit::new(range(change.span), change.text.clone())).collect()
}

/// Formats all of a text.
pub fn whole(text: &str, encoding: Encoding) -> Vec<TextEdit> {
    edits(text, &changes(text), encoding)
}

/// Formats the lines that a range touches.
pub fn lines(text: &str, range: Range, encoding: Encoding) -> Vec<TextEdit> {
    // A range that ends before the first character of a line does not mean that line.
    let last =
        if range.end.character == 0 && range.end.line > range.start.line { range.end.line - 1 } else { range.end.line };
    edits(text, &changes_in(text, range.start.line, last), encoding)
}

/// After a newline was typed: the line that was left is formatted, and the new one begins as deep as the blocks around it.
pub fn on_newline(text: &str, at: Position, encoding: Encoding) -> Vec<TextEdit> {
    let mut out = match at.line.checked_sub(1) {
        Some(left) => edits(text, &changes_in(text, left, left), encoding),
        None => Vec::new(),
    };
    let lines = LineIndex::new(text);
    let Some(start) = lines.line_start(at.line) else { return out };
    let line = text[start as usize..].split(['\n', '\r']).next().unwrap_or("");
    if line.trim().is_empty() {
        let depth = indentation_at(text, at.line).max(opened_above(text, &lines, at.line) * INDENT);
        if line.len() != depth {
            let found = Change { span: Span::new(start, start + line.len() as u32), text: " ".repeat(depth) };
            out.extend(edits(text, &[found], encoding));
        }
    }
    out
}

/// One where the line above opens a block that nothing closes yet: the text ends there, so no line of it is inside.
fn opened_above(text: &str, lines: &LineIndex, line: u32) -> usize {
    let Some(above) = line.checked_sub(1).and_then(|above| lines.line_start(above)) else { return 0 };
    let word = text[above as usize..].trim_start_matches([' ', '\t']).split_whitespace().next();
    let depth = indentation_at(text, line - 1) / INDENT;
    depth + usize::from(matches!(word, Some("part" | "repeat")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(text: &str, line: u32) -> Vec<(u32, String)> {
        on_newline(text, Position::new(line, 0), Encoding::Utf16)
            .into_iter()
            .map(|edit| (edit.range.start.line, edit.new_text))
            .collect()
    }

    #[test]
    fn a_new_line_in_a_block_is_indented() {
        assert_eq!(after("part lantern(in, out)\n", 1), [(1, "  ".to_owned())]);
        assert_eq!(after("part lantern(in, out)\n\nend\n", 1), [(1, "  ".to_owned())]);
        assert_eq!(after("part lantern(in, out)\n  lamp L1 = 6 ohm\n\nend\n", 2), [(2, "  ".to_owned())]);
        assert_eq!(after("lamp L1 = 6 ohm\n\n", 1), []);
        assert_eq!(after("part lantern(in, out)\nend\n\n", 2), []);
    }

    #[test]
    fn the_line_that_was_left_is_formatted() {
        assert_eq!(after("lamp L1  =  6 ohm\n\n", 1).len(), 1);
    }
}
