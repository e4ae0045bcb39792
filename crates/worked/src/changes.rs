//! What a case changes: every quantity beside that of the drawing, and the chain of causes.

use malachite::Rational;
use malachite::base::num::arithmetic::traits::Abs;
use ohmline_circuit::{Amount, Circuit, ElementId, Fault, Kind, Params, StateId, Throw, Topology, Unit};
use ohmline_solve::{Number, StateAnswers, Value};
use smol_str::SmolStr;

use crate::line::{Figure, Line, list};

/// Which way a size went.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Trend {
    /// Larger than before.
    Up,
    /// Smaller than before.
    Down,
    /// As before.
    Same,
    /// It changed its direction.
    Turned,
}

impl Trend {
    /// Compares by size; a change of sign is said first.
    pub fn of(before: &Rational, after: &Rational) -> Self {
        if before == after {
            return Trend::Same;
        }
        if (*before < 0 && *after > 0) || (*before > 0 && *after < 0) {
            return Trend::Turned;
        }
        if after.clone().abs() > before.clone().abs() { Trend::Up } else { Trend::Down }
    }

    /// The trend's word.
    pub const fn word(self) -> &'static str {
        match self {
            Trend::Up => "up",
            Trend::Down => "down",
            Trend::Same => "same",
            Trend::Turned => "turned round",
        }
    }
}

/// An element before and after.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Change {
    /// Its name.
    pub name: SmolStr,
    /// Current as drawn and in the case.
    pub current: Option<(Rational, Rational)>,
    /// Voltage as drawn and in the case.
    pub voltage: Option<(Rational, Rational)>,
    /// Power as drawn and in the case.
    pub power: (Rational, Rational),
}

/// All changes of a case.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Changes {
    /// Every element whose current, voltage or power changed.
    pub rows: Vec<Change>,
    /// Names of the elements for which all stays the same.
    pub same: Vec<SmolStr>,
    /// What changes, and what follows from it, a sentence each.
    pub chain: Vec<Line>,
}

fn exact(value: Option<&Value>) -> Option<Rational> {
    match value?.known()? {
        Number::Exact(value) => Some((**value).clone()),
        Number::Float(_) => None,
    }
}

/// Compares a case with the drawing; topologies and answers of the drawing first. `None` for the drawing itself.
pub fn changes(
    circuit: &Circuit,
    state: StateId,
    topologies: (&Topology, &Topology),
    answers: (&StateAnswers, &StateAnswers),
) -> Option<Changes> {
    if state == StateId::DRAWN {
        return None;
    }
    let mut rows = Vec::new();
    let mut same = Vec::new();
    for id in circuit.declared_ids() {
        let (Some(before), Some(after)) =
            (answers.0.elements[id.index()].as_ref(), answers.1.elements[id.index()].as_ref())
        else {
            continue;
        };
        let pair =
            |of: fn(&ohmline_solve::ElementAnswer) -> Option<&Value>| Some((exact(of(before))?, exact(of(after))?));
        let current = pair(|answer| answer.current.as_ref());
        let voltage = pair(|answer| answer.voltage.as_ref());
        let Some(power) = pair(|answer| Some(&answer.power)) else { continue };
        let name = circuit.element(id).name.clone();
        let differs = |pair: &Option<(Rational, Rational)>| pair.as_ref().is_some_and(|(a, b)| a != b);
        if differs(&current) || differs(&voltage) || power.0 != power.1 {
            rows.push(Change { name, current, voltage, power });
        } else {
            same.push(name);
        }
    }
    let mut chain: Vec<Line> = circuit.declared_ids().filter_map(|id| what_changes(circuit, state, id)).collect();
    chain.extend(consequences(circuit, state, topologies, answers));
    Some(Changes { rows, same, chain })
}

