//! balanced-bridge: an element carries nothing only because the values balance.

use ohmline_circuit::topology::Role;
use ohmline_circuit::{ElementId, Kind, NodeId};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct BalancedBridge;

static META: Meta = Meta {
    name: "balanced-bridge",
    severity: Severity::Info,
    group: Group::SeriesAndParallel,
    summary: "an element carries nothing only because the values balance",
    why: "Both ends of it are at the same potential, so it may be taken out or bridged and nothing changes: a short cut. \
          It hangs on the values: a part within its tolerance ends the balance.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R3 = 10 ohm\n\
          resistor R2, R4 = 20 ohm\n\
          resistor R5 = 15 ohm\n\
          B1+ -- ( R1 -- @port -- R2 | R3 -- @starboard -- R4 ) -- B1-\n\
          @port -- R5 -- @starboard\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 10 ohm\n\
          resistor R2, R3, R4 = 20 ohm\n\
          resistor R5 = 15 ohm\n\
          B1+ -- ( R1 -- @port -- R2 | R3 -- @starboard -- R4 ) -- B1-\n\
          @port -- R5 -- @starboard\n",
    ignore_when: "the balance is what the circuit is for",
    fix: "None is needed.",
};

impl Rule for BalancedBridge {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() {
            return;
        }
        let mut all: ByState<ElementId, (NodeId, NodeId)> = ByState::new();
        for answers in facts.solved() {
            // Where nothing flows at all nothing balances.
            let mut flows: Vec<bool> = Vec::new();
            for (id, answer) in facts.circuit.element_ids().zip(&answers.elements) {
                let current =
                    answer.as_ref().and_then(|answer| answer.current.as_ref()).and_then(|value| value.known());
                if current.is_some_and(|current| current.to_f64() != 0.0)
                    && let Some(piece) = crate::pieces::of_element(facts, id)
                {
                    if flows.len() <= piece as usize {
                        flows.resize(piece as usize + 1, false);
                    }
                    flows[piece as usize] = true;
                }
            }
            for id in facts.of_kinds(&[Kind::Resistor, Kind::Lamp, Kind::Ammeter]) {
                let balanced = matches!(facts.current(answers.state, id), Some(Number::Exact(current)) if **current == 0)
                    && facts.role_of(answers.state, id) == Some(Role::Live)
                    && crate::pieces::of_element(facts, id).is_some_and(|piece| {
                        // A diode that blocks is no balance.
                        let diodes = || facts.of_kinds_in(piece, &[Kind::Diode]).next().is_some();
                        flows.get(piece as usize) == Some(&true) && !diodes()
                    });
                // Where nothing flows past an end either, the element is only out of use in this state.
                let flows_past = |node: NodeId| {
                    facts.circuit.ends(node).iter().any(|end| {
                        end.element != id
                            && facts.current(answers.state, end.element).is_some_and(|current| current.to_f64() != 0.0)
                    })
                };
                if balanced
                    && !facts.undriven().contains(&id)
                    && let Some(ends) = facts.two_nodes(id)
                    && flows_past(ends.0)
                    && flows_past(ends.1)
                {
                    all.add(id, answers.state, ends);
                }
            }
        }
        for (id, seen) in all.into_found() {
            let (a, b) = seen[0].1;
            let name = facts.name(id);
            let message = format!(
                "{name} carries nothing, since {} and {} are at one potential with these values",
                wording::node(facts.circuit, a),
                wording::node(facts.circuit, b)
            );
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .ask(format!("Which potentials are at the two ends of {name}?"))
                .proof(basis::balance(seen[0].0, id))
                .note("It may be taken out or bridged, and nothing else changes");
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
            &super::BalancedBridge,
            expect![[r#"
            info balanced-bridge: R5 carries nothing, since @port and @starboard are at one potential with these values
              at 6:10 `R5`
              ask: Which potentials are at the two ends of R5?
              note: It may be taken out or bridged, and nothing else changes
        "#]],
        );
    }
}
