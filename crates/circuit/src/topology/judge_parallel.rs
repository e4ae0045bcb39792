//! Whether elements or branches stand between the same two points, and what keeps them from it.

use rustc_hash::{FxHashMap, FxHashSet};

use super::judge::{no, pair_with, yes};
use super::nature::Nature;
use super::parallel::{Run, run};
use super::{Evidence, How, Lines, NONE, RelationVerdict, Role, Topology};
use crate::model::{BranchId, Circuit, ElementId, NodeId};

/// Two end points of a member of a claim.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Span {
    /// A node of each end point.
    nodes: (NodeId, NodeId),
    /// The end points.
    points: (u32, u32),
    /// Whether a group had to be replaced by its equivalent.
    reduced: bool,
}

/// Points while some branches of zero resistance, those asked about, are not contracted.
struct Points<'a> {
    topology: &'a Topology,
    /// Branches asked about.
    asked: Vec<BranchId>,
    /// Points of the nodes near them.
    split: FxHashMap<NodeId, u32>,
}

impl<'a> Points<'a> {
    fn new(topology: &'a Topology, circuit: &Circuit, asked: Vec<BranchId>) -> Self {
        let mut split = FxHashMap::default();
        // Points are numbered from 0 and there are fewer than nodes.
        let mut number = circuit.nodes.len() as u32;
        for &branch in &asked {
            if topology.natures[branch.index()] == Nature::Short {
                let place = circuit.branch(branch);
                for node in [place.from, place.to] {
                    if !split.contains_key(&node) {
                        for near in topology.point_nodes(circuit, node, &asked) {
                            split.insert(near, number);
                        }
                        number += 1;
                    }
                }
            }
        }
        Self { topology, asked, split }
    }

    fn of(&self, node: NodeId) -> u32 {
        self.split.get(&node).copied().unwrap_or(self.topology.point[node.index()])
    }

    fn span(&self, from: NodeId, to: NodeId, reduced: bool) -> Span {
        let (a, b) = (self.of(from), self.of(to));
        if a <= b {
            Span { nodes: (from, to), points: (a, b), reduced }
        } else {
            Span { nodes: (to, from), points: (b, a), reduced }
        }
    }
}

impl Topology {
    pub(super) fn judge_parallel(&self, circuit: &Circuit, members: &[Vec<ElementId>]) -> RelationVerdict {
        let bypassed = members.iter().enumerate().find_map(|(number, member)| {
            let idle = |element: &&ElementId| !self.is_live(circuit, **element);
            Some((number, member.iter().filter(idle).find_map(|&element| self.bypassed(circuit, element))?))
        });
        if let Some((number, evidence)) = bypassed {
            // What is asked about is not contracted, so it bypasses nothing.
            let mut natures = self.natures.clone();
            for branch in members.iter().flatten().flat_map(|&element| circuit.branches_of(element)) {
                if natures[branch.index()] == Nature::Short {
                    natures[branch.index()] = Nature::Passive;
                }
            }
            if natures == self.natures {
                return no(pair_with(number), evidence);
            }
            return Self::of(circuit, natures, self.bridged.iter().copied()).judge_parallel(circuit, members);
        }
        if let Some(evidence) = self.one_parallel_class(circuit, members) {
            return yes(How::Direct, evidence);
        }
        let moment = self.compare(circuit, &self.lines, members);
        if moment.how == How::No
            && members.iter().any(|member| member.len() > 1)
            && let Some(steady) = self.steady.as_deref()
        {
            let settled = self.compare(circuit, steady, members);
            if settled.how != How::No {
                return yes(How::SteadyState, settled.evidence);
            }
        }
        moment
    }

    /// Single elements of one parallel class.
    fn one_parallel_class(&self, circuit: &Circuit, members: &[Vec<ElementId>]) -> Option<Evidence> {
        let class_of = |member: &Vec<ElementId>| match member[..] {
            [element] => self.parallels.element[element.index()],
            _ => NONE,
        };
        let class = class_of(&members[0]);
        if class == NONE || members.iter().any(|member| class_of(member) != class) {
            return None;
        }
        let (from, to) = match self.run(circuit, &self.lines, members[0][0])? {
            Run::Branch(branch) => (circuit.branch(branch).from, circuit.branch(branch).to),
            Run::Through(first, second) => (circuit.branch(first).from, circuit.branch(second).to),
        };
        Some(Evidence::Between(from, to))
    }

