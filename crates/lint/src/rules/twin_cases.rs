//! twin-cases: two cases say the same.

use ohmline_circuit::State;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct TwinCases;

static META: Meta = Meta {
    name: "twin-cases",
    severity: Severity::Warning,
    group: Group::SwitchesAndCases,
    summary: "two cases say the same",
    why: "Cases that set the same things to the same values have the same answers. Mostly one of them was copied and not \
          changed.",
    bad: "battery  B1 = 6 V\n\
          lamp     L1, L2 = 12 ohm\n\
          switch   S1 = open\n\
          switch   S2 = open\n\
          B1+ -- ( S1 -- L1 | S2 -- L2 ) -- B1-\n\
          case \"dusk\": S1 = closed\n\
          case \"night\": S1 = closed\n",
    good: "battery  B1 = 6 V\n\
          lamp     L1, L2 = 12 ohm\n\
          switch   S1 = open\n\
          switch   S2 = open\n\
          B1+ -- ( S1 -- L1 | S2 -- L2 ) -- B1-\n\
          case \"dusk\": S1 = closed\n\
          case \"night\": S1 = closed, S2 = closed\n",
    ignore_when: "both names are wanted for the reader",
    fix: "None: only you know what one of them should change.",
};

impl Rule for TwinCases {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let states = &facts.circuit.states;
        if !facts.is_sound() || states.len() > MOST {
            return;
        }
        let changes = |state: &State| {
            !state.faults.is_empty()
                || state.overrides.iter().any(|(id, params)| *params != facts.circuit.element(*id).params)
        };
        for (index, state) in states.iter().enumerate().skip(2) {
            let twin = |other: &&State| other.faults == state.faults && other.overrides == state.overrides;
            let Some(other) = states[1..index].iter().find(twin).filter(|_| changes(state)) else { continue };
            let (Some(name), Some(at), Some(first), Some(place)) = (&state.name, state.at, &other.name, other.at)
            else {
                continue;
            };
            let message = format!("Case \"{name}\" sets the same as \"{first}\", so their answers are the same");
            found.push(
                Diagnostic::new(META.name, META.severity, at, message)
                    .label(place, "the same values")
                    .ask(format!("What is different between \"{first}\" and \"{name}\"?"))
                    .help("Change one of them, or take it out"),
            );
        }
    }
}

/// Most cases that a person writes.
const MOST: usize = 200;

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::TwinCases,
            expect![[r#"
            warning twin-cases: Case "night" sets the same as "dusk", so their answers are the same
              at 7:6 `"night"`
              ask: What is different between "dusk" and "night"?
              -- 6:6 `"dusk"` the same values
              help: Change one of them, or take it out
        "#]],
        );
    }
}
