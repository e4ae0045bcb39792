//! What is said about a claim of series or parallel.

use crate::model::{ElementId, NodeId};

/// How elements stand as a claim says.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum How {
    /// As drawn.
    Direct,
    /// Once groups are replaced by equivalents.
    Reduction,
    /// Only since a capacitor carries nothing any more.
    SteadyState,
    /// Not at all.
    No,
}

impl How {
    /// The word of the JSON.
    pub const fn word(self) -> &'static str {
        match self {
            How::Direct => "direct",
            How::Reduction => "reduction",
            How::SteadyState => "steady-state",
            How::No => "no",
        }
    }
}

/// Why elements do or do not stand as claimed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Evidence {
    /// Direct series: the chain of points that joins them. Of a claim of parallel that fails: they are in series instead.
    Chain(Vec<NodeId>),
    /// One current, though groups stand between: the elements of the groups.
    Through(Vec<ElementId>),
    /// Parallel: both run between these points. Of a claim of series that fails: they are in parallel instead.
    Between(NodeId, NodeId),
    /// They meet at this point, but these others join there, so current can divide.
    ThirdWire {
        /// Where they meet.
        at: NodeId,
        /// What else joins there and can carry current; nothing when the point is one of two that a question lets current in and out at.
        others: Vec<ElementId>,
    },
    /// They share no point, and no cut shows that they carry one current.
    Apart,
    /// They share one point; these are the other two.
    OneShared {
        /// The shared point.
        shared: NodeId,
        /// The other end of each.
        others: (NodeId, NodeId),
    },
    /// This element of a claim stands in parallel only together with its series partners: the branch to claim instead.
    PartOfBranch {
        /// The element claimed.
        element: ElementId,
        /// The whole branch that does stand in parallel.
        branch: Vec<ElementId>,
    },
    /// This element carries no current at all (dead or taken out), so it belongs to no class.
    Idle(ElementId),
    /// Both ends of this element are one point, joined by these.
    ShortedBy(ElementId, Vec<ElementId>),
    /// This element is one of a part that carries nothing, since something joins all points at which it meets what is driven.
    Bypassed {
        /// The element claimed.
        element: ElementId,
        /// The whole part.
        part: Vec<ElementId>,
        /// What joins its ends, without resistance.
        by: Vec<ElementId>,
    },
    /// The elements in brackets are no branch: they are not in series with each other. A single element: it is joined at three points.
    NoBranch(Vec<ElementId>),
    /// The elements in brackets are a closed path of their own: a branch that ends where it begins.
    Closed(Vec<ElementId>),
    /// The elements in brackets are in series, but these stand between them: without them they are no branch.
    Incomplete {
        /// The elements in brackets.
        members: Vec<ElementId>,
        /// What stands between them.
        missing: Vec<ElementId>,
    },
    /// Neither element stands in parallel to anything alone: each is part of a branch, and the two branches are in parallel.
    PartsOfBranches(Vec<ElementId>, Vec<ElementId>),
    /// They carry one current since these capacitors carry nothing any more.
    Settled(Vec<ElementId>),
}

/// The judgement of a claim about series or parallel.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct RelationVerdict {
    /// How it holds.
    pub how: How,
    /// The first two members for which it does not hold, as indices into the claim's members; (0, 1) when it holds.
    pub pair: (usize, usize),
    /// Why.
    pub evidence: Evidence,
}
