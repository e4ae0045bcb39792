//! Walking the statements: declarations, and the copies that parts and repeats make.

use std::ops::Range;

use malachite::Integer;
use ohmline_syntax::tree::{Block, Declare, Expr, Name, StmtKind, Tree};
use ohmline_syntax::words::{QUANTITIES, STATEMENTS};
use ohmline_syntax::{FileId, FileSpan};
use smallvec::SmallVec;
use smol_str::{SmolStr, SmolStrBuilder};

use super::kinds::KindWord;
use super::nearest::nearest;
use super::report::{diagnostic, listed, offer};
use super::scope::{Env, EnvId, Instance, Scope, ScopeId, Symbol};
use super::{Builder, Decl, MAX_COPIES, MAX_DEPTH, PathJob, Site, rules};
use crate::model::{Element, ElementId, Kind, Params};
use crate::quantity::Dimension;

/// What stands around a statement.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Around {
    File,
    Part,
    Repeat,
}

impl<'a> Builder<'a> {
    /// Declares everything in the first file and puts its paths aside.
    pub(super) fn expand_main(&mut self) {
        let tree: &'a Tree = &self.sources.files[0].tree;
        self.note_unreadable(FileId::MAIN, ScopeId(0));
        self.expand(0..tree.stmts.len() as u32, FileId::MAIN, ScopeId(0), EnvId::NONE, Around::File);
    }

    /// The block whose head is this statement.
    pub(super) fn block_at(tree: &Tree, head: u32) -> Option<&Block> {
        tree.blocks.binary_search_by_key(&head, |block| block.head).ok().map(|index| &tree.blocks[index])
    }

    fn expand(&mut self, range: Range<u32>, file: FileId, scope: ScopeId, env: EnvId, around: Around) {
        let tree: &'a Tree = &self.sources.files[file.0 as usize].tree;
        let mut index = range.start;
        while index < range.end.min(tree.stmts.len() as u32) && !self.full {
            let head = index;
            let stmt = &tree.stmts[head as usize];
            index += 1;
            self.expanded += 1;
            if self.expanded > self.limits.statements {
                self.report_full(FileSpan::new(file, stmt.range()));
                return;
            }
            let site = Site { file, offset: stmt.offset, scope, env };
            match &stmt.node.kind {
                StmtKind::Declare(declare) => self.declare(declare, site),
                StmtKind::Path(segment) => self.paths.push(PathJob { segment, site, stmt: head }),
                StmtKind::Let { .. } if around != Around::Repeat => {}
                StmtKind::End | StmtKind::Error if Self::block_at(tree, head).is_none() => {}
                StmtKind::Part { .. } | StmtKind::Repeat { .. } | StmtKind::End | StmtKind::Error => {
                    let body = match Self::block_at(tree, head) {
                        Some(block) => {
                            index = (block.close + u32::from(block.closed)).max(index);
                            head + 1..block.close
                        }
                        None => index..index,
                    };
                    match &stmt.node.kind {
                        StmtKind::Repeat { variable, from, to } => {
                            self.repeat(variable, from, to, body, site);
                        }
                        StmtKind::Part { .. } if around != Around::File => {
                            self.misplaced(stmt.range(), file, "part", around)
                        }
                        _ => {}
                    }
                }
                StmtKind::Circuit(title) if around == Around::File => {
                    if self.circuit.title.is_some() {
                        let at = FileSpan::new(file, stmt.range());
                        let found = diagnostic(rules::DUPLICATE_TITLE, at, "The circuit has a title already")
                            .help("One file holds one circuit: put the second into a file of its own");
                        self.report.add(found);
                    } else {
                        self.circuit.title = Some(title.text.to_string());
                    }
                }
                StmtKind::Include(_) if around == Around::File => {}
                _ if around == Around::File => self.statements.push(head),
                other => self.misplaced(stmt.range(), file, statement_word(other), around),
            }
        }
    }

