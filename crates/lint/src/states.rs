//! Findings that are looked for in each state and said once.

use std::hash::Hash;

use ohmline_circuit::{Circuit, StateId};
use rustc_hash::FxHashMap;

/// What stands in [`Diagnostic::cases`](ohmline_syntax::Diagnostic::cases) for the circuit as drawn, when something is so there but
/// not in every case.
pub const AS_DRAWN: &str = "as drawn";

/// Findings by what they are about, in the order in which they were first seen, with the states in which they were seen.
pub struct ByState<K, V> {
    index: FxHashMap<K, usize>,
    found: Vec<(K, Vec<(StateId, V)>)>,
}

impl<K: Clone + Eq + Hash, V> ByState<K, V> {
    /// Nothing found yet.
    pub fn new() -> Self {
        Self { index: FxHashMap::default(), found: Vec::new() }
    }

    /// Something found in a state.
    pub fn add(&mut self, key: K, state: StateId, value: V) {
        let at = *self.index.entry(key.clone()).or_insert_with(|| {
            self.found.push((key, Vec::new()));
            self.found.len() - 1
        });
        self.found[at].1.push((state, value));
    }

    /// The findings.
    pub fn into_found(self) -> Vec<(K, Vec<(StateId, V)>)> {
        self.found
    }
}

/// The cases to list for something seen in these states: none when they are all there are.
pub fn cases(circuit: &Circuit, seen: impl IntoIterator<Item = StateId>) -> Vec<String> {
    let mut seen: Vec<StateId> = seen.into_iter().collect();
    seen.sort_unstable();
    seen.dedup();
    if seen.len() == circuit.states.len() {
        return Vec::new();
    }
    seen.into_iter()
        .map(|state| match &circuit.states[state.index()].name {
            Some(name) => name.to_string(),
            None => AS_DRAWN.to_owned(),
        })
        .collect()
}

/// The finding whose number is largest, as index.
pub fn worst<V>(seen: &[(StateId, V)], size: impl Fn(&V) -> f64) -> usize {
    let mut worst = 0;
    for (at, (_, value)) in seen.iter().enumerate() {
        if size(value) > size(&seen[worst].1) {
            worst = at;
        }
    }
    worst
}
