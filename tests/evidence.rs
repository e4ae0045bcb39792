//! What proves a finding is true: every loop, cut, point and piece is checked against the circuit by the definitions alone.
//!
//! Nothing of the topology is used here, only the elements, their terminals and their laws: a closed path is walked step by step, a cut is
//! taken away, points are joined by hand.

mod corpus;
mod harness;
mod lsp_client;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use harness::{Random, ohmline, root, samples};
use lsp_client::{Session, able};
use malachite::Rational;
use ohmline_analysis::{Analysis, FileSystem, Settings, analyze, load};
use ohmline_circuit::{Branch, BranchId, Circuit, Claim, ElementId, Fault, Kind, Law, NodeId, Quantity, StateId};
use ohmline_lint::evidence;
use ohmline_syntax::{Diagnostic, Evidence, EvidenceKind, EvidenceStep, FileSpan};

/// Sets of nodes that are joined.
struct Joined(Vec<usize>);

impl Joined {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn find(&self, mut at: usize) -> usize {
        while self.0[at] != at {
            at = self.0[at];
        }
        at
    }

    fn join(&mut self, a: NodeId, b: NodeId) {
        let (a, b) = (self.find(a.index()), self.find(b.index()));
        self.0[a] = b;
    }

    fn same(&self, a: NodeId, b: NodeId) -> bool {
        self.find(a.index()) == self.find(b.index())
    }
}

/// A finding with its proof, and the circuit it is about.
struct Case<'a> {
    analysis: &'a Analysis,
    circuit: &'a Circuit,
    found: &'a Diagnostic,
    proof: &'a Evidence,
    state: StateId,
}

