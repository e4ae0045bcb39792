//! The rating of a lamp as it stands on its cap, `6 V 0.1 A`: turned into the power at a voltage that the notation writes.

use super::View;
use crate::diagnostic::{Problem, Safety};
use crate::lexer::TokenKind as K;
use crate::words;

/// A decimal number: `digits` times ten to `power`.
#[derive(Clone, Copy)]
struct Decimal {
    digits: i128,
    power: i32,
}

impl Decimal {
    fn read(text: &str) -> Option<Decimal> {
        let (whole, part) = text.split_once('.').unwrap_or((text, ""));
        // Longer numbers stand on no lamp, and their product might not fit.
        let short = text.len() <= 12 && !whole.is_empty();
        let digits = format!("{whole}{part}").parse().ok().filter(|digits| short && *digits > 0)?;
        Some(Decimal { digits, power: -(part.len() as i32) })
    }

    fn times(self, other: Decimal) -> Option<Decimal> {
        Some(Decimal { digits: self.digits.checked_mul(other.digits)?, power: self.power + other.power })
    }

    /// The quotient, where it has at most six digits more.
    fn over(self, other: Decimal) -> Option<Decimal> {
        const MORE: u32 = 6;
        let widened = self.digits.checked_mul(10i128.pow(MORE))?;
        (widened % other.digits == 0)
            .then(|| Decimal { digits: widened / other.digits, power: self.power - other.power - MORE as i32 })
    }

    /// The number with a unit, and with a prefix where that is shorter to read.
    fn written(mut self, unit: &str) -> Option<String> {
        while self.digits % 10 == 0 {
            self.digits /= 10;
            self.power += 1;
        }
        let length = self.digits.to_string().len() as i32;
        // The power of ten of the first digit.
        let (step, prefix) = match length + self.power - 1 {
            3..6 => (3, "k"),
            -1..3 => (0, ""),
            -4..-1 => (-3, "m"),
            _ => return None,
        };
        let power = self.power - step;
        let number = if power >= 0 {
            format!("{}{}", self.digits, "0".repeat(power as usize))
        } else {
            let padded = format!("{:0>width$}", self.digits, width = power.unsigned_abs() as usize + 1);
            let (whole, part) = padded.split_at(padded.len() - power.unsigned_abs() as usize);
            format!("{whole}.{part}")
        };
        Some(format!("{number} {prefix}{unit}"))
    }
}

/// A number with its unit, as it stands in the text.
struct Amount {
    /// `V`, `A` or `W`.
    unit: &'static str,
    value: Decimal,
    written: String,
    /// Index of the token behind it.
    next: usize,
}

fn amount(view: View<'_>, at: usize) -> Option<Amount> {
    if !view.is(at, K::Number) {
        return None;
    }
    let word = view.word(at);
    let split = word.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(word.len());
    let (number, glued) = word.split_at(split);
    let (symbol, next) = if glued.is_empty() { (view.word(at + 1), at + 2) } else { (glued, at + 1) };
    let unit = ["V", "A", "W"].into_iter().find(|unit| symbol.ends_with(unit))?;
    let prefix = symbol.strip_suffix(unit)?;
    let power = match prefix {
        "" => 0,
        prefix => words::PREFIXES.iter().find(|known| known.0 == prefix)?.1,
    };
    let read = Decimal::read(number)?;
    Some(Amount {
        unit,
        value: Decimal { power: read.power + power, ..read },
        written: format!("{number} {symbol}"),
        next,
    })
}

/// Two of voltage, current and power behind a lamp that are not a power at a voltage.
pub(in crate::parser) fn rating(view: View<'_>) -> Option<Problem> {
    if view.word(0) != "lamp" {
        return None;
    }
    let sign = (1..view.len()).find(|&index| matches!(view.kind(index), Some(K::Equals | K::Colon)))?;
    let first = amount(view, sign + 1)?;
    let parted = matches!(view.kind(first.next), Some(K::Comma | K::Slash | K::At | K::And | K::Star));
    let second = amount(view, first.next + usize::from(parted))?;
    let ends = second.next >= view.len() || view.is(second.next, K::Comma);
    let quotient = view.is(first.next, K::Slash);
    let (power, voltage) = match (first.unit, second.unit) {
        // That is right, or else the quotient is: a resistance.
        ("W", "V") if view.is(first.next, K::At) => return None,
        ("V", "A") if quotient => return None,
        ("W", "V") => (Some(first.written.clone()), Some(second.written.clone())),
        ("V", "W") => (Some(second.written.clone()), Some(first.written.clone())),
        ("V", "A") => {
            (first.value.times(second.value).and_then(|power| power.written("W")), Some(first.written.clone()))
        }
        ("A", "V") => {
            (first.value.times(second.value).and_then(|power| power.written("W")), Some(second.written.clone()))
        }
        ("W", "A") => {
            (Some(first.written.clone()), first.value.over(second.value).and_then(|volts| volts.written("V")))
        }
        ("A", "W") => {
            (Some(second.written.clone()), second.value.over(first.value).and_then(|volts| volts.written("V")))
        }
        _ => return None,
    };
    if !ends {
        return None;
    }
    let place = view.between(sign + 1, second.next - 1);
    let mut problem = Problem::new("wrong-unit", place, "the rating of a lamp is its power at its voltage");
    if first.unit != "W" && second.unit != "W" {
        problem = problem.help("the power is the voltage times the current");
    } else if first.unit != "V" && second.unit != "V" {
        problem = problem.help("the voltage is the power over the current");
    }
    Some(match (power, voltage) {
        (Some(power), Some(voltage)) => {
            let rating = format!("{power} at {voltage}");
            let whole = view.gap(sign).to(place);
            problem.fix(format!("Write `{rating}`"), Safety::Safe, vec![(whole, format!(" = {rating}"))])
        }
        _ => problem.help("write it as in `5 W at 12 V`"),
    })
}
