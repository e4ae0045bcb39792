//! Numbers and units that can be written.

use ohmline_circuit::quantity::Dimension;
use ohmline_syntax::lexer::TokenKind;

use super::{ItemKind, Line};
use crate::preferred::Series;

/// The unit of the value of a kind, with `|` between several; empty where any fits.
pub(super) fn unit_of(kind: &str) -> &'static str {
    match kind {
        "battery" | "diode" => "V",
        "source" => "V|A",
        "lamp" => "ohm|W",
        "resistor" | "potentiometer" | "ammeter" | "voltmeter" => "ohm",
        "fuse" => "A",
        "capacitor" | "electrolytic" => "F",
        "inductor" => "H",
        _ => "",
    }
}

/// The unit of a quantity that is asked for.
pub(super) fn unit_of_quantity(quantity: &str) -> &'static str {
    match quantity {
        "current" => "A",
        "voltage" | "potential" => "V",
        "resistance" => "ohm",
        "capacitance" => "F",
        "power" => "W",
        "charge" => "C",
        "energy" => "J",
        _ => "",
    }
}

/// The units with prefixes that are in use, by unit.
fn spellings(unit: &str) -> &'static [&'static str] {
    match unit {
        "V" => &["V", "mV", "kV", "uV"],
        "A" => &["A", "mA", "uA"],
        "ohm" => &["ohm", "kohm", "Mohm", "mohm"],
        "W" => &["W", "mW", "kW"],
        "F" => &["uF", "nF", "pF", "mF", "F"],
        "H" => &["mH", "H", "uH"],
        "C" => &["C", "mC", "uC"],
        "J" => &["J", "mJ"],
        "V|A" => &["V", "mV", "A", "mA"],
        "ohm|W" => &["ohm", "kohm", "W", "mW"],
        "Ah" => &["Ah", "mAh", "C"],
        "%" => &["%"],
        "A%" => &["%", "A", "mA", "uA"],
        "V%" => &["%", "V", "mV"],
        "ohm%" => &["%", "ohm", "kohm"],
        "W%" => &["%", "W", "mW"],
        "F%" => &["%", "uF", "nF"],
        "C%" => &["%", "C", "mC", "uC"],
        "J%" => &["%", "J", "mJ"],
        "H%" => &["%", "mH", "H"],
        "" => &["V", "mV", "A", "mA", "ohm", "kohm", "W", "uF", "mH"],
        _ => &[],
    }
}

const SYMBOLS: &[&str] = &["ohm", "\u{3a9}", "\u{2126}", "V", "A", "W", "F", "H", "S", "C", "J", "Ah", "Wh", "s", "Hz"];

/// The unit that a word is, without its prefix.
fn unit_word(word: &str) -> Option<&'static str> {
    let bare = word.strip_prefix(['f', 'p', 'n', 'u', '\u{b5}', '\u{3bc}', 'm', 'k', 'M', 'G']);
    let known = |word: &str| SYMBOLS.iter().copied().find(|symbol| *symbol == word);
    known(word).or_else(|| known(bare?))
}

/// Whether a text begins with a unit.
fn is_unit(text: &str) -> bool {
    unit_word(text.split(|c: char| !c.is_alphanumeric()).next().unwrap_or("")).is_some()
}

/// The dimension of a number with its unit; `None` for anything else.
pub(super) fn dimension_of(text: &str) -> Option<Dimension> {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.').trim_start();
    (unit.len() < text.len()).then(|| unit_word(unit)).flatten().map(dimension)
}

/// The dimension of a unit.
pub(super) fn dimension(unit: &str) -> Dimension {
    match unit {
        "V" => Dimension::VOLT,
        "A" => Dimension::AMPERE,
        "ohm" | "\u{3a9}" | "\u{2126}" => Dimension::OHM,
        "W" => Dimension::WATT,
        "F" => Dimension::FARAD,
        "H" => Dimension::HENRY,
        "C" | "Ah" => Dimension::COULOMB,
        "J" | "Wh" => Dimension::JOULE,
        "S" => Dimension::SIEMENS,
        "Hz" => Dimension::HERTZ,
        "s" => Dimension::SECOND,
        _ => Dimension::NONE,
    }
}

impl Line<'_> {
    /// Units behind a number; while the number itself is typed, the number with each unit, and preferred values near it.
    pub(super) fn values(&mut self, unit: &str) {
        let mut units = spellings(unit).to_vec();
        if unit == "ohm|W" {
            // `5 W at 12 V`: what stands behind decides.
            let watts = self.behind().split_whitespace().next() == Some("at");
            units.retain(|unit| !watts || unit.ends_with('W'));
        }
        // A unit or a sign of reckoning stands there already.
        let behind = self.behind().trim_start();
        let units = if behind.starts_with(['/', '*', '%']) || is_unit(behind) { &[][..] } else { &units[..] };
        if self.before.last().is_some_and(|last| last.kind == TokenKind::Number) {
            for (rank, unit) in units.iter().enumerate() {
                let item = self.item(unit, ItemKind::Unit, rank as u8);
                self.add(item);
            }
            return;
        }
        let typed = self.typed();
        let digits = typed.len() - typed.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.').len();
        let (number, letters) = typed.split_at(digits);
        let Ok(value) = number.parse::<f64>() else { return };
        for (rank, unit) in units.iter().enumerate().filter(|(_, unit)| unit.starts_with(letters)) {
            let text = if *unit == "%" { format!("{number}%") } else { format!("{number} {unit}") };
            let item = self.item(&text, ItemKind::Unit, rank as u8);
            self.add(item);
        }
        // Resistors and capacitors come in preferred values.
        if !matches!(unit, "ohm" | "ohm|W" | "F") || !letters.is_empty() || value <= 0.0 {
            return;
        }
        let series = self.series();
        for (rank, preferred) in series.nearest(value, 3).into_iter().enumerate() {
            if preferred == value {
                continue;
            }
            let mut item = self.item(&format!("{preferred}"), ItemKind::Number, 20 + rank as u8);
            item.detail = format!("preferred value of {}", series.name());
            item.doc = "IEC 60063, the series that fits the tolerance.".to_owned();
            self.add(item);
        }
    }

    /// The series that fits the tolerance of the line, which may stand behind the cursor; E24 where none is written.
    fn series(&self) -> Series {
        let from = self.before.first().map_or(self.word.start, |first| first.start) as usize;
        let line = self.text[from..].split(['\n', '\r', '#']).next().unwrap_or("");
        let written = line.split_once("tolerance").map(|(_, rest)| rest.trim_start());
        let number = written
            .and_then(|rest| rest.split(|c: char| !(c.is_ascii_digit() || c == '.')).next()?.parse::<f64>().ok());
        number.map_or(Series::E24, Series::for_tolerance)
    }
}
