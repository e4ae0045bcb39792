//! bypass-switch: a switch across an element takes it out when closed.

use ohmline_circuit::{Kind, Params, StateId};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct BypassSwitch;

static META: Meta = Meta {
    name: "bypass-switch",
    severity: Severity::Hint,
    group: Group::SwitchesAndCases,
    summary: "a switch across an element takes it out when closed",
    why: "A switch in line turns an element on; one across it turns it off, since all current then takes the switch. Which \
          of the two is wanted decides where the switch stands.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          lamp     L1 = 12 ohm\n\
          switch   S1 = open\n\
          B1+ -- R1 -- ( L1 | S1 ) -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          lamp     L1 = 12 ohm\n\
          switch   S1 = open\n\
          B1+ -- R1 -- L1 -- S1 -- B1-\n",
    ignore_when: "bridging the element is what the switch is for",
    fix: "None: it takes another drawing.",
};

impl Rule for BypassSwitch {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        for &id in facts.of_kind(Kind::Switch) {
            // A state in which it is closed shows by itself what it does.
            let closes = facts
                .circuit
                .state_ids()
                .any(|state| !matches!(facts.circuit.params(state, id), Params::Switch { closed: Some(false) }));
            let Some((a, b)) = facts.two_nodes(id).filter(|_| !closes) else { continue };
            let beside: Vec<_> = facts
                .circuit
                .ends(a)
                .iter()
                .map(|end| end.element)
                .filter(|other| {
                    *other != id && facts.two_nodes(*other).is_some_and(|(c, d)| (c, d) == (a, b) || (d, c) == (a, b))
                })
                .collect();
            let [only] = beside[..] else { continue };
            if !matches!(facts.circuit.element(only).kind, Kind::Lamp | Kind::Resistor) {
                continue;
            }
            let (name, part) = (facts.name(id), facts.name(only));
            let message = format!("{name} stands across {part}: closed, it takes {part} out instead of turning it on");
            found.push(
                Diagnostic::new(META.name, META.severity, facts.place(id), message)
                    .proof(basis::ends(StateId::DRAWN, &[id], &[only]))
                    .label(facts.place(only), "goes out when it is closed")
                    .ask(format!("Where does the current go when {name} is closed?")),
            );
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
            &super::BypassSwitch,
            expect![[r#"
            hint bypass-switch: S1 stands across L1: closed, it takes L1 out instead of turning it on
              at 5:21 `S1`
              ask: Where does the current go when S1 is closed?
              -- 5:16 `L1` goes out when it is closed
        "#]],
        );
    }
}
