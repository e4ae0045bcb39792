//! Paths: which terminals and junctions they join.

use ohmline_syntax::tree::{Item, ItemKind, Name, Ref, Segment, Sign, StmtKind};
use ohmline_syntax::{Edit, Fix};
use ohmline_syntax::{FileId, FileSpan, Safety};
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use super::kinds::KindWord;
use super::report::{diagnostic, listed};
use super::resolve::Target;
use super::scope::{ScopeId, Symbol};
use super::{Builder, Decl, PathJob, Site, rules};
use crate::model::{Amount, ElementId, Kind, Params};

/// Passed through by a path.
pub(super) const PASSED: u8 = 1;
/// Left from or arrived at by one of its terminals.
pub(super) const TOUCHED: u8 = 2;

/// A junction by its name.
pub(super) struct Junction {
    pub(super) name: SmolStr,
    pub(super) scope: ScopeId,
    pub(super) point: u32,
    pub(super) at: FileSpan,
    /// Whether it has been named only from outside of the part that should hold it.
    pub(super) only_outside: bool,
}

/// Points that wires join: terminals, junctions, ports, the ends of groups. A forest of sets.
#[derive(Default)]
pub(super) struct Points {
    parent: Vec<u32>,
    pub(super) touched: Vec<bool>,
    /// Points in the order in which paths touch them first, with the places.
    pub(super) log: Vec<(u32, FileSpan)>,
    pub(super) junctions: Vec<Junction>,
    /// Points of which not all connections are known, since something there was not understood.
    pub(super) doubtful: Vec<u32>,
}

impl Points {
    /// Adds points; the first of them.
    pub(super) fn fresh(&mut self, count: u32) -> u32 {
        let first = self.parent.len() as u32;
        self.parent.extend(first..first + count);
        self.touched.resize(self.parent.len(), false);
        first
    }

    pub(super) fn len(&self) -> usize {
        self.parent.len()
    }

    /// The point that stands for all that are joined with this one.
    pub(super) fn root(&mut self, mut point: u32) -> u32 {
        while self.parent[point as usize] != point {
            let above = self.parent[self.parent[point as usize] as usize];
            self.parent[point as usize] = above;
            point = above;
        }
        point
    }

    /// Joins two points by a wire.
    pub(super) fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        // The older point stays on top; with path halving the sets stay flat enough.
        self.parent[a.max(b) as usize] = a.min(b);
    }

    pub(super) fn touch(&mut self, point: u32, at: FileSpan) {
        if !std::mem::replace(&mut self.touched[point as usize], true) {
            self.log.push((point, at));
        }
    }
}

impl<'a> Builder<'a> {
    /// Wires every path.
    pub(super) fn wire_all(&mut self) {
        self.check_ports();
        for PathJob { segment, site, stmt } in std::mem::take(&mut self.paths) {
            let ends = match self.closes_itself(segment, site) {
                Some(id) => self.wire_closed(id, segment, site),
                None => self.wire_segment(segment, site, true),
            };
            if site.file == FileId::MAIN
                && let (Some((first, last)), Some((left, right))) = (ends, self.torn.get(&stmt).copied())
            {
                self.points.doubtful.extend(left.then_some(first));
                self.points.doubtful.extend(right.then_some(last));
            }
        }
        for index in 0..self.points.junctions.len() {
            if self.points.junctions[index].only_outside {
                let Junction { name, scope, at, .. } = &self.points.junctions[index];
                let (name, scope, at) = (name.clone(), *scope, *at);
                let short = SmolStr::new(name.rsplit('.').next().unwrap_or(&name));
                self.junctions.remove(&(scope, short));
                let point = self.points.junctions[index].point;
                self.points.doubtful.push(point);
                self.report_unknown_junction(&name, scope, at);
            }
        }
        for index in 0..self.points.junctions.len() {
            let junction = &self.points.junctions[index];
            if self.is_mentioned_junction(&junction.name) {
                let point = junction.point;
                self.points.doubtful.push(point);
            }
        }
        self.doubt_unjoined();
        if !self.full {
            self.report_unplaced();
        }
    }

