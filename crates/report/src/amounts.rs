//! Values and answers as people read them.

use malachite::Rational;
use ohmline_circuit::quantity::{Number, Style, show};
use ohmline_circuit::{Amount, Ask, Circuit, Element, Fault, Kind, NodeId, Params, Throw, Unit};
use ohmline_solve::{ElementAnswer, StateAnswers, Value};

use crate::table::Cell;

/// The word for a quantity without a single value.
pub(crate) const UNDETERMINED: &str = "undetermined";

/// A declared value: as exact as it is written, without idle zeros; rounded only where no short decimal number is exact.
pub fn declared(value: &Rational, unit: Unit) -> String {
    let number = Number::exact(value.clone());
    let long = show(&number, unit, Style::Digits(9));
    let (digits, rest) = long.split_once(' ').map_or((long.as_str(), ""), |(digits, rest)| (digits, rest));
    let short = if digits.contains('.') { digits.trim_end_matches('0').trim_end_matches('.') } else { digits };
    if short.chars().filter(char::is_ascii_digit).count() > 7 {
        return show(&number, unit, Style::Digits(4));
    }
    if rest.is_empty() { short.to_owned() } else { format!("{short} {rest}") }
}

/// A fraction as a percentage: `40%`.
pub fn percent(fraction: &Rational) -> String {
    let value = Number::exact(fraction * Rational::from(100)).to_f64();
    format!("{}%", (value * 1e6).round() / 1e6)
}

fn amount(amount: &Amount, unit: Unit) -> String {
    match amount {
        Amount::Known(value) => declared(value, unit),
        Amount::Asked => "?".to_owned(),
        Amount::Invalid => "unknown".to_owned(),
    }
}

/// The value of an element in a few words, for the table.
pub(crate) fn value_cell(params: &Params) -> Cell {
    let of = |value: &Amount, unit| match value {
        Amount::Known(value) => Cell::shown(&declared(value, unit)),
        other => Cell::text(amount(other, unit)),
    };
    match params {
        Params::Battery { emf, .. } => of(emf, Unit::Volt),
        Params::VoltageSource { voltage, .. } => of(voltage, Unit::Volt),
        Params::CurrentSource { drive, .. } => of(drive, Unit::Ampere),
        Params::Resistor { resistance, .. } | Params::Lamp { resistance, .. } => of(resistance, Unit::Ohm),
        Params::Switch { closed } => Cell::text(match closed {
            Some(true) => "closed",
            Some(false) => "open",
            None => "unknown",
        }),
        Params::Changeover { throw } => Cell::text(match throw {
            Some(Throw::A) => "on a",
            Some(Throw::B) => "on b",
            None => "unknown",
        }),
        Params::Potentiometer { resistance, .. } => of(resistance, Unit::Ohm),
        Params::Fuse { rating, .. } => rating.as_ref().map_or(Cell::empty(), |rating| of(rating, Unit::Ampere)),
        Params::Ammeter { resistance, .. } | Params::Voltmeter { resistance, .. } => {
            resistance.as_ref().map_or(Cell::text("ideal"), |resistance| of(resistance, Unit::Ohm))
        }
        Params::Capacitor { capacitance, .. } => of(capacitance, Unit::Farad),
        Params::Inductor { inductance, .. } => of(inductance, Unit::Henry),
        Params::Diode { drop, .. } => of(drop, Unit::Volt),
    }
}

/// What else is declared about an element and matters for its currents, in words.
pub(crate) fn value_remarks(params: &Params, notes: &mut Vec<String>) {
    let mut option = |name: &str, value: Option<&Amount>, unit| {
        if let Some(value) = value {
            notes.push(format!("{name} {}", amount(value, unit)));
        }
    };
    match params {
        Params::Battery { internal, .. } => option("internal", internal.as_ref(), Unit::Ohm),
        Params::Fuse { resistance, .. } | Params::Inductor { resistance, .. } | Params::Diode { resistance, .. } => {
            option("resistance", resistance.as_ref(), Unit::Ohm);
        }
        Params::Lamp { rated: Some(rated), .. } => {
            let (power, voltage) = &**rated;
            notes.push(format!("rated {} at {}", declared(power, Unit::Watt), declared(voltage, Unit::Volt)));
        }
        Params::Potentiometer { at, .. } => notes.push(match at {
            Amount::Known(at) => format!("at {}", percent(at)),
            other => format!("at {}", amount(other, Unit::One)),
        }),
        _ => {}
    }
}

