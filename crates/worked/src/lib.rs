//! Circuit to worked solution: the way to the answers, step by step, as a teacher writes it on the board.
//!
//! Purpose: which parts are really in series or in parallel and why, one replacement a step, the loop, the way back, the checks; and
//! for circuits that do not reduce, why, and the equations.
//! Boundary: a model. Sentences have places for numbers, which stay exact; views round and lay out. Pure.
//! Invariants:
//! - No rounded number feeds another.
//! - The values are worked out here, not taken from the solver; the tests compare both.
//! - What cannot be worked out is refused with its reason.

mod blocks;
mod changes;
mod charges;
mod equations;
mod large;
pub mod line;
mod linear;
pub mod model;
mod net;
mod prepare;
mod reduce;
mod solution;
mod structure;
mod symmetry;
mod tree;

pub use changes::{Change, Changes, Trend, changes};
pub use large::{Ends, equivalent};
pub use line::{Equation, Figure, Line, Piece, Statement};
pub use model::*;
pub use solution::{MOST_PARTS, solve};