    fn misplaced(&mut self, range: ohmline_syntax::Span, file: FileId, word: &str, around: Around) {
        let (place, takes) = match around {
            Around::Part => ("part", "declarations, lets, paths and repeats"),
            _ => ("repeat", "declarations, paths and repeats"),
        };
        let found = diagnostic(
            rules::MISPLACED_STATEMENT,
            FileSpan::new(file, range),
            format!("`{word}` cannot stand in a {place}"),
        )
        .help(format!("A {place} holds {takes}: move this line out of it"));
        self.report.add(found);
    }

    pub(super) fn report_full(&mut self, at: FileSpan) {
        if !self.full {
            self.full = true;
            let found = diagnostic(rules::TOO_MANY_ELEMENTS, at, "The circuit grows beyond 1,000,000 elements here")
                .help("Make fewer copies; the rest is left out");
            self.report.add(found);
        }
    }

    /// Reports nesting that is too deep. True when there is room.
    fn descend(&mut self, at: FileSpan) -> bool {
        if self.depth >= MAX_DEPTH {
            let message = format!("Parts and repeats stand in each other more than {MAX_DEPTH} deep here");
            self.report.add(diagnostic(rules::DEEP_NESTING, at, message));
            return false;
        }
        self.depth += 1;
        true
    }

    fn repeat(&mut self, variable: &'a Name, from: &'a Expr, to: &'a Expr, body: Range<u32>, site: Site) {
        let bounds = (self.bound(from, site), self.bound(to, site));
        let (Some(first), Some(last)) = bounds else {
            // What the copies would declare is known to be missing.
            self.note_names(body, site);
            return;
        };
        let at = site.at(from.span.to(to.span));
        if first > last {
            let found =
                diagnostic(rules::BAD_BOUNDS, at, format!("The repeat ends at {last}, before it begins at {first}"))
                    .help("Write the smaller number first");
            self.report.add(found);
            self.note_names(body, site);
            return;
        }
        if last - first >= MAX_COPIES {
            let message =
                format!("The repeat makes {} copies; the most is 10,000", i128::from(last) - i128::from(first) + 1);
            self.report.add(diagnostic(rules::TOO_MANY_COPIES, at, message));
            self.note_names(body, site);
            return;
        }
        if !self.descend(at) {
            return;
        }
        for value in first..=last {
            if self.full {
                break;
            }
            self.expanded += 1;
            let env = Env { parent: site.env.0, variable: variable.text.clone(), value };
            self.envs.push(env);
            let env = EnvId(self.envs.len() as u32 - 1);
            self.expand(body.clone(), site.file, site.scope, env, Around::Repeat);
        }
        self.depth -= 1;
    }

    /// A bound of a repeat: a whole number.
    fn bound(&mut self, expr: &'a Expr, site: Site) -> Option<i64> {
        let measure = self.eval(expr, site, None, Some(Dimension::NONE))?;
        let whole = (measure.dimension == Dimension::NONE)
            .then(|| Integer::try_from(&measure.value).ok())
            .flatten()
            .and_then(|whole| i64::try_from(&whole).ok())
            .filter(|whole| whole.unsigned_abs() <= 1_000_000_000_000);
        if whole.is_none() {
            let found = diagnostic(rules::BAD_BOUNDS, site.at(expr.span), "The bounds of a repeat are whole numbers")
                .help("Write it as in `repeat k from 1 to 5`");
            self.report.add(found);
        }
        whole
    }

    fn declare(&mut self, declare: &'a Declare, site: Site) {
        if let Some(kind) = KindWord::of(&declare.kind.text) {
            for name in &declare.names {
                self.declare_element(kind, name, Some(declare), site);
            }
            return;
        }
        match self.part_names.get(&(site.file, declare.kind.text.clone())) {
            Some((Some(part), _)) => {
                let part = *part;
                for name in &declare.names {
                    self.instantiate(part, name, declare, site);
                }
            }
            other => {
                // A file that could not be read may define it.
                let elsewhere = self.incomplete.contains(&site.file) && !looks_like_kind(&declare.kind.text);
                if other.is_none() && !self.is_mentioned(&declare.kind.text) && !elsewhere {
                    self.report_unknown_kind(&declare.kind, site);
                }
                for name in &declare.names {
                    self.define_broken(name, site);
                }
            }
        }
    }

