//! Numbers, units and prefixes: reading them exactly, and writing them by the rules of the SI.

mod dimension;
mod read;
mod show;

pub use dimension::{Dimension, Measure};
pub use read::{Literal, LiteralError, UnitError, read_literal, read_unit};
pub use show::show;

use malachite::Rational;
use malachite::base::num::conversion::traits::RoundingFrom;
use malachite::base::rounding_modes::RoundingMode;

/// A number, exact or floating.
#[derive(Clone, PartialEq, Debug)]
pub enum Number {
    /// Exact.
    /// Boxed, since most numbers of a large circuit are doubles, and every answer is as large as its largest form.
    Exact(Box<Rational>),
    /// Double precision.
    Float(f64),
}

impl Number {
    /// An exact number.
    pub fn exact(value: Rational) -> Self {
        Number::Exact(Box::new(value))
    }

    /// As a double, rounded to nearest.
    pub fn to_f64(&self) -> f64 {
        match self {
            Number::Exact(value) => f64::rounding_from(&**value, RoundingMode::Nearest).0,
            Number::Float(value) => *value,
        }
    }
}

/// How a number is shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Style {
    /// Rounded to this many significant digits, with an SI prefix: `1.80 V`, `300 mA`.
    Digits(u32),
    /// As a fraction where it is exact, in the base unit: `9/5 V`; as 6 digits where it is not.
    Fraction,
}
