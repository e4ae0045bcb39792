//! The results of a circuit as JSON, by the published contract.

use std::io;

use ohmline_analysis::Analysis;
use ohmline_circuit::{Amount, Circuit, Claim, ElementId, Params, StateId, Throw, Unit};
use ohmline_lint::words;
use ohmline_solve::{Cause, DiodeState, Number, Reference, StateAnswers, Value};
use rustc_hash::FxHashMap;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use crate::SCHEMA;
use crate::amounts::{self, fault_word, question};
use crate::check_json::DiagnosticJson;
use crate::groups::{Companions, Groups};
use crate::json::{List, Num, Object, exact};
use crate::position::Positions;
use crate::undetermined::undetermined;

/// Writes the results; only those of one state if `only` names it.
pub fn write_solve_json(mut out: impl io::Write, analysis: &Analysis, only: Option<StateId>) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut out, &Whole { analysis, circuit: &analysis.circuit, only })?;
    out.write_all(b"\n")
}

/// Writes the results of every circuit of a Markdown document, each as [`write_solve_json`] would, with the state that is wanted of it.
pub fn write_solve_circuits_json(
    mut out: impl io::Write,
    file: &str,
    circuits: &[(&Analysis, Option<StateId>)],
) -> io::Result<()> {
    let circuits: Vec<Whole<'_>> =
        circuits.iter().map(|(analysis, only)| Whole { analysis, circuit: &analysis.circuit, only: *only }).collect();
    serde_json::to_writer_pretty(&mut out, &Circuits { schema: SCHEMA, file, circuits: &circuits })?;
    out.write_all(b"\n")
}

/// The circuits of a Markdown document.
#[derive(Serialize)]
pub(crate) struct Circuits<'a, T> {
    pub schema: u32,
    pub file: &'a str,
    pub circuits: &'a [T],
}

struct Whole<'a> {
    analysis: &'a Analysis,
    circuit: &'a Circuit,
    only: Option<StateId>,
}

impl Whole<'_> {
    fn wanted(&self, state: StateId) -> bool {
        self.only.is_none_or(|only| only == state)
    }

    fn case(&self, state: StateId) -> Option<&str> {
        case(self.circuit, state)
    }
}

fn case(circuit: &Circuit, state: StateId) -> Option<&str> {
    circuit.states.get(state.index())?.name.as_deref()
}

impl Serialize for Whole<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self { analysis, circuit, .. } = self;
        let answers = &analysis.answers;
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("schema", &SCHEMA)?;
        map.serialize_entry("file", analysis.sources.files.first().map_or("", |source| &source.name))?;
        map.serialize_entry("title", &circuit.title)?;
        let shown = answers.states.iter().find(|state| self.wanted(state.state));
        let reference = shown.and_then(|state| state.references.first());
        map.serialize_entry("reference", &reference.map(|reference| amounts::point(circuit, reference.node)))?;
        let states = || answers.states.iter().filter(|state| self.wanted(state.state));
        map.serialize_entry("cases", &List(|| states().map(|answers| Case { analysis, circuit, answers })))?;
        map.serialize_entry("unknowns", &Object(|| unknowns(circuit).map(|(name, unit)| (name, UnknownJson(unit)))))?;
        let finds = List(|| {
            let pairs = circuit.finds.iter().zip(&answers.finds);
            pairs.filter(|(ask, _)| self.wanted(ask.state)).map(|(ask, answer)| FindJson {
                quantity: question(ask),
                case: self.case(ask.state),
                value: answer.value.as_ref().ok().map(Num::from),
                unit: answer.unit.word(),
                exact: answer.value.as_ref().ok().and_then(exact),
            })
        });
        map.serialize_entry("finds", &finds)?;
        let context = analysis.context();
        let claims = List(|| {
            let wanted = circuit.claims.iter().enumerate().filter(|(_, claim)| {
                self.wanted(match claim {
                    Claim::Value { ask, .. } => ask.state,
                    Claim::Relation { state, .. } => *state,
                })
            });
            wanted.map(|(index, _)| {
                let answer = words::claim(&context, index);
                ClaimJson {
                    text: answer.text,
                    case: answer.case.map(|name| name.to_string()),
                    holds: answer.holds,
                    how: answer.how,
                    why: answer.why,
                }
            })
        });
        map.serialize_entry("claims", &claims)?;
        let measured = List(|| {
            let pairs = circuit.measured.iter().zip(&answers.measured);
            pairs.filter(|(reading, _)| self.wanted(reading.ask.state)).map(|(reading, verdict)| MeasuredJson {
                quantity: question(&reading.ask),
                case: self.case(reading.ask.state),
                value: Num::from(&reading.stated.value),
                unit: verdict.unit.word(),
                predicted: verdict.predicted.as_ref().ok().map(Num::from),
                exact: verdict.predicted.as_ref().ok().and_then(exact),
                agrees: verdict.agrees,
            })
        });
        map.serialize_entry("measured", &measured)?;
        map.serialize_entry("undetermined", &List(|| self.undetermined().into_iter()))?;
        let positions = Positions::new(&analysis.sources);
        let diagnostics = List(|| analysis.diagnostics.iter().map(|one| DiagnosticJson(one, analysis, &positions)));
        map.serialize_entry("diagnostics", &diagnostics)?;
        map.end()
    }
}

