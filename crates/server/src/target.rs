//! What stands at a place of the text.

use ohmline_analysis::Analysis;
use ohmline_circuit::{ElementId, NodeId, StateId};
use ohmline_syntax::tree::{
    Assign, Expr, ExprKind, Item, ItemKind, Name, Point, Quantity, QuantityKind, Ref, Segment, Stmt, StmtKind, Text,
    Value, ValueMain,
};
use ohmline_syntax::{FileId, FileSpan, RelSpan, Span, Tree};

/// Something that can be spoken of.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum What {
    /// An element; several when the place belongs to a part or a `repeat`.
    Elements(Vec<ElementId>),
    /// What a declaration by a part's name made: the name before the dot.
    Instance(String),
    /// A junction; several as for elements.
    Nodes(Vec<NodeId>),
    /// A state: the place names a case.
    Case(StateId),
    /// A `let`: the file and the index of its statement.
    Let(FileId, usize),
    /// A part of the user's: the file and the index of its head.
    Part(FileId, usize),
    /// An `include`: the index of its statement.
    Include(usize),
    /// The statement itself, with nothing of its own at the place: its index.
    Statement(usize),
}

/// Something at a place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Target {
    /// Where its words stand.
    pub span: Span,
    /// What it is.
    pub what: What,
    /// The statement it stands in, by index.
    pub stmt: usize,
}

/// What stands at a byte offset of the document.
pub fn at(analysis: &Analysis, offset: u32) -> Option<Target> {
    let main = analysis.sources.files.first()?;
    let stmt = stmt_at(&main.tree, offset)?;
    let mut walk = Walk { analysis, tree: &main.tree, stmt, offset, best: None };
    walk.statement();
    let range = main.tree.stmts[stmt].range();
    Some(match walk.best {
        Some((span, what)) => Target { span, what, stmt },
        None => Target { span: range, what: What::Statement(stmt), stmt },
    })
}

/// The index of the statement that holds or touches an offset.
fn stmt_at(tree: &Tree, offset: u32) -> Option<usize> {
    let after = tree.stmts.partition_point(|stmt| stmt.offset <= offset);
    let index = after.checked_sub(1)?;
    tree.stmts[index].range().touches(offset).then_some(index)
}

/// The innermost block around a statement, by the index of its head.
fn block_around(tree: &Tree, stmt: usize) -> Option<usize> {
    let holds = |block: &&ohmline_syntax::tree::Block| (block.head as usize) < stmt && stmt < block.close as usize;
    tree.blocks.iter().filter(holds).map(|block| block.head as usize).max()
}

/// The word of letters at an offset, for keywords.
pub fn word_at(text: &str, offset: u32) -> Option<(Span, &str)> {
    let offset = offset as usize;
    if !text.is_char_boundary(offset) {
        return None;
    }
    let part = |c: char| c.is_alphanumeric() || c == '_';
    let start = text[..offset].char_indices().rev().take_while(|(_, c)| part(*c)).last().map_or(offset, |(at, _)| at);
    let end = text[offset..].find(|c: char| !part(c)).map_or(text.len(), |at| offset + at);
    (start < end).then(|| (Span::new(start as u32, end as u32), &text[start..end]))
}

/// Looks through one statement for the smallest thing that touches the offset.
struct Walk<'a> {
    analysis: &'a Analysis,
    tree: &'a Tree,
    stmt: usize,
    offset: u32,
    best: Option<(Span, What)>,
}

