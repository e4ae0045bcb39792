//! What every form of a worked solution says beyond its chapters: titles, answers, the table, the checks.

use malachite::Rational;
use ohmline_analysis::Analysis;
use ohmline_circuit::quantity::Style;
use ohmline_circuit::{Claim, StateId, Unit};
use ohmline_lint::words;
use ohmline_worked::{Changes, Check, CheckKind, Figure, Solution, Trend};

use super::figures::{self, figure};
use crate::amounts::{self, Shower, UNDETERMINED};
use crate::table::clean;

/// The title, with the case.
pub(super) fn title(analysis: &Analysis, state: StateId) -> String {
    let file = analysis.sources.files.first().map_or("", |source| source.name.as_str());
    let title = analysis.circuit.title.as_deref().unwrap_or(file);
    match analysis.circuit.states.get(state.index()).and_then(|state| state.name.as_ref()) {
        Some(case) => format!("{}, case \"{}\"", clean(title), clean(case)),
        None => clean(title),
    }
}

/// The remark about rounding.
pub(super) fn precision(style: Style) -> Option<String> {
    match style {
        Style::Digits(digits) => Some(format!(
            "Numbers are shown with {digits} significant {} (≈ where that rounds them) and carried on unrounded.",
            if digits == 1 { "figure" } else { "figures" }
        )),
        Style::Fraction => None,
    }
}

/// The rows of the table: name, R, I, V, P, how.
pub(super) fn rows(solution: &Solution, style: Style) -> Vec<[String; 6]> {
    let figure = |own: &Figure, style| figure(own, style).replace(figures::BLANK, " ");
    let shown = |value: &Option<Rational>, unit: Unit| match value {
        Some(value) => figure(&Figure::new(value, unit), style),
        None => UNDETERMINED.to_owned(),
    };
    let mut rows: Vec<[String; 6]> = solution
        .rows
        .iter()
        .map(|row| {
            [
                row.name.to_string(),
                row.resistance.as_ref().map_or_else(String::new, |ohms| figure(ohms, style)),
                shown(&row.current, Unit::Ampere),
                shown(&row.voltage, Unit::Volt),
                shown(&row.power, Unit::Watt),
                row.how.clone(),
            ]
        })
        .collect();
    if let Some(whole) = &solution.whole {
        let optional = |value: &Option<Rational>, unit| {
            value.as_ref().map_or_else(String::new, |value| figure(&Figure::new(value, unit), style))
        };
        rows.push([
            "whole circuit".to_owned(),
            optional(&whole.resistance, Unit::Ohm),
            optional(&whole.current, Unit::Ampere),
            optional(&whole.voltage, Unit::Volt),
            figure(&Figure::new(&whole.power, Unit::Watt), style),
            if whole.resistance.is_some() {
                "what the source sees and delivers".to_owned()
            } else {
                "what the sources deliver".to_owned()
            },
        ]);
    }
    rows
}

/// What stands below the table about signs.
pub(super) fn sign_remark(solution: &Solution) -> Option<String> {
    let negative = |value: &Option<Rational>| value.as_ref().is_some_and(|value| *value < 0);
    solution.rows.iter().any(|row| negative(&row.current) || negative(&row.voltage)).then(|| {
        "A current counts in the direction in which the element is written (from + to -), for sources out of +. A minus sign means the other \
         direction."
            .to_owned()
    })
}

/// A check in words; whether it holds.
pub(super) fn check(check: &Check, style: Style) -> (String, bool) {
    if let Some(say) = &check.say {
        return (figures::line(say, style), check.holds);
    }
    let unit = match check.kind {
        CheckKind::Junction(_) => Unit::Ampere,
        CheckKind::Loop(_) => Unit::Volt,
        _ => Unit::Watt,
    };
    let sum = |side: &[(smol_str::SmolStr, Figure)]| -> Rational {
        side.iter().map(|(_, figure)| figure.value.clone()).sum()
    };
    let written = |side: &[(smol_str::SmolStr, Figure)]| {
        let shown: Vec<String> = side.iter().map(|(_, own)| figure(own, style)).collect();
        match shown.len() {
            0 => figure(&Figure::new(&Rational::from(0), unit), style),
            1 => shown[0].clone(),
            2..=6 => shown.join(" + "),
            many => format!("{} + {} + ... + {} ({many} terms)", shown[0], shown[1], shown[many - 1]),
        }
    };
    let whole = |side: &[(smol_str::SmolStr, Figure)]| {
        let total = figure(&Figure::new(&sum(side), unit), style);
        let terms = written(side);
        if side.len() > 1 { format!("{terms} = {total}") } else { terms }
    };
    let names = |side: &[(smol_str::SmolStr, Figure)]| {
        side.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(", ")
    };
    let (left, right) = (whole(&check.left), whole(&check.right));
    let mut text = match &check.kind {
        CheckKind::Junction(at) => format!("{at}: in {left}; out {right}"),
        CheckKind::Loop(through) => {
            let through = if through.len() > 8 {
                format!("{}, {}, ..., {}", through[0], through[1], through[through.len() - 1])
            } else {
                through.join(", ")
            };
            format!("Loop {through}: rises {left}; drops {right}")
        }
        CheckKind::Power => format!("Power: {} deliver {left}; taken up {right}", names(&check.left)).replacen(
            " deliver ",
            if check.left.len() == 1 { " delivers " } else { " deliver " },
            1,
        ),
        CheckKind::Diode(_) => String::new(),
    };
    // What a reader who adds the shown numbers finds.
    let shown_sum = |side: &[(smol_str::SmolStr, Figure)]| -> Option<Rational> {
        side.iter().map(|(_, own)| figures::read(&figure(own, style))).sum::<Option<Rational>>()
    };
    let differs = |side: &[(smol_str::SmolStr, Figure)]| {
        side.len() > 1
            && match (shown_sum(side), figures::read(&figure(&Figure::new(&sum(side), unit), style))) {
                (Some(terms), Some(total)) => terms != total,
                _ => true,
            }
    };
    if check.holds && (differs(&check.left) || differs(&check.right)) {
        text.push_str(" (equal before rounding)");
    }
    (text, check.holds)
}

