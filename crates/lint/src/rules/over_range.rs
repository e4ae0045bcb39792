//! over-range: a meter is asked to show more than its range.

use ohmline_circuit::{ElementId, Kind, Params, Rational, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::{Facts, exceeds, size};
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct OverRange;

static META: Meta = Meta {
    name: "over-range",
    severity: Severity::Warning,
    group: Group::Meters,
    summary: "a meter is asked to show more than its range",
    why: "Above its range a meter shows nothing useful; a needle bends against its stop, and an ammeter blows its fuse.",
    bad: "battery  B1 = 12 V\nammeter  A1, range 200 mA\nresistor R1 = 24 ohm\nB1+ -- +A1- -- R1 -- B1-\n",
    good: "battery  B1 = 12 V\nammeter  A1, range 1 A\nresistor R1 = 24 ohm\nB1+ -- +A1- -- R1 -- B1-\n",
    ignore_when: "The meter changes its range by itself",
    fix: "None: take the next range.",
};

impl Rule for OverRange {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<ElementId, (Number, Rational, Unit)> = ByState::new();
        for answers in facts.solved() {
            let state = answers.state;
            for id in facts.of_kinds(&[Kind::Ammeter, Kind::Voltmeter]) {
                let (reading, range, unit) = match facts.circuit.params(state, id) {
                    Params::Ammeter { range: Some(range), .. } => (facts.current(state, id), range, Unit::Ampere),
                    Params::Voltmeter { range: Some(range), .. } => (facts.voltage(state, id), range, Unit::Volt),
                    _ => continue,
                };
                let Some(reading) = reading else { continue };
                if exceeds(reading, range) {
                    all.add(id, state, (size(reading), (**range).clone(), unit));
                }
            }
        }
        for (id, seen) in all.into_found() {
            let (reading, range, unit) = &seen[states::worst(&seen, |(reading, ..)| reading.to_f64())].1;
            let (reading, range) = (wording::number(reading, *unit), wording::exact(range, *unit));
            let message = format!("{} would have to show {reading}, and its range ends at {range}", facts.name(id));
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .ask(format!("Which range would you choose for {} before you switch on?", facts.name(id)))
                .label(facts.circuit.element(id).declared, "its range stands here")
                .help("Choose the next larger range");
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            found.push(said);
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_meter_at_its_stop() {
        rule_says(
            "over-range",
            "battery B1 = 12 V\n\
             ammeter A1, range 200 mA\n\
             resistor R1 = 24 ohm\n\
             B1+ -- +A1- -- R1 -- B1-\n",
            expect![[r#"
                warning over-range: A1 would have to show 500 mA, and its range ends at 200 mA
                  at 4:8 `+A1-`
                  ask: Which range would you choose for A1 before you switch on?
                  -- 2:9 `A1` its range stands here
                  help: Choose the next larger range
            "#]],
        );
    }
}
