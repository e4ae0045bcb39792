//! split-series: two elements stand in line, and a third wire that carries current joins between them.

use ohmline_circuit::topology::{Evidence, How, NONE, RelationVerdict, Role};
use ohmline_circuit::{Claim, ElementId, NodeId, StateId};
use ohmline_syntax::tree::{Relation, StmtKind};
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Severity};
use rustc_hash::FxHashSet;

use crate::evidence::basis;
use crate::facts::Facts;
use crate::merge::MOST_HINTS;
use crate::registry::{Group, Meta, Rule};
use crate::rules::false_claim::{claim_cases, in_case, members_place, mend_relation, proof};
use crate::rules::half_parallel::InLine;
use crate::{places, wording};

/// See the module.
pub struct SplitSeries;

static META: Meta = Meta {
    name: "split-series",
    severity: Severity::Error,
    group: Group::SeriesAndParallel,
    summary: "two elements stand in line, and a third wire joins between them",
    why: "Being drawn in one line does not put two elements in series. In series they carry one and the same current, and that needs \
          a point between them where nothing else can carry current away. Where a third wire joins, the current divides, and adding \
          the two resistances gives a wrong answer.",
    bad: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 10 ohm\nresistor R3 = 15 ohm\n\
          B1+ -- R1 -- @fork -- R2 -- @join -- B1-\n@fork -- R3 -- @join\nclaim R1, R2 in series\n",
    good: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 10 ohm\nresistor R3 = 15 ohm\n\
           B1+ -- R1 -- ( R2 | R3 ) -- B1-\nclaim R2, R3 in parallel\n",
    ignore_when: "As a remark without a claim it can be ignored: it only points at the third wire",
    fix: "Names the branch, or the relation that holds. The circuit stays, so answers do not change.",
};

impl Rule for SplitSeries {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut claimed_pairs = FxHashSet::default();
        for (index, verdict) in facts.relations.iter().enumerate() {
            let Some(verdict) = verdict else { continue };
            if let Some((at, others, two)) = split(facts, index, verdict) {
                claimed_pairs.insert((two.0.min(two.1), two.0.max(two.1)));
                found.push(claimed(facts, index, verdict, at, &others, two));
            }
        }
        hints(facts, &claimed_pairs, found);
    }
}

/// Where a claimed series is split, by what, and between which two elements; `None` when the claim is no such thing.
pub fn split(
    facts: &Facts<'_>,
    index: usize,
    verdict: &RelationVerdict,
) -> Option<(NodeId, Vec<ElementId>, (ElementId, ElementId))> {
    let Some(Claim::Relation { relation: Relation::Series, branches, state, .. }) = facts.circuit.claims.get(index)
    else {
        return None;
    };
    if verdict.how != How::No {
        return None;
    }
    // A single member in brackets is judged as if its elements had been listed.
    let (one, two) = match &branches[..] {
        [only] => (*only.first()?, *only.last()?),
        _ => (*branches.get(verdict.pair.0)?.last()?, *branches.get(verdict.pair.1)?.first()?),
    };
    match &verdict.evidence {
        Evidence::ThirdWire { at, others } if !others.is_empty() => Some((*at, others.clone(), (one, two))),
        Evidence::Between(at, _) => {
            let others = live_at(facts, *state, *at).into_iter().filter(|id| *id != one && *id != two).collect();
            Some((*at, others, (one, two)))
        }
        Evidence::Apart => first_split(facts, *state, one, two).map(|(at, others)| (at, others, (one, two))),
        _ => None,
    }
}