    fn report_unknown_kind(&mut self, kind: &Name, site: Site) {
        let at = site.at(kind.span);
        let parts = self.part_names.keys().filter(|(file, _)| *file == site.file).map(|(_, name)| name.as_str());
        let close = nearest(&kind.text, ohmline_syntax::words::KINDS.iter().copied().chain(parts));
        let close = match ohmline_syntax::words::everyday_kinds(&kind.text) {
            [] if ohmline_syntax::words::zero_point(&kind.text) => vec!["reference".to_owned()],
            [] => close,
            meant => meant.iter().map(|&word| word.to_owned()).collect(),
        };
        let found =
            diagnostic(rules::UNKNOWN_KIND, at, format!("`{}` is neither a kind of element nor a part", kind.text));
        let found = if close.is_empty() {
            found.help(format!(
                "Kinds are {}; a part of your own begins with `part`",
                listed(ohmline_syntax::words::KINDS)
            ))
        } else {
            let mut found = offer(found, at, &close);
            // Only a capital is too many.
            if close[0].eq_ignore_ascii_case(&kind.text) {
                found.fixes[0].safety = ohmline_syntax::Safety::Safe;
            }
            found
        };
        self.report.add(found);
    }

    /// Makes a name known whose declaration could not be read.
    pub(super) fn define_broken(&mut self, name: &Name, site: Site) {
        if let Some(text) = self.fill(name, site) {
            self.define(site.scope, text, Symbol::Broken, site.at(name.span));
        }
    }

    /// Declares an element of a built-in kind. Without a declaration its value is unknown and that is no news.
    pub(super) fn declare_element(&mut self, kind: KindWord, name: &'a Name, declare: Option<&'a Declare>, site: Site) {
        let Some(text) = self.fill(name, site) else { return };
        let at = site.at(name.span);
        if self.elements.len() >= self.limits.elements {
            self.report_full(at);
            return;
        }
        if STATEMENTS.contains(&text.as_str()) || QUANTITIES.contains(&text.as_str()) || KindWord::of(&text).is_some() {
            let found = diagnostic(
                rules::RESERVED_NAME,
                at,
                format!("`{text}` is a word of the notation, so it cannot name an element"),
            )
            .help("Choose another name: a letter, then letters, digits and `_`");
            self.report.add(found);
            return;
        }
        let id = ElementId(self.elements.len() as u32);
        if !self.define(site.scope, text.clone(), Symbol::Element(id), at) {
            return;
        }
        let value_at = match declare.and_then(|declare| declare.value.as_ref()) {
            Some(value) => site.at(value.span),
            None => at,
        };
        let (kind, params) = match declare {
            None => Self::unread(kind),
            Some(declare) if Self::is_pending(declare) => {
                self.pending.push(id);
                Self::unread(kind)
            }
            Some(declare) => self.literal_params(kind, name, declare, site, id),
        };
        self.push_element(text, kind, params, (at, value_at), Decl { declare, site });
    }

    /// Adds an element with the points of its terminals.
    pub(super) fn push_element(
        &mut self,
        name: SmolStr,
        kind: Kind,
        params: Params,
        (declared, value_at): (FileSpan, FileSpan),
        decl: Decl<'a>,
    ) -> ElementId {
        let id = ElementId(self.elements.len() as u32);
        self.elements.push(Element {
            name: self.full_name(decl.site.scope, &name),
            kind,
            params,
            declared,
            value_at,
            uses: SmallVec::new(),
            terminals: SmallVec::new(),
            branches: 0..0,
            copied: self.is_copied(decl.site),
        });
        self.decls.push(decl);
        self.placed.push(0);
        let terminals = kind.terminals().len() as u8;
        self.terminal_counts.push(terminals);
        self.terminals.push(self.points.fresh(u32::from(terminals)));
        id
    }

