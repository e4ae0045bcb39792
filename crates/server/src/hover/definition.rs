//! What a `let`, the head of a part, an `include` or a word of the notation brings in.

use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::{FileId, FileSpan};

use super::values::{comes_to, list};
use super::{Part, Teller};

impl Teller<'_> {
    /// A `let` or the head of a part, in whatever file.
    pub(super) fn definition(&self, file: FileId, index: usize) -> Vec<Part> {
        let Some(source) = self.analysis.sources.files.get(file.0 as usize) else { return Vec::new() };
        let Some(stmt) = source.tree.stmts.get(index) else { return Vec::new() };
        let (name, is) = match &stmt.node.kind {
            StmtKind::Let { name, .. } => (name, "value"),
            StmtKind::Part { name, .. } => (name, "part"),
            _ => return Vec::new(),
        };
        let from = if file == FileId::MAIN { String::new() } else { format!(", from {}", source.name) };
        let mut parts = vec![Part::Title { name: name.text.to_string(), is: format!("{is}{from}") }];
        parts.extend(self.head(file, index));
        let at = FileSpan::new(file, stmt.span(name.span));
        let value = self.circuit.values.iter().find(|(place, _)| *place == at);
        parts.extend(value.map(|(_, measure)| Part::Text(format!("It comes to {}.", comes_to(measure)))));
        parts
    }

    /// A statement as written, and the comment above it.
    pub(super) fn head(&self, file: FileId, index: usize) -> Vec<Part> {
        let stmt = self.analysis.sources.files.get(file.0 as usize).and_then(|source| source.tree.stmts.get(index));
        stmt.map(|stmt| self.source(FileSpan::new(file, stmt.range()))).unwrap_or_default()
    }

    /// What an included file brings in.
    pub(super) fn include(&self, index: usize) -> Vec<Part> {
        let Some(main) = self.analysis.sources.files.first() else { return Vec::new() };
        let found = main.includes.iter().find(|(stmt, _)| *stmt as usize == index);
        let Some((_, Ok(file))) = found else { return Vec::new() };
        let Some(source) = self.analysis.sources.files.get(file.0 as usize) else { return Vec::new() };
        let mut parts = vec![Part::Title { name: source.name.clone(), is: "included file".to_owned() }];
        let mut names = |what: &str, wanted: fn(&StmtKind) -> Option<&str>| {
            let names: Vec<_> = source.tree.stmts.iter().filter_map(|stmt| wanted(&stmt.node.kind)).collect();
            if !names.is_empty() {
                let names: Vec<_> = names.into_iter().map(str::to_owned).collect();
                parts.push(Part::Text(format!("{what} {}.", list(&names))));
            }
        };
        names("Parts:", |kind| match kind {
            StmtKind::Part { name, .. } => Some(name.text.as_str()),
            _ => None,
        });
        names("Values:", |kind| match kind {
            StmtKind::Let { name, .. } => Some(name.text.as_str()),
            _ => None,
        });
        parts
    }

    /// The grammar of a word of the notation.
    pub(super) fn keyword(&self, word: &str) -> Option<Vec<Part>> {
        let help = ohmline_syntax::words::help(word)?;
        let (form, meaning) = help.split_once('\n').unwrap_or((help, ""));
        let mut parts = vec![Part::Source(form.to_owned())];
        if !meaning.is_empty() {
            parts.push(Part::Text(meaning.to_owned()));
        }
        Some(parts)
    }
}
