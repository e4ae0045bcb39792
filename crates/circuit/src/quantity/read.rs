//! Reading numbers and units, exactly.
//!
//! Numbers are decimal, with an exponent within 99. Letters that touch a number are a unit (`12kohm`) or the letter code of
//! IEC 60062 (`4k7`, `0R47`), in which one letter stands for the decimal marker and the multiplier.

use malachite::base::num::arithmetic::traits::Pow;
use malachite::base::num::conversion::traits::FromStringBase;
use malachite::{Natural, Rational};
use ohmline_syntax::words::PREFIXES;

use super::Dimension;

/// Largest exponent written in a number.
const MAX_EXPONENT: i64 = 99;
/// Most digits of a number; more is a slip of the keyboard, and costs time.
const MAX_DIGITS: usize = 400;

/// A number with its unit, read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Literal {
    /// The value in SI base units.
    pub value: Rational,
    /// What it measures.
    pub dimension: Dimension,
    /// Significant digits written.
    pub digits: u32,
    /// The unit of the last written digit, in SI base units.
    pub last_digit: Rational,
    /// Power of ten of the prefix written before the unit; 0 without one.
    pub prefix: i32,
}

/// Why a number with its unit cannot be read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum LiteralError {
    /// The unit is no unit.
    Unit(UnitError),
    /// The letters that touch the number make no sense; how it may be written instead.
    Letters(Option<String>),
    /// The exponent is beyond 99 or the number has hundreds of digits.
    OutOfRange,
}

/// Why a word is no unit.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum UnitError {
    /// Not known; the nearest unit that is.
    Unknown(Option<String>),
    /// `K` as an SI prefix; the word with `k`.
    CapitalKilo(String),
    /// A prefix without a unit.
    BarePrefix(&'static str),
}

/// A unit with its prefix, read.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct UnitRead {
    /// What it measures.
    pub dimension: Dimension,
    /// Power of ten of the prefix.
    pub prefix: i32,
    /// Power of ten of the unit itself (percent).
    power: i32,
    /// A whole factor (3600 for the hour).
    factor: u64,
}

impl UnitRead {
    /// The unit in SI base units.
    pub fn scale(&self) -> Rational {
        decimal_small(self.factor, i64::from(self.prefix + self.power))
    }
}

/// Unit symbols without prefix: what each measures, its own power of ten, its whole factor.
///
/// The hour is 3600 s (BIPM, The SI Brochure, 9th edition, table 8).
fn plain_unit(word: &str) -> Option<(Dimension, i32, u64)> {
    Some(match word {
        "ohm" | "Ω" | "\u{2126}" => (Dimension::OHM, 0, 1),
        "V" => (Dimension::VOLT, 0, 1),
        "A" => (Dimension::AMPERE, 0, 1),
        "W" => (Dimension::WATT, 0, 1),
        "F" => (Dimension::FARAD, 0, 1),
        "H" => (Dimension::HENRY, 0, 1),
        "S" => (Dimension::SIEMENS, 0, 1),
        "C" => (Dimension::COULOMB, 0, 1),
        "J" => (Dimension::JOULE, 0, 1),
        "Ah" => (Dimension::COULOMB, 0, 3600),
        "Wh" => (Dimension::JOULE, 0, 3600),
        "s" => (Dimension::SECOND, 0, 1),
        "Hz" => (Dimension::HERTZ, 0, 1),
        "%" => (Dimension::NONE, -2, 1),
        _ => return None,
    })
}

/// Power of ten of an SI prefix of the notation.
fn prefix_power(prefix: char) -> Option<i32> {
    Some(match prefix {
        'f' => -15,
        'p' => -12,
        'n' => -9,
        'u' | 'µ' | '\u{3bc}' => -6,
        'm' => -3,
        'k' => 3,
        'M' => 6,
        'G' => 9,
        _ => return None,
    })
}

