//! The form of the declaration that is being typed: what stands where, and where the cursor is in it.
//!
//! It is read from the tokens up to the cursor, since a half-typed declaration has no tree.

use std::ops::Range;

use ohmline_syntax::lexer::{Token, TokenKind, tokens};
use ohmline_syntax::tree::{StmtKind, Value};
use ohmline_syntax::words::{help, options_of};
use ohmline_syntax::{FileId, Tree};

use crate::occurrences::{Index, Scope};
use ohmline_analysis::Analysis;

/// A piece of the form.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Piece {
    /// Where it stands in the form, in bytes.
    pub at: Range<usize>,
    /// What it means.
    pub about: String,
}

/// The form of a declaration.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Signature {
    /// The form.
    pub form: String,
    /// What it declares.
    pub about: String,
    /// Its pieces.
    pub pieces: Vec<Piece>,
    /// The piece that the cursor is in.
    pub active: Option<usize>,
}

/// What a piece is for.
enum Slot {
    Names,
    Value,
    Option(String),
}

/// The form of the declaration that the cursor stands in, behind its kind word.
pub fn signature(analysis: &Analysis, index: &Index, offset: u32) -> Option<Signature> {
    let tree = &analysis.sources.files.first()?.tree;
    let before = tree.text.get(..offset as usize)?;
    let start = begin(before);
    let line = &before[start..];
    // Everything that is not trivia, up to the cursor. In a comment there is no declaration.
    let all = tokens(line);
    if all.last().is_some_and(|last| matches!(last.kind, TokenKind::Comment | TokenKind::Doc)) {
        return None;
    }
    let words: Vec<Token> = all.into_iter().filter(|token| !token.kind.is_trivia()).collect();
    let (kind, rest) = words.split_first()?;
    let behind = kind.end() as usize != line.len();
    if !behind || rest.first().is_some_and(|next| !next.kind.is_name()) {
        return None;
    }
    let kind_word = kind.text(line);
    let (mut made, slots) = if kind.kind == TokenKind::Kind {
        built_in(kind_word)?
    } else if kind.kind.is_name() {
        of_part(analysis, index, kind_word)?
    } else {
        return None;
    };
    made.active = active(line, rest, &slots);
    Some(made)
}

/// Where the statement begins that the end of a text stands in: the start of its line, or of one above that it goes on from.
fn begin(before: &str) -> usize {
    let line_start = |end: usize| before[..end].rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let mut start = line_start(before.len());
    loop {
        let goes_on = tokens(&before[start..]).iter().find(|token| token.kind != TokenKind::Blank).copied();
        if start == 0 || !goes_on.is_some_and(|token| token.kind.continues()) {
            return start;
        }
        let above = before[..start].strip_suffix('\n').unwrap_or(&before[..start]);
        let above = above.strip_suffix('\r').unwrap_or(above);
        if above.trim().is_empty() {
            return start;
        }
        start = line_start(above.len());
    }
}

/// Builds a form piece by piece.
struct Form {
    text: String,
    pieces: Vec<Piece>,
    slots: Vec<Slot>,
}

impl Form {
    fn push(&mut self, lead: &str, text: &str, about: &str, slot: Slot) {
        self.text.push_str(lead);
        let start = self.text.len();
        self.text.push_str(text);
        self.pieces.push(Piece { at: start..self.text.len(), about: about.to_owned() });
        self.slots.push(slot);
    }

    fn finish(self, about: String) -> (Signature, Vec<Slot>) {
        (Signature { form: self.text, about, pieces: self.pieces, active: None }, self.slots)
    }
}