    fn run(&self, circuit: &Circuit, lines: &Lines, element: ElementId) -> Option<Run> {
        run(circuit, element, |branch| self.role[branch] == Role::Shorted, lines)
    }

    fn compare(&self, circuit: &Circuit, lines: &Lines, members: &[Vec<ElementId>]) -> RelationVerdict {
        let asked = members.iter().flatten().flat_map(|&element| circuit.branches_of(element)).collect();
        let points = Points::new(self, circuit, asked);
        let mut spans = Vec::new();
        for (number, member) in members.iter().enumerate() {
            match self.spans(circuit, lines, &points, member) {
                Ok(found) => spans.push(found),
                Err(evidence) => return no(pair_with(number), evidence),
            }
        }
        let shared = |member: &Vec<Span>, points: (u32, u32)| member.iter().copied().find(|span| span.points == points);
        for &candidate in &spans[0] {
            let matches: Option<Vec<Span>> = spans.iter().map(|member| shared(member, candidate.points)).collect();
            if let Some(matches) = matches {
                let how = if matches.iter().any(|span| span.reduced) { How::Reduction } else { How::Direct };
                return yes(how, Evidence::Between(candidate.nodes.0, candidate.nodes.1));
            }
        }
        for second in 1..members.len() {
            for first in 0..second {
                if !spans[first].iter().any(|span| shared(&spans[second], span.points).is_some()) {
                    let (one, other) = (spans[first][0], spans[second][0]);
                    let evidence =
                        self.why_not_parallel(circuit, &points, (&members[first], one), (&members[second], other));
                    return no((first, second), evidence);
                }
            }
        }
        no((0, 1), Evidence::Apart)
    }

    /// Between which points a member of a claim stands. A ring of two stretches can be read either way round, hence several.
    fn spans(
        &self,
        circuit: &Circuit,
        lines: &Lines,
        points: &Points<'_>,
        member: &[ElementId],
    ) -> Result<Vec<Span>, Evidence> {
        for &element in member {
            let removed = |branch: BranchId| self.natures[branch.index()] == Nature::Removed;
            let mut branches = circuit.branches_of(element);
            if !circuit.element(element).is_placed() || branches.all(removed) {
                return Err(Evidence::Idle(element));
            }
        }
        if let [element] = *member {
            let (from, to) = match self.run(circuit, lines, element) {
                Some(Run::Branch(branch)) => (circuit.branch(branch).from, circuit.branch(branch).to),
                Some(Run::Through(first, second)) => (circuit.branch(first).from, circuit.branch(second).to),
                None => {
                    let idle = self.no_current(circuit, element);
                    return Err(idle.unwrap_or_else(|| Evidence::NoBranch(vec![element])));
                }
            };
            let span = points.span(from, to, false);
            if span.points.0 == span.points.1 {
                let by = self.zero_path(circuit, from, to, |branch| !points.asked.contains(&branch));
                let by = by.unwrap_or_default().into_iter().map(|branch| circuit.branch(branch).element).collect();
                return Err(Evidence::ShortedBy(element, by));
            }
            return Ok(vec![span]);
        }
        let mut branches = Vec::new();
        for &element in member {
            let before = branches.len();
            branches.extend(circuit.branches_of(element).filter(|branch| lines.live[branch.index()]));
            if branches.len() == before {
                return Err(self.no_current(circuit, element).unwrap_or(Evidence::Idle(element)));
            }
        }
        branches.sort_unstable();
        branches.dedup();
        let class = lines.reduced[branches[0].index()];
        let one_class = class != NONE && branches.iter().all(|branch| lines.reduced[branch.index()] == class);
        let found = if one_class {
            self.stretches(circuit, lines, points, &branches, class)?
        } else {
            self.composite(circuit, lines, points, &branches).into_iter().collect()
        };
        match (found.is_empty(), one_class) {
            (false, _) => Ok(found),
            (true, true) => Err(Evidence::Closed(member.to_vec())),
            (true, false) => Err(Evidence::NoBranch(member.to_vec())),
        }
    }

