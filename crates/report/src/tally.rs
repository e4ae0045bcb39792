//! How many of what, and whether the input counts as wrong.

use ohmline_analysis::Analysis;
use ohmline_lint::words;
use ohmline_syntax::{Diagnostic, Severity};
use serde::Serialize;

/// Counts of diagnostics by severity, and of claims by outcome.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Serialize)]
pub struct Tally {
    /// Errors.
    pub errors: usize,
    /// Warnings.
    pub warnings: usize,
    /// Remarks worth knowing.
    pub infos: usize,
    /// Hints.
    pub hints: usize,
    /// Claims that hold.
    pub claims_held: usize,
    /// Claims that do not hold.
    pub claims_failed: usize,
    /// Claims about something undetermined.
    pub claims_undetermined: usize,
}

impl Tally {
    /// Counts what an analysis found.
    pub fn of(analysis: &Analysis) -> Self {
        let mut tally = Self::default();
        for diagnostic in &analysis.diagnostics {
            tally.add(diagnostic);
        }
        tally.add_claims(analysis);
        tally
    }

    /// Counts one diagnostic.
    pub fn add(&mut self, diagnostic: &Diagnostic) {
        match diagnostic.severity {
            Severity::Error => self.errors += 1,
            Severity::Warning => self.warnings += 1,
            Severity::Info => self.infos += 1,
            Severity::Hint => self.hints += 1,
        }
    }

    /// Counts the claims of an analysis.
    pub fn add_claims(&mut self, analysis: &Analysis) {
        let context = analysis.context();
        for index in 0..analysis.circuit.claims.len() {
            match words::claim(&context, index).holds {
                Some(true) => self.claims_held += 1,
                Some(false) => self.claims_failed += 1,
                None => self.claims_undetermined += 1,
            }
        }
    }

    /// Adds the counts of another.
    pub fn join(&mut self, other: &Tally) {
        self.errors += other.errors;
        self.warnings += other.warnings;
        self.infos += other.infos;
        self.hints += other.hints;
        self.claims_held += other.claims_held;
        self.claims_failed += other.claims_failed;
        self.claims_undetermined += other.claims_undetermined;
    }

    /// Whether the input has errors, or a claim fails.
    pub fn is_wrong(&self) -> bool {
        self.errors > 0 || self.claims_failed > 0
    }
}
