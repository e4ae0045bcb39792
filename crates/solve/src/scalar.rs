//! The two kinds of number the formulation is written for.

use malachite::base::num::arithmetic::traits::{DivExact, DivRem, Gcd, Square};
use malachite::base::num::basic::traits::{One, Zero};
use malachite::base::num::conversion::traits::RoundingFrom;
use malachite::base::rounding_modes::RoundingMode;
use malachite::{Integer, Natural, Rational};
use std::fmt::Debug;

use crate::answers::Number;
use crate::network::{Flow, Network};

/// A field with its own way to solve a resistive network.
pub(crate) trait Scalar: Clone + PartialEq + PartialOrd + Debug {
    /// Adds up many values.
    type Total: Total<Self>;
    /// Whether arithmetic is exact.
    const EXACT: bool;
    fn zero() -> Self;
    fn one() -> Self;
    fn of(value: &Rational) -> Self;
    fn number(&self) -> Number;
    /// The number back.
    fn peek(number: &Number) -> Option<&Self>;
    /// The value as a rational; the simplest one that rounds to it for a double.
    fn rational(&self) -> Rational;
    fn to_f64(&self) -> f64;
    fn is_zero(&self) -> bool;
    fn plus(&self, other: &Self) -> Self;
    fn minus(&self, other: &Self) -> Self;
    fn times(&self, other: &Self) -> Self;
    /// `other` must not be zero.
    fn over(&self, other: &Self) -> Self;
    fn negated(&self) -> Self;
    fn add(&mut self, other: &Self);
    fn sub(&mut self, other: &Self);
    /// Whether two values are different quantities, not one quantity met twice with rounding. `scale` is the size of the
    /// largest quantity of the kind.
    fn differs(&self, other: &Self, scale: f64) -> bool;
    /// Power in a resistance: resistance times the square of the current.
    fn heat(resistance: &Self, current: &Self) -> Self;
    /// Solves a resistive network.
    fn solve(network: &Network<Self>) -> Flow<Self>;
}

/// A running sum.
pub(crate) trait Total<F>: Clone {
    fn zero() -> Self;
    fn add(&mut self, value: &F);
    fn sub(&mut self, value: &F);
    /// How far it is from zero; zero only if it is.
    fn size(&self) -> f64;
}

impl Total<f64> for f64 {
    fn zero() -> Self {
        0.0
    }
    fn add(&mut self, value: &f64) {
        *self += value;
    }
    fn sub(&mut self, value: &f64) {
        *self -= value;
    }
    fn size(&self) -> f64 {
        self.abs()
    }
}

/// A sum of fractions that is not brought to lowest terms: long denominators that are nearly the same need no common divisor
/// at each step.
#[derive(Clone, Debug)]
pub(crate) struct ExactTotal {
    numerator: Integer,
    denominator: Natural,
}

impl ExactTotal {
    fn take(&mut self, value: &Rational, negative: bool) {
        if *value == 0 {
            return;
        }
        let below = value.denominator_ref();
        let share = if *below == self.denominator {
            Natural::ONE
        } else {
            let (share, rest) = (&self.denominator).div_rem(below);
            if rest == 0 {
                share
            } else {
                let missing = below.div_exact((&self.denominator).gcd(below));
                self.numerator *= Integer::from(&missing);
                self.denominator *= missing;
                (&self.denominator).div_exact(below)
            }
        };
        let amount = Integer::from_sign_and_abs((*value > 0) != negative, value.numerator_ref() * share);
        self.numerator += amount;
    }
}

impl Total<Rational> for ExactTotal {
    fn zero() -> Self {
        Self { numerator: Integer::ZERO, denominator: Natural::ONE }
    }
    fn add(&mut self, value: &Rational) {
        self.take(value, false);
    }
    fn sub(&mut self, value: &Rational) {
        self.take(value, true);
    }
    fn size(&self) -> f64 {
        if self.numerator == 0 {
            return 0.0;
        }
        let size =
            Rational::from_naturals(self.numerator.unsigned_abs_ref().clone(), self.denominator.clone()).to_f64();
        // Not zero, even if it is too small for a double.
        size.max(f64::MIN_POSITIVE)
    }
}

