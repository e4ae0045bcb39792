//! The circuit in one state as a graph of two-terminal models, with an assumed value for whatever is not known.

use malachite::Rational;
use ohmline_circuit::{Amount, BranchId, Circuit, ElementId, Fault, Kind, Law, Params, StateId};

use crate::scalar::Scalar;

/// How strictly an ideal voltage counts when several close a loop: the lowest first go into the forest of rigid branches.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Rank {
    /// A wire or its like.
    Wire,
    /// An ideal source.
    Source,
    /// A conducting diode without resistance.
    Diode,
    /// An ideal source whose voltage is asked for: fits whatever the rest demands.
    Free,
}

/// A two-terminal model. Currents count from `from` to `to` through the branch.
#[derive(Clone, Debug)]
pub(crate) enum Model<F> {
    /// Carries nothing.
    Open,
    /// potential of `from` - potential of `to` = `emf`, whatever the current.
    Rigid { emf: F, rank: Rank },
    /// potential of `from` - potential of `to` = `emf` + `resistance` x current.
    Resistive { resistance: F, emf: F },
    /// Carries this current; `free` when it is asked for, so that it may take what the rest demands.
    Drive { current: F, free: bool },
    /// Carries nothing in steady state; `charge` is on the plate at `from` before anything moves.
    Capacitor { capacitance: F, charge: F },
    /// Blocks, or conducts with a fixed drop. Gone once the states are chosen.
    Diode { drop: F, resistance: F },
}

/// A branch of the circuit.
#[derive(Clone, Debug)]
pub(crate) struct Edge<F> {
    pub from: u32,
    pub to: u32,
    pub model: Model<F>,
}

/// All branches, in the order of [`Circuit::branches`].
#[derive(Clone, Debug)]
pub(crate) struct Net<F> {
    pub nodes: usize,
    pub edges: Vec<Edge<F>>,
}

/// A small positive pseudo-random number, the same for the same key. Its numerator and denominator are small so that exact
/// arithmetic stays quick; coincidences between different keys are harmless, since one value at a time is varied.
pub(crate) fn assumed(key: u64) -> Rational {
    // SplitMix64 (Steele, Lea, Flood 2014).
    let mut z = key.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^= z >> 31;
    Rational::from_unsigneds(257 + z % 4096, 512u64)
}

/// Assumed values of a realistic size.
#[derive(Clone, Debug)]
struct Scales {
    resistance: Rational,
    capacitance: Rational,
}

impl Scales {
    fn new(circuit: &Circuit) -> Self {
        let one = || Rational::from(1);
        let mut scales = Self { resistance: one(), capacitance: one() };
        let resistance = circuit.elements.iter().find_map(|element| match &element.params {
            Params::Resistor { resistance: Amount::Known(value), .. }
            | Params::Lamp { resistance: Amount::Known(value), .. }
                if *value > 0 =>
            {
                Some(value.clone())
            }
            _ => None,
        });
        let capacitance = circuit.elements.iter().find_map(|element| match &element.params {
            Params::Capacitor { capacitance: Amount::Known(value), .. } if *value > 0 => Some(value.clone()),
            _ => None,
        });
        scales.resistance = resistance.unwrap_or_else(one);
        scales.capacitance = capacitance.unwrap_or_else(one);
        scales
    }
}

/// The elements whose values are not known in a state, in element order.
pub(crate) fn unknown_elements(circuit: &Circuit, state: StateId) -> Vec<ElementId> {
    circuit
        .element_ids()
        .filter(|id| circuit.element(*id).is_placed())
        .filter(|id| !circuit.states[state.index()].faults.contains_key(id) && is_unknown(circuit, state, *id))
        .collect()
}

fn is_unknown(circuit: &Circuit, state: StateId, id: ElementId) -> bool {
    if circuit.is_undirected(id) {
        return true;
    }
    match circuit.params(state, id) {
        // Open whatever its size, but its charge, and that of others in series with it, depends on it.
        Params::Capacitor { capacitance, .. } => capacitance.known().is_none_or(|value| *value <= 0),
        _ => circuit.branches_of(id).any(|branch| not_physical(&circuit.law(state, branch))),
    }
}

/// Values that no law can use: unknown, or a negative resistance (reported where it is read).
fn not_physical(law: &Law) -> bool {
    match law {
        Law::Unknown => true,
        Law::Resistance(value) => *value <= 0,
        Law::Emf { internal, .. } => *internal < 0,
        Law::Diode { resistance, .. } => *resistance < 0,
        Law::Open | Law::Short | Law::Drive(_) | Law::Capacitor { .. } => false,
    }
}