impl Whole<'_> {
    fn undetermined(&self) -> Vec<UndeterminedJson<'_>> {
        let mut all = Vec::new();
        for answers in self.analysis.answers.states.iter().filter(|state| self.wanted(state.state)) {
            let why: Vec<String> = answers.causes.iter().map(|cause| words::cause(self.circuit, cause)).collect();
            let case = self.case(answers.state);
            all.extend(undetermined(self.circuit, answers).into_iter().map(|one| UndeterminedJson {
                quantity: format!("{} {}", one.of, one.what),
                case,
                why: why.get(one.cause.0 as usize).cloned().unwrap_or_default(),
            }));
        }
        let mut ask = |ask: &ohmline_circuit::Ask, cause: &Cause| {
            let (quantity, case) = (question(ask), case(self.circuit, ask.state));
            // Mostly it is one of the elements' quantities, already in the list.
            if !all.iter().any(|one| one.quantity == quantity && one.case == case) {
                all.push(UndeterminedJson { quantity, case, why: words::cause(self.circuit, cause) });
            }
        };
        for (find, answer) in self.circuit.finds.iter().zip(&self.analysis.answers.finds) {
            if let (true, Err(cause)) = (self.wanted(find.state), &answer.value) {
                ask(find, cause);
            }
        }
        for (reading, verdict) in self.circuit.measured.iter().zip(&self.analysis.answers.measured) {
            if let (true, Err(cause)) = (self.wanted(reading.ask.state), &verdict.predicted) {
                ask(&reading.ask, cause);
            }
        }
        all
    }
}

#[derive(Serialize)]
struct FindJson<'a> {
    quantity: String,
    case: Option<&'a str>,
    value: Option<Num>,
    unit: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    exact: Option<String>,
}

#[derive(Serialize)]
struct ClaimJson {
    text: String,
    case: Option<String>,
    holds: Option<bool>,
    how: &'static str,
    why: String,
}

#[derive(Serialize)]
struct MeasuredJson<'a> {
    quantity: String,
    case: Option<&'a str>,
    value: Num,
    unit: &'static str,
    predicted: Option<Num>,
    #[serde(skip_serializing_if = "Option::is_none")]
    exact: Option<String>,
    agrees: Option<bool>,
}

#[derive(Serialize)]
struct UndeterminedJson<'a> {
    quantity: String,
    case: Option<&'a str>,
    why: String,
}

/// A value written `?` that no answer is known for.
struct UnknownJson(Unit);

impl Serialize for UnknownJson {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("value", &None::<f64>)?;
        map.serialize_entry("unit", self.0.word())?;
        map.end()
    }
}

/// Every value written `?`, as the user refers to it.
fn unknowns(circuit: &Circuit) -> impl Iterator<Item = (String, Unit)> {
    circuit.elements.iter().flat_map(|element| {
        let main = |amount: &Amount, unit| (*amount == Amount::Asked).then(|| (element.name.to_string(), unit));
        let option = |name: &str, amount: Option<&Amount>, unit| {
            (amount == Some(&Amount::Asked)).then(|| (format!("{}.{name}", element.name), unit))
        };
        let both = match &element.params {
            Params::Battery { emf, internal, .. } => {
                [main(emf, Unit::Volt), option("internal", internal.as_ref(), Unit::Ohm)]
            }
            Params::VoltageSource { voltage, .. } => [main(voltage, Unit::Volt), None],
            Params::CurrentSource { drive, .. } => [main(drive, Unit::Ampere), None],
            Params::Resistor { resistance, .. } | Params::Lamp { resistance, .. } => {
                [main(resistance, Unit::Ohm), None]
            }
            Params::Switch { .. } | Params::Changeover { .. } => [None, None],
            Params::Potentiometer { resistance, at, .. } => {
                [main(resistance, Unit::Ohm), option("at", Some(at), Unit::One)]
            }
            Params::Fuse { rating, resistance } => [
                rating.as_ref().and_then(|rating| main(rating, Unit::Ampere)),
                option("resistance", resistance.as_ref(), Unit::Ohm),
            ],
            Params::Ammeter { resistance, .. } | Params::Voltmeter { resistance, .. } => {
                [resistance.as_ref().and_then(|resistance| main(resistance, Unit::Ohm)), None]
            }
            Params::Capacitor { capacitance, .. } => [main(capacitance, Unit::Farad), None],
            Params::Inductor { inductance, resistance, .. } => {
                [main(inductance, Unit::Henry), option("resistance", resistance.as_ref(), Unit::Ohm)]
            }
            Params::Diode { drop, resistance, .. } => {
                [main(drop, Unit::Volt), option("resistance", resistance.as_ref(), Unit::Ohm)]
            }
        };
        both.into_iter().flatten()
    })
}

