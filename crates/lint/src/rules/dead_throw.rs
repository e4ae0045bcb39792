//! dead-throw: a changeover stands on a contact that leads nowhere.

use ohmline_circuit::{ElementId, Kind, Params, Throw};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};

/// See the module.
pub struct DeadThrow;

static META: Meta = Meta {
    name: "dead-throw",
    severity: Severity::Warning,
    group: Group::SwitchesAndCases,
    summary: "a changeover stands on a contact that leads nowhere",
    why: "A changeover on an unused contact is an open switch. That may be meant as off, but then the other contact is \
          where the lamp was meant to be.",
    bad: "battery    B1 = 6 V\n\
          lamp       L1 = 12 ohm\n\
          changeover S1 = b\n\
          B1+ -- S1.common\n\
          S1.a -- L1 -- B1-\n",
    good: "battery    B1 = 6 V\n\
          lamp       L1 = 12 ohm\n\
          changeover S1 = a\n\
          B1+ -- S1.common\n\
          S1.a -- L1 -- B1-\n",
    ignore_when: "the unused contact is the position for off",
    fix: "None: lead the contact on, or stand it on the other one.",
};

impl Rule for DeadThrow {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<(ElementId, Throw), ()> = ByState::new();
        for state in facts.circuit.state_ids() {
            for &id in facts.of_kind(Kind::Changeover) {
                let Params::Changeover { throw: Some(throw) } = facts.circuit.params(state, id) else { continue };
                let contact = if *throw == Throw::A { 1 } else { 2 };
                let Some(&node) = facts.circuit.element(id).terminals.get(contact) else { continue };
                let spared = facts.circuit.asked_nodes.contains(&node) || facts.broken().node(node);
                if facts.circuit.ends(node).len() <= 1 && !spared {
                    all.add((id, *throw), state, ());
                }
            }
        }
        for ((id, throw), seen) in all.into_found() {
            let name = facts.name(id);
            let contact = if throw == Throw::A { "a" } else { "b" };
            let message = format!("{name} stands on {contact}, and nothing is joined at {name}.{contact}");
            let cases = states::cases(facts.circuit, seen.iter().map(|(state, ())| *state));
            let thrown = match seen.first().and_then(|(state, ())| facts.circuit.states[state.index()].at) {
                Some(case) if !cases.is_empty() => case,
                _ => facts.circuit.element(id).value_at,
            };
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .label(thrown, "where it stands")
                .ask(format!("Where does the current go on from {name}.{contact}?"))
                .help(format!("Lead {name}.{contact} on, or stand it on the other contact"));
            let node = facts.circuit.element(id).terminals[if throw == Throw::A { 1 } else { 2 }];
            said = said.proof(basis::meeting(seen[0].0, node));
            said.cases = cases;
            found.push(said);
        }
    }
}

/// Whether a changeover stands on this terminal in some state.
pub fn stands_on(facts: &Facts<'_>, id: ElementId, terminal: usize) -> bool {
    facts.circuit.state_ids().any(|state| match facts.circuit.params(state, id) {
        Params::Changeover { throw: Some(Throw::A) } => terminal == 1,
        Params::Changeover { throw: Some(Throw::B) } => terminal == 2,
        _ => false,
    })
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::DeadThrow,
            expect![[r#"
            warning dead-throw: S1 stands on b, and nothing is joined at S1.b
              at 4:8 `S1.common`
              ask: Where does the current go on from S1.b?
              -- 3:17 `b` where it stands
              help: Lead S1.b on, or stand it on the other contact
        "#]],
        );
    }
}