    /// The element with polarity at which a path begins and ends without saying at which terminal: `B1 -- R1 -- B1`.
    fn closes_itself(&mut self, segment: &'a Segment, site: Site) -> Option<ElementId> {
        let bare = |item: &'a Item| match &item.kind {
            ItemKind::Element { before: None, target, after: None } => Some(target),
            _ => None,
        };
        let [first, _, .., last] = segment.items.as_slice() else { return None };
        let (first, last) = (bare(first)?, bare(last)?);
        if !first.parts.iter().map(|part| &part.text).eq(last.parts.iter().map(|part| &part.text)) {
            return None;
        }
        match self.resolve(first, site) {
            Target::Element(id, None) => {
                let kind = self.elements[id.index()].kind;
                (kind.is_polar() && self.placed[id.index()] & PASSED == 0 && !self.undeclared(id)).then_some(id)
            }
            _ => None,
        }
    }

    /// Wires such a path from `+` to `-`, and reports it: which way round it is meant nobody knows.
    fn wire_closed(&mut self, id: ElementId, segment: &'a Segment, site: Site) -> Option<(u32, u32)> {
        let (Some(first), Some(last)) = (segment.items.first(), segment.items.last()) else { return None };
        let (start, end) = (site.at(first.span), site.at(last.span));
        let name = self.sources.file(start.file).tree.slice(start.span).trim().to_owned();
        let mut found = diagnostic(
            rules::MISSING_POLARITY,
            start,
            format!("The path begins and ends at `{name}`, and does not say at which terminal"),
        )
        .label(end, "it ends here")
        .help(format!("Write `{name}+ -- ... -- {name}-`, or the reverse"));
        for (from, to) in [('+', '-'), ('-', '+')] {
            found.fixes.push(Fix {
                title: format!("Write `{name}{from} -- ... -- {name}{to}`"),
                safety: Safety::Asks,
                edits: vec![
                    Edit { at: start, text: format!("{name}{from}") },
                    Edit { at: end, text: format!("{name}{to}") },
                ],
            });
        }
        self.report.add(found);
        self.leave_unoriented(id);
        self.placed[id.index()] |= PASSED;
        self.elements[id.index()].uses.extend([start, end]);
        let (plus, minus) = (self.terminal_point(id, 0), self.terminal_point(id, 1));
        self.points.touch(plus, start);
        let mut before = plus;
        for item in &segment.items[1..segment.items.len() - 1] {
            let (enter, leave) = self.wire_item(item, site, false);
            self.points.join(before, enter);
            before = leave;
        }
        self.points.join(before, minus);
        self.points.touch(minus, end);
        self.points.doubtful.extend([plus, minus]);
        Some((plus, minus))
    }

    /// Reports the ports of parts in use that no path inside names.
    fn check_ports(&mut self) {
        let mut parts: Vec<u32> = self.instances.iter().map(|instance| instance.part).collect();
        parts.sort_unstable();
        parts.dedup();
        for part in parts {
            let def = &self.parts[part as usize];
            let tree = &self.sources.file(def.file).tree;
            let body = tree.stmts.get(def.body.start as usize..def.body.end as usize).unwrap_or_default();
            // What could not be read may name any port.
            if body.is_empty() || body.iter().any(|stmt| stmt.node.kind == StmtKind::Error) {
                continue;
            }
            let mut named: FxHashSet<&str> = FxHashSet::default();
            for stmt in body {
                if let StmtKind::Path(segment) = &stmt.node.kind {
                    points_named(segment, &mut named);
                }
            }
            if named.iter().any(|name| name.contains('{')) {
                continue;
            }
            for port in def.ports.iter().filter(|port| !named.contains(port.text.as_str())) {
                let at = FileSpan::new(def.file, port.span.at(def.offset));
                let message = format!("Port `{}` is joined to nothing inside `{}`", port.text, def.name.text);
                let found = diagnostic(rules::UNJOINED_PORT, at, message)
                    .help(format!("Name it in a path of the part, as in `R1 -- @{}`, or take it out", port.text));
                self.report.add(found);
                self.unjoined.insert(part);
            }
        }
    }

    /// Nothing more is said about loose ends at and inside of parts whose ports have been reported.
    fn doubt_unjoined(&mut self) {
        for instance in self.instances.iter().filter(|instance| self.unjoined.contains(&instance.part)) {
            self.points.doubtful.extend(instance.ports.clone());
            for index in instance.elements.start as usize..instance.elements.end as usize {
                let first = self.terminals[index];
                self.points.doubtful.extend(first..first + u32::from(self.terminal_counts[index]));
            }
        }
    }

    fn report_unplaced(&mut self) {
        for index in 0..self.instances.len() {
            let instance = &self.instances[index];
            if !instance.used && !self.is_mentioned(&instance.name) && !self.offered.contains(&instance.name) {
                let message = format!("`{}` stands in no path, so it is left out", instance.name);
                let found = diagnostic(rules::NEVER_PLACED, instance.declared, message)
                    .help("Put it into a path, or remove the line");
                self.report.add(found);
            }
        }
        for index in 0..self.elements.len() {
            if self.placed[index] == 0
                && self.decls[index].declare.is_some()
                && !self.is_mentioned(&self.elements[index].name)
                && !self.offered.contains(&self.elements[index].name)
            {
                let element = &self.elements[index];
                let message = format!("`{}` stands in no path, so it is left out", element.name);
                let found = diagnostic(rules::NEVER_PLACED, element.declared, message)
                    .help("Put it into a path, or remove it from the declaration");
                self.report.add(found);
            }
        }
    }

    /// Wires the items of a path or an alternative. The points at its left and right end.
    fn wire_segment(&mut self, segment: &'a Segment, site: Site, is_path: bool) -> Option<(u32, u32)> {
        let last = segment.items.len().checked_sub(1)?;
        let mut ends: Option<(u32, u32)> = None;
        for (index, item) in segment.items.iter().enumerate() {
            let at_end = is_path && (index == 0 || index == last);
            let (enter, leave) = self.wire_item(item, site, at_end);
            ends = Some(match ends {
                None => (enter, leave),
                Some((first, before)) => {
                    self.points.join(before, enter);
                    (first, leave)
                }
            });
        }
        ends
    }

    /// The points at which an item is entered and left.
    fn wire_item(&mut self, item: &'a Item, site: Site, at_end: bool) -> (u32, u32) {
        let at = site.at(item.span);
        match &item.kind {
            ItemKind::Junction(name) => {
                let point = self.junction(name, site, at);
                (point, point)
            }
            ItemKind::Element { before, target, after } => self.wire_element(*before, target, *after, at, site, at_end),
            ItemKind::Group(alternatives) => {
                let left = self.points.fresh(2);
                let right = left + 1;
                self.points.touch(left, at);
                let holds = |segment: &Segment| segment.items.iter().any(holds_element);
                let some_hold = alternatives.iter().any(holds);
                for alternative in alternatives {
                    let Some((first, last)) = self.wire_segment(alternative, site, false) else { continue };
                    self.points.join(left, first);
                    self.points.join(right, last);
                    if some_hold && !holds(alternative) {
                        let place = site.at(alternative.span);
                        let found = diagnostic(
                            rules::SHORTED_GROUP,
                            place,
                            "This alternative holds no element: it is a wire, which shorts the others of its group",
                        )
                        .label(at, "the group that it shorts")
                        .help("Put an element into it, or leave it out");
                        self.report.add(found);
                    }
                }
                self.points.touch(right, at);
                (left, right)
            }
        }
    }

    fn junction(&mut self, name: &Name, site: Site, at: FileSpan) -> u32 {
        if let Some(point) = self.recalled_junction(name, site) {
            self.points.touch(point, at);
            return point;
        }
        let Some((scope, text, outside)) = self.junction_place(name, site) else {
            return self.doubtful_point(at);
        };
        let full = if outside { None } else { Some(text.clone()) };
        let point = match self.junctions.entry((scope, text)) {
            std::collections::hash_map::Entry::Occupied(entry) => {
                let point = *entry.get();
                if !outside {
                    self.named_inside(point);
                    // Junctions are numbered as their points are.
                    if let Ok(index) = self.points.junctions.binary_search_by_key(&point, |junction| junction.point) {
                        name.hint.set(index as u32);
                    }
                }
                point
            }
            std::collections::hash_map::Entry::Vacant(entry) => {
                let text = entry.key().1.clone();
                let point = self.points.parent.len() as u32;
                entry.insert(point);
                self.points.fresh(1);
                name.hint.set(self.points.junctions.len() as u32);
                let name = self.full_name(scope, &full.unwrap_or(text));
                self.points.junctions.push(Junction { name, scope, point, at, only_outside: outside });
                if outside {
                    self.outside_junctions.insert(point, self.points.junctions.len() as u32 - 1);
                }
                point
            }
        };
        self.points.touch(point, at);
        point
    }

    /// The point of a junction by the place where it was found last time, if that is its place still: a junction of the first file,
    /// outside of any part, of which the full name is this.
    fn recalled_junction(&self, name: &Name, site: Site) -> Option<u32> {
        let junction = self.points.junctions.get(name.hint.get()? as usize)?;
        let is_own = site.scope == ScopeId(0) && junction.scope == site.scope && !junction.only_outside;
        (is_own && junction.name == name.text).then_some(junction.point)
    }

    /// A path inside of the part names a junction that has been named from outside.
    fn named_inside(&mut self, point: u32) {
        if !self.outside_junctions.is_empty()
            && let Some(index) = self.outside_junctions.remove(&point)
        {
            self.points.junctions[index as usize].only_outside = false;
        }
    }

    fn doubtful_point(&mut self, at: FileSpan) -> u32 {
        let point = self.points.fresh(1);
        self.points.touch(point, at);
        self.points.doubtful.push(point);
        point
    }

    fn doubtful_pair(&mut self, at: FileSpan) -> (u32, u32) {
        (self.doubtful_point(at), self.doubtful_point(at))
    }

    fn wire_element(
        &mut self,
        before: Option<Sign>,
        target: &'a Ref,
        after: Option<Sign>,
        at: FileSpan,
        site: Site,
        at_end: bool,
    ) -> (u32, u32) {
        match self.resolve(target, site) {
            Target::Element(id, None) => self.pass_element(id, before, after, target, at, site, at_end),
            Target::Element(id, Some(field)) => {
                self.needless_signs(before, after, target, at, site);
                match self.terminal_named(id, field, site) {
                    Some(terminal) => {
                        self.placed[id.index()] |= TOUCHED;
                        self.elements[id.index()].uses.push(at);
                        let point = self.terminal_point(id, terminal);
                        self.terminal_item(point, target, at, site, at_end)
                    }
                    None => {
                        // It stands in the drawing, only nobody knows where: no more is said about it.
                        self.placed[id.index()] |= TOUCHED;
                        for terminal in 0..self.elements[id.index()].kind.terminals().len() {
                            let point = self.terminal_point(id, terminal);
                            self.points.doubtful.push(point);
                        }
                        self.doubtful_pair(at)
                    }
                }
            }
            Target::Instance(id) => {
                self.needless_signs(before, after, target, at, site);
                self.pass_instance(id, at)
            }
            Target::Port(point, _) => {
                self.needless_signs(before, after, target, at, site);
                self.terminal_item(point, target, at, site, at_end)
            }
            Target::Cell(_) if self.is_clash(target, site) => self.phantom(before, target, after, at, site, at_end),
            Target::Cell(id) => {
                let name = self.cells[id as usize].name.clone();
                let found =
                    diagnostic(rules::NOT_AN_ELEMENT, at, format!("`{name}` is a value, so it cannot stand in a path"))
                        .label(self.cells[id as usize].at, "defined here")
                        .help("Declare an element with this value, and put that into the path");
                self.report.add(found);
                self.doubtful_pair(at)
            }
            Target::Broken => self.phantom(before, target, after, at, site, at_end),
            Target::Unknown { name, scope } => {
                self.report_unknown_once(name, scope, site, Some(target));
                self.phantom(before, target, after, at, site, at_end)
            }
        }
    }

    /// A terminal or a port, where a path may begin or end.
    fn terminal_item(&mut self, point: u32, target: &Ref, at: FileSpan, site: Site, at_end: bool) -> (u32, u32) {
        self.points.touch(point, at);
        if !at_end {
            let text = self.written(target, site);
            let found = diagnostic(
                rules::MISPLACED_TERMINAL,
                at,
                format!("`{text}` is a terminal: it stands only at an end of a path"),
            )
            .help("Let the path end here, and begin the next line with it; or join at a junction with a name");
            self.report.add(found);
        }
        (point, point)
    }

    fn needless_signs(&mut self, before: Option<Sign>, after: Option<Sign>, target: &Ref, at: FileSpan, site: Site) {
        if before.is_none() && after.is_none() {
            return;
        }
        let text = self.written(target, site);
        let found = diagnostic(rules::NEEDLESS_POLARITY, at, format!("`{text}` has no `+` and `-`")).fix(
            format!("Write `{text}`"),
            Safety::Safe,
            at,
            text,
        );
        self.report.add(found);
    }

    #[expect(clippy::too_many_arguments, reason = "the parts of one item of a path")]
    fn pass_element(
        &mut self,
        id: ElementId,
        before: Option<Sign>,
        after: Option<Sign>,
        target: &Ref,
        at: FileSpan,
        site: Site,
        at_end: bool,
    ) -> (u32, u32) {
        let kind = self.elements[id.index()].kind;
        if kind.terminals().len() != 2 {
            self.needless_signs(before, after, target, at, site);
            let name = self.elements[id.index()].name.clone();
            let terminals = kind.terminals();
            let mut found = diagnostic(
                rules::MISSING_TERMINAL,
                at,
                format!("`{name}` has three terminals, so a path cannot pass through it as a whole"),
            )
            .help(format!(
                "Let the path end at one of {} and another begin at the next",
                listed(terminals.iter().map(|terminal| format!("{name}.{terminal}")))
            ));
            if at_end {
                for terminal in terminals {
                    let text = format!("{}.{terminal}", self.written(target, site));
                    found = found.fix(format!("Write `{text}`"), Safety::Asks, at, text);
                }
            }
            self.report.add(found);
            self.placed[id.index()] |= TOUCHED;
            for terminal in 0..terminals.len() {
                let point = self.terminal_point(id, terminal);
                self.points.doubtful.push(point);
            }
            return self.doubtful_pair(at);
        }
        if !kind.is_polar() {
            self.needless_signs(before, after, target, at, site);
            return self.pass(id, false, at);
        }
        match (before, after) {
            (Some(entered), Some(left)) if entered != left => self.pass(id, entered == Sign::Minus, at),
            (None, Some(sign)) if at_end => {
                self.placed[id.index()] |= TOUCHED;
                self.elements[id.index()].uses.push(at);
                let terminal = Self::terminal_signed(kind, sign).unwrap_or(0);
                let point = self.terminal_point(id, terminal);
                self.points.touch(point, at);
                (point, point)
            }
            (None, None) if at_end && self.placed[id.index()] & PASSED == 0 => {
                self.report_end(id, target, at, site);
                self.end_at_either(id, at, site)
            }
            _ => {
                self.report_polarity(id, before, after, target, at, site);
                let ends = self.pass(id, false, at);
                self.leave_unoriented(id);
                // Turned the other way, each end would be joined to what the other is joined to now.
                self.points.doubtful.extend([ends.0, ends.1]);
                ends
            }
        }
    }

    /// Ends a path at an element with polarity, nobody knows at which terminal: something of unknown resistance leads to each, so
    /// that nothing definite follows from either reading.
    fn end_at_either(&mut self, id: ElementId, at: FileSpan, site: Site) -> (u32, u32) {
        let name = self.elements[id.index()].name.clone();
        let end = self.doubtful_point(at);
        for terminal in 0..2 {
            let between = self.push_phantom(Kind::Resistor, name.clone(), at, Decl { declare: None, site });
            let (enter, leave) = self.pass(between, false, at);
            let point = self.terminal_point(id, terminal);
            self.points.touch(point, at);
            self.points.join(end, enter);
            self.points.join(leave, point);
            self.points.doubtful.push(point);
        }
        self.placed[id.index()] |= TOUCHED;
        self.elements[id.index()].uses.push(at);
        self.leave_unoriented(id);
        (end, end)
    }

    /// Reports an end of a path that does not say at which terminal. The terminal that nothing is joined to yet is offered first.
    fn report_end(&mut self, id: ElementId, target: &Ref, at: FileSpan, site: Site) {
        let text = self.written(target, site);
        let joined = |sign: usize| self.points.touched[self.terminal_point(id, sign) as usize];
        let signs = if joined(0) && !joined(1) { ['-', '+'] } else { ['+', '-'] };
        let message = format!("`{text}` has polarity, and the path does not say which terminal of it is meant");
        let mut found = diagnostic(rules::MISSING_POLARITY, at, message)
            .help(format!("Write `{text}{}` or `{text}{}`", signs[0], signs[1]));
        for sign in signs {
            let written = format!("{text}{sign}");
            found = found.fix(format!("Write `{written}`: join its terminal `{sign}`"), Safety::Asks, at, written);
        }
        self.report.add(found);
    }

    fn report_polarity(
        &mut self,
        id: ElementId,
        before: Option<Sign>,
        after: Option<Sign>,
        target: &Ref,
        at: FileSpan,
        site: Site,
    ) {
        let text = self.written(target, site);
        let word = self.elements[id.index()].kind.word();
        let (forward, backward) = (format!("+{text}-"), format!("-{text}+"));
        let mut found = match (before, after) {
            (Some(_), Some(_)) => {
                diagnostic(rules::WRONG_POLARITY, at, format!("`{text}` is entered and left by the same terminal"))
            }
            (None, Some(sign)) => {
                let sign = if sign == Sign::Plus { '+' } else { '-' };
                diagnostic(
                    rules::MISSING_POLARITY,
                    at,
                    format!(
                        "`{text}{sign}` stands inside a path, so it does not say which way the path passes the {word}"
                    ),
                )
                .note("A single terminal stands only at an end of a path")
            }
            _ => diagnostic(
                rules::MISSING_POLARITY,
                at,
                format!("`{text}` has polarity, and the path does not say which way it passes the {word}"),
            ),
        }
        .help(format!("Write `{forward}` to enter at `+`, or `{backward}` to enter at `-`"));
        let mut fixes = [(forward, "enter at `+`"), (backward, "enter at `-`")];
        // A sign that is there already on the right is kept by the first fix.
        if after == Some(Sign::Plus) {
            fixes.swap(0, 1);
        }
        for (written, how) in fixes {
            found = found.fix(format!("Write `{written}`: {how}"), Safety::Asks, at, written);
        }
        self.report.add(found);
    }

    /// Makes unknown in every state what an element does to the circuit, since nobody knows which way round it stands.
    fn leave_unoriented(&mut self, id: ElementId) {
        self.circuit.unoriented.push(id);
    }

    /// Passes through an element with two terminals.
    fn pass(&mut self, id: ElementId, backward: bool, at: FileSpan) -> (u32, u32) {
        if self.placed[id.index()] & PASSED != 0 {
            let element = &self.elements[id.index()];
            let name = element.name.clone();
            let first = element.uses.first().copied();
            if !self.undeclared(id) {
                let mut found = diagnostic(
                    rules::PLACED_TWICE,
                    at,
                    format!("The path passes through `{name}` a second time; an element stands at one place only"),
                )
                .help("Declare a second element and name that here, or join the points by a wire");
                if let Some(first) = first.filter(|first| *first != at) {
                    found = found.here("second time").label(first, "first time");
                }
                self.report.add(found);
            }
            // Nobody knows which of the two places is meant, so nothing is said about the ends at either.
            let decl = Decl { declare: None, site: self.decls[id.index()].site };
            let again = self.push_phantom(Kind::Resistor, name, at, decl);
            for element in [id, again] {
                let first = self.terminal_point(element, 0);
                self.points.doubtful.extend([first, first + 1]);
            }
            return self.pass(again, false, at);
        }
        self.placed[id.index()] |= PASSED;
        self.elements[id.index()].uses.push(at);
        let first = self.terminals[id.index()];
        let (enter, leave) = if backward { (first + 1, first) } else { (first, first + 1) };
        self.points.touch(enter, at);
        self.points.touch(leave, at);
        (enter, leave)
    }

    fn pass_instance(&mut self, id: u32, at: FileSpan) -> (u32, u32) {
        let instance = &mut self.instances[id as usize];
        instance.used = true;
        let ports = instance.ports.clone();
        let part = &self.parts[instance.part as usize];
        if ports.len() != 2 {
            let name = instance.name.clone();
            let message = format!("`{name}` has {} ports, so a path cannot pass through it as a whole", ports.len());
            let listed = listed(part.ports.iter().map(|port| format!("{name}.{}", port.text)));
            let help = match ports.len() {
                0 => "A part needs ports to be joined to anything".to_owned(),
                _ => format!("Let the path begin or end at {}", listed.replace(" and ", " or ")),
            };
            self.report.add(diagnostic(rules::MISSING_TERMINAL, at, message).help(help));
            self.points.doubtful.extend(ports);
            return self.doubtful_pair(at);
        }
        if let Some(first) = instance.passed {
            let message =
                format!("The path passes through `{}` a second time; a part stands at one place only", instance.name);
            let name = &instance.name;
            let terminals = listed(part.ports.iter().map(|port| format!("{name}.{}", port.text)));
            let mut found = diagnostic(rules::PLACED_TWICE, at, message).help(format!(
                "Declare a second copy of the part and name that here; or lead a path to one of its ports, {}",
                terminals.replace(" and ", " or ")
            ));
            if first != at {
                found = found.here("second time").label(first, "first time");
            }
            self.report.add(found);
            self.points.doubtful.extend(ports);
            return self.doubtful_pair(at);
        }
        instance.passed = Some(at);
        self.points.touch(ports.start, at);
        self.points.touch(ports.start + 1, at);
        (ports.start, ports.start + 1)
    }

    /// Stands in for an element that is not known: something joins the two sides, and nobody knows how well.
    fn phantom(
        &mut self,
        before: Option<Sign>,
        target: &Ref,
        after: Option<Sign>,
        at: FileSpan,
        site: Site,
        at_end: bool,
    ) -> (u32, u32) {
        let name = SmolStr::from(self.written(target, site));
        let single = target.parts.len() == 1;
        let known = if single { self.broken_kinds.get(&(site.scope, name.clone())).copied() } else { None };
        let terminal_like = before.is_none() && after.is_some() && at_end;
        if !single && !terminal_like && known.is_none() && before.is_none() {
            // `Left.mid`, `P1.wiper`: a terminal more likely than an element.
            if at_end {
                return {
                    let point = self.doubtful_point(at);
                    (point, point)
                };
            }
        }
        let signed = before.is_some() || after.is_some();
        let kind = match known.flatten() {
            Some(kind) => Self::unread(kind).0,
            None if signed => Kind::Ammeter,
            None => Kind::Resistor,
        };
        let decl = Decl { declare: None, site };
        let id = self.push_phantom(kind, name.clone(), at, decl);
        if let Some(Some(kind)) = known {
            let (kind, params) = Self::unread(kind);
            self.elements[id.index()].kind = kind;
            self.elements[id.index()].params = params;
        }
        if single {
            self.names.insert((site.scope, name), Symbol::Element(id));
        }
        for terminal in 0..kind.terminals().len() {
            let point = self.terminal_point(id, terminal);
            self.points.doubtful.push(point);
        }
        if kind.terminals().len() != 2 {
            self.placed[id.index()] |= TOUCHED;
            return self.doubtful_pair(at);
        }
        if terminal_like {
            self.placed[id.index()] |= TOUCHED;
            self.elements[id.index()].uses.push(at);
            let point = self.terminal_point(id, usize::from(after == Some(Sign::Minus)));
            self.points.touch(point, at);
            return (point, point);
        }
        self.pass(id, before == Some(Sign::Minus), at)
    }

    fn push_phantom(&mut self, kind: Kind, name: SmolStr, at: FileSpan, decl: Decl<'a>) -> ElementId {
        let params = match kind {
            Kind::Ammeter => Self::unread(KindWord::Ammeter).1,
            _ => Params::Resistor { resistance: Amount::Invalid, tolerance: None, rating: None },
        };
        let id = self.push_element(name, kind, params, (at, at), decl);
        self.circuit.undeclared.push(id);
        id
    }

    /// Whether an element stands for something that is not declared.
    pub(super) fn undeclared(&self, id: ElementId) -> bool {
        self.decls[id.index()].declare.is_none()
    }
}