/// Reads a prefix and a unit.
pub fn read_unit(word: &str) -> Result<UnitRead, UnitError> {
    if let Some((dimension, power, factor)) = plain_unit(word) {
        return Ok(UnitRead { dimension, prefix: 0, power, factor });
    }
    let mut rest = word.chars();
    if let Some(first) = rest.next() {
        let rest = rest.as_str();
        if let Some(prefix) = prefix_power(first)
            && let Some((dimension, power, factor)) = plain_unit(rest)
            && rest != "%"
        {
            return Ok(UnitRead { dimension, prefix, power, factor });
        }
        if first == 'K' && plain_unit(rest).is_some() && rest != "%" {
            return Err(UnitError::CapitalKilo(format!("k{rest}")));
        }
    }
    if let Some(prefix) = bare_prefix(word) {
        return Err(UnitError::BarePrefix(prefix));
    }
    Err(UnitError::Unknown(nearest_unit(word)))
}

/// The prefix that a word is, `K` taken as `k`.
fn bare_prefix(word: &str) -> Option<&'static str> {
    match word {
        "K" => Some("k"),
        "\u{3bc}" => Some("µ"),
        _ => PREFIXES.iter().map(|(prefix, _)| *prefix).find(|prefix| *prefix == word),
    }
}

/// What people write for a unit when they do not write its symbol.
const UNIT_WORDS: &[(&str, &str)] = &[
    ("ohm", "ohm"),
    ("ohms", "ohm"),
    ("r", "ohm"),
    ("ω", "ohm"),
    ("volt", "V"),
    ("volts", "V"),
    ("v", "V"),
    ("amp", "A"),
    ("amps", "A"),
    ("ampere", "A"),
    ("amperes", "A"),
    ("a", "A"),
    ("watt", "W"),
    ("watts", "W"),
    ("w", "W"),
    ("farad", "F"),
    ("farads", "F"),
    ("f", "F"),
    ("henry", "H"),
    ("henries", "H"),
    ("henrys", "H"),
    ("h", "H"),
    ("siemens", "S"),
    ("coulomb", "C"),
    ("coulombs", "C"),
    ("c", "C"),
    ("joule", "J"),
    ("joules", "J"),
    ("j", "J"),
    ("ah", "Ah"),
    ("wh", "Wh"),
    ("sec", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("hz", "Hz"),
    ("hertz", "Hz"),
    ("percent", "%"),
];

/// What people write for a prefix, longest first.
const PREFIX_WORDS: &[(&str, &str)] = &[
    ("femto", "f"),
    ("micro", "u"),
    ("milli", "m"),
    ("mega", "M"),
    ("giga", "G"),
    ("nano", "n"),
    ("pico", "p"),
    ("kilo", "k"),
    ("meg", "M"),
    ("kil", "k"),
    ("f", "f"),
    ("p", "p"),
    ("n", "n"),
    ("u", "u"),
    ("µ", "u"),
    ("μ", "u"),
    ("m", "m"),
    ("k", "k"),
    ("g", "G"),
];

/// The unit that a word most likely stands for.
fn nearest_unit(word: &str) -> Option<String> {
    if word.len() > 24 {
        return None;
    }
    let lower = word.to_lowercase();
    let spelled = |lower: &str| UNIT_WORDS.iter().find(|(name, _)| *name == lower).map(|(_, symbol)| *symbol);
    if let Some(symbol) = spelled(&lower) {
        return Some(symbol.to_owned());
    }
    for (name, prefix) in PREFIX_WORDS {
        if let Some(symbol) = lower.strip_prefix(name).and_then(spelled) {
            // A capital M was meant as mega; a small one as milli.
            let prefix = if *prefix == "m" && word.starts_with('M') { "M" } else { prefix };
            return (symbol != "%").then(|| format!("{prefix}{symbol}"));
        }
    }
    let close = UNIT_WORDS.iter().find(|(name, _)| name.len() > 2 && strsim::osa_distance(name, &lower) == 1);
    if let Some((_, symbol)) = close {
        return Some((*symbol).to_owned());
    }
    for (name, prefix) in PREFIX_WORDS {
        let close = lower.strip_prefix(name).and_then(|rest| {
            UNIT_WORDS.iter().find(|(name, _)| name.len() > 2 && strsim::osa_distance(name, rest) == 1)
        });
        if let Some((_, symbol)) = close {
            return Some(format!("{prefix}{symbol}"));
        }
    }
    None
}

/// The letters of IEC 60062 that stand for the decimal marker: power of ten and what they measure. For resistors L is
/// 10^-3, R 1, K 10^3, M 10^6, G 10^9, T 10^12; for capacitors p, n, u (µ), m and F.
fn code_letter(letter: &str) -> Option<(i32, Dimension)> {
    Some(match letter {
        "L" => (-3, Dimension::OHM),
        "R" | "r" => (0, Dimension::OHM),
        "K" | "k" => (3, Dimension::OHM),
        "M" => (6, Dimension::OHM),
        "G" => (9, Dimension::OHM),
        "T" => (12, Dimension::OHM),
        "p" => (-12, Dimension::FARAD),
        "n" => (-9, Dimension::FARAD),
        "u" | "µ" | "\u{3bc}" => (-6, Dimension::FARAD),
        "m" => (-3, Dimension::FARAD),
        "F" => (0, Dimension::FARAD),
        _ => return None,
    })
}

/// The parts of a number token.
struct Token<'a> {
    whole: &'a str,
    fraction: &'a str,
    exponent: Option<i64>,
    letters: &'a str,
    tail: &'a str,
}

