//! Every element and every junction.

use ohmline_circuit::quantity::Style;
use ohmline_circuit::{Circuit, ElementId, StateId, Unit};
use ohmline_solve::{DiodeState, StateAnswers, Value};
use rustc_hash::FxHashMap;

use super::Page;
use crate::amounts::{self, Shower};
use crate::table::{Cell, Table};

impl Page<'_> {
    pub(super) fn elements(&mut self, state: StateId, answers: &StateAnswers) {
        let several = self.circuit.states.len() > 1;
        self.heading(&if several && self.options.state.is_none() {
            "Every element, as drawn".to_owned()
        } else {
            "Every element".to_owned()
        });
        self.table(&element_table(self.circuit, state, answers, self.options.style));
    }

    pub(super) fn junctions(&mut self, answers: &StateAnswers) {
        let shower = Shower::new(self.options.style, answers);
        let mut table = Table::new(["junction", "potential", ""]);
        for (node, value) in self.circuit.nodes.iter().zip(&answers.potentials) {
            let Some((first, rest)) = node.names.split_first() else { continue };
            let also: Vec<_> = rest.iter().map(|name| format!("@{name}")).collect();
            let also = if also.is_empty() { String::new() } else { format!("one point with {}", also.join(", ")) };
            table.row(vec![Cell::text(format!("@{first}")), shower.cell(value, Unit::Volt), Cell::text(also)]);
        }
        if !table.is_empty() {
            self.out.push('\n');
            self.table(&table);
        }
    }
}

/// A row for every element: name, kind, value, current, voltage, power, and what else there is to say.
pub(crate) fn element_table(circuit: &Circuit, state: StateId, answers: &StateAnswers, style: Style) -> Table {
    let shower = Shower::new(style, answers);
    let diodes: FxHashMap<ElementId, DiodeState> = answers.diodes.iter().copied().collect();
    let mut table = Table::new(["name", "kind", "value", "current", "voltage", "power", ""]);
    for id in circuit.declared_ids() {
        let element = circuit.element(id);
        let params = circuit.params(state, id);
        let answer = answers.elements.get(id.index()).and_then(Option::as_ref);
        let mut notes = Vec::new();
        if let Some(fault) = circuit.states[state.index()].faults.get(&id) {
            notes.push(format!("{} in this case", amounts::fault_word(*fault)));
        }
        amounts::value_remarks(params, &mut notes);
        let mut cells =
            vec![Cell::text(element.name.as_str()), Cell::text(element.kind.word()), amounts::value_cell(params)];
        match answer {
            Some(answer) => {
                let cell = |value: &Option<Value>, unit| {
                    value.as_ref().map_or(Cell::empty(), |value| shower.cell(value, unit))
                };
                cells.push(cell(&answer.current, Unit::Ampere));
                cells.push(cell(&answer.voltage, Unit::Volt));
                cells.push(shower.cell(&answer.power, Unit::Watt));
                for (terminal, value) in amounts::terminals(element, answer) {
                    notes.push(format!("into {terminal} {}", shower.words(value, Unit::Ampere)));
                }
                if let Some(charge) = &answer.charge {
                    notes.push(format!("charge {}", shower.words(charge, Unit::Coulomb)));
                }
                if let Some(energy) = &answer.energy {
                    notes.push(format!("energy {}", shower.words(energy, Unit::Joule)));
                }
                match diodes.get(&id) {
                    Some(DiodeState::Conducting) => notes.push("conducting".to_owned()),
                    Some(DiodeState::Blocking) => notes.push("blocking".to_owned()),
                    None => {}
                }
                if element.kind.is_source() && answer.power.known().is_some_and(|power| power.to_f64() < 0.0) {
                    notes.push("takes power up".to_owned());
                }
            }
            None => {
                cells.extend([Cell::empty(), Cell::empty(), Cell::empty()]);
                notes.push("not placed in any path".to_owned());
            }
        }
        cells.push(Cell::text(notes.join(", ")));
        table.row(cells);
    }
    table
}
