//! What names mean, and where.

use ohmline_syntax::tree::{Name, OptionItem, Ref};
use ohmline_syntax::{FileId, FileSpan};
use smol_str::{SmolStr, SmolStrBuilder};

use super::report::diagnostic;
use super::{Builder, Site, rules};
use crate::model::ElementId;

/// A scope: a file, or one copy of a part. Files come first, so the scope of a file has the file's number.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(super) struct ScopeId(pub(super) u32);

/// Counting names of the `repeat`s around; 0 is none.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(super) struct EnvId(pub(super) u32);

impl EnvId {
    /// Outside of any `repeat`.
    pub(super) const NONE: EnvId = EnvId(0);
}

/// One counting name and its value, and those around it.
#[derive(Clone, Default, Debug)]
pub(super) struct Env {
    pub(super) parent: u32,
    pub(super) variable: SmolStr,
    pub(super) value: i64,
}

/// A scope.
#[derive(Clone, Debug)]
pub(super) struct Scope {
    /// The file whose lets and parts are seen.
    pub(super) file: FileId,
    /// `Left.` before the names of what is declared here; empty in a file.
    pub(super) prefix: SmolStr,
    /// Whether it is one of several copies.
    pub(super) copied: bool,
}

impl Scope {
    pub(super) fn file(file: FileId) -> Self {
        Self { file, prefix: SmolStr::default(), copied: false }
    }
}

/// What a name stands for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Symbol {
    Element(ElementId),
    /// A `let` or a parameter.
    Cell(u32),
    /// A copy of a part.
    Instance(u32),
    /// A port of the part around: its point.
    Port(u32),
    /// Its declaration could not be read, which has been reported.
    Broken,
}

/// A part, as defined.
pub(super) struct PartDef<'a> {
    pub(super) name: &'a Name,
    pub(super) ports: &'a [Name],
    pub(super) parameters: &'a [OptionItem],
    pub(super) file: FileId,
    /// Offset of its head.
    pub(super) offset: u32,
    /// Its statements.
    pub(super) body: std::ops::Range<u32>,
    /// The `let` statements directly in it.
    pub(super) lets: Vec<u32>,
}

/// A copy of a part.
pub(super) struct Instance {
    pub(super) part: u32,
    pub(super) scope: ScopeId,
    /// The points of its ports.
    pub(super) ports: std::ops::Range<u32>,
    pub(super) name: SmolStr,
    pub(super) declared: FileSpan,
    /// The elements inside.
    pub(super) elements: std::ops::Range<u32>,
    /// The scopes inside, its own included.
    pub(super) scopes: std::ops::Range<u32>,
    pub(super) passed: Option<FileSpan>,
    pub(super) used: bool,
}

impl<'a> Builder<'a> {
    pub(super) fn scope(&self, id: ScopeId) -> &Scope {
        &self.scopes[id.0 as usize]
    }

    /// The full name of something declared in a scope.
    pub(super) fn full_name(&self, scope: ScopeId, name: &SmolStr) -> SmolStr {
        let prefix = &self.scope(scope).prefix;
        if prefix.is_empty() {
            return name.clone();
        }
        let mut full = SmolStrBuilder::new();
        full.push_str(prefix);
        full.push_str(name);
        full.finish()
    }

    /// What a name stands for in a scope; from inside a part the file's `let`s are seen as well.
    pub(super) fn lookup(&self, scope: ScopeId, name: &SmolStr) -> Option<Symbol> {
        if let Some(symbol) = self.names.get(&(scope, name.clone())) {
            return Some(*symbol);
        }
        let file = ScopeId(self.scope(scope).file.0);
        if file == scope {
            return None;
        }
        match self.names.get(&(file, name.clone())) {
            Some(symbol @ (Symbol::Cell(_) | Symbol::Broken)) => Some(*symbol),
            _ => None,
        }
    }

    /// Defines a name; reports it and keeps the earlier one if there is one.
    pub(super) fn define(&mut self, scope: ScopeId, name: SmolStr, symbol: Symbol, at: FileSpan) -> bool {
        match self.names.entry((scope, name)) {
            std::collections::hash_map::Entry::Vacant(entry) => {
                entry.insert(symbol);
                true
            }
            std::collections::hash_map::Entry::Occupied(entry) => {
                let (key, known) = (entry.key().clone(), *entry.get());
                let first = self.place_of(known);
                // Values are registered before elements; of two things with one name the first in the text holds.
                let before =
                    matches!(known, Symbol::Cell(_)) && first.is_some_and(|first| first.file == at.file && at < first);
                if known != Symbol::Broken
                    && symbol != Symbol::Broken
                    && let Some(first) = first
                {
                    self.report_duplicate(&key.1, first, at);
                    if matches!(known, Symbol::Cell(_)) != matches!(symbol, Symbol::Cell(_)) {
                        self.clashes.insert(key.clone());
                    }
                }
                if before {
                    self.names.insert(key, symbol);
                }
                before
            }
        }
    }

