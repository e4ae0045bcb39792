//! The answers: one value for every quantity, or why it has none.

use malachite::Rational;
pub use ohmline_circuit::quantity::Number;
use ohmline_circuit::{ElementId, NodeId, StateId};
use smallvec::SmallVec;

/// Index of a cause in [`StateAnswers::causes`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct CauseId(pub u32);

/// A quantity's answer.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// It has this value.
    Known(Number),
    /// It has no single value; see the cause.
    Undetermined(CauseId),
}

impl Value {
    /// The number, if there is one.
    pub fn known(&self) -> Option<&Number> {
        match self {
            Value::Known(number) => Some(number),
            Value::Undetermined(_) => None,
        }
    }
}

/// Why something has no single value.
#[derive(Clone, PartialEq, Debug)]
pub enum Cause {
    /// Ideal voltages round this loop do not add up to zero (a shorted ideal source is the case of one source): nothing finite fits.
    VoltageLoop {
        /// The elements round the loop, in order; the sources among them are the contradiction.
        elements: Vec<ElementId>,
        /// What the emfs round the loop leave over, in volts.
        excess: Rational,
    },
    /// Ideal current sources feed a part of the circuit that cannot pass the current on.
    CurrentCut {
        /// The current sources across the cut.
        sources: Vec<ElementId>,
        /// A node on the side that cannot pass it on.
        at: NodeId,
        /// The current left over, in amperes.
        excess: Rational,
    },
    /// The share of current within a loop of zero resistance.
    ZeroLoop {
        /// The elements round the loop, in order.
        elements: Vec<ElementId>,
    },
    /// The potential of a part that nothing connects to the reference of its piece.
    Floating {
        /// A node of that part.
        at: NodeId,
    },
    /// The value of this element is asked for and not found yet, or could not be read.
    UnknownValue {
        /// The element.
        element: ElementId,
    },
    /// No state of the diodes fits.
    NoDiodeState {
        /// The diodes concerned.
        diodes: Vec<ElementId>,
    },
    /// More than one state of the diodes fits, with different answers.
    SeveralDiodeStates {
        /// The diodes whose states differ.
        diodes: Vec<ElementId>,
        /// Number of different solutions found.
        count: usize,
    },
    /// The quantity has no meaning for this element (current through a changeover with both throws joined, say).
    NoMeaning {
        /// The element.
        element: ElementId,
    },
    /// A question between points has no answer since a diode stands in the way, or nothing connects them.
    Between {
        /// One point.
        from: NodeId,
        /// The other.
        to: NodeId,
        /// Whether a diode is the reason (else nothing connects them).
        diode: bool,
    },
    /// `after` is asked; only steady states are solved.
    NotSteady,
}

/// The answers for one element. Signs follow the conventions: loads count current in their positive direction, sources out of `+`.
#[derive(Clone, PartialEq, Debug)]
pub struct ElementAnswer {
    /// Current through it. `None` where only the current into a terminal has a meaning (a potentiometer).
    pub current: Option<Value>,
    /// Voltage across it; `None` as for current.
    pub voltage: Option<Value>,
    /// Power taken up (loads), delivered (batteries and sources).
    pub power: Value,
    /// Current into each terminal from outside, in terminal order.
    pub into: SmallVec<[Value; 2]>,
    /// Charge, of capacitors.
    pub charge: Option<Value>,
    /// Stored energy, of capacitors and inductors.
    pub energy: Option<Value>,
}

/// How a diode was found.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum DiodeState {
    /// Carries current forward.
    Conducting,
    /// Blocks.
    Blocking,
}

/// The 0 V point of a piece.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Reference {
    /// The node at 0 V; `Topology::piece` says which nodes count from it.
    pub node: NodeId,
    /// Whether the tool chose it (no `reference` statement in the piece).
    pub chosen: bool,
}

/// How well the laws hold, from the answers alone; zero when exact.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Residuals {
    /// Largest sum of currents at a node, relative to the largest current there.
    pub junction: f64,
    /// Largest disagreement between an element's voltage and its own law, relative to the largest voltage.
    pub element: f64,
    /// Power delivered minus power taken up, relative to power delivered.
    pub power: f64,
}

/// The answers of one state.
#[derive(Clone, PartialEq, Debug)]
pub struct StateAnswers {
    /// Which state.
    pub state: StateId,
    /// Whether the numbers are exact.
    pub exact: bool,
    /// The 0 V point of each piece that has elements.
    pub references: Vec<Reference>,
    /// Potential of each node, above the reference of its piece.
    pub potentials: Vec<Value>,
    /// Each element; `None` when it is never placed.
    pub elements: Vec<Option<ElementAnswer>>,
    /// State of each diode, in element order; empty when none was found.
    pub diodes: Vec<(ElementId, DiodeState)>,
    /// Whether it is proved that no other state of the diodes fits.
    pub diodes_unique: bool,
    /// Why something has no single value.
    pub causes: Vec<Cause>,
    /// How well the laws hold.
    pub residuals: Residuals,
}

/// The answers of every state, and to every question.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Answers {
    /// One entry for each state of the circuit.
    pub states: Vec<StateAnswers>,
    /// One entry for each `find`.
    pub finds: Vec<crate::judge::FindAnswer>,
    /// One entry for each claim; `None` for claims about series or parallel, which topology judges.
    pub claims: Vec<Option<crate::judge::ValueVerdict>>,
    /// One entry for each `measured`.
    pub measured: Vec<crate::judge::MeasuredVerdict>,
}

impl Answers {
    /// The answers of a state.
    pub fn state(&self, state: StateId) -> &StateAnswers {
        &self.states[state.index()]
    }
}
