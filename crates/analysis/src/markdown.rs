//! Circuits in Markdown: each fenced block marked `ohmline` is a file of its own.
//!
//! Fences are those of CommonMark 0.31.2, section 4.5, also inside block quotes and list items. The text of a block is the text of
//! the whole document with everything outside of the block blanked, so that every place in it is a place in the document. What is
//! written into a block keeps its lines inside of the quote or list that the block stands in: see [`Around`].

use ohmline_syntax::{Diagnostic, Edit, FileId, Span};

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
    /// What it stands in.
    pub around: Around,
}

/// The quotes and lists that a block stands in, of which every line of it begins with something.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Around {
    /// What a new line of the block begins with: `>` for each quote, blanks for a list.
    pub lead: String,
    /// The lines between the fences.
    pub span: Span,
    quotes: usize,
    indent: usize,
}

impl Around {
    /// How many bytes at the beginning of a line of the document are not of the circuit.
    pub fn lead_of(&self, line: &str) -> usize {
        let (quotes, inner) = unquoted(line, self.quotes);
        if quotes < self.quotes {
            return 0;
        }
        let mut taken = 0;
        let mut width = 0;
        for c in inner.chars() {
            match c {
                ' ' if width < self.indent => width += 1,
                '\t' if width < self.indent => width += 4 - width % 4,
                _ => break,
            }
            taken += 1;
        }
        line.len() - inner.len() + taken
    }

    /// A place that is not before the circuit's own part of its line.
    fn inside(&self, document: &str, offset: u32) -> u32 {
        let start = line_start(document, offset);
        let line = document[start..].split(['\r', '\n']).next().unwrap_or("");
        offset.max((start + self.lead_of(line)) as u32)
    }

    /// What a replacement in the text of the block is in the document: new lines begin with what the block stands in.
    pub fn edit(&self, document: &str, span: Span, text: &str) -> (Span, String) {
        if self.lead.is_empty() {
            return (span, text.to_owned());
        }
        let begins = |offset: u32| line_start(document, offset) == offset as usize;
        let whole = begins(span.start) && begins(span.end) && (text.is_empty() || text.ends_with('\n'));
        let mut out = String::with_capacity(text.len() + self.lead.len());
        for line in text.split_inclusive('\n') {
            if whole || !out.is_empty() {
                out.push_str(&self.lead);
            }
            out.push_str(line);
        }
        if whole {
            return (span, out);
        }
        let end = self.inside(document, span.end);
        let behind = document.get(end as usize..).is_some_and(|rest| !rest.is_empty());
        if text.ends_with('\n') && behind {
            out.push_str(&self.lead);
        }
        (Span::new(self.inside(document, span.start).min(end), end), out)
    }

    /// The fixes of what was found in the block, as edits of the document.
    pub fn place_fixes(&self, document: &str, found: &mut [Diagnostic]) {
        let edits = found.iter_mut().flat_map(|one| &mut one.fixes).flat_map(|fix| &mut fix.edits);
        edits.for_each(|edit| self.place(document, edit));
    }

    /// An edit of the block as one of the document. Other files are no documents.
    pub fn place(&self, document: &str, edit: &mut Edit) {
        if edit.at.file == FileId::MAIN {
            (edit.at.span, edit.text) = self.edit(document, edit.at.span, &edit.text);
        }
    }

    /// The text of the block once the document around it has been edited inside of it. `block` is its text before.
    pub fn read_again(&self, block: &str, before: &str, document: &str) -> String {
        let mut text = block.get(..self.span.start as usize).unwrap_or("").to_owned();
        let end = (self.span.end as usize + document.len()).saturating_sub(before.len());
        for line in lines(document.get(self.span.start as usize..end).unwrap_or("")) {
            let lead = self.lead_of(line.trim_end_matches(['\r', '\n']));
            blank_into(&mut text, &line[..lead]);
            text.push_str(&line[lead..]);
        }
        text
    }

    /// The block as a file of its own, without what it stands in.
    pub fn alone(&self, document: &str) -> Alone {
        let mut alone = Alone { text: String::new(), lines: Vec::new() };
        let mut at = self.span.start;
        for line in lines(document.get(self.span.range()).unwrap_or("")) {
            let lead = self.lead_of(line.trim_end_matches(['\r', '\n']));
            alone.lines.push((alone.text.len() as u32, at + lead as u32));
            alone.text.push_str(&line[lead..]);
            at += line.len() as u32;
        }
        alone
    }
}

/// A block without what it stands in.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Alone {
    /// Its text.
    pub text: String,
    /// Where each of its lines begins, and where that is in the document.
    lines: Vec<(u32, u32)>,
}

impl Alone {
    /// A place of it in the document.
    pub fn offset(&self, own: u32) -> u32 {
        match self.lines.partition_point(|(start, _)| *start <= own).checked_sub(1) {
            Some(line) => self.lines[line].1 + (own - self.lines[line].0),
            None => own,
        }
    }

    /// A stretch of it in the document. One that ends where a line ends stays in that line.
    pub fn span(&self, own: Span) -> Span {
        let start = self.offset(own.start);
        let end = if own.end > own.start { self.offset(own.end - 1) + 1 } else { start };
        Span::new(start, end)
    }
}

/// Where the line of a place begins.
fn line_start(text: &str, offset: u32) -> usize {
    let before = text.get(..offset as usize).unwrap_or(text);
    before.rfind(['\n', '\r']).map_or(0, |at| at + 1)
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
    /// What a line of it begins with.
    lead: String,
}

