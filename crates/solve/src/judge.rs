//! Finds answered, claims and measured values compared with the solution.

use ohmline_circuit::Unit;

use crate::answers::{Cause, Number};

/// The answer to a `find`.
#[derive(Clone, PartialEq, Debug)]
pub struct FindAnswer {
    /// The value, or why there is none.
    pub value: Result<Number, Cause>,
    /// Its unit.
    pub unit: Unit,
}

/// The judgement of a claimed value.
#[derive(Clone, PartialEq, Debug)]
pub struct ValueVerdict {
    /// Whether it holds; `None` when the quantity is undetermined.
    pub holds: Option<bool>,
    /// The solved value, or why there is none.
    pub solved: Result<Number, Cause>,
    /// Its unit.
    pub unit: Unit,
}

/// The judgement of a meter's reading.
#[derive(Clone, PartialEq, Debug)]
pub struct MeasuredVerdict {
    /// Whether it agrees; `None` when the quantity is undetermined or comparison is not solved yet.
    pub agrees: Option<bool>,
    /// The predicted value, or why there is none.
    pub predicted: Result<Number, Cause>,
    /// Its unit.
    pub unit: Unit,
}
