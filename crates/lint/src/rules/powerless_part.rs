//! powerless-part: a part straight across an ideal source changes nothing that is asked.

use ohmline_circuit::{ElementId, Kind, Law, Quantity, StateId};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct PowerlessPart;

static META: Meta = Meta {
    name: "powerless-part",
    severity: Severity::Hint,
    group: Group::Sources,
    summary: "a part straight across an ideal source changes nothing that is asked",
    why: "An ideal source holds its voltage whatever is joined to it, so a part straight across it has no say in the rest \
          of the circuit: it only adds to the source's own current. Seeing that saves half the work.",
    bad: "source   E1 = 6 V\n\
          resistor R1, R2 = 12 ohm\n\
          lamp     L1 = 30 ohm\n\
          E1+ -- ( L1 | R1 -- R2 ) -- E1-\n\
          find voltage across R2\n",
    good: "source   E1 = 6 V\n\
          resistor R1, R2 = 12 ohm\n\
          lamp     L1 = 30 ohm\n\
          E1+ -- ( L1 | R1 -- R2 ) -- E1-\n\
          find voltage across R2\n\
          find current through E1\n",
    ignore_when: "seeing that it does not matter is the lesson",
    fix: "None is needed.",
};

impl Rule for PowerlessPart {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let Some(topology) = facts.topologies.first() else { return };
        if facts.is_large() || facts.circuit.finds.is_empty() || !facts.is_sound() {
            return;
        }
        let by_element = |ask: &ohmline_circuit::Ask| crate::facts::asked_element(&ask.quantity).is_some();
        // What lies between points may well contain it.
        if facts.asks().any(|ask| {
            !by_element(ask) && !matches!(ask.quantity, Quantity::PotentialAt(_) | Quantity::VoltageBetween(..))
        }) {
            return;
        }
        let asked = facts.asked_elements();
        for id in facts.of_kinds(&[Kind::Battery, Kind::VoltageSource]) {
            let ideal = matches!(facts.law_of(StateId::DRAWN, id), Some(Law::Emf { internal, .. }) if internal == 0);
            let piece = crate::pieces::of_element(facts, id);
            let any = asked.iter().any(|other| crate::pieces::of_element(facts, *other) == piece);
            if !ideal || asked.contains(&id) || !any {
                continue;
            }
            let beside: Vec<ElementId> = topology
                .parallel_with(facts.circuit, id)
                .into_iter()
                .filter(|other| {
                    matches!(facts.circuit.element(*other).kind, Kind::Resistor | Kind::Lamp) && !asked.contains(other)
                })
                .collect();
            // The source's current may be asked through something in line with it.
            let through = topology.series_reduced_with(facts.circuit, id).iter().any(|other| asked.contains(other));
            if let (Some(&first), false) = (beside.first(), through) {
                let names = wording::elements(facts.circuit, &beside);
                let source = facts.name(id);
                let (stand, change) =
                    (wording::verb(beside.len(), "stands", "stand"), wording::verb(beside.len(), "changes", "change"));
                let message = format!("{names} {stand} straight across {source} and {change} nothing but its current");
                found.push(
                    Diagnostic::new(META.name, META.severity, facts.place(first), message)
                        .proof(basis::ends(StateId::DRAWN, &[first], &[id]))
                        .label(facts.place(id), "holds its voltage whatever is joined to it")
                        .ask(format!("Would anything that is asked change without {names}?")),
                );
            }
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
            &super::PowerlessPart,
            expect![[r#"
            hint powerless-part: L1 stands straight across E1 and changes nothing but its current
              at 4:10 `L1`
              ask: Would anything that is asked change without L1?
              -- 4:1 `E1+` holds its voltage whatever is joined to it
        "#]],
        );
    }
}
