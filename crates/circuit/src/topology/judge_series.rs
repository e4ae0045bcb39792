//! Whether elements carry one current, and what keeps them from it.

use super::judge::{no, pair_with, yes};
use super::nature::Nature;
use super::ring::Step;
use super::{Evidence, How, Lines, NONE, RelationVerdict, Role, Topology};
use crate::model::{BranchId, Circuit, ElementId, NodeId};

impl Topology {
    pub(super) fn judge_series(&self, circuit: &Circuit, members: &[Vec<ElementId>]) -> RelationVerdict {
        for (number, member) in members.iter().enumerate() {
            for &element in member {
                if let Some(evidence) = self.no_current(circuit, element) {
                    return no(pair_with(number), evidence);
                }
            }
        }
        let mut elements: Vec<ElementId> = members.iter().flatten().copied().collect();
        elements.sort_unstable();
        elements.dedup();
        if let Some((how, evidence)) = self.one_current(circuit, &elements) {
            return yes(how, evidence);
        }
        for (number, member) in members.iter().enumerate() {
            if member.len() > 1 && self.one_current(circuit, member).is_none() {
                return no(pair_with(number), Evidence::NoBranch(member.clone()));
            }
        }
        for second in 1..members.len() {
            for first in 0..second {
                // Each member carries one current by now, so any element speaks for it; those that meet say most.
                let both: Vec<ElementId> = members[first].iter().chain(&members[second]).copied().collect();
                if self.one_current(circuit, &both).is_none() {
                    let met = members[first]
                        .iter()
                        .flat_map(|&one| members[second].iter().map(move |&other| (one, other)))
                        .map(|(one, other)| self.why_not_series(circuit, one, other))
                        .find(|evidence| *evidence != Evidence::Apart);
                    return no((first, second), met.unwrap_or(Evidence::Apart));
                }
            }
        }
        no((0, 1), Evidence::Apart)
    }

    /// Why an element carries no current at any moment, if so.
    pub(super) fn no_current(&self, circuit: &Circuit, element: ElementId) -> Option<Evidence> {
        if self.is_live(circuit, element) {
            return None;
        }
        let shorted = circuit
            .branches_of(element)
            .filter(|branch| {
                let capacitor = self.natures[branch.index()] == Nature::Capacitor;
                capacitor || self.role[branch.index()] == Role::Shorted
            })
            .find_map(|branch| self.shorted_by(circuit, branch));
        Some(match shorted {
            Some(by) => Evidence::ShortedBy(element, by),
            None => self.bypassed(circuit, element).unwrap_or(Evidence::Idle(element)),
        })
    }

    /// What leads past an element, if it is one of a part that is bypassed as a whole.
    pub(super) fn bypassed(&self, circuit: &Circuit, element: ElementId) -> Option<Evidence> {
        let number = circuit.branches_of(element).find_map(|branch| self.bypass.block.get(&branch.0))?;
        let block = &self.bypass.blocks[*number];
        let mut part: Vec<ElementId> = block.iter().map(|&branch| circuit.branch(BranchId(branch)).element).collect();
        part.sort_unstable();
        part.dedup();
        let mut nodes: Vec<NodeId> = block
            .iter()
            .map(|&branch| circuit.branch(BranchId(branch)))
            .flat_map(|place| [place.from, place.to])
            .collect();
        nodes.sort_unstable_by_key(|node| (self.point[node.index()], *node));
        nodes.dedup();
        let one_point = |a: &NodeId, b: &NodeId| self.point[a.index()] == self.point[b.index()];
        let groups: Vec<&[NodeId]> = nodes.chunk_by(one_point).filter(|nodes| nodes.len() > 1).collect();
        // Of the points made of several nodes, the one at which something else comes in; inside a part others may be.
        let met = |nodes: &&&[NodeId]| {
            let near = self.point_nodes(circuit, nodes[0], &[]);
            near.into_iter().flat_map(|node| self.live_steps(circuit, &self.lines, node)).any(|(branch, other)| {
                branch.is_none_or(|branch| self.natures[branch.index()] != Nature::Short)
                    && !one_point(&other, &nodes[0])
            })
        };
        let nodes = groups.iter().find(met).or(groups.first())?;
        let by = self.joined_by(circuit, nodes[0], nodes[nodes.len() - 1])?;
        Some(Evidence::Bypassed { element, part, by })
    }

