//! charging-cell: a battery into whose `+` current is driven.

use ohmline_circuit::{ElementId, Kind, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::{Facts, is_negative, size};
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::{places, wording};

/// See the module.
pub struct ChargingCell;

static META: Meta = Meta {
    name: "charging-cell",
    severity: Severity::Info,
    group: Group::Sources,
    summary: "a battery into whose + current is driven",
    why: "Current that enters a battery at its + charges it. That is what a charger is for; a cell that is not made to be charged heats, \
          leaks or bursts. Often it only means that one battery stands the wrong way round.",
    bad: "battery  B1 = 12 V, internal 1 ohm\nbattery  B2 = 6 V, internal 1 ohm\nresistor R1 = 4 ohm\nB1+ -- R1 -- +B2- -- B1-\n",
    good: "battery  B1 = 12 V, internal 1 ohm\nbattery  B2 = 6 V, internal 1 ohm\nresistor R1 = 4 ohm\nB1+ -- R1 -- -B2+ -- B1-\n",
    ignore_when: "Charging is what the circuit is for",
    fix: "Turns the battery round. Its electromotive force then counts the other way, so all currents change.",
};

impl Rule for ChargingCell {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<ElementId, Number> = ByState::new();
        for answers in facts.solved() {
            for &id in facts.of_kind(Kind::Battery) {
                if let Some(current) = facts.current(answers.state, id).filter(|current| is_negative(current)) {
                    all.add(id, answers.state, size(current));
                }
            }
        }
        for (id, seen) in all.into_found() {
            let current = &seen[states::worst(&seen, Number::to_f64)].1;
            let name = facts.name(id);
            let message =
                format!("{name} is being charged: {} is driven into its +", wording::number(current, Unit::Ampere));
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .ask(format!("At which terminal of {name} does the current come in, and what does that do to a cell?"))
                .help("Turn it round if that is not meant; charge only cells that are made for it");
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            // Beside another source the two would drive a current round through each other.
            let beside = facts.solved().any(|answers| {
                let others = facts.topologies[answers.state.index()].parallel_with(facts.circuit, id);
                others.iter().any(|other| facts.circuit.element(*other).kind.is_source())
            });
            if !beside {
                said.fixes.extend(places::turn_round(facts, id));
            }
            found.push(said);
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn the_weaker_battery() {
        rule_says(
            "charging-cell",
            "battery B1 = 12 V, internal 1 ohm\n\
             battery B2 = 6 V, internal 1 ohm\n\
             resistor R1 = 4 ohm\n\
             B1+ -- R1 -- +B2- -- B1-\n",
            expect![[r#"
                info charging-cell: B2 is being charged: 1.00 A is driven into its +
                  at 4:14 `+B2-`
                  ask: At which terminal of B2 does the current come in, and what does that do to a cell?
                  help: Turn it round if that is not meant; charge only cells that are made for it
                  fix: Turn it round: `-B2+` (4:14 `+B2-` -> "-B2+")
            "#]],
        );
    }
}
