//! The same circuit written otherwise: with other names, its statements in another order, a wire led to another place of the same node.

use std::collections::BTreeSet;

use ohmline_syntax::Tree;
use ohmline_syntax::lexer::{TokenKind, tokens};
use ohmline_syntax::tree::{ItemKind, Segment, StmtKind};

/// A text made from another, and where its pieces went.
pub struct Variant {
    /// The new text.
    pub text: String,
    /// The place in the old text that has been written anew.
    pub changed: Option<(u32, u32)>,
    /// Pieces that have a counterpart: start and end in the old text, start and end in the new.
    pieces: Vec<(u32, u32, u32, u32)>,
}

impl Variant {
    fn new() -> Self {
        Self { text: String::new(), changed: None, pieces: Vec::new() }
    }

    fn push(&mut self, old: usize, old_len: usize, new: &str) {
        let start = self.text.len() as u32;
        self.text += new;
        self.pieces.push((old as u32, (old + old_len) as u32, start, self.text.len() as u32));
    }

    /// Where a place of the old text is in the new one; `None` when it began or ended within a piece.
    pub fn map(&self, (start, end): (u32, u32)) -> Option<(u32, u32)> {
        // Within a comment that stays as it is.
        let whole = |piece: &&(u32, u32, u32, u32)| {
            piece.0 <= start
                && end <= piece.1
                && (piece.0, piece.1) != (start, end)
                && piece.1 - piece.0 == piece.3 - piece.2
        };
        if let Some(piece) = self.pieces.iter().find(whole).filter(|_| start < end) {
            return Some((piece.2 + start - piece.0, piece.2 + end - piece.0));
        }
        let from = self.pieces.iter().find(|piece| piece.0 == start);
        if start == end {
            let before = self.pieces.iter().find(|piece| piece.1 == start).map(|piece| piece.3);
            let at = from.map(|piece| piece.2).or(before)?;
            return Some((at, at));
        }
        let to = self.pieces.iter().find(|piece| piece.1 == end)?;
        Some((from?.2, to.3))
    }
}

/// How names change.
pub struct Names {
    elements: BTreeSet<String>,
    /// What stands before the brace in `R{k}`.
    stems: BTreeSet<String>,
    ports: BTreeSet<String>,
}

impl Names {
    /// Everything that a text declares.
    pub fn of(tree: &Tree) -> Self {
        let mut names = Self { elements: BTreeSet::new(), stems: BTreeSet::new(), ports: BTreeSet::new() };
        let mut add = |name: &str| match name.split_once('{') {
            Some((stem, _)) => drop(names.stems.insert(stem.to_owned())),
            None => drop(names.elements.insert(name.to_owned())),
        };
        // Also what is named and not declared.
        let words = tokens(&tree.text);
        let words: Vec<_> = words.iter().filter(|token| !token.kind.is_trivia()).collect();
        for pair in words.windows(2) {
            let named = [TokenKind::Through, TokenKind::Across, TokenKind::Of, TokenKind::Colon, TokenKind::Wire];
            if named.contains(&pair[0].kind) && pair[1].kind == TokenKind::Name {
                add(pair[1].text(&tree.text));
            }
        }
        for stmt in &tree.stmts {
            match &stmt.node.kind {
                StmtKind::Declare(declare) => declare.names.iter().for_each(|name| add(&name.text)),
                StmtKind::Let { name, .. } => add(&name.text),
                _ => {}
            }
        }
        for stmt in &tree.stmts {
            if let StmtKind::Part { ports, .. } = &stmt.node.kind {
                names.ports.extend(ports.iter().map(|port| port.text.to_string()));
            }
        }
        names
    }

    /// `R1` becomes `Rq1`: the letter that tells the kind, the number and the likeness of names stay.
    fn word(&self, word: &str) -> String {
        let numbered = self.stems.iter().any(|stem| {
            word.strip_prefix(stem.as_str()).is_some_and(|rest| {
                rest.starts_with('{') || !rest.is_empty() && rest.chars().all(|c| c.is_ascii_digit())
            })
        });
        if !numbered && !self.elements.contains(word) {
            return word.to_owned();
        }
        let mut letters = word.chars();
        letters.next().into_iter().chain(['q']).chain(letters).collect()
    }

    /// `@fork` becomes `@gpsl`: each letter is the next one of the alphabet, so the length and the likeness of names stay.
    fn junction(&self, name: &str) -> String {
        if self.ports.contains(name) {
            return name.to_owned();
        }
        let mut hole = false;
        let next = |c: char| {
            hole = c == '{' || hole && c != '}';
            match c {
                _ if hole => c,
                'z' => 'a',
                'Z' => 'A',
                'a'..='y' | 'A'..='Y' => (c as u8 + 1) as char,
                _ => c,
            }
        };
        name.chars().map(next).collect()
    }

    /// `Left.mid`: names of elements before the last dot; `last` changes the rest.
    fn dotted(&self, path: &str, last: impl Fn(&str) -> String) -> String {
        match path.rsplit_once('.') {
            Some((before, name)) => {
                let before: Vec<String> = before.split('.').map(|part| self.word(part)).collect();
                format!("{}.{}", before.join("."), last(name))
            }
            None => last(path),
        }
    }

