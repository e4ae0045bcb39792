//! `let`s and parts of every file, and what `include` brings in: both, transitively, and nothing else.

use ohmline_syntax::tree::{StmtKind, Tree};
use ohmline_syntax::{FileId, FileSpan};
use smol_str::SmolStr;

use super::report::diagnostic;
use super::scope::{PartDef, ScopeId, Symbol};
use super::{Builder, KindWord, rules};
use crate::sources::IncludeError;

impl<'a> Builder<'a> {
    /// Registers everything that files define and bring in.
    pub(super) fn import(&mut self) {
        let count = self.sources.files.len() as u32;
        for file in 0..count {
            self.define_in_file(FileId(file));
        }
        // Included files first, so that what they bring in is complete. An explicit stack: a chain may be long.
        let mut state = vec![0u8; count as usize];
        let mut stack = vec![FileId::MAIN];
        while let Some(&file) = stack.last() {
            let index = file.0 as usize;
            if state[index] == 0 {
                state[index] = 1;
                let targets = self.sources.files[index].includes.iter().filter_map(|(_, target)| target.clone().ok());
                stack.extend(targets.filter(|target| state.get(target.0 as usize) == Some(&0)));
                continue;
            }
            stack.pop();
            if state[index] == 1 {
                state[index] = 2;
                self.bring_in(file);
            }
        }
    }

    fn define_in_file(&mut self, file: FileId) {
        let tree: &'a Tree = &self.sources.files[file.0 as usize].tree;
        let scope = ScopeId(file.0);
        let mut lets = Vec::new();
        let mut index = 0;
        while let Some(stmt) = tree.stmts.get(index as usize) {
            let head = index;
            index += 1;
            let block = match stmt.node.kind {
                StmtKind::Part { .. } | StmtKind::Repeat { .. } | StmtKind::Error => Self::block_at(tree, head),
                _ => None,
            };
            if let Some(block) = block {
                index = (block.close + u32::from(block.closed)).max(index);
            }
            match &stmt.node.kind {
                StmtKind::Let { .. } => lets.push(head),
                StmtKind::Part { name, ports, parameters } => {
                    let body = block.map_or(index..index, |block| head + 1..block.close);
                    let is_let = |at: &u32| {
                        tree.stmts.get(*at as usize).is_some_and(|stmt| matches!(stmt.node.kind, StmtKind::Let { .. }))
                    };
                    let lets = body.clone().filter(is_let).collect();
                    let def = PartDef { name, ports, parameters, file, offset: stmt.offset, body, lets };
                    self.define_part(def);
                }
                StmtKind::Error => self.note_broken_part(tree.slice(stmt.range()), file, stmt.range()),
                _ => {}
            }
        }
        self.define_lets(&lets, file, scope);
    }

    fn define_part(&mut self, def: PartDef<'a>) {
        let at = FileSpan::new(def.file, def.name.span.at(def.offset));
        let name = def.name.text.clone();
        if KindWord::of(&name).is_some()
            || ohmline_syntax::words::STATEMENTS.contains(&name.as_str())
            || ohmline_syntax::words::QUANTITIES.contains(&name.as_str())
        {
            let message = format!("`{name}` is a word of the notation, so it cannot name a part");
            self.report.add(diagnostic(rules::RESERVED_NAME, at, message).help("Choose another name"));
            return;
        }
        let id = self.parts.len() as u32;
        match self.part_names.entry((def.file, name)) {
            std::collections::hash_map::Entry::Vacant(entry) => {
                entry.insert((Some(id), at));
                self.parts.push(def);
            }
            std::collections::hash_map::Entry::Occupied(entry) => {
                let message = format!("The part `{}` is defined a second time", entry.key().1);
                let found = diagnostic(rules::DUPLICATE_NAME, at, message)
                    .here("defined again here")
                    .label(entry.get().1, "first defined here")
                    .help("Give one of them another name");
                self.report.add(found);
            }
        }
    }

