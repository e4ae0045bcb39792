//! Reading the comments that allow something: `# allow split-series: the class is to find it`.

use std::sync::OnceLock;

use ohmline_syntax::lexer::{TokenKind, tokens};
use ohmline_syntax::words::nearest;
use ohmline_syntax::{Span, Tree};

use crate::registry::{Group, all_metas};

/// The word such a comment begins with.
pub const WORD: &str = "allow";
/// What stands behind the rules when they are allowed in the whole file.
pub const IN_FILE: &str = "in this file";

/// How far a comment reaches.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Reach {
    /// It stands behind a statement: that statement.
    Line,
    /// It stands alone on its line: the next statement, and the block that it opens.
    Next,
    /// It says so: the whole file; of a Markdown document the circuit at hand.
    File,
}

/// A comment that allows rules.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Allow {
    /// The comment, from its `#` to the end of the line.
    pub at: Span,
    /// Each rule as it is written.
    pub rules: Vec<Span>,
    /// How far it reaches, in words.
    pub reach: Reach,
    /// What it covers: a finding whose place begins here is meant, at the end included. `None` when nothing follows.
    pub covers: Option<Span>,
    /// Why it is allowed; `None` when no reason is given.
    pub reason: Option<Span>,
    /// Where a colon is missing before something that can be a reason.
    pub colon_missing: Option<u32>,
}

/// The name of every rule.
pub fn rule_names() -> &'static [&'static str] {
    static NAMES: OnceLock<Vec<&'static str>> = OnceLock::new();
    NAMES.get_or_init(|| {
        let mut names: Vec<_> = all_metas().iter().map(|meta| meta.name).collect();
        names.sort_unstable();
        names
    })
}

/// The comments of a file that allow something, in text order.
pub fn comments(tree: &Tree) -> Vec<Allow> {
    let text: &str = &tree.text;
    let mut out = Vec::new();
    // Most files have none, and looking for a word is all they cost.
    if !text.contains(WORD) {
        return out;
    }
    let mut read_to = 0;
    for (at, _) in text.match_indices(WORD) {
        if at < read_to {
            continue;
        }
        let start = text[..at].rfind(['\n', '\r']).map_or(0, |newline| newline + 1);
        let end = text[at..].find(['\n', '\r']).map_or(text.len(), |newline| at + newline);
        read_to = end;
        // A comment begins with its mark, so a line without one before the word needs no closer look.
        if text[start..at].contains('#') {
            out.extend(in_line(tree, start, end));
        }
    }
    out
}

/// The comment that allows something in the line around an offset.
pub fn comment_at(tree: &Tree, offset: u32) -> Option<Allow> {
    let text: &str = &tree.text;
    let at = text.floor_char_boundary(offset as usize);
    let start = text[..at].rfind(['\n', '\r']).map_or(0, |newline| newline + 1);
    let end = text[at..].find(['\n', '\r']).map_or(text.len(), |newline| at + newline);
    in_line(tree, start, end).filter(|allow| allow.at.touches(offset))
}

/// Reads the comment of one line, if it has one that allows something.
fn in_line(tree: &Tree, start: usize, end: usize) -> Option<Allow> {
    let line = &tree.text[start..end];
    let read = tokens(line);
    let comment = read.iter().find(|token| token.kind == TokenKind::Comment)?;
    let from = start + comment.start as usize;
    let behind =
        read.iter().take_while(|token| token.start < comment.start).any(|token| token.kind != TokenKind::Blank);
    let mut allow = read_comment(&tree.text[from..end], from as u32)?;
    if allow.reach != Reach::File && behind {
        allow.reach = Reach::Line;
    }
    allow.covers = covered(tree, &allow);
    Some(allow)
}