impl Case<'_> {
    fn wrong(&self, why: &str) -> ! {
        let source = &self.analysis.sources.files[0];
        panic!("{why}\n{:#?}\n{}: {}\n{}", self.proof, self.found.rule, self.found.message, source.tree.text)
    }

    fn ensure(&self, holds: bool, why: &str) {
        if !holds {
            self.wrong(why);
        }
    }

    fn element(&self, step: &EvidenceStep) -> ElementId {
        let name = step.element.as_deref().unwrap_or_else(|| self.wrong("a step without an element"));
        self.circuit.element_names.get(name).copied().unwrap_or_else(|| self.wrong("no such element"))
    }

    fn members(&self) -> Vec<ElementId> {
        self.proof.steps.iter().filter(|step| step.element.is_some()).map(|step| self.element(step)).collect()
    }

    /// The nodes that a step may mean: several may be called the same.
    fn nodes(&self, step: &EvidenceStep) -> Vec<NodeId> {
        let label = step.point.as_deref().unwrap_or_else(|| self.wrong("a step without a point"));
        self.called(label)
    }

    fn called(&self, label: &str) -> Vec<NodeId> {
        self.circuit.node_ids().filter(|node| self.circuit.node(*node).label == label).collect()
    }

    fn law(&self, branch: BranchId) -> Law {
        self.circuit.law(self.state, branch)
    }

    fn branches(&self) -> impl Iterator<Item = (BranchId, Branch)> + '_ {
        self.circuit.branches.iter().enumerate().map(|(at, branch)| (BranchId(at as u32), *branch))
    }

    /// Nodes joined by the branches that count.
    fn joined(&self, counts: impl Fn(BranchId, &Branch) -> bool) -> Joined {
        let mut joined = Joined::new(self.circuit.nodes.len());
        for (id, branch) in self.branches() {
            if counts(id, &branch) {
                joined.join(branch.from, branch.to);
            }
        }
        joined
    }

    /// Nodes that nothing but wires and branches of zero resistance join.
    fn points(&self) -> Joined {
        self.joined(|id, _| self.law(id) == Law::Short)
    }

    /// Whether a branch can carry current at some moment.
    fn carries(&self, id: BranchId, points: &Joined) -> bool {
        let branch = self.circuit.branch(id);
        match self.law(id) {
            Law::Open => matches!(self.circuit.element(branch.element).kind, Kind::Capacitor | Kind::Electrolytic),
            Law::Resistance(_) | Law::Capacitor { .. } => !points.same(branch.from, branch.to),
            Law::Diode { drop, resistance } if drop != 0 || resistance != 0 => !points.same(branch.from, branch.to),
            _ => branch.from != branch.to,
        }
    }

    /// Whether nothing can pass a branch, whatever the values, for want of a source on any closed path through it: with what has no resistance
    /// contracted, all of these paths are tried.
    fn is_idle(&self, id: BranchId) -> bool {
        let points = self.points();
        let place = self.circuit.branch(id);
        let ends = [place.from, place.to].map(|node| points.find(node.index()));
        let (mut edges, mut drives) = (Vec::new(), Vec::new());
        for (_, branch) in self.branches().filter(|(other, _)| *other != id && self.carries(*other, &points)) {
            edges.push((BTreeSet::new(), points.find(branch.from.index()), points.find(branch.to.index())));
            drives.push(self.circuit.element(branch.element).kind.is_source());
        }
        // A question drives only where no source lies on a closed path.
        let drawn = self.joined(|_, _| true);
        let source = self.branches().any(|(own, branch)| {
            let round = self.joined(|other, _| other != own && self.carries(other, &points));
            let here = drawn.same(branch.from, place.from) && round.same(branch.from, branch.to);
            here && branch.from != branch.to && self.circuit.element(branch.element).kind.is_source()
        });
        for (a, b) in self.asked_between().into_iter().filter(|_| !source) {
            edges.push((BTreeSet::new(), points.find(a.index()), points.find(b.index())));
            drives.push(true);
        }
        let resists = self.law(id) != Law::Short && !self.circuit.element(place.element).kind.is_source();
        resists && !simple_ways(&edges, ends[0], ends[1]).into_iter().any(|edge| drives[edge])
    }

    /// Pairs of points that a question closes from outside.
    fn asked_between(&self) -> Vec<(NodeId, NodeId)> {
        let claims = self.circuit.claims.iter().filter_map(|claim| match claim {
            Claim::Value { ask, .. } => Some(ask),
            Claim::Relation { .. } => None,
        });
        let readings = self.circuit.measured.iter().chain(&self.circuit.givens).map(|reading| &reading.ask);
        let asks = self.circuit.finds.iter().chain(claims).chain(readings);
        asks.filter_map(|ask| match ask.quantity {
            Quantity::ResistanceBetween(a, b) | Quantity::CapacitanceBetween(a, b) => Some((a, b)),
            _ => None,
        })
        .collect()
    }

    /// The current that was solved for an element, if it has one.
    fn current(&self, id: ElementId) -> Option<f64> {
        let answers = self.analysis.answers.states.get(self.state.index())?.elements.get(id.index())?.as_ref()?;
        Some(answers.current.as_ref()?.known()?.to_f64())
    }

    fn check(&self) {
        self.ensure(!self.proof.steps.is_empty(), "a proof without a step");
        self.ensure(!self.proof.conclusion.is_empty() && !self.proof.conclusion.ends_with('.'), "no conclusion");
        let cases = &self.found.cases;
        let own = self.proof.case.clone().unwrap_or_else(|| "as drawn".to_owned());
        self.ensure(cases.is_empty() || cases.contains(&own), "the proof is for another case than the finding");
        for step in &self.proof.steps {
            self.ensure(!step.text.contains('\n') && !step.text.ends_with('.'), "a step is one line, without a period");
            if let Some(name) = &step.element {
                self.ensure(step.text.contains(name.as_str()), "a step does not name its element");
                let here = slice(self.analysis, step.at);
                let last = name.rsplit('.').next().unwrap_or(name);
                let number = last.trim_end_matches(|c: char| c.is_ascii_digit());
                self.ensure(
                    here.contains(last) || here.contains('{') && here.contains(number),
                    "a step stands elsewhere",
                );
            }
        }
        match self.proof.kind {
            EvidenceKind::Loop => self.check_loop(),
            EvidenceKind::Cut => self.check_cut(),
            EvidenceKind::Points => self.check_points(),
            EvidenceKind::Piece => self.check_piece(),
            EvidenceKind::Core => self.check_core(),
            EvidenceKind::Wires => self.check_wires(),
            EvidenceKind::Lines => self.check_ratio(),
        }
    }

    /// Every step begins where the last one ended, and the last one ends where the first began.
    fn check_loop(&self) {
        let steps = &self.proof.steps;
        let starts = self.nodes(&steps[steps.len() - 1]);
        let walks: Vec<Vec<(Option<BranchId>, NodeId)>> =
            starts.iter().filter_map(|start| self.walk(*start, *start, steps, &[])).collect();
        let Some(walk) = walks.first() else { self.wrong("the steps do not join into a closed path") };
        let used: Vec<BranchId> = walk.iter().filter_map(|(branch, _)| *branch).collect();
        let distinct: BTreeSet<BranchId> = used.iter().copied().collect();
        self.ensure(distinct.len() == used.len(), "a branch is passed twice");
        self.ensure(!used.is_empty(), "a closed path without an element");
        if let Some(rest) = self.proof.conclusion.strip_prefix("This closed path leaves out ") {
            let (out, rest) = rest.split_once(": what passes ").unwrap_or_else(|| self.wrong("an unknown conclusion"));
            let through = rest.split(" need not pass").next().unwrap_or("");
            let members = self.members();
            for name in out.split(", ").flat_map(|names| names.split(" and ")) {
                let id =
                    self.circuit.element_names.get(name).unwrap_or_else(|| self.wrong("no such element is left out"));
                self.ensure(!members.contains(id), "what is left out is passed");
                self.ensure(self.speaks_of(name), "the finding is about another element");
            }
            self.ensure(
                members.contains(&self.circuit.element_names[through]),
                "the path leads through another element",
            );
            self.ensure(self.speaks_of(through), "the finding is about another element");
            let points = self.points();
            self.ensure(used.iter().all(|branch| self.carries(*branch, &points)), "a step carries no current");
            return;
        }
        if self.proof.conclusion.ends_with("so they end where they begin") {
            for (id, branch) in used.iter().map(|id| (*id, self.circuit.branch(*id))) {
                let named = named_in(&self.proof.conclusion, self.name(branch.element));
                self.ensure(named || self.law(id) == Law::Short, "another element is on the way");
            }
            return;
        }
        if self.proof.conclusion.contains("one part of") {
            let points = self.points();
            self.ensure(used.iter().all(|branch| self.carries(*branch, &points)), "a step carries no current");
            return;
        }
        self.ensure(self.proof.conclusion.starts_with("There is no resistance on the way"), "an unknown conclusion");
        let mut left_over = Rational::from(0);
        let mut exact = true;
        // Where a wire makes both ends one node, nothing tells which way round the loop is.
        let wired = walk.iter().any(|(by, _)| by.is_none());
        for ((branch, before), step) in walk.iter().zip(steps) {
            let Some(branch) = *branch else { continue };
            let place = self.circuit.branch(branch);
            let name = self.circuit.element(place.element).name.as_str();
            let excepted = || named_in(&self.proof.conclusion, name);
            let by_case = self.circuit.is_bridged(self.state, place.element) && walk.iter().any(|(by, _)| by.is_none());
            let own = self
                .circuit
                .params(self.state, place.element)
                .law(branch.0 > self.circuit.element(place.element).branches.start);
            let law = if by_case { own } else { self.law(branch) };
            let sign = Rational::from(if *before == place.from { 1 } else { -1 });
            match law {
                Law::Short => {}
                Law::Emf { emf, internal } => {
                    self.ensure(internal == 0 || excepted(), "a source with internal resistance");
                    let falls = emf.clone() * &sign > 0;
                    let told = (step.text.contains(" V down)"), step.text.contains(" V up)"));
                    self.ensure(wired || emf == 0 || told == (falls, !falls), "a step up or down");
                    left_over += emf * sign;
                }
                Law::Diode { drop, resistance } => {
                    self.ensure(resistance == 0 || excepted(), "a diode with resistance");
                    exact &= drop == 0;
                }
                _ => self.ensure(excepted(), "a resistance on the way"),
            }
        }
        match self.found.rule {
            "shorted-source" | "source-conflict" => self.ensure(!exact || left_over != 0, "the voltages fit"),
            "undecided-share" => self.ensure(!exact || left_over == 0, "the voltages do not fit"),
            _ => {}
        }
    }

    /// The branches along the steps, each with the node it is entered from; `None` for a wire or a question.
    fn walk(
        &self,
        start: NodeId,
        at: NodeId,
        steps: &[EvidenceStep],
        passed: &[BranchId],
    ) -> Option<Vec<(Option<BranchId>, NodeId)>> {
        let Some((step, rest)) = steps.split_first() else { return (at == start).then(Vec::new) };
        let mut ways: Vec<(Option<BranchId>, NodeId)> = Vec::new();
        if step.element.is_some() {
            let id = self.element(step);
            for branch in self.circuit.branches_of(id) {
                let place = self.circuit.branch(branch);
                if place.from == at {
                    ways.push((Some(branch), place.to));
                }
                if place.to == at && place.from != at {
                    ways.push((Some(branch), place.from));
                }
            }
        } else {
            // Wires join nothing but what is one node.
            ways.push((None, at));
            for (a, b) in self.asked_between() {
                ways.extend((a == at).then_some((None, b)).into_iter().chain((b == at).then_some((None, a))));
            }
            for (id, fault) in &self.circuit.states[self.state.index()].faults {
                let terminals = &self.circuit.element(*id).terminals;
                if *fault == Fault::Shorted && terminals.contains(&at) {
                    ways.extend(terminals.iter().map(|node| (None, *node)));
                }
            }
        }
        let nodes = self.nodes(step);
        // Of two branches of one element between the same points, the one that lets current pass more easily is meant.
        ways.sort_by_key(|(branch, _)| match branch.map(|branch| self.law(branch)) {
            Some(Law::Short) | None => 0,
            Some(Law::Open) => 2,
            Some(_) => 1,
        });
        let fresh = |branch: &Option<BranchId>| branch.is_none_or(|branch| !passed.contains(&branch));
        ways.into_iter().filter(|(branch, to)| nodes.contains(to) && fresh(branch)).find_map(|(branch, to)| {
            let passed: Vec<BranchId> = passed.iter().copied().chain(branch).collect();
            let mut walk = self.walk(start, to, rest, &passed)?;
            walk.insert(0, (branch, at));
            Some(walk)
        })
    }

    /// Without the elements of the cut the sides have nothing in common, and each of these elements joins them.
    fn check_cut(&self) {
        let cut = self.members();
        let [here, there] = &self.proof.sides[..] else { self.wrong("a cut has two sides") };
        self.ensure(here.more + there.more == 0, "small circuits are listed in full");
        let without = self.joined(|_, branch| !cut.contains(&branch.element));
        let mut sides: BTreeMap<usize, usize> = BTreeMap::new();
        for (number, side) in [here, there].into_iter().enumerate() {
            for name in &side.elements {
                let id = self.circuit.element_names[name.as_str()];
                self.ensure(!cut.contains(&id), "an element of the cut lies on a side");
                for node in &self.circuit.element(id).terminals {
                    let known = *sides.entry(without.find(node.index())).or_insert(number);
                    self.ensure(known == number, "the cut does not part its sides");
                }
            }
        }
        // What no element of a side touches is known by its name alone.
        let side_of = |node: &NodeId| {
            let label = self.circuit.node(*node).label.to_string();
            sides.get(&without.find(node.index())).copied().or_else(|| {
                match (here.points.contains(&label), there.points.contains(&label)) {
                    (true, false) => Some(0),
                    (false, true) => Some(1),
                    _ => None,
                }
            })
        };
        for id in &cut {
            let terminals = &self.circuit.element(*id).terminals;
            let met: BTreeSet<Option<usize>> = terminals.iter().map(side_of).collect();
            let joins = met.contains(&None) || met.contains(&Some(0)) && met.contains(&Some(1));
            self.ensure(joins, "an element of the cut lies on one side");
        }
        let drawn = self.joined(|_, _| true);
        let piece = drawn.find(self.circuit.element(cut[0]).terminals[0].index());
        let listed = here.elements.len() + there.elements.len() + cut.len();
        let all = self
            .circuit
            .elements
            .iter()
            .filter(|element| element.terminals.first().is_some_and(|node| drawn.find(node.index()) == piece));
        self.ensure(all.count() == listed, "an element of the piece is left out");

        let points = self.points();
        let carries = |id: &ElementId, capacitors: bool| {
            self.circuit.branches_of(*id).any(|branch| {
                let place = self.circuit.branch(branch);
                let crosses = side_of(&place.from) != side_of(&place.to);
                let settled = matches!(self.circuit.element(*id).kind, Kind::Capacitor | Kind::Electrolytic);
                crosses && self.carries(branch, &points) && (capacitors || !settled)
            })
        };
        let subject = self.circuit.element(cut[0]).name.as_str();
        let conclusion = self.proof.conclusion.as_str();
        if conclusion.contains("has to pass") {
            let settled = conclusion.contains("once capacitors are charged");
            self.ensure(cut.len() >= 2 && cut[..2].iter().all(|id| carries(id, !settled)), "a member carries nothing");
            let idle = |id: &ElementId| self.circuit.branches_of(*id).all(|branch| self.is_idle(branch));
            // Where nothing drives anything, all are taken as if they carried something.
            let driven = !cut[..2].iter().any(idle);
            let passes = |id: &ElementId| carries(id, !settled) && !(driven && idle(id));
            self.ensure(!cut[2..].iter().any(passes), "another way leads across");
            if let (Some(one), Some(other)) = (self.current(cut[0]), self.current(cut[1])) {
                self.ensure((one.abs() - other.abs()).abs() <= 1e-9 * one.abs().max(1.0), "the currents differ");
            }
        } else if conclusion.ends_with("carries none") {
            self.ensure(self.speaks_of(subject), "the finding is about another element");
            let idle = |id: &ElementId| self.circuit.branches_of(*id).all(|branch| self.is_idle(branch));
            self.ensure(!cut[1..].iter().any(|id| carries(id, false) && !idle(id)), "another way leads across");
            self.ensure(self.current(cut[0]).is_none_or(|current| current.abs() < 1e-9), "it carries current");
        } else {
            let stops = |id: &ElementId| {
                self.circuit
                    .branches_of(*id)
                    .filter(|branch| {
                        let place = self.circuit.branch(*branch);
                        side_of(&place.from) != side_of(&place.to)
                    })
                    .all(|branch| {
                        let kind = self.circuit.element(*id).kind;
                        matches!(self.law(branch), Law::Open | Law::Drive(_) | Law::Capacitor { .. })
                            || kind == Kind::Diode
                    })
            };
            self.ensure(cut.iter().all(stops), "something conducts across");
            if self.found.rule == "source-conflict" {
                let mut over = Rational::from(0);
                for branch in cut.iter().flat_map(|id| self.circuit.branches_of(*id)) {
                    let place = self.circuit.branch(branch);
                    if let Law::Drive(drive) = self.law(branch) {
                        over += if side_of(&place.from) == Some(0) { drive } else { -drive };
                    }
                }
                self.ensure(over != 0, "the currents fit");
            }
        }
    }

    fn check_points(&self) {
        for step in &self.proof.steps {
            if step.element.is_some() {
                let nodes = self.nodes(step);
                let touches =
                    self.circuit.element(self.element(step)).terminals.iter().any(|node| nodes.contains(node));
                self.ensure(touches, "an element does not touch its point");
            }
        }
        let conclusion = self.proof.conclusion.as_str();
        if conclusion.contains("are at one potential") {
            let answers = &self.analysis.answers.states[self.state.index()];
            let at = |step: &EvidenceStep| {
                let ends = &self.circuit.element(self.element(step)).terminals;
                let node = self.nodes(step).into_iter().find(|node| ends.contains(node)).expect("it touches its point");
                answers.potentials[node.index()].known().expect("the potential is known").clone()
            };
            let [one, other] = &self.proof.steps[..] else { self.wrong("an element has two ends") };
            self.ensure(self.element(one) == self.element(other), "the ends of two elements");
            return self.ensure(at(one) == at(other), "the potentials differ");
        }
        // What is asked about joins nothing, even where it has no resistance; what the proof names as joining does.
        let asked = self.proof.steps.iter().filter(|step| step.text.contains(" is at "));
        let asked: BTreeSet<ElementId> = asked.map(|step| self.element(step)).collect();
        let points = self.joined(|id, branch| self.law(id) == Law::Short && !asked.contains(&branch.element));
        let ends: Vec<Vec<NodeId>> = self
            .proof
            .steps
            .iter()
            .filter(|step| step.text.starts_with("One end of ") || step.text.starts_with("The other end of "))
            .map(|step| {
                let terminals = &self.circuit.element(self.element(step)).terminals;
                self.nodes(step).into_iter().filter(|node| terminals.contains(node)).collect()
            })
            .collect();
        if conclusion.contains("so no current passes from one end to the other") {
            let id = self.element(&self.proof.steps[0]);
            self.ensure(conclusion.starts_with(self.name(id)), "the conclusion is about another element");
            self.ensure(self.members().iter().all(|other| *other == id), "the ends of another element");
            let ends = &self.circuit.element(id).terminals;
            let there = |(step, end): (&EvidenceStep, &NodeId)| self.nodes(step).contains(end);
            let all = self.proof.steps.len() == ends.len() && self.proof.steps.iter().zip(ends).all(there);
            self.ensure(all, "an end is elsewhere");
            let open = |branch| matches!(self.law(branch), Law::Open | Law::Capacitor { .. });
            return self.ensure(self.circuit.branches_of(id).all(open), "it lets something pass");
        }
        let [a, b, c, d] = &ends[..] else {
            // What meets at one point: all that does, and no more.
            let nodes = self.nodes(&self.proof.steps[0]);
            let members = self.members();
            let whole = nodes.iter().any(|node| {
                let mut met: Vec<ElementId> = self.circuit.ends(*node).iter().map(|end| end.element).collect();
                let mut listed = members.clone();
                met.sort_unstable();
                listed.sort_unstable();
                met == listed
            });
            return self.ensure(whole && members.len() <= 1, "something else meets there");
        };
        let same = |x: &[NodeId], y: &[NodeId]| x.iter().any(|x| y.iter().any(|y| points.same(*x, *y)));
        let straight = (same(a, c), same(b, d));
        let crossed = (same(a, d), same(b, c));
        if conclusion == "Both run between the same two points" {
            self.ensure(straight == (true, true) || crossed == (true, true), "the points differ");
        } else if conclusion.starts_with("They share ") && conclusion.contains(" but ") {
            self.ensure(straight != (true, true) && crossed != (true, true), "both points are shared");
            self.ensure(straight.0 || straight.1 || crossed.0 || crossed.1, "no point is shared");
        } else {
            self.ensure(conclusion == "They share no point", "an unknown conclusion");
            self.ensure(straight == (false, false) && crossed == (false, false), "a point is shared");
        }
    }

    /// Each step joins two names by what is written at its place, and the steps lead from the one asked about to the other.
    fn check_wires(&self) {
        let steps: Vec<(&str, &str, &str)> = self
            .proof
            .steps
            .iter()
            .filter_map(|step| {
                let (from, to) = step.text.strip_prefix("A wire joins ")?.split_once(" and ")?;
                Some((from, to, slice(self.analysis, step.at)))
            })
            .collect();
        let asked: Vec<&str> = slice(self.analysis, self.found.primary.at).split_whitespace().collect();
        let [.., from, _, to] = asked[..] else { self.wrong("no two points are asked about") };
        self.ensure(
            self.proof.conclusion == format!("So {from} and {to} are one point"),
            "the conclusion names others",
        );
        if let [only] = &self.proof.steps[..]
            && steps.is_empty()
        {
            let twice = from == to && only.text.starts_with(from);
            return self.ensure(twice || only.text == format!("Plain wires lead from {from} to {to}"), "no wire");
        }
        self.ensure(steps.len() == self.proof.steps.len(), "a step is no wire");
        self.ensure(steps[0].0 == from && steps[steps.len() - 1].1 == to, "the wires end elsewhere");
        self.ensure(steps.windows(2).all(|pair| pair[0].1 == pair[1].0), "the wires do not meet");
        for (one, other, written) in steps {
            let sign = |name: &str| name.trim_end_matches(['+', '-']).to_owned();
            self.ensure(written.contains(&sign(one)) && written.contains(&sign(other)), "a wire stands elsewhere");
        }
    }

    /// Two walks from one point to another through resistances, each through an end of the element that carries nothing, and nothing else
    /// leads away from where they pass.
    fn check_ratio(&self) {
        let conclusion = self.proof.conclusion.as_str();
        let name = conclusion.rsplit(' ').next().unwrap_or("");
        let middle = self.circuit.element_names[name];
        self.ensure(self.speaks_of(name), "the finding is about another element");
        let [a, b] = self.circuit.element(middle).terminals[..] else { self.wrong("it has no two ends") };
        let points = self.points();
        let ways = |node: NodeId| {
            let at = self.branches().filter(move |(_, branch)| branch.from == node || branch.to == node);
            at.filter(|(id, _)| self.carries(*id, &points)).count()
        };
        let second = self.proof.steps[1..].iter().position(|step| step.text.starts_with("From "));
        let (one, other) = self.proof.steps.split_at(second.unwrap_or_else(|| self.wrong("one way only")) + 1);
        let mut walked = Vec::new();
        for (steps, middle) in [(one, a), (other, b)] {
            let starts = self.circuit.node_ids().filter(|node| {
                let label = self.circuit.node(*node).label.as_str();
                steps[0].text[5..].starts_with(label) || steps[0].text[5..].starts_with(&format!("the point {label}"))
            });
            let found = starts
                .filter_map(|start| self.along(start, steps))
                .find(|walk| walk[..walk.len() - 1].iter().any(|(_, node)| *node == middle));
            let Some(walk) = found else { self.wrong("the steps do not lead through the end") };
            let passed = walk[..walk.len() - 1].iter().map(|(_, node)| *node);
            self.ensure(passed.into_iter().all(|node| ways(node) == if node == middle { 3 } else { 2 }), "more joins");
            let at = walk.iter().position(|(_, node)| *node == middle).expect("it passes there");
            let sum = |part: &[(BranchId, NodeId)]| {
                part.iter().fold(Rational::from(0), |sum, (branch, _)| match self.law(*branch) {
                    Law::Resistance(ohms) => sum + ohms,
                    _ => self.wrong("no resistance"),
                })
            };
            let start = self.circuit.branch(walk[0].0);
            let start = if start.from == walk[0].1 { start.to } else { start.from };
            walked.push((start, walk[walk.len() - 1].1, sum(&walk[..=at]), sum(&walk[at + 1..])));
        }
        let [(from, to, one, two), (also, there, three, four)] = &walked[..] else { self.wrong("no two ways") };
        self.ensure((from, to) == (also, there), "the ways lead from elsewhere to elsewhere");
        self.ensure(one * four == two * three, "the ratios differ");
    }

    /// The branches of steps from a node on, each with where it leads.
    fn along(&self, at: NodeId, steps: &[EvidenceStep]) -> Option<Vec<(BranchId, NodeId)>> {
        let Some((step, rest)) = steps.split_first() else { return Some(Vec::new()) };
        let nodes = self.nodes(step);
        let branches = self.circuit.branches_of(self.element(step)).filter_map(|id| {
            let place = self.circuit.branch(id);
            let to = if place.from == at { place.to } else { place.from };
            ((place.from == at || place.to == at) && nodes.contains(&to)).then_some((id, to))
        });
        branches.into_iter().find_map(|(id, to)| {
            let mut walk = self.along(to, rest)?;
            walk.insert(0, (id, to));
            Some(walk)
        })
    }

    /// The elements that a step about a line of what is left names.
    fn put_together(&self, step: &EvidenceStep) -> BTreeSet<ElementId> {
        let names = step.text.split(", from ").next().unwrap_or("").trim_end_matches(", put together");
        names.split(", ").flat_map(|names| names.split(" and ")).map(|name| self.circuit.element_names[name]).collect()
    }

    /// Lines that no rule of series or parallel puts together: three or more at each point, no two without a source side by side, and each a
    /// part that touches the others at its two ends only.
    fn check_driven(&self) {
        let points = self.points();
        let (listed, met): (Vec<&EvidenceStep>, Vec<&EvidenceStep>) =
            self.proof.steps.iter().partition(|step| step.element.is_some());
        let lines: Vec<BTreeSet<ElementId>> = listed.iter().map(|step| self.put_together(step)).collect();
        let touched = |line: &BTreeSet<ElementId>| -> BTreeSet<usize> {
            let nodes = line.iter().flat_map(|id| self.circuit.branches_of(*id)).map(|id| self.circuit.branch(id));
            nodes.flat_map(|place| [place.from, place.to]).map(|node| points.find(node.index())).collect()
        };
        let ends: Vec<BTreeSet<usize>> = lines
            .iter()
            .enumerate()
            .map(|(at, line)| {
                let beside = lines.iter().enumerate().filter(|(other, _)| *other != at);
                let others: BTreeSet<usize> = beside.flat_map(|(_, line)| touched(line)).collect();
                touched(line).intersection(&others).copied().collect()
            })
            .collect();
        self.ensure(lines.len() >= 3 && ends.iter().all(|ends| ends.len() == 2), "a line has no two ends");
        let drives = |line: &BTreeSet<ElementId>| line.iter().any(|id| self.circuit.element(*id).kind.is_source());
        for (at, line) in lines.iter().enumerate() {
            self.ensure(lines[..at].iter().all(|other| other.is_disjoint(line)), "an element lies in two lines");
            let beside = (0..at).any(|other| ends[other] == ends[at] && !drives(line) && !drives(&lines[other]));
            self.ensure(!beside, "two lines without a source side by side");
        }
        let inner: BTreeSet<usize> = ends.iter().flatten().copied().collect();
        self.ensure(met.len() == inner.len(), "a point is left out");
        for point in inner {
            self.ensure(ends.iter().filter(|ends| ends.contains(&point)).count() >= 3, "fewer than three meet");
        }
    }

    /// Reduced here in another way, one pair after the other, the same groups are left (R. Duffin, 1965: the order does not matter).
    fn check_core(&self) {
        if self.found.rule == "beyond-class" {
            return self.check_driven();
        }
        let ask = self.circuit.finds.iter().find(|ask| ask.at == self.found.primary.at).expect("it is asked");
        let (from, to, without) = match ask.quantity {
            Quantity::ResistanceBetween(from, to) => (from, to, None),
            Quantity::ResistanceSeenBy(id) => {
                (self.circuit.element(id).terminals[0], self.circuit.element(id).terminals[1], Some(id))
            }
            _ => self.wrong("no resistance is asked"),
        };
        // Ideal sources count as wires.
        let wire = |law: Law| law == Law::Short || matches!(law, Law::Emf { internal, .. } if internal == 0);
        let points = self.joined(|id, branch| Some(branch.element) != without && wire(self.law(id)));
        let (from, to) = (points.find(from.index()), points.find(to.index()));
        let mut edges: Vec<(BTreeSet<ElementId>, usize, usize)> = self
            .branches()
            .filter(|(id, branch)| {
                let resists = matches!(self.law(*id), Law::Resistance(_) | Law::Emf { .. }) && !wire(self.law(*id));
                resists && Some(branch.element) != without
            })
            .map(|(_, branch)| {
                let ends = [branch.from, branch.to].map(|node| points.find(node.index()));
                (BTreeSet::from([branch.element]), ends[0], ends[1])
            })
            .collect();
        // Only what lies on a way without a point passed twice.
        let on_way: BTreeSet<usize> = simple_ways(&edges, from, to);
        let mut at = 0;
        edges.retain(|_| {
            at += 1;
            on_way.contains(&(at - 1))
        });
        while let Some((one, two, ends)) = mergeable(&edges, from, to) {
            let mut later = edges.remove(two);
            edges[one].0.append(&mut later.0);
            (edges[one].1, edges[one].2) = ends;
        }
        let (listed, met): (Vec<&EvidenceStep>, Vec<&EvidenceStep>) =
            self.proof.steps.iter().partition(|step| step.element.is_some());
        let told: BTreeSet<BTreeSet<ElementId>> = listed.iter().map(|step| self.put_together(step)).collect();
        let left: BTreeSet<BTreeSet<ElementId>> = edges.iter().map(|edge| edge.0.clone()).collect();
        self.ensure(told == left && edges.len() == listed.len(), "something else is left");
        let inner: BTreeSet<usize> = edges.iter().flat_map(|edge| [edge.1, edge.2]).collect();
        self.ensure(met.len() == inner.len(), "a point is left out");
        for step in met {
            let node = self.nodes(step).into_iter().map(|node| points.find(node.index()));
            let there = node.map(|point| edges.iter().filter(|edge| edge.1 == point || edge.2 == point).count());
            let three = there.into_iter().any(|count| count >= 3);
            self.ensure(three || step.text.contains("which is asked about"), "fewer than three meet");
        }
    }

    fn check_piece(&self) {
        if self.proof.conclusion.contains("nothing drives current through") {
            return self.check_bypassed();
        }
        let members: BTreeSet<ElementId> = self.members().into_iter().collect();
        let joints: Vec<&EvidenceStep> = self.proof.steps.iter().filter(|step| step.element.is_none()).collect();
        let source = members.iter().any(|id| self.circuit.element(*id).kind.is_source());
        self.ensure(!source || !self.proof.conclusion.contains("source"), "a source is in it");
        let own = self.on_closed_paths(&members, !joints.is_empty());
        let touches = |node: &NodeId, branch: &Branch| branch.from == *node || branch.to == *node;
        let of_members = |node: &NodeId| own.iter().any(|id| touches(node, &self.circuit.branch(*id)));
        let of_others =
            |node: &NodeId| self.branches().any(|(id, branch)| !own.contains(&id) && touches(node, &branch));
        let shared: Vec<NodeId> = self.circuit.node_ids().filter(|node| of_members(node) && of_others(node)).collect();
        self.ensure(shared.len() == joints.len(), "a point at which it meets the rest is left out");
        for step in &joints {
            self.ensure(self.nodes(step).iter().any(|node| shared.contains(node)), "it does not meet the rest there");
        }
        let outside = self.joined(|id, _| !own.contains(&id));
        for (at, one) in shared.iter().enumerate() {
            self.ensure(!shared[..at].iter().any(|other| outside.same(*one, *other)), "a way outside joins two points");
        }
        let inside = self.joined(|id, _| own.contains(&id));
        let nodes: BTreeSet<usize> = own
            .iter()
            .flat_map(|id| [self.circuit.branch(*id).from, self.circuit.branch(*id).to])
            .map(|node| inside.find(node.index()))
            .collect();
        self.ensure(nodes.len() == 1, "it does not hang together");
    }

    /// Members without a source, which meet the rest only at points that the elements listed with a point make one.
    fn check_bypassed(&self) {
        let (joiners, others): (Vec<&EvidenceStep>, Vec<&EvidenceStep>) =
            self.proof.steps.iter().partition(|step| step.element.is_some() && step.point.is_some());
        let members: BTreeSet<ElementId> =
            others.iter().filter(|step| step.element.is_some()).map(|step| self.element(step)).collect();
        let joints: Vec<&&EvidenceStep> = others.iter().filter(|step| step.element.is_none()).collect();
        let faults = &self.circuit.states[self.state.index()].faults;
        let drives =
            |id: &ElementId| self.circuit.element(*id).kind.is_source() && faults.get(id) != Some(&Fault::Shorted);
        self.ensure(!members.iter().any(drives), "a source is in it");
        // Of an element of three terminals only the branch that is told of belongs to the part, and the text tells of it by its ends.
        let own: BTreeSet<BranchId> = others
            .iter()
            .filter(|step| step.element.is_some())
            .flat_map(|step| {
                let part = step.text.contains(" (from ");
                let ends = |branch: &BranchId| {
                    let second = branch.0 > self.circuit.element(self.element(step)).branches.start;
                    let words = match (self.circuit.element(self.element(step)).kind, second) {
                        (Kind::Changeover, false) => ["common", "a"],
                        (Kind::Changeover, true) => ["common", "b"],
                        (_, false) => ["a", "wiper"],
                        (_, true) => ["wiper", "b"],
                    };
                    words.map(|word| format!("{}.{word}", self.name(self.element(step))))
                };
                self.circuit
                    .branches_of(self.element(step))
                    .filter(move |branch| !part || ends(branch).iter().all(|end| step.text.contains(end.as_str())))
            })
            .collect();
        let touches = |node: &NodeId, branch: &Branch| branch.from == *node || branch.to == *node;
        let touched = |node: &NodeId, inside: bool| {
            self.branches().any(|(id, branch)| own.contains(&id) == inside && touches(node, &branch))
        };
        let shared: Vec<NodeId> =
            self.circuit.node_ids().filter(|node| touched(node, true) && touched(node, false)).collect();
        self.ensure(shared.len() == joints.len(), "a point at which it meets the rest is left out");
        for step in &joints {
            self.ensure(self.nodes(step).iter().any(|node| shared.contains(node)), "it does not meet the rest there");
        }
        let by: BTreeSet<ElementId> = joiners.iter().map(|step| self.element(step)).collect();
        let one =
            self.joined(|id, branch| by.contains(&branch.element) && !own.contains(&id) && self.law(id) == Law::Short);
        // The contact that a changeover does not stand on leads nowhere, nor does what comes back to where it began.
        let points = self.points();
        let leads = |(id, branch): (BranchId, Branch)| {
            let off = self.circuit.element(branch.element).kind == Kind::Changeover && self.law(id) == Law::Open;
            (!own.contains(&id) && !off && !points.same(branch.from, branch.to)).then_some(branch)
        };
        let met: Vec<NodeId> = shared
            .into_iter()
            .filter(|node| self.branches().filter_map(leads).any(|branch| touches(node, &branch)))
            .collect();
        // Points that are not one have to be of parts that nothing outside joins.
        let outside = self.joined(|id, _| !own.contains(&id) && self.carries(id, &points));
        for (at, node) in met.iter().enumerate() {
            let apart = |other: &NodeId| one.same(*node, *other) || !outside.same(*node, *other);
            self.ensure(met[..at].iter().all(apart), "the points are not one");
        }
        for id in members.iter().filter(|id| self.circuit.element(**id).branches.len() == 1 && !faults.contains_key(id))
        {
            self.ensure(self.current(*id).is_none_or(|current| current.abs() < 1e-9), "it carries current");
        }
    }

    fn name(&self, id: ElementId) -> &str {
        self.circuit.element(id).name.as_str()
    }

    /// The branches of a part; where it hangs at points, only those that another branch of it follows at both ends: of an element with three
    /// terminals one branch may belong to something else.
    fn on_closed_paths(&self, members: &BTreeSet<ElementId>, hangs: bool) -> BTreeSet<BranchId> {
        let mut own: BTreeSet<BranchId> = members.iter().flat_map(|id| self.circuit.branches_of(*id)).collect();
        loop {
            let followed = |id: &BranchId, node: NodeId| {
                own.iter().any(|other| {
                    let place = self.circuit.branch(*other);
                    other != id && (place.from == node || place.to == node)
                })
            };
            let loose = own.iter().copied().find(|id| {
                let place = self.circuit.branch(*id);
                !followed(id, place.from) || !followed(id, place.to)
            });
            match loose.filter(|_| hangs) {
                Some(id) => own.remove(&id),
                None => return own,
            };
        }
    }

    /// Whether the finding's words or places name an element.
    fn speaks_of(&self, name: &str) -> bool {
        let said = [&self.found.message].into_iter().chain(self.found.labels.iter().map(|label| &label.text));
        said.into_iter().any(|text| named_in(text, name))
            || slice(self.analysis, self.found.primary.at).contains(name)
            // A long list is cut.
            || self.found.message.contains(" more")
    }
}

