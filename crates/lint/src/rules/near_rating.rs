//! near-rating: a part takes more than half of its power rating.

use ohmline_circuit::{ElementId, Kind, Params, Rational, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct NearRating;

static META: Meta = Meta {
    name: "near-rating",
    severity: Severity::Info,
    group: Group::RatingsAndSafety,
    summary: "a part takes more than half of its power rating",
    why: "Ratings hold for free air at room temperature. In a box, or beside other warm parts, the same power makes it \
          much hotter, so builders stay at half (common practice, no source).",
    bad: "battery  B1 = 12 V\n\
          resistor R1 = 192 ohm, rating 1 W\n\
          B1+ -- R1 -- B1-\n",
    good: "battery  B1 = 12 V\n\
          resistor R1 = 192 ohm, rating 2 W\n\
          B1+ -- R1 -- B1-\n",
    ignore_when: "it stands free and the air is cool",
    fix: "None: take a larger rating.",
};

impl Rule for NearRating {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<ElementId, (f64, f64)> = ByState::new();
        for answers in facts.solved() {
            for id in facts.of_kinds(&[Kind::Resistor, Kind::Potentiometer]) {
                let (Params::Resistor { rating: Some(rating), .. }
                | Params::Potentiometer { rating: Some(rating), .. }) = facts.circuit.params(answers.state, id)
                else {
                    continue;
                };
                let Some(power) = facts.watts(answers.state, id) else { continue };
                let rating = Number::exact(Rational::clone(rating)).to_f64();
                if power > rating * facts.limits().warm_share * (1.0 + 1e-9) {
                    all.add(id, answers.state, (power, rating));
                }
            }
        }
        for (id, seen) in all.into_found() {
            let (power, rating) = seen[states::worst(&seen, |(power, rating)| power / rating)].1;
            // Above the rating it is reported as that.
            if power > rating {
                continue;
            }
            let name = facts.name(id);
            let percent = wording::plain((power / rating * 100.0).round());
            let message =
                format!("{name} turns {} into heat, {percent} % of its rating", wording::float(power, Unit::Watt));
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .label(facts.circuit.element(id).value_at, "its values")
                .ask(format!("How warm will {name} be?"))
                .help("Take the next larger rating if it stands in a box or beside others");
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
            &super::NearRating,
            expect![[r#"
                info near-rating: R1 turns 0.750 W into heat, 75 % of its rating
                  at 3:8 `R1`
                  ask: How warm will R1 be?
                  -- 2:15 `192 ohm` its values
                  help: Take the next larger rating if it stands in a box or beside others
            "#]],
        );
    }
}
