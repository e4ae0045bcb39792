//! Small words that many messages need: lists of names, numbers, where an end is.

use std::borrow::Cow;
use std::ops::RangeInclusive;

use malachite::base::num::conversion::traits::FromSciString;
use ohmline_circuit::quantity::{Number, Style, read_unit, show};
use ohmline_circuit::{Circuit, ElementId, Kind, Law, NodeId, Params, Rational, StateId, Stated, Throw, Unit};

/// Longest list of names written out.
const LONGEST: usize = 6;

/// `R1, R2 and R3`; a long list is cut: `R1, R2, R3, R4, R5 and 12 more`.
pub fn list(names: &[&str]) -> String {
    let cut = if names.len() > LONGEST { LONGEST - 1 } else { names.len() };
    let mut text = String::new();
    for (at, name) in names[..cut].iter().enumerate() {
        if at > 0 {
            text.push_str(if at + 1 == names.len() { " and " } else { ", " });
        }
        text.push_str(name);
    }
    if cut < names.len() {
        text.push_str(&format!(" and {} more", names.len() - cut));
    }
    text
}

/// The names of elements as a list.
pub fn elements(circuit: &Circuit, elements: &[ElementId]) -> String {
    let shown: Vec<&str> = elements.iter().map(|id| circuit.element(*id).name.as_str()).collect();
    list(&shown)
}

/// `carries` for one, `carry` for more.
pub fn verb<'w>(count: usize, one: &'w str, more: &'w str) -> &'w str {
    if count == 1 { one } else { more }
}

/// What people call a node, as it stands in a sentence: `@fork`, `B1-`, `the point between R1 and R2`.
pub fn node(circuit: &Circuit, node: NodeId) -> Cow<'_, str> {
    let label = circuit.node(node).label.as_str();
    if label.starts_with("between ") {
        Cow::Owned(format!("the point {label}"))
    } else if label.starts_with("end of ") {
        Cow::Owned(format!("the {label}"))
    } else {
        Cow::Borrowed(label)
    }
}

/// `B1+`, `P1.wiper`, `the left end of R3`.
pub fn terminal(circuit: &Circuit, element: ElementId, terminal: u8) -> String {
    let element = circuit.element(element);
    match element.kind.terminals().get(terminal as usize).copied().unwrap_or("") {
        "" if terminal == 0 => format!("the left end of {}", element.name),
        "" => format!("the right end of {}", element.name),
        sign @ ("+" | "-") => format!("{}{sign}", element.name),
        word => format!("{}.{word}", element.name),
    }
}

/// An element that conducts without resistance, with why: `S1 (closed)`, `A1`, `R3 (0 ohm)`.
pub fn conductor(circuit: &Circuit, state: StateId, id: ElementId) -> String {
    let element = circuit.element(id);
    let name = &element.name;
    if circuit.states[state.index()].faults.contains_key(&id) {
        return format!("{name} (shorted)");
    }
    match circuit.params(state, id) {
        Params::Switch { .. } => format!("{name} (closed)"),
        Params::Changeover { throw: Some(Throw::A), .. } => format!("{name} (at a)"),
        Params::Changeover { .. } => format!("{name} (at b)"),
        Params::Resistor { .. } | Params::Lamp { .. } => format!("{name} (0 ohm)"),
        Params::Potentiometer { .. } => {
            // The end at which the wiper stands is the part of it without resistance.
            let at_a = circuit.branches_of(id).next().is_some_and(|first| circuit.law(state, first) == Law::Short);
            let end = if at_a { "a" } else { "b" };
            format!("{name} (from {name}.{end} to {name}.wiper)")
        }
        _ => name.to_string(),
    }
}

/// A number with its unit and prefix, three significant digits.
pub fn number(value: &Number, unit: Unit) -> String {
    show(value, unit, Style::Digits(3))
}

/// An exact value with its unit and prefix, three significant digits.
pub fn exact(value: &Rational, unit: Unit) -> String {
    number(&Number::exact(value.clone()), unit)
}

/// Most digits that tell two numbers apart.
const MOST_DIGITS: u32 = 9;

/// A solved number in the unit of a value that a user states, with as many digits as are written, three at the least:
/// `3330 mA` for a third of 10 A beside a claim of `3330 mA`.
pub fn beside(solved: &Number, unit: Unit, stated: &Stated, written: &str) -> String {
    let digits = stated.digits.clamp(3, MOST_DIGITS);
    in_unit_of(solved, stated, written, digits..=digits).unwrap_or_else(|| number(solved, unit))
}

/// The same, with as many digits as it takes to look different: `3333 mA` beside a claim of `3330 mA`.
pub fn apart(solved: &Number, unit: Unit, stated: &Stated, written: &str) -> String {
    let digits = stated.digits.clamp(3, MOST_DIGITS)..=MOST_DIGITS;
    in_unit_of(solved, stated, written, digits).unwrap_or_else(|| {
        let shown = number(solved, unit);
        if shown == exact(&stated.value, unit) { show(solved, unit, Style::Digits(7)) } else { shown }
    })
}

