//! Numbers and units that can be written.

use ohmline_syntax::lexer::TokenKind;

use super::{ItemKind, Line};
use crate::preferred::Series;

/// The unit of the value of a kind; empty where several fit.
pub(super) fn unit_of(kind: &str) -> &'static str {
    match kind {
        "battery" | "diode" => "V",
        "resistor" | "lamp" | "potentiometer" | "ammeter" | "voltmeter" => "ohm",
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
        "Ah" => &["Ah", "mAh", "C"],
        "%" => &["%"],
        "" => &["V", "mV", "A", "mA", "ohm", "kohm", "W", "uF", "mH"],
        _ => &[],
    }
}

impl Line<'_> {
    /// Units behind a number; while the number itself is typed, the number with each unit, and preferred values near it.
    pub(super) fn values(&mut self, unit: &str) {
        let units = spellings(unit);
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
        if !matches!(unit, "ohm" | "F") || !letters.is_empty() || value <= 0.0 {
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