/// Where current that has passed one element can first divide before it has passed the other.
fn first_split(facts: &Facts<'_>, state: StateId, one: ElementId, two: ElementId) -> Option<(NodeId, Vec<ElementId>)> {
    let circuit = facts.circuit;
    let (_, right) = facts.two_nodes(one)?;
    let (mut node, mut came) = (right, one);
    for _ in 0..circuit.elements.len() {
        let ahead: Vec<ElementId> = live_at(facts, state, node).into_iter().filter(|id| *id != came).collect();
        match ahead[..] {
            [next] if next != two => {
                let (a, b) = facts.two_nodes(next)?;
                node = if a == node { b } else { a };
                came = next;
            }
            [] | [_] => return None,
            _ => return Some((node, ahead.into_iter().filter(|id| *id != two).collect())),
        }
    }
    None
}

/// The elements that can carry current and touch a node, in text order.
pub fn live_at(facts: &Facts<'_>, state: StateId, node: NodeId) -> Vec<ElementId> {
    let circuit = facts.circuit;
    let mut live: Vec<ElementId> = circuit
        .ends(node)
        .iter()
        .map(|end| end.element)
        .filter(|id| {
            circuit.branches_of(*id).any(|branch| {
                let ends = circuit.branch(branch);
                let bypassed = facts.topologies.get(state.index()).is_some_and(|topology| topology.is_bypassed(branch));
                (ends.from == node) != (ends.to == node) && facts.role(state, branch) == Some(Role::Live) && !bypassed
            })
        })
        .collect();
    live.sort_unstable();
    live.dedup();
    live
}

fn claimed(
    facts: &Facts<'_>,
    index: usize,
    verdict: &RelationVerdict,
    at: NodeId,
    others: &[ElementId],
    (one, two): (ElementId, ElementId),
) -> Diagnostic {
    let circuit = facts.circuit;
    let (name_one, name_two) = (facts.name(one), facts.name(two));
    let node = place_name(facts, one, at);
    let thirds = wording::elements(circuit, others);
    let joins = wording::verb(others.len(), "joins", "join");
    let brings = wording::verb(others.len(), "brings", "bring");
    let not = format!("{name_one} and {name_two} are not in series{}", in_case(facts, index));
    let (message, second) = match &verdict.evidence {
        Evidence::Between(from, to) => {
            let (from, to) = (wording::node(circuit, *from), wording::node(circuit, *to));
            let message = if others.is_empty() {
                format!("{not}: both run from {from} to {to}, side by side")
            } else {
                format!(
                    "{not}: both run from {from} to {to}, side by side, so what {thirds} {brings} to {node} divides there"
                )
            };
            (message, format!("{name_two} comes to {node} too"))
        }
        Evidence::ThirdWire { .. } => (
            format!("{not}: {thirds} {joins} between them at {node}, so the current can divide there"),
            format!("{name_two} goes on from {node}"),
        ),
        _ => (
            format!("{not}: {thirds} {joins} on the way at {node}, so the current can divide there"),
            format!("{name_two} is here"),
        ),
    };
    // A point without a name is only where these elements meet, which the labels show by standing there.
    let named = !circuit.node(at).label.starts_with("between ");
    let first = if named { format!("{name_one} comes to {node}") } else { name_one.to_owned() };
    let second = if named { second } else { name_two.to_owned() };
    let place = members_place(facts, index, verdict.pair);
    let mut said = Diagnostic::new(META.name, Severity::Error, place, message)
        .here("claimed to be in series")
        .ask(format!("What else is joined at {node}?"))
        .label(places::joint(facts, one, at), first)
        .label(places::joint(facts, two, at), second);
    for other in others.iter().take(4) {
        let name = facts.name(*other);
        let text = if named { format!("{name} joins at {node}") } else { format!("{name} joins between them") };
        said = said.label(places::joint(facts, *other, at), text);
    }
    said.cases = claim_cases(facts, index);
    if !matches!(verdict.evidence, Evidence::Between(..)) {
        said = said.help(format!("Combine what joins at {node} first, then see what is in series with the whole"));
    }
    said.basis = proof(facts, index, verdict);
    said.fixes = mend_relation(facts, index, verdict);
    said
}

