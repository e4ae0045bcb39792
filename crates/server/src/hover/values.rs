//! Values in a few words, solved or written.

use ohmline_circuit::quantity::{Dimension, Measure, Style, show};
use ohmline_circuit::{Amount, Fault, Params, Rational, Throw, Unit};
use ohmline_solve::{Number, Value};

use super::{DIGITS, MOST};

pub(super) fn cell(value: &Value, unit: Unit) -> String {
    match value {
        Value::Known(number) => show(number, unit, DIGITS),
        Value::Undetermined(_) => "undetermined".to_owned(),
    }
}

/// Words in a list; what is beyond the most is counted.
pub(super) fn list(words: &[String]) -> String {
    if words.len() <= MOST {
        return words.join(", ");
    }
    format!("{} and {} more", words[..MOST].join(", "), words.len() - MOST)
}

/// A value that was written, not solved: without zeros that nobody wrote.
fn written(number: &Rational, unit: Unit) -> String {
    let text = show(&Number::exact(number.clone()), unit, Style::Digits(9));
    let Some((digits, rest)) = text.split_once(' ') else { return text };
    if digits.contains('.') { format!("{} {rest}", digits.trim_end_matches('0').trim_end_matches('.')) } else { text }
}

/// What a value comes to, with its unit as far as there is one.
pub(super) fn comes_to(measure: &Measure) -> String {
    const UNITS: [Unit; 9] = [
        Unit::Ohm,
        Unit::Volt,
        Unit::Ampere,
        Unit::Watt,
        Unit::Farad,
        Unit::Henry,
        Unit::Coulomb,
        Unit::Joule,
        Unit::Second,
    ];
    if let Some(unit) = UNITS.into_iter().find(|unit| unit.dimension() == measure.dimension) {
        return written(&measure.value, unit);
    }
    let number = Number::exact(measure.value.clone());
    let plain = show(&number, Unit::One, Style::Digits(9));
    let plain = if plain.contains('.') { plain.trim_end_matches('0').trim_end_matches('.') } else { &plain };
    match measure.dimension.unit_word() {
        Some(word) => format!("{plain} {word}"),
        None if measure.dimension == Dimension::NONE => plain.to_owned(),
        None => format!("{plain}, {}", measure.dimension.describe()),
    }
}

/// How an element is set, in a few words.
pub(super) fn set_to(params: &Params, fault: Option<Fault>) -> Option<String> {
    match fault {
        Some(Fault::Open) => return Some("open".to_owned()),
        Some(Fault::Shorted) => return Some("shorted".to_owned()),
        None => {}
    }
    let value = |number: &Rational, unit| written(number, unit);
    let amount = |amount: &Amount, unit| match amount {
        Amount::Known(number) => value(number, unit),
        Amount::Asked => "to be found".to_owned(),
        Amount::Invalid => "unreadable".to_owned(),
    };
    let inside = |found: &Option<Amount>| match found {
        Some(found) => format!(" with {} inside", amount(found, Unit::Ohm)),
        None => String::new(),
    };
    Some(match params {
        Params::Battery { emf, internal, .. } => format!("{}{}", amount(emf, Unit::Volt), inside(internal)),
        Params::VoltageSource { voltage, .. } => amount(voltage, Unit::Volt),
        Params::CurrentSource { drive, .. } => amount(drive, Unit::Ampere),
        Params::Resistor { resistance, .. } => amount(resistance, Unit::Ohm),
        Params::Lamp { resistance, rated } => match rated.as_deref() {
            Some((power, voltage)) => format!(
                "{} at {} ({})",
                value(power, Unit::Watt),
                value(voltage, Unit::Volt),
                amount(resistance, Unit::Ohm)
            ),
            None => amount(resistance, Unit::Ohm),
        },
        Params::Switch { closed } => match closed {
            Some(true) => "closed".to_owned(),
            Some(false) => "open".to_owned(),
            None => return None,
        },
        Params::Changeover { throw } => match throw {
            Some(Throw::A) => "a".to_owned(),
            Some(Throw::B) => "b".to_owned(),
            None => return None,
        },
        Params::Potentiometer { resistance, at, .. } => {
            let percent = match at {
                Amount::Known(share) => {
                    let percent = Number::exact(share * Rational::from(100)).to_f64();
                    format!("{percent} %")
                }
                other => amount(other, Unit::One),
            };
            format!("{} at {percent}", amount(resistance, Unit::Ohm))
        }
        Params::Fuse { rating, .. } => return rating.as_ref().map(|rating| amount(rating, Unit::Ampere)),
        Params::Ammeter { resistance, .. } | Params::Voltmeter { resistance, .. } => {
            return resistance.as_ref().map(|resistance| amount(resistance, Unit::Ohm));
        }
        Params::Capacitor { capacitance, .. } => amount(capacitance, Unit::Farad),
        Params::Inductor { inductance, resistance, .. } => {
            format!("{}{}", amount(inductance, Unit::Henry), inside(resistance))
        }
        Params::Diode { drop, .. } => amount(drop, Unit::Volt),
    })
}
