//! A junction: its potential, the currents into it and their sum.

use ohmline_circuit::quantity::show;
use ohmline_circuit::{End, NodeId, Rational, Unit};
use ohmline_solve::{Number, Value};

use super::values::cell;
use super::{DIGITS, MOST, Part, Row, Teller};
use crate::hints::negated;

impl Teller<'_> {
    pub(super) fn node(&self, id: NodeId) -> Vec<Part> {
        let node = self.circuit.node(id);
        let ends = self.circuit.ends(id);
        let names: Vec<_> = node.names.iter().map(|name| format!("@{name}")).collect();
        let name = if names.is_empty() { node.label.to_string() } else { names.join(" = ") };
        let connections = if ends.len() == 1 { "connection" } else { "connections" };
        let mut parts = vec![Part::Title { name, is: format!("junction, {} {connections}", ends.len()) }];
        if let Some((tree, stmt)) = self.stmt_of(node.first_use) {
            parts.extend(tree.doc(stmt).map(Part::Text));
        }
        let potentials = self.states().map(|(_, answers)| {
            answers.potentials.get(id.index()).map_or_else(|| "none".to_owned(), |value| cell(value, Unit::Volt))
        });
        let mut rows = vec![Row { name: "potential".to_owned(), cells: potentials.collect() }];
        for end in ends.iter().take(MOST) {
            let element = self.circuit.element(end.element);
            let terminal = element.kind.terminals().get(end.terminal as usize).copied().unwrap_or("");
            let name = match terminal {
                "" => element.name.to_string(),
                "+" | "-" => format!("{}{terminal}", element.name),
                word => format!("{}.{word}", element.name),
            };
            let cells = self.states().map(|(_, answers)| {
                let answer = answers.elements.get(end.element.index()).and_then(Option::as_ref);
                match answer.and_then(|answer| answer.into.get(end.terminal as usize)) {
                    // What flows into the element flows out of the junction.
                    Some(Value::Known(into)) => show(&negated(into), Unit::Ampere, DIGITS),
                    Some(value) => cell(value, Unit::Ampere),
                    None => "none".to_owned(),
                }
            });
            let cells = cells.collect();
            rows.push(Row { name: format!("from {name}"), cells });
        }
        if ends.len() > MOST {
            let rest = ends.len() - MOST;
            rows.push(Row { name: format!("{rest} more"), cells: vec![String::new(); self.circuit.states.len()] });
        }
        let sums = self.states().map(|(_, answers)| {
            let into = |end: &End| {
                let answer = answers.elements.get(end.element.index())?.as_ref()?;
                answer.into.get(end.terminal as usize)?.known()
            };
            let currents: Option<Vec<_>> = ends.iter().map(into).collect();
            currents.map_or_else(|| "undetermined".to_owned(), |currents| sum(&currents))
        });
        rows.push(Row { name: "sum of currents".to_owned(), cells: sums.collect() });
        parts.extend(self.table(rows));
        parts.push(Part::Text("Currents count into the junction.".to_owned()));
        parts.extend(self.wires_across(ends));
        parts.extend(self.references(id));
        parts.extend(self.causes(|answers| {
            let potential = answers.potentials.get(id.index()).cloned();
            let currents = ends.iter().filter_map(|end| {
                let answer = answers.elements.get(end.element.index())?.as_ref()?;
                answer.into.get(end.terminal as usize).cloned()
            });
            potential.into_iter().chain(currents).collect()
        }));
        parts
    }

    /// Where a case puts a wire across an element, the junction's table counts both as one.
    fn wires_across(&self, ends: &[End]) -> Option<Part> {
        let pairs = self.circuit.state_ids().flat_map(|state| ends.iter().map(move |end| (state, end.element)));
        let bridged = pairs.filter(|(state, element)| self.circuit.is_bridged(*state, *element));
        let said: Vec<String> = bridged
            .map(|(state, element)| {
                let (state, name) = (self.state_name(state), &self.circuit.element(element).name);
                format!("In {state}, the wire across {name} is counted with it.")
            })
            .collect();
        (!said.is_empty()).then(|| Part::Text(said.join(" ")))
    }

    /// What the potential is above.
    fn references(&self, id: NodeId) -> Option<Part> {
        let piece = &self.analysis.topologies.first()?.piece;
        let own = piece.get(id.index())?;
        let drawn = self.analysis.answers.states.first()?;
        let reference = drawn.references.iter().find(|reference| piece.get(reference.node.index()) == Some(own))?;
        let chosen = if reference.chosen { ", chosen since none is declared" } else { "" };
        Some(Part::Text(if reference.node == id {
            format!("This is the 0 V point{chosen}.")
        } else {
            format!("Potentials count above {}{chosen}.", self.point(reference.node))
        }))
    }
}

/// The sum of currents: exact where they are; what rounding leaves over of floating numbers is nothing.
fn sum(currents: &[&Number]) -> String {
    let exact: Option<Vec<_>> = currents
        .iter()
        .map(|number| match number {
            Number::Exact(value) => Some(&**value),
            Number::Float(_) => None,
        })
        .collect();
    let total = match exact {
        Some(values) => Number::exact(values.into_iter().fold(Rational::from(0), |total, value| total - value)),
        None => {
            let values: Vec<_> = currents.iter().map(|number| number.to_f64()).collect();
            let largest = values.iter().fold(0.0, |largest: f64, value| largest.max(value.abs()));
            let total = -values.iter().sum::<f64>();
            Number::Float(if total.abs() <= 1e-9 * largest { 0.0 } else { total })
        }
    };
    show(&total, Unit::Ampere, DIGITS)
}
