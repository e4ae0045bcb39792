//! idle-switch: throwing a switch changes no current.

use ohmline_circuit::{Kind, Params, StateId};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct IdleSwitch;

static META: Meta = Meta {
    name: "idle-switch",
    severity: Severity::Info,
    group: Group::SwitchesAndCases,
    summary: "throwing a switch changes no current",
    why: "A switch that joins two points of one potential, or a part that carries nothing anyway, may be thrown as often \
          as one likes. In a balanced bridge that is the point; elsewhere the switch stands at the wrong place.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2, R3, R4 = 10 ohm\n\
          switch   S1 = open\n\
          B1+ -- ( R1 -- @port -- R2 | R3 -- @starboard -- R4 ) -- B1-\n\
          @port -- S1 -- @starboard\n\
          case \"joined\": S1 = closed\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2, R3 = 10 ohm\n\
          resistor R4 = 30 ohm\n\
          switch   S1 = open\n\
          B1+ -- ( R1 -- @port -- R2 | R3 -- @starboard -- R4 ) -- B1-\n\
          @port -- S1 -- @starboard\n\
          case \"joined\": S1 = closed\n",
    ignore_when: "that nothing changes is the lesson",
    fix: "None: only you know where the switch belongs.",
};

impl Rule for IdleSwitch {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        let Some(drawn) = facts.answers.states.first() else { return };
        for state in facts.circuit.state_ids().skip(1).take(MOST) {
            let case = &facts.circuit.states[state.index()];
            let changed: Vec<_> = case
                .overrides
                .iter()
                .filter(|(id, params)| **params != facts.circuit.element(**id).params)
                .map(|(id, _)| *id)
                .collect();
            let ([switch], true) = (&changed[..], case.faults.is_empty()) else { continue };
            let closes = |state| matches!(facts.circuit.params(state, *switch), Params::Switch { closed: Some(true) });
            if facts.circuit.element(*switch).kind != Kind::Switch || closes(state) == closes(StateId::DRAWN) {
                continue;
            }
            let mut any = false;
            let same = facts.circuit.element_ids().all(|id| {
                let (before, after) = (facts.amperes(StateId::DRAWN, id), facts.amperes(state, id));
                any |= before.is_some_and(|current| current != 0.0);
                match (before, after) {
                    (Some(before), Some(after)) => (before - after).abs() <= 1e-9 * before.abs().max(after.abs()),
                    (None, None) => true,
                    _ => id == *switch,
                }
            });
            if !same || !any || drawn.elements.is_empty() {
                continue;
            }
            let name = facts.name(*switch);
            let (verb, case) =
                (if closes(state) { "Closing" } else { "Opening" }, case.name.as_deref().unwrap_or_default());
            let message = format!("{verb} {name} in \"{case}\" changes no current at all");
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(*switch), message)
                .ask(format!("Which current would have to change when {name} is thrown, and why?"))
                .help("Put the switch into the line that it should open");
            if let Some((from, to)) = facts.two_nodes(*switch) {
                said = said.note(format!(
                    "{} and {} are at one potential, or nothing flows there anyway",
                    wording::node(facts.circuit, from),
                    wording::node(facts.circuit, to)
                ));
            }
            said.cases = vec![case.to_owned()];
            found.push(said);
        }
    }
}

/// Most cases that are looked at.
const MOST: usize = 100;

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::IdleSwitch,
            expect![[r#"
            info idle-switch [joined]: Closing S1 in "joined" changes no current at all
              at 5:10 `S1`
              ask: Which current would have to change when S1 is thrown, and why?
              note: @port and @starboard are at one potential, or nothing flows there anyway
              help: Put the switch into the line that it should open
        "#]],
        );
    }
}
