//! soon-empty: a battery is empty in a short time.

use ohmline_circuit::{ElementId, Kind, Params, Rational, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct SoonEmpty;

static META: Meta = Meta {
    name: "soon-empty",
    severity: Severity::Info,
    group: Group::Sources,
    summary: "a battery is empty in a short time",
    why: "A battery's capacity over its current is about how long it lasts (less at large currents). A result that holds \
          for a few minutes only is seldom what a table of readings is made from.",
    bad: "battery  B1 = 6 V, capacity 1 Ah\n\
          resistor R1 = 2 ohm\n\
          B1+ -- R1 -- B1-\n",
    good: "battery  B1 = 6 V, capacity 7 Ah\n\
          resistor R1 = 2 ohm\n\
          B1+ -- R1 -- B1-\n",
    ignore_when: "the circuit is on for moments only",
    fix: "None: a larger battery or a smaller load, as you choose.",
};

impl Rule for SoonEmpty {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<ElementId, (f64, f64)> = ByState::new();
        for answers in facts.solved() {
            for &id in facts.of_kind(Kind::Battery) {
                let Params::Battery { capacity: Some(charge), .. } = facts.circuit.params(answers.state, id) else {
                    continue;
                };
                let Some(current) = facts.amperes(answers.state, id) else { continue };
                let seconds = ohmline_solve::Number::exact(Rational::clone(charge)).to_f64() / current;
                if current > 0.0 && seconds < facts.limits().shortest_hours * 3600.0 {
                    all.add(id, answers.state, (current, seconds / 60.0));
                }
            }
        }
        for (id, seen) in all.into_found() {
            let (current, minutes) = seen[states::worst(&seen, |(current, _)| *current)].1;
            let name = facts.name(id);
            let current = wording::float(current, Unit::Ampere);
            let message = format!("{name} gives {current} and is empty after about {} min", wording::plain(minutes));
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .label(facts.circuit.element(id).declared, "its capacity stands here")
                .ask(format!("How long does {name} last at this current?"))
                .help("Take a larger battery, or draw less");
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
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
            &super::SoonEmpty,
            expect![[r#"
            info soon-empty: B1 gives 3.00 A and is empty after about 20 min
              at 3:1 `B1+`
              ask: How long does B1 last at this current?
              -- 1:10 `B1` its capacity stands here
              help: Take a larger battery, or draw less
        "#]],
        );
    }
}
