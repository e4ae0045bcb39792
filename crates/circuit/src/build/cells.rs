//! `let`s and parameters: evaluated when first needed, each once a state.

use malachite::Rational;
use ohmline_syntax::FileSpan;
use ohmline_syntax::tree::{Expr, ExprKind, Value, ValueMain};
use smol_str::SmolStr;

use super::report::{diagnostic, listed};
use super::{Builder, Site, rules};
use crate::model::ElementId;
use crate::quantity::Measure;

/// What a value turns out to be.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Content {
    /// A number with its dimension.
    Measure(Measure),
    /// `?`
    Asked,
    /// `open`, `closed`, `a`, ...
    Word(SmolStr),
    /// Could not be read, which has been reported.
    Invalid,
}

impl Content {
    pub(super) fn plain(value: i64) -> Self {
        Content::Measure(Measure { value: Rational::from(value), dimension: crate::quantity::Dimension::NONE })
    }
}

/// Who reads a cell and must be looked at again when it changes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Reader {
    Cell(u32),
    Element(ElementId),
}

#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Status {
    New,
    Visiting,
    Done(Content),
}

/// A `let` or a parameter.
pub(super) struct Cell<'a> {
    pub(super) name: SmolStr,
    pub(super) at: FileSpan,
    pub(super) value: &'a Value,
    pub(super) site: Site,
    pub(super) status: Status,
    pub(super) readers: Vec<Reader>,
}

impl<'a> Builder<'a> {
    pub(super) fn new_cell(&mut self, name: SmolStr, at: FileSpan, value: &'a Value, site: Site) -> u32 {
        self.cells.push(Cell { name, at, value, site, status: Status::New, readers: Vec::new() });
        self.cells.len() as u32 - 1
    }

    /// The content of a cell. Evaluates what it depends on first, without recursion, so that a chain of any length is
    /// safe; reports cells that lead back to themselves.
    pub(super) fn cell(&mut self, id: u32) -> Content {
        if let Status::Done(content) = &self.cells[id as usize].status {
            return content.clone();
        }
        let mut path = vec![id];
        while let Some(&top) = path.last() {
            match self.cells[top as usize].status {
                Status::Done(_) => {
                    path.pop();
                }
                Status::New => {
                    self.cells[top as usize].status = Status::Visiting;
                    let (value, site) = (self.cells[top as usize].value, self.cells[top as usize].site);
                    for next in self.cells_in(value, site) {
                        match self.cells[next as usize].status {
                            Status::New => path.push(next),
                            Status::Visiting => self.report_cycle(&path, next),
                            Status::Done(_) => {}
                        }
                    }
                }
                Status::Visiting => {
                    let (value, site) = (self.cells[top as usize].value, self.cells[top as usize].site);
                    let content = self.content(value, site, Some(Reader::Cell(top)));
                    self.cells[top as usize].status = Status::Done(content);
                    path.pop();
                }
            }
        }
        match &self.cells[id as usize].status {
            Status::Done(content) => content.clone(),
            // Unreachable: the loop ends only when the first cell is done.
            _ => Content::Invalid,
        }
    }

    /// What every cell that has been evaluated comes to, as far as that is a number, by the place of its name.
    pub(super) fn measures(&self) -> Vec<(FileSpan, Measure)> {
        let known = |cell: &Cell<'_>| match &cell.status {
            Status::Done(Content::Measure(measure)) => Some((cell.at, measure.clone())),
            _ => None,
        };
        self.cells.iter().filter_map(known).collect()
    }

    /// Reports that the cell `again` leads back to itself, and settles all cells of the loop.
    fn report_cycle(&mut self, path: &[u32], again: u32) {
        let visiting = |id: &u32| self.cells[*id as usize].status == Status::Visiting;
        let mut ring: Vec<u32> = path.iter().copied().filter(visiting).collect();
        let start = ring.iter().position(|id| *id == again).unwrap_or(0);
        ring.drain(..start);
        ring.dedup();
        let first = ring.iter().copied().min_by_key(|id| self.cells[*id as usize].at).unwrap_or(again);
        let cell = &self.cells[first as usize];
        let names = ring.iter().map(|id| &self.cells[*id as usize].name);
        let message = if ring.len() == 1 {
            format!("The value of `{}` is defined by itself", cell.name)
        } else if ring.len() <= 6 {
            format!("The values of {} are defined by each other", listed(names))
        } else {
            format!("The value of `{}` leads back to itself through {} others", cell.name, ring.len() - 1)
        };
        let mut found = diagnostic(rules::CIRCULAR_VALUE, cell.at, message)
            .help("Give one of them a value that does not depend on the others");
        for other in ring.iter().filter(|id| **id != first).take(5) {
            found = found.label(self.cells[*other as usize].at, "part of the circle");
        }
        self.report.add(found);
        for id in ring {
            self.cells[id as usize].status = Status::Done(Content::Invalid);
        }
    }

    /// The cells that a value names.
    fn cells_in(&self, value: &Value, site: Site) -> Vec<u32> {
        let mut found = Vec::new();
        if let ValueMain::Expr(expr) = &value.main {
            self.collect_cells(expr, site, &mut found);
        }
        found
    }

    fn collect_cells(&self, expr: &Expr, site: Site, found: &mut Vec<u32>) {
        let mut todo = vec![expr];
        while let Some(expr) = todo.pop() {
            match &expr.kind {
                ExprKind::Number { .. } => {}
                ExprKind::Ref(name) => {
                    if let [only] = name.parts.as_slice()
                        && self.counting(&only.text, site.env).is_none()
                        && let Some(super::scope::Symbol::Cell(id)) = self.lookup(site.scope, &only.text)
                    {
                        found.push(id);
                    }
                }
                ExprKind::Neg(inner) | ExprKind::Group { inner, .. } => todo.push(inner),
                ExprKind::Binary { left, right, .. } => todo.extend([&**left, &**right]),
            }
        }
    }
}
