//! touch-voltage: two points differ by more than an extra-low voltage.

use ohmline_circuit::{NodeId, StateId, Unit};
use ohmline_solve::Value;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::{places, wording};

/// See the module.
pub struct TouchVoltage;

/// A difference is above a limit only beyond rounding.
const ROUNDING: f64 = 1.0 + 1e-9;

/// A potential and where it is.
type Extreme = (f64, NodeId);

static META: Meta = Meta {
    name: "touch-voltage",
    severity: Severity::Warning,
    group: Group::RatingsAndSafety,
    summary: "two points differ by more than an extra-low voltage",
    why: "Extra-low voltage ends at 120 V direct current (IEC 61140), and 60 V is commonly taken where conditions are less kind, such as \
          damp rooms or bare parts in reach (IEC 60364-4-41). Above it, touching two points can hurt or kill. These are limits for \
          design, no promise of safety: local codes and the judgement of a licensed person come first.",
    bad: "source   E1 = 150 V\nresistor R1 = 10 kohm\nE1+ -- R1 -- E1-\n",
    good: "source   E1 = 48 V\nresistor R1 = 10 kohm\nE1+ -- R1 -- E1-\n",
    ignore_when: "The circuit is solved on paper, or is built by people licensed for such voltages",
    fix: "None: lower the supply.",
};

impl Rule for TouchVoltage {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut pieces: ByState<u32, (f64, NodeId, NodeId)> = ByState::new();
        for answers in facts.solved() {
            let mut extremes: Vec<Option<(Extreme, Extreme)>> = Vec::new();
            for (at, potential) in answers.potentials.iter().enumerate() {
                let Value::Known(number) = potential else { continue };
                let node = NodeId(at as u32);
                let Some(piece) = crate::pieces::of_node(facts, node) else { continue };
                let volts = number.to_f64();
                if extremes.len() <= piece as usize {
                    extremes.resize(piece as usize + 1, None);
                }
                match &mut extremes[piece as usize] {
                    none @ None => *none = Some(((volts, node), (volts, node))),
                    Some((low, high)) => {
                        if volts < low.0 {
                            *low = (volts, node);
                        }
                        if volts > high.0 {
                            *high = (volts, node);
                        }
                    }
                }
            }
            for (piece, extreme) in extremes.iter().enumerate() {
                let Some((low, high)) = extreme else { continue };
                if high.0 - low.0 > facts.limits().touch_voltage * ROUNDING {
                    pieces.add(piece as u32, answers.state, (high.0 - low.0, high.1, low.1));
                }
            }
        }
        for (_, seen) in pieces.into_found() {
            found.push(report(facts, &seen));
        }
    }
}

fn report(facts: &Facts<'_>, seen: &[(StateId, (f64, NodeId, NodeId))]) -> Diagnostic {
    let circuit = facts.circuit;
    let (volts, high, low) = seen[states::worst(seen, |(volts, ..)| *volts)].1;
    let shown = wording::float(volts, Unit::Volt);
    let limits = facts.limits();
    let (severity, limit) = if volts > limits.extra_low_voltage * ROUNDING {
        let limit = wording::float(limits.extra_low_voltage, Unit::Volt);
        (Severity::Warning, format!("above {limit} direct current it is no extra-low voltage any more (IEC 61140)"))
    } else {
        let limit = wording::float(limits.touch_voltage, Unit::Volt);
        (Severity::Info, format!("above {limit} direct current more care is due in damp places (IEC 60364-4-41)"))
    };
    let message =
        format!("{} and {} differ by {shown}: {limit}", wording::node(circuit, high), wording::node(circuit, low));
    let mut said = Diagnostic::new(META.name, severity, places::of_node(facts, high), message)
        .here("the highest potential")
        .ask("What would a hand feel that touches both points?")
        .label(places::of_node(facts, low), "the lowest potential");
    said.cases = states::cases(circuit, seen.iter().map(|(state, _)| *state));
    said.help("Keep it covered, or lower the supply; local codes and licensed practice come first")
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn both_limits() {
        rule_says(
            "touch-voltage",
            "source E1 = 80 V\n\
             resistor R1 = 10 kohm\n\
             E1+ -- R1 -- E1-\n\
             case \"high\": E1 = 200 V\n",
            expect![[r#"
                warning touch-voltage: E1+ and E1- differ by 200 V: above 120 V direct current it is no extra-low voltage any more (IEC 61140)
                  at 3:1 `E1+` the highest potential
                  ask: What would a hand feel that touches both points?
                  -- 3:14 `E1-` the lowest potential
                  help: Keep it covered, or lower the supply; local codes and licensed practice come first
            "#]],
        );
    }
}
