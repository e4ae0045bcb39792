//! Numbers as the JSON contract wants them.

use malachite::Rational;
use ohmline_circuit::quantity::Number;
use serde::{Serialize, Serializer};

/// A number in SI base units: an integer where it is one, `null` where it is not finite.
pub(crate) struct Num(pub f64);

impl Serialize for Num {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        // Up to here every whole double is exactly one integer.
        const WHOLE: f64 = 9_007_199_254_740_992.0;
        if !self.0.is_finite() {
            serializer.serialize_none()
        } else if self.0.fract() == 0.0 && self.0.abs() < WHOLE {
            serializer.serialize_i64(self.0 as i64)
        } else {
            serializer.serialize_f64(self.0)
        }
    }
}

impl From<&Number> for Num {
    fn from(number: &Number) -> Self {
        Num(number.to_f64())
    }
}

impl From<&Rational> for Num {
    fn from(value: &Rational) -> Self {
        Num(Number::exact(value.clone()).to_f64())
    }
}

/// The text of an exact number, `3/10`.
pub(crate) fn exact(number: &Number) -> Option<String> {
    match number {
        Number::Exact(value) => Some(value.to_string()),
        Number::Float(_) => None,
    }
}

/// A list written from an iterator, without gathering it first.
pub(crate) struct List<F>(pub F);

impl<T: Serialize, I: Iterator<Item = T>, F: Fn() -> I> Serialize for List<F> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq((self.0)())
    }
}

/// An object written from an iterator of its members.
pub(crate) struct Object<F>(pub F);

impl<K: Serialize, V: Serialize, I: Iterator<Item = (K, V)>, F: Fn() -> I> Serialize for Object<F> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map((self.0)())
    }
}
