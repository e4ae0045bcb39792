//! The circuit as drawn with one more fault, solved: what would be if this element failed, or were not there.

use ohmline_circuit::{ElementId, Fault, Params, State};
use ohmline_solve::{Method, StateAnswers};
use rustc_hash::FxHashMap;

use crate::facts::Facts;

/// Largest circuit that is solved again for a remark.
const MOST: usize = 60;

/// The answers with one element taken out or bridged; `None` for circuits that are too large for that.
pub fn what_if(facts: &Facts<'_>, element: ElementId, fault: Fault) -> Option<StateAnswers> {
    solve(facts, FxHashMap::default(), FxHashMap::from_iter([(element, fault)]))
}

/// The answers with other values of one element; `None` for circuits that are too large for that.
pub fn what_if_it_were(facts: &Facts<'_>, element: ElementId, params: Params) -> Option<StateAnswers> {
    solve(facts, FxHashMap::from_iter([(element, params)]), FxHashMap::default())
}

fn solve(
    facts: &Facts<'_>,
    overrides: FxHashMap<ElementId, Params>,
    faults: FxHashMap<ElementId, Fault>,
) -> Option<StateAnswers> {
    if facts.circuit.elements.len() > MOST {
        return None;
    }
    let mut circuit = facts.circuit.clone();
    circuit.finds.clear();
    circuit.claims.clear();
    circuit.measured.clear();
    circuit.givens.clear();
    circuit.states = vec![State { name: None, at: None, overrides, faults }];
    ohmline_solve::solve(&circuit, Method::Auto).states.pop()
}
