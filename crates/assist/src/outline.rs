//! What a document declares, as a tree.

use ohmline_syntax::tree::{Stmt, StmtKind};
use ohmline_syntax::words::KINDS;
use ohmline_syntax::{RelSpan, Span, Tree};

/// What an entry is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum EntryKind {
    /// The circuit.
    Circuit,
    /// A part.
    Part,
    /// A `repeat`.
    Repeat,
    /// An element or a copy of a part.
    Element,
    /// A `let`.
    Value,
    /// A case.
    Case,
    /// A question or a claim.
    Question,
}

/// An entry of the outline.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Entry {
    /// Its name.
    pub name: String,
    /// What stands beside it: kind and value.
    pub detail: String,
    /// What it is.
    pub kind: EntryKind,
    /// All of it.
    pub whole: Span,
    /// Its name.
    pub at: Span,
    /// What it holds.
    pub children: Vec<Entry>,
}

/// The outline of a document.
pub fn outline(tree: &Tree) -> Vec<Entry> {
    let end = tree.stmts.len() as u32;
    let mut entries = between(tree, 0, end);
    // The circuit holds everything below its title.
    if let Some(at) = entries.iter().position(|entry| entry.kind == EntryKind::Circuit) {
        let children = entries.split_off(at + 1);
        if let (Some(circuit), Some(last)) = (entries.last_mut(), tree.stmts.last()) {
            circuit.whole.end = last.range().end;
            circuit.children = children;
        }
    }
    entries
}

fn between(tree: &Tree, from: u32, to: u32) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut number = from;
    while number < to {
        let stmt = &tree.stmts[number as usize];
        let block = tree.blocks.binary_search_by_key(&number, |block| block.head).ok().map(|at| tree.blocks[at]);
        let (children, whole, next) = match block {
            Some(block) => {
                let close = block.close.min(tree.stmts.len() as u32);
                let last = if block.closed { close } else { close.saturating_sub(1).max(number) };
                let end = tree.stmts.get(last as usize).map_or(stmt.range().end, |stmt| stmt.range().end);
                let children = between(tree, number + 1, close);
                (children, Span::new(stmt.offset, end), (close + u32::from(block.closed)).max(number + 1))
            }
            None => (Vec::new(), stmt.range(), number + 1),
        };
        entries.extend(entry(tree, stmt, whole, children));
        number = next;
    }
    entries
}

fn entry(tree: &Tree, stmt: &Stmt, whole: Span, children: Vec<Entry>) -> Vec<Entry> {
    let one = |name: &str, detail: String, kind: EntryKind, at: RelSpan, children: Vec<Entry>| {
        let name = if name.is_empty() { "(no name)".to_owned() } else { name.to_owned() };
        vec![Entry { name, detail, kind, whole, at: stmt.span(at), children }]
    };
    match &stmt.node.kind {
        StmtKind::Circuit(title) => one(&title.text, "circuit".to_owned(), EntryKind::Circuit, title.span, children),
        StmtKind::Let { name, value } => {
            let value = tree.slice(stmt.span(value.span)).to_owned();
            one(&name.text, value, EntryKind::Value, name.span, children)
        }
        StmtKind::Part { name, ports, .. } => {
            let ports: Vec<&str> = ports.iter().map(|port| port.text.as_str()).collect();
            one(&name.text, format!("part ({})", ports.join(", ")), EntryKind::Part, name.span, children)
        }
        StmtKind::Repeat { variable, from, to } => {
            let bounds = tree.slice(stmt.span(from.span.to(to.span))).to_owned();
            one(&variable.text, format!("repeat {bounds}"), EntryKind::Repeat, variable.span, children)
        }
        StmtKind::Case { name, assigns } => {
            let assigned: Vec<&str> =
                assigns.iter().map(|assign| tree.slice(stmt.span(assign.target.span.to(assign.value.span)))).collect();
            one(&name.text, assigned.join(", "), EntryKind::Case, name.span, children)
        }
        StmtKind::Declare(declare) => {
            let word = declare.kind.text.as_str();
            let value = declare.value.as_ref().map(|value| tree.slice(stmt.span(value.span)));
            let detail = match value {
                Some(value) => format!("{word} {value}"),
                None if KINDS.contains(&word) => word.to_owned(),
                None => format!("copy of {word}"),
            };
            declare
                .names
                .iter()
                .map(|name| Entry {
                    name: name.text.to_string(),
                    detail: detail.clone(),
                    kind: EntryKind::Element,
                    whole,
                    at: stmt.span(name.span),
                    children: Vec::new(),
                })
                .collect()
        }
        StmtKind::Find { .. }
        | StmtKind::ClaimQuantity { .. }
        | StmtKind::ClaimRelation { .. }
        | StmtKind::Measured { .. } => {
            let text = tree.slice(stmt.range());
            let (word, rest) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
            vec![Entry {
                name: rest.trim().to_owned(),
                detail: word.to_owned(),
                kind: EntryKind::Question,
                whole,
                at: stmt.range(),
                children: Vec::new(),
            }]
            .into_iter()
            .filter(|entry| !entry.name.is_empty())
            .collect()
        }
        _ => children,
    }
}
