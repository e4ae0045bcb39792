//! Writing numbers with their units by the rules of the SI.
//!
//! Rounding is to the nearest, ties to the even digit (rule A of ISO 80000-1:2009, annex B; NIST SP 811 (2008), B.7.1), from
//! the exact value in one step.

use malachite::base::num::arithmetic::traits::{Abs, Pow};
use malachite::base::num::conversion::traits::RoundingFrom;
use malachite::base::rounding_modes::RoundingMode;
use malachite::{Integer, Rational};

use super::{Number, Style};
use crate::model::Unit;

/// Most significant digits that are written.
const MAX_DIGITS: u32 = 60;
/// Significant digits of what has no exact value where fractions are wanted.
const INEXACT_DIGITS: u32 = 6;

/// Writes a number with its unit by the rules of the SI (The SI Brochure, 9th edition, 5.4; NIST SP 811 (2008), 7.9): one space, a
/// prefix that puts the number between 1 and 1000 (from 0.1 on where people write it so) where there is one, no prefix on zero, a power of ten beyond the prefixes.
///
/// The prefix is chosen after rounding, so that 999.96 mA shown with three digits is `1.00 A`.
pub fn show(number: &Number, unit: Unit, style: Style) -> String {
    let digits = match (style, number) {
        (Style::Digits(digits), _) => digits.clamp(1, MAX_DIGITS),
        (Style::Fraction, Number::Exact(value)) => return with_unit(value.to_string(), "", unit),
        (Style::Fraction, Number::Float(_)) => INEXACT_DIGITS,
    };
    match number {
        Number::Exact(value) if **value == 0 => with_unit("0".to_owned(), "", unit),
        Number::Exact(value) => rounded(value, unit, digits),
        // Infinite, or no number at all.
        Number::Float(value) if !value.is_finite() => with_unit("?".to_owned(), "", unit),
        Number::Float(value) if *value == 0.0 => with_unit("0".to_owned(), "", unit),
        Number::Float(value) => match float_figures(*value, digits) {
            Some((figures, exponent)) => {
                let sign = if *value < 0.0 { "-" } else { "" };
                placed(sign, &figures, exponent, unit)
            }
            // Cannot be: a finite number has an exact value, and the library writes it as it is asked to.
            None => with_unit("?".to_owned(), "", unit),
        },
    }
}

/// The figures of a finite number other than zero, and the power of ten of the first. The standard library rounds the exact value,
/// ties to the even digit, and is far quicker than a fraction.
fn float_figures(value: f64, digits: u32) -> Option<(String, i64)> {
    let text = format!("{:.*e}", digits as usize - 1, value.abs());
    let (figures, exponent) = text.split_once('e')?;
    Some((figures.replace('.', ""), exponent.parse().ok()?))
}

fn with_unit(number: String, prefix: &str, unit: Unit) -> String {
    match unit.symbol() {
        "" => number,
        symbol => format!("{number} {prefix}{symbol}"),
    }
}

fn rounded(value: &Rational, unit: Unit, digits: u32) -> String {
    let sign = if *value < 0 { "-" } else { "" };
    let value = value.abs();
    let mut exponent = decimal_exponent(&value);
    let scaled = &value * ten_to(i64::from(digits) - 1 - exponent);
    let mut figures = Integer::rounding_from(scaled, RoundingMode::Nearest).0.to_string();
    if figures.len() > digits as usize {
        // Rounded up to the next power of ten.
        figures.pop();
        exponent += 1;
    }
    placed(sign, &figures, exponent, unit)
}

/// Whether a value below one stands without a prefix all the same, as it does on the board: `0.5 Ω` and `0.7 V`, but `20 mV` and `300 mA`
/// (NIST SP 811 (2008), 7.9, asks for numbers from 0.1 to 1000; hundredths of an ohm: common practice, no source).
fn is_plain_below_one(exponent: i64, unit: Unit) -> bool {
    match unit {
        Unit::Ohm => (-2..0).contains(&exponent),
        Unit::Volt | Unit::Watt => exponent == -1,
        _ => false,
    }
}

