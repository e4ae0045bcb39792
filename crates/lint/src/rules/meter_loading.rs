//! meter-loading: a meter changes what it reads by its own resistance.

use ohmline_circuit::{Fault, Kind, Params, StateId, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::what_if::{what_if, what_if_it_were};
use crate::wording;

/// See the module.
pub struct MeterLoading;

static META: Meta = Meta {
    name: "meter-loading",
    severity: Severity::Info,
    group: Group::Meters,
    summary: "a meter changes what it reads by its own resistance",
    why: "A real voltmeter takes some current, and a real ammeter some voltage, so the reading is that of the circuit with \
          the meter in it. With high resistances a cheap voltmeter is far off, and the error is not one of the parts.",
    bad: "battery   B1 = 12 V\n\
          resistor  R1 = 200 kohm\n\
          resistor  R2 = 300 kohm\n\
          voltmeter V1 = 600 kohm\n\
          B1+ -- R1 -- @mid -- R2 -- B1-\n\
          @mid -- +V1- -- B1-\n",
    good: "battery   B1 = 12 V\n\
          resistor  R1 = 200 ohm\n\
          resistor  R2 = 300 ohm\n\
          voltmeter V1 = 600 kohm\n\
          B1+ -- R1 -- @mid -- R2 -- B1-\n\
          @mid -- +V1- -- B1-\n",
    ignore_when: "loading is the lesson",
    fix: "None: a better meter, or the ideal one for paper.",
};

impl Rule for MeterLoading {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let meters: Vec<_> = facts
            .of_kinds(&[Kind::Voltmeter, Kind::Ammeter])
            .filter(|id| facts.ohms(StateId::DRAWN, *id).is_some())
            .collect();
        // Each meter takes another solution of the circuit.
        if meters.len() > 6 {
            return;
        }
        for id in meters {
            let voltmeter = facts.circuit.element(id).kind == Kind::Voltmeter;
            let unit = if voltmeter { Unit::Volt } else { Unit::Ampere };
            let other = match facts.circuit.element(id).params.clone() {
                // A wire put across would take its current; an ideal ammeter has one of its own.
                Params::Ammeter { range, .. } => {
                    what_if_it_were(facts, id, Params::Ammeter { resistance: None, range })
                }
                _ => what_if(facts, id, Fault::Open),
            };
            let reading = if voltmeter { facts.volts(StateId::DRAWN, id) } else { facts.amperes(StateId::DRAWN, id) };
            let (Some(reading), Some(other)) = (reading, other) else { continue };
            let Some(answer) = other.elements.get(id.index()).and_then(Option::as_ref) else { continue };
            let ideal = if voltmeter { answer.voltage.as_ref() } else { answer.current.as_ref() };
            let Some(ideal) = ideal.and_then(|value| value.known()).map(|number| number.to_f64()) else { continue };
            let off = (reading - ideal).abs();
            if off <= facts.limits().meter_loading * ideal.abs() || ideal == 0.0 {
                continue;
            }
            let name = facts.name(id);
            let (reading, without) = (wording::float(reading, unit), wording::float(ideal, unit));
            let percent = wording::plain(off / ideal.abs() * 100.0);
            let message = format!(
                "{name} reads {reading}; without its own resistance there would be {without}, a difference of {percent} %"
            );
            found.push(
                Diagnostic::new(META.name, META.severity, facts.place(id), message)
                    .label(facts.circuit.element(id).value_at, "its resistance")
                    .ask(format!("Does {name} change the circuit it measures?"))
                    .help("Compare with the prediction that has the meter in it, or take a meter that loads less"),
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
            &super::MeterLoading,
            expect![[r#"
            info meter-loading: V1 reads 6.00 V; without its own resistance there would be 7.20 V, a difference of 16.7 %
              at 6:9 `+V1-`
              ask: Does V1 change the circuit it measures?
              -- 4:16 `600 kohm` its resistance
              help: Compare with the prediction that has the meter in it, or take a meter that loads less
        "#]],
        );
    }
}
