//! half-parallel: two elements look side by side, but share only one point.

use ohmline_circuit::topology::{Evidence, How, RelationVerdict, Role};
use ohmline_circuit::{Claim, ElementId, Kind, StateId};
use ohmline_syntax::tree::{Item, ItemKind, Ref, Relation, Segment, Stmt, StmtKind};
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Severity};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::merge::MOST_HINTS;
use crate::registry::{Group, Meta, Rule};
use crate::rules::false_claim::{claim_cases, in_case, members_place, mend_relation, proof};
use crate::rules::split_series::live_at;
use crate::{places, wording, words};

/// See the module.
pub struct HalfParallel;

static META: Meta = Meta {
    name: "half-parallel",
    severity: Severity::Error,
    group: Group::SeriesAndParallel,
    summary: "two elements look side by side, but share only one point",
    why: "In parallel means: both ends at the same two points, so that one voltage lies across both. Two elements that leave one junction \
          side by side and arrive at different ones have different voltages, as in every bridge; the product-over-sum rule \
          gives a wrong answer there.",
    bad: "battery  B1 = 12 V\nresistor R1 = 8 ohm\nresistor R2 = 30 ohm\nresistor R3, R4, R5 = 20 ohm\n\
          B1+ -- ( R1 -- @left -- R3 | R2 -- @right -- R4 ) -- B1-\n@left -- R5 -- @right\nclaim R1, R2 in parallel\n",
    good: "battery  B1 = 12 V\nresistor R1 = 8 ohm\nresistor R2 = 30 ohm\nresistor R3, R4, R5 = 20 ohm\n\
           B1+ -- ( R1 | R2 ) -- R3 -- ( R4 | R5 ) -- B1-\nclaim R1, R2 in parallel\n",
    ignore_when: "As a remark without a claim it can be ignored: it only points at the ends that differ",
    fix: "Names the branch, or the relation that holds. The circuit stays, so answers do not change.",
};

impl Rule for HalfParallel {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut claimed_pairs = FxHashSet::default();
        for (index, verdict) in facts.relations.iter().enumerate() {
            if let Some(verdict) = verdict.as_ref().filter(|verdict| is_half(facts, index, verdict)) {
                if let Some(Claim::Relation { branches, .. }) = facts.circuit.claims.get(index) {
                    let mut ids: Vec<ElementId> = branches.iter().flatten().copied().collect();
                    ids.sort_unstable();
                    claimed_pairs.insert(ids);
                }
                found.extend(claimed(facts, index, verdict));
            }
        }
        hints(facts, &claimed_pairs, found);
    }
}

/// Whether a failed claim is about a parallel that shares only one point.
pub fn is_half(facts: &Facts<'_>, index: usize, verdict: &RelationVerdict) -> bool {
    verdict.how == How::No
        && matches!(facts.circuit.claims.get(index), Some(Claim::Relation { relation: Relation::Parallel, .. }))
        && matches!(
            verdict.evidence,
            Evidence::OneShared { .. }
                | Evidence::PartOfBranch { .. }
                | Evidence::PartsOfBranches(..)
                | Evidence::Chain(_)
        )
}