/// Writes figures of which the first has this power of ten, with the prefix that suits it.
fn placed(sign: &str, figures: &str, exponent: i64, unit: Unit) -> String {
    let step = if is_plain_below_one(exponent, unit) { 0 } else { exponent.div_euclid(3) * 3 };
    let prefix = match step {
        _ if unit == Unit::One => ((-3..6).contains(&exponent)).then_some((0, "")),
        -15 => Some((step, "f")),
        -12 => Some((step, "p")),
        -9 => Some((step, "n")),
        -6 => Some((step, "µ")),
        -3 => Some((step, "m")),
        0 => Some((step, "")),
        3 => Some((step, "k")),
        6 => Some((step, "M")),
        9 => Some((step, "G")),
        _ => None,
    };
    match prefix {
        Some((power, prefix)) => with_unit(format!("{sign}{}", place_point(figures, exponent - power)), prefix, unit),
        None => with_unit(format!("{sign}{} × 10^{exponent}", place_point(figures, 0)), "", unit),
    }
}

/// Writes figures of which the first has this power of ten.
fn place_point(figures: &str, first: i64) -> String {
    let whole = first + 1;
    if whole <= 0 {
        return format!("0.{}{figures}", "0".repeat(whole.unsigned_abs() as usize));
    }
    let whole = whole as usize;
    if figures.len() <= whole {
        return format!("{figures}{}", "0".repeat(whole - figures.len()));
    }
    format!("{}.{}", &figures[..whole], &figures[whole..])
}

/// The largest `e` with `10^e <= value`, for a positive value.
fn decimal_exponent(value: &Rational) -> i64 {
    use malachite::base::num::logic::traits::SignificantBits;
    let (numerator, denominator) = value.numerator_and_denominator_ref();
    let bits = numerator.significant_bits() as f64 - denominator.significant_bits() as f64;
    // Right to within one: the value lies between 2^(bits - 1) and 2^(bits + 1).
    let mut exponent = ((bits - 1.0) * std::f64::consts::LOG10_2).floor() as i64;
    while ten_to(exponent + 1) <= *value {
        exponent += 1;
    }
    while ten_to(exponent) > *value {
        exponent -= 1;
    }
    exponent
}

