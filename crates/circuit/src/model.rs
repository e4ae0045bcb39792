//! The circuit: elements, nodes, branches, states, and what is asked of it.

use std::ops::Range;

use crate::quantity::Measure;
use malachite::Rational;
use ohmline_syntax::tree::Relation;
use ohmline_syntax::{Diagnostic, FileSpan};
use rustc_hash::FxHashMap;
use smallvec::SmallVec;
use smol_str::SmolStr;

/// Index of an element in [`Circuit::elements`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct ElementId(pub u32);

/// Index of a node in [`Circuit::nodes`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct NodeId(pub u32);

/// Index of a branch in [`Circuit::branches`].
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct BranchId(pub u32);

/// Index of a state in [`Circuit::states`]; 0 is the circuit as drawn.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct StateId(pub u32);

impl StateId {
    /// The circuit as drawn.
    pub const DRAWN: StateId = StateId(0);
}

macro_rules! index {
    ($($id:ty),*) => {$(
        impl $id {
            /// As an index into the vector that it names a place of.
            pub const fn index(self) -> usize {
                self.0 as usize
            }
        }
    )*};
}
index!(ElementId, NodeId, BranchId, StateId);

/// The kinds of element.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[allow(missing_docs)]
pub enum Kind {
    Battery,
    VoltageSource,
    CurrentSource,
    Resistor,
    Lamp,
    Switch,
    Changeover,
    Potentiometer,
    Fuse,
    Ammeter,
    Voltmeter,
    Capacitor,
    Electrolytic,
    Inductor,
    Diode,
}

impl Kind {
    /// The kind's word in the notation.
    pub const fn word(self) -> &'static str {
        match self {
            Kind::Battery => "battery",
            Kind::VoltageSource | Kind::CurrentSource => "source",
            Kind::Resistor => "resistor",
            Kind::Lamp => "lamp",
            Kind::Switch => "switch",
            Kind::Changeover => "changeover",
            Kind::Potentiometer => "potentiometer",
            Kind::Fuse => "fuse",
            Kind::Ammeter => "ammeter",
            Kind::Voltmeter => "voltmeter",
            Kind::Capacitor => "capacitor",
            Kind::Electrolytic => "electrolytic",
            Kind::Inductor => "inductor",
            Kind::Diode => "diode",
        }
    }

    /// The names of its terminals, in the order of [`Element::terminals`]. Two-terminal kinds without polarity have
    /// unnamed terminals (empty strings): the first is the one entered from the left in the path.
    pub const fn terminals(self) -> &'static [&'static str] {
        match self {
            Kind::Battery
            | Kind::VoltageSource
            | Kind::CurrentSource
            | Kind::Ammeter
            | Kind::Voltmeter
            | Kind::Electrolytic
            | Kind::Diode => &["+", "-"],
            Kind::Changeover => &["common", "a", "b"],
            Kind::Potentiometer => &["a", "b", "wiper"],
            Kind::Resistor | Kind::Lamp | Kind::Switch | Kind::Fuse | Kind::Capacitor | Kind::Inductor => &["", ""],
        }
    }

    /// Whether its two terminals are `+` and `-`.
    pub fn is_polar(self) -> bool {
        self.terminals()[0] == "+"
    }

    /// Whether it is a battery or a source: its current counts out of `+`, its power as delivered.
    pub const fn is_source(self) -> bool {
        matches!(self, Kind::Battery | Kind::VoltageSource | Kind::CurrentSource)
    }
}

/// A value that may be missing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Amount {
    /// The value, in SI base units.
    Known(Rational),
    /// Written `?`: to be found.
    Asked,
    /// Could not be read; its cause has been reported, so nothing that follows from it is.
    Invalid,
}

impl Amount {
    /// The value, if known.
    pub fn known(&self) -> Option<&Rational> {
        match self {
            Amount::Known(value) => Some(value),
            _ => None,
        }
    }
}

/// Where a changeover stands.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Throw {
    /// common joined to `a`
    A,
    /// common joined to `b`
    B,
}

