//! false-claim: a claim that the circuit does not bear out.

use ohmline_circuit::topology::{Evidence, How, RelationVerdict};
use ohmline_circuit::{Claim, ElementId, StateId};
use ohmline_syntax::tree::Relation;
use ohmline_syntax::{Basis, Diagnostic, Edit, FileSpan, Fix, Safety, Severity, Span};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::rules::{half_parallel, no_source, split_series};
use crate::{places, wording, words};

/// See the module.
pub struct FalseClaim;

static META: Meta = Meta {
    name: "false-claim",
    severity: Severity::Error,
    group: Group::ClaimsAndAnswers,
    summary: "a claim that the circuit does not bear out",
    why: "A claim is what a sheet or a key relies on. If the circuit gives another value, either the drawing, a value or the claim is \
          wrong, and everything worked out from it is too.",
    bad: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nB1+ -- R1 -- B1-\nclaim current through R1 = 0.4 A\n",
    good: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nB1+ -- R1 -- B1-\nclaim current through R1 = 0.5 A\n",
    ignore_when: "Never in a key; on a sheet of statements to judge, write the statement as text",
    fix: "Writes the value that the circuit gives. The circuit stays, so answers do not change.",
};

impl Rule for FalseClaim {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let without_source = no_source::asks(facts);
        for (index, claim) in facts.circuit.claims.iter().enumerate() {
            match claim {
                // That nothing drives it is reported as that.
                Claim::Value { ask, .. } if without_source.iter().any(|one| one.at == ask.at) => {}
                Claim::Value { .. } => found.extend(value(facts, index)),
                Claim::Relation { .. } => found.extend(relation(facts, index)),
            }
        }
    }
}

fn value(facts: &Facts<'_>, index: usize) -> Option<Diagnostic> {
    let Claim::Value { ask, stated, within } = &facts.circuit.claims[index] else { return None };
    let verdict = facts.answers.claims.get(index)?.as_ref()?;
    // What looks like a known slip is reported as that.
    if verdict.holds != Some(false) || facts.slips().get(index).is_some_and(Option::is_some) {
        return None;
    }
    let solved = verdict.solved.as_ref().ok()?;
    let claimed = facts.slice(stated.at);
    let shown = wording::apart(solved, verdict.unit, stated, claimed);
    let message = format!("The {}{} is {shown}, not {claimed}", ask.text, in_case(facts, index));
    let mut said = Diagnostic::new(META.name, META.severity, stated.at, message)
        .here(format!("solved: {shown}"))
        .ask(format!("How did you find {claimed}? Which law, with which numbers?"));
    if within.is_some() {
        said = said.note("The difference is more than the claim allows for");
    }
    said.cases = claim_cases(facts, index);
    Some(said.help("Mend the claim, or the values it follows from").fix(
        format!("Claim {shown}"),
        Safety::Asks,
        stated.at,
        shown,
    ))
}

fn relation(facts: &Facts<'_>, index: usize) -> Option<Diagnostic> {
    let verdict = facts.relations.get(index)?.as_ref()?;
    let said_elsewhere =
        split_series::split(facts, index, verdict).is_some() || half_parallel::is_half(facts, index, verdict);
    if verdict.how != How::No || said_elsewhere {
        return None;
    }
    let Claim::Relation { branches, .. } = &facts.circuit.claims[index] else { return None };
    // What stands in text that could not be read is reported there.
    let doubtful = |id: &ElementId| {
        facts.circuit.undeclared.contains(id)
            || facts.circuit.element(*id).terminals.iter().any(|node| facts.broken().node(*node))
    };
    if branches.iter().flatten().any(doubtful) {
        return None;
    }
    let answer = words::claim(facts, index);
    let message = format!("`{}` does not hold{}: {}", answer.text, in_case(facts, index), answer.why);
    let place = members_place(facts, index, verdict.pair);
    let mut said = Diagnostic::new(META.name, META.severity, place, message)
        .here("claimed here")
        .ask("What would have to be the same for all of them, and is it?");
    for member in [verdict.pair.0, verdict.pair.1].into_iter().filter_map(|at| branches.get(at)) {
        for id in member.iter().take(4) {
            said = said.label(facts.place(*id), facts.name(*id));
        }
    }
    said.cases = claim_cases(facts, index);
    said.basis = proof(facts, index, verdict);
    said.fixes = mend_relation(facts, index, verdict);
    Some(said)
}

fn state_of(facts: &Facts<'_>, index: usize) -> StateId {
    match &facts.circuit.claims[index] {
        Claim::Value { ask, .. } => ask.state,
        Claim::Relation { state, .. } => *state,
    }
}

/// ` in "night"` for a claim that speaks of a case.
pub fn in_case(facts: &Facts<'_>, index: usize) -> String {
    match &facts.circuit.states[state_of(facts, index).index()].name {
        Some(name) => format!(" in \"{name}\""),
        None => String::new(),
    }
}

/// The case a claim speaks of.
pub fn claim_cases(facts: &Facts<'_>, index: usize) -> Vec<String> {
    facts.circuit.states[state_of(facts, index).index()].name.iter().map(ToString::to_string).collect()
}

