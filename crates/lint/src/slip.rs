//! Why a claimed value may be off: what is known to go wrong, worked out for this circuit and compared with what is claimed.
//!
//! A match says "this number is what you get if", never what somebody thinks: several slips may give one number.

use ohmline_circuit::{Ask, Claim, ElementId, Kind, Law, Quantity, StateId, Stated};
use ohmline_solve::{ElementAnswer, StateAnswers};
use ohmline_syntax::{Diagnostic, Safety};

use crate::facts::Facts;
use crate::pieces;
use crate::registry::Meta;
use crate::rules::false_claim;
use crate::wording;

/// What a wrong value looks like.
#[derive(Clone, PartialEq, Debug)]
pub enum Slip {
    /// The right digits with the wrong sign.
    Sign,
    /// The right digits with the wrong prefix: so many powers of a thousand too large.
    Prefix(i32),
    /// The value in another state.
    State(StateId),
    /// The same quantity of other elements.
    Elements(Vec<ElementId>),
    /// What a known slip gives, in words that go on after "that is what".
    Model(String),
}

/// Largest circuit whose other elements are compared.
const MOST: usize = 80;

/// What each claim that does not hold looks like; `None` for those that hold, are no values, or look like nothing known.
pub fn find_all(facts: &Facts<'_>) -> Vec<Option<Slip>> {
    (0..facts.circuit.claims.len()).map(|index| find(facts, index)).collect()
}

fn find(facts: &Facts<'_>, index: usize) -> Option<Slip> {
    let Claim::Value { ask, stated, .. } = &facts.circuit.claims[index] else { return None };
    let verdict = facts.answers.claims.get(index)?.as_ref()?;
    let solved = verdict.solved.as_ref().ok().filter(|_| verdict.holds == Some(false))?.to_f64();
    let claimed = Claimed::new(stated);
    if claimed.value == 0.0 || solved == 0.0 || !solved.is_finite() {
        return None;
    }
    if claimed.is(-solved) {
        return Some(Slip::Sign);
    }
    let power = ((claimed.value / solved).abs().log10() / 3.0).round() as i32;
    if power != 0 && power.abs() <= 4 && claimed.is(solved * 1000f64.powi(power)) {
        return Some(Slip::Prefix(power));
    }
    in_other_state(facts, ask, &claimed)
        .or_else(|| of_others(facts, ask, &claimed))
        .or_else(|| models(facts, ask, &claimed, solved).map(Slip::Model))
}

/// A claimed number and how far from it a value rounds to it.
struct Claimed {
    value: f64,
    half: f64,
    digits: u32,
}

impl Claimed {
    fn new(stated: &Stated) -> Self {
        let number = |value: &ohmline_circuit::Rational| ohmline_solve::Number::exact(value.clone()).to_f64();
        let value = number(&stated.value);
        let half = match &stated.last_digit {
            Some(last) if stated.digits >= 2 => number(last).abs() / 2.0,
            Some(_) => value.abs() * 0.01,
            None => 0.0,
        };
        Self { value, half, digits: stated.digits }
    }

    fn is(&self, model: f64) -> bool {
        model.is_finite() && (model - self.value).abs() <= self.half * (1.0 + 1e-9) + self.value.abs() * 1e-9
    }

    /// The same, the sign left out.
    fn is_size_of(&self, model: f64) -> bool {
        self.is(model.abs().copysign(self.value))
    }
}

/// The same quantity in an answer of an element.
fn of_answer(quantity: &Quantity, answer: &ElementAnswer) -> Option<f64> {
    let value = match quantity {
        Quantity::CurrentThrough(_) => answer.current.as_ref()?,
        Quantity::VoltageAcross(_) => answer.voltage.as_ref()?,
        Quantity::PowerOf(_) => &answer.power,
        Quantity::ChargeOf(_) => answer.charge.as_ref()?,
        Quantity::EnergyOf(_) => answer.energy.as_ref()?,
        _ => return None,
    };
    value.known().map(|number| number.to_f64())
}

