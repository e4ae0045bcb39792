//! changing-shape: a claim about series or parallel holds in some cases only.

use ohmline_circuit::topology::How;
use ohmline_circuit::{Claim, ElementId, Fault, StateId};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::words;

/// See the module.
pub struct ChangingShape;

static META: Meta = Meta {
    name: "changing-shape",
    severity: Severity::Info,
    group: Group::SeriesAndParallel,
    summary: "a claim about series or parallel holds in some cases only",
    why: "What is in series with a switch open may not be with it closed. A claim without a case speaks of the circuit as \
          drawn; a reader may take it for all.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2, R3 = 12 ohm\n\
          switch   S1 = open\n\
          B1+ -- R1 -- @fork -- R2 -- B1-\n\
          @fork -- S1 -- R3 -- B1-\n\
          claim R1, R2 in series\n\
          case \"night\": S1 = closed\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2, R3 = 12 ohm\n\
          switch   S1 = open\n\
          B1+ -- R1 -- @fork -- R2 -- B1-\n\
          @fork -- S1 -- R3 -- B1-\n\
          claim R2, R3 in parallel in \"night\"\n\
          case \"night\": S1 = closed\n",
    ignore_when: "the change is the lesson",
    fix: "None: name the case behind the claim.",
};

impl Rule for ChangingShape {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.circuit.states.len() < 2 || facts.circuit.claims.len() > 200 {
            return;
        }
        for (index, claim) in facts.circuit.claims.iter().enumerate() {
            let Claim::Relation { relation, branches, state: StateId::DRAWN, stmt, text, .. } = claim else { continue };
            let holds =
                facts.relations.get(index).and_then(Option::as_ref).is_some_and(|verdict| verdict.how != How::No);
            if !holds {
                continue;
            }
            let fails = facts.circuit.state_ids().skip(1).take(40).filter(|state| {
                let faults = &facts.circuit.states[state.index()].faults;
                let out = |id: &ElementId| {
                    matches!(faults.get(id), Some(Fault::Open | Fault::Shorted)) || facts.is_idle(*state, *id)
                };
                let judged = || {
                    facts
                        .topologies
                        .get(state.index())
                        .map(|topology| topology.judge(facts.circuit, *relation, branches).how)
                };
                !branches.iter().flatten().any(out) && judged() == Some(How::No)
            });
            let failing: Vec<StateId> = fails.collect();
            let names: Vec<String> = failing
                .iter()
                .filter_map(|state| facts.circuit.states[state.index()].name.as_ref().map(|name| format!("\"{name}\"")))
                .collect();
            if names.is_empty() {
                continue;
            }
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            let list = crate::wording::list(&names);
            let why = words::claim(facts, index).why;
            let message = format!("`{text}` holds as drawn, and not in {list}");
            let basis = failing.first().and_then(|state| {
                let verdict = facts.topologies.get(state.index())?.judge(facts.circuit, *relation, branches);
                basis::relation(facts, *state, *relation, branches, &verdict)
            });
            let said = Diagnostic::new(META.name, META.severity, *stmt, message)
                .note(format!("As drawn: {why}"))
                .ask("Does the same current, or the same voltage, still fit all of them in every case?")
                .help("Name the case that is meant behind the claim");
            found.push(Diagnostic { basis: basis.map(Box::new), ..said });
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
            &super::ChangingShape,
            expect![[r#"
            info changing-shape: `R1, R2 in series` holds as drawn, and not in "night"
              at 6:1 `claim R1, R2 in series`
              ask: Does the same current, or the same voltage, still fit all of them in every case?
              note: As drawn: R1 and R2 meet at @fork, and nothing else there can carry current
              help: Name the case that is meant behind the claim
        "#]],
        );
    }
}