fn claimed(facts: &Facts<'_>, index: usize, verdict: &RelationVerdict) -> Option<Diagnostic> {
    let circuit = facts.circuit;
    let Some(Claim::Relation { branches, .. }) = circuit.claims.get(index) else { return None };
    // A single member in brackets is judged as if its elements had been listed.
    let (first, second): (Vec<ElementId>, Vec<ElementId>) = match &branches[..] {
        [only] => (vec![*only.first()?], vec![*only.last()?]),
        _ => (branches.get(verdict.pair.0)?.clone(), branches.get(verdict.pair.1)?.clone()),
    };
    let place = members_place(facts, index, verdict.pair);
    let answer = words::claim(facts, index);
    let message = format!("`{}` does not hold{}: {}", answer.text, in_case(facts, index), answer.why);
    let ask = "Between which two points does each of them run?";
    let mut said = Diagnostic::new(META.name, Severity::Error, place, message).ask(ask);
    match &verdict.evidence {
        Evidence::OneShared { others, .. } => {
            for (members, other) in [(&first, others.0), (&second, others.1)] {
                if let Some(id) = members.last() {
                    let text =
                        format!("{} ends at {}", wording::elements(circuit, members), wording::node(circuit, other));
                    said = said.label(places::joint(facts, *id, other), text);
                }
            }
            said = said.help("Two elements are in parallel only when both their ends meet");
        }
        Evidence::PartOfBranch { branch, .. } => {
            for id in branch.iter().take(6) {
                said = said.label(facts.place(*id), "part of that branch");
            }
        }
        _ => {
            for id in first.iter().chain(&second).take(6) {
                said = said.label(facts.place(*id), facts.name(*id));
            }
        }
    }
    said = said.here("claimed to be in parallel");
    said.cases = claim_cases(facts, index);
    said.basis = proof(facts, index, verdict);
    said.fixes = mend_relation(facts, index, verdict);
    Some(said)
}

fn hints(facts: &Facts<'_>, claimed: &FxHashSet<Vec<ElementId>>, found: &mut Vec<Diagnostic>) {
    let start = found.len();
    let mut names = InLine::new(facts);
    for (file, source) in facts.sources.files.iter().enumerate() {
        let file = FileId(file as u32);
        let mut before: Option<(&Segment, &Stmt)> = None;
        for stmt in &source.tree.stmts {
            let StmtKind::Path(path) = &stmt.node.kind else { continue };
            let mut pairs = Vec::new();
            names.side_by_side(path, stmt, file, &mut pairs);
            // Two lines below each other that leave the same junction.
            if let Some((above, above_stmt)) = before.replace((path, stmt))
                && let (Some(one), Some(two)) = (leaves(above), leaves(path))
                && one.0 == two.0
                && let (Some(one), Some(two)) =
                    (names.resolve(one.1, above_stmt, file), names.resolve(two.1, stmt, file))
            {
                pairs.push((one, two));
            }
            pairs.retain(|(one, two)| claimed.is_empty() || !claimed.contains(&vec![*one.min(two), *one.max(two)]));
            found.extend(pairs.into_iter().filter_map(|(one, two)| hint(facts, one, two)));
            if found.len() - start >= MOST_HINTS {
                return;
            }
        }
    }
}

/// `@fork -- R2 -- @far`: the junction a line leaves, and the element that follows, when a junction comes next.
fn leaves(path: &Segment) -> Option<(&str, &Ref)> {
    match &path.items[..] {
        [
            Item { kind: ItemKind::Junction(from), .. },
            Item { kind: ItemKind::Element { target, .. }, .. },
            Item { kind: ItemKind::Junction(_), .. },
            ..,
        ] => Some((&from.text, target)),
        _ => None,
    }
}

fn hint(facts: &Facts<'_>, one: ElementId, two: ElementId) -> Option<Diagnostic> {
    let circuit = facts.circuit;
    let drawn = StateId::DRAWN;
    if one == two || !is_load(facts, one) || !is_load(facts, two) {
        return None;
    }
    let topology = facts.topologies.first()?;
    let live = |id| facts.role_of(drawn, id) == Some(Role::Live) && topology.is_live(circuit, id);
    if !live(one) || !live(two) {
        return None;
    }
    let (a, b) = facts.two_nodes(one)?;
    let (c, d) = facts.two_nodes(two)?;
    let same = |x, y| facts.is_one_point(drawn, x, y);
    let (shared, other_one, other_two) = if same(a, c) { (a, b, d) } else { return None };
    if same(b, d) || same(b, c) || same(a, d) {
        return None;
    }
    if live_at(facts, drawn, other_one).len() < 3 && live_at(facts, drawn, other_two).len() < 3 {
        return None;
    }
    let (name_one, name_two) = (facts.name(one), facts.name(two));
    let node = |id| wording::node(circuit, id);
    let message = format!(
        "{name_one} and {name_two} leave {} side by side but are not in parallel: they end at {} and {}",
        node(shared),
        node(other_one),
        node(other_two),
    );
    Some(
        Diagnostic::new(META.name, Severity::Hint, facts.place(two), message)
            .proof(basis::ends(drawn, &[one], &[two]))
            .ask(format!("At which point does {name_one} end, and at which {name_two}?"))
            .label(places::joint(facts, one, other_one), format!("{name_one} ends at {}", node(other_one)))
            .label(places::joint(facts, two, other_two), format!("{name_two} ends at {}", node(other_two))),
    )
}