fn split(text: &str) -> Option<Token<'_>> {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let (whole, mut rest) = text.split_at(digits(text));
    let mut fraction = "";
    if let Some(after) = rest.strip_prefix('.') {
        (fraction, rest) = after.split_at(digits(after));
    }
    let mut exponent = None;
    if let Some(after) = rest.strip_prefix(['e', 'E']) {
        let (negative, unsigned) = match after.strip_prefix('-') {
            Some(unsigned) => (true, unsigned),
            None => (false, after.strip_prefix('+').unwrap_or(after)),
        };
        let (power, after) = unsigned.split_at(digits(unsigned));
        if !power.is_empty() {
            // Too many digits to parse is out of range all the same.
            let power: i64 = power.parse().unwrap_or(i64::MAX);
            exponent = Some(if negative { -power } else { power });
            rest = after;
        }
    }
    let letters = rest.trim_end_matches(|c: char| c.is_ascii_digit());
    let tail = &rest[letters.len()..];
    if whole.is_empty() || letters.contains(|c: char| c.is_ascii_digit() || c == '.') {
        return None;
    }
    Some(Token { whole, fraction, exponent, letters, tail })
}

/// Reads a number token, letters that touch it included, with the unit word behind it.
///
/// `expected` settles what a letter code may mean: with an `m` it is a capacitance only where one is expected.
pub fn read_literal(text: &str, unit: Option<&str>, expected: Option<Dimension>) -> Result<Literal, LiteralError> {
    let Some(token) = split(text) else { return Err(LiteralError::Letters(None)) };
    if token.whole.len() + token.fraction.len() + token.tail.len() > MAX_DIGITS
        || token.exponent.is_some_and(|power| power.abs() > MAX_EXPONENT)
    {
        return Err(LiteralError::OutOfRange);
    }
    let exponent = token.exponent.unwrap_or(0);
    if token.letters.is_empty() {
        let unit = unit.map(read_unit).transpose().map_err(LiteralError::Unit)?;
        return Ok(literal(token.whole, token.fraction, exponent, unit));
    }
    if token.fraction.is_empty()
        && token.exponent.is_none()
        && let Some((power, dimension)) = code_letter(token.letters)
        && (token.letters != "m" || !token.tail.is_empty() || expected == Some(Dimension::FARAD))
    {
        let coded = UnitRead { dimension, prefix: power, power: 0, factor: 1 };
        let coded = match unit.map(read_unit).transpose().map_err(LiteralError::Unit)? {
            None => coded,
            // `4k7 ohm`: the letter is the prefix of the unit that follows.
            Some(unit) if unit.prefix == 0 && (power != 0 || unit.dimension == dimension) => {
                UnitRead { prefix: power, ..unit }
            }
            Some(_) => return Err(LiteralError::Letters(None)),
        };
        return Ok(literal(token.whole, token.tail, 0, Some(coded)));
    }
    if !token.tail.is_empty() {
        let instead = (token.fraction.is_empty() && token.exponent.is_none() && unit.is_none())
            .then(|| read_unit(token.letters).ok())
            .flatten()
            .map(|_| format!("{}.{} {}", token.whole, token.tail, token.letters));
        return Err(LiteralError::Letters(instead));
    }
    if unit.is_some() {
        return Err(LiteralError::Letters(None));
    }
    let unit = read_unit(token.letters).map_err(LiteralError::Unit)?;
    Ok(literal(token.whole, token.fraction, exponent, Some(unit)))
}

