//! What is written beside an element.

use ohmline_circuit::quantity::Number;
use ohmline_circuit::{Amount, Fault, Params, Rational, Unit};
use ohmline_draw::{Arrow, Symbol, Throw};
use ohmline_report::{Shower, declared, percent};
use ohmline_solve::{ElementAnswer, Value};

/// The symbol of an element with these values.
pub fn symbol(params: &Params, polar: bool) -> Symbol {
    match params {
        Params::Battery { .. } => Symbol::Battery,
        Params::VoltageSource { .. } => Symbol::VoltageSource,
        Params::CurrentSource { .. } => Symbol::CurrentSource,
        Params::Resistor { .. } => Symbol::Resistor,
        Params::Lamp { .. } => Symbol::Lamp,
        // One whose state could not be read is drawn open, which is the usual resting position.
        Params::Switch { closed } => Symbol::Switch { closed: *closed == Some(true) },
        Params::Changeover { throw } => Symbol::Changeover {
            throw: match throw {
                Some(ohmline_circuit::Throw::B) => Throw::B,
                _ => Throw::A,
            },
        },
        Params::Potentiometer { .. } => Symbol::Potentiometer,
        Params::Fuse { .. } => Symbol::Fuse,
        Params::Ammeter { .. } => Symbol::Ammeter,
        Params::Voltmeter { .. } => Symbol::Voltmeter,
        Params::Capacitor { .. } if polar => Symbol::Electrolytic,
        Params::Capacitor { .. } => Symbol::Capacitor,
        Params::Inductor { .. } => Symbol::Inductor,
        Params::Diode { .. } => Symbol::Diode,
    }
}

fn amount(amount: &Amount, unit: Unit) -> Option<String> {
    match amount {
        Amount::Known(value) => Some(declared(value, unit)),
        Amount::Asked => Some("?".to_owned()),
        Amount::Invalid => None,
    }
}

fn with_resistance(value: Option<String>, resistance: Option<&Amount>) -> Option<String> {
    let zero = resistance.and_then(Amount::known).is_some_and(|value| *value == 0);
    let resistance = resistance.filter(|_| !zero).and_then(|resistance| amount(resistance, Unit::Ohm));
    match (value, resistance) {
        (Some(value), Some(resistance)) => Some(format!("{value}, r = {resistance}")),
        (Some(one), None) => Some(one),
        (None, other) => other,
    }
}

/// The value of an element, as it is written beside its symbol.
pub fn value(params: &Params, fault: Option<Fault>) -> Option<String> {
    match fault {
        Some(Fault::Open) => return Some("open".to_owned()),
        Some(Fault::Shorted) => return Some("shorted".to_owned()),
        None => {}
    }
    match params {
        Params::Battery { emf, internal, .. } => with_resistance(amount(emf, Unit::Volt), internal.as_ref()),
        Params::VoltageSource { voltage, .. } => amount(voltage, Unit::Volt),
        Params::CurrentSource { drive, .. } => amount(drive, Unit::Ampere),
        Params::Lamp { rated: Some(rated), .. } => {
            let (power, voltage) = &**rated;
            Some(format!("{} at {}", declared(power, Unit::Watt), declared(voltage, Unit::Volt)))
        }
        Params::Resistor { resistance, .. } | Params::Lamp { resistance, .. } => amount(resistance, Unit::Ohm),
        // Its symbol shows where it stands.
        Params::Switch { .. } | Params::Changeover { .. } => None,
        Params::Potentiometer { resistance, at, .. } => {
            let at = match at {
                Amount::Known(at) => Some(percent(at)),
                Amount::Asked => Some("?".to_owned()),
                Amount::Invalid => None,
            };
            match (amount(resistance, Unit::Ohm), at) {
                (Some(resistance), Some(at)) => Some(format!("{resistance} at {at}")),
                (one, other) => one.or(other),
            }
        }
        Params::Fuse { rating, resistance } => {
            with_resistance(rating.as_ref().and_then(|rating| amount(rating, Unit::Ampere)), resistance.as_ref())
        }
        Params::Ammeter { resistance, .. } | Params::Voltmeter { resistance, .. } => {
            resistance.as_ref().and_then(|resistance| amount(resistance, Unit::Ohm))
        }
        Params::Capacitor { capacitance, .. } => amount(capacitance, Unit::Farad),
        Params::Inductor { inductance, resistance, .. } => {
            with_resistance(amount(inductance, Unit::Henry), resistance.as_ref())
        }
        Params::Diode { drop, resistance, .. } => with_resistance(amount(drop, Unit::Volt), resistance.as_ref()),
    }
}

/// What the solution says about an element with two terminals: its current as an arrow in the direction in which it really
/// flows, and its voltage counted in that direction (for sources and everything without current: from the first terminal to the second).
pub fn solved(answer: &ElementAnswer, source: bool, shower: &Shower) -> (Option<Arrow>, Vec<String>) {
    let known = |value: &Option<Value>| value.as_ref().and_then(Value::known).cloned();
    let mut lines = Vec::new();
    let mut arrow = None;
    let mut turned = false;
    match known(&answer.current) {
        Some(current) if shower.number(&current, Unit::Ampere) == shower.number(&zero(), Unit::Ampere) => {
            lines.push(format!("I = {}", shower.number(&zero(), Unit::Ampere)));
        }
        Some(current) => {
            let negative = current.to_f64() < 0.0;
            // A source counts its current out of plus, its first terminal.
            arrow = Some(Arrow { forward: negative == source, text: shower.number(&size(&current), Unit::Ampere) });
            turned = negative && !source;
        }
        None if answer.current.is_some() => lines.push("I undetermined".to_owned()),
        None => {}
    }
    match known(&answer.voltage) {
        Some(voltage) => {
            let voltage = if turned { minus(&voltage) } else { voltage };
            lines.push(format!("V = {}", typographic(&shower.number(&voltage, Unit::Volt))));
        }
        None if answer.voltage.is_some() => lines.push("V undetermined".to_owned()),
        None => {}
    }
    (arrow, lines)
}

/// With a minus sign as wide as a plus.
pub fn typographic(number: &str) -> String {
    number.replace('-', "\u{2212}")
}

fn zero() -> Number {
    Number::exact(Rational::from(0))
}

fn minus(number: &Number) -> Number {
    match number {
        Number::Exact(value) => Number::exact(-&**value),
        Number::Float(value) => Number::Float(-value),
    }
}

fn size(number: &Number) -> Number {
    if number.to_f64() < 0.0 { minus(number) } else { number.clone() }
}
