//! All cases side by side.

use ohmline_circuit::quantity::Style;
use ohmline_circuit::{StateId, Unit};
use ohmline_solve::{ElementAnswer, StateAnswers, Value};

use super::Page;
use crate::amounts::{self, Shower};
use crate::cases;
use crate::table::{Cell, Table, clean, width};

impl Page<'_> {
    /// One block for each quantity, one column for each state; a star marks what a case changes.
    pub(super) fn side_by_side(&mut self) {
        self.heading("Cases side by side  (* = not as drawn)");
        for state in self.circuit.state_ids().skip(1) {
            let changes = cases::changes(&self.analysis.sources, &self.circuit.states[state.index()]);
            self.text(2, &clean(&format!("{}: {changes}", self.state_name(state))));
        }
        type Of = fn(&ElementAnswer) -> Option<&Value>;
        let blocks: [(&str, Unit, Of); 5] = [
            ("current", Unit::Ampere, |answer| answer.current.as_ref()),
            ("voltage", Unit::Volt, |answer| answer.voltage.as_ref()),
            ("power", Unit::Watt, |answer| Some(&answer.power)),
            ("charge", Unit::Coulomb, |answer| answer.charge.as_ref()),
            ("energy", Unit::Joule, |answer| answer.energy.as_ref()),
        ];
        let states: Vec<(StateId, &StateAnswers)> = self
            .circuit
            .state_ids()
            .filter_map(|id| Some((id, self.analysis.answers.states.get(id.index())?)))
            .collect();
        for (heading, unit, of) in blocks {
            let mut rows: Vec<(String, Vec<Option<&Value>>)> = Vec::new();
            for id in self.circuit.declared_ids() {
                let values: Vec<_> = states
                    .iter()
                    .map(|(_, answers)| answers.elements.get(id.index()).and_then(Option::as_ref).and_then(of))
                    .collect();
                rows.push((self.circuit.element(id).name.to_string(), values));
            }
            self.block(heading, unit, &states, rows);
        }
        let mut rows: Vec<(String, Vec<Option<&Value>>)> = Vec::new();
        for id in self.circuit.node_ids() {
            if let Some(name) = self.circuit.node(id).names.first() {
                let values = states.iter().map(|(_, answers)| answers.potentials.get(id.index())).collect();
                rows.push((format!("@{name}"), values));
            }
        }
        self.block("potential", Unit::Volt, &states, rows);
    }

    fn block(
        &mut self,
        heading: &str,
        unit: Unit,
        states: &[(StateId, &StateAnswers)],
        mut rows: Vec<(String, Vec<Option<&Value>>)>,
    ) {
        rows.retain(|(_, values)| values.iter().any(Option::is_some));
        if rows.is_empty() {
            return;
        }
        let showers: Vec<_> = states.iter().map(|(_, answers)| Shower::new(self.options.style, answers)).collect();
        let names = rows.iter().map(|(name, _)| width(name)).max().unwrap_or(0).max(heading.len());
        // Room that a column of numbers takes at most: digits, point, sign, unit and star, or its heading.
        let digits = match self.options.style {
            Style::Digits(digits) => digits as usize,
            Style::Fraction => 12,
        };
        let mut from = 1;
        while from < states.len() {
            let mut upto = from;
            let mut used = 2 + names + 3 + 12 + digits;
            while upto < states.len() {
                used += 3 + (8 + digits).max(width(&self.state_name(states[upto].0)));
                if upto > from && used > self.options.width {
                    break;
                }
                upto += 1;
            }
            let shown: Vec<usize> = std::iter::once(0).chain(from..upto).collect();
            let mut table = Table::new(
                std::iter::once(heading.to_owned()).chain(shown.iter().map(|at| self.state_name(states[*at].0))),
            );
            for (name, values) in &rows {
                let mut cells = vec![Cell::text(name.as_str())];
                for at in &shown {
                    cells.push(match (values[*at], values[0]) {
                        (Some(value), drawn) => {
                            let cell = showers[*at].cell(value, unit);
                            let changed = *at > 0 && drawn.is_none_or(|drawn| amounts::differ(value, drawn));
                            if changed { cell.marked(" *") } else { cell }
                        }
                        (None, _) => Cell::empty(),
                    });
                }
                table.row(cells);
            }
            self.out.push('\n');
            self.table(&table);
            from = upto;
        }
    }
}