/// The values of an element, in SI base units; `None` where an option is not written. Options that are seldom written are
/// boxed: a large circuit is mostly resistors without any.
#[derive(Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub enum Params {
    Battery {
        emf: Amount,
        internal: Option<Amount>,
        capacity: Option<Box<Rational>>,
        limit: Option<Box<Rational>>,
    },
    VoltageSource {
        voltage: Amount,
        limit: Option<Box<Rational>>,
    },
    CurrentSource {
        drive: Amount,
        limit: Option<Box<Rational>>,
    },
    Resistor {
        resistance: Amount,
        tolerance: Option<Box<Rational>>,
        rating: Option<Box<Rational>>,
    },
    /// `rated` is power and voltage when the lamp is declared by them; then `resistance` is voltage^2 / power.
    Lamp {
        resistance: Amount,
        rated: Option<Box<(Rational, Rational)>>,
    },
    Switch {
        closed: Option<bool>,
    },
    Changeover {
        throw: Option<Throw>,
    },
    /// `at` is the fraction (0 to 1) of the resistance that lies between `a` and the wiper.
    Potentiometer {
        resistance: Amount,
        at: Amount,
        rating: Option<Box<Rational>>,
    },
    Fuse {
        rating: Option<Amount>,
        resistance: Option<Amount>,
    },
    /// No resistance written: ideal.
    Ammeter {
        resistance: Option<Amount>,
        range: Option<Box<Rational>>,
    },
    /// No resistance written: ideal.
    Voltmeter {
        resistance: Option<Amount>,
        range: Option<Box<Rational>>,
    },
    /// Also an electrolytic.
    Capacitor {
        capacitance: Amount,
        initial: Option<Box<Rational>>,
        rating: Option<Box<Rational>>,
    },
    Inductor {
        inductance: Amount,
        initial: Option<Box<Rational>>,
        resistance: Option<Amount>,
    },
    Diode {
        drop: Amount,
        resistance: Option<Amount>,
        limit: Option<Box<Rational>>,
    },
}

/// What a case does to an element beside its values.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Fault {
    /// `L2 = open`
    Open,
    /// `R3 = shorted`: a wire across it. What has no resistance itself ([`Circuit::is_bridged`]) is that wire.
    Shorted,
}

/// An element of the circuit.
#[derive(Clone, Debug)]
pub struct Element {
    /// As the user writes it: `R1`, `Left.D1`.
    pub name: SmolStr,
    /// What it is.
    pub kind: Kind,
    /// Its values in the circuit as drawn.
    pub params: Params,
    /// Where its name is declared.
    pub declared: FileSpan,
    /// Where its value stands (the whole right-hand side), or its name when it has none.
    pub value_at: FileSpan,
    /// Every place in a path that names it, in text order (for a copy of a part: inside the part).
    pub uses: SmallVec<[FileSpan; 2]>,
    /// The node at each terminal, in the order of [`Kind::terminals`]; empty when it is never placed.
    pub terminals: SmallVec<[NodeId; 2]>,
    /// Its branches.
    pub branches: Range<u32>,
    /// Whether it comes from a part or a `repeat`, so that several elements share one place in the text.
    pub copied: bool,
}

impl Element {
    /// Whether it stands anywhere in the drawing.
    pub fn is_placed(&self) -> bool {
        !self.terminals.is_empty()
    }
}

/// A two-terminal piece of an element: what topology and solving work on. Two-terminal kinds have one; a changeover has
/// common-a and common-b; a potentiometer a-wiper and wiper-b.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Branch {
    /// Whose it is.
    pub element: ElementId,
    /// Where positive current enters (for batteries and sources: the `+` terminal).
    pub from: NodeId,
    /// Where it leaves.
    pub to: NodeId,
}

/// How a branch behaves in one state, in direct-current steady state.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Law {
    /// Carries nothing: an open switch, an ideal voltmeter, an element taken out.
    Open,
    /// No voltage: a closed switch, an ideal ammeter, zero ohms.
    Short,
    /// Ohm's law.
    Resistance(Rational),
    /// A battery or a voltage source: `from` is `+`.
    Emf {
        /// Potential of `from` above `to` without load.
        emf: Rational,
        /// Internal resistance; zero for an ideal one.
        internal: Rational,
    },
    /// A current source: drives this current out of `from` (its `+`), through the circuit, into `to`.
    Drive(Rational),
    /// A diode: blocks, or conducts from `from` to `to` with a fixed drop and a resistance in series.
    Diode {
        /// Voltage at which it begins to conduct.
        drop: Rational,
        /// Resistance when conducting.
        resistance: Rational,
    },
    /// Carries nothing in steady state and holds a charge.
    Capacitor {
        /// Its capacitance.
        capacitance: Rational,
        /// Its initial voltage, if written.
        initial: Option<Rational>,
    },
    /// Its value is asked for or could not be read. It conducts, nobody knows how well.
    Unknown,
}

