//! claim-holds: how a claim that holds does so.

use ohmline_circuit::Claim;
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::merge::MOST_HINTS;
use crate::registry::{Group, Meta, Rule};
use crate::words;

/// See the module.
pub struct ClaimHolds;

static META: Meta = Meta {
    name: "claim-holds",
    severity: Severity::Hint,
    group: Group::ClaimsAndAnswers,
    summary: "how a claim that holds does so",
    why: "That a claim is right is half of it; the other half is why. Two elements may be in series as they stand, or only once \
          a group between them is replaced by its equivalent, or only because a capacitor carries nothing any more.",
    bad: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 6 ohm\nB1+ -- R1 -- R2 -- B1-\nclaim R1, R2 in series\n",
    good: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 6 ohm\nB1+ -- R1 -- R2 -- B1-\n",
    ignore_when: "Always: it only tells how a claim holds",
    fix: "None is needed.",
};

impl Rule for ClaimHolds {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let holding = (0..facts.circuit.claims.len())
            .map(|index| (index, words::claim(facts, index)))
            .filter(|(_, answer)| answer.holds == Some(true))
            .take(MOST_HINTS);
        for (index, answer) in holding {
            let (Claim::Value { ask: ohmline_circuit::Ask { stmt, .. }, .. } | Claim::Relation { stmt, .. }) =
                &facts.circuit.claims[index];
            let mut said = Diagnostic::new(META.name, META.severity, *stmt, format!("This holds: {}", answer.why));
            said.cases = answer.case.iter().map(ToString::to_string).collect();
            if let (Claim::Relation { relation, branches, state, .. }, Some(Some(verdict))) =
                (&facts.circuit.claims[index], facts.relations.get(index))
            {
                said.basis = basis::relation(facts, *state, *relation, branches, verdict).map(Box::new);
            }
            found.push(said);
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn how_it_holds() {
        rule_says(
            "claim-holds",
            "battery B1 = 4.5 V\n\
             resistor R1 = 9 ohm\n\
             resistor R2 = 6 ohm\n\
             B1+ -- R1 -- R2 -- B1-\n\
             claim R1, R2 in series\n\
             claim current through R1 = 0.3 A\n",
            expect![[r#"
                hint claim-holds: This holds: R1 and R2 meet at the point between R1 and R2, and nothing else there can carry current
                  at 5:1 `claim R1, R2 in series`
                hint claim-holds: This holds: the solution is 0.3 A
                  at 6:1 `claim current through R1 = 0.3 A`
            "#]],
        );
    }
}