fn literal(whole: &str, fraction: &str, exponent: i64, unit: Option<UnitRead>) -> Literal {
    let unit = unit.unwrap_or(UnitRead { dimension: Dimension::NONE, prefix: 0, power: 0, factor: 1 });
    let last = exponent - fraction.len() as i64 + i64::from(unit.prefix + unit.power);
    let value = decimal(whole, fraction, last);
    let last_digit = decimal_small(1, last);
    let (value, last_digit) = if unit.factor == 1 {
        (value, last_digit)
    } else {
        let factor = Rational::from(unit.factor);
        (value * &factor, last_digit * factor)
    };
    let leading = whole.bytes().chain(fraction.bytes()).take_while(|digit| *digit == b'0').count();
    let digits = (whole.len() + fraction.len()).saturating_sub(leading).max(1) as u32;
    Literal { value, dimension: unit.dimension, digits, last_digit, prefix: unit.prefix }
}

/// The digits, times a power of ten.
fn decimal(whole: &str, fraction: &str, power: i64) -> Rational {
    if whole.len() + fraction.len() <= 19 {
        // Nineteen digits fit: 10^19 < 2^64.
        let mantissa = whole.bytes().chain(fraction.bytes()).fold(0, |sum, digit| sum * 10 + u64::from(digit - b'0'));
        return decimal_small(mantissa, power);
    }
    let digits = [whole, fraction].concat();
    // The caller hands in ASCII digits only; anything else counts as zero.
    let mantissa = Natural::from_string_base(10, &digits).unwrap_or_default();
    Rational::from(mantissa) * Rational::from(10).pow(power)
}

