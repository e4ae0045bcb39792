//! Circuit to answers: every potential, current, voltage and power, in every state.
//!
//! Purpose: the operating point in direct-current steady state, and what is asked of it.
//! Boundary: pure. No source text, no input or output, no wording.
//! Invariants:
//! - Two independent ways: [`exact`] (rationals) for what a person would solve, [`float`] (sparse, double precision) for large
//!   circuits. Each tests the other.
//! - What has no single answer is [`Value::Undetermined`] with its cause, never a number. A contradiction spoils only what depends on it.
//! - Nothing is rounded.
//!
//! The way through: `net` (models of the branches) - `diodes` (which conduct) - `operate` (classes, islands, the resistive
//! `network`, charge) - `exact` or `float` - `state` (answers and causes) - `residuals` - `judge` (questions).

pub mod answers;
mod between;
mod diodes;
pub mod exact;
pub mod float;
mod frame;
pub mod judge;
mod net;
mod network;
mod operate;
mod ordering;
mod residuals;
mod scalar;
mod state;

pub use answers::*;
pub use judge::{FindAnswer, MeasuredVerdict, ValueVerdict};

use malachite::Rational;
use ohmline_circuit::{BranchId, Circuit, Law, StateId};

use crate::frame::Frame;
use crate::operate::Sets;
use crate::scalar::Scalar;
use crate::state::solve_state;

/// Which solver to use.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Method {
    /// Exact up to a size, floating point beyond.
    #[default]
    Auto,
    /// Exact rationals. Circuits of more than [`EXACT_AT_MOST`] points are solved in floating point all the same, since
    /// exact numbers grow as long as the circuit is large.
    Exact,
    /// Sparse floating point.
    Float,
}

/// Up to this many points (nodes once branches of zero resistance are contracted) the automatic choice is exact.
pub const EXACT_UP_TO: usize = 200;
/// Beyond this many points no circuit is solved exactly.
pub const EXACT_AT_MOST: usize = 1_000;

/// Solves every state and answers every question.
pub fn solve(circuit: &Circuit, method: Method) -> Answers {
    solve_unless(circuit, method, &|| false).unwrap_or_default()
}

/// The same, unless told to stop before the end; asked before each state.
pub fn solve_unless(circuit: &Circuit, method: Method, stop: &dyn Fn() -> bool) -> Option<Answers> {
    let exact = match method {
        Method::Float => false,
        Method::Auto => points_within(circuit, EXACT_UP_TO),
        Method::Exact => points_within(circuit, EXACT_AT_MOST),
    };
    if exact { solve_in::<Rational>(circuit, stop) } else { solve_in::<f64>(circuit, stop) }
}

fn solve_in<F: Scalar>(circuit: &Circuit, stop: &dyn Fn() -> bool) -> Option<Answers> {
    let frame = Frame::new(circuit);
    let mut states = Vec::with_capacity(circuit.states.len());
    let mut drawn = None;
    for state in circuit.state_ids() {
        if stop() {
            return None;
        }
        let (answers, charges) = solve_state::<F>(circuit, state, &frame, drawn.as_ref());
        states.push(answers);
        if state == StateId::DRAWN {
            drawn = Some(charges);
        }
    }
    let mut answers = Answers { states, ..Answers::default() };
    judge::judge::<F>(circuit, &frame, &mut answers);
    Some(answers)
}

/// Whether no state has more points than this.
fn points_within(circuit: &Circuit, most: usize) -> bool {
    // More branches than this would be slow to add up exactly even between few points.
    if circuit.branches.len() > 20 * most {
        return false;
    }
    if circuit.nodes.len() <= most {
        return true;
    }
    circuit.state_ids().all(|state| {
        let mut sets = Sets::new(circuit.nodes.len());
        let mut points = circuit.nodes.len();
        for (index, branch) in circuit.branches.iter().enumerate() {
            let contracted = match circuit.law(state, BranchId(index as u32)) {
                Law::Short => true,
                Law::Emf { internal, .. } => internal == 0,
                _ => false,
            };
            if contracted && sets.join(branch.from.0, branch.to.0) {
                points -= 1;
            }
        }
        points <= most
    })
}