impl<'a> Walk<'a> {
    fn stmt(&self) -> &'a Stmt {
        &self.tree.stmts[self.stmt]
    }

    fn touches(&self, rel: RelSpan) -> bool {
        self.stmt().span(rel).touches(self.offset)
    }

    /// Where two things meet, the one that begins at the offset is meant; the walk goes from left to right.
    fn take(&mut self, rel: RelSpan, what: Option<What>) {
        if let Some(what) = what {
            self.best = Some((self.stmt().span(rel), what));
        }
    }

    fn statement(&mut self) {
        match &self.stmt().node.kind {
            StmtKind::Circuit(_) | StmtKind::End | StmtKind::Error => {}
            StmtKind::Include(text) => {
                if self.touches(text.span) {
                    self.take(text.span, Some(What::Include(self.stmt)));
                }
            }
            StmtKind::Let { name, value } => {
                if self.touches(name.span) {
                    self.take(name.span, Some(What::Let(FileId::MAIN, self.stmt)));
                }
                self.value(value);
            }
            StmtKind::Declare(declare) => {
                if self.touches(declare.kind.span) {
                    let part = find_part(self.analysis, &declare.kind.text);
                    self.take(declare.kind.span, part.map(|(file, stmt)| What::Part(file, stmt)));
                }
                for name in &declare.names {
                    if self.touches(name.span) {
                        let what = self.element(name.text.as_str(), name.span);
                        self.take(name.span, what);
                    }
                }
                if let Some(value) = &declare.value {
                    self.value(value);
                }
                for option in &declare.options {
                    self.value(&option.value);
                }
            }
            StmtKind::Path(segment) => self.segment(segment),
            StmtKind::Reference(point) => self.point(point),
            StmtKind::Find { quantity, case } => {
                self.quantity(quantity);
                self.case(case.as_ref());
            }
            StmtKind::Given { quantity, value, case } => {
                self.quantity(quantity);
                self.expr(value);
                self.case(case.as_ref());
            }
            StmtKind::Measured { quantity, value, within, case }
            | StmtKind::ClaimQuantity { quantity, value, within, case } => {
                self.quantity(quantity);
                self.expr(value);
                if let Some(within) = within {
                    self.expr(within);
                }
                self.case(case.as_ref());
            }
            StmtKind::ClaimRelation { branches, case, .. } => {
                branches.iter().for_each(|branch| self.refs(&branch.elements));
                self.case(case.as_ref());
            }
            StmtKind::Case { name, assigns } => {
                self.case(Some(name));
                for Assign { target, value } in assigns {
                    self.reference(target);
                    self.value(value);
                }
            }
            StmtKind::Part { name, parameters, .. } => {
                if self.touches(name.span) {
                    self.take(name.span, Some(What::Part(FileId::MAIN, self.stmt)));
                }
                for parameter in parameters {
                    self.value(&parameter.value);
                }
            }
            StmtKind::Repeat { from, to, .. } => {
                self.expr(from);
                self.expr(to);
            }
        }
    }

    fn segment(&mut self, segment: &Segment) {
        for Item { kind, span } in &segment.items {
            if !self.touches(*span) {
                continue;
            }
            match kind {
                ItemKind::Junction(name) => {
                    let what = self.junction(name);
                    self.take(*span, what);
                }
                ItemKind::Element { target, .. } => {
                    let what = self.named(target);
                    self.take(*span, what);
                }
                ItemKind::Group(alternatives) => alternatives.iter().for_each(|inner| self.segment(inner)),
            }
        }
    }

    fn point(&mut self, point: &Point) {
        if !self.touches(point.span()) {
            return;
        }
        match point {
            Point::Junction(name) => {
                let what = self.junction(name);
                self.take(name.span, what);
            }
            Point::Terminal { target, span, .. } => {
                let what = self.named(target);
                self.take(*span, what);
            }
        }
    }

    fn quantity(&mut self, quantity: &Quantity) {
        use QuantityKind::*;
        match &quantity.kind {
            CurrentThrough(refs) | VoltageAcross(refs) | PowerOf(refs) | ChargeOf(refs) | EnergyOf(refs)
            | ValueOf(refs) => self.refs(refs),
            CurrentInto(point) | PotentialAt(point) => self.point(point),
            VoltageFrom(from, to) | ResistanceBetween(from, to) | CapacitanceBetween(from, to) => {
                self.point(from);
                self.point(to);
            }
            ResistanceSeenBy(target) => self.reference(target),
        }
        if let Some(after) = &quantity.after {
            self.expr(after);
        }
    }

    fn refs(&mut self, refs: &[Ref]) {
        refs.iter().for_each(|target| self.reference(target));
    }

    fn reference(&mut self, target: &Ref) {
        if self.touches(target.span) {
            let what = self.named(target);
            self.take(target.span, what);
        }
    }

    fn case(&mut self, case: Option<&Text>) {
        if let Some(text) = case
            && self.touches(text.span)
        {
            let named = |state: &StateId| {
                self.analysis.circuit.states[state.index()].name.as_ref().is_some_and(|name| *name == text.text)
            };
            let state = self.analysis.circuit.state_ids().find(named);
            self.take(text.span, state.map(What::Case));
        }
    }

    fn value(&mut self, value: &Value) {
        if let ValueMain::Expr(expr) = &value.main {
            self.expr(expr);
        }
        if let Some(at) = &value.at {
            self.expr(at);
        }
    }

    fn expr(&mut self, expr: &Expr) {
        if !self.touches(expr.span) {
            return;
        }
        match &expr.kind {
            ExprKind::Number { .. } => {}
            ExprKind::Ref(target) => self.reference(target),
            ExprKind::Neg(inner) | ExprKind::Group { inner, .. } => self.expr(inner),
            ExprKind::Binary { left, right, .. } => {
                self.expr(left);
                self.expr(right);
            }
        }
    }

    /// What a reference names: an element, its terminal or option, a copy of a part, a `let`.
    fn named(&self, target: &Ref) -> Option<What> {
        let full = ref_text(target);
        let found = self.element(&full, target.span);
        if found.is_some() {
            return found;
        }
        if let [owner @ .., _] = &target.parts[..]
            && !owner.is_empty()
        {
            let names: Vec<_> = owner.iter().map(|name| name.text.as_str()).collect();
            return self.element(&names.join("."), target.span);
        }
        find_let(self.analysis, &full).map(|(file, stmt)| What::Let(file, stmt))
    }

    /// The element or elements behind a name at a place.
    fn element(&self, name: &str, rel: RelSpan) -> Option<What> {
        let circuit = &self.analysis.circuit;
        if block_around(self.tree, self.stmt).is_none() {
            if let Some(id) = circuit.element_names.get(name) {
                return Some(What::Elements(vec![*id]));
            }
            let prefix = format!("{name}.");
            let is_instance = circuit.elements.iter().any(|element| element.name.starts_with(&prefix));
            return is_instance.then(|| What::Instance(name.to_owned()));
        }
        // Inside a part or a `repeat`: every copy of what stands here.
        let here = self.stmt().span(rel);
        let is_here = |at: &FileSpan| at.file == FileId::MAIN && at.span.start < here.end && here.start < at.span.end;
        let copies = circuit.element_ids().filter(|id| {
            let element = circuit.element(*id);
            is_here(&element.declared) || element.uses.iter().any(is_here)
        });
        let copies: Vec<_> = copies.collect();
        (!copies.is_empty()).then_some(What::Elements(copies))
    }

    fn junction(&self, name: &Name) -> Option<What> {
        let circuit = &self.analysis.circuit;
        let Some(block) = block_around(self.tree, self.stmt) else {
            return circuit.junction_names.get(&name.text).map(|id| What::Nodes(vec![*id]));
        };
        let inside_part = matches!(self.tree.stmts[block].node.kind, StmtKind::Part { .. });
        let matches = |known: &str| {
            let local = if inside_part { known.rsplit_once('.').map(|(_, local)| local) } else { Some(known) };
            local.is_some_and(|local| fits(name.text.as_str(), local))
        };
        let nodes = circuit.node_ids().filter(|id| circuit.node(*id).names.iter().any(|known| matches(known)));
        let nodes: Vec<_> = nodes.collect();
        (!nodes.is_empty()).then_some(What::Nodes(nodes))
    }
}

