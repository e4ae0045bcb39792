//! hidden-parallel: elements are in parallel though no junction name shows it.

use ohmline_circuit::{Kind, NodeId, StateId};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct HiddenParallel;

static META: Meta = Meta {
    name: "hidden-parallel",
    severity: Severity::Hint,
    group: Group::SeriesAndParallel,
    summary: "elements are in parallel though no junction name shows it",
    why: "Parallel means the same two points, not the same picture. Points that a wire, a closed switch or an ammeter \
          joins are one, so elements drawn far apart may well stand side by side; merging them first makes the rest \
          simple.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2, R3 = 12 ohm\n\
          B1+ -- R1 -- @bow -- R2 -- @stern -- B1-\n\
          @mast -- R3 -- @keel\n\
          @bow -- @mast\n\
          @stern -- @keel\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2, R3 = 12 ohm\n\
          B1+ -- R1 -- @bow -- ( R2 | R3 ) -- B1-\n",
    ignore_when: "finding it is the exercise",
    fix: "None: the drawing may well stay.",
};

impl Rule for HiddenParallel {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        let Some(topology) = facts.topologies.first() else { return };
        let claimed = crate::rules::hidden_series::claimed_together(facts);
        for id in facts.of_kinds(&[Kind::Resistor, Kind::Lamp]) {
            let Some((a, b)) = facts.two_nodes(id) else { continue };
            for other in topology.parallel_with(facts.circuit, id) {
                let Some((c, d)) = facts.two_nodes(other) else { continue };
                let kind = facts.circuit.element(other).kind;
                if other < id || !matches!(kind, Kind::Resistor | Kind::Lamp) || claimed(id, other) {
                    continue;
                }
                // What shares both junctions by name, or stands in one group, is plain to see.
                let shows = |x: NodeId, y: NodeId| x == y && facts.circuit.node(x).names.len() <= 1;
                let plain = if facts.is_one_point(StateId::DRAWN, a, c) {
                    shows(a, c) || shows(b, d)
                } else {
                    shows(a, d) || shows(b, c)
                };
                if plain {
                    continue;
                }
                let (one, two) = (facts.name(id), facts.name(other));
                let message = format!(
                    "{one} and {two} are in parallel though they stand apart: both run between {} and {}",
                    wording::node(facts.circuit, a),
                    wording::node(facts.circuit, b)
                );
                found.push(
                    Diagnostic::new(META.name, META.severity, facts.place(other), message)
                        .proof(basis::ends(StateId::DRAWN, &[id], &[other]))
                        .label(facts.place(id), format!("{one} is here"))
                        .ask(format!(
                            "Which points do {one} and {two} share, once wires and closed switches count as nothing?"
                        )),
                );
                if found.len() > crate::merge::MOST_HINTS {
                    return;
                }
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
            &super::HiddenParallel,
            expect![[r#"
            hint hidden-parallel: R2 and R3 are in parallel though they stand apart: both run between @bow and @stern
              at 4:10 `R3`
              ask: Which points do R2 and R3 share, once wires and closed switches count as nothing?
              -- 3:22 `R2` R2 is here
        "#]],
        );
    }
}
