//! What is true of an element, written as claims.

use ohmline_circuit::quantity::{Number, Style, show};
use ohmline_circuit::{Kind, Unit};
use ohmline_solve::Value;
use ohmline_syntax::FileId;

use super::{Here, Rewrite, RewriteKind};
use crate::occurrences::SymbolKind;

pub(super) fn offer(here: &Here<'_>, out: &mut Vec<Rewrite>) {
    let Some(own) = here.index.at(FileId::MAIN, here.offset) else { return };
    let symbol = here.index.symbol(own.symbol);
    if symbol.kind != SymbolKind::Element || symbol.scope.part.is_some() || here.in_block() {
        return;
    }
    let circuit = &here.analysis.circuit;
    let Some(id) = circuit.element_names.get(&symbol.name) else { return };
    // Of what has three terminals a single current and voltage say little.
    if matches!(circuit.element(*id).kind, Kind::Changeover | Kind::Potentiometer) {
        return;
    }
    let Some(answer) = here.analysis.answers.states.first().and_then(|state| state.elements.get(id.index())?.as_ref())
    else {
        return;
    };
    let (Some(Value::Known(current)), Some(Value::Known(voltage))) = (&answer.current, &answer.voltage) else { return };
    let name = &symbol.name;
    let text = format!(
        "claim current through {name} = {}\nclaim voltage across {name} = {}\n",
        written(current, Unit::Ampere),
        written(voltage, Unit::Volt)
    );
    out.push(Rewrite {
        title: format!("State the current and the voltage of {name}"),
        kind: RewriteKind::Refactor,
        edits: vec![here.lines_at_end(&text)],
    });
}

/// A value to four figures, in the spelling of the notation.
fn written(number: &Number, unit: Unit) -> String {
    show(number, unit, Style::Digits(4)).replace('\u{b5}', "u").replace('\u{2212}', "-")
}