    /// How these elements carry one current, if they do.
    pub(super) fn one_current(&self, circuit: &Circuit, elements: &[ElementId]) -> Option<(How, Evidence)> {
        let first = *elements.first()?;
        let one_class = |lines: &Lines, classes: &[u32]| {
            let class = self.class_of(circuit, lines, classes, first);
            (class != NONE && elements.iter().all(|&element| self.class_of(circuit, lines, classes, element) == class))
                .then_some(class)
        };
        if elements.iter().all(|&element| element == first) {
            return Some((How::Direct, Evidence::Chain(Vec::new())));
        }
        if let Some(chain) = one_class(&self.lines, &self.series) {
            return Some((How::Direct, Evidence::Chain(self.points_between(circuit, chain, elements))));
        }
        if let Some(class) = one_class(&self.lines, &self.series_reduced) {
            let ring = self.ring(circuit, &self.lines, class);
            let mut between: Vec<ElementId> =
                arc(circuit, &ring, elements).iter().flat_map(|step| step.group.iter().copied()).collect();
            between.sort_unstable();
            between.dedup();
            return Some((How::Reduction, Evidence::Through(between)));
        }
        let steady = self.steady.as_deref()?;
        let class = one_class(steady, &steady.reduced)?;
        let ring = self.ring(circuit, steady, class);
        let mut capacitors: Vec<ElementId> = arc(circuit, &ring, elements)
            .iter()
            .flat_map(|step| &step.nodes)
            .flat_map(|&node| self.live_steps(circuit, &self.lines, node))
            .filter_map(|(branch, _)| branch.filter(|branch| self.natures[branch.index()] == Nature::Capacitor))
            .map(|branch| circuit.branch(branch).element)
            .collect();
        capacitors.sort_unstable();
        capacitors.dedup();
        Some((How::SteadyState, Evidence::Settled(capacitors)))
    }

    /// The nodes of a chain from the first to the last of the given elements; round a closed chain, the shorter way.
    fn points_between(&self, circuit: &Circuit, chain: u32, elements: &[ElementId]) -> Vec<NodeId> {
        let chain = self.chain(circuit, chain);
        let asked: Vec<usize> =
            (0..chain.elements.len()).filter(|&place| elements.contains(&chain.elements[place])).collect();
        let closed = chain.from() == chain.to() && self.lines.degree[chain.from().index()] == 2;
        let (first, last) = stretch(&asked, chain.elements.len(), closed);
        (first..last).map(|place| chain.nodes[place % chain.elements.len() + 1]).collect()
    }

