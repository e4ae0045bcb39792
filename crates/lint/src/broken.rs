//! What stands in text that could not be read: it counts as connected, so that nothing is said about connections that are
//! only missing because their statement is.

use ohmline_circuit::NodeId;
use ohmline_syntax::tree::{Item, ItemKind, Segment, StmtKind};
use ohmline_syntax::words::{KINDS, STATEMENTS};
use ohmline_syntax::{FileSpan, Severity};
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use crate::context::Context;

/// Names and nodes whose connections may be incomplete.
#[derive(Default)]
pub struct Broken {
    /// Whether anything at all could not be read, in any statement.
    pub any: bool,
    /// Element names, or the part before a `{`, or the last name of a reference.
    elements: FxHashSet<SmolStr>,
    nodes: FxHashSet<NodeId>,
    pieces: FxHashSet<u32>,
}

impl Broken {
    /// Whether something at this node may be missing.
    pub fn node(&self, node: NodeId) -> bool {
        self.nodes.contains(&node)
    }

    /// Whether something in this piece may be missing.
    pub fn piece(&self, piece: u32) -> bool {
        self.pieces.contains(&piece)
    }

    /// Whether an element of this name stands in text that could not be read.
    pub fn element(&self, name: &str) -> bool {
        !self.elements.is_empty() && matches(&self.elements, name)
    }

    /// Looks through the statements; when nothing went wrong, only at their kinds.
    pub fn find(context: &Context<'_>) -> Self {
        let errors: Vec<FileSpan> = context
            .circuit
            .diagnostics
            .iter()
            .filter(|diagnostic| diagnostic.severity == Severity::Error)
            .map(|diagnostic| diagnostic.primary.at)
            .collect();
        let unread = |context: &Context<'_>| {
            context
                .sources
                .files
                .iter()
                .any(|file| file.tree.stmts.iter().any(|stmt| stmt.node.kind == StmtKind::Error))
        };
        if errors.is_empty() && !unread(context) {
            return Self::default();
        }
        let mut names = Names::default();
        for (index, file) in context.sources.files.iter().enumerate() {
            for stmt in &file.tree.stmts {
                let range = stmt.range();
                let lost = match &stmt.node.kind {
                    StmtKind::Error => is_path_like(file.tree.slice(range)),
                    StmtKind::Path(path) => {
                        errors.iter().any(|at| {
                            at.file.0 as usize == index && range.start <= at.span.start && at.span.start <= range.end
                        }) || names_unknown(context, path)
                    }
                    _ => false,
                };
                if lost {
                    names.read(file.tree.slice(range));
                }
            }
        }
        let mut broken = Self { any: true, elements: names.elements, ..Self::default() };
        let circuit = context.circuit;
        for id in circuit.node_ids() {
            let by_name = circuit.node(id).names.iter().any(|name| matches(&names.junctions, name));
            let by_end = || circuit.ends(id).iter().any(|end| broken.element(&circuit.element(end.element).name));
            if by_name || by_end() {
                broken.nodes.insert(id);
                if let Some(piece) = context.topologies.first().and_then(|topology| topology.piece.get(id.index())) {
                    broken.pieces.insert(*piece);
                }
            }
        }
        broken
    }
}

/// Whether an unreadable statement could have been a path.
fn is_path_like(text: &str) -> bool {
    let first: String = text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    !STATEMENTS.contains(&first.as_str()) && !KINDS.contains(&first.as_str())
}

/// Whether a path names an element that is not there (its declaration may be the unreadable one).
fn names_unknown(context: &Context<'_>, path: &Segment) -> bool {
    path.items.iter().any(|item: &Item| match &item.kind {
        ItemKind::Junction(_) => false,
        ItemKind::Group(alternatives) => alternatives.iter().any(|segment| names_unknown(context, segment)),
        // Names inside parts and repeats are not in the table as written; their statements are found by the errors alone.
        ItemKind::Element { target, .. } => {
            let name = &target.parts[0].text;
            !name.contains('{')
                && !context.circuit.element_names.contains_key(name)
                && target.parts.len() == 1
                && !context.circuit.elements.iter().any(|element| last(&element.name) == name)
        }
    })
}

/// The last name of a reference.
fn last(name: &str) -> &str {
    name.rsplit('.').next().unwrap_or(name)
}

/// Whether a name is in the set: as it is, by its last part, or by what stands before a counting hole.
fn matches(set: &FxHashSet<SmolStr>, name: &str) -> bool {
    if set.is_empty() {
        return false;
    }
    set.contains(name) || set.contains(last(name)) || {
        let stem = last(name).trim_end_matches(|c: char| c.is_ascii_digit());
        stem.len() < last(name).len() && set.contains(format!("{stem}{{").as_str())
    }
}

/// Names read from text without understanding it.
#[derive(Default)]
struct Names {
    elements: FxHashSet<SmolStr>,
    junctions: FxHashSet<SmolStr>,
}

impl Names {
    fn read(&mut self, text: &str) {
        let mut rest = text;
        while let Some(first) = rest.chars().next() {
            let is_junction = first == '@';
            let body = if is_junction { &rest[1..] } else { rest };
            let length = body.find(|c: char| !(c.is_alphanumeric() || c == '_' || c == '.')).unwrap_or(body.len());
            if length == 0 {
                rest = &rest[first.len_utf8()..];
                continue;
            }
            let (name, after) = body.split_at(length);
            let set = if is_junction { &mut self.junctions } else { &mut self.elements };
            if after.starts_with('{') {
                set.insert(format!("{name}{{").into());
            }
            set.insert(name.into());
            // `P1.wiper` speaks of P1.
            if let Some((element, _)) = name.rsplit_once('.') {
                set.insert(element.into());
            }
            rest = after;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_in_any_text() {
        let mut names = Names::default();
        names.read("B1+ -- ( R1 -- @qu\u{e4}y | P2.wiper -- R{k} --");
        for name in ["B1", "R1", "P2", "P2.wiper", "R{"] {
            assert!(names.elements.contains(name), "{name}");
        }
        assert!(names.junctions.contains("qu\u{e4}y"));
        assert!(matches(&names.elements, "Left.R1"));
        assert!(matches(&names.elements, "R17"));
        assert!(!matches(&names.elements, "S17"));
    }

    #[test]
    fn only_text_that_could_be_a_path_counts() {
        assert!(is_path_like("B1+ -- R1 --"));
        assert!(is_path_like("@a -- ("));
        assert!(!is_path_like("claim R1 R2 in series"));
        assert!(!is_path_like("resistor R1 = = 4 ohm"));
    }
}