    /// Whether a name without dots is declared once as a value and once as something else.
    pub(super) fn is_clash(&self, name: &Ref, site: Site) -> bool {
        !self.clashes.is_empty()
            && matches!(name.parts.as_slice(), [only] if self.clashes.contains(&(site.scope, only.text.clone())))
    }

    /// Where a name was defined.
    pub(super) fn place_of(&self, symbol: Symbol) -> Option<FileSpan> {
        match symbol {
            Symbol::Element(id) => self.elements.get(id.index()).map(|element| element.declared),
            Symbol::Cell(id) => self.cells.get(id as usize).map(|cell| cell.at),
            Symbol::Instance(id) => self.instances.get(id as usize).map(|instance| instance.declared),
            Symbol::Port(point) => {
                let instance = self.instances.iter().find(|instance| instance.ports.contains(&point))?;
                let part = &self.parts[instance.part as usize];
                let port = &part.ports[(point - instance.ports.start) as usize];
                Some(FileSpan::new(part.file, port.span.at(part.offset)))
            }
            Symbol::Broken => None,
        }
    }

    fn report_duplicate(&mut self, name: &SmolStr, first: FileSpan, second: FileSpan) {
        let (first, second) =
            if first.file == second.file && second < first { (second, first) } else { (first, second) };
        let copies = first == second;
        let mut found = diagnostic(rules::DUPLICATE_NAME, second, format!("`{name}` is declared a second time"));
        if copies {
            found = found
                .help("Every copy of a repeat needs names of its own: put the counting name into it, as in `R{k}`");
        } else {
            found = found
                .here("declared again here")
                .label(first, "first declared here")
                .help("Give one of them another name");
        }
        self.report.add(found);
    }

    /// A name with its `{k}` holes filled in. `None` when one cannot be, which is reported.
    pub(super) fn fill(&mut self, name: &Name, site: Site) -> Option<SmolStr> {
        if !name.text.as_bytes().contains(&b'{') {
            return Some(name.text.clone());
        }
        let mut filled = SmolStrBuilder::new();
        let mut rest = name.text.as_str();
        while let Some(open) = rest.find('{') {
            filled.push_str(&rest[..open]);
            let Some(length) = rest[open..].find('}') else { break };
            let hole = &rest[open + 1..open + length];
            rest = &rest[open + length + 1..];
            match self.fill_hole(hole, name, site) {
                Some(value) => filled.push_str(&value.to_string()),
                None => return None,
            }
        }
        filled.push_str(rest);
        Some(filled.finish())
    }

    fn fill_hole(&mut self, hole: &str, name: &Name, site: Site) -> Option<i64> {
        let (variable, shift) = match hole.find(['+', '-']) {
            Some(at) => (&hole[..at], hole[at..].parse::<i64>().ok()),
            None => (hole, Some(0)),
        };
        let Some(value) = self.counting(variable, site.env) else {
            let at = site.at(name.span);
            let message =
                format!("`{{{hole}}}` has nothing to be filled in with: no repeat around it counts `{variable}`");
            self.report
                .add(diagnostic(rules::UNKNOWN_NAME, at, message).help("Put it inside `repeat k from 1 to 5 ... end`"));
            return None;
        };
        let filled = shift.and_then(|shift| value.checked_add(shift)).filter(|filled| *filled >= 0);
        if filled.is_none() {
            let at = site.at(name.span);
            let message = format!("`{{{hole}}}` falls below zero when `{variable}` is {value}, which no name can hold");
            self.report.add(diagnostic(rules::OUT_OF_RANGE, at, message).help("Begin the repeat at a larger number"));
        }
        filled
    }

    /// The value of a counting name.
    pub(super) fn counting(&self, variable: &str, mut env: EnvId) -> Option<i64> {
        while env != EnvId::NONE {
            let found = &self.envs[env.0 as usize];
            if found.variable == variable {
                return Some(found.value);
            }
            env = EnvId(found.parent);
        }
        None
    }

    /// Whether what a statement declares shares its place in the text with others.
    pub(super) fn is_copied(&self, site: Site) -> bool {
        site.env != EnvId::NONE || self.scope(site.scope).copied
    }
}