/// The stretch of a claim in which two members stand.
pub fn members_place(facts: &Facts<'_>, index: usize, pair: (usize, usize)) -> FileSpan {
    let Claim::Relation { places, stmt, .. } = &facts.circuit.claims[index] else { return FileSpan::default() };
    match (places.get(pair.0), places.get(pair.1)) {
        (Some(one), Some(two)) if one.file == two.file => FileSpan::new(one.file, one.span.to(two.span)),
        _ => *stmt,
    }
}

/// What shows that a claim about series or parallel does not hold.
pub fn proof(facts: &Facts<'_>, index: usize, verdict: &RelationVerdict) -> Option<Box<Basis>> {
    let Claim::Relation { relation, branches, state, .. } = facts.circuit.claims.get(index)? else { return None };
    basis::relation(facts, *state, *relation, branches, verdict).map(Box::new)
}

/// Ways to mend a claim about series or parallel: the branch it should speak of, the other relation where that holds, or none.
pub fn mend_relation(facts: &Facts<'_>, index: usize, verdict: &RelationVerdict) -> Vec<Fix> {
    let Claim::Relation { relation, branches, places, state, stmt, .. } = &facts.circuit.claims[index] else {
        return Vec::new();
    };
    let mut fixes = Vec::new();
    if let Evidence::PartOfBranch { element, branch } = &verdict.evidence {
        let member = branches.iter().position(|members| members[..] == [*element]);
        if let Some(at) = member.and_then(|at| places.get(at)) {
            let names: Vec<&str> = branch.iter().map(|id| facts.name(*id)).collect();
            let text = format!("({})", names.join(", "));
            fixes.push(Fix {
                title: format!("Claim the branch `{text}`"),
                safety: Safety::Asks,
                edits: vec![Edit { at: *at, text }],
            });
        }
    }
    if let (Evidence::PartsOfBranches(one, other), [first, second]) = (&verdict.evidence, &places[..]) {
        let text =
            |ids: &[ElementId]| format!("({})", ids.iter().map(|id| facts.name(*id)).collect::<Vec<_>>().join(", "));
        let edits = vec![Edit { at: *first, text: text(one) }, Edit { at: *second, text: text(other) }];
        fixes.push(Fix { title: "Claim the whole branches".into(), safety: Safety::Asks, edits });
    }
    let (other, word, wrong) = match relation {
        Relation::Series => (Relation::Parallel, "parallel", "series"),
        Relation::Parallel => (Relation::Series, "series", "parallel"),
    };
    let holds = facts
        .topologies
        .get(state.index())
        .is_some_and(|topology| topology.judge(facts.circuit, other, branches).how != How::No);
    if holds {
        let text = facts.slice(*stmt);
        let behind = places.last().map_or(0, |at| at.span.end.saturating_sub(stmt.span.start) as usize);
        if let Some(at) = text.get(behind..).and_then(|rest| rest.find(wrong)) {
            let start = stmt.span.start + (behind + at) as u32;
            let at = FileSpan::new(stmt.file, Span::new(start, start + wrong.len() as u32));
            fixes.push(Fix {
                title: format!("Claim `in {word}`, which holds"),
                safety: Safety::Asks,
                edits: vec![Edit { at, text: word.into() }],
            });
        }
    }
    fixes.extend(places::remove_statement(facts, *stmt, "Take the claim out"));
    fixes
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_value_is_off() {
        rule_says(
            "false-claim",
            "battery B1 = 4.5 V\n\
             resistor R1 = 9 ohm\n\
             switch S1 = closed\n\
             B1+ -- S1 -- R1 -- B1-\n\
             case \"night\": S1 = open\n\
             claim current through R1 = 0.4 A\n\
             claim voltage across S1 = 4.4 V within 1% in \"night\"\n",
            expect![[r#"
                error false-claim: The current through R1 is 0.5 A, not 0.4 A
                  at 6:28 `0.4 A` solved: 0.5 A
                  ask: How did you find 0.4 A? Which law, with which numbers?
                  help: Mend the claim, or the values it follows from
                  fix: Claim 0.5 A (6:28 `0.4 A` -> "0.5 A")
                error false-claim [night]: The voltage across S1 in "night" is 4.5 V, not 4.4 V
                  at 7:27 `4.4 V` solved: 4.5 V
                  ask: How did you find 4.4 V? Which law, with which numbers?
                  note: The difference is more than the claim allows for
                  help: Mend the claim, or the values it follows from
                  fix: Claim 4.5 V (7:27 `4.4 V` -> "4.5 V")
            "#]],
        );
    }

    #[test]
    fn a_relation_of_an_idle_element() {
        rule_says(
            "false-claim",
            "battery B1 = 4.5 V\n\
             resistor R1, R2, R3 = 9 ohm\n\
             B1+ -- @a -- R1 -- R2 -- B1-\n\
             @a -- R3\n\
             claim R1, R3 in series\n",
            expect![[r#"
                error false-claim: `R1, R3 in series` does not hold: R3 is on no closed path, so it carries no current
                  at 5:7 `R1, R3` claimed here
                  ask: What would have to be the same for all of them, and is it?
                  -- 3:14 `R1` R1
                  -- 4:7 `R3` R3
                  fix: Take the claim out (5:1 `claim R1, R3 in series\n` -> "")
            "#]],
        );
    }
}
