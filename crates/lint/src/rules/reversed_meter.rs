//! reversed-meter: a meter reads negative.

use ohmline_circuit::{ElementId, Kind, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::places;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct ReversedMeter;

static META: Meta = Meta {
    name: "reversed-meter",
    severity: Severity::Info,
    group: Group::Meters,
    summary: "a meter reads negative",
    why: "A meter shows a minus when the current enters at its minus terminal, or when its plus lead is at the lower \
          potential. A pointer meter hits its stop. Often only the leads are swapped.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          ammeter  A1\n\
          B1+ -- R1 -- -A1+ -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          ammeter  A1\n\
          B1+ -- R1 -- +A1- -- B1-\n",
    ignore_when: "the sign is what is asked",
    fix: "Turns the meter round. Its reading changes sign; nothing else changes.",
};

impl Rule for ReversedMeter {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<ElementId, (f64, Unit)> = ByState::new();
        for answers in facts.solved() {
            for id in facts.of_kinds(&[Kind::Ammeter, Kind::Voltmeter]) {
                let (number, unit) = match facts.circuit.element(id).kind {
                    Kind::Ammeter => (facts.current(answers.state, id), Unit::Ampere),
                    _ => (facts.voltage(answers.state, id), Unit::Volt),
                };
                if let Some(number) = number.filter(|number| crate::facts::is_negative(number)) {
                    all.add(id, answers.state, (number.to_f64(), unit));
                }
            }
        }
        for (id, seen) in all.into_found() {
            let (reading, unit) = seen[states::worst(&seen, |(reading, _)| -reading)].1;
            let name = facts.name(id);
            let enters =
                if unit == Unit::Ampere { "the current enters at its -" } else { "its - is at the higher potential" };
            let message = format!("{name} reads {}: {enters}", wording::float(reading, unit));
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .ask(format!("At which terminal of {name} does the current come in?"))
                .help("Swap its leads if a positive reading is wanted");
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            said.fixes.extend(places::turn_round(facts, id));
            found.push(said);
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
            &super::ReversedMeter,
            expect![[r#"
            info reversed-meter: A1 reads -500 mA: the current enters at its -
              at 4:14 `-A1+`
              ask: At which terminal of A1 does the current come in?
              help: Swap its leads if a positive reading is wanted
              fix: Turn it round: `+A1-` (4:14 `-A1+` -> "+A1-")
        "#]],
        );
    }
}