/// Whether an element is one of those whose series and parallel people judge by eye.
fn is_load(facts: &Facts<'_>, id: ElementId) -> bool {
    let element = facts.circuit.element(id);
    element.terminals.len() == 2 && !element.kind.is_source() && !matches!(element.kind, Kind::Voltmeter | Kind::Switch)
}

/// Elements as they stand in the text, in line and side by side.
pub struct InLine<'f, 'a> {
    facts: &'f Facts<'a>,
    /// The first copy of an element at each place inside parts and repeats; made when first needed.
    copies: Option<FxHashMap<(FileId, u32), ElementId>>,
}

impl<'f, 'a> InLine<'f, 'a> {
    /// Nothing is looked up yet.
    pub fn new(facts: &'f Facts<'a>) -> Self {
        Self { facts, copies: None }
    }

    /// The element meant at a place (the first copy, inside a part).
    fn resolve(&mut self, target: &Ref, stmt: &Stmt, file: FileId) -> Option<ElementId> {
        let circuit = self.facts.circuit;
        let at = FileSpan::new(file, stmt.span(target.span));
        // The same name may mean another element inside a part.
        if let [name] = &target.parts[..]
            && let Some(id) = circuit.element_names.get(&name.text)
            && circuit.element(*id).uses.iter().any(|used| used.file == file && used.span.touches(at.span.start))
        {
            return Some(*id);
        }
        let copies = self.copies.get_or_insert_with(|| {
            let mut copies = FxHashMap::default();
            for id in circuit.element_ids().filter(|id| circuit.element(*id).copied) {
                for used in &circuit.element(id).uses {
                    copies.entry((used.file, used.span.start)).or_insert(id);
                }
            }
            copies
        });
        let start = at.span.start;
        copies.get(&(file, start)).or_else(|| copies.get(&(file, start.checked_sub(1)?))).copied()
    }