fn ten_to(power: i64) -> Rational {
    match power {
        0..=19 => Rational::from(10u64.pow(power as u32)),
        -19..=-1 => Rational::from_unsigneds(1, 10u64.pow(-power as u32)),
        _ => Rational::from(10).pow(power),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn ratio(numerator: i64, denominator: i64) -> Number {
        Number::exact(Rational::from_signeds(numerator, denominator))
    }

    /// The SI Brochure, 9th edition, 5.4.1 to 5.4.3; NIST SP 811 (2008), 7.1, 7.2 and 7.9: number, space, prefix and unit; a
    /// prefix that leaves 1 to 1000 before the unit; no prefix alone.
    #[test]
    fn si_rules() {
        for (number, unit, expected) in [
            (ratio(3, 10), Unit::Ampere, "300 mA"),
            (ratio(9, 5), Unit::Volt, "1.80 V"),
            (ratio(4700, 1), Unit::Ohm, "4.70 kΩ"),
            (ratio(2_200_000, 1), Unit::Ohm, "2.20 MΩ"),
            (ratio(1, 2), Unit::Ohm, "0.500 Ω"),
            (ratio(1, 20), Unit::Ohm, "0.0500 Ω"),
            (ratio(1, 200), Unit::Ohm, "5.00 mΩ"),
            (ratio(7, 10), Unit::Volt, "0.700 V"),
            (ratio(7, 100), Unit::Volt, "70.0 mV"),
            (ratio(1, 4), Unit::Watt, "0.250 W"),
            (ratio(47, 1_000_000), Unit::Farad, "47.0 µF"),
            (ratio(-27, 10), Unit::Volt, "-2.70 V"),
            (ratio(0, 1), Unit::Ampere, "0 A"),
            (ratio(1, 3), Unit::One, "0.333"),
            (ratio(1000, 1), Unit::Watt, "1.00 kW"),
            (ratio(999, 1), Unit::Watt, "999 W"),
            (ratio(1, 1), Unit::Second, "1.00 s"),
            (ratio(12_345, 1), Unit::One, "12300"),
            (Number::Float(0.3), Unit::Ampere, "300 mA"),
            (Number::Float(-0.0), Unit::Ampere, "0 A"),
            (Number::Float(f64::NAN), Unit::Ampere, "? A"),
        ] {
            assert_eq!(show(&number, unit, Style::Digits(3)), expected);
        }
    }

    #[test]
    fn the_prefix_is_chosen_after_rounding() {
        assert_eq!(show(&ratio(99_996, 100_000), Unit::Ampere, Style::Digits(3)), "1.00 A");
        assert_eq!(show(&ratio(99_996, 100_000), Unit::Ampere, Style::Digits(5)), "999.96 mA");
        assert_eq!(show(&ratio(9_996, 10), Unit::Volt, Style::Digits(3)), "1.00 kV");
        assert_eq!(show(&ratio(95, 100), Unit::Ampere, Style::Digits(1)), "1 A");
    }

    /// ISO 80000-1:2009, annex B, rule A: 12.25 becomes 12.2, 12.35 becomes 12.4.
    #[test]
    fn ties_go_to_the_even_digit() {
        assert_eq!(show(&ratio(1225, 100), Unit::Volt, Style::Digits(3)), "12.2 V");
        assert_eq!(show(&ratio(1235, 100), Unit::Volt, Style::Digits(3)), "12.4 V");
    }

    #[test]
    fn beyond_the_prefixes_stands_a_power_of_ten() {
        let big = Number::exact(Rational::from(10).pow(14u64));
        assert_eq!(show(&big, Unit::Ohm, Style::Digits(3)), "1.00 × 10^14 Ω");
        let tiny = Number::exact(Rational::from(10).pow(-17i64));
        assert_eq!(show(&tiny, Unit::Ampere, Style::Digits(2)), "1.0 × 10^-17 A");
        assert_eq!(show(&ratio(1_234_567, 1), Unit::One, Style::Digits(3)), "1.23 × 10^6");
    }

    #[test]
    fn fractions_stay_exact() {
        assert_eq!(show(&ratio(9, 5), Unit::Volt, Style::Fraction), "9/5 V");
        assert_eq!(show(&ratio(-3, 10), Unit::Ampere, Style::Fraction), "-3/10 A");
        assert_eq!(show(&ratio(6, 1), Unit::Ohm, Style::Fraction), "6 Ω");
        assert_eq!(show(&Number::Float(1.0 / 3.0), Unit::Volt, Style::Fraction), "0.333333 V");
    }

    proptest! {
        /// The quick way for floating numbers says what the exact value rounds to.
        #[test]
        fn floating_numbers_are_rounded_like_fractions(bits in any::<u64>(), eighths in -80_000i32..80_000, digits in 1u32..20) {
            for value in [f64::from_bits(bits), f64::from(eighths) / 8.0, f64::from(eighths) * 1e-7] {
                let Ok(exact) = Rational::try_from(value) else { continue };
                let style = Style::Digits(digits);
                prop_assert_eq!(show(&Number::Float(value), Unit::Volt, style), show(&Number::exact(exact), Unit::Volt, style));
            }
        }

        /// What is shown differs from the value by at most half a unit of its last digit.
        #[test]
        fn rounding_is_to_the_nearest(numerator in -1_000_000_000i64..1_000_000_000, denominator in 1i64..1_000_000, digits in 1u32..9) {
            prop_assume!(numerator != 0);
            let value = Rational::from_signeds(numerator, denominator);
            let text = show(&Number::exact(value.clone()), Unit::Volt, Style::Digits(digits));
            let (number, unit) = text.split_once(' ').expect("a number and a unit");
            let read = super::super::read_literal(number.trim_start_matches('-'), Some(unit), None).expect("readable");
            let value = value.abs();
            let shown_place = ten_to(decimal_exponent(&value) + 1 - i64::from(digits));
            prop_assert!((read.value - value).abs() * Rational::from(2) <= shown_place);
        }
    }
}
