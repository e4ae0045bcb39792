//! A case: what it changes.

use ohmline_circuit::StateId;

use super::values::set_to;
use super::{MOST, Part, Teller};

impl Teller<'_> {
    pub(super) fn case(&self, id: StateId) -> Vec<Part> {
        let state = &self.circuit.states[id.index()];
        let name = state.name.as_ref().map(ToString::to_string).unwrap_or_default();
        let mut parts = vec![Part::Title { name: format!("\"{name}\""), is: "case".to_owned() }];
        if let Some(at) = state.at {
            parts.extend(self.source(at));
        }
        let mut changed: Vec<_> = state.overrides.keys().chain(state.faults.keys()).copied().collect();
        changed.sort_unstable();
        changed.dedup();
        let rows: Vec<_> = changed
            .iter()
            .map(|element| {
                let drawn = set_to(self.circuit.params(StateId::DRAWN, *element), None).unwrap_or_default();
                let fault = state.faults.get(element).copied();
                let now = set_to(self.circuit.params(id, *element), fault).unwrap_or_default();
                vec![self.circuit.element(*element).name.to_string(), drawn, now]
            })
            .collect();
        if !rows.is_empty() {
            let left_out = rows.len().saturating_sub(MOST);
            let rows = rows.into_iter().take(MOST).collect();
            let head = vec!["what changes".to_owned(), "as drawn".to_owned(), format!("\"{name}\"")];
            parts.push(Part::Table { head, rows, left_out });
        }
        parts
    }
}
