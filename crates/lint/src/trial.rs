//! The same file with a change in its text, read and solved anew: what would hold then.

use std::sync::Arc;

use ohmline_circuit::{Source, Sources, Topology};
use ohmline_solve::Method;
use ohmline_syntax::{Edit, FileId, Severity};

use crate::context::{Context, judge};
use crate::words;

/// Largest circuit that is solved again for a remark.
pub const MOST: usize = 80;

/// What each claim of a circuit says in words, in order: whether it holds.
pub fn verdicts(context: &Context<'_>) -> Vec<Option<bool>> {
    (0..context.circuit.claims.len()).map(|index| words::claim(context, index).holds).collect()
}

/// Whether the claims hold after edits of the file asked about; `None` where that cannot be told: several files, a large circuit, or a text that
/// cannot be read then.
pub fn after(context: &Context<'_>, edits: &[Edit]) -> Option<Vec<Option<bool>>> {
    let [main] = &context.sources.files[..] else { return None };
    if context.circuit.elements.len() > MOST || edits.iter().any(|edit| edit.at.file != FileId::MAIN) {
        return None;
    }
    let mut text = main.tree.text.to_string();
    let mut edits: Vec<&Edit> = edits.iter().collect();
    edits.sort_by_key(|edit| std::cmp::Reverse(edit.at.span.start));
    for edit in edits {
        text.get(edit.at.span.range())?;
        text.replace_range(edit.at.span.range(), &edit.text);
    }
    let tree = Arc::new(ohmline_syntax::parse(&text));
    let lines = Arc::clone(&main.lines);
    let main = Source { name: main.name.clone(), path: None, tree, lines, includes: Vec::new() };
    let sources = Sources { files: vec![main] };
    let circuit = ohmline_circuit::build(&sources);
    let broken = circuit.diagnostics.iter().any(|said| said.severity == Severity::Error);
    if broken || circuit.claims.len() != context.circuit.claims.len() {
        return None;
    }
    let topologies: Vec<_> = circuit.state_ids().map(|state| Topology::new(&circuit, state)).collect();
    let answers = ohmline_solve::solve(&circuit, Method::Auto);
    let relations = judge(&circuit, &topologies);
    Some(verdicts(&Context {
        sources: &sources,
        circuit: &circuit,
        topologies: &topologies,
        answers: &answers,
        relations: &relations,
    }))
}

/// The claims that hold after a change and did not before; none when the change breaks one that holds.
pub fn mended(before: &[Option<bool>], after: &[Option<bool>]) -> Vec<usize> {
    let pairs = || before.iter().zip(after);
    if pairs().any(|(before, after)| *before == Some(true) && *after != Some(true)) {
        return Vec::new();
    }
    let holds = |(_, (before, after)): &(usize, (&Option<bool>, &Option<bool>))| {
        **before != Some(true) && **after == Some(true)
    };
    pairs().enumerate().filter(holds).map(|(index, _)| index).collect()
}