fn in_state(ask: &Ask, answers: &StateAnswers) -> Option<f64> {
    match &ask.quantity {
        Quantity::PotentialAt(node) => answers.potentials.get(node.index())?.known().map(|number| number.to_f64()),
        quantity => {
            let id = crate::facts::asked_element(quantity)?;
            of_answer(quantity, answers.elements.get(id.index())?.as_ref()?)
        }
    }
}

fn in_other_state(facts: &Facts<'_>, ask: &Ask, claimed: &Claimed) -> Option<Slip> {
    let others = facts.solved().filter(|answers| answers.state != ask.state);
    let mut fits = others.filter(|answers| in_state(ask, answers).is_some_and(|value| claimed.is(value)));
    fits.next().map(|answers| Slip::State(answers.state))
}

fn of_others(facts: &Facts<'_>, ask: &Ask, claimed: &Claimed) -> Option<Slip> {
    let own = crate::facts::asked_element(&ask.quantity)?;
    // A single digit fits too much.
    if facts.circuit.elements.len() > MOST || claimed.digits == 1 {
        return None;
    }
    let answers = facts.answers.states.get(ask.state.index())?;
    let piece = pieces::of_element(facts, own);
    let fits = |id: &ElementId| {
        let answer = answers.elements.get(id.index()).and_then(Option::as_ref);
        *id != own
            && pieces::of_element(facts, *id) == piece
            && answer.and_then(|answer| of_answer(&ask.quantity, answer)).is_some_and(|value| claimed.is_size_of(value))
    };
    let found: Vec<ElementId> = facts.circuit.declared_ids().filter(fits).take(4).collect();
    (!found.is_empty()).then_some(Slip::Elements(found))
}

/// Known slips: the documented ones of learners (R. Osborne 1983; D. Shipstone 1984; L. McDermott and P. Shaffer 1992).
fn models(facts: &Facts<'_>, ask: &Ask, claimed: &Claimed, solved: f64) -> Option<String> {
    let state = ask.state;
    let mut fits: Vec<String> = Vec::new();
    let mut offer = |model: Option<f64>, words: &dyn Fn() -> String| {
        if model.is_some_and(|model| claimed.is_size_of(model)) {
            fits.push(words());
        }
    };
    let supply = only_supply(facts, state, ask);
    let emf = supply.map(|(_, emf, _)| emf);
    match ask.quantity {
        Quantity::CurrentThrough(id) => {
            let ohms = facts.ohms(state, id);
            let beside = beside(facts, state, id);
            let sum: Option<f64> = beside.iter().map(|other| facts.amperes(state, *other).map(f64::abs)).sum();
            offer(sum.filter(|_| beside.len() > 1).map(|sum| sum / beside.len() as f64), &|| {
                format!("an equal split among {} gives", wording::elements(facts.circuit, &beside))
            });
            offer(emf.zip(ohms).map(|(emf, ohms)| emf / ohms), &|| {
                format!("the whole electromotive force over {} alone gives", facts.name(id))
            });
            if let Some((source, emf, internal)) = supply.filter(|(.., internal)| *internal > 0.0) {
                let whole = facts
                    .amperes(state, source)
                    .filter(|total| (total.abs() - solved.abs()).abs() < 1e-9 * total.abs());
                offer(whole.map(|total| emf / (emf / total.abs() - internal)), &|| {
                    format!("leaving out the internal resistance of {} gives", facts.name(source))
                });
            }
        }
        Quantity::VoltageAcross(id) => {
            if let Some((source, emf, _)) = supply {
                offer(Some(emf).filter(|_| source != id || claimed.digits > 1), &|| {
                    if source == id {
                        "its electromotive force is".to_owned()
                    } else {
                        format!("the whole electromotive force of {} is", facts.name(source))
                    }
                });
                let line = in_line(facts, state, id);
                let taken: Option<f64> = line.iter().map(|other| facts.volts(state, *other).map(f64::abs)).sum();
                let whole = taken.is_some_and(|taken| (taken - emf).abs() < 1e-9 * emf);
                offer(whole.then(|| emf / line.len() as f64), &|| {
                    format!("an equal share among {} gives", wording::elements(facts.circuit, &line))
                });
            }
        }
        Quantity::PowerOf(id) => {
            let (ohms, current) = (facts.ohms(state, id), facts.amperes(state, id));
            offer(emf.zip(ohms).map(|(emf, ohms)| emf * emf / ohms), &|| {
                "the whole electromotive force across it gives".to_owned()
            });
            offer(emf.zip(current).map(|(emf, current)| emf * current), &|| {
                "its current times the whole electromotive force gives".to_owned()
            });
            let total = supply.and_then(|(source, ..)| facts.amperes(state, source));
            offer(total.zip(ohms).map(|(total, ohms)| total * total * ohms), &|| {
                "the whole current through it gives".to_owned()
            });
        }
        Quantity::ResistanceBetween(..) | Quantity::ResistanceSeenBy(_) if facts.circuit.elements.len() <= MOST => {
            let all = facts.of_kinds(&[Kind::Resistor, Kind::Lamp]).filter_map(|id| facts.ohms(state, id));
            let (count, sum) = all.fold((0usize, 0.0), |(count, sum), ohms| (count + 1, sum + ohms));
            offer((count > 1).then_some(sum), &|| "adding all resistances as if in series gives".to_owned());
            offer(Some(1.0 / solved), &|| "forgetting the last inverse gives".to_owned());
        }
        _ => {}
    }
    fits.dedup();
    (!fits.is_empty()).then(|| fits.join(", or what "))
}