/// The edges on a way from one point to another that passes no point twice, by trying all ways.
fn simple_ways(edges: &[(BTreeSet<ElementId>, usize, usize)], from: usize, to: usize) -> BTreeSet<usize> {
    let mut found = BTreeSet::new();
    let mut open: Vec<(usize, Vec<usize>, Vec<usize>)> = vec![(from, vec![from], Vec::new())];
    while let Some((at, met, way)) = open.pop() {
        if at == to {
            found.extend(way);
            continue;
        }
        for (number, edge) in edges.iter().enumerate().filter(|(_, edge)| edge.1 == at || edge.2 == at) {
            let next = if edge.1 == at { edge.2 } else { edge.1 };
            if !met.contains(&next) {
                let longer = |list: &[usize], last: usize| list.iter().copied().chain([last]).collect::<Vec<_>>();
                open.push((next, longer(&met, next), longer(&way, number)));
            }
        }
    }
    found
}

/// Two edges that can be put together, and between which points what they make runs.
fn mergeable(
    edges: &[(BTreeSet<ElementId>, usize, usize)],
    from: usize,
    to: usize,
) -> Option<(usize, usize, (usize, usize))> {
    let pairs = (0..edges.len()).rev().flat_map(|two| (0..two).map(move |one| (one, two)));
    pairs.into_iter().find_map(|(one, two)| {
        let ((_, a, b), (_, c, d)) = (&edges[one], &edges[two]);
        if (a, b) == (c, d) || (a, b) == (d, c) {
            return Some((one, two, (*a, *b)));
        }
        let shared = [a, b].into_iter().find(|point| [c, d].contains(point) && ![from, to].contains(point))?;
        let alone = edges.iter().filter(|edge| edge.1 == *shared || edge.2 == *shared).count() == 2;
        let far = |x: &usize, y: &usize| if x == shared { *y } else { *x };
        alone.then(|| (one, two, (far(a, b), far(c, d))))
    })
}