/// Something that touches a node: a terminal of an element.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct End {
    /// The element.
    pub element: ElementId,
    /// Index of the terminal in [`Element::terminals`].
    pub terminal: u8,
}

/// A point of the circuit: all ends and junction names that plain wires join.
#[derive(Clone, Debug)]
pub struct Node {
    /// The junction names, without `@`, in text order; inside a part `Left.mid`.
    pub names: SmallVec<[SmolStr; 1]>,
    /// What people call it: `@fork`, else the terminal of a source (`B1-`), else a terminal or `between R1 and R2`.
    pub label: SmolStr,
    /// Where it first appears.
    pub first_use: FileSpan,
}

/// A state of the circuit: as drawn, or a case.
#[derive(Clone, Debug)]
pub struct State {
    /// The case's name; `None` for the circuit as drawn.
    pub name: Option<SmolStr>,
    /// Where the case is named.
    pub at: Option<FileSpan>,
    /// Values that differ from the drawing.
    pub overrides: FxHashMap<ElementId, Params>,
    /// Elements taken out or bridged.
    pub faults: FxHashMap<ElementId, Fault>,
}

/// What is asked, claimed or measured, with names resolved.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Quantity {
    /// `current through R1`
    CurrentThrough(ElementId),
    /// `current into P1.wiper`
    CurrentInto(ElementId, u8),
    /// `voltage across R1`
    VoltageAcross(ElementId),
    /// `voltage from @a to @b`
    VoltageBetween(NodeId, NodeId),
    /// `potential at @a`
    PotentialAt(NodeId),
    /// `resistance between @a and @b`
    ResistanceBetween(NodeId, NodeId),
    /// `resistance seen by B1`
    ResistanceSeenBy(ElementId),
    /// `capacitance between @a and @b`
    CapacitanceBetween(NodeId, NodeId),
    /// `power of R1`
    PowerOf(ElementId),
    /// `charge of C1`
    ChargeOf(ElementId),
    /// `energy of C1`
    EnergyOf(ElementId),
    /// `value of R2`
    ValueOf(ElementId),
}

impl Quantity {
    /// The unit that it is measured in; `kind_of` tells the kind of an element, since the value of each kind has its own.
    pub fn unit(&self, kind_of: impl Fn(ElementId) -> Kind) -> Unit {
        match self {
            Quantity::CurrentThrough(_) | Quantity::CurrentInto(..) => Unit::Ampere,
            Quantity::VoltageAcross(_) | Quantity::VoltageBetween(..) | Quantity::PotentialAt(_) => Unit::Volt,
            Quantity::ResistanceBetween(..) | Quantity::ResistanceSeenBy(_) => Unit::Ohm,
            Quantity::CapacitanceBetween(..) => Unit::Farad,
            Quantity::PowerOf(_) => Unit::Watt,
            Quantity::ChargeOf(_) => Unit::Coulomb,
            Quantity::EnergyOf(_) => Unit::Joule,
            Quantity::ValueOf(id) => match kind_of(*id) {
                Kind::Battery | Kind::VoltageSource | Kind::Diode => Unit::Volt,
                Kind::CurrentSource | Kind::Fuse => Unit::Ampere,
                Kind::Resistor | Kind::Lamp | Kind::Potentiometer | Kind::Ammeter | Kind::Voltmeter => Unit::Ohm,
                Kind::Capacitor | Kind::Electrolytic => Unit::Farad,
                Kind::Inductor => Unit::Henry,
                Kind::Switch | Kind::Changeover => Unit::One,
            },
        }
    }
}

