//! same-points: both points of a question are one point.

use ohmline_circuit::Quantity;
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct SamePoints;

static META: Meta = Meta {
    name: "same-points",
    severity: Severity::Warning,
    group: Group::Connections,
    summary: "both points of a question are one point",
    why: "Between a point and itself there is no voltage and no resistance, whatever the circuit does. Such a question \
          mostly comes from a wire that joins two names, or from one name written twice.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1+ -- @top -- R1 -- B1-\n\
          @top -- @mast\n\
          find voltage from @top to @mast\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1+ -- @top -- R1 -- B1-\n\
          find voltage from @top to B1-\n",
    ignore_when: "that the two are one point is the lesson",
    fix: "None: only you know which point is meant.",
};

impl Rule for SamePoints {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for ask in facts.asks() {
            let (Quantity::VoltageBetween(a, b)
            | Quantity::ResistanceBetween(a, b)
            | Quantity::CapacitanceBetween(a, b)) = ask.quantity
            else {
                continue;
            };
            if a != b || facts.broken().node(a) {
                continue;
            }
            let message = format!(
                "Both points of the {} are {}: plain wires join them",
                ask.text,
                wording::node(facts.circuit, a)
            );
            found.push(
                Diagnostic::new(META.name, META.severity, ask.at, message)
                    .proof(basis::wires(a))
                    .here("one and the same point")
                    .ask("Follow the wires: are these two points, or one?")
                    .help("Ask between two points that an element stands between"),
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
            &super::SamePoints,
            expect![[r#"
            warning same-points: Both points of the voltage from @top to @mast are @top: plain wires join them
              at 5:6 `voltage from @top to @mast` one and the same point
              ask: Follow the wires: are these two points, or one?
              help: Ask between two points that an element stands between
        "#]],
        );
    }
}