/// Whether a text holds a name as a whole word.
fn named_in(text: &str, name: &str) -> bool {
    text.split(|c: char| !c.is_alphanumeric() && !matches!(c, '_' | '.')).any(|word| word == name)
}

fn slice(analysis: &Analysis, at: FileSpan) -> &str {
    analysis.sources.files[at.file.0 as usize].tree.slice(at.span)
}

/// Checks every proof of an analysis; counts them by rule, and the findings without one.
fn check(analysis: &Analysis, proved: &mut BTreeMap<&'static str, usize>, bare: &mut BTreeMap<&'static str, usize>) {
    let circuit: &Circuit = &analysis.circuit;
    for found in analysis.diagnostics.iter().chain(&analysis.allowed) {
        let Some(proof) = evidence(&analysis.context(), found) else {
            // What stands in no path has no place in the circuit to show.
            let relation = circuit.claims.iter().any(|claim| match claim {
                Claim::Relation { stmt, .. } => *stmt == found.primary.at,
                Claim::Value { .. } => false,
            });
            assert!(!relation || found.message.contains("in no path"), "no proof: {}", found.message);
            *bare.entry(found.rule).or_default() += 1;
            continue;
        };
        let named = |state: &StateId| circuit.states[state.index()].name.as_deref() == proof.case.as_deref();
        let state = circuit.state_ids().find(named).expect("the case exists");
        Case { analysis, circuit, found, proof: &proof, state }.check();
        *proved.entry(found.rule).or_default() += 1;
    }
}