impl Scalar for Rational {
    type Total = ExactTotal;
    const EXACT: bool = true;
    fn zero() -> Self {
        Rational::ZERO
    }
    fn one() -> Self {
        Rational::ONE
    }
    fn of(value: &Rational) -> Self {
        value.clone()
    }
    fn number(&self) -> Number {
        Number::exact(self.clone())
    }
    fn peek(number: &Number) -> Option<&Self> {
        match number {
            Number::Exact(value) => Some(value),
            Number::Float(_) => None,
        }
    }
    fn rational(&self) -> Rational {
        self.clone()
    }
    fn to_f64(&self) -> f64 {
        // Two whole numbers that doubles hold exactly: one division rounds correctly, and quickly.
        let short = |value: &Natural| u64::try_from(value).ok().filter(|value| *value <= 1 << 53);
        match (short(self.numerator_ref()), short(self.denominator_ref())) {
            (Some(above), Some(below)) => {
                let size = above as f64 / below as f64;
                if *self < 0 { -size } else { size }
            }
            _ => f64::rounding_from(self, RoundingMode::Nearest).0,
        }
    }
    fn is_zero(&self) -> bool {
        *self == 0
    }
    fn plus(&self, other: &Self) -> Self {
        self + other
    }
    fn minus(&self, other: &Self) -> Self {
        crate::exact::difference(self, other)
    }
    fn times(&self, other: &Self) -> Self {
        self * other
    }
    fn over(&self, other: &Self) -> Self {
        self / other
    }
    fn negated(&self) -> Self {
        -self
    }
    fn add(&mut self, other: &Self) {
        *self += other;
    }
    fn sub(&mut self, other: &Self) {
        *self -= other;
    }
    fn differs(&self, other: &Self, _scale: f64) -> bool {
        self != other
    }
    fn heat(resistance: &Self, current: &Self) -> Self {
        // A square is in lowest terms already.
        current.square() * resistance
    }
    fn solve(network: &Network<Self>) -> Flow<Self> {
        crate::exact::solve(network)
    }
}

impl Scalar for f64 {
    type Total = f64;
    const EXACT: bool = false;
    fn zero() -> Self {
        0.0
    }
    fn one() -> Self {
        1.0
    }
    fn of(value: &Rational) -> Self {
        Scalar::to_f64(value)
    }
    fn number(&self) -> Number {
        // Adding zero turns a negative zero into zero.
        Number::Float(*self + 0.0)
    }
    fn peek(number: &Number) -> Option<&Self> {
        match number {
            Number::Exact(_) => None,
            Number::Float(value) => Some(value),
        }
    }
    fn rational(&self) -> Rational {
        Rational::try_from_float_simplest(*self).unwrap_or(Rational::ZERO)
    }
    fn to_f64(&self) -> f64 {
        *self
    }
    fn is_zero(&self) -> bool {
        *self == 0.0
    }
    fn plus(&self, other: &Self) -> Self {
        self + other
    }
    fn minus(&self, other: &Self) -> Self {
        self - other
    }
    fn times(&self, other: &Self) -> Self {
        self * other
    }
    fn over(&self, other: &Self) -> Self {
        self / other
    }
    fn negated(&self) -> Self {
        -self
    }
    fn add(&mut self, other: &Self) {
        *self += other;
    }
    fn sub(&mut self, other: &Self) {
        *self -= other;
    }
    fn differs(&self, other: &Self, scale: f64) -> bool {
        (self - other).abs() > 1e-9 * self.abs().max(other.abs()) + 1e-11 * scale
    }
    fn heat(resistance: &Self, current: &Self) -> Self {
        resistance * current * current
    }
    fn solve(network: &Network<Self>) -> Flow<Self> {
        crate::float::solve(network)
    }
}
