//! Numbers of a worked solution as they are shown, and what of them is rounded.

use malachite::Rational;
use ohmline_circuit::quantity::{Number, Style, read_literal, show};
use ohmline_worked::{Equation, Figure, Line, Piece};

use crate::amounts;

/// Between a number and its unit no line ends.
pub(super) const BLANK: char = '\u{a0}';

/// A figure with its unit: given ones as they were written, others rounded. Its blanks are no-break spaces.
pub(super) fn figure(figure: &Figure, style: Style) -> String {
    plain(figure, style).replace(' ', "\u{a0}")
}

fn plain(figure: &Figure, style: Style) -> String {
    match style {
        Style::Fraction => show(&Number::exact(figure.value.clone()), figure.unit, style),
        Style::Digits(_) if figure.given => amounts::declared(&figure.value, figure.unit),
        Style::Digits(_) => show(&Number::exact(figure.value.clone()), figure.unit, style),
    }
}

/// The value that stands there for a reader: what `text` says, as a number.
pub(super) fn read(text: &str) -> Option<Rational> {
    let (number, unit) = text.split_once(BLANK).map_or((text, None), |(number, unit)| (number, Some(unit)));
    let (sign, number) = number.strip_prefix('-').map_or((1, number), |rest| (-1, rest));
    let value = if let Some((over, under)) = number.split_once('/') {
        let (over, under) = (over.parse::<Rational>().ok()?, under.parse::<Rational>().ok()?);
        if under == 0 {
            return None;
        }
        over / under
    } else {
        read_literal(number, unit, None).ok()?.value
    };
    Some(value * Rational::from(sign))
}

/// Whether what is shown is not quite the value.
pub(super) fn is_rounded(own: &Figure, style: Style) -> bool {
    read(&figure(own, style)).is_none_or(|shown| shown != own.value)
}

/// A sentence.
pub(super) fn line(line: &Line, style: Style) -> String {
    line.0
        .iter()
        .map(|piece| match piece {
            Piece::Text(text) => text.clone(),
            Piece::Figure(own) => figure(own, style),
        })
        .collect()
}

fn rounded(line: &Line, style: Style) -> bool {
    line.figures().any(|figure| is_rounded(figure, style))
}

/// The sides of an equation with the sign before each but the first: `=`, or `≈` next to a number that is rounded.
pub(super) fn sides(equation: &Equation, style: Style) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    let mut before = false;
    let mut last = String::new();
    for (index, side) in equation.sides.iter().enumerate() {
        let own = rounded(side, style);
        let text = line(side, style);
        // A formula that is already the number says nothing twice.
        if index == 0 || text != last {
            all.push((if before || own { "≈" } else { "=" }, text.clone()));
        }
        last = text;
        before = own;
    }
    all
}
