//! Circuits in Markdown: each fenced block marked `ohmline` is a file of its own.
//!
//! Fences are those of CommonMark 0.31.2, section 4.5, also inside block quotes and list items. The text of a block is the text of
//! the whole document with everything outside of the block blanked, so that every place in it is a place in the document.

use ohmline_syntax::Span;

/// The word behind the fence.
const LANGUAGE: &str = "ohmline";
/// Most blocks of one document.
const MOST: usize = 1000;

/// A circuit of a document.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Block {
    /// The lines between the fences.
    pub span: Span,
    /// What is to be read: as long as the document up to the end of the block.
    pub text: String,
}

/// Whether a path or an address ends like one of a Markdown document.
pub fn is_markdown(path: &str) -> bool {
    let ending = path.rsplit_once('.').map_or("", |(_, ending)| ending);
    ending.eq_ignore_ascii_case("md") || ending.eq_ignore_ascii_case("markdown")
}

/// A fence that is open.
struct Fence {
    sign: char,
    length: usize,
    /// How many `>` stand before each line.
    quotes: usize,
    /// How far its lines may be indented like it.
    indent: usize,
    /// The first byte behind its line, when it is one of ours.
    ours: Option<usize>,
    /// The text so far, when it is one of ours.
    text: String,
}

/// The circuits of a Markdown document, in order.
pub fn blocks(document: &str) -> Vec<Block> {
    let mut out = Vec::new();
    let mut open: Option<Fence> = None;
    let mut list: Option<usize> = None;
    // What stands before the line at hand, blanked.
    let mut blank = String::new();
    let mut at = 0;
    for line in lines(document) {
        if out.len() >= MOST {
            break;
        }
        let body = line.trim_end_matches(['\r', '\n']);
        let (quotes, inner) = unquoted(body, open.as_ref().map_or(usize::MAX, |fence| fence.quotes));
        let indent = width(inner);
        match &mut open {
            Some(fence) if quotes < fence.quotes || closes(fence, inner, indent) => {
                if let Some(from) = fence.ours {
                    // A quote that ends closes its fence before this line, a closing fence too.
                    out.push(Block { span: Span::new(from as u32, at as u32), text: std::mem::take(&mut fence.text) });
                }
                open = None;
            }
            Some(fence) => {
                if fence.ours.is_some() {
                    let lead = body.len() - inner.len();
                    blank_into(&mut fence.text, &line[..lead]);
                    fence.text.push_str(&line[lead..]);
                }
            }
            None => {
                let (item, content) = item(inner);
                if content.trim().is_empty() && item.is_none() {
                    // A blank line ends no list.
                } else if let Some(item) = item {
                    list = Some(indent + item);
                } else if list.is_some_and(|list| indent < list) {
                    list = None;
                }
                let base = list.unwrap_or(0);
                let own = width(content);
                let deep = if item.is_some() { own } else { indent.saturating_sub(base) };
                if deep < 4
                    && let Some((sign, length, info)) = opens(content.trim_start())
                {
                    let word = info.split(|c: char| c.is_whitespace() || matches!(c, ',' | '{' | ':')).next();
                    let ours = word.is_some_and(|word| word.eq_ignore_ascii_case(LANGUAGE));
                    let mut text = String::new();
                    if ours {
                        text.clone_from(&blank);
                        blank_into(&mut text, line);
                    }
                    let indent = if item.is_some() { base } else { indent };
                    open = Some(Fence { sign, length, quotes, indent, ours: ours.then_some(at + line.len()), text });
                }
            }
        }
        blank_into(&mut blank, line);
        at += line.len();
    }
    // What nothing closes goes on to the end of the document.
    if let Some(Fence { ours: Some(from), text, .. }) = open {
        out.push(Block { span: Span::new(from as u32, document.len() as u32), text });
    }
    out
}

/// Lines with their ends: LF, CRLF or CR.
fn lines(text: &str) -> impl Iterator<Item = &str> {
    let mut rest = text;
    std::iter::from_fn(move || {
        if rest.is_empty() {
            return None;
        }
        let end = match rest.find(['\n', '\r']) {
            Some(at) if rest[at..].starts_with("\r\n") => at + 2,
            Some(at) => at + 1,
            None => rest.len(),
        };
        let (line, after) = rest.split_at(end);
        rest = after;
        Some(line)
    })
}

/// As many bytes of blanks, with the line ends kept.
fn blank_into(out: &mut String, text: &str) {
    out.extend(text.bytes().map(|byte| if matches!(byte, b'\n' | b'\r') { byte as char } else { ' ' }));
}

/// Takes up to `most` marks of a block quote off a line: how many there were, and what is left.
fn unquoted(line: &str, most: usize) -> (usize, &str) {
    let mut rest = line;
    let mut count = 0;
    while count < most {
        let trimmed = rest.trim_start_matches(' ');
        if rest.len() - trimmed.len() > 3 {
            break;
        }
        let Some(inner) = trimmed.strip_prefix('>') else { break };
        rest = inner.strip_prefix(' ').unwrap_or(inner);
        count += 1;
    }
    (count, rest)
}

