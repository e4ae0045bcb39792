//! What is shown when the pointer rests on something: its values in every case, and why they are so.

mod case;
mod causes;
mod company;
mod copies;
mod definition;
mod element;
mod junction;
mod page;
mod proof;
mod rule;
mod statement;
mod values;

use ohmline_analysis::Analysis;
use ohmline_circuit::quantity::Style;
use ohmline_circuit::{Circuit, NodeId, StateId};
use ohmline_solve::StateAnswers;
use ohmline_syntax::tree::Stmt;
use ohmline_syntax::{FileSpan, Tree};

pub use page::{Hover, Part};

use crate::target::{self, What};

/// Significant digits of every value shown.
const DIGITS: Style = Style::Digits(3);
/// The most entries of a list or rows of a table; what is left out is counted.
const MOST: usize = 12;
/// With more states than this, each state is a row.
const WIDE: usize = 4;

/// What is known about the place at this byte offset of the document, and what proves the findings there.
pub fn hover(analysis: &Analysis, offset: u32) -> Option<Hover> {
    match (place(analysis, offset), proof::at(analysis, offset)) {
        (Some(mut told), Some((_, proofs))) => {
            told.parts.push(Part::Rule);
            told.parts.extend(proofs);
            Some(told)
        }
        (told @ Some(_), None) => told,
        (None, Some((span, parts))) => Some(Hover { span, parts }),
        (None, None) => None,
    }
}

fn place(analysis: &Analysis, offset: u32) -> Option<Hover> {
    let main = analysis.sources.files.first()?;
    if let Some(told) = rule::in_comment(&main.tree, offset) {
        return Some(told);
    }
    let found = target::at(analysis, offset)?;
    let teller = Teller { analysis, circuit: &analysis.circuit, tree: &main.tree };
    let stmt = &main.tree.stmts[found.stmt];
    let (span, parts) = match &found.what {
        What::Elements(ids) => match ids[..] {
            [id] => (found.span, teller.element(id)),
            _ => (found.span, teller.elements(main.tree.slice(found.span), ids)),
        },
        What::Instance(name) => (found.span, teller.instance(name)),
        What::Nodes(ids) => match ids[..] {
            [id] => (found.span, teller.node(id)),
            _ => (found.span, teller.nodes(main.tree.slice(found.span), ids)),
        },
        What::Case(state) => (found.span, teller.case(*state)),
        What::Let(file, index) | What::Part(file, index) => (found.span, teller.definition(*file, *index)),
        What::Include(index) => (found.span, teller.include(*index)),
        What::Statement(_) => {
            let word = target::word_at(&main.tree.text, offset);
            let at_first_word = word.is_some_and(|(span, _)| span.start == stmt.offset);
            let help = word.and_then(|(span, word)| Some((span, teller.keyword(word)?)));
            match (teller.statement(stmt), help) {
                // Its first word speaks for the statement; a word of the notation inside it for itself.
                (Some(mut told), Some((_, help))) if at_first_word => {
                    told.push(Part::Rule);
                    told.extend(help);
                    (stmt.range(), told)
                }
                (_, Some((span, help))) => (span, help),
                (Some(told), None) => (stmt.range(), told),
                (None, None) => return None,
            }
        }
    };
    let mut parts = parts;
    // On a name inside a claim or a question, its answer is the next thing one wants to know.
    if matches!(found.what, What::Elements(_) | What::Nodes(_) | What::Instance(_))
        && let Some(told) = teller.statement(stmt)
    {
        parts.push(Part::Rule);
        parts.extend(told);
    }
    (!parts.is_empty()).then_some(Hover { span, parts })
}

struct Teller<'a> {
    analysis: &'a Analysis,
    circuit: &'a Circuit,
    tree: &'a Tree,
}

/// One quantity in every state.
struct Row {
    name: String,
    cells: Vec<String>,
}

impl Teller<'_> {
    fn states(&self) -> impl Iterator<Item = (StateId, &StateAnswers)> {
        self.circuit.state_ids().zip(&self.analysis.answers.states)
    }

    fn state_name(&self, state: StateId) -> String {
        match &self.circuit.states[state.index()].name {
            None => "as drawn".to_owned(),
            Some(name) => format!("\"{name}\""),
        }
    }

    /// One row for each quantity and one column for each state; turned round when there are many states.
    fn table(&self, rows: Vec<Row>) -> Option<Part> {
        if rows.is_empty() {
            return None;
        }
        let states: Vec<_> = self.states().map(|(state, _)| self.state_name(state)).collect();
        if states.len() <= WIDE {
            let head = std::iter::once(String::new()).chain(states).collect();
            let rows = rows.into_iter().map(|row| std::iter::once(row.name).chain(row.cells).collect()).collect();
            return Some(Part::Table { head, rows, left_out: 0 });
        }
        let head = std::iter::once(String::new()).chain(rows.iter().map(|row| row.name.clone())).collect();
        let left_out = states.len().saturating_sub(MOST);
        let lines = states.into_iter().enumerate().take(MOST).map(|(index, state)| {
            let cells = rows.iter().map(|row| row.cells.get(index).cloned().unwrap_or_default());
            std::iter::once(state).chain(cells).collect()
        });
        Some(Part::Table { head, rows: lines.collect(), left_out })
    }

    /// The statement that holds a place, with its file.
    fn stmt_of(&self, at: FileSpan) -> Option<(&Tree, &Stmt)> {
        let tree = &self.analysis.sources.files.get(at.file.0 as usize)?.tree;
        Some((tree, tree.stmt_at(at.span.start)?))
    }

    /// A statement as written, and the comment above it.
    fn source(&self, at: FileSpan) -> Vec<Part> {
        let Some((tree, stmt)) = self.stmt_of(at) else { return Vec::new() };
        let mut parts = vec![Part::Source(tree.slice(stmt.range()).to_owned())];
        parts.extend(tree.doc(stmt).map(Part::Text));
        parts
    }

    /// A node in the middle of a sentence.
    fn point(&self, node: NodeId) -> String {
        let label = self.node_name(node);
        if label.starts_with("between ") { format!("the point {label}") } else { label }
    }

    fn node_name(&self, node: NodeId) -> String {
        self.circuit.node(node).label.to_string()
    }
}
