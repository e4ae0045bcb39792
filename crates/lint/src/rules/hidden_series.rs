//! hidden-series: elements carry the same current though they do not touch.

use ohmline_circuit::topology::NONE;
use ohmline_circuit::{Claim, ElementId, Kind, StateId};
use ohmline_syntax::{Diagnostic, Severity};
use rustc_hash::FxHashSet;

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::{places, wording};

/// See the module.
pub struct HiddenSeries;

static META: Meta = Meta {
    name: "hidden-series",
    severity: Severity::Hint,
    group: Group::SeriesAndParallel,
    summary: "elements carry the same current though they do not touch",
    why: "Two elements are in series when all the current of one must pass the other, even with a whole group between \
          them. Their currents are equal for all values, so one reading serves for both.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2, R3, R4 = 12 ohm\n\
          resistor R5, R6, R7, R8 = 24 ohm\n\
          B1+ -- ( R5 | R6 ) -- R1 -- @bow\n\
          @bow -- ( R2 | R3 ) -- @stern\n\
          @stern -- R4 -- ( R7 | R8 ) -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2, R3, R4 = 12 ohm\n\
          resistor R5, R6, R7, R8 = 24 ohm\n\
          B1+ -- ( R5 | R6 ) -- R1 -- ( R2 | R3 ) -- R4 -- ( R7 | R8 ) -- B1-\n",
    ignore_when: "finding it is the exercise",
    fix: "None: the drawing may well stay.",
};

impl Rule for HiddenSeries {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        let Some(topology) = facts.topologies.first() else { return };
        let claimed = claimed_together(facts);
        let mut seen: FxHashSet<u32> = FxHashSet::default();
        for id in facts.of_kinds(&[Kind::Resistor, Kind::Lamp]) {
            let Some(branch) = facts.only_branch(id) else { continue };
            let class = topology.series_reduced.get(branch.index()).copied().unwrap_or(NONE);
            if class == NONE || !seen.insert(class) {
                continue;
            }
            let near = topology.series_with(facts.circuit, id);
            let home = places::statement(facts, facts.place(id)).map(|(_, stmt)| stmt.offset);
            let far = topology.series_reduced_with(facts.circuit, id).into_iter().find(|other| {
                matches!(facts.circuit.element(*other).kind, Kind::Resistor | Kind::Lamp)
                    && !near.contains(other)
                    && !claimed(id, *other)
                    && places::statement(facts, facts.place(*other)).map(|(_, stmt)| stmt.offset) != home
            });
            let Some(far) = far else { continue };
            let (one, two) = (facts.name(id), facts.name(far));
            let message =
                format!("All current of {one} also passes {two}, though they do not touch: they are in series");
            found.push(
                Diagnostic::new(META.name, META.severity, facts.place(far), message)
                    .proof(basis::pair(StateId::DRAWN, id, far))
                    .label(facts.place(id), wording::elements(facts.circuit, &[id]))
                    .ask(format!("Is there any way for current that has passed {one} to get back to the source without passing {two}?")),
            );
            if found.len() > crate::merge::MOST_HINTS {
                return;
            }
        }
    }
}

/// Whether a claim about series or parallel names two elements: then its judgement says it all.
pub fn claimed_together(facts: &Facts<'_>) -> impl Fn(ElementId, ElementId) -> bool + use<> {
    let mut pairs: FxHashSet<(ElementId, ElementId)> = FxHashSet::default();
    for claim in &facts.circuit.claims {
        let Claim::Relation { branches, .. } = claim else { continue };
        let all: Vec<ElementId> = branches.iter().flatten().copied().take(40).collect();
        for one in &all {
            pairs.extend(all.iter().map(|two| (*one, *two)));
        }
    }
    move |one, two| pairs.contains(&(one, two))
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::HiddenSeries,
            expect![[r#"
            hint hidden-series: All current of R1 also passes R4, though they do not touch: they are in series
              at 6:11 `R4`
              ask: Is there any way for current that has passed R1 to get back to the source without passing R4?
              -- 4:23 `R1` R1
        "#]],
        );
    }
}
