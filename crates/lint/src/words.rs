//! The words for judgements and causes, shared by diagnostics, hover, tables and JSON: said once, shown everywhere.

use ohmline_circuit::Circuit;
use ohmline_solve::Cause;
use ohmline_syntax::FileSpan;
use smol_str::SmolStr;

use crate::context::Context;

/// A claim, judged, in words.
#[derive(Clone, PartialEq, Debug)]
pub struct ClaimAnswer {
    /// As the user writes it: `R1, R2 in series`.
    pub text: String,
    /// The case spoken of.
    pub case: Option<SmolStr>,
    /// Whether it holds; `None` when that is undetermined.
    pub holds: Option<bool>,
    /// For series and parallel `direct`, `reduction`, `steady-state` or `no`; for values `value`.
    pub how: &'static str,
    /// Why, in one sentence without a final period.
    pub why: String,
    /// The whole statement.
    pub stmt: FileSpan,
}

/// Judges the claim with this index in [`Circuit::claims`].
pub fn claim(_context: &Context<'_>, _index: usize) -> ClaimAnswer {
    ClaimAnswer {
        text: String::new(),
        case: None,
        holds: None,
        how: "no",
        why: String::new(),
        stmt: FileSpan::default(),
    }
}

/// Why something has no single value, in one sentence without a final period.
pub fn cause(_circuit: &Circuit, _cause: &Cause) -> String {
    String::new()
}
