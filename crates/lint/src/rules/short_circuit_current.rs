//! short-circuit-current: a battery that would drive a dangerous current if its terminals touched.

use ohmline_circuit::{Amount, Kind, Params, StateId, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::{Facts, is_above};
use crate::registry::{Group, Meta, Rule};
use crate::rules::shorted_source::is_at_shorted_source;
use crate::wording;

/// See the module.
pub struct ShortCircuitCurrent;

static META: Meta = Meta {
    name: "short-circuit-current",
    severity: Severity::Info,
    group: Group::RatingsAndSafety,
    summary: "a battery that would drive a dangerous current if its terminals touched",
    why: "The current of a shorted battery is its electromotive force over its internal resistance. A car battery reaches hundreds \
          of amperes at a harmless voltage: a spanner across it glows, and a lead without a fuse burns. From 50 A on a note is given \
          (common practice, no source); a fuse at the battery's terminal is the usual answer.",
    bad: "battery  B1 = 12 V, internal 0.02 ohm\nresistor R1 = 24 ohm\nB1+ -- R1 -- B1-\n",
    good: "battery  B1 = 12 V, internal 0.5 ohm\nresistor R1 = 24 ohm\nB1+ -- R1 -- B1-\n",
    ignore_when: "The battery is fused at its terminals",
    fix: "None: a fuse belongs to the real battery.",
};

impl Rule for ShortCircuitCurrent {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for &id in facts.of_kind(Kind::Battery) {
            let element = facts.circuit.element(id);
            let Params::Battery { emf: Amount::Known(emf), internal: Some(Amount::Known(internal)), .. } =
                &element.params
            else {
                continue;
            };
            if *internal == 0 {
                continue;
            }
            let current = Number::exact(emf / internal);
            let shorted = (0..facts.circuit.states.len()).any(|state| {
                let state = StateId(state as u32);
                let (plus, minus) = (element.terminals[0], element.terminals[1]);
                facts.is_one_point(state, plus, minus) && is_at_shorted_source(facts, state, id)
            });
            // A battery that is shorted is reported as such, with its current.
            if !is_above(&current, facts.limits().short_circuit_current) || shorted {
                continue;
            }
            let shown = wording::number(&current, Unit::Ampere);
            let message = format!(
                "Shorted, {} would drive {shown}: its {} over its internal {}",
                element.name,
                wording::exact(emf, Unit::Volt),
                wording::exact(internal, Unit::Ohm)
            );
            let ask = format!("What alone limits the current if a wire falls across {}?", element.name);
            found.push(Diagnostic::new(META.name, META.severity, element.value_at, message).ask(ask).help(
                "Fuse it at its terminal and keep tools and rings away; local codes and licensed practice come first",
            ));
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_car_battery() {
        rule_says(
            "short-circuit-current",
            "battery B1 = 12 V, internal 20 mohm\n\
             resistor R1 = 24 ohm\n\
             B1+ -- R1 -- B1-\n",
            expect![[r#"
                info short-circuit-current: Shorted, B1 would drive 600 A: its 12.0 V over its internal 0.0200 Ω
                  at 1:14 `12 V`
                  ask: What alone limits the current if a wire falls across B1?
                  help: Fuse it at its terminal and keep tools and rings away; local codes and licensed practice come first
            "#]],
        );
    }
}