/// What a point is called: its name, else the end of an element that touches it.
fn place_name(facts: &Facts<'_>, one: ElementId, node: NodeId) -> String {
    let circuit = facts.circuit;
    let own = circuit.element(one).terminals.iter().position(|terminal| *terminal == node);
    match own {
        Some(terminal) if circuit.node(node).label.starts_with("between ") => {
            wording::terminal(circuit, one, terminal as u8)
        }
        _ => wording::node(circuit, node).into_owned(),
    }
}

/// Hints where the drawing alone suggests a series that is none.
fn hints(facts: &Facts<'_>, claimed: &FxHashSet<(ElementId, ElementId)>, found: &mut Vec<Diagnostic>) {
    let start = found.len();
    let mut names = InLine::new(facts);
    for (file, source) in facts.sources.files.iter().enumerate() {
        for stmt in &source.tree.stmts {
            let StmtKind::Path(path) = &stmt.node.kind else { continue };
            let file = FileId(file as u32);
            names.pairs(path, stmt, file, &mut |facts, one, two, between| {
                if !claimed.contains(&(one.min(two), one.max(two))) {
                    found.extend(hint(facts, one, two, between));
                }
            });
            if found.len() - start >= MOST_HINTS {
                return;
            }
        }
    }
}

fn hint(facts: &Facts<'_>, one: ElementId, two: ElementId, between: FileSpan) -> Option<Diagnostic> {
    let circuit = facts.circuit;
    let (a, b) = facts.two_nodes(one)?;
    let (c, d) = facts.two_nodes(two)?;
    let at = [a, b].into_iter().find(|node| (*node == c) != (*node == d))?;
    if circuit.ends(at).len() < 3 || a == b {
        return None;
    }
    let drawn = StateId::DRAWN;
    let topology = facts.topologies.first()?;
    let live = |id| facts.role_of(drawn, id) == Some(Role::Live) && topology.is_live(circuit, id);
    if !live(one) || !live(two) {
        return None;
    }
    let class = |id: ElementId| {
        topology.series_reduced.get(circuit.element(id).branches.start as usize).copied().unwrap_or(NONE)
    };
    if class(one) != NONE && class(one) == class(two) {
        return None;
    }
    let others: Vec<ElementId> = live_at(facts, drawn, at).into_iter().filter(|id| *id != one && *id != two).collect();
    if others.is_empty() {
        return None;
    }
    let node = place_name(facts, one, at);
    let thirds = wording::elements(circuit, &others);
    let joins = wording::verb(others.len(), "joins", "join");
    let (name_one, name_two) = (facts.name(one), facts.name(two));
    let message =
        format!("{name_one} and {name_two} stand in line but not in series: {thirds} {joins} between them at {node}");
    let mut said = Diagnostic::new(META.name, Severity::Hint, between, message)
        .here("the current can divide here")
        .ask(format!("What else is joined at {node}?"))
        .proof(basis::detour(drawn, &[one], &[two]))
        .label(facts.place(one), name_one)
        .label(facts.place(two), name_two);
    for other in others.iter().take(4) {
        said = said.label(places::joint(facts, *other, at), format!("{} joins here", facts.name(*other)));
    }
    Some(said)
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_claim_names_the_third_wire() {
        rule_says(
            "split-series",
            "battery  B1 = 4.5 V\n\
             resistor R1 = 9 ohm\n\
             resistor R2 = 10 ohm\n\
             resistor R3 = 15 ohm\n\
             B1+ -- R1 -- @fork -- R2 -- @join -- B1-\n\
             @fork -- R3 -- @join\n\
             claim R1, R2 in series\n",
            expect![[r#"
                error split-series: R1 and R2 are not in series: R3 joins between them at @fork, so the current can divide there
                  at 7:7 `R1, R2` claimed to be in series
                  ask: What else is joined at @fork?
                  -- 5:8 `R1 -- @fork` R1 comes to @fork
                  -- 5:14 `@fork -- R2` R2 goes on from @fork
                  -- 6:1 `@fork -- R3` R3 joins at @fork
                  help: Combine what joins at @fork first, then see what is in series with the whole
                  fix: Take the claim out (7:1 `claim R1, R2 in series\n` -> "")
            "#]],
        );
    }

    #[test]
    fn a_claim_over_a_group() {
        rule_says(
            "split-series",
            "battery  B1 = 4.5 V\n\
             resistor R1 = 9 ohm\n\
             resistor R2 = 10 ohm\n\
             resistor R3 = 15 ohm\n\
             B1+ -- R1 -- ( R2 | R3 ) -- B1-\n\
             claim R1, R3 in series\n",
            expect![[r#"
                error split-series: R1 and R3 are not in series: R2 joins between them at the right end of R1, so the current can divide there
                  at 6:7 `R1, R3` claimed to be in series
                  ask: What else is joined at the right end of R1?
                  -- 5:8 `R1` R1
                  -- 5:21 `R3` R3
                  -- 5:16 `R2` R2 joins between them
                  help: Combine what joins at the right end of R1 first, then see what is in series with the whole
                  fix: Take the claim out (6:1 `claim R1, R3 in series\n` -> "")
            "#]],
        );
    }

    #[test]
    fn parallel_elements_claimed_in_series() {
        rule_says(
            "split-series",
            "battery  B1 = 4.5 V\n\
             resistor R2 = 10 ohm\n\
             resistor R3 = 15 ohm\n\
             B1+ -- ( R2 | R3 ) -- B1-\n\
             claim R2, R3 in series\n",
            expect![[r#"
                error split-series: R2 and R3 are not in series: both run from B1+ to B1-, side by side, so what B1 brings to B1+ divides there
                  at 5:7 `R2, R3` claimed to be in series
                  ask: What else is joined at B1+?
                  -- 4:10 `R2` R2 comes to B1+
                  -- 4:15 `R3` R3 comes to B1+ too
                  -- 4:1 `B1+` B1 joins at B1+
                  fix: Claim `in parallel`, which holds (5:17 `series` -> "parallel")
                  fix: Take the claim out (5:1 `claim R2, R3 in series\n` -> "")
            "#]],
        );
    }

    #[test]
    fn far_apart() {
        rule_says(
            "split-series",
            "battery  B1 = 4.5 V\n\
             resistor R1, R2, R3, R4, R5 = 10 ohm\n\
             B1+ -- R1 -- R2 -- @fork -- R3 -- R4 -- B1-\n\
             @fork -- R5 -- B1-\n\
             claim R1, R4 in series\n",
            expect![[r#"
                hint split-series: R2 and R3 stand in line but not in series: R5 joins between them at @fork
                  at 3:20 `@fork` the current can divide here
                  ask: What else is joined at @fork?
                  -- 3:14 `R2` R2
                  -- 3:29 `R3` R3
                  -- 4:1 `@fork -- R5` R5 joins here
                error split-series: R1 and R4 are not in series: R5 joins between them at @fork, so the current can divide there
                  at 5:7 `R1, R4` claimed to be in series
                  ask: What else is joined at @fork?
                  -- 3:8 `R1` R1 comes to @fork
                  -- 3:35 `R4` R4 goes on from @fork
                  -- 4:1 `@fork -- R5` R5 joins at @fork
                  help: Combine what joins at @fork first, then see what is in series with the whole
                  fix: Take the claim out (5:1 `claim R1, R4 in series\n` -> "")
            "#]],
        );
    }

    #[test]
    fn a_voltmeter_and_a_dead_end_split_nothing() {
        rule_says(
            "split-series",
            "battery  B1 = 4.5 V\n\
             resistor R1, R2, R3 = 10 ohm\n\
             voltmeter V1\n\
             B1+ -- R1 -- @mid -- R2 -- B1-\n\
             @mid -- +V1- -- B1-\n\
             @mid -- R3\n\
             claim R1, R2 in series\n",
            expect![[""]],
        );
    }
}