/// The only source of a piece, when it is a battery or a voltage source: itself, its electromotive force, its internal resistance.
fn only_supply(facts: &Facts<'_>, state: StateId, ask: &Ask) -> Option<(ElementId, f64, f64)> {
    let piece = pieces::of_element(facts, crate::facts::asked_element(&ask.quantity)?)?;
    let mut sources = facts.of_kinds_in(piece, &[Kind::Battery, Kind::VoltageSource, Kind::CurrentSource]);
    let (Some(source), None) = (sources.next(), sources.next()) else { return None };
    let Law::Emf { emf, internal } = facts.law_of(state, source)? else { return None };
    let number = |value| ohmline_solve::Number::exact(value).to_f64();
    Some((source, number(emf).abs(), number(internal)))
}

/// An element and the loads between the same two points.
fn beside(facts: &Facts<'_>, state: StateId, id: ElementId) -> Vec<ElementId> {
    let Some(topology) = facts.topologies.get(state.index()) else { return Vec::new() };
    let mut all: Vec<ElementId> = topology.parallel_with(facts.circuit, id);
    all.retain(|other| facts.ohms(state, *other).is_some());
    all.push(id);
    all.sort_unstable();
    all
}

/// An element and the loads that carry its current.
fn in_line(facts: &Facts<'_>, state: StateId, id: ElementId) -> Vec<ElementId> {
    let Some(topology) = facts.topologies.get(state.index()) else { return Vec::new() };
    let mut all: Vec<ElementId> = topology.series_with(facts.circuit, id);
    all.retain(|other| facts.ohms(state, *other).is_some());
    all.push(id);
    all.sort_unstable();
    all
}

/// What is said about a claim that looks like a slip: the value that the circuit gives, and behind it what the claimed one is.
pub fn report(facts: &Facts<'_>, meta: &Meta, index: usize, tail: &str, question: String) -> Option<Diagnostic> {
    let Claim::Value { ask, stated, .. } = &facts.circuit.claims[index] else { return None };
    let verdict = facts.answers.claims.get(index)?.as_ref()?;
    let solved = verdict.solved.as_ref().ok()?;
    let claimed = facts.slice(stated.at);
    let shown = wording::apart(solved, verdict.unit, stated, claimed);
    let message = format!("The {}{} is {shown}, not {claimed}: {tail}", ask.text, false_claim::in_case(facts, index));
    let mut said =
        Diagnostic::new(meta.name, meta.severity, stated.at, message).here(format!("solved: {shown}")).ask(question);
    said.cases = false_claim::claim_cases(facts, index);
    Some(said.fix(format!("Claim {shown}"), Safety::Asks, stated.at, shown))
}