/// What the case does to an element, as a sentence.
fn what_changes(circuit: &Circuit, state: StateId, id: ElementId) -> Option<Line> {
    let element = circuit.element(id);
    if !element.is_placed() {
        return None;
    }
    let name = &element.name;
    match circuit.states[state.index()].faults.get(&id) {
        Some(Fault::Open) => return Some(Line::text(format!("{name} is taken out."))),
        Some(Fault::Shorted) if circuit.is_bridged(state, id) => {
            return Some(Line::text(format!("A wire is put across {name}.")));
        }
        Some(Fault::Shorted) => return Some(Line::text(format!("{name} is bridged."))),
        None => {}
    }
    let (before, after) = (circuit.params(StateId::DRAWN, id), circuit.params(state, id));
    if before == after {
        return None;
    }
    let goes = |what: String, before: &Amount, after: &Amount, unit: Unit| -> Option<Line> {
        let (before, after) = (before.known()?, after.known()?);
        (before != after).then(|| {
            let word = if after > before { "rises" } else { "falls" };
            Line::of(
                &format!("{what} {word} from # to #."),
                [Figure::new(before, unit).given(), Figure::new(after, unit).given()],
            )
        })
    };
    match (before, after) {
        (Params::Switch { .. }, Params::Switch { closed: Some(closed) }) => {
            Some(Line::text(format!("{name} is {}.", if *closed { "closed" } else { "opened" })))
        }
        (Params::Changeover { .. }, Params::Changeover { throw: Some(throw) }) => {
            Some(Line::text(format!("{name} is thrown to {}.", if *throw == Throw::A { "a" } else { "b" })))
        }
        (Params::Battery { emf: a, internal: r, .. }, Params::Battery { emf: b, internal: s, .. }) => {
            let zero = Amount::Known(Rational::from(0));
            let first = goes(format!("The emf of {name}"), a, b, Unit::Volt);
            let second = goes(
                format!("The internal resistance of {name}"),
                r.as_ref().unwrap_or(&zero),
                s.as_ref().unwrap_or(&zero),
                Unit::Ohm,
            );
            match (first, second) {
                (Some(first), Some(second)) => Some(first.and(Line::text(" ")).and(second)),
                (first, second) => first.or(second),
            }
        }
        (Params::VoltageSource { voltage: a, .. }, Params::VoltageSource { voltage: b, .. }) => {
            goes(format!("The emf of {name}"), a, b, Unit::Volt)
        }
        (Params::CurrentSource { drive: a, .. }, Params::CurrentSource { drive: b, .. }) => {
            goes(format!("The current of {name}"), a, b, Unit::Ampere)
        }
        (Params::Resistor { resistance: a, .. }, Params::Resistor { resistance: b, .. })
        | (Params::Lamp { resistance: a, .. }, Params::Lamp { resistance: b, .. }) => {
            goes(format!("The resistance of {name}"), a, b, Unit::Ohm)
        }
        (Params::Potentiometer { .. }, Params::Potentiometer { .. }) => {
            Some(Line::text(format!("The wiper of {name} is moved.")))
        }
        _ => Some(Line::text(format!("{name} has another value."))),
    }
}