fn built_in(word: &str) -> Option<(Signature, Vec<Slot>)> {
    let (form, about) = help(word)?.split_once('\n')?;
    let mut out = Form { text: word.to_owned(), pieces: Vec::new(), slots: Vec::new() };
    out.push(" ", "NAME, ...", "One name, or several with commas between: each becomes an element.", Slot::Names);
    // The value as the inventory of words has it: what stands behind the first `=`, up to the first option.
    if let Some((head, value)) = form.split_once("= ") {
        let value = value.split(", or ").next().unwrap_or(value);
        let value = value.split("[, ").next().unwrap_or(value).trim_end_matches(']');
        let optional = head.ends_with('[');
        let also = form.split_once(", or ").and_then(|(_, other)| other.split_once("= ")).map(|(_, other)| other);
        let text = match also {
            Some(also) => format!("{value} | {also}"),
            None => value.to_owned(),
        };
        let about = if optional { "Its resistance; ideal when left out." } else { "Its value." };
        out.push(" = ", &text, about, Slot::Value);
    }
    for option in options_of(word) {
        // `[, internal OHMS ohm]` in the form.
        let written = form.split("[, ").find(|piece| piece.split_whitespace().next() == Some(option.name));
        let written = written.map_or(option.name, |piece| piece.trim_end_matches(']'));
        out.push(", ", written, option.help, Slot::Option(option.name.to_owned()));
    }
    Some(out.finish(about.to_owned()))
}

fn written<'t>(tree: &'t Tree, stmt: &ohmline_syntax::tree::Stmt, value: &Value) -> &'t str {
    tree.slice(stmt.span(value.span))
}

fn of_part(analysis: &Analysis, index: &Index, word: &str) -> Option<(Signature, Vec<Slot>)> {
    let scope = index.part_seen(&analysis.sources, FileId::MAIN, word)?;
    let Scope { file, part: Some(head) } = scope else { return None };
    let tree = &analysis.sources.files.get(file.0 as usize)?.tree;
    let stmt = tree.stmts.get(head as usize)?;
    let StmtKind::Part { name, ports, parameters } = &stmt.node.kind else { return None };
    let mut out = Form { text: name.text.to_string(), pieces: Vec::new(), slots: Vec::new() };
    out.push(" ", "NAME, ...", "One name, or several with commas between: each becomes a copy.", Slot::Names);
    for parameter in parameters {
        let value = written(tree, stmt, &parameter.value);
        let text = format!("{} {value}", parameter.name.text);
        let about = format!("A parameter of the part; {value} if left out.");
        out.push(", ", &text, &about, Slot::Option(parameter.name.text.to_string()));
    }
    let ports: Vec<&str> = ports.iter().map(|port| port.text.as_str()).collect();
    let mut about = format!("Ports: {}", ports.join(", "));
    if let Some(doc) = tree.doc(stmt) {
        about = format!("{doc}\n\n{about}");
    }
    Some(out.finish(about))
}

/// The piece that the end of the line stands in; `rest` is what stands behind the kind word.
fn active(line: &str, rest: &[Token], slots: &[Slot]) -> Option<usize> {
    let option = |word: &str| slots.iter().position(|slot| matches!(slot, Slot::Option(name) if name == word));
    let find = |wanted: fn(&Slot) -> bool| slots.iter().position(wanted);
    let comma = rest.iter().rposition(|token| token.kind == TokenKind::Comma);
    let equals = rest.iter().position(|token| token.kind == TokenKind::Equals);
    let Some(comma) = comma else {
        return find(if equals.is_some() {
            |slot| matches!(slot, Slot::Value)
        } else {
            |slot| matches!(slot, Slot::Names)
        });
    };
    let segment = &rest[comma + 1..];
    if equals.is_some_and(|equals| equals > comma) {
        return find(|slot| matches!(slot, Slot::Value));
    }
    let given = |slot: usize| {
        let Slot::Option(name) = &slots[slot] else { return false };
        rest[..comma].windows(2).any(|pair| pair[0].kind == TokenKind::Comma && pair[1].text(line) == name)
    };
    match segment.first() {
        Some(word) if option(word.text(line)).is_some() => option(word.text(line)),
        // A word that begins like an option.
        Some(word) if segment.len() == 1 && word.kind.is_word() && (equals.is_some() || rest.len() > 2) => {
            let begun = |slot: &Slot| matches!(slot, Slot::Option(name) if name.starts_with(word.text(line)));
            let names = equals.is_none().then(|| find(|slot| matches!(slot, Slot::Names))).flatten();
            slots.iter().position(begun).or(names)
        }
        None if equals.is_some() => {
            (0..slots.len()).find(|slot| matches!(slots[*slot], Slot::Option(_)) && !given(*slot))
        }
        _ if equals.is_none() => find(|slot| matches!(slot, Slot::Names)),
        _ => None,
    }
}
