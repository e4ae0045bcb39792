//! stored-energy: a capacitor or an inductor that holds enough energy to hurt.

use ohmline_circuit::{ElementId, Kind, StateId, Unit};
use ohmline_solve::{Number, Value};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct StoredEnergy;

/// A figure is above a limit only beyond rounding.
const ROUNDING: f64 = 1.0 + 1e-9;

static META: Meta = Meta {
    name: "stored-energy",
    severity: Severity::Info,
    group: Group::RatingsAndSafety,
    summary: "a capacitor or an inductor that holds enough energy to hurt",
    why: "A capacitor keeps its charge when the supply is gone, for minutes or days, and gives it back at once to whoever joins its \
          ends. An inductor keeps its current going, if need be through an arc at the switch. A note is given from 1 J or 60 V on, a \
          warning from 10 J on (common practice, no source): discharge it through a resistor and check before touching.",
    bad: "source       E1 = 48 V\nresistor     R1 = 1 kohm\nelectrolytic C1 = 4700 uF\nE1+ -- R1 -- +C1- -- E1-\n",
    good: "source       E1 = 12 V\nresistor     R1 = 1 kohm\nelectrolytic C1 = 4700 uF\nE1+ -- R1 -- +C1- -- E1-\n",
    ignore_when: "The circuit is solved on paper, or has a way to discharge that is not drawn",
    fix: "None: a resistor across it discharges it.",
};

impl Rule for StoredEnergy {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<ElementId, (f64, f64)> = ByState::new();
        for answers in facts.solved() {
            for id in facts.of_kinds(&[Kind::Capacitor, Kind::Electrolytic, Kind::Inductor]) {
                let Some(answer) = facts.answer(answers.state, id) else { continue };
                let joules = answer.energy.as_ref().and_then(Value::known).map_or(0.0, Number::to_f64);
                let stores_charge = facts.circuit.element(id).kind != Kind::Inductor;
                let volts = answer
                    .voltage
                    .as_ref()
                    .and_then(Value::known)
                    .filter(|_| stores_charge)
                    .map_or(0.0, Number::to_f64)
                    .abs();
                if joules > facts.limits().energy_note * ROUNDING || volts > facts.limits().touch_voltage * ROUNDING {
                    all.add(id, answers.state, (joules, volts));
                }
            }
        }
        for (id, seen) in all.into_found() {
            found.push(report(facts, id, &seen));
        }
    }
}

fn report(facts: &Facts<'_>, id: ElementId, seen: &[(StateId, (f64, f64))]) -> Diagnostic {
    let (joules, volts) = seen[states::worst(seen, |(joules, _)| *joules)].1;
    let name = facts.name(id);
    let severity = if joules > facts.limits().energy_danger * ROUNDING { Severity::Warning } else { Severity::Info };
    let joules = wording::float(joules, Unit::Joule);
    let (message, help) = if facts.circuit.element(id).kind == Kind::Inductor {
        let message = format!("{name} stores {joules}: opened suddenly, it drives its current on through an arc");
        (message, "Give the current another way before opening the switch, such as a diode across the coil")
    } else {
        let volts = wording::float(volts, Unit::Volt);
        let message = format!("{name} stores {joules} at {volts} and keeps it when the supply is gone");
        (
            message,
            "Discharge it through a resistor and check before touching; local codes and licensed practice come first",
        )
    };
    let mut said = Diagnostic::new(META.name, severity, facts.place(id), message)
        .ask(format!("What happens to the energy in {name} when the supply is gone?"))
        .help(help);
    said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
    said
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_flash_capacitor() {
        rule_says(
            "stored-energy",
            "source E1 = 300 V\n\
             resistor R1 = 10 kohm\n\
             capacitor C1 = 1000 uF\n\
             E1+ -- R1 -- C1 -- E1-\n",
            expect![[r#"
                warning stored-energy: C1 stores 45.0 J at 300 V and keeps it when the supply is gone
                  at 4:14 `C1`
                  ask: What happens to the energy in C1 when the supply is gone?
                  help: Discharge it through a resistor and check before touching; local codes and licensed practice come first
            "#]],
        );
    }
}
