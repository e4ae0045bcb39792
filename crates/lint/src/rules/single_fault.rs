//! single-fault: one failed part overloads another.

use ohmline_circuit::{ElementId, Fault, Kind, Params, Rational, StateId, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::what_if::what_if;
use crate::wording;

/// See the module.
pub struct SingleFault;

static META: Meta = Meta {
    name: "single-fault",
    severity: Severity::Info,
    group: Group::RatingsAndSafety,
    summary: "one failed part overloads another",
    why: "Parts fail shorted, and leads slip. What is within its rating as drawn may burn when another part is bridged; on \
          a bench that is the accident that happens.",
    bad: "battery  B1 = 12 V\n\
          resistor R1 = 120 ohm, rating 1 W\n\
          resistor R2 = 120 ohm\n\
          B1+ -- R1 -- R2 -- B1-\n",
    good: "battery  B1 = 12 V\n\
          resistor R1 = 120 ohm, rating 5 W\n\
          resistor R2 = 120 ohm\n\
          B1+ -- R1 -- R2 -- B1-\n",
    ignore_when: "the supply limits its current by itself",
    fix: "None: a larger rating or a fuse, as you choose.",
};

impl Rule for SingleFault {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let rating = |id: ElementId| match &facts.circuit.element(id).params {
            Params::Resistor { rating: Some(rating), .. } => Some(Number::exact(Rational::clone(rating)).to_f64()),
            _ => None,
        };
        let rated: Vec<(ElementId, f64)> =
            facts.of_kind(Kind::Resistor).iter().filter_map(|id| Some((*id, rating(*id)?))).collect();
        // Each part takes another solution of the circuit; a fuse is there for the very case.
        if rated.is_empty() || !facts.is_sound() {
            return;
        }
        let piece_of = |id: ElementId| crate::pieces::of_element(facts, id);
        let near = |id: ElementId| rated.iter().any(|(other, _)| piece_of(*other) == piece_of(id));
        let fused =
            |id: ElementId| piece_of(id).is_some_and(|piece| facts.of_kinds_in(piece, &[Kind::Fuse]).next().is_some());
        let loads: Vec<ElementId> = facts
            .of_kinds(&[Kind::Resistor, Kind::Lamp])
            .filter(|id| facts.ohms(StateId::DRAWN, *id).is_some() && near(*id))
            .take(MOST + 1)
            .collect();
        if loads.len() > MOST {
            return;
        }
        let loads: Vec<ElementId> = loads.into_iter().filter(|id| !fused(*id)).collect();
        let mut worst: Vec<(ElementId, ElementId, f64, f64)> = Vec::new();
        for &load in &loads {
            let Some(answers) = what_if(facts, load, Fault::Shorted) else { return };
            for &(id, rating) in rated.iter().filter(|(id, _)| *id != load) {
                let power = answers
                    .elements
                    .get(id.index())
                    .and_then(Option::as_ref)
                    .and_then(|answer| answer.power.known())
                    .map(Number::to_f64);
                // What a state overloads anyway is reported as that.
                let before = facts.circuit.state_ids().filter_map(|state| facts.watts(state, id));
                let before = before.max_by(f64::total_cmp);
                let (Some(power), Some(before)) = (power, before) else { continue };
                if power <= rating * (1.0 + 1e-9) || before > rating {
                    continue;
                }
                match worst.iter_mut().find(|(one, ..)| *one == id) {
                    Some(known) if known.2 >= power => {}
                    Some(known) => *known = (id, load, power, rating),
                    None => worst.push((id, load, power, rating)),
                }
            }
        }
        for (id, load, power, rating) in worst {
            let (name, failed) = (facts.name(id), facts.name(load));
            let (power, rating) = (wording::float(power, Unit::Watt), wording::float(rating, Unit::Watt));
            let message = format!("If {failed} is shorted, {name} turns {power} into heat, and it is rated {rating}");
            found.push(
                Diagnostic::new(META.name, META.severity, facts.place(id), message)
                    .label(facts.place(load), "the part that fails")
                    .ask(format!("What happens to {name} if a lead falls across {failed}?"))
                    .help("Take a larger rating, or a fuse that blows first"),
            );
        }
    }
}

/// Most loads for which each is tried.
const MOST: usize = 12;

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::SingleFault,
            expect![[r#"
            info single-fault: If R2 is shorted, R1 turns 1.20 W into heat, and it is rated 1.00 W
              at 4:8 `R1`
              ask: What happens to R1 if a lead falls across R2?
              -- 4:14 `R2` the part that fails
              help: Take a larger rating, or a fuse that blows first
        "#]],
        );
    }
}
