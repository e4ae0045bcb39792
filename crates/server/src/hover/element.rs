//! An element: its values in every state, which way its current counts, why they are undetermined, and its company.

use ohmline_circuit::{Element, ElementId, Kind, Params, Unit};
use ohmline_solve::{ElementAnswer, Value};

use super::values::{cell, set_to};
use super::{Part, Row, Teller};

impl Teller<'_> {
    pub(super) fn element(&self, id: ElementId) -> Vec<Part> {
        let element = self.circuit.element(id);
        let mut parts = vec![Part::Title { name: element.name.to_string(), is: self.is(element) }];
        parts.extend(self.source(element.declared));
        if !element.is_placed() {
            parts.push(Part::Text("It stands in no path, so it is left out of the circuit.".to_owned()));
            return parts;
        }
        let mut rows = Vec::new();
        if let Some(row) = self.settings_row(id) {
            rows.push(row);
        }
        rows.extend(self.answer_rows(id));
        parts.extend(self.table(rows));
        if let Some(direction) = self.direction(element) {
            parts.push(Part::Text(direction));
        }
        parts.extend(self.causes(|answers| {
            let answer = answers.elements.get(id.index()).and_then(Option::as_ref);
            answer.map(|answer| answer_values(answer).cloned().collect()).unwrap_or_default()
        }));
        parts.extend(self.company(id));
        parts
    }

    /// What it is, in a few words.
    fn is(&self, element: &Element) -> String {
        let what = match element.kind {
            Kind::VoltageSource => "ideal voltage source",
            Kind::CurrentSource => "ideal current source",
            Kind::Ammeter if matches!(element.params, Params::Ammeter { resistance: None, .. }) => "ideal ammeter",
            Kind::Voltmeter if matches!(element.params, Params::Voltmeter { resistance: None, .. }) => {
                "ideal voltmeter"
            }
            kind => kind.word(),
        };
        match set_to(&element.params, None) {
            Some(value) => format!("{what}, {value}"),
            None => what.to_owned(),
        }
    }

    /// How it is set in each state, when that differs.
    fn settings_row(&self, id: ElementId) -> Option<Row> {
        let cells: Vec<_> = self
            .states()
            .map(|(state, _)| {
                let fault = self.circuit.states[state.index()].faults.get(&id).copied();
                set_to(self.circuit.params(state, id), fault).unwrap_or_default()
            })
            .collect();
        let differs = cells.iter().any(|cell| *cell != cells[0]);
        differs.then(|| Row { name: "set to".to_owned(), cells })
    }

    fn answer_rows(&self, id: ElementId) -> Vec<Row> {
        let element = self.circuit.element(id);
        let source = element.kind.is_source();
        let (current, voltage, power) = if source {
            ("current delivered", "voltage at its terminals", "power delivered")
        } else {
            ("current through", "voltage across", "power taken up")
        };
        let mut rows = vec![
            self.row(id, current, Unit::Ampere, |answer| answer.current.as_ref()),
            self.row(id, voltage, Unit::Volt, |answer| answer.voltage.as_ref()),
        ];
        // Where a current through has no meaning, those into the terminals have.
        if rows[0].is_none() {
            for (index, terminal) in element.kind.terminals().iter().enumerate() {
                let name = format!("current into .{terminal}");
                rows.push(self.row(id, &name, Unit::Ampere, |answer| answer.into.get(index)));
            }
        }
        rows.push(self.row(id, power, Unit::Watt, |answer| Some(&answer.power)));
        rows.push(self.row(id, "charge", Unit::Coulomb, |answer| answer.charge.as_ref()));
        rows.push(self.row(id, "energy stored", Unit::Joule, |answer| answer.energy.as_ref()));
        rows.into_iter().flatten().collect()
    }

    /// A row, if there is such a quantity in any state.
    fn row<'s>(
        &'s self,
        id: ElementId,
        name: &str,
        unit: Unit,
        value: impl Fn(&'s ElementAnswer) -> Option<&'s Value>,
    ) -> Option<Row> {
        let values: Vec<_> = self
            .states()
            .map(|(_, answers)| answers.elements.get(id.index()).and_then(Option::as_ref).and_then(&value))
            .collect();
        if values.iter().all(Option::is_none) {
            return None;
        }
        let cells = values.into_iter().map(|value| value.map_or_else(|| "none".to_owned(), |value| cell(value, unit)));
        Some(Row { name: name.to_owned(), cells: cells.collect() })
    }

    /// Which way its current counts.
    fn direction(&self, element: &Element) -> Option<String> {
        let [from, to] = element.terminals[..] else { return None };
        let (from, to) = (self.point(from), self.point(to));
        Some(if element.kind.is_source() {
            format!("Its current counts out of {}+.", element.name)
        } else {
            format!("Its current counts from {from} to {to}.")
        })
    }
}

/// Every value of an element's answer.
fn answer_values(answer: &ElementAnswer) -> impl Iterator<Item = &Value> {
    let values = [&answer.current, &answer.voltage, &answer.charge, &answer.energy];
    values.into_iter().flatten().chain([&answer.power]).chain(&answer.into)
}
