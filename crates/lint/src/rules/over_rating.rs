//! over-rating: more power or voltage than an element is made for.

use ohmline_circuit::{ElementId, Kind, Params, Rational, StateId, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::{Facts, exceeds, size};
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct OverRating;

static META: Meta = Meta {
    name: "over-rating",
    severity: Severity::Warning,
    group: Group::RatingsAndSafety,
    summary: "more power or voltage than an element is made for",
    why: "A resistor above its rated power overheats, drifts and at last burns; builders stay at half of it. A lamp much above its rated \
          voltage lives for minutes, and a capacitor above its rated voltage breaks down.",
    bad: "battery  B1 = 12 V\nresistor R1 = 48 ohm, rating 1 W\nB1+ -- R1 -- B1-\n",
    good: "battery  B1 = 12 V\nresistor R1 = 48 ohm, rating 5 W\nB1+ -- R1 -- B1-\n",
    ignore_when: "The circuit is solved on paper and never built",
    fix: "None: a larger rating or other values, as you choose.",
};

/// What is exceeded: the figure, the limit, the unit of both.
struct Over {
    figure: Number,
    limit: Rational,
    unit: Unit,
}

impl Rule for OverRating {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let kinds = [Kind::Resistor, Kind::Potentiometer, Kind::Lamp, Kind::Capacitor, Kind::Electrolytic];
        let mut all: ByState<ElementId, Over> = ByState::new();
        for answers in facts.solved() {
            for id in facts.of_kinds(&kinds) {
                if let Some(over) = over(facts, answers.state, id) {
                    all.add(id, answers.state, over);
                }
            }
        }
        for (id, seen) in all.into_found() {
            let Over { figure, limit, unit } = &seen[states::worst(&seen, |over| over.figure.to_f64())].1;
            let name = facts.name(id);
            let (figure, limit) = (wording::number(figure, *unit), wording::exact(limit, *unit));
            let message = match unit {
                Unit::Watt => format!("{name} turns {figure} into heat, and it is rated {limit}"),
                _ => format!("{name} has {figure} across it, and it is rated {limit}"),
            };
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .ask(format!("How much can {name} stand, and how much does it get?"))
                .label(facts.circuit.element(id).value_at, "its values")
                .help("Take one with a higher rating, or change the circuit so that less falls on it");
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            found.push(said);
        }
    }
}

fn over(facts: &Facts<'_>, state: StateId, id: ElementId) -> Option<Over> {
    let (figure, limit, allowed, unit) = match facts.circuit.params(state, id) {
        Params::Resistor { rating: Some(rating), .. } | Params::Potentiometer { rating: Some(rating), .. } => {
            (facts.power(state, id)?, &**rating, (**rating).clone(), Unit::Watt)
        }
        // A little more is within what supplies vary by. The share is meant as it is written: 1.1 is 11/10.
        Params::Lamp { rated: Some(rated), .. } => {
            let (_, volts) = &**rated;
            let share = Rational::try_from_float_simplest(facts.limits().lamp_over).ok()?;
            (facts.voltage(state, id)?, volts, volts * share, Unit::Volt)
        }
        Params::Capacitor { rating: Some(volts), .. } => {
            (facts.voltage(state, id)?, &**volts, (**volts).clone(), Unit::Volt)
        }
        _ => return None,
    };
    exceeds(figure, &allowed).then(|| Over { figure: size(figure), limit: limit.clone(), unit })
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::{Analyzed, rule_says};
    use crate::settings::Settings;

    #[test]
    fn a_lamp_at_exactly_the_limit_is_let_pass_and_the_limit_is_a_setting() {
        let found = |volts: &str, lamp_over: f64| {
            let text = format!("battery B1 = {volts}\nlamp L1 = 5 W at 12 V\nB1+ -- L1 -- B1-\n");
            let mut settings = Settings::default();
            settings.limits.lamp_over = lamp_over;
            let found = crate::check_within(&Analyzed::new(&text).context(), &settings, &|| false);
            found.unwrap().iter().any(|one| one.rule == "over-rating")
        };
        assert!(!found("13.2 V", 1.1) && found("13.3 V", 1.1));
        assert!(!found("13.3 V", 1.2) && !found("14.4 V", 1.2) && found("14.5 V", 1.2));
        assert!(found("12.1 V", 1.0));
    }

    #[test]
    fn a_resistor_a_lamp_and_a_capacitor() {
        rule_says(
            "over-rating",
            "battery B1 = 15 V\n\
             resistor R1 = 48 ohm, rating 1 W\n\
             lamp L1 = 5 W at 12 V\n\
             capacitor C1 = 10 uF, rating 10 V\n\
             B1+ -- ( R1 | L1 | C1 ) -- B1-\n",
            expect![[r#"
                warning over-rating: R1 turns 4.69 W into heat, and it is rated 1.00 W
                  at 5:10 `R1`
                  ask: How much can R1 stand, and how much does it get?
                  -- 2:15 `48 ohm` its values
                  help: Take one with a higher rating, or change the circuit so that less falls on it
                warning over-rating: L1 has 15.0 V across it, and it is rated 12.0 V
                  at 5:15 `L1`
                  ask: How much can L1 stand, and how much does it get?
                  -- 3:11 `5 W at 12 V` its values
                  help: Take one with a higher rating, or change the circuit so that less falls on it
                warning over-rating: C1 has 15.0 V across it, and it is rated 10.0 V
                  at 5:20 `C1`
                  ask: How much can C1 stand, and how much does it get?
                  -- 4:16 `10 uF` its values
                  help: Take one with a higher rating, or change the circuit so that less falls on it
            "#]],
        );
    }
}
