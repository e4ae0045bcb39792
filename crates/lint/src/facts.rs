//! What several rules look at, found once and only when asked for.

use std::ops::Deref;
use std::sync::OnceLock;

use ohmline_circuit::topology::Role;
use ohmline_circuit::{
    Amount, Ask, BranchId, Claim, ElementId, Kind, Law, NodeId, Params, Quantity, Rational, StateId,
};
use ohmline_solve::{Cause, ElementAnswer, Number, StateAnswers, Value};
use ohmline_syntax::FileSpan;
use rustc_hash::FxHashSet;

use crate::broken::Broken;
use crate::context::Context;
use crate::limits::Limits;
use crate::loose::Loose;
use crate::pieces::Pieces;
use crate::settings::Settings;
use crate::slip::{self, Slip};

/// Number of kinds of element.
const KINDS: usize = Kind::Diode as usize + 1;

/// Most elements of a circuit that a person reads element by element.
const READ_BY_PEOPLE: usize = 2_000;

/// Below this share of a limit a floating-point excess is rounding, not an excess.
const ROUNDING: f64 = 1e-9;

/// A [`Context`] with what rules share.
pub struct Facts<'a> {
    context: Context<'a>,
    limits: Limits,
    kinds: OnceLock<[Vec<ElementId>; KINDS]>,
    broken: OnceLock<Broken>,
    pieces: OnceLock<Pieces>,
    loose: OnceLock<Loose>,
    cut_off: OnceLock<FxHashSet<ElementId>>,
    asked: OnceLock<FxHashSet<ElementId>>,
    undriven: OnceLock<FxHashSet<ElementId>>,
    slips: OnceLock<Vec<Option<Slip>>>,
}

impl<'a> Deref for Facts<'a> {
    type Target = Context<'a>;

    fn deref(&self) -> &Context<'a> {
        &self.context
    }
}

impl<'a> Facts<'a> {
    /// Nothing is looked at yet; the usual limits hold.
    pub fn new(context: Context<'a>) -> Self {
        Self::within(context, &Settings::default())
    }

    /// Nothing is looked at yet; these settings hold.
    pub fn within(context: Context<'a>, settings: &Settings) -> Self {
        Self {
            context,
            limits: settings.limits,
            kinds: OnceLock::new(),
            broken: OnceLock::new(),
            pieces: OnceLock::new(),
            loose: OnceLock::new(),
            cut_off: OnceLock::new(),
            asked: OnceLock::new(),
            undriven: OnceLock::new(),
            slips: OnceLock::new(),
        }
    }

    /// The limits from which on something is reported.
    pub fn limits(&self) -> &Limits {
        &self.limits
    }

    /// The placed elements of a kind, in text order.
    pub fn of_kind(&self, kind: Kind) -> &[ElementId] {
        let kinds = self.kinds.get_or_init(|| {
            let mut kinds: [Vec<ElementId>; KINDS] = Default::default();
            for id in self.circuit.element_ids() {
                let element = self.circuit.element(id);
                if element.is_placed() {
                    kinds[element.kind as usize].push(id);
                }
            }
            kinds
        });
        &kinds[kind as usize]
    }

    /// The placed elements of several kinds, kind by kind.
    pub fn of_kinds<'s>(&'s self, kinds: &'s [Kind]) -> impl Iterator<Item = ElementId> + 's {
        kinds.iter().flat_map(|kind| self.of_kind(*kind).iter().copied())
    }

    /// The placed elements of several kinds in one piece, kind by kind.
    pub fn of_kinds_in<'s>(&'s self, piece: u32, kinds: &'s [Kind]) -> impl Iterator<Item = ElementId> + 's {
        self.of_kinds(kinds).filter(move |id| crate::pieces::of_element(self, *id) == Some(piece))
    }

    /// What stands in text that could not be read.
    pub(crate) fn broken(&self) -> &Broken {
        self.broken.get_or_init(|| Broken::find(&self.context))
    }

    /// Which pieces have something that drives them, and which float.
    pub(crate) fn pieces(&self) -> &Pieces {
        self.pieces.get_or_init(|| Pieces::find(self))
    }

    /// What hangs at loose ends.
    pub(crate) fn loose(&self) -> &Loose {
        self.loose.get_or_init(|| Loose::find(self))
    }

    /// Current sources that drive into a part that cannot pass their current on, in any state.
    pub(crate) fn cut_off(&self) -> &FxHashSet<ElementId> {
        self.cut_off.get_or_init(|| {
            let causes = self.answers.states.iter().flat_map(|state| &state.causes);
            causes
                .filter_map(|cause| match cause {
                    Cause::CurrentCut { sources, .. } => Some(sources.iter().copied()),
                    _ => None,
                })
                .flatten()
                .collect()
        })
    }

    /// Whether everything could be read and understood. Remarks that teach wait for that.
    pub fn is_sound(&self) -> bool {
        !self.broken().any
    }

