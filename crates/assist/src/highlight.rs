//! All places of what stands at a place; for a junction, everything that is the same point.

use ohmline_analysis::Analysis;
use ohmline_circuit::NodeId;
use ohmline_syntax::{FileId, FileSpan, Span};

use crate::occurrences::{Index, Role, SymbolKind};

/// A place to be shown.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Place {
    /// Where, in the document itself.
    pub span: Span,
    /// Whether it is declared there.
    pub declares: bool,
}

/// Everything in the document that is what stands at an offset.
pub fn highlight(analysis: &Analysis, index: &Index, offset: u32) -> Vec<Place> {
    let Some(own) = index.at(FileId::MAIN, offset) else { return Vec::new() };
    let mut places: Vec<Place> = index
        .of(own.symbol)
        .filter(|place| place.at.file == FileId::MAIN && place.role != Role::Field)
        .map(|place| Place { span: place.at.span, declares: place.role == Role::Definition })
        .collect();
    let symbol = index.symbol(own.symbol);
    if symbol.kind == SymbolKind::Junction
        && symbol.scope.part.is_none()
        && let Some(node) = analysis.circuit.junction_names.get(&symbol.name)
    {
        same_point(analysis, index, *node, &mut places);
    }
    places.sort();
    places.dedup_by_key(|place| place.span);
    places
}

/// Other names of a node, and the terminals that paths name at it.
fn same_point(analysis: &Analysis, index: &Index, node: NodeId, places: &mut Vec<Place>) {
    let circuit = &analysis.circuit;
    let main = &analysis.sources.file(FileId::MAIN).tree;
    let scope = crate::occurrences::Scope { file: FileId::MAIN, part: None };
    let shown = |at: &FileSpan| at.file == FileId::MAIN;
    for name in &circuit.node(node).names {
        if let Some(symbol) = index.junction(scope, name) {
            let of = index.of(symbol).filter(|place| shown(&place.at));
            places.extend(of.map(|place| Place { span: place.at.span, declares: place.role == Role::Definition }));
        }
    }
    for end in circuit.ends(node) {
        let element = circuit.element(end.element);
        let terminal = element.kind.terminals()[end.terminal as usize];
        for at in element.uses.iter().filter(|at| shown(at)) {
            let written = main.slice(at.span);
            let is_terminal = match terminal {
                "" => false,
                "+" | "-" => written.ends_with(terminal) && !written.starts_with(['+', '-', '\u{2212}']),
                word => written.rsplit('.').next() == Some(word),
            };
            if is_terminal {
                places.push(Place { span: at.span, declares: false });
            }
        }
    }
}
