//! empty-case: a case changes nothing.

use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct EmptyCase;

static META: Meta = Meta {
    name: "empty-case",
    severity: Severity::Warning,
    group: Group::SwitchesAndCases,
    summary: "a case changes nothing",
    why: "A case is a second state of the circuit. One that sets everything to what it is already has the same answers \
          under another name; mostly the wrong switch or the wrong position has been written.",
    bad: "battery  B1 = 6 V\n\
          lamp     L1 = 12 ohm\n\
          switch   S1 = open\n\
          B1+ -- S1 -- L1 -- B1-\n\
          case \"night\": S1 = open\n",
    good: "battery  B1 = 6 V\n\
          lamp     L1 = 12 ohm\n\
          switch   S1 = open\n\
          B1+ -- S1 -- L1 -- B1-\n\
          case \"night\": S1 = closed\n",
    ignore_when: "the case is named for the reader, beside others that differ",
    fix: "None: only you know what the case should change.",
};

impl Rule for EmptyCase {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if !facts.is_sound() {
            return;
        }
        for state in facts.circuit.states.iter().skip(1) {
            let (Some(name), Some(at)) = (&state.name, state.at) else { continue };
            let same = state.faults.is_empty()
                && state.overrides.iter().all(|(id, params)| *params == facts.circuit.element(*id).params);
            if same {
                let message =
                    format!("Case \"{name}\" is the circuit as drawn: it sets everything to what it is already");
                found.push(
                    Diagnostic::new(META.name, META.severity, at, message)
                        .ask(format!("What is different in \"{name}\"?"))
                        .help("Set what differs, or take the case out"),
                );
            }
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
            &super::EmptyCase,
            expect![[r#"
            warning empty-case: Case "night" is the circuit as drawn: it sets everything to what it is already
              at 5:6 `"night"`
              ask: What is different in "night"?
              help: Set what differs, or take the case out
        "#]],
        );
    }
}