/// Reads a comment that begins at an offset of its text. `None` for any other comment: prose may begin with the word too, so what
/// follows it has to look like names of rules.
fn read_comment(comment: &str, offset: u32) -> Option<Allow> {
    let body = comment.strip_prefix('#')?.trim_start();
    let rest = body.strip_prefix(WORD)?;
    if !rest.starts_with([' ', '\t']) {
        return None;
    }
    let from = comment.len() - rest.len();
    let (list, behind) = match rest.find(':') {
        Some(colon) => (&rest[..colon], Some(&rest[colon + 1..])),
        None => (rest, None),
    };
    let mut words = words(list).peekable();
    let mut rules: Vec<(usize, &str)> = Vec::new();
    while let Some(word) = words.next_if(|(_, word)| looks_like_a_rule(word)) {
        rules.push(word);
    }
    let &(last, name) = rules.last()?;
    let mut end = last + name.len();
    let mut tail = list[end..].trim_start_matches([' ', '\t', ',']);
    let mut reach = Reach::Next;
    if let Some(rest) = tail.strip_prefix(IN_FILE) {
        reach = Reach::File;
        end = list.len() - rest.len();
        tail = rest.trim_start();
    }
    let place = |from: usize, to: usize| Span::new(offset + from as u32, offset + to as u32);
    let (reason, colon_missing) = match behind {
        // A colon further on, behind prose: no comment of this kind.
        Some(_) if !tail.trim().is_empty() => return None,
        Some(behind) => {
            let said = behind.trim();
            let start = comment.len() - behind.trim_start().len();
            (is_reason(said).then(|| place(start, start + said.len())), None)
        }
        None => (None, is_reason(tail).then_some(offset + (from + end) as u32)),
    };
    // Without a colon only a name that is plainly a rule makes it more than prose.
    if behind.is_none() && !rules.iter().all(|(_, name)| rule_names().contains(name)) {
        return None;
    }
    let rules = rules.iter().map(|(at, name)| place(from + at, from + at + name.len())).collect();
    Some(Allow { at: place(0, comment.trim_end().len()), rules, reach, covers: None, reason, colon_missing })
}

/// The words of a list, with where they begin.
fn words(list: &str) -> impl Iterator<Item = (usize, &str)> {
    let base = list.as_ptr() as usize;
    list.split([' ', '\t', ',']).filter(|word| !word.is_empty()).map(move |word| (word.as_ptr() as usize - base, word))
}

fn looks_like_a_rule(word: &str) -> bool {
    let letters = word.chars().all(|c| c.is_ascii_alphabetic() || c == '-');
    let hyphen = word.contains('-') && !word.starts_with('-') && !word.ends_with('-');
    let group = Group::ALL.iter().any(|group| group.word() == word);
    letters && (hyphen || group || nearest(word, rule_names().iter().copied()).is_some())
}

/// A reason says something: `?` and `...` hold its place.
fn is_reason(said: &str) -> bool {
    said.chars().any(char::is_alphanumeric)
}

