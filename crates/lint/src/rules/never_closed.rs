//! never-closed: a switch is open in every case.

use ohmline_circuit::topology::Role;
use ohmline_circuit::{Fault, Kind, Params, StateId};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::places;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct NeverClosed;

static META: Meta = Meta {
    name: "never-closed",
    severity: Severity::Info,
    group: Group::SwitchesAndCases,
    summary: "a switch is open in every case",
    why: "What stands behind a switch that no case closes is never live: it could be left out. Where cases are written, \
          one of them was probably meant to close it.",
    bad: "battery  B1 = 6 V\n\
          lamp     L1, L2 = 12 ohm\n\
          switch   S1 = open\n\
          switch   S2 = open\n\
          B1+ -- ( S1 -- L1 | S2 -- L2 ) -- B1-\n\
          case \"night\": S1 = closed\n",
    good: "battery  B1 = 6 V\n\
          lamp     L1, L2 = 12 ohm\n\
          switch   S1 = open\n\
          switch   S2 = open\n\
          B1+ -- ( S1 -- L1 | S2 -- L2 ) -- B1-\n\
          case \"night\": S1 = closed\n\
          case \"storm\": S1 = closed, S2 = closed\n",
    ignore_when: "the voltage across the open switch is what is asked",
    fix: "None: add the case that closes it.",
};

impl Rule for NeverClosed {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.circuit.states.len() < 2 || !facts.is_sound() || facts.is_large() {
            return;
        }
        for &id in facts.of_kind(Kind::Switch) {
            let open = facts.circuit.state_ids().all(|state| {
                let case = &facts.circuit.states[state.index()];
                // A case that names the switch speaks for itself.
                matches!(facts.circuit.params(state, id), Params::Switch { closed: Some(false) })
                    && !case.overrides.contains_key(&id)
                    && facts.circuit.states[state.index()].faults.get(&id) != Some(&Fault::Shorted)
            });
            if !open || facts.asked_elements().contains(&id) || facts.loose().explains(facts.circuit, id) {
                continue;
            }
            let waiting = facts.topologies.first().map(|topology| {
                let idle = |other: &ohmline_circuit::ElementId| {
                    *other != id && facts.circuit.state_ids().all(|state| facts.is_idle(state, *other))
                };
                facts
                    .circuit
                    .element_ids()
                    .filter(idle)
                    .filter(|other| topology.waits_for(facts.circuit, *other).contains(&id))
                    .take(8)
                    .collect::<Vec<_>>()
            });
            let waiting = waiting.unwrap_or_default();
            let name = facts.name(id);
            if waiting.is_empty() {
                continue;
            }
            let message = format!(
                "{name} is open as drawn and in every case, so {} never {} current",
                crate::wording::elements(facts.circuit, &waiting),
                crate::wording::verb(waiting.len(), "carries", "carry")
            );
            // What carries nothing by itself, such as a voltmeter, would show nothing.
            let waits = |other: &&ohmline_circuit::ElementId| {
                facts.circuit.branches_of(**other).any(|branch| facts.role(StateId::DRAWN, branch) == Some(Role::Dead))
            };
            let shown = waiting.iter().find(waits).unwrap_or(&waiting[0]);
            let said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .proof(basis::bridge(StateId::DRAWN, *shown))
                .ask(format!("In which case is {name} closed?"))
                .help(format!("Add a case with `{name} = closed`"));
            found.push(places::label_each(said, facts, &waiting, "never live"));
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
            &super::NeverClosed,
            expect![[r#"
            info never-closed: S2 is open as drawn and in every case, so L2 never carries current
              at 5:21 `S2`
              ask: In which case is S2 closed?
              -- 5:27 `L2` never live
              help: Add a case with `S2 = closed`
        "#]],
        );
    }
}