struct Disk;

impl FileSystem for Disk {
    fn read(&self, path: &Path) -> Result<Arc<str>, String> {
        std::fs::read_to_string(path).map(Into::into).map_err(|error| error.to_string())
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }
}

fn analyzed(path: Option<&Path>, text: &str) -> Analysis {
    let tree = Arc::new(ohmline_syntax::parse(&Arc::from(text)));
    analyze(load("harbour.ohmline", path, tree, &Disk), &Settings::default())
}

/// Rules about the shape of the circuit, each of which proves its own example.
const PROVED: &[&str] = &[
    "ammeter-across",
    "balanced-bridge",
    "bypass-switch",
    "circulating-current",
    "dead-branch",
    "dead-throw",
    "floating-piece",
    "half-parallel",
    "hidden-parallel",
    "hidden-series",
    "never-closed",
    "no-source",
    "not-reducible",
    "open-end",
    "opposed-sources",
    "powerless-part",
    "same-points",
    "shorted-element",
    "shorted-group",
    "shorted-source",
    "source-conflict",
    "split-series",
    "sudden-charge",
    "undecided-share",
    "undriven-loop",
    "voltmeter-in-line",
];

#[test]
fn every_rule_about_the_shape_proves_its_example() {
    let (mut proved, mut bare) = (BTreeMap::new(), BTreeMap::new());
    for meta in ohmline_lint::all_metas() {
        for text in [meta.bad, meta.good].into_iter().filter(|text| !text.is_empty()) {
            check(&analyzed(None, text), &mut proved, &mut bare);
        }
    }
    for rule in PROVED {
        assert!(proved.get(rule).is_some_and(|count| *count > 0), "{rule} proves nothing: {proved:?}");
    }
}

