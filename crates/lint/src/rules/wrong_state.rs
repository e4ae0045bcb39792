//! wrong-state: a claimed value is the one of another case.

use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::slip::{self, Slip};

/// See the module.
pub struct WrongState;

static META: Meta = Meta {
    name: "wrong-state",
    severity: Severity::Error,
    group: Group::ClaimsAndAnswers,
    summary: "a claimed value is the one of another case",
    why: "A value belongs to a state of the circuit. What a lamp carries with one switch open it does not carry with it \
          closed, and a key that mixes the two is wrong twice.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          lamp     L1 = 12 ohm\n\
          switch   S1 = open\n\
          B1+ -- R1 -- ( L1 | S1 ) -- B1-\n\
          case \"night\": S1 = closed\n\
          claim current through R1 = 0.50 A\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          lamp     L1 = 12 ohm\n\
          switch   S1 = open\n\
          B1+ -- R1 -- ( L1 | S1 ) -- B1-\n\
          case \"night\": S1 = closed\n\
          claim current through R1 = 0.50 A in \"night\"\n",
    ignore_when: "never in a key; write statements to judge as text",
    fix: "Writes the value that the circuit gives. The circuit stays, so answers do not change.",
};

impl Rule for WrongState {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for (index, slip) in facts.slips().iter().enumerate() {
            let Some(Slip::State(state)) = slip else { continue };
            let tail = match &facts.circuit.states[state.index()].name {
                Some(name) => format!("that is the value in \"{name}\""),
                None => "that is the value of the circuit as drawn".to_owned(),
            };
            let question = "In which position of the switches is this the value?".to_owned();
            found.extend(slip::report(facts, &META, index, &tail, question));
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
            &super::WrongState,
            expect![[r#"
                error wrong-state: The current through R1 is 0.25 A, not 0.50 A: that is the value in "night"
                  at 7:28 `0.50 A` solved: 0.25 A
                  ask: In which position of the switches is this the value?
                  fix: Claim 0.25 A (7:28 `0.50 A` -> "0.25 A")
            "#]],
        );
    }
}
