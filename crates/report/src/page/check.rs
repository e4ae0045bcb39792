//! What is left open and why, whether the laws hold, and what is dangerous.

use malachite::Rational;
use ohmline_analysis::AS_DRAWN;
use ohmline_circuit::quantity::Number;
use ohmline_circuit::{Quantity, StateId, Unit};
use ohmline_lint::words;
use ohmline_solve::{StateAnswers, Value};

use super::{NAMES_SHOWN, Page};
use crate::amounts::{self, Shower};
use crate::table::clean;
use crate::undetermined::undetermined;

/// Rules that speak of danger to people.
const SAFETY: [&str; 3] = ["touch-voltage", "short-circuit-current", "stored-energy"];

impl Page<'_> {
    /// Each cause once, with all that it leaves without a single value.
    pub(super) fn undetermined(&mut self) {
        let states = self.states();
        // The same in several states is said once.
        let mut lines: Vec<(String, String, Vec<StateId>)> = Vec::new();
        let mut add = |what: String, why: String, state: StateId| match lines
            .iter_mut()
            .find(|(other, reason, _)| *other == what && *reason == why)
        {
            Some((.., states)) => states.push(state),
            None => lines.push((what, why, vec![state])),
        };
        for &state in &states {
            let Some(answers) = self.answers(state) else { continue };
            let mut by_cause: Vec<Vec<(&str, String)>> = vec![Vec::new(); answers.causes.len()];
            for one in undetermined(self.circuit, answers).into_iter().filter(|one| !one.follows) {
                if let Some(list) = by_cause.get_mut(one.cause.0 as usize) {
                    list.push((one.of, one.what.into_owned()));
                }
            }
            for (cause, list) in answers.causes.iter().zip(by_cause) {
                let mut parts: Vec<(&str, Vec<&str>)> = Vec::new();
                for (of, what) in &list {
                    match parts.iter_mut().find(|(other, _)| other == of) {
                        Some((_, names)) => names.push(what),
                        None => parts.push((of, vec![what])),
                    }
                }
                let parts: Vec<String> = parts
                    .into_iter()
                    .map(|(of, names)| {
                        let more = names.len().saturating_sub(NAMES_SHOWN);
                        let names = names[..names.len() - more].join(", ");
                        if more > 0 { format!("{of} {names} and {more} more") } else { format!("{of} {names}") }
                    })
                    .collect();
                if parts.is_empty() {
                    continue;
                }
                add(parts.join("; "), words::cause(self.circuit, cause), state);
            }
        }
        for (ask, answer) in self.circuit.finds.iter().zip(&self.analysis.answers.finds) {
            if let (true, Err(cause)) = (self.wanted(ask.state), &answer.value) {
                let question = amounts::question(ask);
                // Currents and the like are in the list above, by their cause.
                let listed = matches!(
                    ask.quantity,
                    Quantity::CurrentThrough(_)
                        | Quantity::VoltageAcross(_)
                        | Quantity::PowerOf(_)
                        | Quantity::PotentialAt(_)
                );
                let why = words::cause(self.circuit, cause);
                let known = self.answers(ask.state).is_some_and(|answers| answers.causes.contains(cause));
                if !(listed && known) {
                    add(question, why, ask.state);
                }
            }
        }
        if lines.is_empty() {
            return;
        }
        self.heading("Undetermined");
        for (what, why, within) in lines {
            let names: Vec<String> = within.iter().map(|state| self.state_name(*state)).collect();
            let place = if within.len() == states.len() { String::new() } else { format!(" ({})", names.join(", ")) };
            self.text(2, &clean(&format!("{what}{place}")));
            self.text(6, &clean(&format!("since {why}")));
        }
    }

    pub(super) fn balance(&mut self, answers: &StateAnswers) {
        let mut delivered = Sum::default();
        let mut taken = Sum::default();
        for (element, answer) in self.circuit.elements.iter().zip(&answers.elements) {
            let Some(answer) = answer else { continue };
            match (&answer.power, element.kind.is_source()) {
                (Value::Known(power), true) => delivered.add(power),
                (Value::Known(power), false) => taken.add(power),
                (Value::Undetermined(_), _) => {
                    self.heading("Check");
                    self.laws(answers);
                    self.text(2, "The power balance is left open, since some powers are undetermined.");
                    return;
                }
            }
        }
        let shower = Shower::new(self.options.style, answers);
        self.heading("Check");
        let (delivered, taken) =
            (shower.number(&delivered.number(), Unit::Watt), shower.number(&taken.number(), Unit::Watt));
        self.text(2, &format!("Batteries and sources deliver {delivered} in all; everything else takes up {taken}."));
        self.laws(answers);
    }

    fn laws(&mut self, answers: &StateAnswers) {
        let residuals = answers.residuals;
        if answers.exact {
            self.text(2, "Kirchhoff's laws hold exactly at every junction and round every loop.");
        } else {
            let largest = residuals.junction.max(residuals.element).max(residuals.power);
            let within = if largest == 0.0 {
                "to the last digit".to_owned()
            } else {
                format!("to within {largest:.0e} of the largest value")
            };
            self.text(2, &format!("Kirchhoff's laws hold {within} (floating-point arithmetic)."));
        }
        if !answers.diodes.is_empty() && !answers.diodes_unique {
            self.text(2, "This state of the diodes fits; that no other does is not proved.");
        }
    }

    /// What the linter says about danger; on paper it stands beside the numbers it speaks of.
    pub(super) fn safety(&mut self) {
        let notes = self.analysis.diagnostics.iter().filter(|one| SAFETY.contains(&one.rule));
        let mut lines: Vec<String> = Vec::new();
        for note in notes {
            let place = |name: &String| if name == AS_DRAWN { name.clone() } else { format!("in \"{name}\"") };
            let cases: Vec<String> = note.cases.iter().map(place).collect();
            let cases = if cases.is_empty() { String::new() } else { format!(" ({})", cases.join(", ")) };
            lines.push(clean(&format!("{}{cases}. {}", note.message, note.help.join(". "))));
        }
        if lines.is_empty() {
            return;
        }
        self.heading("Safety");
        for line in lines {
            self.text(2, line.trim_end());
        }
    }
}

/// A sum that stays exact while its terms are.
struct Sum {
    exact: Option<Rational>,
    float: f64,
}

impl Default for Sum {
    fn default() -> Self {
        Self { exact: Some(Rational::from(0)), float: 0.0 }
    }
}

impl Sum {
    fn add(&mut self, number: &Number) {
        self.float += number.to_f64();
        match (number, &mut self.exact) {
            (Number::Exact(value), Some(sum)) => *sum += &**value,
            _ => self.exact = None,
        }
    }

    fn number(self) -> Number {
        self.exact.map_or(Number::Float(self.float), Number::exact)
    }
}