    /// A sentence about the circuit, with the new names.
    pub fn sentence(&self, text: &str) -> String {
        let mut out = String::new();
        let mut rest = text;
        while let Some(start) = rest.find(|c: char| c.is_alphabetic() || c == '@') {
            let (before, from) = rest.split_at(start);
            out += before;
            let first = from.chars().next().map_or(0, char::len_utf8);
            let more = |c: char| !(c.is_alphanumeric() || matches!(c, '_' | '{' | '}'));
            let end = from[first..].find(more).map_or(from.len(), |end| end + first);
            let word = &from[..end];
            let after_dot = out.ends_with('.') && out.trim_end_matches('.').ends_with(char::is_alphanumeric);
            // `@Left.mid`: the last name is a junction, which only the words around it tell.
            let junction = out.rsplit(' ').next().is_some_and(|last| last.contains('@') && last.ends_with('.'));
            match word.strip_prefix('@') {
                Some(name) if from[end..].starts_with('.') && from[end + 1..].starts_with(char::is_alphanumeric) => {
                    out += &format!("@{}", self.word(name));
                }
                Some(name) => out += &format!("@{}", self.junction(name)),
                None if after_dot && junction => out += &self.junction(word),
                None => out += &self.word(word),
            }
            rest = &from[end..];
        }
        out + rest
    }
}

/// Every element, value and junction under another name.
pub fn renamed(text: &str, names: &Names) -> Variant {
    let mut variant = Variant::new();
    for token in tokens(text) {
        let word = token.text(text);
        let new = match token.kind {
            TokenKind::Junction => format!("@{}", names.dotted(&word[1..], |name| names.junction(name))),
            kind if kind.is_name() => names.word(word),
            _ => word.to_owned(),
        };
        variant.push(token.start as usize, word.len(), &new);
    }
    assert_ne!(variant.text, text, "nothing has a name");
    variant
}

/// Questions first, then cases, paths, and declarations last; each kind in its old order. `None` where the order means something: in text
/// that cannot be read, or in which a comment speaks of the lines around it.
pub fn reordered(text: &str) -> Option<Variant> {
    let tree = ohmline_syntax::parse(text);
    if tree.stmts.iter().any(|stmt| stmt.node.kind == StmtKind::Error) || tree.blocks.iter().any(|block| !block.closed)
    {
        return None;
    }
    // Each chunk: its rank, and the lines from its first statement to its end.
    let mut chunks: Vec<(u8, usize, usize)> = Vec::new();
    let mut index = 0;
    let mut from = 0;
    while let Some(stmt) = tree.stmts.get(index) {
        let mut last = index;
        if let Some(block) = tree.blocks.iter().find(|block| block.head as usize == index) {
            last = block.close as usize;
        }
        let end = tree.stmts[last].range().end as usize;
        let end = text[end..].find('\n').map_or(text.len(), |at| end + at + 1);
        let rank = match &stmt.node.kind {
            StmtKind::Circuit(_) | StmtKind::Include(_) => 0,
            StmtKind::Find { .. }
            | StmtKind::Given { .. }
            | StmtKind::Measured { .. }
            | StmtKind::ClaimQuantity { .. }
            | StmtKind::ClaimRelation { .. }
            | StmtKind::Reference(_) => 1,
            StmtKind::Case { .. } => 2,
            StmtKind::Path(_) => 3,
            _ => 4,
        };
        chunks.push((rank, from, end));
        from = end;
        index = last + 1;
    }
    let before: Vec<usize> = chunks.iter().map(|chunk| chunk.1).collect();
    chunks.sort_by_key(|chunk| chunk.0);
    if chunks.iter().map(|chunk| chunk.1).eq(before) {
        return None;
    }
    let mut variant = Variant::new();
    let all = tokens(text);
    for (_, from, end) in chunks {
        for token in all.iter().filter(|token| (from..end).contains(&(token.start as usize))) {
            variant.push(token.start as usize, token.len as usize, token.text(text));
        }
    }
    Some(variant)
}

/// For each end of a path that other paths share: that wire led to a new point, which a plain wire joins to the old one.
pub fn moved(text: &str) -> Vec<Variant> {
    let tree = ohmline_syntax::parse(text);
    let inside =
        |index: usize| tree.blocks.iter().any(|block| (block.head as usize..=block.close as usize).contains(&index));
    let mut ends: Vec<(u32, u32)> = Vec::new();
    for (index, stmt) in tree.stmts.iter().enumerate() {
        if let StmtKind::Path(path) = &stmt.node.kind
            && !inside(index)
        {
            ends.extend(joints(path).map(|item| {
                let span = stmt.span(item);
                (span.start, span.end)
            }));
        }
    }
    let word = |(start, end): (u32, u32)| &text[start as usize..end as usize];
    let shared = |end: &&(u32, u32)| ends.iter().filter(|other| word(**other) == word(**end)).count() > 1;
    let all = tokens(text);
    ends.iter()
        .filter(shared)
        .map(|end| {
            let mut variant = Variant { changed: Some(*end), ..Variant::new() };
            for token in all.iter().filter(|token| token.start < end.0 || token.start >= end.1) {
                if token.start == end.1 {
                    variant.push(end.0 as usize, (end.1 - end.0) as usize, "@spur_of_it");
                }
                variant.push(token.start as usize, token.len as usize, token.text(text));
            }
            variant.text += &format!("@spur_of_it -- {}\n", word(*end));
            variant
        })
        .collect()
}

/// The junctions of a path, and the terminals at its ends.
fn joints(path: &Segment) -> impl Iterator<Item = ohmline_syntax::RelSpan> {
    let last = path.items.len() - 1;
    path.items.iter().enumerate().filter_map(move |(at, item)| {
        let end = at == 0 || at == last;
        match &item.kind {
            ItemKind::Junction(_) => Some(item.span),
            ItemKind::Element { before: None, after: Some(_), .. } if end => Some(item.span),
            _ => None,
        }
    })
}