fn decimal_small(mantissa: u64, power: i64) -> Rational {
    match power {
        0 => Rational::from(mantissa),
        1..=19 if mantissa.checked_mul(10u64.pow(power as u32)).is_some() => {
            Rational::from(mantissa * 10u64.pow(power as u32))
        }
        -19..=-1 => Rational::from_unsigneds(mantissa, 10u64.pow(-power as u32)),
        _ => Rational::from(mantissa) * Rational::from(10).pow(power),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str, unit: Option<&str>) -> Rational {
        read_literal(text, unit, None).unwrap_or_else(|error| panic!("{text} {unit:?}: {error:?}")).value
    }

    fn ratio(numerator: u64, denominator: u64) -> Rational {
        Rational::from_unsigneds(numerator, denominator)
    }

    /// IEC 60062:2016, clause 4: letter and digit code for resistance and capacitance values.
    #[test]
    fn letter_codes() {
        for (text, expected, dimension) in [
            ("0R47", ratio(47, 100), Dimension::OHM),
            ("2R2", ratio(22, 10), Dimension::OHM),
            ("47R", ratio(47, 1), Dimension::OHM),
            ("470R", ratio(470, 1), Dimension::OHM),
            ("1K0", ratio(1000, 1), Dimension::OHM),
            ("4K7", ratio(4700, 1), Dimension::OHM),
            ("4k7", ratio(4700, 1), Dimension::OHM),
            ("47K", ratio(47_000, 1), Dimension::OHM),
            ("1M0", ratio(1_000_000, 1), Dimension::OHM),
            ("2M2", ratio(2_200_000, 1), Dimension::OHM),
            ("1G0", ratio(1_000_000_000, 1), Dimension::OHM),
            ("1T0", ratio(1_000_000_000_000, 1), Dimension::OHM),
            ("0L47", ratio(47, 100_000), Dimension::OHM),
            ("4n7", ratio(47, 10_000_000_000), Dimension::FARAD),
            ("0p33", ratio(33, 100_000_000_000_000), Dimension::FARAD),
            ("4u7", ratio(47, 10_000_000), Dimension::FARAD),
            ("4µ7", ratio(47, 10_000_000), Dimension::FARAD),
            ("4m7", ratio(47, 10_000), Dimension::FARAD),
        ] {
            let read = read_literal(text, None, None).unwrap();
            assert_eq!((read.value, read.dimension), (expected, dimension), "{text}");
        }
        let read = read_literal("10m", None, Some(Dimension::FARAD)).unwrap();
        assert_eq!((read.value, read.dimension), (ratio(1, 100), Dimension::FARAD));
        assert_eq!(
            read_literal("10m", None, Some(Dimension::OHM)),
            Err(LiteralError::Unit(UnitError::BarePrefix("m")))
        );
    }

    /// BIPM, The SI Brochure, 9th edition, tables 3, 4, 7 and 8: prefixes, units, the hour.
    #[test]
    fn units_and_prefixes() {
        for (text, unit, expected) in [
            ("9", "ohm", ratio(9, 1)),
            ("9", "Ω", ratio(9, 1)),
            ("9", "\u{2126}", ratio(9, 1)),
            ("4.7", "kohm", ratio(4700, 1)),
            ("4.7", "kΩ", ratio(4700, 1)),
            ("4.7", "MΩ", ratio(4_700_000, 1)),
            ("4.7", "Gohm", ratio(4_700_000_000, 1)),
            ("4.7", "mohm", ratio(47, 10_000)),
            ("220", "mA", ratio(22, 100)),
            ("47", "uF", ratio(47, 1_000_000)),
            ("47", "µF", ratio(47, 1_000_000)),
            ("47", "\u{3bc}F", ratio(47, 1_000_000)),
            ("47", "nF", ratio(47, 1_000_000_000)),
            ("47", "pF", ratio(47, 1_000_000_000_000)),
            ("47", "fF", ratio(47, 1_000_000_000_000_000)),
            ("2", "Ah", ratio(7200, 1)),
            ("2", "mAh", ratio(72, 10)),
            ("1", "kWh", ratio(3_600_000, 1)),
            ("5", "%", ratio(1, 20)),
            ("50", "Hz", ratio(50, 1)),
            ("2", "ms", ratio(1, 500)),
            ("2", "mS", ratio(1, 500)),
            ("3", "mH", ratio(3, 1000)),
            ("1.2e3", "V", ratio(1200, 1)),
            ("1E-3", "V", ratio(1, 1000)),
        ] {
            assert_eq!(value(text, Some(unit)), expected, "{text} {unit}");
        }
    }

    #[test]
    fn letters_touching_a_number_are_its_unit() {
        assert_eq!(value("12kohm", None), ratio(12_000, 1));
        assert_eq!(value("4.5V", None), ratio(9, 2));
        assert_eq!(value("1e3V", None), ratio(1000, 1));
        assert_eq!(value("4k7", Some("ohm")), ratio(4700, 1));
        assert_eq!(value("4k7", Some("Ω")), ratio(4700, 1));
    }

    #[test]
    fn numbers_stay_exact() {
        assert_eq!(value("0.1", None), ratio(1, 10));
        assert_eq!(value("123456789012345678901234567890", None).to_string(), "123456789012345678901234567890");
        assert_eq!(
            value("0.123456789012345678901234567890", None) * Rational::from(10).pow(30u64),
            value("123456789012345678901234567890", None)
        );
        assert_eq!(value("1e99", None), Rational::from(10).pow(99u64));
        assert_eq!(value("1e-99", None), Rational::from(10).pow(-99i64));
        assert_eq!(value("99999999999999999999", None).to_string(), "99999999999999999999");
    }

    /// NIST SP 811 (2008), B.7: which digits are significant. Trailing zeros that are written count.
    #[test]
    fn precision_is_what_is_written() {
        let of = |text, unit| {
            let read = read_literal(text, Some(unit), None).unwrap();
            (read.digits, read.last_digit)
        };
        assert_eq!(of("0.30", "A"), (2, ratio(1, 100)));
        assert_eq!(of("300", "mA"), (3, ratio(1, 1000)));
        assert_eq!(of("2", "V"), (1, ratio(1, 1)));
        assert_eq!(of("1.20e3", "V"), (3, ratio(10, 1)));
        assert_eq!(of("0", "A"), (1, ratio(1, 1)));
        assert_eq!(of("4k7", "ohm"), (2, ratio(100, 1)));
    }

    #[test]
    fn what_is_no_unit_is_said_with_the_nearest() {
        let unknown = |word: &str| match read_unit(word) {
            Err(UnitError::Unknown(nearest)) => nearest,
            other => panic!("{word}: {other:?}"),
        };
        for (word, nearest) in [
            ("Ohm", "ohm"),
            ("ohms", "ohm"),
            ("kOhm", "kohm"),
            ("KOhms", "kohm"),
            ("MOhm", "Mohm"),
            ("volts", "V"),
            ("ma", "mA"),
            ("milliamps", "mA"),
            ("R", "ohm"),
            ("ohn", "ohm"),
            ("kohn", "kohm"),
            ("microfarads", "uF"),
            ("hz", "Hz"),
        ] {
            assert_eq!(unknown(word).as_deref(), Some(nearest), "{word}");
        }
        assert_eq!(unknown("fortnight"), None);
        assert_eq!(unknown("k%"), None);
        assert_eq!(read_unit("Kohm"), Err(UnitError::CapitalKilo("kohm".into())));
        assert_eq!(read_unit("KΩ"), Err(UnitError::CapitalKilo("kΩ".into())));
        assert_eq!(read_unit("K"), Err(UnitError::BarePrefix("k")));
        assert_eq!(read_unit("M"), Err(UnitError::BarePrefix("M")));
    }

    #[test]
    fn malformed_numbers() {
        assert_eq!(read_literal("3V3", None, None), Err(LiteralError::Letters(Some("3.3 V".into()))));
        assert_eq!(read_literal("4x7", None, None), Err(LiteralError::Letters(None)));
        assert_eq!(read_literal("4.7k", None, None), Err(LiteralError::Unit(UnitError::BarePrefix("k"))));
        assert_eq!(read_literal("1e100", None, None), Err(LiteralError::OutOfRange));
        assert_eq!(read_literal("1e99999999999999999999", None, None), Err(LiteralError::OutOfRange));
        assert_eq!(read_literal(&"1".repeat(500), None, None), Err(LiteralError::OutOfRange));
        for text in ["", "V", ".5", "1..2", "é", "1é2é", "1e", "1e+"] {
            let _ = read_literal(text, None, None);
        }
    }
}