/// A number in the unit of a single number that is written, with the first number of digits that shows it different from that one,
/// else the last; `None` where another prefix is easier to read.
fn in_unit_of(solved: &Number, stated: &Stated, written: &str, digits: RangeInclusive<u32>) -> Option<String> {
    let number = written.trim_start_matches(['-', '+', '\u{2212}', ' ']);
    let behind = number.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let symbol = behind.trim_start();
    let scale = read_unit(symbol).ok().filter(|_| behind.len() < number.len())?.scale();
    let value = match solved {
        Number::Exact(value) => (**value).clone(),
        Number::Float(value) => Rational::try_from(*value).ok()?,
    };
    let value = Number::exact(value / &scale);
    // A number of another size is easier to read with a prefix of its own.
    let size = value.to_f64().abs();
    let claimed = Number::exact(&stated.value / &scale).to_f64().abs();
    let near = claimed == 0.0 || (claimed / 50.0..claimed * 50.0).contains(&size);
    if size != 0.0 && !(near && (1e-3..1e5).contains(&size)) {
        return None;
    }
    let decimals = number[..number.len() - behind.len()].split_once('.').map_or(0, |(_, part)| part.len());
    let mut text = String::new();
    for digits in digits {
        text = show(&value, Unit::One, Style::Digits(digits));
        let shown = Rational::from_sci_string(&text)?;
        if value == Number::exact(shown.clone()) {
            trim_zeros(&mut text, decimals);
        }
        if shown * &scale != stated.value {
            break;
        }
    }
    Some(format!("{text} {symbol}"))
}

/// Takes idle zeros off an exact number until it has only this many decimals.
fn trim_zeros(text: &mut String, decimals: usize) {
    let Some(point) = text.find('.') else { return };
    let least = if decimals == 0 { point } else { point + 1 + decimals };
    let end = text.trim_end_matches('0').trim_end_matches('.').len().max(least);
    text.truncate(end);
}

/// A value of the double-precision kind, for messages.
pub fn float(value: f64, unit: Unit) -> String {
    number(&Number::Float(value), unit)
}

/// A bare number of three significant digits, without needless zeros: `12.5`, `300`.
pub fn plain(value: f64) -> String {
    if !value.is_finite() || value == 0.0 {
        return "0".to_owned();
    }
    let before = value.abs().log10().floor() as i32;
    let text = format!("{value:.*}", (2 - before).clamp(0, 12) as usize);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Whether an element gives a fixed voltage in a state.
pub fn is_emf(circuit: &Circuit, state: StateId, id: ElementId) -> bool {
    matches!(circuit.element(id).kind, Kind::Battery | Kind::VoltageSource)
        && !circuit.states[state.index()].faults.contains_key(&id)
        && circuit.branches_of(id).any(|branch| matches!(circuit.law(state, branch), Law::Emf { .. }))
}

/// Whether two names look like one that was mistyped: they differ in case only, or in one letter (two in a long name) that is no digit.
pub fn is_near(a: &str, b: &str) -> bool {
    if a == b {
        return false;
    }
    if a.to_lowercase() == b.to_lowercase() {
        return true;
    }
    let length = a.chars().count().min(b.chars().count());
    if length < 3 || a.len().abs_diff(b.len()) > 2 {
        return false;
    }
    let letters = |name: &str| name.chars().filter(|c| !c.is_ascii_digit()).collect::<String>();
    let digits = |name: &str| name.chars().filter(char::is_ascii_digit).collect::<String>();
    // Numbered names differ on purpose: n11 and n12 are two places.
    if digits(a) != digits(b) || letters(a) == letters(b) {
        return false;
    }
    let allowed = if length >= 5 { 2 } else { 1 };
    strsim::osa_distance(&a.to_lowercase(), &b.to_lowercase()) <= allowed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_read_like_a_sentence() {
        assert_eq!(list(&["R1"]), "R1");
        assert_eq!(list(&["R1", "R2"]), "R1 and R2");
        assert_eq!(list(&["R1", "R2", "R3"]), "R1, R2 and R3");
        let many: Vec<String> = (1..=9).map(|k| format!("R{k}")).collect();
        let many: Vec<&str> = many.iter().map(String::as_str).collect();
        assert_eq!(list(&many), "R1, R2, R3, R4, R5 and 4 more");
    }

    #[test]
    fn bare_numbers_are_short() {
        assert_eq!(plain(20.0), "20");
        assert_eq!(plain(16.666_666), "16.7");
        assert_eq!(plain(0.05), "0.05");
        assert_eq!(plain(1234.5), "1234");
    }

    #[test]
    fn near_names_are_slips_and_numbers_are_not() {
        assert!(is_near("quay", "qauy"));
        assert!(is_near("Quay", "quay"));
        assert!(is_near("a", "A"));
        assert!(is_near("lighthouse", "lihgthose"));
        assert!(!is_near("a", "b"));
        assert!(!is_near("n1", "n2"));
        assert!(!is_near("node11", "node12"));
        assert!(!is_near("left", "right"));
        assert!(!is_near("fork", "fork"));
    }
}
