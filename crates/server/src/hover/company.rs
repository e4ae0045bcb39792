//! What an element is in series and in parallel with.

use ohmline_circuit::{ElementId, StateId};

use super::values::list;
use super::{Part, Teller};

impl Teller<'_> {
    /// What it is in series and in parallel with, in every state.
    pub(super) fn company(&self, id: ElementId) -> Vec<Part> {
        let mut lines = Vec::new();
        let mut series = Vec::new();
        let mut reduced = Vec::new();
        let mut parallel = Vec::new();
        for topology in &self.analysis.topologies {
            let direct = topology.series_with(self.circuit, id);
            let mut same = topology.series_reduced_with(self.circuit, id);
            same.retain(|other| !direct.contains(other));
            series.push(self.names(&direct));
            reduced.push(self.names(&same));
            parallel.push(self.names(&topology.parallel_with(self.circuit, id)));
        }
        for (what, lists) in
            [("In series with", series), ("Same current for all values as", reduced), ("In parallel with", parallel)]
        {
            let mut groups: Vec<(String, Vec<String>)> = Vec::new();
            for (index, names) in lists.into_iter().enumerate() {
                let state = self.state_name(StateId(index as u32));
                match groups.iter_mut().find(|(had, _)| *had == names) {
                    Some((_, states)) => states.push(state),
                    None => groups.push((names, vec![state])),
                }
            }
            match &groups[..] {
                [(names, _)] if names.is_empty() => {}
                [(names, _)] => lines.push(format!("{what} {names}.")),
                _ => {
                    let told: Vec<_> = groups
                        .iter()
                        .map(|(names, states)| {
                            let names = if names.is_empty() { "nothing" } else { names };
                            format!("{names} ({})", list(states))
                        })
                        .collect();
                    if !told.is_empty() {
                        lines.push(format!("{what} {}.", told.join("; ")));
                    }
                }
            }
        }
        lines.into_iter().map(Part::Text).collect()
    }

    /// Element names in a list; empty for none.
    fn names(&self, ids: &[ElementId]) -> String {
        let names: Vec<_> = ids.iter().map(|id| self.circuit.element(*id).name.to_string()).collect();
        list(&names)
    }
}