/// A unit of an answer.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[allow(missing_docs)]
pub enum Unit {
    Ohm,
    Volt,
    Ampere,
    Watt,
    Farad,
    Henry,
    Coulomb,
    Joule,
    Second,
    One,
}

/// A quantity in a state, at a place in the text.
#[derive(Clone, Debug)]
pub struct Ask {
    /// What is asked.
    pub quantity: Quantity,
    /// As the user writes it, for one element: `current through R1`.
    pub text: String,
    /// Where it is asked.
    pub at: FileSpan,
    /// The whole statement.
    pub stmt: FileSpan,
    /// In which state.
    pub state: StateId,
    /// `after 2 ms`, in seconds.
    pub after: Option<Rational>,
}

/// A number as a user states it, with what its writing says about its precision.
#[derive(Clone, Debug)]
pub struct Stated {
    /// The value in SI base units.
    pub value: Rational,
    /// The unit of the last written digit, in SI base units, when it is a single number; `None` for an expression.
    pub last_digit: Option<Rational>,
    /// Number of significant digits written, when it is a single number.
    pub digits: u32,
    /// Where it stands.
    pub at: FileSpan,
}

/// `within 2%`
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Within {
    /// A fraction of the stated value.
    Relative(Rational),
    /// In SI base units.
    Absolute(Rational),
}

/// A claim.
#[expect(clippy::large_enum_variant, reason = "a circuit has few claims, and most are about values")]
#[derive(Clone, Debug)]
pub enum Claim {
    /// That a quantity has a value.
    Value {
        /// The quantity.
        ask: Ask,
        /// The value.
        stated: Stated,
        /// How far off it may be.
        within: Option<Within>,
    },
    /// That elements or branches stand in series or in parallel.
    Relation {
        /// How.
        relation: Relation,
        /// Each member: one element, or the elements of a branch.
        branches: Vec<Vec<ElementId>>,
        /// The members as written, with their places.
        places: Vec<FileSpan>,
        /// In which state.
        state: StateId,
        /// As the user writes it: `R1, R2 in series`.
        text: String,
        /// The whole statement.
        stmt: FileSpan,
    },
}

/// A reading or a condition: `measured ... = ...`, `given ... = ...`.
#[derive(Clone, Debug)]
pub struct Reading {
    /// What was read.
    pub ask: Ask,
    /// The value.
    pub stated: Stated,
    /// Its uncertainty.
    pub within: Option<Within>,
}

/// The circuit, whole.
#[derive(Clone, Debug, Default)]
pub struct Circuit {
    /// `circuit "..."`.
    pub title: Option<String>,
    /// Every element, copies of parts and repeats included, in text order.
    pub elements: Vec<Element>,
    /// Every node.
    pub nodes: Vec<Node>,
    /// What touches each node: `ends[offsets[n] .. offsets[n + 1]]`.
    pub ends: Vec<End>,
    /// See `ends`; one longer than `nodes`.
    pub end_offsets: Vec<u32>,
    /// Every branch, in order of the elements.
    pub branches: Vec<Branch>,
    /// The circuit as drawn, then each case in text order.
    pub states: Vec<State>,
    /// `reference POINT` statements: node and place.
    pub references: Vec<(NodeId, FileSpan)>,
    /// Every `find`, one for each element asked about.
    pub finds: Vec<Ask>,
    /// Every claim.
    pub claims: Vec<Claim>,
    /// Every `given`.
    pub givens: Vec<Reading>,
    /// Every `measured`.
    pub measured: Vec<Reading>,
    /// Nodes that a statement asks about: open on purpose.
    pub asked_nodes: Vec<NodeId>,
    /// Element by name as written.
    pub element_names: FxHashMap<SmolStr, ElementId>,
    /// Node by junction name without `@`.
    pub junction_names: FxHashMap<SmolStr, NodeId>,
    /// What each `let` and parameter comes to in the circuit as drawn, by the place of its name; those of included files only where
    /// something uses them.
    pub values: Vec<(FileSpan, Measure)>,
    /// Elements that stand in a path but whose declaration is missing or could not be read, which has been reported: each is
    /// taken as something of unknown value, so that its gap has no consequences. Views leave them out. In
    /// ascending order.
    pub undeclared: Vec<ElementId>,
    /// Elements with polarity that stand in a path which does not say which way round, which has been reported: what they do to
    /// the circuit counts as unknown where that depends on it ([`Circuit::is_undirected`]), their declared values do not. In
    /// ascending order.
    pub unoriented: Vec<ElementId>,
    /// Nodes at which something was not understood, which has been reported: what is joined there is not known in full, so
    /// nothing is said about open ends and the like. In ascending order.
    pub doubtful_nodes: Vec<NodeId>,
    /// What could not be understood: names, units, values, forms.
    pub diagnostics: Vec<Diagnostic>,
}

