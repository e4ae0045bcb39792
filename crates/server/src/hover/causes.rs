//! Why values are undetermined.

use std::collections::BTreeSet;

use ohmline_lint::words;
use ohmline_solve::{StateAnswers, Value};

use super::values::list;
use super::{Part, Teller};

impl Teller<'_> {
    /// Why values are undetermined: each reason once, with the states it holds in.
    pub(super) fn causes(&self, values: impl Fn(&StateAnswers) -> Vec<Value>) -> Vec<Part> {
        let mut reasons: Vec<(String, Vec<String>)> = Vec::new();
        for (state, answers) in self.states() {
            let causes: BTreeSet<_> = values(answers)
                .iter()
                .filter_map(|value| match value {
                    Value::Undetermined(cause) => Some(*cause),
                    Value::Known(_) => None,
                })
                .collect();
            for cause in causes {
                let Some(cause) = answers.causes.get(cause.0 as usize) else { continue };
                let text = words::cause(self.circuit, cause);
                let name = self.state_name(state);
                match reasons.iter_mut().find(|(had, _)| *had == text) {
                    Some((_, names)) => names.push(name),
                    None => reasons.push((text, vec![name])),
                }
            }
        }
        let all = self.circuit.states.len();
        let told = reasons.into_iter().map(|(text, names)| {
            let places = if names.len() == all { String::new() } else { format!(" ({})", list(&names)) };
            Part::Text(format!("Undetermined{places}: {text}."))
        });
        told.collect()
    }
}
