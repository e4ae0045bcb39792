//! What stands for several at once: a name inside a part or a `repeat`, and a copy of a part.

use ohmline_circuit::{ElementId, NodeId, Unit};
use ohmline_solve::Value;
use ohmline_syntax::tree::StmtKind;

use super::values::cell;
use super::{MOST, Part, Teller};
use crate::target;

impl Teller<'_> {
    /// Several elements that one place stands for, as drawn.
    pub(super) fn elements(&self, name: &str, ids: &[ElementId]) -> Vec<Part> {
        let first = self.circuit.element(ids[0]);
        let is = format!("{}, {} copies", first.kind.word(), ids.len());
        let mut parts = vec![Part::Title { name: name.to_owned(), is }];
        parts.extend(self.source(first.declared));
        parts.extend(self.summary(ids));
        parts
    }

    /// A copy of a part, as drawn.
    pub(super) fn instance(&self, name: &str) -> Vec<Part> {
        let prefix = format!("{name}.");
        let inside = |id: &ElementId| self.circuit.element(*id).name.starts_with(&prefix);
        let ids: Vec<_> = self.circuit.element_ids().filter(inside).collect();
        let kind = self.tree.stmts.iter().find_map(|stmt| match &stmt.node.kind {
            StmtKind::Declare(declare) if declare.names.iter().any(|had| had.text == name) => Some(&declare.kind.text),
            _ => None,
        });
        let is = kind.map_or_else(|| "a part".to_owned(), |kind| format!("a {kind}"));
        let mut parts = vec![Part::Title { name: name.to_owned(), is }];
        if let Some((file, index)) = kind.and_then(|kind| target::find_part(self.analysis, kind)) {
            parts.extend(self.head(file, index));
        }
        parts.extend(self.summary(&ids));
        parts
    }

    /// Current, voltage and power of several elements, as drawn.
    fn summary(&self, ids: &[ElementId]) -> Option<Part> {
        let drawn = self.analysis.answers.states.first()?;
        let head = ["", "current", "voltage", "power"].map(str::to_owned).to_vec();
        let rows = ids.iter().take(MOST).map(|id| {
            let name = self.circuit.element(*id).name.to_string();
            let Some(Some(answer)) = drawn.elements.get(id.index()) else {
                return vec![name, "in no path".to_owned(), String::new(), String::new()];
            };
            let shown = |value: Option<&Value>, unit| value.map(|value| cell(value, unit)).unwrap_or_default();
            vec![
                name,
                shown(answer.current.as_ref(), Unit::Ampere),
                shown(answer.voltage.as_ref(), Unit::Volt),
                shown(Some(&answer.power), Unit::Watt),
            ]
        });
        let rows = rows.collect();
        Some(Part::Table { head, rows, left_out: ids.len().saturating_sub(MOST) })
    }

    /// Several junctions that one place stands for, as drawn.
    pub(super) fn nodes(&self, name: &str, ids: &[NodeId]) -> Vec<Part> {
        let mut parts = vec![Part::Title { name: name.to_owned(), is: format!("junction, {} copies", ids.len()) }];
        if let Some(drawn) = self.analysis.answers.states.first() {
            let rows = ids.iter().take(MOST).map(|id| {
                let potential = drawn.potentials.get(id.index());
                vec![self.node_name(*id), potential.map(|value| cell(value, Unit::Volt)).unwrap_or_default()]
            });
            let head = vec![String::new(), "potential".to_owned()];
            parts.push(Part::Table { head, rows: rows.collect(), left_out: ids.len().saturating_sub(MOST) });
        }
        parts
    }
}