/// What follows where one source feeds the circuit: its resistance, its current, the voltages along its line, the rest.
fn consequences(
    circuit: &Circuit,
    state: StateId,
    topologies: (&Topology, &Topology),
    answers: (&StateAnswers, &StateAnswers),
) -> Vec<Line> {
    let mut chain = Vec::new();
    let sources: Vec<ElementId> = circuit
        .declared_ids()
        .filter(|&id| circuit.element(id).kind.is_source() && circuit.element(id).is_placed())
        .collect();
    let [source] = sources[..] else { return chain };
    let of = |answers: &StateAnswers, id: ElementId| {
        let answer = answers.elements[id.index()].as_ref()?;
        Some((exact(answer.current.as_ref())?, exact(answer.voltage.as_ref())?))
    };
    let (Some((i0, v0)), Some((i1, v1))) = (of(answers.0, source), of(answers.1, source)) else { return chain };
    let name = &circuit.element(source).name;
    let word = |before: &Rational, after: &Rational| match Trend::of(before, after) {
        Trend::Up => "rises",
        Trend::Down => "falls",
        Trend::Same => "stays",
        Trend::Turned => "turns round",
    };
    let moved = |what: &str, before: &Rational, after: &Rational, unit: Unit| {
        if before == after {
            Line::of(&format!("So {what} stays #."), [Figure::new(after, unit)])
        } else {
            Line::of(
                &format!("So {what} {} from # to #.", word(before, after)),
                [Figure::new(before, unit), Figure::new(after, unit)],
            )
        }
    };
    match (i0 == 0, i1 == 0) {
        (true, true) => {
            chain.push(Line::text(format!("No current leaves {name}, before or after.")));
            return chain;
        }
        (false, true) => {
            chain.push(Line::text(format!("So no closed path leads through {name} any more, and its current stops.")))
        }
        (true, false) => chain.push(Line::of(
            &format!("So a closed path leads through {name}, and it drives a current of #."),
            [Figure::ampere(&i1)],
        )),
        (false, false) => {
            let (r0, r1) = (&v0 / &i0, &v1 / &i1);
            if r0 == r1 && i0 == i1 {
                chain.push(Line::of(
                    &format!("{name} sees the same resistance as before, #, so its current stays #."),
                    [Figure::ohm(&r1), Figure::ampere(&i1)],
                ));
            } else {
                if circuit.element(source).kind != Kind::CurrentSource {
                    chain.push(moved(&format!("the resistance that {name} sees"), &r0, &r1, Unit::Ohm));
                }
                chain.push(moved(&format!("the current of {name}"), &i0, &i1, Unit::Ampere));
            }
        }
    }
    if v0 != v1 {
        chain.push(moved(&format!("the voltage between the terminals of {name}"), &v0, &v1, Unit::Volt));
    }
    // Loads that keep their values: those in the source's line, then the others.
    let keeps = |id: ElementId| {
        let element = circuit.element(id);
        matches!(element.kind, Kind::Resistor | Kind::Lamp)
            && element.is_placed()
            && circuit.params(StateId::DRAWN, id) == circuit.params(state, id)
            && !circuit.states[state.index()].faults.contains_key(&id)
    };
    let line = |topology: &Topology| topology.series_reduced_with(circuit, source);
    let (in_line_before, in_line_after) = (line(topologies.0), line(topologies.1));
    // Who has the same voltage before and after is spoken of together.
    let mut in_line: Vec<(Vec<&str>, Rational, Rational)> = Vec::new();
    let mut rest: Vec<(Vec<&str>, Rational, Rational)> = Vec::new();
    for id in circuit.declared_ids().filter(|&id| keeps(id)) {
        let (Some((_, a)), Some((_, b))) = (of(answers.0, id), of(answers.1, id)) else { continue };
        let (a, b) = (a.abs(), b.abs());
        let group = if in_line_before.contains(&id) && in_line_after.contains(&id) { &mut in_line } else { &mut rest };
        let name = circuit.element(id).name.as_str();
        match group.iter_mut().find(|(_, before, after)| *before == a && *after == b) {
            Some((names, ..)) => names.push(name),
            None => group.push((vec![name], a, b)),
        }
    }
    for (names, a, b) in &in_line {
        if a != b {
            let (carry, each) = if names.len() == 1 { ("carries", "across") } else { ("carry", "across each of") };
            let what = format!("the voltage {each} {}, which {carry} all of it,", list(names));
            chain.push(moved(&what, a, b, Unit::Volt));
        }
    }
    for (names, a, b) in rest.iter().take(6) {
        let one = names.len() == 1;
        if a != b {
            let what = format!("the voltage across {}", list(names));
            let its = if one { "Its current" } else { "Their currents" };
            let follows = match Trend::of(a, b) {
                Trend::Up => format!(" {its} {} with it.", if one { "rises" } else { "rise" }),
                Trend::Down => format!(" {its} {} with it.", if one { "falls" } else { "fall" }),
                _ => String::new(),
            };
            chain.push(moved(&what, a, b, Unit::Volt).and(Line::text(follows)));
        } else if i0 != i1 {
            chain.push(Line::of(
                &format!(
                    "{} {} # all the same, and so {}.",
                    list(names),
                    if one { "keeps its voltage of" } else { "keep their voltage of" },
                    if one { "its current" } else { "their currents" }
                ),
                [Figure::volt(b)],
            ));
        }
    }
    chain
}
