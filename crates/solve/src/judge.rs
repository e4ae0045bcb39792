//! Finds answered, claims and measured values compared with the solution.

use malachite::Rational;
use malachite::base::num::arithmetic::traits::Abs;
use ohmline_circuit::{Ask, Circuit, Claim, ElementId, Kind, Params, Quantity, StateId, Stated, Unit, Within};

use crate::answers::{Answers, Cause, Number, StateAnswers, Value};
use crate::between;
use crate::frame::Frame;
use crate::scalar::Scalar;

/// The answer to a `find`.
#[derive(Clone, PartialEq, Debug)]
pub struct FindAnswer {
    /// The value, or why there is none.
    pub value: Result<Number, Cause>,
    /// Its unit.
    pub unit: Unit,
}

/// The judgement of a claimed value.
#[derive(Clone, PartialEq, Debug)]
pub struct ValueVerdict {
    /// Whether it holds; `None` when the quantity is undetermined.
    pub holds: Option<bool>,
    /// The solved value, or why there is none.
    pub solved: Result<Number, Cause>,
    /// Its unit.
    pub unit: Unit,
}

/// The judgement of a meter's reading.
#[derive(Clone, PartialEq, Debug)]
pub struct MeasuredVerdict {
    /// Whether it agrees; `None` when the quantity is undetermined or comparison is not solved yet.
    pub agrees: Option<bool>,
    /// The predicted value, or why there is none.
    pub predicted: Result<Number, Cause>,
    /// Its unit.
    pub unit: Unit,
}

/// Answers every question of the circuit.
pub(crate) fn judge<F: Scalar>(circuit: &Circuit, frame: &Frame, answers: &mut Answers) {
    answers.finds = circuit
        .finds
        .iter()
        .map(|ask| FindAnswer { value: answer::<F>(circuit, frame, answers, ask), unit: unit(circuit, &ask.quantity) })
        .collect();
    answers.claims = circuit
        .claims
        .iter()
        .map(|claim| match claim {
            Claim::Relation { .. } => None,
            Claim::Value { ask, stated, within } => {
                let solved = answer::<F>(circuit, frame, answers, ask);
                let unit = unit(circuit, &ask.quantity);
                let holds = solved.as_ref().ok().map(|solved| {
                    holds(solved, stated, within.as_ref(), || {
                        answers.states.get(ask.state.index()).map_or(0.0, |state| largest(circuit, state, unit))
                    })
                });
                Some(ValueVerdict { holds, solved, unit })
            }
        })
        .collect();
    answers.measured = circuit
        .measured
        .iter()
        .map(|reading| {
            let predicted = answer::<F>(circuit, frame, answers, &reading.ask);
            let agrees =
                predicted.as_ref().ok().map(|predicted| agrees(predicted, &reading.stated, reading.within.as_ref()));
            MeasuredVerdict { agrees, predicted, unit: unit(circuit, &reading.ask.quantity) }
        })
        .collect();
}

/// The unit of a quantity.
pub fn unit(circuit: &Circuit, quantity: &Quantity) -> Unit {
    match quantity {
        Quantity::CurrentThrough(_) | Quantity::CurrentInto(..) => Unit::Ampere,
        Quantity::VoltageAcross(_) | Quantity::VoltageBetween(..) | Quantity::PotentialAt(_) => Unit::Volt,
        Quantity::ResistanceBetween(..) | Quantity::ResistanceSeenBy(_) => Unit::Ohm,
        Quantity::CapacitanceBetween(..) => Unit::Farad,
        Quantity::PowerOf(_) => Unit::Watt,
        Quantity::ChargeOf(_) => Unit::Coulomb,
        Quantity::EnergyOf(_) => Unit::Joule,
        Quantity::ValueOf(element) => match circuit.element(*element).kind {
            Kind::Battery | Kind::VoltageSource | Kind::Diode => Unit::Volt,
            Kind::CurrentSource | Kind::Fuse => Unit::Ampere,
            Kind::Capacitor | Kind::Electrolytic => Unit::Farad,
            Kind::Inductor => Unit::Henry,
            Kind::Switch | Kind::Changeover => Unit::One,
            Kind::Resistor | Kind::Lamp | Kind::Potentiometer | Kind::Ammeter | Kind::Voltmeter => Unit::Ohm,
        },
    }
}