    /// What keeps two elements that carry current from carrying one current.
    fn why_not_series(&self, circuit: &Circuit, one: ElementId, other: ElementId) -> Evidence {
        let parallel = |element: ElementId| self.parallels.element.get(element.index()).copied().unwrap_or(NONE);
        if parallel(one) != NONE
            && parallel(one) == parallel(other)
            && let Some(branch) = circuit.branches_of(one).find(|branch| self.lines.live[branch.index()])
        {
            let place = circuit.branch(branch);
            return Evidence::Between(place.from, place.to);
        }
        let (arms_one, arms_other) = (self.arms(circuit, one), self.arms(circuit, other));
        let own = |element: ElementId| -> Vec<NodeId> {
            circuit
                .branches_of(element)
                .filter(|branch| self.lines.live[branch.index()])
                .flat_map(|branch| [circuit.branch(branch).from, circuit.branch(branch).to])
                .collect()
        };
        let far = |arms: &[Arm]| -> Vec<NodeId> { arms.iter().flat_map(|arm| arm.ends).collect() };
        let meeting = |(ends, others): &(Vec<NodeId>, Vec<NodeId>), same: &dyn Fn(NodeId, NodeId) -> bool| {
            ends.iter().copied().find(|&node| others.iter().any(|&other| same(node, other)))
        };
        let node = |a: NodeId, b: NodeId| a == b;
        let point = |a: NodeId, b: NodeId| self.point[a.index()] == self.point[b.index()];
        // The elements themselves first, then the ends of their chains; where no drawn node is shared, the point that branches of zero
        // resistance make of several nodes may be.
        let (near, far) = ((own(one), own(other)), (far(&arms_one), far(&arms_other)));
        let (at, near) = if let Some(at) = meeting(&near, &node) {
            (at, vec![at])
        } else if let Some(at) = meeting(&near, &point) {
            (at, self.point_nodes(circuit, at, &[]))
        } else if let Some(at) = meeting(&far, &node) {
            (at, vec![at])
        } else if let Some(at) = meeting(&far, &point) {
            (at, self.point_nodes(circuit, at, &[]))
        } else {
            return Evidence::Apart;
        };
        let whole_point = near.len() > 1;
        let mut joined: Vec<BranchId> = near
            .iter()
            .flat_map(|&node| self.live_steps(circuit, &self.lines, node))
            .filter_map(|(branch, other_end)| {
                let inside = whole_point && self.point[other_end.index()] == self.point[at.index()];
                branch.filter(|_| !inside)
            })
            .collect();
        joined.sort_unstable();
        joined.dedup();
        let in_arms =
            |branch: &BranchId| arms_one.iter().chain(&arms_other).any(|arm| arm.branches.contains(&branch.0));
        let elements = |keep: &dyn Fn(&BranchId) -> bool| {
            let mut elements: Vec<ElementId> = joined
                .iter()
                .filter(|branch| keep(branch))
                .map(|&branch| circuit.branch(branch).element)
                .filter(|&element| element != one && element != other)
                .collect();
            elements.sort_unstable();
            elements.dedup();
            elements
        };
        let mut others = elements(&|branch| !in_arms(branch));
        let asked = near.iter().copied().find(|&node| self.closing.iter().any(|&(a, b)| a == node || b == node));
        if others.is_empty() && asked.is_none() {
            // Two chains that both bite their tails at this point.
            others = elements(&|_| true);
        }
        if others.is_empty() {
            // Nothing but a question lets current in or out there; else it divides within an element that is joined at three points.
            let three = [one, other].into_iter().find(|&element| {
                circuit.branches_of(element).filter(|branch| self.lines.live[branch.index()]).count() > 1
            });
            return match (asked, three) {
                (Some(at), _) => Evidence::ThirdWire { at, others },
                (None, Some(element)) => Evidence::NoBranch(vec![element]),
                (None, None) => Evidence::Apart,
            };
        }
        // Of a point of several nodes, the one where the first of the others joins.
        let joins = |node: NodeId| {
            let touches = |&element: &ElementId| circuit.element(element).terminals.contains(&node);
            others.first().is_some_and(touches)
        };
        let at = if joins(at) { at } else { near.iter().copied().find(|&node| joins(node)).unwrap_or(at) };
        Evidence::ThirdWire { at, others }
    }

    /// The chains that an element's live branches belong to.
    fn arms(&self, circuit: &Circuit, element: ElementId) -> Vec<Arm> {
        circuit
            .branches_of(element)
            .filter(|branch| self.lines.live[branch.index()])
            .map(|branch| match self.series[branch.index()] {
                NONE => {
                    let place = circuit.branch(branch);
                    Arm { ends: [place.from, place.to], branches: vec![branch.0] }
                }
                chain => {
                    let (from, to) = self.lines.chain_ends[chain as usize];
                    Arm { ends: [NodeId(from), NodeId(to)], branches: self.lines.chains.members(chain).to_vec() }
                }
            })
            .collect()
    }
}

/// A chain as seen from one of its elements.
struct Arm {
    ends: [NodeId; 2],
    branches: Vec<u32>,
}

/// The steps of a ring from the first to the last of the given elements, the last one without what follows it; the way round that leaves out most.
fn arc<'a>(circuit: &Circuit, ring: &'a [Step], elements: &[ElementId]) -> Vec<&'a Step> {
    let asked: Vec<usize> =
        (0..ring.len()).filter(|&place| elements.contains(&circuit.branch(ring[place].branch).element)).collect();
    let (first, last) = stretch(&asked, ring.len(), true);
    (first..last).map(|place| &ring[place % ring.len()]).collect()
}

/// The shortest stretch of places that covers the given ones (ascending): its first and last place, the last beyond `length` where it runs over the
/// end of a closed chain.
pub(super) fn stretch(asked: &[usize], length: usize, closed: bool) -> (usize, usize) {
    let (Some(&first), Some(&last)) = (asked.first(), asked.last()) else { return (0, 0) };
    let mut best = (first, last);
    if closed {
        for pair in asked.windows(2) {
            let candidate = (pair[1], pair[0] + length);
            if candidate.1 - candidate.0 < best.1 - best.0 {
                best = candidate;
            }
        }
    }
    best
}
