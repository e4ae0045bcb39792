//! Which proofs are written for programs.

use ohmline_analysis::Analysis;
use ohmline_lint::evidence;
use ohmline_syntax::{Diagnostic, Evidence};

/// Steps of the longest proof that is written: a way of thousands of elements, told again for thousands of findings, would be hundreds of
/// megabytes that nobody reads.
const LONGEST: usize = 200;

/// The proof of a finding, unless it has none, or one of more than 200 steps.
pub(crate) fn proof(analysis: &Analysis, found: &Diagnostic) -> Option<Evidence> {
    evidence(&analysis.context(), found).filter(|proof| proof.steps.len() <= LONGEST)
}
