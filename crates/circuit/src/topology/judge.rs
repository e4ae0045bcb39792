//! Judging claims about series and parallel.

use ohmline_syntax::tree::Relation;

use super::nature::Nature;
use super::{Evidence, How, NONE, RelationVerdict, Topology};
use crate::model::{Circuit, ElementId};

impl Topology {
    /// Judges `claim E1, E2 in series` or `in parallel`; each member is one element or a branch of several.
    ///
    /// A single member in brackets is judged as if its elements had been listed. A member whose elements are all in parallel with each
    /// other is the group that they form: one thing between two points.
    pub fn judge(&self, circuit: &Circuit, relation: Relation, members: &[Vec<ElementId>]) -> RelationVerdict {
        if let [only] = members {
            let members: Vec<Vec<ElementId>> = only.iter().map(|&element| vec![element]).collect();
            let verdict = self.judge_members(circuit, relation, &members);
            return RelationVerdict { pair: (0, 0), ..verdict };
        }
        self.judge_members(circuit, relation, members)
    }

    fn judge_members(&self, circuit: &Circuit, relation: Relation, members: &[Vec<ElementId>]) -> RelationVerdict {
        if members.len() < 2 || members.iter().any(Vec::is_empty) {
            return no((0, 1), Evidence::Apart);
        }
        if members.iter().any(|member| self.is_group(member)) {
            return self.judge_groups(circuit, relation, members);
        }
        match relation {
            Relation::Series => self.judge_series(circuit, members),
            Relation::Parallel => self.judge_parallel(circuit, members),
        }
    }

    /// Whether several elements are all in parallel with each other.
    fn is_group(&self, member: &[ElementId]) -> bool {
        let class = |element: &ElementId| self.parallels.element.get(element.index()).copied().unwrap_or(NONE);
        let [first, rest @ ..] = member else { return false };
        let own = class(first);
        own != NONE
            && !rest.is_empty()
            && !member.iter().any(|element| self.bridged.contains(element))
            && rest.iter().all(|other| other != first && class(other) == own)
    }

    /// Judges a claim that speaks of groups in parallel as wholes: of each group one element stays and stands for all of it.
    ///
    /// A group of a larger parallel class is not in series with what carries the whole current, and this shows as well: what the claim
    /// leaves out stays beside the one that stands for the group.
    fn judge_groups(&self, circuit: &Circuit, relation: Relation, members: &[Vec<ElementId>]) -> RelationVerdict {
        let mut natures = self.natures.clone();
        let mut wholes = Vec::with_capacity(members.len());
        for member in members {
            if self.is_group(member) {
                for &element in &member[1..] {
                    circuit.branches_of(element).for_each(|branch| natures[branch.index()] = Nature::Removed);
                }
                wholes.push(vec![member[0]]);
            } else {
                wholes.push(member.clone());
            }
        }
        let verdict =
            Self::of(circuit, natures, self.bridged.iter().copied()).judge_members(circuit, relation, &wholes);
        let how = if verdict.how == How::Direct && relation == Relation::Series { How::Reduction } else { verdict.how };
        RelationVerdict { how, ..verdict }
    }
}

/// The judgement that a claim does not hold.
pub(super) fn no(pair: (usize, usize), evidence: Evidence) -> RelationVerdict {
    RelationVerdict { how: How::No, pair, evidence }
}

/// The judgement that a claim holds.
pub(super) fn yes(how: How, evidence: Evidence) -> RelationVerdict {
    RelationVerdict { how, pair: (0, 1), evidence }
}

/// A member and another one, in order.
pub(super) fn pair_with(member: usize) -> (usize, usize) {
    if member == 0 { (0, 1) } else { (0, member) }
}