/// How far a line is indented; a tab goes to the next multiple of four.
fn width(line: &str) -> usize {
    let mut width = 0;
    for c in line.chars() {
        match c {
            ' ' => width += 1,
            '\t' => width += 4 - width % 4,
            _ => break,
        }
    }
    width
}

/// The mark of a list item: how far its content is indented from it, and the content.
fn item(line: &str) -> (Option<usize>, &str) {
    let text = line.trim_start();
    let digits = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let mark = match text.as_bytes().get(digits) {
        Some(b'-' | b'*' | b'+') if digits == 0 => 1,
        Some(b'.' | b')') if (1..=9).contains(&digits) => digits + 1,
        _ => return (None, line),
    };
    let content = &text[mark..];
    if !content.is_empty() && !content.starts_with([' ', '\t']) {
        return (None, line);
    }
    let gap = width(content);
    let gap = if (1..=4).contains(&gap) { gap } else { 1 };
    (Some(mark + gap), content.get(gap.min(content.len())..).unwrap_or(""))
}

/// An opening fence: its sign, its length, and what stands behind it.
fn opens(text: &str) -> Option<(char, usize, &str)> {
    let sign = text.chars().next().filter(|c| matches!(c, '`' | '~'))?;
    let info = text.trim_start_matches(sign);
    let length = text.len() - info.len();
    let clean = sign == '~' || !info.contains('`');
    (length >= 3 && clean).then(|| (sign, length, info.trim()))
}

fn closes(fence: &Fence, line: &str, indent: usize) -> bool {
    let text = line.trim();
    let is_fence = !text.is_empty() && text.chars().all(|c| c == fence.sign) && text.len() >= fence.length;
    is_fence && indent < fence.indent + 4
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn texts(document: &str) -> Vec<String> {
        blocks(document).iter().map(|block| block.text.trim().to_owned()).collect()
    }

    #[test]
    fn fences_of_both_kinds_and_lengths() {
        let document = "# Quay\n\n```ohmline\nlamp L1 = 6 ohm\n```\n\n~~~~ ohmline title\nlamp L2 = 7 ohm\n~~~\n# on\n~~~~\n\n\
            ```text\nlamp L3 = 8 ohm\n```\n````\n```ohmline\nlamp L4 = 1 ohm\n```\n````\n";
        assert_eq!(texts(document), ["lamp L1 = 6 ohm", "lamp L2 = 7 ohm\n~~~\n# on"]);
    }

    #[test]
    fn in_quotes_and_lists_and_without_an_end() {
        assert_eq!(texts("> ```ohmline\n> lamp L1 = 6 ohm\n> ```\n> on\n"), ["lamp L1 = 6 ohm"]);
        assert_eq!(texts("> ```ohmline\n> lamp L1 = 6 ohm\nout of it\n"), ["lamp L1 = 6 ohm"]);
        assert_eq!(texts("1. First:\n\n   ```ohmline\n   lamp L1 = 6 ohm\n   ```\n"), ["lamp L1 = 6 ohm"]);
        assert_eq!(texts("- ```ohmline\n  lamp L1 = 6 ohm\n  ```\n"), ["lamp L1 = 6 ohm"]);
        assert_eq!(
            texts("10. a\n\n    - b\n\n      ```ohmline\n      lamp L1 = 6 ohm\n      ```\n"),
            ["lamp L1 = 6 ohm"]
        );
        assert_eq!(texts("```ohmline\r\nlamp L1 = 6 ohm\r\n"), ["lamp L1 = 6 ohm"]);
        // Code by its indentation is no fence, and an inline piece of code is none.
        assert_eq!(texts("    ```ohmline\n    lamp L1 = 6 ohm\n    ```\n"), Vec::<String>::new());
        assert_eq!(texts("```ohmline` is a word\nlamp\n"), Vec::<String>::new());
    }

    #[test]
    fn every_place_is_a_place_of_the_document() {
        let document = "Grüße 🚢\n\n> ```ohmline\n> lamp É = 6 Ω # 🌙\n> ```\n";
        let block = &blocks(document)[0];
        let at = document.find("lamp").expect("there");
        assert_eq!(block.text.find("lamp"), Some(at));
        assert_eq!(&document[block.span.range()], "> lamp É = 6 Ω # 🌙\n");
        assert_eq!(block.text.lines().count(), 4);
    }

    proptest! {
        #[test]
        fn whatever_the_document(pieces in prop::collection::vec(
            prop::sample::select(vec!["```", "~~~~", "ohmline", "\n", "\r\n", "\r", "> ", "- ", "1. ", "    ", "\t", "🚢", "lamp L = 1 ohm"]), 0..40)
        ) {
            let document = pieces.concat();
            for block in blocks(&document) {
                prop_assert_eq!(block.text.len(), block.span.end as usize);
                let same = block.text.bytes().zip(document.bytes()).all(|(a, b)| a == b || a == b' ');
                prop_assert!(same);
                prop_assert!(block.text[..block.span.start as usize].trim().is_empty());
            }
        }
    }
}
