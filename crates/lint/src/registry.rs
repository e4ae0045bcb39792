//! The list of all rules.

use ohmline_circuit::build::BUILD_RULES;
use ohmline_syntax::diagnostic::SYNTAX_RULES;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::rules::*;

/// What everyone may know about a rule.
#[derive(Clone, Copy, Debug)]
pub struct Meta {
    /// Two or three words for what is wrong.
    pub name: &'static str,
    /// How bad it usually is.
    pub severity: Severity,
    /// One line.
    pub summary: &'static str,
    /// Why it matters in a real circuit.
    pub why: &'static str,
    /// A file that fires exactly this rule.
    pub bad: &'static str,
    /// The same file, mended.
    pub good: &'static str,
}

/// A rule that looks at the finished analysis. Rules reported by the parser or the builder have only a [`Meta`].
pub trait Rule: Sync {
    /// What everyone may know about it.
    fn meta(&self) -> &'static Meta;
    /// Reports what it finds.
    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>);
}

/// Every rule that looks at the finished analysis, by what it is about.
pub const RULES: &[&dyn Rule] = &[
    // Connections.
    &open_end::OpenEnd,
    &floating_piece::FloatingPiece,
    &dead_branch::DeadBranch,
    &no_source::NoSource,
    &shorted_element::ShortedElement,
    // Sources.
    &shorted_source::ShortedSource,
    &source_conflict::SourceConflict,
    &undecided_share::UndecidedShare,
    &charging_cell::ChargingCell,
    // Series and parallel.
    &split_series::SplitSeries,
    &half_parallel::HalfParallel,
    // Meters, diodes, capacitors.
    &ammeter_across::AmmeterAcross,
    &voltmeter_in_line::VoltmeterInLine,
    &over_range::OverRange,
    &no_diode_state::NoDiodeState,
    &reversed_electrolytic::ReversedElectrolytic,
    // Claims and questions.
    &false_claim::FalseClaim,
    &claim_holds::ClaimHolds,
    &failed_measurement::FailedMeasurement,
    &undetermined_answer::UndeterminedAnswer,
    &not_solved_yet::NotSolvedYet,
    // Ratings and safety.
    &fuse_blows::FuseBlows,
    &over_rating::OverRating,
    &over_limit::OverLimit,
    &touch_voltage::TouchVoltage,
    &short_circuit_current::ShortCircuitCurrent,
    &stored_energy::StoredEnergy,
];

/// Rules that are reported by whoever reads the files or runs the stages: name, severity, summary.
pub const READING_RULES: &[(&str, Severity, &str)] = &[
    ("foreign-encoding", Severity::Warning, "The file is not UTF-8."),
    ("too-many-cases", Severity::Error, "There are too many cases of too large a circuit to solve them all."),
];

/// Every rule whose name can appear in a diagnostic: those of [`RULES`], and those that the parser, the builder and whoever reads
/// the files report, of which only name, severity and summary are known.
pub fn all_metas() -> Vec<Meta> {
    let mut metas: Vec<Meta> = RULES.iter().map(|rule| *rule.meta()).collect();
    for &(name, severity, summary) in SYNTAX_RULES.iter().chain(BUILD_RULES).chain(READING_RULES) {
        // Some are reported by both: by the parser for the form, by the builder for the meaning.
        if metas.iter().all(|meta| meta.name != name) {
            let summary = summary.trim_end_matches('.');
            metas.push(Meta { name, severity, summary, why: "", bad: "", good: "" });
        }
    }
    metas
}

/// What is known about the rule of this name.
pub fn meta(name: &str) -> Option<Meta> {
    all_metas().into_iter().find(|meta| meta.name == name)
}