impl Circuit {
    /// The element with this id.
    pub fn element(&self, id: ElementId) -> &Element {
        &self.elements[id.index()]
    }

    /// The node with this id.
    pub fn node(&self, id: NodeId) -> &Node {
        &self.nodes[id.index()]
    }

    /// The branch with this id.
    pub fn branch(&self, id: BranchId) -> Branch {
        self.branches[id.index()]
    }

    /// Ids of all elements.
    pub fn element_ids(&self) -> impl Iterator<Item = ElementId> + use<> {
        (0..self.elements.len() as u32).map(ElementId)
    }

    /// Ids of the elements that are declared: what people are shown. See [`Circuit::undeclared`].
    pub fn declared_ids(&self) -> impl Iterator<Item = ElementId> + '_ {
        self.element_ids().filter(|id| !self.is_undeclared(*id))
    }

    /// Whether an element only stands for something whose declaration is missing or could not be read.
    pub fn is_undeclared(&self, id: ElementId) -> bool {
        self.undeclared.binary_search(&id).is_ok()
    }

    /// Whether nothing says which way round an element with polarity stands in its path.
    pub fn is_unoriented(&self, id: ElementId) -> bool {
        self.unoriented.binary_search(&id).is_ok()
    }

    /// Whether nothing says which way round an element stands, and what it does to the circuit depends on that. A meter lets
    /// the same current pass either way: only the sign of its reading is in doubt, and it is read from left to right.
    pub fn is_undirected(&self, id: ElementId) -> bool {
        self.is_unoriented(id) && !matches!(self.element(id).kind, Kind::Ammeter | Kind::Voltmeter)
    }

    /// Ids of all nodes.
    pub fn node_ids(&self) -> impl Iterator<Item = NodeId> + use<> {
        (0..self.nodes.len() as u32).map(NodeId)
    }

    /// Ids of all states.
    pub fn state_ids(&self) -> impl Iterator<Item = StateId> + use<> {
        (0..self.states.len() as u32).map(StateId)
    }

    /// Ids of the branches of an element.
    pub fn branches_of(&self, id: ElementId) -> impl Iterator<Item = BranchId> + use<> {
        self.element(id).branches.clone().map(BranchId)
    }

    /// What touches a node.
    pub fn ends(&self, node: NodeId) -> &[End] {
        &self.ends[self.end_offsets[node.index()] as usize..self.end_offsets[node.index() + 1] as usize]
    }

    /// The values of an element in a state.
    pub fn params(&self, state: StateId, element: ElementId) -> &Params {
        self.states[state.index()].overrides.get(&element).unwrap_or(&self.element(element).params)
    }

    /// Whether a case puts a wire across an element that is no wire itself: the wire then carries what comes, the element only
    /// what its own law gives at zero volts. A closed switch or an ideal ammeter that is shorted stays what it is, since nothing
    /// tells how it and a wire beside it would share.
    pub fn is_bridged(&self, state: StateId, element: ElementId) -> bool {
        self.states[state.index()].faults.get(&element) == Some(&Fault::Shorted)
            && self.element(element).kind != Kind::Switch
            && self.params(state, element).law(false) != Law::Short
    }

    /// How the place of a branch behaves in a state: a bridged element ([`Circuit::is_bridged`]) as the wire across it.
    pub fn law(&self, state: StateId, branch: BranchId) -> Law {
        let of = self.branch(branch).element;
        match self.states[state.index()].faults.get(&of) {
            Some(Fault::Open) => return Law::Open,
            Some(Fault::Shorted) => return Law::Short,
            None => {}
        }
        if self.is_undirected(of) {
            return Law::Unknown;
        }
        let second = branch.0 > self.element(of).branches.start;
        self.params(state, of).law(second)
    }
}