#[test]
fn every_proof_in_the_samples_is_true() {
    let (mut proved, mut bare) = (BTreeMap::new(), BTreeMap::new());
    for path in corpus::files("samples", "ohmline").into_iter().chain(samples()) {
        let text = std::fs::read_to_string(&path).expect("samples are readable");
        check(&analyzed(Some(&path), &text), &mut proved, &mut bare);
    }
    assert!(root().join("samples").is_dir());
    for rule in PROVED {
        assert!(!bare.contains_key(rule) && proved.contains_key(rule), "{rule}: proved {proved:?}, without {bare:?}");
    }
}

/// As a class sees it that has not met the equations of junctions and loops.
fn analyzed_for_a_class(text: &str) -> Analysis {
    let tree = Arc::new(ohmline_syntax::parse(&Arc::from(text)));
    let findings = ohmline_lint::Settings { not_met: vec![ohmline_lint::Topic::Equations], ..Default::default() };
    let settings = Settings { findings, ..Settings::default() };
    analyze(load("harbour.ohmline", None, tree, &Disk), &settings)
}

#[test]
fn what_takes_equations_is_left_in_random_circuits() {
    let (mut proved, mut bare) = (BTreeMap::new(), BTreeMap::new());
    for seed in 0..600 {
        let mut random = Random::new(seed + 1);
        let mut text = String::new();
        let junctions = 3 + random.below(3);
        for number in 1..=4 + random.below(5) {
            let (from, to) = (random.below(junctions), random.below(junctions));
            let (declared, item) = match random.below(8) {
                0 => (format!("battery B{number} = {number} V"), format!("+B{number}-")),
                1 => (format!("battery B{number} = 6 V, internal 1 ohm"), format!("+B{number}-")),
                2 => (format!("source J{number} = 2 A"), format!("+J{number}-")),
                3 => (format!("ammeter A{number}"), format!("+A{number}-")),
                _ => (format!("resistor R{number} = {number} ohm"), format!("R{number}")),
            };
            let name = item.trim_matches(['+', '-']);
            let _ = writeln!(text, "{declared}\n@j{from} -- {item} -- @j{to}\nfind current through {name}");
        }
        check(&analyzed_for_a_class(&text), &mut proved, &mut bare);
    }
    assert!(!bare.contains_key("beyond-class") && proved["beyond-class"] >= 100, "{proved:?}, without {bare:?}");
}

