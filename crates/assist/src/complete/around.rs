//! What stands around the place: the blocks that are open, what follows on the line, names to fill in.

use ohmline_circuit::{Element, ElementId};
use ohmline_syntax::FileId;
use ohmline_syntax::lexer::TokenKind;
use ohmline_syntax::tree::{Stmt, StmtKind};

use super::Line;
use crate::occurrences::{Scope, SymbolKind};

impl<'a> Line<'a> {
    /// The text behind the word, up to the end of the line or a comment.
    pub(super) fn behind(&self) -> &'a str {
        let rest = self.text.get(self.word.end as usize..).unwrap_or("");
        rest.split(['\n', '\r', '#']).next().unwrap_or("")
    }

    /// Whether a sign touches the word from behind: `B1<|>-`.
    pub(super) fn sign_behind(&self) -> bool {
        let behind = self.behind();
        behind.starts_with(['+', '-', '\u{2212}']) && !behind.starts_with("--")
    }

    /// The word behind a dot that touches the word: `D` of `West<|>.D`.
    pub(super) fn field_behind(&self) -> Option<&'a str> {
        let rest = self.behind().strip_prefix('.')?;
        Some(rest.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap_or(""))
    }

    /// Whether the path goes on behind the word, or on the next line.
    pub(super) fn path_goes_on(&self) -> bool {
        if !self.behind().trim().is_empty() {
            return true;
        }
        let below =
            self.text.get(self.word.end as usize..).unwrap_or("").split_once('\n').map_or("", |(_, below)| below);
        let below = below.trim_start_matches([' ', '\t']);
        below.starts_with("--") || below.starts_with(['|', ')'])
    }

    /// Whether the place is within the brackets of a group.
    pub(super) fn in_group(&self) -> bool {
        let depth = self.before.iter().fold(0i32, |depth, token| match token.kind {
            TokenKind::Open => depth + 1,
            TokenKind::Close => depth - 1,
            _ => depth,
        });
        depth > 0
    }

    /// The heads of the blocks around, outermost first.
    pub(super) fn blocks(&self) -> impl Iterator<Item = &'a Stmt> + use<'a> {
        let tree = &self.analysis.sources.file(FileId::MAIN).tree;
        let at = self.before.first().map_or(self.word.start, |first| first.start);
        tree.blocks.iter().filter_map(move |block| {
            let head = tree.stmts.get(block.head as usize).filter(|head| head.offset < at)?;
            tree.stmts.get(block.close as usize).is_none_or(|close| close.offset >= at).then_some(head)
        })
    }

    /// The counting name of the innermost `repeat` around.
    pub(super) fn counter(&self) -> Option<&'a str> {
        let names = self.blocks().filter_map(|head| match &head.node.kind {
            StmtKind::Repeat { variable, .. } => Some(variable.text.as_str()),
            _ => None,
        });
        names.last()
    }

    pub(super) fn has_cases(&self) -> bool {
        self.analysis.circuit.states.len() > 1
    }

    /// The elements of the whole circuit, copies of parts and repeats included, that have names here.
    pub(super) fn circuit_elements(&self) -> impl Iterator<Item = (ElementId, &'a Element)> + use<'a> {
        let circuit = &self.analysis.circuit;
        circuit.declared_ids().map(move |id| (id, circuit.element(id)))
    }

    /// The first element of some kind, to fill in a form.
    pub(super) fn some_element(&self, fits: impl Fn(&Element) -> bool) -> Option<&'a str> {
        let of = |placed: bool| {
            let mut own = self.circuit_elements().filter(move |(_, own)| own.is_placed() == placed);
            own.find(|(_, own)| fits(own)).map(|(_, own)| own.name.as_str())
        };
        of(true).or_else(|| of(false))
    }

    /// The first two points that have names, to fill in a form.
    pub(super) fn some_points(&self) -> Vec<String> {
        let main = Scope { file: FileId::MAIN, part: None };
        let is_point = |own: &&crate::Symbol| {
            own.kind == SymbolKind::Junction
                && own.scope == main
                && self.analysis.circuit.junction_names.contains_key(own.name.as_str())
        };
        let mut found: Vec<String> =
            self.index.symbols.iter().filter(is_point).take(2).map(|own| format!("@{}", own.name)).collect();
        if found.len() < 2 {
            let polar = self.circuit_elements().filter(|(_, own)| own.kind.is_polar() && own.is_placed());
            found.extend(polar.flat_map(|(_, own)| [format!("{}+", own.name), format!("{}-", own.name)]).take(2));
        }
        found
    }
}
