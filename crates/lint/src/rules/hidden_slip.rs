//! hidden-slip: equal values hide a slip.

use ohmline_circuit::Quantity;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct HiddenSlip;

static META: Meta = Meta {
    name: "hidden-slip",
    severity: Severity::Hint,
    group: Group::ClaimsAndAnswers,
    summary: "equal values hide a slip",
    why: "With equal resistances an equal split, an upside-down divider and the right law all give one number, so a right \
          answer says nothing about the method. One unequal value makes the question tell them apart.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          resistor R2, R3 = 24 ohm\n\
          B1+ -- R1 -- ( R2 | R3 ) -- B1-\n\
          find current through R2\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          resistor R2 = 24 ohm\n\
          resistor R3 = 36 ohm\n\
          B1+ -- R1 -- ( R2 | R3 ) -- B1-\n\
          find current through R2\n",
    ignore_when: "the symmetry is the lesson",
    fix: "None: change one of the values.",
};

impl Rule for HiddenSlip {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        for ask in &facts.circuit.finds {
            let Some(topology) = facts.topologies.get(ask.state.index()) else { continue };
            let (id, others, slip) = match ask.quantity {
                Quantity::CurrentThrough(id) => {
                    (id, topology.parallel_with(facts.circuit, id), "an equal split of the current")
                }
                Quantity::VoltageAcross(id) => {
                    (id, topology.series_with(facts.circuit, id), "an equal share of the voltage")
                }
                _ => continue,
            };
            let Some(own) = facts.ohms(ask.state, id) else { continue };
            let others: Vec<_> = others.into_iter().filter(|other| facts.ohms(ask.state, *other).is_some()).collect();
            if others.is_empty() || others.iter().any(|other| facts.ohms(ask.state, *other) != Some(own)) {
                continue;
            }
            let names = wording::elements(facts.circuit, &others);
            let name = facts.name(id);
            let is = wording::verb(others.len(), "is", "are");
            let message = format!("{names} {is} as large as {name}, so {slip} scores too");
            found.push(
                Diagnostic::new(META.name, META.severity, ask.at, message)
                    .ask(format!("Would your method also work if {name} were twice as large?")),
            );
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
            &super::HiddenSlip,
            expect![[r#"
            hint hidden-slip: R3 is as large as R2, so an equal split of the current scores too
              at 5:6 `current through R2`
              ask: Would your method also work if R2 were twice as large?
        "#]],
        );
    }
}