/// Calls back with every item of a path, those inside of groups too.
pub(super) fn each_item<'t>(segment: &'t Segment, mut see: impl FnMut(&'t Item)) {
    let mut todo: Vec<&Item> = segment.items.iter().collect();
    while let Some(item) = todo.pop() {
        see(item);
        if let ItemKind::Group(alternatives) = &item.kind {
            todo.extend(alternatives.iter().flat_map(|segment| &segment.items));
        }
    }
}

/// Whether a path names a junction.
pub(super) fn names_junction(segment: &Segment, name: &str) -> bool {
    let mut todo: Vec<&Item> = segment.items.iter().collect();
    while let Some(item) = todo.pop() {
        match &item.kind {
            ItemKind::Junction(junction) if junction.text == name => return true,
            ItemKind::Group(alternatives) => todo.extend(alternatives.iter().flat_map(|segment| &segment.items)),
            _ => {}
        }
    }
    false
}

/// The junctions and the elements (ports may be written like these) that a path names.
fn points_named<'s>(segment: &'s Segment, named: &mut FxHashSet<&'s str>) {
    let mut todo: Vec<&Item> = segment.items.iter().collect();
    while let Some(item) = todo.pop() {
        match &item.kind {
            ItemKind::Junction(name) => {
                named.insert(name.text.as_str());
            }
            ItemKind::Element { target, .. } => {
                named.extend(target.parts.first().map(|part| part.text.as_str()));
            }
            ItemKind::Group(alternatives) => todo.extend(alternatives.iter().flat_map(|segment| &segment.items)),
        }
    }
}

/// Whether anything but junctions and wires stands in an item.
fn holds_element(item: &Item) -> bool {
    match &item.kind {
        ItemKind::Junction(_) => false,
        ItemKind::Element { .. } => true,
        ItemKind::Group(alternatives) => alternatives.iter().flat_map(|segment| &segment.items).any(holds_element),
    }
}