/// What a comment covers.
fn covered(tree: &Tree, allow: &Allow) -> Option<Span> {
    let text: &str = &tree.text;
    let to_line_end = |at: u32| {
        let from = text.floor_char_boundary(at as usize);
        text[from..].find(['\n', '\r']).map_or(text.len(), |newline| from + newline) as u32
    };
    let next = tree.stmts.partition_point(|stmt| stmt.offset < allow.at.start);
    match allow.reach {
        Reach::File => Some(Span::new(0, text.len() as u32)),
        Reach::Line => {
            let stmt = tree.stmts.get(next.checked_sub(1)?)?;
            Some(Span::new(stmt.offset, to_line_end(stmt.range().end)))
        }
        Reach::Next => {
            let stmt = tree.stmts.get(next)?;
            // Blocks stand in the order of their heads.
            let block = tree.blocks.binary_search_by_key(&next, |block| block.head as usize).ok();
            let block = block.map(|at| &tree.blocks[at]);
            let last = block.map_or(next, |block| (block.close as usize).min(tree.stmts.len() - 1));
            Some(Span::new(stmt.offset, to_line_end(tree.stmts[last].range().end)))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is read of a text: the rules, how far they reach, the text covered, the reason.
    fn read(text: &str) -> Vec<String> {
        let tree = ohmline_syntax::parse(text);
        let slice = |span: Span| tree.slice(span).to_owned();
        comments(&tree)
            .into_iter()
            .map(|allow| {
                let rules: Vec<_> = allow.rules.iter().map(|at| slice(*at)).collect();
                let covers = allow.covers.map_or("nothing".to_owned(), |at| slice(at).replace('\n', "/"));
                let reason = allow.reason.map_or("no reason".to_owned(), slice);
                format!("{} | {:?} | {covers} | {reason}", rules.join(" "), allow.reach)
            })
            .collect()
    }

    #[test]
    fn behind_a_statement_and_above_one() {
        assert_eq!(
            read(
                "lamp L1 = 6 ohm  # allow open-end: comes later\n# allow name-gap, off-series: as sold\n\nlamp L3 = 7 ohm\n"
            ),
            [
                "open-end | Line | lamp L1 = 6 ohm  # allow open-end: comes later | comes later",
                "name-gap off-series | Next | lamp L3 = 7 ohm | as sold",
            ]
        );
        // A statement of several lines is one.
        assert_eq!(
            read("B1+ -- L1\n  -- L2  # allow open-end: half\n  -- B1-\n"),
            ["open-end | Line | B1+ -- L1/  -- L2  # allow open-end: half/  -- B1- | half"]
        );
    }

    #[test]
    fn above_a_block_and_for_the_file() {
        assert_eq!(
            read("# allow open-end: a stub\npart stub(a)\n  lamp L = 6 ohm\n  @a -- L\nend\nlamp L2 = 6 ohm\n"),
            ["open-end | Next | part stub(a)/  lamp L = 6 ohm/  @a -- L/end | a stub"]
        );
        assert_eq!(
            read("# allow unused-part in this file: a kit\nlamp L1 = 6 ohm\n"),
            ["unused-part | File | # allow unused-part in this file: a kit/lamp L1 = 6 ohm/ | a kit"]
        );
        assert_eq!(read("# allow open-end: nothing follows"), ["open-end | Next | nothing | nothing follows"]);
    }

    #[test]
    fn a_reason_has_words() {
        for text in ["# allow open-end\n", "# allow open-end:\n", "# allow open-end: ?\n", "# allow open-end: ...\n"] {
            assert_eq!(read(text), ["open-end | Next | nothing | no reason"], "{text}");
        }
        let tree = ohmline_syntax::parse("# allow open-end since it comes later\n");
        let allow = &comments(&tree)[0];
        assert_eq!((allow.reason, allow.colon_missing), (None, Some(16)));
    }

    #[test]
    fn prose_is_left_alone() {
        for text in [
            "# allow the lamp to cool: it is hot\n",
            "# allow 5 % for the wire\n",
            "# allow well-known slips\n",
            "# allowed: open-end\n",
            "## allow open-end: documents\n",
            "# allow open-end and then some: prose\n",
            "circuit \"# allow open-end: no comment\"\n",
            "lamp allow = 6 ohm\n",
            "# allow",
            "# allow ",
        ] {
            assert_eq!(read(text), [""; 0], "{text}");
        }
        // With a colon, what looks like a name is taken for one.
        assert_eq!(read("# allow opn-end: slip\n"), ["opn-end | Next | nothing | slip"]);
        assert_eq!(read("# allow openend: slip\n"), ["openend | Next | nothing | slip"]);
    }

    #[test]
    fn other_line_ends_and_letters() {
        assert_eq!(
            read("lamp Л1 = 6 Ω # allow open-end: später 🚢 \r\nlamp L2 = 6 ohm\r"),
            ["open-end | Line | lamp Л1 = 6 Ω # allow open-end: später 🚢  | später 🚢"]
        );
    }
}
