//! How well the laws hold, from the answers alone: nothing of the way they were found is used.
//!
//! What is undetermined cannot be checked: a node with an undetermined current, and the power balance of a circuit with an
//! undetermined power, are left out.

use ohmline_circuit::{BranchId, Circuit, Kind, Law};

use crate::answers::{DiodeState, ElementAnswer, Residuals, StateAnswers, Value};
use crate::scalar::{Scalar, Total};

fn known<F: Scalar>(value: &Value) -> Option<&F> {
    value.known().and_then(F::peek)
}

/// Computes the residuals.
pub(crate) fn residuals<F: Scalar>(circuit: &Circuit, answers: &StateAnswers) -> Residuals {
    if F::EXACT {
        // As a rule all are zero; only then is it not worth finding what they are relative to.
        let plain = |_: &F| 1.0;
        let all = all::<F>(circuit, answers, &plain);
        if all == Residuals::default() {
            return all;
        }
    }
    all::<F>(circuit, answers, &|value| value.to_f64().abs())
}

/// `size` is the size of a value, as part of what residuals are relative to.
fn all<F: Scalar>(circuit: &Circuit, answers: &StateAnswers, size: &impl Fn(&F) -> f64) -> Residuals {
    Residuals {
        junction: junction::<F>(circuit, answers, size),
        element: element::<F>(circuit, answers, size),
        power: power::<F>(circuit, answers, size),
    }
}

fn ratio(amount: f64, scale: f64) -> f64 {
    if amount == 0.0 {
        0.0
    } else if scale == 0.0 {
        f64::INFINITY
    } else {
        amount / scale
    }
}

fn junction<F: Scalar>(circuit: &Circuit, answers: &StateAnswers, size: &impl Fn(&F) -> f64) -> f64 {
    let nodes = circuit.nodes.len();
    let mut sum = vec![F::Total::zero(); nodes];
    let mut largest = vec![0.0f64; nodes];
    let mut determined = vec![true; nodes];
    for (element, answer) in circuit.elements.iter().zip(&answers.elements) {
        let Some(answer) = answer else { continue };
        for (node, into) in element.terminals.iter().zip(&answer.into) {
            match known::<F>(into) {
                Some(into) => {
                    sum[node.index()].add(into);
                    let largest = &mut largest[node.index()];
                    *largest = largest.max(size(into));
                }
                None => determined[node.index()] = false,
            }
        }
    }
    (0..nodes).filter(|node| determined[*node]).map(|node| ratio(sum[node].size(), largest[node])).fold(0.0, f64::max)
}

/// The current through a branch from `from` to `to`, from the currents into the terminals.
fn through<F: Scalar>(kind: Kind, answer: &ElementAnswer, second: bool) -> Option<F> {
    let terminal = match (kind, second) {
        (Kind::Changeover, false) => 1,
        (Kind::Changeover, true) => 2,
        (Kind::Potentiometer, true) => 1,
        _ => return answer.into.first().and_then(known::<F>).cloned(),
    };
    answer.into.get(terminal).and_then(known::<F>).map(F::negated)
}

fn element<F: Scalar>(circuit: &Circuit, answers: &StateAnswers, size: &impl Fn(&F) -> f64) -> f64 {
    let potentials: Vec<Option<&F>> = answers.potentials.iter().map(known::<F>).collect();
    let (mut volts, mut amperes) = (0.0f64, 0.0f64);
    let (mut worst_volts, mut worst_amperes) = (0.0f64, 0.0f64);
    let mut diodes = answers.diodes.iter().peekable();
    for potential in potentials.iter().flatten() {
        volts = volts.max(size(potential));
    }
    for (index, branch) in circuit.branches.iter().enumerate() {
        let element = circuit.element(branch.element);
        let conducts = match diodes.peek() {
            Some((diode, state)) if *diode == branch.element => {
                diodes.next();
                Some(*state == DiodeState::Conducting)
            }
            _ => None,
        };
        let Some(answer) = &answers.elements[branch.element.index()] else { continue };
        let second = index as u32 > element.branches.start;
        let current = through::<F>(element.kind, answer, second);
        if let Some(current) = &current {
            amperes = amperes.max(size(current));
        }
        let (Some(from), Some(to)) = (potentials[branch.from.index()], potentials[branch.to.index()]) else {
            continue;
        };
        // The potentials less a voltage.
        let off = |voltage: &F| {
            let mut off = F::Total::zero();
            off.add(from);
            off.sub(to);
            off.sub(voltage);
            off.size()
        };
        let stated = if element.branches.len() == 1 { answer.voltage.as_ref().and_then(known::<F>) } else { None };
        if let Some(stated) = stated {
            volts = volts.max(size(stated));
            worst_volts = worst_volts.max(off(stated));
        }
        // The voltage that the element's law demands.
        let demanded = match (circuit.law(answers.state, BranchId(index as u32)), &current) {
            (Law::Short, _) if answer.voltage.as_ref().is_none_or(|value| value.known().is_some()) => Some(F::zero()),
            (Law::Resistance(resistance), Some(current)) => Some(F::of(&resistance).times(current)),
            (Law::Emf { emf, internal }, Some(current)) => Some(F::of(&emf).plus(&F::of(&internal).times(current))),
            (Law::Diode { drop, resistance }, Some(current)) if conducts == Some(true) => {
                Some(F::of(&drop).plus(&F::of(&resistance).times(current)))
            }
            (Law::Drive(drive), Some(current)) => {
                worst_amperes = worst_amperes.max(current.plus(&F::of(&drive)).to_f64().abs());
                None
            }
            (Law::Open | Law::Capacitor { .. }, Some(current)) => {
                worst_amperes = worst_amperes.max(current.to_f64().abs());
                None
            }
            _ => None,
        };
        if let Some(demanded) = demanded
            && stated != Some(&demanded)
        {
            worst_volts = worst_volts.max(off(&demanded));
        }
    }
    ratio(worst_volts, volts).max(ratio(worst_amperes, amperes))
}

fn power<F: Scalar>(circuit: &Circuit, answers: &StateAnswers, size: &impl Fn(&F) -> f64) -> f64 {
    let mut balance = F::Total::zero();
    let mut whole = 0.0;
    for (element, answer) in circuit.elements.iter().zip(&answers.elements) {
        let Some(answer) = answer else { continue };
        let Some(power) = known::<F>(&answer.power) else { return 0.0 };
        if element.kind.is_source() {
            balance.add(power);
        } else {
            balance.sub(power);
        }
        whole += size(power);
    }
    // Delivered and taken up are each half of the sum of sizes.
    ratio(balance.size(), whole / 2.0)
}