/// What a case does to an element beside its values.
pub(crate) const fn fault_word(fault: Fault) -> &'static str {
    match fault {
        Fault::Open => "open",
        Fault::Shorted => "shorted",
    }
}

/// The largest of each kind of answer of a state: below a trillionth of it a floating number is shown as zero.
#[derive(Clone, Copy, Default)]
pub(crate) struct Scale {
    current: f64,
    voltage: f64,
    power: f64,
}

/// Shows the answers of one state.
pub struct Shower {
    style: Style,
    scale: Option<Scale>,
}

/// Relative size below which a floating answer is the rounding of the arithmetic.
const NOISE: f64 = 1e-12;

impl Shower {
    /// For the answers of a state, in this style.
    pub fn new(style: Style, answers: &StateAnswers) -> Self {
        if answers.exact {
            return Self { style, scale: None };
        }
        let mut scale = Scale::default();
        let size = |value: Option<&Value>| {
            value.and_then(Value::known).map_or(0.0, |number| number.to_f64().abs()).min(f64::MAX)
        };
        for answer in answers.elements.iter().flatten() {
            scale.current = scale.current.max(size(answer.current.as_ref()));
            scale.voltage = scale.voltage.max(size(answer.voltage.as_ref()));
            scale.power = scale.power.max(size(Some(&answer.power)));
        }
        for potential in &answers.potentials {
            scale.voltage = scale.voltage.max(size(Some(potential)));
        }
        Self { style, scale: Some(scale) }
    }

    /// A number with its unit.
    pub fn number(&self, number: &Number, unit: Unit) -> String {
        if let (Some(scale), Number::Float(value)) = (self.scale, number) {
            let largest = match unit {
                Unit::Ampere => scale.current,
                Unit::Volt => scale.voltage,
                Unit::Watt => scale.power,
                _ => 0.0,
            };
            if value.abs() < largest * NOISE {
                return show(&Number::exact(Rational::from(0)), unit, self.style);
            }
        }
        show(number, unit, self.style)
    }

    /// An answer as a cell.
    pub(crate) fn cell(&self, value: &Value, unit: Unit) -> Cell {
        match value {
            Value::Known(number) => Cell::shown(&self.number(number, unit)),
            Value::Undetermined(_) => Cell::text(UNDETERMINED),
        }
    }

    /// An answer in running text.
    pub fn words(&self, value: &Value, unit: Unit) -> String {
        match value {
            Value::Known(number) => self.number(number, unit),
            Value::Undetermined(_) => UNDETERMINED.to_owned(),
        }
    }
}

/// Whether two answers differ by more than the rounding of floating arithmetic.
pub(crate) fn differ(left: &Value, right: &Value) -> bool {
    match (left, right) {
        (Value::Known(Number::Exact(left)), Value::Known(Number::Exact(right))) => left != right,
        (Value::Known(left), Value::Known(right)) => {
            let (left, right) = (left.to_f64(), right.to_f64());
            (left - right).abs() > 1e-9 * left.abs().max(right.abs())
        }
        (Value::Undetermined(_), Value::Undetermined(_)) => false,
        _ => true,
    }
}

/// Names of the terminals of kinds that have more than two, with the current into each.
pub(crate) fn terminals<'a>(
    element: &'a Element,
    answer: &'a ElementAnswer,
) -> impl Iterator<Item = (&'static str, &'a Value)> {
    let many = matches!(element.kind, Kind::Potentiometer | Kind::Changeover);
    element.kind.terminals().iter().copied().zip(&answer.into).filter(move |_| many)
}

/// A question in words, with the moment it asks about.
pub(crate) fn question(ask: &Ask) -> String {
    match &ask.after {
        Some(after) if !ask.text.contains(" after ") => {
            format!("{} after {}", ask.text, declared(after, Unit::Second))
        }
        _ => ask.text.clone(),
    }
}

/// What people call a node.
pub(crate) fn point(circuit: &Circuit, node: NodeId) -> &str {
    &circuit.node(node).label
}