fn answer<F: Scalar>(circuit: &Circuit, frame: &Frame, answers: &Answers, ask: &Ask) -> Result<Number, Cause> {
    if ask.after.is_some() {
        return Err(Cause::NotSteady);
    }
    let Some(state) = answers.states.get(ask.state.index()) else { return Err(Cause::NotSteady) };
    let none = |element: ElementId| Cause::NoMeaning { element };
    let number = |value: &Value| match value {
        Value::Known(number) => Ok(number.clone()),
        Value::Undetermined(cause) => Err(state.causes[cause.0 as usize].clone()),
    };
    let of = |element: ElementId| state.elements[element.index()].as_ref().ok_or_else(|| none(element));
    let optional =
        |value: &Option<Value>, element: ElementId| value.as_ref().map_or_else(|| Err(none(element)), &number);
    match &ask.quantity {
        Quantity::CurrentThrough(element) => optional(&of(*element)?.current, *element),
        Quantity::CurrentInto(element, terminal) => {
            of(*element)?.into.get(*terminal as usize).map_or_else(|| Err(none(*element)), number)
        }
        Quantity::VoltageAcross(element) => optional(&of(*element)?.voltage, *element),
        Quantity::PotentialAt(node) => number(&state.potentials[node.index()]),
        Quantity::VoltageBetween(from, to) => voltage_between::<F>(circuit, frame, state, *from, *to),
        Quantity::ResistanceBetween(from, to) => {
            between::resistance::<F>(circuit, ask.state, *from, *to, None).map(|value| value.number())
        }
        Quantity::ResistanceSeenBy(element) => {
            let terminals = &circuit.element(*element).terminals;
            if terminals.len() != 2 {
                return Err(none(*element));
            }
            between::resistance::<F>(circuit, ask.state, terminals[0], terminals[1], Some(*element))
                .map(|value| value.number())
        }
        Quantity::CapacitanceBetween(from, to) => {
            between::capacitance::<F>(circuit, ask.state, *from, *to).map(|value| value.number())
        }
        Quantity::PowerOf(element) => number(&of(*element)?.power),
        Quantity::ChargeOf(element) => optional(&of(*element)?.charge, *element),
        Quantity::EnergyOf(element) => optional(&of(*element)?.energy, *element),
        Quantity::ValueOf(element) => declared(circuit, ask.state, *element).map(|value| F::of(&value).number()),
    }
}

/// Voltage from one node to another. Both may be undetermined above the reference and still stand fixed above each other.
fn voltage_between<F: Scalar>(
    circuit: &Circuit,
    frame: &Frame,
    state: &StateAnswers,
    from: ohmline_circuit::NodeId,
    to: ohmline_circuit::NodeId,
) -> Result<Number, Cause> {
    if from == to {
        return Ok(F::zero().number());
    }
    let (a, b) = (&state.potentials[from.index()], &state.potentials[to.index()]);
    let one_piece = frame.piece[from.index()] == frame.piece[to.index()];
    if one_piece && let (Some(a), Some(b)) = (a.known().and_then(F::peek), b.known().and_then(F::peek)) {
        return Ok(a.minus(b).number());
    }
    if one_piece && let Some(voltage) = along::<F>(circuit, state, from, to) {
        return Ok(voltage.number());
    }
    for value in [a, b] {
        if one_piece && let Value::Undetermined(cause) = value {
            return Err(state.causes[cause.0 as usize].clone());
        }
    }
    Err(Cause::Between { from, to, diode: false })
}

/// The sum of the known voltages along a path of two-terminal elements.
fn along<F: Scalar>(
    circuit: &Circuit,
    state: &StateAnswers,
    from: ohmline_circuit::NodeId,
    to: ohmline_circuit::NodeId,
) -> Option<F> {
    let mut height: Vec<Option<F>> = vec![None; circuit.nodes.len()];
    height[from.index()] = Some(F::zero());
    let mut queue = vec![from];
    let mut next = 0;
    while next < queue.len() {
        let node = queue[next];
        next += 1;
        let here = height[node.index()].clone()?;
        for end in circuit.ends(node) {
            let element = circuit.element(end.element);
            let Some(answer) = &state.elements[end.element.index()] else { continue };
            let Some(voltage) = answer.voltage.as_ref().and_then(Value::known).and_then(F::peek) else { continue };
            if element.terminals.len() != 2 {
                continue;
            }
            let (far, rise) = if end.terminal == 0 {
                (element.terminals[1], voltage.negated())
            } else {
                (element.terminals[0], voltage.clone())
            };
            if height[far.index()].is_none() {
                height[far.index()] = Some(here.plus(&rise));
                queue.push(far);
            }
        }
    }
    // Height of `to` above `from`; the voltage from `from` to `to` is its opposite.
    height[to.index()].as_ref().map(F::negated)
}

/// The declared value of an element in a state.
fn declared(circuit: &Circuit, state: StateId, id: ElementId) -> Result<Rational, Cause> {
    let amount = match circuit.params(state, id) {
        Params::Battery { emf, .. } => Some(emf),
        Params::VoltageSource { voltage, .. } => Some(voltage),
        Params::CurrentSource { drive, .. } => Some(drive),
        Params::Resistor { resistance, .. }
        | Params::Lamp { resistance, .. }
        | Params::Potentiometer { resistance, .. } => Some(resistance),
        Params::Fuse { rating, .. } => rating.as_ref(),
        Params::Ammeter { resistance, .. } | Params::Voltmeter { resistance, .. } => resistance.as_ref(),
        Params::Capacitor { capacitance, .. } => Some(capacitance),
        Params::Inductor { inductance, .. } => Some(inductance),
        Params::Diode { drop, .. } => Some(drop),
        Params::Switch { .. } | Params::Changeover { .. } => None,
    };
    match amount {
        None => Err(Cause::NoMeaning { element: id }),
        Some(amount) => amount.known().cloned().ok_or(Cause::UnknownValue { element: id }),
    }
}