    /// Two elements that follow each other in a path, with nothing or a junction between; and where that is.
    pub fn pairs(
        &mut self,
        path: &Segment,
        stmt: &Stmt,
        file: FileId,
        each: &mut impl FnMut(&Facts<'_>, ElementId, ElementId, FileSpan),
    ) {
        for (at, item) in path.items.iter().enumerate() {
            match &item.kind {
                ItemKind::Group(alternatives) => {
                    for segment in alternatives {
                        self.pairs(segment, stmt, file, each);
                    }
                }
                ItemKind::Junction(_) => {
                    let before = at.checked_sub(1).and_then(|at| path.items.get(at));
                    let (Some(before), Some(after)) = (before, path.items.get(at + 1)) else { continue };
                    let (ItemKind::Element { target: one, .. }, ItemKind::Element { target: two, .. }) =
                        (&before.kind, &after.kind)
                    else {
                        continue;
                    };
                    let (Some(one), Some(two)) = (self.resolve(one, stmt, file), self.resolve(two, stmt, file)) else {
                        continue;
                    };
                    if one != two && is_load(self.facts, one) && is_load(self.facts, two) {
                        each(self.facts, one, two, FileSpan::new(file, stmt.span(item.span)));
                    }
                }
                ItemKind::Element { target: one, .. } => {
                    // Without a junction between, something can still join at a terminal that has a name.
                    let Some(Item { kind: ItemKind::Element { target: two, .. }, span }) = path.items.get(at + 1)
                    else {
                        continue;
                    };
                    let (Some(one), Some(two)) = (self.resolve(one, stmt, file), self.resolve(two, stmt, file)) else {
                        continue;
                    };
                    let named = |id| self.facts.circuit.element(id).kind.is_polar();
                    if one != two && (named(one) || named(two)) && is_load(self.facts, one) && is_load(self.facts, two)
                    {
                        each(self.facts, one, two, FileSpan::new(file, stmt.span(item.span.to(*span))));
                    }
                }
            }
        }
    }

    /// First elements of neighboring alternatives of a group, where a junction follows one of them.
    fn side_by_side(&mut self, path: &Segment, stmt: &Stmt, file: FileId, pairs: &mut Vec<(ElementId, ElementId)>) {
        for item in &path.items {
            let ItemKind::Group(alternatives) = &item.kind else { continue };
            for segment in alternatives {
                self.side_by_side(segment, stmt, file, pairs);
            }
            for two in alternatives.windows(2) {
                let first = |segment: &Segment| match &segment.items[..] {
                    [
                        Item { kind: ItemKind::Element { target, .. }, .. },
                        Item { kind: ItemKind::Junction(_), .. },
                        ..,
                    ] => Some(target.clone()),
                    _ => None,
                };
                let (Some(one), Some(two)) = (first(&two[0]), first(&two[1])) else { continue };
                if let (Some(one), Some(two)) = (self.resolve(&one, stmt, file), self.resolve(&two, stmt, file)) {
                    pairs.push((one, two));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_bridge_is_no_parallel() {
        rule_says(
            "half-parallel",
            "battery  B1 = 12 V\n\
             resistor R1, R2, R3, R4, R5 = 20 ohm\n\
             B1+ -- ( R1 -- @left -- R3 | R2 -- @right -- R4 ) -- B1-\n\
             @left -- R5 -- @right\n\
             claim R1, R2 in parallel\n",
            expect![[r#"
                error half-parallel: `R1, R2 in parallel` does not hold: R1 and R2 share B1+, but their other ends are @left and @right
                  at 5:7 `R1, R2` claimed to be in parallel
                  ask: Between which two points does each of them run?
                  -- 3:10 `R1 -- @left` R1 ends at @left
                  -- 3:30 `R2 -- @right` R2 ends at @right
                  help: Two elements are in parallel only when both their ends meet
                  fix: Take the claim out (5:1 `claim R1, R2 in parallel\n` -> "")
            "#]],
        );
    }

    #[test]
    fn an_element_of_a_branch_is_not_the_branch() {
        rule_says(
            "half-parallel",
            "battery  B1 = 12 V\n\
             resistor R1, R2, R3 = 20 ohm\n\
             B1+ -- ( R1 -- R2 | R3 ) -- B1-\n\
             claim R1, R3 in parallel\n",
            expect![[r#"
                error half-parallel: `R1, R3 in parallel` does not hold: R1 alone does not run between the same two points as R3: the branch (R1, R2) does
                  at 4:7 `R1, R3` claimed to be in parallel
                  ask: Between which two points does each of them run?
                  -- 3:10 `R1` part of that branch
                  -- 3:16 `R2` part of that branch
                  fix: Claim the branch `(R1, R2)` (4:7 `R1` -> "(R1, R2)")
                  fix: Take the claim out (4:1 `claim R1, R3 in parallel\n` -> "")
            "#]],
        );
    }

    #[test]
    fn lines_that_leave_one_junction() {
        rule_says(
            "half-parallel",
            "battery  B1 = 12 V\n\
             resistor R1, R2, R3, R4, R5 = 20 ohm\n\
             B1+ -- @top\n\
             @top -- R1 -- @left -- R3 -- B1-\n\
             @top -- R2 -- @right -- R4 -- B1-\n\
             @left -- R5 -- @right\n",
            expect![[r#"
                hint half-parallel: R1 and R2 leave @top side by side but are not in parallel: they end at @left and @right
                  at 5:9 `R2`
                  ask: At which point does R1 end, and at which R2?
                  -- 4:9 `R1 -- @left` R1 ends at @left
                  -- 5:9 `R2 -- @right` R2 ends at @right
            "#]],
        );
    }
}
