//! fuse-blows: more current than a fuse is rated for.

use ohmline_circuit::{Amount, ElementId, Kind, Params, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::{Facts, exceeds, size};
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct FuseBlows;

static META: Meta = Meta {
    name: "fuse-blows",
    severity: Severity::Warning,
    group: Group::RatingsAndSafety,
    summary: "more current than a fuse is rated for",
    why: "A fuse carries its rated current for good and melts above it: soon at a multiple, after minutes or hours just above. What is \
          shown is the circuit before the fuse has blown.",
    bad: "battery  B1 = 12 V\nfuse     F1 = 500 mA\nresistor R1 = 12 ohm\nB1+ -- F1 -- R1 -- B1-\n",
    good: "battery  B1 = 12 V\nfuse     F1 = 2 A\nresistor R1 = 12 ohm\nB1+ -- F1 -- R1 -- B1-\n",
    ignore_when: "That the fuse blows is the lesson",
    fix: "None: only you know whether the fuse or the load is wrong.",
};

impl Rule for FuseBlows {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<ElementId, (Number, Number)> = ByState::new();
        for answers in facts.solved() {
            for &id in facts.of_kind(Kind::Fuse) {
                let Params::Fuse { rating: Some(Amount::Known(rating)), .. } = facts.circuit.params(answers.state, id)
                else {
                    continue;
                };
                let Some(current) = facts.current(answers.state, id) else { continue };
                if exceeds(current, rating) {
                    all.add(id, answers.state, (size(current), Number::exact(rating.clone())));
                }
            }
        }
        for (id, seen) in all.into_found() {
            let (current, rating) = &seen[states::worst(&seen, |(current, _)| current.to_f64())].1;
            let (current, rating) = (wording::number(current, Unit::Ampere), wording::number(rating, Unit::Ampere));
            let message = format!("{} blows: {current} passes through it, and it is rated {rating}", facts.name(id));
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .ask(format!("How large is the current through {}, and what does a fuse do then?", facts.name(id)))
                .label(facts.circuit.element(id).value_at, "its rating")
                .help("Find out what draws so much; only then take a larger fuse, never larger than the wiring stands");
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
    fn in_one_case() {
        rule_says(
            "fuse-blows",
            "battery B1 = 12 V\n\
             fuse F1 = 500 mA\n\
             resistor R1, R2 = 30 ohm\n\
             switch S1 = open\n\
             B1+ -- F1 -- @a -- R1 -- B1-\n\
             @a -- S1 -- R2 -- B1-\n\
             case \"both\": S1 = closed\n",
            expect![[r#"
                warning fuse-blows [both]: F1 blows: 800 mA passes through it, and it is rated 500 mA
                  at 5:8 `F1`
                  ask: How large is the current through F1, and what does a fuse do then?
                  -- 2:11 `500 mA` its rating
                  help: Find out what draws so much; only then take a larger fuse, never larger than the wiring stands
            "#]],
        );
    }
}
