//! unlikely-current: a current is far beyond anything on a bench.

use ohmline_circuit::{ElementId, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::rules::shorted_source::is_at_shorted_source;
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct UnlikelyCurrent;

static META: Meta = Meta {
    name: "unlikely-current",
    severity: Severity::Warning,
    group: Group::ValuesAndUnits,
    summary: "a current is far beyond anything on a bench",
    why: "A current of thousands of amperes mostly means a slip of prefix: milliohms for ohms, or kilovolts for volts. \
          Conductors for such currents are bars, not wires.",
    bad: "battery  B1 = 12 V\n\
          resistor R1 = 2.2 mohm\n\
          B1+ -- R1 -- B1-\n",
    good: "battery  B1 = 12 V\n\
          resistor R1 = 2.2 kohm\n\
          B1+ -- R1 -- B1-\n",
    ignore_when: "the circuit is one of heavy current on purpose",
    fix: "None: only you know the value.",
};

impl Rule for UnlikelyCurrent {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<u32, (ElementId, f64)> = ByState::new();
        for answers in facts.solved() {
            // One message a piece: the largest current of it.
            let mut largest: rustc_hash::FxHashMap<u32, (ElementId, f64)> = rustc_hash::FxHashMap::default();
            for (at, answer) in answers.elements.iter().enumerate() {
                let Some(current) =
                    answer.as_ref().and_then(|answer| answer.current.as_ref()).and_then(|value| value.known())
                else {
                    continue;
                };
                if !crate::facts::is_above(current, facts.limits().largest_current) {
                    continue;
                }
                let id = ElementId(at as u32);
                let Some(piece) = crate::pieces::of_element(facts, id) else { continue };
                // The part whose value makes the current is what should be looked at, not the source or a switch.
                let size = (facts.ohms(answers.state, id).is_some(), current.to_f64().abs());
                let first = largest
                    .get(&piece)
                    .is_none_or(|(other, amperes)| size > (facts.ohms(answers.state, *other).is_some(), *amperes));
                if first && !is_at_shorted_source(facts, answers.state, id) {
                    largest.insert(piece, (id, size.1));
                }
            }
            for (piece, seen) in largest {
                all.add(piece, answers.state, seen);
            }
        }
        for (_, seen) in all.into_found() {
            let (id, amperes) = seen[states::worst(&seen, |(_, amperes)| *amperes)].1;
            let name = facts.name(id);
            let message = format!(
                "The current through {name} comes to {}: is a prefix wrong?",
                wording::float(amperes, Unit::Ampere)
            );
            let mut said = Diagnostic::new(META.name, META.severity, facts.circuit.element(id).value_at, message)
                .ask(format!("Is a current of {} through {name} possible?", wording::float(amperes, Unit::Ampere)))
                .help("Look at the prefixes: a small `m` is milli, a capital `M` mega");
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            found.push(said);
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::UnlikelyCurrent,
            expect![[r#"
            warning unlikely-current: The current through R1 comes to 5.45 kA: is a prefix wrong?
              at 2:15 `2.2 mohm`
              ask: Is a current of 5.45 kA through R1 possible?
              help: Look at the prefixes: a small `m` is milli, a capital `M` mega
        "#]],
        );
    }
}
