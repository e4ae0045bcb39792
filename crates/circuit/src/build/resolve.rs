//! References: from `Left.D1` to what it names.

use ohmline_syntax::tree::{Item, ItemKind, Name, Ref, Stmt, StmtKind};
use ohmline_syntax::{FileSpan, Safety};
use smol_str::SmolStr;

use super::nearest::nearest;
use super::report::{diagnostic, listed, offer};
use super::scope::{ScopeId, Symbol};
use super::wiring::PASSED;
use super::{Builder, Site, rules};
use crate::model::{ElementId, Kind};

/// What a reference names.
pub(super) enum Target<'n> {
    /// An element, and the word behind its dot if there is one: a terminal or an option.
    Element(ElementId, Option<&'n Name>),
    /// A copy of a part.
    Instance(u32),
    /// A port: its point, and the copy it belongs to if it is named from outside.
    Port(u32, Option<u32>),
    /// A `let` or a parameter.
    Cell(u32),
    /// Something whose cause has been reported.
    Broken,
    /// A name that is not known in this scope.
    Unknown {
        /// The name.
        name: &'n Name,
        /// Where it was looked for.
        scope: ScopeId,
    },
}

impl<'a> Builder<'a> {
    /// What a reference names. Reports nothing but holes that cannot be filled.
    pub(super) fn resolve<'n>(&mut self, name: &'n Ref, site: Site) -> Target<'n> {
        let [only] = name.parts.as_slice() else { return self.look_up(name, site) };
        if let Some(id) = self.recalled(only, site) {
            return Target::Element(id, None);
        }
        let target = self.look_up(name, site);
        if let Target::Element(id, None) = target {
            only.hint.set(id.0);
        }
        target
    }

    /// The element that a name was found to name last time, if it does so still: an element that the first file declares outside of
    /// any part, and of which the full name is this.
    fn recalled(&self, name: &Name, site: Site) -> Option<ElementId> {
        let id = ElementId(name.hint.get()?);
        let (element, decl) = (self.elements.get(id.index())?, &self.decls[id.index()]);
        // Of these no two have one name, and nothing else has it: the names know the first only.
        let is_own = site.scope == ScopeId(0) && decl.site.scope == site.scope && decl.declare.is_some();
        (is_own && element.name == name.text).then_some(id)
    }

    fn look_up<'n>(&mut self, name: &'n Ref, site: Site) -> Target<'n> {
        let mut scope = site.scope;
        let mut parts = name.parts.iter();
        let mut outside = None;
        while let Some(part) = parts.next() {
            let Some(text) = self.fill(part, site) else { return Target::Broken };
            let symbol = if outside.is_none() {
                self.lookup(scope, &text)
            } else {
                self.names.get(&(scope, text.clone())).copied()
            };
            let rest = parts.as_slice();
            match symbol {
                None if outside.is_none() && self.is_mentioned(&text) => return Target::Broken,
                None => return Target::Unknown { name: part, scope },
                Some(Symbol::Broken) => return Target::Broken,
                Some(Symbol::Element(id)) => {
                    return match rest {
                        [] => Target::Element(id, None),
                        [field] => Target::Element(id, Some(field)),
                        [_, unknown, ..] => Target::Unknown { name: unknown, scope },
                    };
                }
                Some(Symbol::Instance(id)) => {
                    if rest.is_empty() {
                        return Target::Instance(id);
                    }
                    self.instances[id as usize].used = true;
                    scope = self.instances[id as usize].scope;
                    outside = Some(id);
                }
                Some(Symbol::Cell(id)) if rest.is_empty() => return Target::Cell(id),
                Some(Symbol::Port(point)) if rest.is_empty() => return Target::Port(point, outside),
                Some(Symbol::Cell(_) | Symbol::Port(_)) => return Target::Unknown { name: &rest[0], scope },
            }
        }
        Target::Broken
    }

    /// The ports of the copy of a part that a scope belongs to, as they are written from outside.
    fn ports_of(&self, scope: ScopeId) -> Option<String> {
        let copy = self.instances.iter().find(|copy| copy.scope == scope)?;
        let ports = self.parts.get(copy.part as usize)?.ports;
        Some(listed(ports.iter().map(|port| format!("{}.{}", copy.name, port.text))))
    }

    /// Reports a name that is not known in a scope, with the nearest that are.
    ///
    /// `path` is the whole reference where it stands in a path, in which a junction may be meant.
    pub(super) fn report_unknown(&mut self, name: &Name, scope: ScopeId, site: Site, path: Option<&Ref>) {
        let at = site.at(name.span);
        let text = self.fill(name, site).unwrap_or_else(|| name.text.clone());
        if self.is_mentioned(&text) {
            return;
        }
        // Names that only wrong uses have made known are no help.
        let is_real = |symbol: &Symbol| match symbol {
            Symbol::Broken => false,
            Symbol::Element(id) => !self.undeclared(*id),
            _ => true,
        };
        // What another path passes through cannot be meant by this one.
        let is_taken = |symbol: &Symbol| match symbol {
            Symbol::Element(id) => path.is_some() && self.placed[id.index()] & PASSED != 0,
            _ => false,
        };
        let close = if self.compared.saturating_add(self.names.len()) > super::MAX_COMPARED {
            Vec::new()
        } else {
            let known =
                self.names.iter().filter(|((of, _), symbol)| *of == scope && is_real(symbol) && !is_taken(symbol));
            nearest(&text, known.map(|((_, name), _)| name.as_str()))
        };
        self.scarce(self.names.len());
        let close = match path {
            Some(_) => self.free_for_a_path(close, name, scope, site),
            None => close,
        };
        for name in &close {
            let full = self.full_name(scope, &SmolStr::new(name));
            self.offered.insert(full);
        }
        let junction = path.and_then(|target| self.junction_meant(target, &text, scope, site));
        let prefix = &self.scope(scope).prefix;
        let found = if scope != site.scope && !prefix.is_empty() {
            let owner = prefix.trim_end_matches('.');
            diagnostic(rules::UNKNOWN_NAME, at, format!("`{owner}` has nothing named `{text}` inside"))
        } else {
            diagnostic(rules::UNKNOWN_NAME, at, format!("`{text}` is not declared"))
        };
        let found = match junction {
            Some((junction, at)) if close.is_empty() => {
                let found = if at.span == site.at(name.span).span {
                    found.help(format!(
                        "A junction is written `{junction}`; an element is declared, as in `resistor {text} = 10 ohm`"
                    ))
                } else {
                    found.help(format!("A junction inside of it is written `{junction}`"))
                };
                found.fix(format!("Write `{junction}`"), Safety::Asks, at, junction)
            }
            Some((junction, place)) => {
                let found = found.fix(format!("Write `{junction}`"), Safety::Asks, place, junction);
                offer(found, at, &close)
            }
            None if close.is_empty() && scope != site.scope => match self.ports_of(scope) {
                Some(ports) => found.help(format!("Its ports are {ports}")),
                None => found,
            },
            None if close.is_empty() => found.help(format!("Declare it, as in `resistor {text} = 10 ohm`")),
            None => offer(found, at, &close),
        };
        self.report.add(found);
    }

    /// The junction that a path may mean by a name without `@`: one that other paths name, or a word in small letters.
    fn junction_meant(
        &mut self,
        target: &Ref,
        text: &SmolStr,
        scope: ScopeId,
        site: Site,
    ) -> Option<(String, FileSpan)> {
        let last = target.parts.last()?;
        if self.fill(last, site).as_ref() != Some(text) {
            return None;
        }
        let place = site.at(target.span);
        let known = self.junctions.contains_key(&(scope, text.clone())) || self.is_named_by_a_path(text, scope);
        let small = target.parts.len() == 1 && text.chars().all(|c| c.is_lowercase());
        (known || small).then(|| (format!("@{}", self.written(target, site)), place))
    }

    /// Whether a path of the scope names a junction so, wired or not yet.
    fn is_named_by_a_path(&mut self, text: &SmolStr, scope: ScopeId) -> bool {
        let stmts = self.stmts_of(scope);
        stmts.iter().any(|stmt| match &stmt.node.kind {
            StmtKind::Path(segment) => super::wiring::names_junction(segment, text),
            _ => false,
        })
    }

    /// The statements of a scope; none once so many names were compared that no more suggestions are made.
    fn stmts_of(&mut self, scope: ScopeId) -> &'a [Stmt] {
        let (file, range) = match self.instances.iter().find(|instance| instance.scope == scope) {
            Some(instance) => {
                let part = &self.parts[instance.part as usize];
                (part.file, part.body.clone())
            }
            None => {
                let file = self.scope(scope).file;
                (file, 0..self.sources.file(file).tree.stmts.len() as u32)
            }
        };
        if self.scarce(range.len() + self.instances.len()) {
            return &[];
        }
        let sources = self.sources;
        let stmts = &sources.file(file).tree.stmts;
        stmts.get(range.start as usize..range.end as usize).unwrap_or_default()
    }

    /// Of the names near to one in a path those that can stand there: what some path passes through already, further down too, is another element, and
    /// where a `+` or `-` is written, the element must have such terminals.
    fn free_for_a_path(&mut self, mut close: Vec<String>, wrong: &Name, scope: ScopeId, site: Site) -> Vec<String> {
        if close.is_empty() {
            return close;
        }
        let signed = |item: &Item| {
            matches!(&item.kind, ItemKind::Element { before, target, after }
                if (before.is_some() || after.is_some()) && target.parts.iter().any(|part| part.span == wrong.span))
        };
        let here = site.at(wrong.span);
        let mut is_signed = false;
        for stmt in self.stmts_of(scope) {
            let StmtKind::Path(segment) = &stmt.node.kind else { continue };
            let range = stmt.range();
            let is_here = range.start <= here.span.start && here.span.end <= range.end;
            super::wiring::each_item(segment, |item| {
                if is_here && signed(item) {
                    is_signed = true;
                }
                if let ItemKind::Element { before, target, after } = &item.kind
                    && let [name] = &target.parts[..]
                    && before.is_some() == after.is_some()
                {
                    close.retain(|other| *other != name.text);
                }
            });
        }
        close.retain(|name| match self.names.get(&(scope, SmolStr::new(name))) {
            Some(Symbol::Element(id)) => !is_signed || self.elements[id.index()].kind.is_polar(),
            _ => !is_signed,
        });
        close
    }

    /// Reports an unknown name, and takes it as known from then on: one cause, one message.
    pub(super) fn report_unknown_once(&mut self, name: &Name, scope: ScopeId, site: Site, path: Option<&Ref>) {
        self.report_unknown(name, scope, site, path);
        if let Some(text) = self.fill(name, site) {
            self.names.entry((scope, text)).or_insert(Symbol::Broken);
        }
    }

    /// Whether so many names were compared for suggestions already that no more are made.
    pub(super) fn scarce(&mut self, names: usize) -> bool {
        self.compared = self.compared.saturating_add(names);
        self.compared > super::MAX_COMPARED
    }

    /// The point of a terminal of an element.
    pub(super) fn terminal_point(&self, element: ElementId, terminal: usize) -> u32 {
        self.terminals[element.index()] + terminal as u32
    }

    /// Which terminal of an element a word names; reports a wrong one.
    pub(super) fn terminal_named(&mut self, element: ElementId, field: &Name, site: Site) -> Option<usize> {
        let kind = self.elements[element.index()].kind;
        let word = self.fill(field, site)?;
        let terminals = kind.terminals();
        if let Some(index) = terminals.iter().position(|terminal| *terminal == word) {
            return Some(index);
        }
        if self.undeclared(element) {
            return None;
        }
        let name = self.elements[element.index()].name.clone();
        let at = site.at(field.span);
        let message = format!("`{name}` has no terminal `.{word}`");
        let found = diagnostic(rules::UNKNOWN_TERMINAL, at, message);
        let found = match terminals {
            ["", ..] => found.help(format!(
                "The two ends of a {} have no names: pass through it, as in `@a -- {name} -- @b`",
                kind.word()
            )),
            ["+", ..] => found.help(format!("Its terminals are `{name}+` and `{name}-`")),
            _ => {
                let close = nearest(&word, terminals.iter().copied());
                if close.is_empty() {
                    found.help(format!("Its terminals are {}", listed(terminals.iter().map(|t| format!("{name}.{t}")))))
                } else {
                    offer(found, at, &close)
                }
            }
        };
        self.report.add(found);
        None
    }

    /// Which terminal of an element a sign names.
    pub(super) fn terminal_signed(kind: Kind, sign: ohmline_syntax::tree::Sign) -> Option<usize> {
        kind.is_polar().then_some(match sign {
            ohmline_syntax::tree::Sign::Plus => 0,
            ohmline_syntax::tree::Sign::Minus => 1,
        })
    }

    /// The scope that a junction is looked for in and its name there; `None` when the way to it is not known, which is
    /// reported. The flag says whether it is named from outside of the part that holds it.
    pub(super) fn junction_place(&mut self, name: &Name, site: Site) -> Option<(ScopeId, SmolStr, bool)> {
        let text = self.fill(name, site)?;
        if !text.as_bytes().contains(&b'.') {
            return Some((site.scope, text, false));
        }
        let mut scope = site.scope;
        let mut pieces: Vec<&str> = text.split('.').collect();
        let last = pieces.pop()?;
        for piece in pieces {
            let piece = SmolStr::new(piece);
            match self.names.get(&(scope, piece.clone())) {
                Some(Symbol::Instance(id)) => {
                    let instance = &mut self.instances[*id as usize];
                    instance.used = true;
                    scope = instance.scope;
                }
                Some(Symbol::Broken) => return None,
                _ if self.is_mentioned(&piece) => return None,
                other => {
                    let at = site.at(name.span);
                    let message = match other {
                        Some(_) => format!("`{piece}` is no part, so there is no junction inside: `@{text}`"),
                        None => format!("`{piece}` is not declared, so there is no junction `@{text}`"),
                    };
                    let found = diagnostic(rules::UNKNOWN_NAME, at, message)
                        .help("A dot leads into a copy of a part, as in `@Left.mid`");
                    self.report.add(found);
                    return None;
                }
            }
        }
        Some((scope, SmolStr::new(last), true))
    }

    /// Reports a junction that no path has.
    pub(super) fn report_unknown_junction(&mut self, text: &str, scope: ScopeId, at: FileSpan) {
        let wrong = text.rsplit('.').next().unwrap_or(text);
        let prefix = &text[..text.len() - wrong.len()];
        let close = if self.scarce(self.junctions.len()) {
            Vec::new()
        } else {
            nearest(wrong, self.junctions.keys().filter(|(of, _)| *of == scope).map(|(_, name)| name.as_str()))
        };
        let close: Vec<String> = close.into_iter().map(|name| format!("@{prefix}{name}")).collect();
        let found = diagnostic(rules::UNKNOWN_NAME, at, format!("No path has a junction `@{text}`"));
        let found = if close.is_empty() {
            found.help("Name the junction in a path first, as in `R1 -- @fork -- R2`")
        } else {
            offer(found, at, &close)
        };
        self.report.add(found);
    }
}