/// Whether a name is what a pattern with `{k+1}` holes can become.
fn fits(pattern: &str, name: &str) -> bool {
    let Some((before, rest)) = pattern.split_once('{') else { return pattern == name };
    let Some((_, after)) = rest.split_once('}') else { return false };
    let Some(name) = name.strip_prefix(before) else { return false };
    let digits = name.len() - name.trim_start_matches(|c: char| c.is_ascii_digit() || c == '-').len();
    digits > 0 && fits(after, &name[digits..])
}

/// A reference as written.
pub fn ref_text(target: &Ref) -> String {
    let names: Vec<_> = target.parts.iter().map(|name| name.text.as_str()).collect();
    names.join(".")
}

/// The `let` of this name in any file: file and index of the statement.
pub fn find_let(analysis: &Analysis, wanted: &str) -> Option<(FileId, usize)> {
    find(analysis, |kind| matches!(kind, StmtKind::Let { name, .. } if name.text == wanted))
}

/// The part of this name in any file: file and index of its head.
pub fn find_part(analysis: &Analysis, wanted: &str) -> Option<(FileId, usize)> {
    find(analysis, |kind| matches!(kind, StmtKind::Part { name, .. } if name.text == wanted))
}

fn find(analysis: &Analysis, mut fits: impl FnMut(&StmtKind) -> bool) -> Option<(FileId, usize)> {
    analysis.sources.files.iter().enumerate().find_map(|(file, source)| {
        let stmt = source.tree.stmts.iter().position(|stmt| fits(&stmt.node.kind))?;
        Some((FileId(file as u32), stmt))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holes_match_numbers() {
        assert!(fits("n{k}", "n12"));
        assert!(fits("n{k+1}_{j}", "n3_4"));
        assert!(!fits("n{k}", "n"));
        assert!(!fits("n{k}", "m1"));
        assert!(!fits("n{k", "n1"));
        assert!(fits("n", "n"));
    }

    #[test]
    fn words_end_at_what_is_no_letter() {
        let word = |offset| word_at("claim Ωa, b", offset).map(|(_, word)| word);
        assert_eq!(word(0), Some("claim"));
        assert_eq!(word(5), Some("claim"));
        assert_eq!(word(6), Some("Ωa"));
        assert_eq!(word(7), None);
        assert_eq!(word(10), None);
        assert_eq!(word(11), Some("b"));
        assert_eq!(word(99), None);
    }
}
