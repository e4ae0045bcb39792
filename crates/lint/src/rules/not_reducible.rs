//! not-reducible: a resistance is asked that series and parallel alone do not give.

use ohmline_circuit::{Quantity, StateId};
use ohmline_syntax::{Diagnostic, Severity};

use crate::core::Core;
use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct NotReducible;

static META: Meta = Meta {
    name: "not-reducible",
    severity: Severity::Info,
    group: Group::SeriesAndParallel,
    summary: "a resistance is asked that series and parallel alone do not give",
    why: "Reduction goes on as long as two resistances share one point with nothing else, or both points. In a bridge no \
          pair does. It then takes a star for a delta, or the laws of Kirchhoff: worth knowing before a sheet is handed \
          out.",
    bad: "resistor R1, R4 = 10 ohm\n\
          resistor R2, R3, R5 = 20 ohm\n\
          @in -- ( R1 -- @port -- R2 | R3 -- @starboard -- R4 ) -- @out\n\
          @port -- R5 -- @starboard\n\
          find resistance between @in and @out\n",
    good: "resistor R1, R4 = 10 ohm\n\
          resistor R2, R3 = 20 ohm\n\
          @in -- ( R1 -- @port -- R2 | R3 -- @starboard -- R4 ) -- @out\n\
          find resistance between @in and @out\n",
    ignore_when: "the class knows a method for it",
    fix: "None is needed.",
};

impl Rule for NotReducible {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for ask in &facts.circuit.finds {
            let (from, to, without) = match ask.quantity {
                Quantity::ResistanceBetween(from, to) => (from, to, None),
                Quantity::ResistanceSeenBy(id) => match facts.two_nodes(id) {
                    Some((plus, minus)) => (plus, minus, Some(id)),
                    None => continue,
                },
                _ => continue,
            };
            if from == to || facts.circuit.branches.len() > MOST {
                continue;
            }
            let core = Core::between(facts, ask.state, from, to, without);
            let Some(blocker) = core.blocker() else { continue };
            let tie = facts.two_nodes(blocker).map(|(a, b)| {
                format!(
                    ": {} ties {} to {}",
                    facts.name(blocker),
                    wording::node(facts.circuit, a),
                    wording::node(facts.circuit, b)
                )
            });
            let message =
                format!("The {} does not follow from series and parallel alone{}", ask.text, tie.unwrap_or_default());
            let mut said = Diagnostic::new(META.name, META.severity, ask.at, message)
                .label(facts.place(blocker), "reduction stops at this one")
                .ask("Which two of them share both points, or one point and nothing else?")
                .proof(basis::core(ask.state, from, to, without))
                .help("Turn a delta into a star, or write the equations of the points");
            if ask.state != StateId::DRAWN {
                said.cases = facts.circuit.states[ask.state.index()].name.iter().map(ToString::to_string).collect();
            }
            found.push(said);
        }
    }
}

/// Most branches for which a person would reduce.
const MOST: usize = 400;

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::NotReducible,
            expect![[r#"
            info not-reducible: The resistance between @in and @out does not follow from series and parallel alone: R5 ties @port to @starboard
              at 5:6 `resistance between @in and @out`
              ask: Which two of them share both points, or one point and nothing else?
              -- 4:10 `R5` reduction stops at this one
              help: Turn a delta into a star, or write the equations of the points
        "#]],
        );
    }
}
