//! Formatting: of the text as it stands in the editor at this moment, never of one kept from an analysis.

use ohmline_analysis::markdown::blocks;
use ohmline_format::{Change, INDENT, changes_in, changes_of, indentation_at};
use ohmline_syntax::{Encoding, LineIndex, Span, Tree, parse};
use tower_lsp::lsp_types::{Position, Range, TextEdit};

use crate::documents::Draft;
use crate::positions::Positions;

fn edits(text: &str, found: Vec<Change>, encoding: Encoding) -> Vec<TextEdit> {
    let lines = LineIndex::new(text);
    let positions = Positions::new(text, &lines, encoding);
    let range = |span: Span| Range::new(positions.position(span.start), positions.position(span.end));
    found.into_iter().map(|change| TextEdit::new(range(change.span), change.text)).collect()
}

/// What changes in these lines of a document: in Markdown, of its circuits alone.
fn changed(draft: &Draft, first: u32, last: u32) -> Vec<Change> {
    if !draft.markdown {
        return changes_of(&draft.tree(), first, last);
    }
    let text = &**draft.text;
    let lines = LineIndex::new(text);
    let mut out = Vec::new();
    for block in blocks(text) {
        let begins = lines.line_of(block.span.start);
        let Some(last) = last.checked_sub(begins) else { continue };
        let alone = block.around.alone(text);
        let found = changes_in(&alone.text, first.saturating_sub(begins), last);
        out.extend(found.into_iter().map(|change| Change { span: alone.span(change.span), text: change.text }));
    }
    out
}

/// Formats all of a document.
pub fn whole(draft: &Draft, encoding: Encoding) -> Vec<TextEdit> {
    edits(&draft.text, changed(draft, 0, u32::MAX), encoding)
}

/// Formats the lines that a range touches.
pub fn lines(draft: &Draft, range: Range, encoding: Encoding) -> Vec<TextEdit> {
    // A range that ends before the first character of a line does not mean that line.
    let last =
        if range.end.character == 0 && range.end.line > range.start.line { range.end.line - 1 } else { range.end.line };
    edits(&draft.text, changed(draft, range.start.line, last), encoding)
}

/// After a newline was typed: the line that was left is formatted, and the new one begins as deep as the blocks around it.
pub fn on_newline(draft: &Draft, at: Position, encoding: Encoding) -> Vec<TextEdit> {
    let text = &**draft.text;
    let mut found = match at.line.checked_sub(1) {
        Some(left) => changed(draft, left, left),
        None => Vec::new(),
    };
    if draft.markdown {
        let lines = LineIndex::new(text);
        let of = |block: &ohmline_analysis::markdown::Block| {
            // The end of the document belongs to a block that nothing closes.
            let end = block.span.end.max(block.span.start + 1) - u32::from((block.span.end as usize) < text.len());
            (lines.line_of(block.span.start)..=lines.line_of(end)).contains(&at.line)
        };
        if let Some(block) = blocks(text).into_iter().find(of) {
            let alone = block.around.alone(text);
            let line = at.line - lines.line_of(block.span.start);
            found.extend(indented(&parse(&alone.text), line).map(|change| {
                let (start, lead) = (alone.offset(change.span.start), &block.around.lead);
                // A line that the editor did not indent as far as the list is brought into it.
                let begins = lines.line_start(at.line).unwrap_or(start);
                let lacks = lead.trim().is_empty() && (start - begins) < lead.len() as u32;
                match lacks {
                    true => Change {
                        span: Span::new(begins, start + change.span.len()),
                        text: format!("{lead}{}", change.text),
                    },
                    false => Change { span: Span::new(start, start + change.span.len()), text: change.text },
                }
            }));
        }
    } else {
        found.extend(indented(&draft.tree(), at.line));
    }
    edits(text, found, encoding)
}

/// How an empty line comes to stand as deep as the blocks around it.
fn indented(tree: &Tree, number: u32) -> Option<Change> {
    let text = &*tree.text;
    let lines = LineIndex::new(text);
    let start = lines.line_start(number)?;
    let line = text[start as usize..].split(['\n', '\r']).next().unwrap_or("");
    if !line.trim().is_empty() {
        return None;
    }
    let depth = indentation_at(tree, number).max(opened_above(tree, &lines, number) * INDENT);
    (line.len() != depth).then(|| Change { span: Span::new(start, start + line.len() as u32), text: " ".repeat(depth) })
}

/// One where the line above opens a block that nothing closes yet: the text ends there, so no line of it is inside.
fn opened_above(tree: &Tree, lines: &LineIndex, line: u32) -> usize {
    let text = &*tree.text;
    let Some(above) = line.checked_sub(1).and_then(|above| lines.line_start(above)) else { return 0 };
    let word = text[above as usize..].trim_start_matches([' ', '\t']).split_whitespace().next();
    let depth = indentation_at(tree, line - 1) / INDENT;
    depth + usize::from(matches!(word, Some("part" | "repeat")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(text: &str, line: u32) -> Vec<(u32, String)> {
        of(text, false, line)
    }

    fn of(text: &str, markdown: bool, line: u32) -> Vec<(u32, String)> {
        on_newline(&Draft::new(text, markdown), Position::new(line, 0), Encoding::Utf16)
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
    fn a_new_line_in_a_fence_is_indented_behind_what_it_stands_in() {
        assert_eq!(of("```ohmline\npart lantern(in, out)\n\nend\n```\n", true, 2), [(2, "  ".to_owned())]);
        assert_eq!(of("- ```ohmline\n  part a(in, out)\n  \n  end\n  ```\n", true, 2), [(2, "  ".to_owned())]);
        assert_eq!(of("- ```ohmline\n  part a(in, out)\n\n  end\n  ```\n", true, 2), [(2, "    ".to_owned())]);
        assert_eq!(of("> ```ohmline\n> part a(in, out)\n> \n> end\n> ```\n", true, 2), [(2, "  ".to_owned())]);
        assert_eq!(of("# Quay\n\npart a(in, out)\n\n", true, 3), []);
    }

    #[test]
    fn the_line_that_was_left_is_formatted() {
        assert_eq!(after("lamp L1  =  6 ohm\n\n", 1).len(), 1);
    }
}