    /// Branches of one current: the stretches of their ring that have nothing but them, groups and branches of zero resistance.
    fn stretches(
        &self,
        circuit: &Circuit,
        lines: &Lines,
        points: &Points<'_>,
        branches: &[BranchId],
        class: u32,
    ) -> Result<Vec<Span>, Evidence> {
        let ring = self.ring(circuit, lines, class);
        let wanted: FxHashSet<BranchId> = branches.iter().copied().collect();
        let asked: Vec<usize> = (0..ring.len()).filter(|&place| wanted.contains(&ring[place].branch)).collect();
        let mut found = Vec::new();
        let mut incomplete: Option<(bool, Vec<ElementId>)> = None;
        for (turn, &first) in asked.iter().enumerate() {
            let last = match turn {
                0 => asked[asked.len() - 1],
                _ => asked[turn - 1] + ring.len(),
            };
            let steps: Vec<_> = (first..=last).map(|place| &ring[place % ring.len()]).collect();
            // Branches of zero resistance side by side are a point, not a group.
            let reduced = steps[..steps.len() - 1]
                .iter()
                .any(|step| step.nodes.iter().any(|&node| self.point[node.index()] != self.point[step.leaves.index()]));
            let missing = steps
                .iter()
                .any(|step| !wanted.contains(&step.branch) && self.natures[step.branch.index()] != Nature::Short);
            if missing {
                let whole = (reduced, steps.iter().map(|step| circuit.branch(step.branch).element).collect::<Vec<_>>());
                if incomplete.as_ref().is_none_or(|known| (whole.0, whole.1.len()) < (known.0, known.1.len())) {
                    incomplete = Some(whole);
                }
                continue;
            }
            let span = points.span(steps[0].enters, steps[steps.len() - 1].leaves, reduced);
            if span.points.0 != span.points.1 {
                found.push(span);
            }
        }
        // Where the elements stand in one plain chain with others between them, nobody means the way round over everything else.
        let plain = found.iter().any(|span| !span.reduced);
        match incomplete {
            Some((reduced, branch)) if found.is_empty() || !reduced && !plain => {
                let mut members: Vec<ElementId> =
                    branches.iter().map(|&branch| circuit.branch(branch).element).collect();
                members.dedup();
                let mut missing = self.without_shorts(circuit, branch);
                missing.retain(|element| !members.contains(element));
                Err(Evidence::Incomplete { members, missing })
            }
            _ => Ok(found),
        }
    }

    /// Branches that together touch the rest at two points only, groups in series: a point between the two ends parts them.
    fn composite(&self, circuit: &Circuit, lines: &Lines, points: &Points<'_>, branches: &[BranchId]) -> Option<Span> {
        let inside: FxHashSet<BranchId> = branches.iter().copied().collect();
        let mut touched: FxHashMap<u32, (NodeId, Vec<u32>)> = FxHashMap::default();
        for &branch in branches {
            let place = circuit.branch(branch);
            let (a, b) = (points.of(place.from), points.of(place.to));
            touched.entry(a).or_insert((place.from, Vec::new())).1.push(b);
            touched.entry(b).or_insert((place.to, Vec::new())).1.push(a);
        }
        let mut borders: Vec<(u32, NodeId)> = touched
            .iter()
            .filter(|&(&point, &(node, _))| {
                self.point_nodes(circuit, node, &points.asked).into_iter().any(|near| {
                    self.live_steps(circuit, lines, near).into_iter().any(|(branch, other)| match branch {
                        Some(branch) => !inside.contains(&branch) && points.of(other) != point,
                        None => true,
                    })
                })
            })
            .map(|(&point, &(node, _))| (point, node))
            .collect();
        borders.sort_unstable();
        let &[(from, from_node), (to, to_node)] = &borders[..] else { return None };
        let reaches = |without: Option<u32>| {
            let mut seen = FxHashSet::from_iter([from]);
            let mut stack = vec![from];
            while let Some(point) = stack.pop() {
                for &next in &touched[&point].1 {
                    if Some(next) != without && seen.insert(next) {
                        stack.push(next);
                    }
                }
            }
            seen
        };
        let all = reaches(None);
        let parted = touched
            .keys()
            .filter(|&&point| point != from && point != to)
            .any(|&point| !reaches(Some(point)).contains(&to));
        (all.len() == touched.len() && parted).then(|| points.span(from_node, to_node, true))
    }

