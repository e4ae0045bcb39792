//! over-limit: more current than a battery, a source or a diode may carry.

use ohmline_circuit::{ElementId, Kind, Params, Rational, StateId, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::{Facts, exceeds, size};
use crate::registry::{Group, Meta, Rule};
use crate::rules::bare_diode;
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct OverLimit;

static META: Meta = Meta {
    name: "over-limit",
    severity: Severity::Warning,
    group: Group::RatingsAndSafety,
    summary: "more current than a battery, a source or a diode may carry",
    why: "Above its limit a bench supply lowers its voltage, so the solution shown is not what the bench would show; a battery heats and \
          wears; a diode burns out.",
    bad: "source   E1 = 12 V, limit 0.5 A\nresistor R1 = 12 ohm\nE1+ -- R1 -- E1-\n",
    good: "source   E1 = 12 V, limit 2 A\nresistor R1 = 12 ohm\nE1+ -- R1 -- E1-\n",
    ignore_when: "The circuit is solved on paper and never built",
    fix: "None: more resistance or a larger limit, as you choose.",
};

impl Rule for OverLimit {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let kinds = [Kind::Battery, Kind::VoltageSource, Kind::CurrentSource, Kind::Diode];
        let mut all: ByState<ElementId, (Number, Rational, Unit)> = ByState::new();
        // A diode without a resistor is reported as that.
        let bare = bare_diode::bare(facts);
        for answers in facts.solved() {
            for id in facts.of_kinds(&kinds).filter(|id| bare.iter().all(|(diode, ..)| diode != id)) {
                let Some((figure, limit, unit)) = limited(facts, answers.state, id) else { continue };
                if exceeds(figure, limit) {
                    all.add(id, answers.state, (size(figure), limit.clone(), unit));
                }
            }
        }
        for (id, seen) in all.into_found() {
            let (figure, limit, unit) = &seen[states::worst(&seen, |(figure, ..)| figure.to_f64())].1;
            let (figure, limit) = (wording::number(figure, *unit), wording::exact(limit, *unit));
            let name = facts.name(id);
            let message = match (facts.circuit.element(id).kind, unit) {
                (Kind::Diode, _) => format!("{name} carries {figure}, and its limit is {limit}"),
                (_, Unit::Volt) => format!("{name} must reach {figure}, and its limit is {limit}"),
                _ => format!("{name} must drive {figure}, and its limit is {limit}"),
            };
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .ask(format!("How much can {name} give or carry, and how much is wanted of it?"))
                .label(facts.circuit.element(id).declared, "its limit stands here")
                .help("Raise the resistance in its way, or take one with a higher limit");
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            found.push(said);
        }
    }
}

/// The figure that is limited, and its limit: current, but voltage for a current source.
fn limited<'a>(facts: &Facts<'a>, state: StateId, id: ElementId) -> Option<(&'a Number, &'a Rational, Unit)> {
    let circuit = facts.circuit;
    match circuit.params(state, id) {
        Params::Battery { limit: Some(limit), .. }
        | Params::VoltageSource { limit: Some(limit), .. }
        | Params::Diode { limit: Some(limit), .. } => Some((facts.current(state, id)?, limit, Unit::Ampere)),
        Params::CurrentSource { limit: Some(limit), .. } => Some((facts.voltage(state, id)?, limit, Unit::Volt)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_supply_and_a_diode() {
        rule_says(
            "over-limit",
            "source E1 = 12 V, limit 0.5 A\n\
             resistor R1 = 10 ohm\n\
             diode D1 = 2 V, limit 20 mA\n\
             E1+ -- R1 -- +D1- -- E1-\n",
            expect![[r#"
                warning over-limit: E1 must drive 1.00 A, and its limit is 500 mA
                  at 4:1 `E1+`
                  ask: How much can E1 give or carry, and how much is wanted of it?
                  -- 1:8 `E1` its limit stands here
                  help: Raise the resistance in its way, or take one with a higher limit
                warning over-limit: D1 carries 1.00 A, and its limit is 20.0 mA
                  at 4:14 `+D1-`
                  ask: How much can D1 give or carry, and how much is wanted of it?
                  -- 3:7 `D1` its limit stands here
                  help: Raise the resistance in its way, or take one with a higher limit
            "#]],
        );
    }
}