/// One state.
struct Case<'a> {
    analysis: &'a Analysis,
    circuit: &'a Circuit,
    answers: &'a StateAnswers,
}

impl Serialize for Case<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self { analysis, circuit, answers } = self;
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("name", &case(circuit, answers.state))?;
        let reference = |reference: &Reference| ReferenceJson {
            at: amounts::point(circuit, reference.node).to_owned(),
            chosen: reference.chosen,
        };
        map.serialize_entry("references", &List(|| answers.references.iter().map(reference)))?;
        let groups = analysis
            .topologies
            .get(answers.state.index())
            .map_or_else(Groups::default, |topology| Groups::of(circuit, topology));
        let (series, parallel) = (Companions::new(&groups.series), Companions::new(&groups.parallel));
        let diodes: FxHashMap<ElementId, DiodeState> = answers.diodes.iter().copied().collect();
        let elements = Object(|| {
            circuit.declared_ids().map(|id| {
                let element = ElementJson {
                    circuit,
                    answers,
                    id,
                    series: &series,
                    parallel: &parallel,
                    diode: diodes.get(&id).copied(),
                };
                (circuit.element(id).name.as_str(), element)
            })
        });
        map.serialize_entry("elements", &elements)?;
        let junctions = Object(|| {
            circuit.nodes.iter().zip(&answers.potentials).flat_map(|(node, value)| {
                let number = value.known();
                node.names.iter().map(move |name| {
                    (name.as_str(), JunctionJson { potential: number.map(Num::from), exact: number.and_then(exact) })
                })
            })
        });
        map.serialize_entry("junctions", &junctions)?;
        map.end()
    }
}

#[derive(Serialize)]
struct ReferenceJson {
    at: String,
    chosen: bool,
}

#[derive(Serialize)]
struct JunctionJson {
    potential: Option<Num>,
    #[serde(skip_serializing_if = "Option::is_none")]
    exact: Option<String>,
}

struct ElementJson<'a> {
    circuit: &'a Circuit,
    answers: &'a StateAnswers,
    id: ElementId,
    series: &'a Companions<'a>,
    parallel: &'a Companions<'a>,
    diode: Option<DiodeState>,
}

impl Serialize for ElementJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self { circuit, answers, id, .. } = *self;
        let element = circuit.element(id);
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("kind", element.kind.word())?;
        declared(&mut map, circuit.params(answers.state, id))?;
        if let Some(fault) = circuit.states[answers.state.index()].faults.get(&id) {
            map.serialize_entry("fault", fault_word(*fault))?;
        }
        if !element.is_placed() {
            map.serialize_entry("placed", &false)?;
        }
        let mut exacts: Vec<(&'static str, String)> = Vec::new();
        if let Some(answer) = answers.elements.get(id.index()).and_then(Option::as_ref) {
            let values = [
                ("current", answer.current.as_ref()),
                ("voltage", answer.voltage.as_ref()),
                ("power", Some(&answer.power)),
                ("charge", answer.charge.as_ref()),
                ("energy", answer.energy.as_ref()),
            ];
            for (name, value) in values {
                let Some(value) = value else { continue };
                map.serialize_entry(name, &value.known().map(Num::from))?;
                exacts.extend(value.known().and_then(exact).map(|exact| (name, exact)));
            }
            if amounts::terminals(element, answer).next().is_some() {
                let terminals =
                    Object(|| amounts::terminals(element, answer).map(|(name, value)| (name, TerminalJson(value))));
                map.serialize_entry("terminals", &terminals)?;
            }
        } else {
            for name in ["current", "voltage", "power"] {
                map.serialize_entry(name, &None::<f64>)?;
            }
        }
        if let Some(state) = self.diode {
            let word = match state {
                DiodeState::Conducting => "conducting",
                DiodeState::Blocking => "blocking",
            };
            map.serialize_entry("state", word)?;
        }
        let name = |other: ElementId| circuit.element(other).name.as_str();
        let (series, more_in_series) = self.series.of(id);
        map.serialize_entry("series_with", &List(|| series.iter().copied().map(name)))?;
        let (parallel, more_in_parallel) = self.parallel.of(id);
        map.serialize_entry("parallel_with", &List(|| parallel.iter().copied().map(name)))?;
        // Only where a list was cut short.
        for (key, more) in [("series_more", more_in_series), ("parallel_more", more_in_parallel)] {
            if more > 0 {
                map.serialize_entry(key, &more)?;
            }
        }
        if !exacts.is_empty() {
            map.serialize_entry("exact", &Object(|| exacts.iter().map(|(name, exact)| (*name, exact))))?;
        }
        map.end()
    }
}