    /// Keeps the name of a part whose head could not be read.
    fn note_broken_part(&mut self, text: &str, file: FileId, range: ohmline_syntax::Span) {
        let mut words = text.split_whitespace();
        if words.next() != Some("part") {
            return;
        }
        let Some(rest) = words.next() else { return };
        let length = rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len());
        if length > 0 {
            let at = FileSpan::new(file, range);
            self.part_names.entry((file, SmolStr::new(&rest[..length]))).or_insert((None, at));
        }
    }

    fn bring_in(&mut self, file: FileId) {
        let source = &self.sources.files[file.0 as usize];
        for (stmt, target) in &source.includes {
            let Some(stmt) = source.tree.stmts.get(*stmt as usize) else { continue };
            let StmtKind::Include(text) = &stmt.node.kind else { continue };
            let at = FileSpan::new(file, stmt.span(text.span));
            match target {
                Ok(target) if target.0 as usize >= self.sources.files.len() => {}
                Ok(target) => {
                    if self.incomplete.contains(target) {
                        self.incomplete.insert(file);
                    }
                    self.merge(file, *target, at);
                }
                Err(error) => {
                    self.incomplete.insert(file);
                    self.report_include(error, &text.text, at);
                }
            }
        }
    }

    fn merge(&mut self, into: FileId, from: FileId, at: FileSpan) {
        if into == from {
            return;
        }
        let scope = ScopeId(into.0);
        let mut lets: Vec<(FileSpan, SmolStr, Symbol)> = self
            .names
            .iter()
            .filter(|((of, _), symbol)| of.0 == from.0 && matches!(symbol, Symbol::Cell(_)))
            .filter_map(|((_, name), symbol)| Some((self.place_of(*symbol)?, name.clone(), *symbol)))
            .collect();
        lets.sort_by_key(|(at, ..)| *at);
        for (defined, name, symbol) in lets {
            let known = *self.names.entry((scope, name.clone())).or_insert(symbol);
            if known != symbol
                && let Some(first) = self.place_of(known)
            {
                self.report_conflict(&name, first, defined, at);
            }
        }
        let mut parts: Vec<(SmolStr, Option<u32>, FileSpan)> = self
            .part_names
            .iter()
            .filter(|((of, _), _)| *of == from)
            .map(|((_, name), (part, at))| (name.clone(), *part, *at))
            .collect();
        parts.sort_by_key(|(_, _, at)| *at);
        for (name, part, defined) in parts {
            match self.part_names.entry((into, name)) {
                std::collections::hash_map::Entry::Vacant(entry) => {
                    entry.insert((part, defined));
                }
                std::collections::hash_map::Entry::Occupied(entry) => {
                    if entry.get().1 != defined {
                        let (name, first) = (entry.key().1.clone(), entry.get().1);
                        self.report_conflict(&name, first, defined, at);
                    }
                }
            }
        }
    }

    fn report_conflict(&mut self, name: &str, first: FileSpan, second: FileSpan, at: FileSpan) {
        let found = diagnostic(
            rules::CONFLICTING_INCLUDE,
            at,
            format!("This brings in `{name}`, which is defined differently already"),
        )
        .label(first, "the definition that holds")
        .label(second, "the one brought in")
        .help("Rename one of them");
        self.report.add(found);
    }

    fn report_include(&mut self, error: &IncludeError, name: &str, at: FileSpan) {
        self.report.add(match error {
            IncludeError::Unreadable(why) => {
                diagnostic(rules::UNREADABLE_INCLUDE, at, format!("`{name}` cannot be read: {why}"))
                    .help("The path is relative to the file that includes it")
            }
            IncludeError::Cycle(names) => {
                diagnostic(rules::CIRCULAR_INCLUDE, at, format!("`{name}` leads back to a file that includes it"))
                    .note(format!("The way around: {}", names.join(", then ")))
                    .help("Move what both files need into a third")
            }
            IncludeError::Outside => {
                diagnostic(rules::OUTSIDE_INCLUDE, at, format!("`{name}` lies outside of the workspace")).help(
                    "Put it below the folder of the including file, or put an `ohmline.toml` into the folder that holds both",
                )
            }
            IncludeError::NoFolder => {
                diagnostic(rules::UNREADABLE_INCLUDE, at, format!("`{name}` cannot be found: this text is in no folder"))
                    .help("Save the text as a file first")
            }
        });
    }
}
