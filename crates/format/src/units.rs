//! One spelling of units: in ASCII, a blank before them.

use std::fmt;

use ohmline_syntax::words::{PREFIXES, UNITS};

/// A unit with its prefix: `kohm`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Unit {
    prefix: Option<char>,
    unit: &'static str,
}

impl fmt::Display for Unit {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(prefix) = self.prefix {
            write!(out, "{prefix}")?;
        }
        out.write_str(self.unit)
    }
}

/// A number token, and the unit that touches it: `12kohm` is `12` and `kohm`; `4k7` and `10%` are numbers alone.
pub fn parted(text: &str) -> (&str, Option<Unit>) {
    let digits = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.').len();
    let letters = &text[digits..];
    if letters.is_empty() {
        return (text, None);
    }
    // An exponent is part of the number: what follows its digits is looked at.
    let exponent = exponent(letters);
    match unit(&letters[exponent..]) {
        Some(unit) => (&text[..digits + exponent], Some(unit)),
        None => (text, None),
    }
}

/// The length of the exponent that a text begins with.
fn exponent(text: &str) -> usize {
    let Some(behind) = text.strip_prefix(['e', 'E']) else { return 0 };
    let digits = behind.strip_prefix(['+', '-', '\u{2212}']).unwrap_or(behind);
    let rest = digits.trim_start_matches(|c: char| c.is_ascii_digit());
    if rest.len() == digits.len() { 0 } else { text.len() - rest.len() }
}

/// A unit with its prefix: `kΩ` is `kohm`, `µA` is `uA`. `None` for what is no unit.
pub fn unit(text: &str) -> Option<Unit> {
    let known = |text: &str| -> Option<&'static str> {
        // The ohm sign and the letter omega look alike.
        let text = if text == "\u{2126}" || text == "\u{3a9}" { "ohm" } else { text };
        UNITS.iter().copied().find(|unit| *unit == text && *unit != "%")
    };
    if let Some(unit) = known(text) {
        return Some(Unit { prefix: None, unit });
    }
    let mut rest = text.chars();
    let prefix = rest.next()?;
    let prefix = if prefix == '\u{b5}' || prefix == '\u{3bc}' { 'u' } else { prefix };
    let is_prefix = PREFIXES.iter().any(|(word, _)| word.chars().eq([prefix]));
    let unit = known(rest.as_str())?;
    is_prefix.then_some(Unit { prefix: Some(prefix), unit })
}
