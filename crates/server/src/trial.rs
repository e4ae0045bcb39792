//! Trying a fix before it is offered: one statement may read well in a way that the rest of the text speaks against.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use ohmline_analysis::{Analysis, Settings, analyze};
use ohmline_assist::rename::apply;
use ohmline_syntax::{Diagnostic, Fix, Safety, Severity};

use crate::documents::Snapshot;

/// Circuits up to this size are solved again for each fix that asks.
const MOST: usize = 200;

/// Tries the fixes of one text.
pub struct Trial<'a> {
    snapshot: &'a Snapshot,
    errors: OnceCell<Errors>,
}

/// The errors of a text: rule and message.
type Errors = BTreeSet<(&'static str, String)>;

impl<'a> Trial<'a> {
    /// Nothing is tried yet.
    pub fn new(snapshot: &'a Snapshot) -> Self {
        Self { snapshot, errors: OnceCell::new() }
    }

    /// Whether a fix is to be offered: a safe one always, one that asks when it makes no new error.
    ///
    /// Not tried are those of a statement that cannot be read yet, since what else is wrong with it shows only then; those of a circuit in
    /// a Markdown document, which are edits of that document; and those of large circuits, which would take long.
    pub fn allows(&self, found: &Diagnostic, fix: &Fix) -> bool {
        let analysis = &self.snapshot.analysis;
        if fix.safety == Safety::Safe || self.snapshot.around.is_some() || analysis.circuit.elements.len() > MOST {
            return true;
        }
        let source = analysis.sources.files.get(found.primary.at.file.0 as usize);
        let stmt = source.and_then(|source| source.tree.stmt_at(found.primary.at.span.start));
        if stmt.is_none_or(|stmt| !stmt.node.problems.is_empty()) {
            return true;
        }
        let before = self.errors.get_or_init(|| errors(&analyze(analysis.sources.clone(), &Settings::default())));
        errors(&analyze(apply(&analysis.sources, &fix.edits), &Settings::default())).is_subset(before)
    }
}

/// What contradicts the circuit; a claim that a change of it makes false is for the author to judge.
fn errors(analysis: &Analysis) -> Errors {
    let counts = |found: &&Diagnostic| found.severity == Severity::Error && found.rule != "false-claim";
    analysis.diagnostics.iter().filter(counts).map(|found| (found.rule, found.message.clone())).collect()
}
