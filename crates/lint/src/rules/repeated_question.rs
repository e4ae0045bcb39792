//! repeated-question: the same thing is asked or claimed twice.

use ohmline_circuit::{Ask, Claim};
use ohmline_syntax::{Diagnostic, Severity};
use ohmline_syntax::{FileSpan, Fix, Safety};
use rustc_hash::FxHashMap;

use crate::facts::Facts;
use crate::places;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct RepeatedQuestion;

static META: Meta = Meta {
    name: "repeated-question",
    severity: Severity::Hint,
    group: Group::ClaimsAndAnswers,
    summary: "the same thing is asked or claimed twice",
    why: "A question that stands twice gives two rows in the results and two blanks on the sheet. Mostly the second was \
          meant for another element or case.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2 = 12 ohm\n\
          B1+ -- R1 -- R2 -- B1-\n\
          find current through R1\n\
          find current through R1\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2 = 12 ohm\n\
          B1+ -- R1 -- R2 -- B1-\n\
          find current through R1\n\
          find voltage across R2\n",
    ignore_when: "the two stand in different parts of a sheet",
    fix: "Takes the second one out. No answer changes.",
};

impl Rule for RepeatedQuestion {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.circuit.finds.len() > MOST || facts.circuit.claims.len() > MOST {
            return;
        }
        let claims: Vec<(&Ask, &str)> = facts
            .circuit
            .claims
            .iter()
            .filter_map(|claim| match claim {
                Claim::Value { ask, .. } => Some((ask, "claimed")),
                Claim::Relation { .. } => None,
            })
            .collect();
        let finds: Vec<(&Ask, &str)> = facts.circuit.finds.iter().map(|ask| (ask, "asked")).collect();
        for list in [finds, claims] {
            let mut seen: FxHashMap<(&str, u32, Option<String>), FileSpan> = FxHashMap::default();
            for &(ask, verb) in &list {
                let key = (ask.text.as_str(), ask.state.0, ask.after.as_ref().map(ToString::to_string));
                let Some(first) = seen.insert(key, ask.at) else { continue };
                let message = format!("The {} is {verb} a second time", ask.text);
                let mut said =
                    Diagnostic::new(META.name, META.severity, ask.at, message).label(first, "the first time");
                let alone = list.iter().filter(|(other, _)| other.stmt == ask.stmt).count() == 1;
                if let Some(edit) = places::without_statement(facts, ask.stmt).filter(|_| alone && verb == "asked") {
                    said.fixes.push(Fix { title: "Take this one out".into(), safety: Safety::Safe, edits: vec![edit] });
                }
                found.push(said);
            }
        }
    }
}

/// Most questions that a person writes.
const MOST: usize = 2_000;

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::RepeatedQuestion,
            expect![[r#"
            hint repeated-question: The current through R1 is asked a second time
              at 5:6 `current through R1`
              -- 4:6 `current through R1` the first time
              fix: Take this one out (5:1 `find current through R1\n` -> "")
        "#]],
        );
    }
}