    pub(super) fn instantiate(&mut self, part: u32, name: &'a Name, declare: &'a Declare, site: Site) {
        let Some(text) = self.fill(name, site) else { return };
        let at = site.at(name.span);
        let kind_at = site.at(declare.kind.span);
        if self.active.contains(&part) {
            let found = diagnostic(
                rules::RECURSIVE_PART,
                kind_at,
                format!("The part `{}` would contain itself without end", declare.kind.text),
            )
            .help("Leave this line out, or use another part");
            self.report.add(found);
            self.define(site.scope, text, Symbol::Broken, at);
            return;
        }
        let room = self.limits.elements.saturating_sub(self.elements.len()) as u64;
        if self.active.is_empty() && self.least_size(part) > room {
            self.report_full(kind_at);
        }
        if self.full || !self.descend(kind_at) {
            self.define(site.scope, text, Symbol::Broken, at);
            return;
        }
        let def = &self.parts[part as usize];
        let (ports, parameters, file, offset) = (def.ports, def.parameters, def.file, def.offset);
        let (body, lets) = (def.body.clone(), def.lets.clone());

        let id = self.instances.len() as u32;
        let scope = ScopeId(self.scopes.len() as u32);
        let full = self.full_name(site.scope, &text);
        let mut prefix = SmolStrBuilder::new();
        if !self.alone || !self.active.is_empty() {
            prefix.push_str(&full);
            prefix.push('.');
        }
        self.scopes.push(Scope { file, prefix: prefix.finish(), copied: true });
        let first_point = self.points.fresh(ports.len() as u32);
        let first_element = self.elements.len() as u32;
        self.define(site.scope, text, Symbol::Instance(id), at);
        self.instances.push(Instance {
            part,
            scope,
            ports: first_point..first_point + ports.len() as u32,
            name: full,
            declared: at,
            elements: first_element..first_element,
            scopes: scope.0..scope.0 + 1,
            passed: None,
            used: false,
        });

        let inside = Site { file, offset, scope, env: EnvId::NONE };
        for (index, port) in ports.iter().enumerate() {
            let point = first_point + index as u32;
            if self.define(scope, port.text.clone(), Symbol::Port(point), inside.at(port.span)) {
                self.junctions.insert((scope, port.text.clone()), point);
            }
        }
        let mut given: SmallVec<[bool; 8]> = SmallVec::from_elem(false, declare.options.len());
        for parameter in parameters {
            let chosen = declare.options.iter().position(|option| option.name.text == parameter.name.text);
            let cell_at = inside.at(parameter.name.span);
            let cell = match chosen {
                Some(index) => {
                    given[index] = true;
                    self.new_cell(parameter.name.text.clone(), cell_at, &declare.options[index].value, site)
                }
                None => self.new_cell(parameter.name.text.clone(), cell_at, &parameter.value, inside),
            };
            self.define(scope, parameter.name.text.clone(), Symbol::Cell(cell), cell_at);
        }
        for (option, given) in declare.options.iter().zip(given) {
            if given {
                continue;
            }
            let at = site.at(option.name.span);
            let word = &option.name.text;
            if parameters.iter().any(|parameter| parameter.name.text == *word) {
                self.report.add(diagnostic(rules::DUPLICATE_OPTION, at, format!("`{word}` is given twice")));
            } else {
                let message = format!("The part `{}` has no parameter `{word}`", declare.kind.text);
                let known = parameters.iter().map(|parameter| parameter.name.text.as_str());
                self.report_unknown_option(at, message, word, known.collect());
            }
        }
        if let Some(value) = &declare.value {
            let found = diagnostic(
                rules::WRONG_VALUE,
                site.at(value.span),
                format!("A part takes no value behind `=`: `{}` is given its parameters by name", declare.kind.text),
            )
            .help("Write the name of a parameter and its value, as in `lantern Left, dropper 47 ohm`");
            self.report.add(found);
        }
        self.active.push(part);
        self.define_lets(&lets, file, scope);
        self.expand(body, file, scope, EnvId::NONE, Around::Part);
        self.active.pop();
        self.depth -= 1;
        let instance = &mut self.instances[id as usize];
        instance.elements.end = self.elements.len() as u32;
        instance.scopes.end = self.scopes.len() as u32;
    }

