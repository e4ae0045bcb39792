//! Judging claims about series and parallel.

use ohmline_syntax::tree::Relation;

use super::{Evidence, How, RelationVerdict, Topology};
use crate::model::{Circuit, ElementId};

impl Topology {
    /// Judges `claim E1, E2 in series` or `in parallel`; each member is one element or a branch of several.
    ///
    /// A single member in brackets is judged as if its elements had been listed.
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
        match relation {
            Relation::Series => self.judge_series(circuit, members),
            Relation::Parallel => self.judge_parallel(circuit, members),
        }
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
