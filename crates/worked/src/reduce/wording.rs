//! Symbols, rows and equations of a replacement, in words.

use malachite::Rational;
use ohmline_circuit::Circuit;
use smol_str::SmolStr;

use super::TERMS;
use crate::line::{Equation, Figure, Line, list};
use crate::model::Rule;
use crate::net::Part;

/// A list of names, cut where it is long.
pub(crate) fn shorten(names: &[SmolStr]) -> String {
    if names.len() <= 2 * TERMS {
        return list(names);
    }
    format!("{}, {}, ... and {} ({} in all)", names[0], names[1], names[names.len() - 1], names.len())
}

/// The sentence with a capital first letter; a name at its beginning keeps its form.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// `emf(B1)`, `drop(D1)`
pub(crate) fn emf_symbol(circuit: &Circuit, part: &Part) -> String {
    match part.element {
        Some(id) if circuit.element(id).kind == ohmline_circuit::Kind::Diode => format!("drop({})", part.name),
        _ => format!("emf({})", part.name),
    }
}

/// `B1.internal`, `R(D1)`
pub(crate) fn internal_symbol(circuit: &Circuit, part: &Part) -> String {
    match part.element {
        Some(id) if circuit.element(id).kind == ohmline_circuit::Kind::Diode => format!("R({})", part.name),
        Some(_) => format!("{}.internal", part.name),
        None => format!("({}).internal", part.name),
    }
}

/// Symbols joined by a sign, the middle of a long row left out.
pub(crate) fn row<T: AsRef<str>>(symbols: &[T], sign: &str) -> String {
    if symbols.len() <= TERMS {
        return symbols.iter().map(AsRef::as_ref).collect::<Vec<_>>().join(sign);
    }
    let last = symbols[symbols.len() - 1].as_ref();
    format!("{}{sign}{}{sign}...{sign}{last}", symbols[0].as_ref(), symbols[1].as_ref())
}

/// Figures for the marks that [`row`] leaves.
pub(crate) fn row_figures(figures: Vec<Figure>) -> Vec<Figure> {
    if figures.len() <= TERMS {
        return figures;
    }
    let last = figures.len() - 1;
    vec![figures[0].clone(), figures[1].clone(), figures[last].clone()]
}

/// The equation of a series or parallel replacement.
pub(super) fn combine(rule: Rule, parts: &[&Part], result: &Part) -> Equation {
    let figures: Vec<Figure> = parts.iter().map(|part| part.ohms()).collect();
    let equal = figures.iter().all(|figure| figure.value == figures[0].value);
    let count = parts.len();
    let equation = Equation::new(result.symbol());
    let equation = if rule == Rule::Series {
        let symbols: Vec<String> = parts.iter().map(|part| part.summand()).collect();
        let equation = equation.is(row(&symbols, " + "));
        if equal && count > 2 {
            equation.put(&format!("{count} × #"), [figures[0].clone()])
        } else {
            equation.put(&row(&vec!["#"; count], " + "), row_figures(figures))
        }
    } else if equal {
        equation.is(format!("{} / {count}", parts[0].factor())).put(&format!("# / {count}"), [figures[0].clone()])
    } else if let [one, other] = parts {
        let (a, b) = (one.factor(), other.factor());
        let both = [figures[0].clone(), figures[1].clone(), figures[0].clone(), figures[1].clone()];
        equation.is(format!("{a} × {b} / ({a} + {b})")).put("# × # / (# + #)", both)
    } else {
        let symbols: Vec<String> = parts.iter().map(|part| format!("1/{}", part.factor())).collect();
        let marks = vec!["1/(#)"; count];
        equation
            .is(format!("1 / ({})", row(&symbols, " + ")))
            .put(&format!("1 / ({})", row(&marks, " + ")), row_figures(figures))
    };
    equation.gives(result.ohms())
}

/// A bound on the result that a glance confirms.
pub(super) fn bound(rule: Rule, parts: &[&Part]) -> Line {
    let figures: Vec<Figure> = parts.iter().map(|part| part.ohms()).collect();
    let largest = figures.iter().max_by(|a, b| a.value.cmp(&b.value)).cloned();
    let smallest = figures.iter().min_by(|a, b| a.value.cmp(&b.value)).cloned();
    let equal = largest == smallest;
    match (rule, smallest, largest) {
        (Rule::Series, _, Some(largest)) if !equal => {
            Line::of("As it must be, that is more than the largest of them, #.", [largest])
        }
        (Rule::Series, ..) => Line::text("As it must be, that is more than each of them."),
        (_, Some(smallest), _) if !equal => {
            let count = parts.len();
            let least = Figure::ohm(&(&smallest.value / Rational::from(count)));
            Line::of(
                &format!(
                    "As it must be, that is less than the smallest of them, #, and not less than # / {count} = #."
                ),
                [smallest.clone(), smallest, least],
            )
        }
        _ => Line::text("As it must be, that is less than each of them."),
    }
}