/// Each `find` of the state with its answer.
pub(super) fn answers(analysis: &Analysis, state: StateId, style: Style) -> Vec<String> {
    let circuit = &analysis.circuit;
    let Some(answers) = analysis.answers.states.get(state.index()) else { return Vec::new() };
    let shower = Shower::new(style, answers);
    circuit
        .finds
        .iter()
        .zip(&analysis.answers.finds)
        .filter(|(ask, _)| ask.state == state)
        .map(|(ask, answer)| {
            let question = amounts::question(ask);
            let question = question.split(" in \"").next().unwrap_or(&question).to_owned();
            let value = match &answer.value {
                Ok(number) => shower.number(number, answer.unit),
                Err(cause) => format!("{UNDETERMINED}: {}", words::cause(circuit, cause)),
            };
            let sense = sense(analysis, state, ask, answer);
            format!("The {} is {value}{sense}.", clean(&question))
        })
        .collect()
}

/// What a negative answer means.
fn sense(analysis: &Analysis, _: StateId, ask: &ohmline_circuit::Ask, answer: &ohmline_solve::FindAnswer) -> String {
    use ohmline_circuit::Quantity;
    let negative = answer.value.as_ref().is_ok_and(|number| number.to_f64() < 0.0);
    if !negative {
        return String::new();
    }
    match &ask.quantity {
        Quantity::CurrentThrough(id) => {
            let element = analysis.circuit.element(*id);
            if element.kind.is_source() {
                format!(": it enters {} at +", element.name)
            } else {
                format!(": it runs against the direction in which {} is written", element.name)
            }
        }
        Quantity::CurrentInto(..) => ": it flows out there".to_owned(),
        Quantity::PowerOf(id) => {
            let element = analysis.circuit.element(*id);
            if element.kind.is_source() { format!(": {} takes power up", element.name) } else { String::new() }
        }
        _ => String::new(),
    }
}

/// Each claim of the state: whether it holds, and why.
pub(super) fn claims(analysis: &Analysis, state: StateId) -> Vec<String> {
    let context = analysis.context();
    analysis
        .circuit
        .claims
        .iter()
        .enumerate()
        .filter(|(_, claim)| match claim {
            Claim::Value { ask, .. } => ask.state == state,
            Claim::Relation { state: of, .. } => *of == state,
        })
        .map(|(index, _)| {
            let answer = words::claim(&context, index);
            let verdict = match answer.holds {
                Some(true) => "holds",
                Some(false) => "does not hold",
                None => "is undetermined",
            };
            let text = answer.text.split(" in \"").next().unwrap_or(&answer.text).to_owned();
            clean(&format!("Claim {text}: {verdict}, since {}.", answer.why))
        })
        .collect()
}

/// The changes of a case: a row for each element, current, voltage and power as drawn and here, and the trend of the current.
pub(super) fn changes(changes: &Changes, style: Style) -> Vec<[String; 10]> {
    let shown = |value: &Rational, unit: Unit| figure(&Figure::new(value, unit), style).replace(figures::BLANK, " ");
    changes
        .rows
        .iter()
        .map(|row| {
            let three = |pair: Option<&(Rational, Rational)>, unit: Unit| match pair {
                Some((before, after)) => {
                    [shown(before, unit), shown(after, unit), Trend::of(before, after).word().to_owned()]
                }
                None => [String::new(), String::new(), String::new()],
            };
            let [a, b, c] = three(row.current.as_ref(), Unit::Ampere);
            let [d, e, f] = three(row.voltage.as_ref(), Unit::Volt);
            let [g, h, i] = three(Some(&row.power), Unit::Watt);
            [row.name.to_string(), a, b, c, d, e, f, g, h, i]
        })
        .collect()
}

/// The headings of [`changes`].
pub(super) const CHANGE_HEADINGS: [&str; 10] =
    ["", "I as drawn", "here", "", "V as drawn", "here", "", "P as drawn", "here", ""];

/// The sentences of the chain of causes, and who stays the same.
pub(super) fn chain(changes: &Changes, style: Style) -> Vec<String> {
    let mut lines: Vec<String> = changes.chain.iter().map(|line| figures::line(line, style)).collect();
    if changes.rows.is_empty() {
        lines.push("Nothing changes.".to_owned());
    } else if !changes.same.is_empty() {
        let names: Vec<&str> = changes.same.iter().map(|name| name.as_str()).collect();
        lines.push(format!("As before: {}.", names.join(", ")));
    }
    lines
}