    /// Whether the circuit is larger than what a person reads element by element; remarks for the eye leave such circuits alone.
    pub fn is_large(&self) -> bool {
        self.circuit.elements.len() > READ_BY_PEOPLE
    }

    /// The elements that a question, a claim about a value or a reading speaks of.
    pub fn asked_elements(&self) -> &FxHashSet<ElementId> {
        self.asked.get_or_init(|| self.asks().filter_map(|ask| asked_element(&ask.quantity)).collect())
    }

    /// The elements of blocks that hold no source: they carry nothing, whatever the values.
    pub(crate) fn undriven(&self) -> &FxHashSet<ElementId> {
        let drives = |id: &ElementId| {
            let element = self.circuit.element(*id);
            element.kind.is_source() || crate::pieces::starts_charged(&element.params)
        };
        self.undriven.get_or_init(|| {
            let blocks = crate::blocks::blocks(self);
            let idle = blocks.into_iter().filter(|block| !block.asked && !block.elements.iter().any(drives));
            idle.flat_map(|block| block.elements).collect()
        })
    }

    /// What each claimed value that does not hold looks like.
    pub(crate) fn slips(&self) -> &[Option<Slip>] {
        self.slips.get_or_init(|| slip::find_all(self))
    }

    /// The current through an element in amperes, if it has a single value.
    pub fn amperes(&self, state: StateId, element: ElementId) -> Option<f64> {
        self.current(state, element).map(Number::to_f64)
    }

    /// The voltage across an element in volts, if it has a single value.
    pub fn volts(&self, state: StateId, element: ElementId) -> Option<f64> {
        self.voltage(state, element).map(Number::to_f64)
    }

    /// The power of an element in watts, if it has a single value.
    pub fn watts(&self, state: StateId, element: ElementId) -> Option<f64> {
        self.power(state, element).map(Number::to_f64)
    }

    /// The resistance of an element that obeys Ohm's law in a state, in ohms.
    pub fn ohms(&self, state: StateId, element: ElementId) -> Option<f64> {
        match self.law_of(state, element)? {
            Law::Resistance(ohms) => Some(Number::exact(ohms).to_f64()),
            _ => None,
        }
    }

    /// The states that were solved.
    pub fn solved(&self) -> impl Iterator<Item = &'a StateAnswers> + use<'a> {
        self.context.answers.states.iter()
    }

    /// The answers for an element in a state.
    pub fn answer(&self, state: StateId, element: ElementId) -> Option<&'a ElementAnswer> {
        self.context.answers.states.get(state.index())?.elements.get(element.index())?.as_ref()
    }

    /// The current through an element in a state, if it has a single value.
    pub fn current(&self, state: StateId, element: ElementId) -> Option<&'a Number> {
        self.answer(state, element)?.current.as_ref().and_then(Value::known)
    }

    /// The voltage across an element in a state, if it has a single value.
    pub fn voltage(&self, state: StateId, element: ElementId) -> Option<&'a Number> {
        self.answer(state, element)?.voltage.as_ref().and_then(Value::known)
    }

    /// The power of an element in a state, if it has a single value.
    pub fn power(&self, state: StateId, element: ElementId) -> Option<&'a Number> {
        self.answer(state, element)?.power.known()
    }

    /// What a branch is in a state.
    pub fn role(&self, state: StateId, branch: BranchId) -> Option<Role> {
        self.context.topologies.get(state.index())?.role.get(branch.index()).copied()
    }

    /// What the only branch of a two-terminal element is in a state.
    pub fn role_of(&self, state: StateId, element: ElementId) -> Option<Role> {
        self.role(state, self.only_branch(element)?)
    }

    /// Whether every branch of an element carries nothing whatever the values, in a state.
    pub fn is_idle(&self, state: StateId, element: ElementId) -> bool {
        self.circuit.branches_of(element).all(|branch| matches!(self.role(state, branch), Some(Role::Dead | Role::Gap)))
    }

    /// Whether two nodes are one point in a state, joined by zero resistance.
    pub fn is_one_point(&self, state: StateId, a: NodeId, b: NodeId) -> bool {
        let Some(topology) = self.context.topologies.get(state.index()) else { return a == b };
        match (topology.point.get(a.index()), topology.point.get(b.index())) {
            (Some(a), Some(b)) => a == b,
            _ => a == b,
        }
    }

    /// The branch of a two-terminal element that stands in the drawing.
    pub fn only_branch(&self, element: ElementId) -> Option<BranchId> {
        let branches = &self.circuit.element(element).branches;
        (branches.len() == 1).then_some(BranchId(branches.start))
    }

    /// The nodes at the two terminals of a two-terminal element that stands in the drawing.
    pub fn two_nodes(&self, element: ElementId) -> Option<(NodeId, NodeId)> {
        match self.circuit.element(element).terminals[..] {
            [a, b] => Some((a, b)),
            _ => None,
        }
    }

    /// How the only branch of an element behaves in a state.
    pub fn law_of(&self, state: StateId, element: ElementId) -> Option<Law> {
        Some(self.circuit.law(state, self.only_branch(element)?))
    }

    /// The name of an element.
    pub fn name(&self, element: ElementId) -> &'a str {
        &self.context.circuit.element(element).name
    }

    /// Where an element stands in the drawing, else where it is declared.
    pub fn place(&self, element: ElementId) -> FileSpan {
        let element = self.circuit.element(element);
        element.uses.first().copied().unwrap_or(element.declared)
    }

    /// The text of a place.
    pub fn slice(&self, at: FileSpan) -> &'a str {
        self.context.sources.files.get(at.file.0 as usize).map_or("", |file| file.tree.slice(at.span))
    }

    /// Every question, claim about a value, reading and condition.
    pub fn asks(&self) -> impl Iterator<Item = &'a Ask> {
        let circuit = self.context.circuit;
        let claims = circuit.claims.iter().filter_map(|claim| match claim {
            Claim::Value { ask, .. } => Some(ask),
            Claim::Relation { .. } => None,
        });
        let readings = circuit.measured.iter().chain(&circuit.givens).map(|reading| &reading.ask);
        circuit.finds.iter().chain(claims).chain(readings)
    }

    /// Whether an answer that depends on this cause is missing because of a value that could not be read.
    pub fn is_misread(&self, cause: &Cause) -> bool {
        match cause {
            Cause::UnknownValue { element } if self.circuit.is_unoriented(*element) => true,
            Cause::UnknownValue { element } => self
                .circuit
                .states
                .iter()
                .filter_map(|state| state.overrides.get(element))
                .chain([&self.circuit.element(*element).params])
                .any(|params| amounts(params).any(|amount| *amount == Amount::Invalid)),
            _ => false,
        }
    }
}