/// Draws a circuit in which anything may be wrong: elements between few junctions, many of them without resistance, claims about any pair.
fn draw(random: &mut Random) -> String {
    let mut text = String::new();
    let junctions = 2 + random.below(5);
    let count = 2 + random.below(8);
    let mut names: Vec<String> = Vec::new();
    let mut switches: Vec<String> = Vec::new();
    for number in 1..=count {
        let junction = |random: &mut Random| {
            // Now and then one that nothing else is joined to.
            match random.below(14) {
                0 => format!("@x{number}"),
                _ => format!("@j{}", random.below(junctions)),
            }
        };
        let (from, to) = (junction(random), junction(random));
        let ohms = [0, 1, 2, 5, 10, 47][random.below(6)];
        let (name, declaration, item) = match random.below(20) {
            0..=2 => (format!("B{number}"), format!("battery B{number} = 6 V"), format!("+B{number}-")),
            3 => (format!("B{number}"), format!("battery B{number} = 9 V, internal 1 ohm"), format!("+B{number}-")),
            4 => (format!("J{number}"), format!("source J{number} = 2 A"), format!("+J{number}-")),
            5 => (format!("A{number}"), format!("ammeter A{number}"), format!("+A{number}-")),
            6 => (format!("V{number}"), format!("voltmeter V{number}"), format!("+V{number}-")),
            7 | 8 => {
                switches.push(format!("S{number}"));
                let way = ["open", "closed"][random.below(2)];
                (format!("S{number}"), format!("switch S{number} = {way}"), format!("S{number}"))
            }
            9 => (format!("C{number}"), format!("capacitor C{number} = 1 uF"), format!("C{number}")),
            10 => (format!("D{number}"), format!("diode D{number} = 0.7 V"), format!("+D{number}-")),
            11 => {
                let third = junction(random);
                let _ = writeln!(text, "changeover W{number} = {}", ["a", "b"][random.below(2)]);
                let _ = writeln!(text, "{from} -- W{number}.common\nW{number}.a -- {to}\nW{number}.b -- {third}");
                names.push(format!("W{number}"));
                continue;
            }
            12 => {
                let third = junction(random);
                let _ = writeln!(text, "potentiometer P{number} = 10 ohm at {}%", [0, 30, 100][random.below(3)]);
                let _ = writeln!(text, "{from} -- P{number}.a\nP{number}.b -- {to}\nP{number}.wiper -- {third}");
                names.push(format!("P{number}"));
                continue;
            }
            _ => (format!("R{number}"), format!("resistor R{number} = {ohms} ohm"), format!("R{number}")),
        };
        let _ = writeln!(text, "{declaration}\n{from} -- {item} -- {to}");
        names.push(name);
    }
    if random.below(4) == 0 {
        let _ = writeln!(text, "@j0 -- @j1");
    }
    if let Some(switch) = switches.first().filter(|_| random.below(2) == 0) {
        let _ = writeln!(text, "case \"night\": {switch} = {}", ["open", "closed"][random.below(2)]);
    } else if random.below(4) == 0 {
        let _ = writeln!(text, "case \"night\": {} = {}", random.pick(&names), ["open", "shorted"][random.below(2)]);
    }
    for _ in 0..random.below(4) {
        let (one, other) = (random.pick(&names).clone(), random.pick(&names).clone());
        let relation = ["series", "parallel"][random.below(2)];
        if one != other {
            let third = random.pick(&names).clone();
            let bracket = random.below(4) == 0 && third != one && third != other;
            let one = if bracket { format!("({one}, {third})") } else { one };
            let _ = writeln!(text, "claim {one}, {other} in {relation}");
        }
    }
    if random.below(4) == 0 {
        let _ = writeln!(text, "find resistance between @j0 and @j1");
    }
    if random.below(3) == 0 {
        let _ = writeln!(text, "find current through {}", random.pick(&names));
    }
    text
}

