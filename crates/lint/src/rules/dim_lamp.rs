//! dim-lamp: a lamp gets so little that it hardly glows.

use ohmline_circuit::{ElementId, Kind, Params, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct DimLamp;

static META: Meta = Meta {
    name: "dim-lamp",
    severity: Severity::Info,
    group: Group::RatingsAndSafety,
    summary: "a lamp gets so little that it hardly glows",
    why: "A lamp far below its rated voltage gives heat and hardly any light. Its filament is cold then and has a much \
          smaller resistance than the one worked out from its rating, so the solution is also less exact there.",
    bad: "battery  B1 = 3 V\n\
          lamp     L1 = 5 W at 12 V\n\
          B1+ -- L1 -- B1-\n",
    good: "battery  B1 = 12 V\n\
          lamp     L1 = 5 W at 12 V\n\
          B1+ -- L1 -- B1-\n",
    ignore_when: "that it hardly glows is the lesson",
    fix: "None: only you know which lamp is meant.",
};

impl Rule for DimLamp {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<ElementId, (f64, f64)> = ByState::new();
        for answers in facts.solved() {
            for &id in facts.of_kind(Kind::Lamp) {
                let Params::Lamp { rated: Some(rated), .. } = facts.circuit.params(answers.state, id) else { continue };
                let Some(volts) = facts.volts(answers.state, id).map(f64::abs) else { continue };
                let rated = Number::exact(rated.1.clone()).to_f64();
                if volts > 0.0 && volts < rated * facts.limits().lamp_dim {
                    all.add(id, answers.state, (volts, rated));
                }
            }
        }
        for (id, seen) in all.into_found() {
            let (volts, rated) = seen[states::worst(&seen, |(volts, rated)| -volts / rated)].1;
            let name = facts.name(id);
            let message = format!(
                "{name} has {} of its {} and hardly glows",
                wording::float(volts, Unit::Volt),
                wording::float(rated, Unit::Volt)
            );
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .note("A cold filament has a much smaller resistance than a hot one, so the real current is larger")
                .ask(format!("How bright is {name}, and is its resistance still that of the hot filament?"));
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
            &super::DimLamp,
            expect![[r#"
            info dim-lamp: L1 has 3.00 V of its 12.0 V and hardly glows
              at 3:8 `L1`
              ask: How bright is L1, and is its resistance still that of the hot filament?
              note: A cold filament has a much smaller resistance than a hot one, so the real current is larger
        "#]],
        );
    }
}
