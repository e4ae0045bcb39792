//! What proves a finding: what its rule notes down, and the list that is worked out from it when somebody asks.

use crate::span::FileSpan;

/// What a finding rests on: which proof there is, and of what. Elements, nodes and the state are the circuit's, by number, so that a rule
/// notes it down at no cost; the [`Evidence`] is worked out from it only when somebody asks.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Basis {
    /// What kind of proof.
    pub proof: Proof,
    /// The state of the circuit in which the proof is given; 0 is the circuit as drawn.
    pub state: u32,
    /// The elements that the finding is about.
    pub elements: Vec<u32>,
    /// The elements on the other side of the proof; see [`Proof`].
    pub others: Vec<u32>,
    /// The nodes that the finding is about.
    pub nodes: Vec<u32>,
}

/// What is to be shown of the elements and nodes of a [`Basis`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Proof {
    /// A closed path through `elements`, and otherwise through `others` and what joins them, without resistance.
    Short,
    /// A closed path through one of `elements` that leaves out all of `others`: they do not carry one current.
    Detour,
    /// A closed path through all of `elements` and nothing else with resistance.
    Round,
    /// The first of `elements` and the first of `others` are all that carries current between two sides: they carry one current.
    Pair,
    /// The first of `elements` is all that could carry current between two sides, so it carries none.
    Bridge,
    /// What `nodes` begin with and what conducts from there on is one side; nothing takes up the current that is driven across.
    Island,
    /// Between which points each of `elements` and of `others` runs.
    Ends,
    /// What meets at each of `nodes`.
    Meeting,
    /// All that hangs together with the first of `elements`: it has no source.
    Piece,
    /// `elements` are a part without a source; the points at which it meets the rest, beyond which no way leads from one to another.
    Block,
    /// `elements` are parts without a source that meet the rest only at points which something without resistance joins.
    Bypassed,
    /// The first of `elements` lets nothing pass by itself: where its ends are.
    Gap,
    /// What series and parallel leave between the two `nodes`, without `elements`.
    Core,
    /// What is left around the first of `elements` when resistances and sources are put together.
    Driven,
    /// The wires that make one point of two that a question names, at the first of `nodes`.
    Wires,
    /// The first of `elements` has both its ends at one potential.
    Balance,
}

impl Basis {
    /// A proof that speaks of nothing yet, in a state.
    pub fn new(proof: Proof, state: u32) -> Self {
        Self { proof, state, elements: Vec::new(), others: Vec::new(), nodes: Vec::new() }
    }
}

/// An ordered list that proves a finding.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Evidence {
    /// What the list is.
    pub kind: EvidenceKind,
    /// The case in which it is so; `None` for the circuit as drawn.
    pub case: Option<String>,
    /// The list.
    pub steps: Vec<EvidenceStep>,
    /// The two sides of a cut; empty for what is no cut.
    pub sides: Vec<EvidenceSide>,
    /// What follows from it: a sentence without a final period.
    pub conclusion: String,
}

/// What an [`Evidence`] lists.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum EvidenceKind {
    /// A closed path: the way of each step leads through its element to its point, and the last point is where the first step begins.
    Loop,
    /// Each step is an element with one end on either side; no other element has.
    Cut,
    /// Each step is an element that touches a point.
    Points,
    /// Each step with an element and no point is a member, each with a point and no element is a point at which the members meet the rest.
    /// Each with both is an element that joins two of these points without resistance.
    Piece,
    /// Each step with an element is a resistance between two points, each without is a point, with all that meets there.
    Core,
    /// Each step is a wire that goes on where the last one ended.
    Wires,
    /// Two ways between the same two points: the way of each step leads through its element to its point.
    Lines,
}

impl EvidenceKind {
    /// The word of the JSON.
    pub const fn word(self) -> &'static str {
        match self {
            EvidenceKind::Loop => "loop",
            EvidenceKind::Cut => "cut",
            EvidenceKind::Points => "points",
            EvidenceKind::Piece => "piece",
            EvidenceKind::Core => "core",
            EvidenceKind::Wires => "wires",
            EvidenceKind::Lines => "lines",
        }
    }
}

/// A step of an [`Evidence`].
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct EvidenceStep {
    /// Where it stands in the text.
    pub at: FileSpan,
    /// The element, if the step is one: not where wires alone, or a question, close the path.
    pub element: Option<String>,
    /// The point, by the name that people know it by.
    pub point: Option<String>,
    /// The step in words: one line, no final period.
    pub text: String,
}

/// A side of a cut.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct EvidenceSide {
    /// The elements that lie on this side as a whole, in text order; of very many the first.
    pub elements: Vec<String>,
    /// How many elements are left out of the list.
    pub more: usize,
    /// The points of this side that elements of the cut touch.
    pub points: Vec<String>,
}