#[test]
fn every_proof_in_random_circuits_is_true() {
    let (mut proved, mut bare) = (BTreeMap::new(), BTreeMap::new());
    for seed in 0..1_200 {
        let text = draw(&mut Random::new(seed + 1));
        check(&analyzed(None, &text), &mut proved, &mut bare);
    }
    let rules = ["dead-branch", "false-claim", "open-end", "shorted-element", "shorted-source", "source-conflict"];
    for rule in rules.into_iter().chain(["split-series", "undecided-share", "undriven-loop", "undetermined-answer"]) {
        assert!(proved.get(rule).is_some_and(|count| *count >= 10), "{rule}: {proved:?}");
    }
    for rule in PROVED {
        assert!(!bare.contains_key(rule), "{rule}: {proved:?}, without {bare:?}");
    }
}

/// Draws resistances of few sizes between few junctions, with batteries and closed switches or without, asks between junctions, and claims of
/// pairs that they stand in series or in parallel.
fn draw_resistances(random: &mut Random) -> String {
    let junctions = 4 + random.below(3);
    let mut text = String::new();
    let mut names: Vec<String> = Vec::new();
    for number in 1..=5 + random.below(7) {
        let (from, to) = (random.below(junctions), random.below(junctions));
        match random.below(10) {
            2 => {
                names.push(format!("S{number}"));
                let _ = writeln!(text, "switch S{number} = closed\n@j{from} -- S{number} -- @j{to}");
            }
            0 => {
                let _ = writeln!(text, "battery B{number} = 6 V\n@j{from} -- +B{number}- -- @j{to}");
            }
            1 => {
                let _ = writeln!(text, "battery B{number} = 6 V, internal 1 ohm\n@j{from} -- +B{number}- -- @j{to}");
            }
            _ => {
                names.push(format!("R{number}"));
                let ohms = 1 + random.below(2);
                let _ = writeln!(text, "resistor R{number} = {ohms} ohm\n@j{from} -- R{number} -- @j{to}");
            }
        }
    }
    for (at, one) in names.iter().enumerate() {
        for other in &names[at + 1..] {
            if random.below(5) > 0 {
                continue;
            }
            let _ = writeln!(text, "claim {one}, {other} in {}", ["series", "parallel"][random.below(2)]);
        }
    }
    for (from, to) in [(0, 1), (0, 2), (1, 3)] {
        // Without a question a battery alone drives.
        if random.below(4) == 0 {
            continue;
        }
        if random.below(3) == 0 {
            let group = ["( R0 | @k )", "( R0 -- R00 | @k | +B0- )", "( R0 -- @m -- R00 | @k )", "@k"][random.below(4)];
            let group = group.replace('0', &format!("0{from}{to}")).replace('k', &format!("k{to}"));
            let names = "resistor R0, R00 = 5 ohm\nbattery B0 = 3 V".replace('0', &format!("0{from}{to}"));
            let _ = writeln!(text, "{names}");
            let _ = writeln!(text, "@j{from} -- {group} -- @j{to}");
        }
        let _ = writeln!(text, "find resistance between @j{from} and @j{to}");
    }
    text
}

#[test]
fn what_is_left_and_what_balances_is_so_in_random_resistances() {
    let (mut proved, mut bare) = (BTreeMap::new(), BTreeMap::new());
    for seed in 0..800 {
        check(&analyzed(None, &draw_resistances(&mut Random::new(seed + 1))), &mut proved, &mut bare);
    }
    for rule in PROVED {
        assert!(!bare.contains_key(rule), "{rule}: {proved:?}, without {bare:?}");
    }
    for rule in ["balanced-bridge", "not-reducible", "same-points", "shorted-group"] {
        assert!(proved.get(rule).is_some_and(|count| *count >= 10), "{rule}: {proved:?}");
    }
}

/// A battery that a switch and a fuse short, but only at night.
const SHORTED: &str = "battery B1 = 6 V, internal 0.2 ohm\nlamp L1 = 12 ohm\nswitch S1 = open\nfuse F1 = 2 A\n\
    B1+ -- L1 -- B1-\nB1+ -- S1 -- F1 -- @quay -- B1-\ncase \"night\": S1 = closed\n";

#[test]
fn the_terminal_proves_what_it_is_asked_to() {
    let output = ohmline(&["check", "--explain", "-"], SHORTED);
    let text = String::from_utf8(output.stdout).expect("text");
    let proof = "  proof: a closed path, in \"night\"\n\
                 \u{20}        From B1+ through S1 (closed) to the point between S1 and F1\n\
                 \u{20}        On through F1 to B1-\n\
                 \u{20}        Back through B1 (6.00 V up) to B1+\n\
                 \u{20}        There is no resistance on the way but inside B1\n";
    assert!(text.contains(proof), "{text}");
    let output = ohmline(&["check", "-"], SHORTED);
    assert!(!String::from_utf8_lossy(&output.stdout).contains("proof"));
}

#[test]
fn json_holds_every_step_with_its_place() {
    let output = ohmline(&["check", "--format", "json", "-"], SHORTED);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let all = json["diagnostics"].as_array().expect("a list");
    let found = all.iter().find(|one| one["rule"] == "shorted-source").expect("it is found");
    let proof = &found["evidence"];
    assert_eq!((&proof["kind"], &proof["case"]), (&"loop".into(), &"night".into()));
    let steps = proof["steps"].as_array().expect("a list");
    let names: Vec<_> = steps.iter().map(|step| step["element"].as_str().expect("a name")).collect();
    assert_eq!(names, ["S1", "F1", "B1"]);
    let points: Vec<_> = steps.iter().map(|step| step["point"].as_str().expect("a name")).collect();
    assert_eq!(points, ["between S1 and F1", "@quay", "B1+"]);
    assert_eq!(steps[0]["start"], serde_json::json!({ "line": 6, "column": 8 }));
    assert_eq!(steps[0]["end"], serde_json::json!({ "line": 6, "column": 10 }));
    assert_eq!(steps[0]["file"], found["file"]);
    assert!(proof.get("sides").is_none());

    let dead = "battery B1, B2 = 6 V\nresistor R1, R2, R5 = 12 ohm\n\
        B1+ -- @red -- R1 -- B1-\nB2+ -- @green -- R2 -- B2-\n@red -- R5 -- @green\n";
    let output = ohmline(&["check", "--format", "json", "-"], dead);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let found = json["diagnostics"].as_array().expect("a list").iter().find(|one| one["rule"] == "dead-branch");
    let proof = &found.expect("it is found")["evidence"];
    assert_eq!(proof["kind"], "cut");
    let sides = serde_json::json!([
        { "elements": ["B1", "R1"], "more": 0, "points": ["@red"] },
        { "elements": ["B2", "R2"], "more": 0, "points": ["@green"] },
    ]);
    assert_eq!(proof["sides"], sides);
}

#[test]
fn hover_proves_what_is_found_at_a_place() {
    const URI: &str = "file:///harbour/quay.ohmline";
    let mut session = Session::start(able());
    session.open(URI, 1, SHORTED);
    session.published(URI);
    let told = session.hover(URI, 4, 1);
    assert!(told.contains("Proof, a closed path, in"), "{told}");
    assert!(told.contains("1. From B1\\+ through S1") || told.contains("1. From B1+ through S1"), "{told}");
    assert!(told.contains("There is no resistance on the way but inside B1."), "{told}");
    // The lamp is sound, so there is nothing to prove.
    assert!(!session.hover(URI, 1, 6).contains("Proof"), "{told}");
}