/// Builds the net. `key` gives the key of the assumption for an element whose value is unknown; `charge` the charge a
/// capacitor starts with when that is not its `initial` voltage.
pub(crate) fn build<F: Scalar>(
    circuit: &Circuit,
    state: StateId,
    key: &dyn Fn(ElementId) -> u64,
    charge: &dyn Fn(BranchId) -> Option<F>,
) -> Net<F> {
    let mut scales = None;
    let edges = (0..circuit.branches.len() as u32)
        .map(|index| {
            let id = BranchId(index);
            let branch = circuit.branch(id);
            let model = match circuit.law(state, id) {
                Law::Open if is_unknown_capacitor(circuit, state, branch.element) => {
                    let scales = scales.get_or_insert_with(|| Scales::new(circuit));
                    unknown_model(circuit, state, id, key(branch.element), scales, charge)
                }
                Law::Open => Model::Open,
                Law::Capacitor { capacitance, .. } if capacitance <= 0 => {
                    let scales = scales.get_or_insert_with(|| Scales::new(circuit));
                    unknown_model(circuit, state, id, key(branch.element), scales, charge)
                }
                law if not_physical(&law) => {
                    let scales = scales.get_or_insert_with(|| Scales::new(circuit));
                    unknown_model(circuit, state, id, key(branch.element), scales, charge)
                }
                Law::Short => Model::Rigid { emf: F::zero(), rank: Rank::Wire },
                Law::Resistance(value) => Model::Resistive { resistance: F::of(&value), emf: F::zero() },
                Law::Emf { emf, internal } => ideal_or_real(F::of(&emf), &internal, Rank::Source),
                Law::Drive(drive) => Model::Drive { current: F::of(&drive).negated(), free: false },
                Law::Diode { drop, resistance } => Model::Diode { drop: F::of(&drop), resistance: F::of(&resistance) },
                Law::Capacitor { capacitance, initial } => {
                    let capacitance = F::of(&capacitance);
                    let charge = charge(id).unwrap_or_else(|| match &initial {
                        Some(initial) => capacitance.times(&F::of(initial)),
                        None => F::zero(),
                    });
                    Model::Capacitor { capacitance, charge }
                }
                Law::Unknown => Model::Open,
            };
            Edge { from: branch.from.0, to: branch.to.0, model }
        })
        .collect();
    Net { nodes: circuit.nodes.len(), edges }
}

fn ideal_or_real<F: Scalar>(emf: F, internal: &Rational, rank: Rank) -> Model<F> {
    if *internal == 0 { Model::Rigid { emf, rank } } else { Model::Resistive { resistance: F::of(internal), emf } }
}

fn is_unknown_capacitor(circuit: &Circuit, state: StateId, element: ElementId) -> bool {
    matches!(circuit.element(element).kind, Kind::Capacitor | Kind::Electrolytic)
        && circuit.states[state.index()].faults.get(&element) != Some(&Fault::Open)
        && is_unknown(circuit, state, element)
}

/// A model with assumed values in the place of those not known.
fn unknown_model<F: Scalar>(
    circuit: &Circuit,
    state: StateId,
    id: BranchId,
    key: u64,
    scales: &Scales,
    charge: &dyn Fn(BranchId) -> Option<F>,
) -> Model<F> {
    let branch = circuit.branch(id);
    let second = id.0 > circuit.element(branch.element).branches.start;
    // Each unknown of an element has its own number.
    let number = |nth: u64| assumed(key.wrapping_mul(8).wrapping_add(nth));
    let resistance = |nth: u64| number(nth) * &scales.resistance;
    let usable = |amount: &Amount| amount.known().filter(|value| **value >= 0).cloned();
    let declared = circuit.params(state, branch.element);
    // Which way round it stands is not known, so neither is what it does.
    let unknown = circuit.is_undirected(branch.element).then(|| declared.clone().unknown());
    match unknown.as_ref().unwrap_or(declared) {
        Params::Battery { emf, internal, .. } => {
            let known = emf.known().is_some();
            let internal = match internal {
                None => Rational::from(0),
                Some(amount) => usable(amount).unwrap_or_else(|| resistance(1)),
            };
            let emf = emf.known().cloned().unwrap_or_else(|| number(0));
            ideal_or_real(F::of(&emf), &internal, if known { Rank::Source } else { Rank::Free })
        }
        Params::VoltageSource { .. } => Model::Rigid { emf: F::of(&number(0)), rank: Rank::Free },
        Params::CurrentSource { .. } => Model::Drive { current: F::of(&number(0)).negated(), free: true },
        Params::Potentiometer { resistance: whole, at, .. } => {
            let whole = whole.known().filter(|value| **value > 0).cloned().unwrap_or_else(|| resistance(0));
            let in_range = |value: &&Rational| **value >= 0 && **value <= 1;
            // Between 0.05 and 0.9: neither end.
            let at =
                at.known().filter(in_range).cloned().unwrap_or_else(|| number(1) * Rational::from_unsigneds(1u8, 10));
            let part = if second { Rational::from(1) - at } else { at } * whole;
            if part == 0 {
                Model::Rigid { emf: F::zero(), rank: Rank::Wire }
            } else {
                Model::Resistive { resistance: F::of(&part), emf: F::zero() }
            }
        }
        Params::Capacitor { initial, .. } => {
            let capacitance = F::of(&(number(0) * &scales.capacitance));
            let charge = charge(id).unwrap_or_else(|| match initial {
                Some(initial) => capacitance.times(&F::of(initial)),
                None => F::zero(),
            });
            Model::Capacitor { capacitance, charge }
        }
        Params::Diode { drop, resistance: series, .. } => Model::Diode {
            drop: F::of(&drop.known().cloned().unwrap_or_else(|| number(0))),
            resistance: match series {
                None => F::zero(),
                Some(amount) => F::of(&usable(amount).unwrap_or_else(|| resistance(1))),
            },
        },
        // Both throws of a changeover nobody knows the position of: each conducts somehow.
        _ => Model::Resistive { resistance: F::of(&resistance(u64::from(second))), emf: F::zero() },
    }
}