    /// What keeps two members from standing side by side.
    fn why_not_parallel(
        &self,
        circuit: &Circuit,
        points: &Points<'_>,
        one: (&[ElementId], Span),
        other: (&[ElementId], Span),
    ) -> Evidence {
        // A branch that runs through a source is no help to whoever asks about loads side by side.
        let chain_of = |member: &[ElementId]| match *member {
            [element] => self.branch_chain(circuit, element).filter(|chain| {
                let source = |&other: &ElementId| circuit.element(other).kind.is_source();
                chain.elements.len() > 1 && (source(&element) || !chain.elements.iter().any(source))
            }),
            _ => None,
        };
        let (chain_one, chain_other) = (chain_of(one.0), chain_of(other.0));
        if let ([a], [b]) = (one.0, other.0)
            && let Some((How::Direct, chain @ Evidence::Chain(_))) = self.one_current(circuit, &[*a, *b])
        {
            return chain;
        }
        let ends = |chain: &Option<super::Chain>| {
            chain.as_ref().map(|chain| points.span(chain.from(), chain.to(), false).points)
        };
        let branch = |chain: &super::Chain, element: ElementId| {
            let mut branch = self.without_shorts(circuit, chain.elements.clone());
            if !branch.contains(&element) {
                branch.push(element);
                branch.sort_unstable();
            }
            branch
        };
        if let (Some(chain), true) = (&chain_one, ends(&chain_one) == Some(other.1.points)) {
            return Evidence::PartOfBranch { element: one.0[0], branch: branch(chain, one.0[0]) };
        }
        if let (Some(chain), true) = (&chain_other, ends(&chain_other) == Some(one.1.points)) {
            return Evidence::PartOfBranch { element: other.0[0], branch: branch(chain, other.0[0]) };
        }
        if let (Some(chain), Some(beside), true) = (&chain_one, &chain_other, ends(&chain_one) == ends(&chain_other)) {
            return Evidence::PartsOfBranches(branch(chain, one.0[0]), branch(beside, other.0[0]));
        }
        let (a, b) = (one.1, other.1);
        for (shared, rest) in [(a.nodes.0, a.nodes.1), (a.nodes.1, a.nodes.0)] {
            for (also, other_rest) in [(b.nodes.0, b.nodes.1), (b.nodes.1, b.nodes.0)] {
                if points.of(shared) == points.of(also) {
                    return Evidence::OneShared { shared, others: (rest, other_rest) };
                }
            }
        }
        Evidence::Apart
    }

    /// The elements of a branch that have resistance, which a claim has to list, in text order.
    fn without_shorts(&self, circuit: &Circuit, mut elements: Vec<ElementId>) -> Vec<ElementId> {
        elements.retain(|&element| {
            circuit
                .branches_of(element)
                .any(|branch| self.lines.live[branch.index()] && self.natures[branch.index()] != Nature::Short)
        });
        elements.sort_unstable();
        elements.dedup();
        elements
    }

    /// All nodes of the point of `node` when the branches asked about are not contracted.
    pub(super) fn point_nodes(&self, circuit: &Circuit, node: NodeId, asked: &[BranchId]) -> Vec<NodeId> {
        let mut nodes = vec![node];
        let mut seen = FxHashSet::from_iter([node]);
        let mut head = 0;
        while head < nodes.len() {
            for (branch, next) in self.zero_steps(circuit, nodes[head]) {
                if !asked.contains(&branch) && seen.insert(next) {
                    nodes.push(next);
                }
            }
            head += 1;
        }
        nodes
    }
}