    /// Reports an option or a parameter that does not exist.
    pub(super) fn report_unknown_option(&mut self, at: FileSpan, message: String, word: &str, known: Vec<&str>) {
        let mut close = nearest(word, known.iter().copied());
        let meant: &[&str] = match word.to_lowercase().as_str() {
            "wattage" | "power" | "rated" | "max" | "maximum" => &["rating", "limit"],
            "tol" | "accuracy" | "precision" => &["tolerance"],
            "r" | "ri" | "resistance" | "esr" => &["internal", "resistance"],
            "scale" | "full" => &["range"],
            "charged" | "start" | "v0" | "precharge" => &["initial"],
            _ => &[],
        };
        if close.is_empty() {
            close.extend(meant.iter().filter(|meant| known.contains(meant)).map(|meant| (*meant).to_owned()));
        }
        let found = diagnostic(rules::UNKNOWN_OPTION, at, message);
        let found = if !close.is_empty() {
            offer(found, at, &close)
        } else if known.is_empty() {
            found.help("It has none at all")
        } else {
            found.help(format!("It has {}", listed(known)))
        };
        self.report.add(found);
    }

    /// Registers the `let`s of a file or of a copy of a part.
    pub(super) fn define_lets(&mut self, lets: &[u32], file: FileId, scope: ScopeId) {
        let tree: &'a Tree = &self.sources.files[file.0 as usize].tree;
        for index in lets {
            let stmt = &tree.stmts[*index as usize];
            let StmtKind::Let { name, value } = &stmt.node.kind else { continue };
            let site = Site { file, offset: stmt.offset, scope, env: EnvId::NONE };
            let Some(text) = self.fill(name, site) else { continue };
            let at = site.at(name.span);
            let cell = self.new_cell(text.clone(), at, value, site);
            self.define(scope, text, Symbol::Cell(cell), at);
        }
    }

    /// Gives elements whose values depend on names their values, and evaluates every `let` of the first file so that its
    /// mistakes are reported even if nothing uses it.
    pub(super) fn finish_params(&mut self) {
        for id in std::mem::take(&mut self.pending) {
            let Decl { declare: Some(declare), site } = self.decls[id.index()] else { continue };
            let Some(kind) = KindWord::of(&declare.kind.text) else { continue };
            let declared = self.elements[id.index()].declared;
            let name = declare.names.iter().find(|name| site.at(name.span) == declared).unwrap_or(&declare.names[0]);
            let (kind, params) = self.params(kind, name, declare, site, id);
            let element = &mut self.elements[id.index()];
            element.kind = kind;
            element.params = params;
        }
        for cell in 0..self.cells.len() as u32 {
            if self.cells[cell as usize].at.file == FileId::MAIN {
                self.cell(cell);
            }
        }
    }
}

/// Whether a word is so near to a built-in kind that no file need define it to explain it.
fn looks_like_kind(word: &str) -> bool {
    word.chars().count() >= 6 && !nearest(word, ohmline_syntax::words::KINDS.iter().copied()).is_empty()
}

/// The word a statement begins with.
fn statement_word(kind: &StmtKind) -> &'static str {
    match kind {
        StmtKind::Circuit(_) => "circuit",
        StmtKind::Include(_) => "include",
        StmtKind::Let { .. } => "let",
        StmtKind::Reference(_) => "reference",
        StmtKind::Find { .. } => "find",
        StmtKind::Given { .. } => "given",
        StmtKind::Measured { .. } => "measured",
        StmtKind::ClaimQuantity { .. } | StmtKind::ClaimRelation { .. } => "claim",
        StmtKind::Case { .. } => "case",
        StmtKind::Part { .. } => "part",
        StmtKind::Repeat { .. } => "repeat",
        StmtKind::End => "end",
        StmtKind::Declare(_) | StmtKind::Path(_) | StmtKind::Error => "this",
    }
}