/// The element a quantity speaks of, if it is one.
pub fn asked_element(quantity: &Quantity) -> Option<ElementId> {
    match *quantity {
        Quantity::CurrentThrough(element)
        | Quantity::CurrentInto(element, _)
        | Quantity::VoltageAcross(element)
        | Quantity::PowerOf(element)
        | Quantity::ChargeOf(element)
        | Quantity::EnergyOf(element)
        | Quantity::ResistanceSeenBy(element)
        | Quantity::ValueOf(element) => Some(element),
        Quantity::VoltageBetween(..)
        | Quantity::PotentialAt(_)
        | Quantity::ResistanceBetween(..)
        | Quantity::CapacitanceBetween(..) => None,
    }
}

/// The values of an element that may be asked for or unreadable.
pub fn amounts(params: &Params) -> impl Iterator<Item = &Amount> {
    let (first, second) = match params {
        Params::Battery { emf, internal, .. } => (Some(emf), internal.as_ref()),
        Params::VoltageSource { voltage, .. } => (Some(voltage), None),
        Params::CurrentSource { drive, .. } => (Some(drive), None),
        Params::Resistor { resistance, .. } | Params::Lamp { resistance, .. } => (Some(resistance), None),
        Params::Potentiometer { resistance, at, .. } => (Some(resistance), Some(at)),
        Params::Fuse { rating, resistance } => (rating.as_ref(), resistance.as_ref()),
        Params::Ammeter { resistance, .. } | Params::Voltmeter { resistance, .. } => (resistance.as_ref(), None),
        Params::Capacitor { capacitance, .. } => (Some(capacitance), None),
        Params::Inductor { inductance, resistance, .. } => (Some(inductance), resistance.as_ref()),
        Params::Diode { drop, resistance, .. } => (Some(drop), resistance.as_ref()),
        Params::Switch { .. } | Params::Changeover { .. } => (None, None),
    };
    first.into_iter().chain(second)
}

/// Whether the size of a number is above a limit: exactly, or beyond rounding.
pub fn exceeds(number: &Number, limit: &Rational) -> bool {
    match number {
        Number::Exact(value) => **value > *limit || -&**value > *limit,
        Number::Float(value) => {
            let limit = Number::exact(limit.clone()).to_f64();
            value.abs() > limit * (1.0 + ROUNDING)
        }
    }
}

/// Whether the size of a number is above a limit that is a setting, beyond rounding.
pub fn is_above(number: &Number, limit: f64) -> bool {
    number.to_f64().abs() > limit * (1.0 + ROUNDING)
}

/// Whether a number is below zero: exactly, or beyond rounding.
pub fn is_negative(number: &Number) -> bool {
    match number {
        Number::Exact(value) => **value < 0,
        Number::Float(value) => *value < -ROUNDING,
    }
}

/// The size of a number.
pub fn size(number: &Number) -> Number {
    match number {
        Number::Exact(value) if **value < 0 => Number::exact(-&**value),
        Number::Exact(value) => Number::exact((**value).clone()),
        Number::Float(value) => Number::Float(value.abs()),
    }
}
