//! opened-coil: a switch cuts off the current of a coil.

use ohmline_circuit::{ElementId, Kind, StateId, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct OpenedCoil;

static META: Meta = Meta {
    name: "opened-coil",
    severity: Severity::Info,
    group: Group::RatingsAndSafety,
    summary: "a switch cuts off the current of a coil",
    why: "A coil keeps its current going. When a switch opens its only way, its voltage rises until the current finds \
          another: an arc at the contact, a destroyed transistor, a shock. A diode or a resistor across the coil gives it \
          a way.",
    bad: "battery  B1 = 6 V\n\
          switch   S1 = closed\n\
          resistor R1 = 12 ohm\n\
          inductor L1 = 2 H\n\
          B1+ -- S1 -- R1 -- L1 -- B1-\n\
          case \"off\": S1 = open\n",
    good: "battery  B1 = 6 V\n\
          switch   S1 = closed\n\
          resistor R1 = 12 ohm\n\
          inductor L1 = 2 H\n\
          diode    D1 = 0.7 V\n\
          B1+ -- S1 -- R1 -- @coil -- L1 -- B1-\n\
          B1- -- +D1- -- @coil\n\
          case \"off\": S1 = open\n",
    ignore_when: "only the steady states are of interest",
    fix: "None: only you know what should take the current.",
};

impl Rule for OpenedCoil {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.circuit.states.len() < 2 {
            return;
        }
        let mut all: ByState<ElementId, f64> = ByState::new();
        for &id in facts.of_kind(Kind::Inductor) {
            let Some(current) = facts.amperes(StateId::DRAWN, id).map(f64::abs).filter(|current| *current > 0.0) else {
                continue;
            };
            for state in facts.circuit.state_ids().skip(1) {
                // With any closed path left, through whatever part, the current dies down there.
                if facts.is_idle(state, id) && !has_bypass(facts, id) {
                    all.add(id, state, current);
                }
            }
        }
        for (id, seen) in all.into_found() {
            let name = facts.name(id);
            let current = wording::float(seen[0].1, Unit::Ampere);
            let message = format!("{name} carries {current}, and the case leaves it no way to go on: it makes an arc");
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .ask(format!("Where does the current of {name} go at the moment the switch opens?"))
                .help("Put a diode or a resistor across the coil");
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            found.push(said);
        }
    }
}

/// Whether something across the coil itself takes its current.
fn has_bypass(facts: &Facts<'_>, coil: ElementId) -> bool {
    let Some((a, b)) = facts.two_nodes(coil) else { return false };
    facts.circuit.ends(a).iter().any(|end| {
        let takes = matches!(facts.circuit.element(end.element).kind, Kind::Diode | Kind::Resistor | Kind::Lamp);
        takes && facts.two_nodes(end.element).is_some_and(|(c, d)| (c, d) == (a, b) || (d, c) == (a, b))
    })
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::OpenedCoil,
            expect![[r#"
            info opened-coil [off]: L1 carries 500 mA, and the case leaves it no way to go on: it makes an arc
              at 5:20 `L1`
              ask: Where does the current of L1 go at the moment the switch opens?
              help: Put a diode or a resistor across the coil
        "#]],
        );
    }
}