impl Fence {
    /// The block from this fence up to a place, if it is one of ours.
    fn block(self, end: usize) -> Option<Block> {
        let span = Span::new(self.ours? as u32, end as u32);
        let around = Around { lead: self.lead, span, quotes: self.quotes, indent: self.indent };
        Some(Block { span, text: self.text, around })
    }
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
                // A quote that ends closes its fence before this line, a closing fence too.
                out.extend(open.take().and_then(|fence| fence.block(at)));
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
                    let lead = lead(body, body.len() - inner.len());
                    let ours = ours.then_some(at + line.len());
                    open = Some(Fence { sign, length, quotes, indent, ours, text, lead });
                }
            }
        }
        blank_into(&mut blank, line);
        at += line.len();
    }
    // What nothing closes goes on to the end of the document.
    out.extend(open.and_then(|fence| fence.block(document.len())));
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

/// What the lines of a block begin with whose fence opens in this line: its quotes, of which `quoted` bytes are; everything else before
/// the fence blank.
fn lead(line: &str, quoted: usize) -> String {
    let before = line.find(['`', '~']).map_or("", |at| &line[..at]);
    let blank = |(at, c): (usize, char)| if at < quoted || c == '\t' { c } else { ' ' };
    before.char_indices().map(blank).collect()
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

    fn edited(document: &str, (span, text): (Span, String)) -> String {
        let mut new = document.to_owned();
        new.replace_range(span.range(), &text);
        new
    }

    #[test]
    fn what_is_written_stays_in_the_quote_or_list() {
        for (document, whole, within, gone) in [
            (
                "> ```ohmline\n> lamp L1 = 6 ohm\n> ```\n",
                "> ```ohmline\n> lamp L1 = 6 ohm\n> a\n> b\n> ```\n",
                "> ```ohmline\n> x\n> lamp L1 = 6 ohm\n> ```\n",
                "> ```ohmline\n> ```\n",
            ),
            (
                "- ```ohmline\n  lamp L1 = 6 ohm\n  ```\n",
                "- ```ohmline\n  lamp L1 = 6 ohm\n  a\n  b\n  ```\n",
                "- ```ohmline\n  x\n  lamp L1 = 6 ohm\n  ```\n",
                "- ```ohmline\n  ```\n",
            ),
            (
                "> 1. ```ohmline\r\n>    lamp L1 = 6 ohm\r\n>    ```\r\n",
                "> 1. ```ohmline\r\n>    lamp L1 = 6 ohm\r\n>    a\n>    b\n>    ```\r\n",
                "> 1. ```ohmline\r\n>    x\n>    lamp L1 = 6 ohm\r\n>    ```\r\n",
                "> 1. ```ohmline\r\n>    ```\r\n",
            ),
            // A quote that ends ends its block, without a closing fence.
            (
                "> ```ohmline\n> lamp L1 = 6 ohm\nout of it\n",
                "> ```ohmline\n> lamp L1 = 6 ohm\n> a\n> b\nout of it\n",
                "> ```ohmline\n> x\n> lamp L1 = 6 ohm\nout of it\n",
                "> ```ohmline\nout of it\n",
            ),
        ] {
            let block = &blocks(document)[0];
            let end = Span::new(block.span.end, block.span.end);
            assert_eq!(edited(document, block.around.edit(document, end, "a\nb\n")), whole);
            let lamp = document.find("lamp").unwrap() as u32;
            assert_eq!(edited(document, block.around.edit(document, Span::new(lamp, lamp), "x\n")), within);
            assert_eq!(edited(document, block.around.edit(document, block.span, "")), gone);
        }
    }

    #[test]
    fn a_block_alone_and_its_places_in_the_document() {
        let document = "> - ```ohmline\n>   part a(in, out)\n>     lamp L1 = 6 Ω\n>\n>   end\n>   ```\n";
        let block = &blocks(document)[0];
        let alone = block.around.alone(document);
        assert_eq!(alone.text, "part a(in, out)\n  lamp L1 = 6 Ω\n\nend\n");
        for word in ["part", "lamp", "L1", "Ω", "end"] {
            let own = alone.text.find(word).unwrap() as u32;
            let there = document.find(word).unwrap() as u32;
            assert_eq!(alone.offset(own), there, "{word}");
            let own = Span::new(own, own + word.len() as u32);
            assert_eq!(&document[alone.span(own).range()], word);
        }
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
                let alone = block.around.alone(&document);
                for (own, c) in alone.text.char_indices() {
                    prop_assert!(document[alone.offset(own as u32) as usize..].starts_with(c));
                }
                // A comment at the beginning or the end of it leaves all blocks where they are.
                for at in [block.span.start, block.span.end] {
                    // Not so where a fence ends the document, and nothing can be between it and its end.
                    let lines = document[..at as usize].ends_with(['\n', '\r']);
                    let closed = document[block.span.end as usize..].contains(['`', '~']);
                    if lines && (at == block.span.start || closed) {
                        let (span, text) = block.around.edit(&document, Span::new(at, at), "# a\n");
                        let mut new = document.clone();
                        new.replace_range(span.range(), &text);
                        prop_assert_eq!(blocks(&new).len(), blocks(&document).len());
                    }
                }
            }
        }
    }
}