impl Params {
    /// The same with the amount unknown that makes the element what it is.
    pub fn unknown(mut self) -> Self {
        match &mut self {
            Params::Battery { emf: amount, .. }
            | Params::VoltageSource { voltage: amount, .. }
            | Params::CurrentSource { drive: amount, .. }
            | Params::Resistor { resistance: amount, .. }
            | Params::Lamp { resistance: amount, .. }
            | Params::Potentiometer { resistance: amount, .. }
            | Params::Capacitor { capacitance: amount, .. }
            | Params::Diode { drop: amount, .. } => *amount = Amount::Invalid,
            Params::Fuse { resistance, .. }
            | Params::Ammeter { resistance, .. }
            | Params::Voltmeter { resistance, .. }
            | Params::Inductor { resistance, .. } => *resistance = Some(Amount::Invalid),
            Params::Switch { closed } => *closed = None,
            Params::Changeover { throw } => *throw = None,
        }
        self
    }

    /// How the first (or second) branch of an element with these values behaves.
    pub fn law(&self, second: bool) -> Law {
        match self {
            Params::Battery { emf, internal, .. } => match (emf, internal) {
                (Amount::Known(emf), None) => Law::Emf { emf: emf.clone(), internal: Rational::from(0) },
                (Amount::Known(emf), Some(Amount::Known(internal))) => {
                    Law::Emf { emf: emf.clone(), internal: internal.clone() }
                }
                _ => Law::Unknown,
            },
            Params::VoltageSource { voltage, .. } => match voltage {
                Amount::Known(emf) => Law::Emf { emf: emf.clone(), internal: Rational::from(0) },
                _ => Law::Unknown,
            },
            Params::CurrentSource { drive, .. } => match drive {
                Amount::Known(drive) => Law::Drive(drive.clone()),
                _ => Law::Unknown,
            },
            Params::Resistor { resistance, .. } | Params::Lamp { resistance, .. } => ohmic(Some(resistance)),
            Params::Switch { closed } => match closed {
                Some(true) => Law::Short,
                Some(false) => Law::Open,
                None => Law::Unknown,
            },
            Params::Changeover { throw } => match (throw, second) {
                (Some(Throw::A), false) | (Some(Throw::B), true) => Law::Short,
                (Some(_), _) => Law::Open,
                (None, _) => Law::Unknown,
            },
            Params::Potentiometer { resistance, at, .. } => match (resistance, at) {
                (Amount::Known(whole), Amount::Known(at)) => {
                    let share = if second { Rational::from(1) - at } else { at.clone() };
                    ohmic_known(whole * share)
                }
                _ => Law::Unknown,
            },
            Params::Fuse { resistance, .. }
            | Params::Ammeter { resistance, .. }
            | Params::Inductor { resistance, .. } => ohmic(resistance.as_ref()),
            Params::Voltmeter { resistance, .. } => match resistance {
                None => Law::Open,
                some => ohmic(some.as_ref()),
            },
            Params::Capacitor { capacitance, initial, .. } => match capacitance {
                Amount::Known(capacitance) => {
                    Law::Capacitor { capacitance: capacitance.clone(), initial: initial.as_deref().cloned() }
                }
                // Open whatever its size: only its charge is unknown.
                _ => Law::Open,
            },
            Params::Diode { drop, resistance, .. } => match (drop, resistance) {
                (Amount::Known(drop), None) => Law::Diode { drop: drop.clone(), resistance: Rational::from(0) },
                (Amount::Known(drop), Some(Amount::Known(resistance))) => {
                    Law::Diode { drop: drop.clone(), resistance: resistance.clone() }
                }
                _ => Law::Unknown,
            },
        }
    }
}

/// A branch with this resistance; a missing one is a wire.
fn ohmic(resistance: Option<&Amount>) -> Law {
    match resistance {
        None => Law::Short,
        Some(Amount::Known(resistance)) => ohmic_known(resistance.clone()),
        Some(_) => Law::Unknown,
    }
}

fn ohmic_known(resistance: Rational) -> Law {
    if resistance == 0 { Law::Short } else { Law::Resistance(resistance) }
}
