//! Writing a comment that allows a rule, for whoever asks for one.

use ohmline_syntax::{Edit, FileSpan, Span, Tree};

use super::comment::WORD;

/// Stands where the reason is to be written. A comment that holds it allows nothing yet.
pub const PLACEHOLDER: &str = "?";

/// Where a comment is written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Spot {
    /// On a line of its own above the statement, below all comments but those that document it; behind the head of a block, since above
    /// it the comment would speak of the whole block.
    Above,
    /// Behind the statement; for texts whose lines begin with more than the notation, as those of a quote do.
    Behind,
}

/// May stand before everything else in a file.
const BYTE_ORDER_MARK: char = '\u{feff}';

/// The edit that allows a rule at the statement that holds a place of its tree. `None` where no statement is, or no room behind it.
pub fn allowing(tree: &Tree, rule: &str, at: FileSpan, spot: Spot) -> Option<Edit> {
    let text: &str = &tree.text;
    let after = tree.stmts.partition_point(|stmt| stmt.offset <= at.span.start);
    let stmt = tree.stmts.get(after.checked_sub(1)?)?;
    let line_start = |offset: usize| text[..offset].rfind(['\n', '\r']).map_or(0, |newline| newline + 1);
    let mut start = line_start(stmt.offset as usize);
    let first = if text.starts_with(BYTE_ORDER_MARK) { BYTE_ORDER_MARK.len_utf8() } else { 0 };
    start = start.max(first);
    let indent = &text[start.min(stmt.offset as usize)..stmt.offset as usize];
    let opens = tree.blocks.iter().any(|block| tree.stmts[block.head as usize].offset == stmt.offset);
    let end = stmt.range().end as usize;
    let rest = text[end..].split(['\n', '\r']).next().unwrap_or("");
    if (opens || spot == Spot::Behind) && rest.trim().is_empty() {
        let comment = format!("  # {WORD} {rule}: {PLACEHOLDER}");
        let place = Span::new(end as u32, (end + rest.len()) as u32);
        return Some(Edit { at: FileSpan::new(at.file, place), text: comment });
    }
    // Above its head a comment would speak of all of a block.
    if opens || spot == Spot::Behind {
        return None;
    }
    // Lines that document a statement stand right above it.
    while start > first {
        let before = text[..start].strip_suffix('\n').map_or(&text[..start - 1], |line| line.trim_end_matches('\r'));
        let above = line_start(before.len()).max(first);
        if !before[above..].trim_start().starts_with("##") {
            break;
        }
        start = above;
    }
    let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let comment = format!("{indent}# {WORD} {rule}: {PLACEHOLDER}{newline}");
    Some(Edit { at: FileSpan::new(at.file, Span::new(start as u32, start as u32)), text: comment })
}

#[cfg(test)]
mod tests {
    use ohmline_syntax::FileId;

    use super::*;
    use crate::allow::comment::comments;

    fn written(text: &str, at: &str) -> String {
        written_at(text, at, Spot::Above)
    }

    fn written_at(text: &str, at: &str, spot: Spot) -> String {
        let tree = ohmline_syntax::parse(text);
        let start = text.find(at).expect("the word is in the text") as u32;
        let edit = allowing(&tree, "open-end", FileSpan::new(FileId::MAIN, Span::new(start, start + 1)), spot)
            .expect("a place");
        let mut text = text.to_owned();
        text.replace_range(edit.at.span.range(), &edit.text);
        let tree = ohmline_syntax::parse(&text);
        let allow = &comments(&tree)[0];
        let covered = tree.slice(allow.covers.expect("it covers something"));
        assert!(covered.contains(at) && allow.reason.is_none(), "{text}");
        text
    }

    #[test]
    fn above_the_statement_and_what_documents_it() {
        assert_eq!(written("lamp L1 = 6 ohm\n", "L1"), "# allow open-end: ?\nlamp L1 = 6 ohm\n");
        assert_eq!(
            written("# of the pier\n## The lamp\n## of the quay\nlamp L1 = 6 ohm\n", "L1"),
            "# of the pier\n# allow open-end: ?\n## The lamp\n## of the quay\nlamp L1 = 6 ohm\n"
        );
        assert_eq!(
            written("B1+ -- L1\n   -- L2\n   -- B1-\n", "L2"),
            "# allow open-end: ?\nB1+ -- L1\n   -- L2\n   -- B1-\n"
        );
        assert_eq!(
            written("B1+ -- B1-\r\n\tlamp L1\r\n", "L1"),
            "B1+ -- B1-\r\n\t# allow open-end: ?\r\n\tlamp L1\r\n"
        );
    }

    #[test]
    fn behind_the_statement() {
        assert_eq!(
            written_at("  lamp L1 = 6 ohm\n  lamp L2\n", "L1", Spot::Behind),
            "  lamp L1 = 6 ohm  # allow open-end: ?\n  lamp L2\n"
        );
    }

    #[test]
    fn the_head_of_a_block_is_spoken_of_alone() {
        let text = "part stub(a)\n  @a -- @a\nend\n";
        assert_eq!(written(text, "stub"), "part stub(a)  # allow open-end: ?\n  @a -- @a\nend\n");
        // Where a comment stands already, one above would speak of the whole block.
        let text = "part stub(a)  # a stub\n  @a -- @a\nend\n";
        let tree = ohmline_syntax::parse(text);
        let at = FileSpan::new(FileId::MAIN, Span::new(5, 9));
        assert_eq!(allowing(&tree, "open-end", at, Spot::Above), None);
    }

    #[test]
    fn a_byte_order_mark_stays_in_front() {
        assert_eq!(written("\u{feff}lamp L1 = 6 ohm\n", "L1"), "\u{feff}# allow open-end: ?\nlamp L1 = 6 ohm\n");
        assert_eq!(
            written("\u{feff}## The lamp\nlamp L1\n", "L1"),
            "\u{feff}# allow open-end: ?\n## The lamp\nlamp L1\n"
        );
    }
}