/// The current into a terminal, positive into the element.
struct TerminalJson<'a>(&'a Value);

impl Serialize for TerminalJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let number: Option<&Number> = self.0.known();
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("current", &number.map(Num::from))?;
        if let Some(exact) = number.and_then(exact) {
            map.serialize_entry("exact", &exact)?;
        }
        map.end()
    }
}

/// The declared values, in SI base units; `null` where a value is asked for or cannot be read.
fn declared<M: SerializeMap>(map: &mut M, params: &Params) -> Result<(), M::Error> {
    let num = |amount: &Amount| amount.known().map(Num::from);
    macro_rules! put {
        ($($name:literal: $value:expr),* $(,)?) => { $( map.serialize_entry($name, &$value)?; )* };
    }
    macro_rules! put_if {
        ($($name:literal: $value:expr),* $(,)?) => { $( if let Some(value) = $value { map.serialize_entry($name, &value)?; } )* };
    }
    let known = |value: &Option<Box<malachite::Rational>>| value.as_deref().map(Num::from);
    match params {
        Params::Battery { emf, internal, capacity, limit } => {
            put!("emf": num(emf), "internal": internal.as_ref().map_or(Some(Num(0.0)), num));
            put_if!("capacity": known(capacity), "limit": known(limit));
        }
        Params::VoltageSource { voltage, limit } => {
            put!("emf": num(voltage), "internal": Num(0.0));
            put_if!("limit": known(limit));
        }
        Params::CurrentSource { drive, limit } => {
            put!("drive": num(drive));
            put_if!("limit": known(limit));
        }
        Params::Resistor { resistance, tolerance, rating } => {
            put!("resistance": num(resistance));
            put_if!("tolerance": known(tolerance), "rating": known(rating));
        }
        Params::Lamp { resistance, rated } => {
            put!("resistance": num(resistance));
            if let Some(rated) = rated {
                let (power, voltage) = &**rated;
                let rated = [("power", Num::from(power)), ("voltage", Num::from(voltage))];
                put!("rated": Object(|| rated.iter().map(|(name, value)| (*name, value))));
            }
        }
        Params::Switch { closed } => map.serialize_entry("closed", closed)?,
        Params::Changeover { throw } => {
            let word = throw.map(|throw| match throw {
                Throw::A => "a",
                Throw::B => "b",
            });
            map.serialize_entry("throw", &word)?;
        }
        Params::Potentiometer { resistance, at, rating } => {
            put!("resistance": num(resistance), "at": num(at));
            put_if!("rating": known(rating));
        }
        Params::Fuse { rating, resistance } => {
            put!("rating": rating.as_ref().and_then(num), "resistance": resistance.as_ref().map_or(Some(Num(0.0)), num));
        }
        Params::Ammeter { resistance, range } | Params::Voltmeter { resistance, range } => {
            put!("ideal": resistance.is_none());
            put_if!("resistance": resistance.as_ref().map(num), "range": known(range));
        }
        Params::Capacitor { capacitance, initial, rating } => {
            put!("capacitance": num(capacitance));
            put_if!("initial": known(initial), "rating": known(rating));
        }
        Params::Inductor { inductance, initial, resistance } => {
            put!("inductance": num(inductance), "resistance": resistance.as_ref().map_or(Some(Num(0.0)), num));
            put_if!("initial": known(initial));
        }
        Params::Diode { drop, resistance, limit } => {
            put!("drop": num(drop), "resistance": resistance.as_ref().map_or(Some(Num(0.0)), num));
            put_if!("limit": known(limit));
        }
    }
    Ok(())
}