/// The largest answer of a kind in a state: what "zero" is measured by.
fn largest(circuit: &Circuit, state: &StateAnswers, unit: Unit) -> f64 {
    let size = |value: &Value| value.known().map_or(0.0, |number| number.to_f64().abs());
    let optional = |value: &Option<Value>| value.as_ref().map_or(0.0, size);
    let elements = state.elements.iter().flatten();
    match unit {
        Unit::Ampere => elements.flat_map(|answer| &answer.into).map(size).fold(0.0, f64::max),
        Unit::Volt => {
            let across = elements.map(|answer| optional(&answer.voltage)).fold(0.0, f64::max);
            state.potentials.iter().map(size).fold(across, f64::max)
        }
        Unit::Watt => elements.map(|answer| size(&answer.power)).fold(0.0, f64::max),
        Unit::Coulomb => elements.map(|answer| optional(&answer.charge)).fold(0.0, f64::max),
        Unit::Joule => elements.map(|answer| optional(&answer.energy)).fold(0.0, f64::max),
        Unit::Ohm => circuit
            .element_ids()
            .filter(|id| self::unit(circuit, &Quantity::ValueOf(*id)) == Unit::Ohm)
            .filter_map(|id| declared(circuit, state.state, id).ok())
            .map(|value| value.to_f64().abs())
            .fold(0.0, f64::max),
        _ => 0.0,
    }
}

/// How far off a floating result may be from an exact demand.
fn slack(stated: &Rational) -> Rational {
    (stated).abs() * Rational::from_unsigneds(1u32, 1_000_000_000)
}

/// A solved value as a rational, and whether it is exact.
fn exactly(number: &Number) -> (Rational, bool) {
    match number {
        Number::Exact(value) => ((**value).clone(), true),
        // The exact value of the double; not a number or infinite never holds.
        Number::Float(value) => (Rational::try_from(*value).unwrap_or_else(|_| Rational::from(0)), false),
    }
}

/// Whether a claimed value holds: a number of two or more digits when the solution rounds to what is written (either way on a
/// tie), of a single digit within 2 %, an expression exactly, zero below 1e-9 of the largest of its kind; with `within`, what it
/// allows. The sign counts.
fn holds(solved: &Number, stated: &Stated, within: Option<&Within>, largest: impl Fn() -> f64) -> bool {
    let (value, exact) = exactly(solved);
    if !solved.to_f64().is_finite() {
        return false;
    }
    let off = (&value - &stated.value).abs();
    let near_zero = || value == 0 || off.to_f64() < 1e-9 * largest();
    let allowed = match within {
        Some(Within::Absolute(allowed)) => allowed.abs(),
        Some(Within::Relative(_)) if stated.value == 0 => return near_zero(),
        Some(Within::Relative(share)) => (share * &stated.value).abs(),
        None => match &stated.last_digit {
            Some(_) if stated.value == 0 && stated.digits <= 1 => return near_zero(),
            Some(last) if stated.digits >= 2 => last.abs() * Rational::from_unsigneds(1u8, 2),
            Some(_) => (&stated.value).abs() * Rational::from_unsigneds(1u8, 50),
            None if stated.value == 0 => return near_zero(),
            None => Rational::from(0),
        },
    };
    let slack = if exact { Rational::from(0) } else { slack(&stated.value) };
    let same_sign = stated.value == 0 || value == 0 || (value > 0) == (stated.value > 0) || within.is_some();
    same_sign && off <= allowed + slack
}

/// Whether a reading, widened by `within` (else half its last digit), meets the prediction. The prediction is taken at nominal
/// values: tolerances of elements do not widen it yet.
fn agrees(predicted: &Number, stated: &Stated, within: Option<&Within>) -> bool {
    let (value, exact) = exactly(predicted);
    if !predicted.to_f64().is_finite() {
        return false;
    }
    let width = match (within, &stated.last_digit) {
        (Some(Within::Absolute(width)), _) => width.abs(),
        (Some(Within::Relative(share)), _) => (share * &stated.value).abs(),
        (None, Some(last)) => last.abs() * Rational::from_unsigneds(1u8, 2),
        (None, None) => Rational::from(0),
    };
    let slack = if exact { Rational::from(0) } else { slack(&stated.value) };
    (&value - &stated.value).abs() <= width + slack
}
