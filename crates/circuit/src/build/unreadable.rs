//! What a statement that could not be read still tells: the names in it. They are taken as known, so that one unreadable
//! declaration does not become an unknown name at every use.

use std::ops::Range;

use ohmline_syntax::FileId;
use ohmline_syntax::tree::{Item, ItemKind, Name, Segment, StmtKind, Tree};
use ohmline_syntax::words::{QUANTITIES, STATEMENTS};
use smol_str::SmolStr;

use super::kinds::KindWord;
use super::scope::{EnvId, ScopeId};
use super::{Builder, Site};

/// A word or junction in the text of a statement.
enum Mention<'t> {
    Word(&'t str),
    Junction(&'t str),
    Other,
}

/// Splits a text into words and junctions, comments and quoted texts left out.
fn mentions(text: &str) -> Vec<Mention<'_>> {
    let mut found = Vec::new();
    let mut rest = text;
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    while let Some(first) = rest.chars().next() {
        let taken = if first == '#' {
            rest.find('\n').unwrap_or(rest.len())
        } else if first == '"' {
            rest[1..].find(['"', '\n']).map_or(rest.len(), |at| at + 2)
        } else if first == '@' {
            let length = 1 + rest[1..].find(|c: char| !is_word(c) && c != '.').unwrap_or(rest.len() - 1);
            found.push(Mention::Junction(&rest[1..length]));
            length
        } else if is_word(first) {
            let length = rest.find(|c: char| !is_word(c)).unwrap_or(rest.len());
            if !first.is_ascii_digit() {
                found.push(Mention::Word(&rest[..length]));
            }
            length
        } else {
            if !first.is_whitespace() {
                found.push(Mention::Other);
            }
            first.len_utf8()
        };
        rest = &rest[taken..];
    }
    found
}

impl<'a> Builder<'a> {
    /// Takes up the names in the unreadable statements of a file.
    pub(super) fn note_unreadable(&mut self, file: FileId, scope: ScopeId) {
        let tree: &'a Tree = &self.sources.files[file.0 as usize].tree;
        for (index, stmt) in tree.stmts.iter().enumerate() {
            if stmt.node.kind != StmtKind::Error {
                continue;
            }
            let text = tree.slice(stmt.range());
            self.note_text(text, file, scope);
            if file == FileId::MAIN {
                self.note_torn(text, index as u32);
            }
            if let Some(block) = Self::block_at(tree, index as u32) {
                let site = Site { file, offset: stmt.offset, scope, env: EnvId::NONE };
                self.note_names(index as u32 + 1..block.close, site);
            }
        }
    }

    /// A path that was torn apart at the end of a line: `B1+ -- R1 --` above `R2 -- B1-`, or `-- R2` below a comment.
    fn note_torn(&mut self, text: &str, index: u32) {
        if text.ends_with("--") {
            self.torn.entry(index + 1).or_default().0 = true;
        }
        if text.starts_with("--")
            && let Some(above) = index.checked_sub(1)
        {
            self.torn.entry(above).or_default().1 = true;
        }
    }

    fn note_text(&mut self, text: &str, file: FileId, scope: ScopeId) {
        let found = mentions(text);
        let first = match found.first() {
            Some(Mention::Word(word)) => *word,
            _ => "",
        };
        let declares = KindWord::of(first).is_some()
            || first == "part"
            || first == "let"
            || self.part_names.contains_key(&(file, SmolStr::new(first)));
        if declares && let Some(Mention::Word(name)) = found.get(1) {
            self.broken_kinds.insert((scope, SmolStr::new(*name)), KindWord::of(first));
        }
        for mention in found {
            match mention {
                Mention::Word(word)
                    if KindWord::of(word).is_none() && !STATEMENTS.contains(&word) && !QUANTITIES.contains(&word) =>
                {
                    self.mentioned.insert(SmolStr::new(word));
                }
                Mention::Junction(name) => {
                    self.mentioned_junctions.insert(SmolStr::new(name));
                }
                _ => {}
            }
        }
    }

    /// Takes up the names in statements that are left out as a whole, such as the body of a repeat without bounds.
    pub(super) fn note_names(&mut self, body: Range<u32>, site: Site) {
        let tree: &'a Tree = &self.sources.files[site.file.0 as usize].tree;
        let end = body.end.min(tree.stmts.len() as u32);
        for stmt in tree.stmts.get(body.start as usize..end as usize).unwrap_or_default() {
            match &stmt.node.kind {
                StmtKind::Declare(declare) => {
                    for name in &declare.names {
                        self.note_name(name);
                    }
                }
                StmtKind::Path(segment) => self.note_segment(segment),
                _ => {}
            }
        }
    }

    /// A name with holes stands for any name with the same beginning; that cannot be kept, so its bare beginning is.
    fn note_name(&mut self, name: &Name) {
        match name.text.find('{') {
            Some(at) => {
                self.mentioned_prefixes.push(SmolStr::new(&name.text[..at]));
            }
            None => {
                self.mentioned.insert(name.text.clone());
            }
        }
    }

    fn note_segment(&mut self, segment: &Segment) {
        let mut todo: Vec<&Item> = segment.items.iter().collect();
        while let Some(item) = todo.pop() {
            match &item.kind {
                ItemKind::Junction(name) => match name.text.find('{') {
                    Some(at) => self.mentioned_junction_prefixes.push(SmolStr::new(&name.text[..at])),
                    None => {
                        self.mentioned_junctions.insert(name.text.clone());
                    }
                },
                ItemKind::Element { target, .. } => {
                    if let Some(first) = target.parts.first() {
                        self.note_name(first);
                    }
                }
                ItemKind::Group(segments) => todo.extend(segments.iter().flat_map(|segment| &segment.items)),
            }
        }
    }

    /// Whether a statement that was left out or could not be read mentions this name.
    pub(super) fn is_mentioned(&self, name: &str) -> bool {
        self.mentioned.contains(name) || is_numbered(name, &self.mentioned_prefixes)
    }

    /// The same of a junction.
    pub(super) fn is_mentioned_junction(&self, name: &str) -> bool {
        self.mentioned_junctions.contains(name) || is_numbered(name, &self.mentioned_junction_prefixes)
    }
}

/// Whether a name is one of some beginnings and a number.
fn is_numbered(name: &str, prefixes: &[SmolStr]) -> bool {
    prefixes.iter().any(|prefix| {
        name.strip_prefix(prefix.as_str()).is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
    })
}
