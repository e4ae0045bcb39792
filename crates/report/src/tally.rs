//! How many of what, and whether the input counts as wrong.

use ohmline_analysis::Analysis;
use ohmline_circuit::Claim;
use ohmline_lint::words;
use ohmline_syntax::{Diagnostic, FileSpan, Severity};
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
    /// Findings that the author allows.
    pub allowed: usize,
    /// Findings known from a baseline.
    pub known: usize,
    /// Failing claims of which the error is allowed or known, so that they do not make the input wrong.
    #[serde(skip)]
    pub excused: usize,
}

impl Tally {
    /// Counts what an analysis found.
    pub fn of(analysis: &Analysis) -> Self {
        let mut tally = Self::default();
        for diagnostic in &analysis.diagnostics {
            tally.add(diagnostic);
        }
        tally.allowed = analysis.allowed.len();
        tally.add_claims(analysis, &analysis.allowed.iter().collect::<Vec<_>>());
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

    /// Counts the claims of an analysis; `silent` are the findings that are not to count.
    pub fn add_claims(&mut self, analysis: &Analysis, silent: &[&Diagnostic]) {
        let excused = |stmt: FileSpan| {
            let inside = |at: FileSpan| at.file == stmt.file && stmt.span.touches(at.span.start);
            silent.iter().any(|one| one.severity == Severity::Error && inside(one.primary.at))
        };
        let context = analysis.context();
        for index in 0..analysis.circuit.claims.len() {
            match words::claim(&context, index).holds {
                Some(true) => self.claims_held += 1,
                Some(false) => {
                    self.claims_failed += 1;
                    self.excused += usize::from(excused(statement(&analysis.circuit.claims[index])));
                }
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
        self.allowed += other.allowed;
        self.known += other.known;
        self.excused += other.excused;
    }

    /// Whether the input has errors, or a claim fails and nobody allows it to.
    pub fn is_wrong(&self) -> bool {
        self.errors > 0 || self.claims_failed > self.excused
    }
}

/// The whole statement of a claim.
fn statement(claim: &Claim) -> FileSpan {
    match claim {
        Claim::Value { ask, .. } => ask.stmt,
        Claim::Relation { stmt, .. } => *stmt,
    }
}
