//! One spelling of units: in ASCII, a blank before them.

use ohmline_syntax::words::{PREFIXES, UNITS};

/// A number token in one spelling.
pub enum Spelled {
    /// As it is.
    Whole(String),
    /// With the unit that touched it apart.
    Parted(String, String),
}

/// `12kohm` is `12 kohm`; `4k7` and `10%` stay.
pub fn spell_number(text: &str) -> Spelled {
    let digits = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.').len();
    let (number, letters) = text.split_at(digits);
    // An exponent is part of the number: what follows its digits is looked at.
    if letters.starts_with(['e', 'E'])
        && letters[1..].starts_with(|c: char| c.is_ascii_digit() || "+-\u{2212}".contains(c))
    {
        let sign = letters[1..].starts_with(['+', '-', '\u{2212}']);
        let start = 1 + if sign { letters[1..].chars().next().map_or(0, char::len_utf8) } else { 0 };
        let more = letters[start..].len() - letters[start..].trim_start_matches(|c: char| c.is_ascii_digit()).len();
        let (exponent, unit) = letters.split_at(start + more);
        return match spell_unit(unit) {
            Some(unit) => Spelled::Parted(format!("{number}{exponent}"), unit),
            None => Spelled::Whole(text.to_owned()),
        };
    }
    match spell_unit(letters) {
        Some(unit) => Spelled::Parted(number.to_owned(), unit),
        None => Spelled::Whole(text.to_owned()),
    }
}

/// A unit with its prefix in one spelling: `kΩ` is `kohm`, `µA` is `uA`. `None` for what is no unit.
pub fn spell_unit(text: &str) -> Option<String> {
    let unit = |text: &str| -> Option<&str> {
        // The ohm sign and the letter omega look alike.
        let text = if text == "\u{2126}" || text == "\u{3a9}" { "ohm" } else { text };
        UNITS.iter().copied().find(|unit| *unit == text && *unit != "%")
    };
    if let Some(unit) = unit(text) {
        return Some(unit.to_owned());
    }
    let mut rest = text.chars();
    let prefix = rest.next()?;
    let prefix = if prefix == '\u{b5}' || prefix == '\u{3bc}' { 'u' } else { prefix };
    let known = PREFIXES.iter().any(|(word, _)| word.chars().eq([prefix]));
    let unit = unit(rest.as_str())?;
    known.then(|| format!("{prefix}{unit}"))
}
