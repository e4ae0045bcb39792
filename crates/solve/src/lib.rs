//! Circuit to answers: every potential, current, voltage and power, in every state.
//!
//! Purpose: the operating point in direct-current steady state, and what is asked of it.
//! Boundary: pure. No source text, no input or output, no wording.
//! Invariants:
//! - Two independent ways: [`exact`] (rationals) for what a person would solve, [`float`] (sparse, double precision) for large
//!   circuits. Each tests the other.
//! - What has no single answer is [`Value::Undetermined`] with its cause, never a number. A contradiction spoils only what depends on it.
//! - Nothing is rounded.

pub mod answers;
pub mod exact;
pub mod float;
pub mod judge;

pub use answers::*;
pub use judge::{FindAnswer, MeasuredVerdict, ValueVerdict};

use ohmline_circuit::{Circuit, Topology};

/// Which solver to use.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Method {
    /// Exact up to a size, floating point beyond.
    #[default]
    Auto,
    /// Exact rationals.
    Exact,
    /// Sparse floating point.
    Float,
}

/// Solves every state. `topologies` has one entry for each state of the circuit.
pub fn solve(_circuit: &Circuit, _topologies: &[Topology], _method: Method) -> Answers {
    Answers::default()
}
