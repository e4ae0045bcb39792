//! The words for judgements and causes, shared by diagnostics, hover, tables and JSON: said once, shown everywhere.
//!
//! Every sentence can stand after a colon: it begins with a name or a small letter and has no final period.

use ohmline_circuit::quantity::Number;
use ohmline_circuit::topology::{Evidence, How, RelationVerdict, Role};
use ohmline_circuit::{
    Amount, Circuit, Claim, ElementId, Fault, Kind, NodeId, Params, StateId, Stated, Topology, Unit, Within,
};
use ohmline_solve::Cause;
use ohmline_syntax::tree::Relation;
use ohmline_syntax::{FileSpan, Span};
use smol_str::SmolStr;

use crate::context::Context;
use crate::wording::{self, exact, verb};

/// A claim, judged, in words.
#[derive(Clone, PartialEq, Debug)]
pub struct ClaimAnswer {
    /// As the user writes it: `R1, R2 in series`.
    pub text: String,
    /// The case spoken of.
    pub case: Option<SmolStr>,
    /// Whether it holds; `None` when that is undetermined.
    pub holds: Option<bool>,
    /// For series and parallel `direct`, `reduction`, `steady-state` or `no`; for values `value`.
    pub how: &'static str,
    /// Why, in one sentence without a final period.
    pub why: String,
    /// The whole statement.
    pub stmt: FileSpan,
}

/// Judges the claim with this index in [`Circuit::claims`].
pub fn claim(context: &Context<'_>, index: usize) -> ClaimAnswer {
    let circuit = context.circuit;
    let case = |state: StateId| circuit.states.get(state.index()).and_then(|state| state.name.clone());
    match &circuit.claims[index] {
        Claim::Relation { relation, branches, state, text, stmt, .. } => {
            let verdict = context.relations.get(index).and_then(Option::as_ref);
            let topology = context.topologies.get(state.index());
            let why = match (verdict, topology) {
                (Some(verdict), Some(topology)) => {
                    relation_sentence(circuit, topology, *state, *relation, branches, verdict)
                }
                _ => "it has not been judged".into(),
            };
            ClaimAnswer {
                text: text.clone(),
                case: case(*state),
                holds: verdict.map(|verdict| verdict.how != How::No),
                how: verdict.map_or(How::No, |verdict| verdict.how).word(),
                why,
                stmt: *stmt,
            }
        }
        Claim::Value { ask, stated, within } => {
            let slice =
                |at: FileSpan| context.sources.files.get(at.file.0 as usize).map_or("", |f| f.tree.slice(at.span));
            let mut written = slice(stated.at).split_whitespace().collect::<Vec<_>>().join(" ");
            if written.is_empty() {
                let unit = context.answers.claims.get(index).and_then(Option::as_ref).map_or(Unit::One, |v| v.unit);
                written = exact(&stated.value, unit);
            }
            let mut text = format!("{} = {written}", ask.text);
            let behind = FileSpan::new(stated.at.file, Span::new(stated.at.span.end, ask.stmt.span.end));
            if let Some(within) = slice(behind).trim_start().strip_prefix("within") {
                let within = within.split(" in \"").next().unwrap_or(within);
                text = format!("{text} within {}", within.split_whitespace().collect::<Vec<_>>().join(" "));
            } else if let Some(within) = within {
                let unit = context.answers.claims.get(index).and_then(Option::as_ref).map_or(Unit::One, |v| v.unit);
                text = format!("{text} within {}", tolerance(within, unit));
            }
            let verdict = context.answers.claims.get(index).and_then(Option::as_ref);
            let why = match verdict.map(|verdict| (&verdict.solved, verdict.unit, verdict.holds)) {
                None => "it has not been solved".into(),
                Some((Err(reason), ..)) => cause(circuit, reason),
                Some((Ok(solved), unit, holds)) => value_sentence(solved, unit, holds, stated, &written),
            };
            ClaimAnswer {
                text,
                case: case(ask.state),
                holds: verdict.and_then(|verdict| verdict.holds),
                how: "value",
                why,
                stmt: ask.stmt,
            }
        }
    }
}

/// `2%`, `1.00 mA`
fn tolerance(within: &Within, unit: Unit) -> String {
    match within {
        Within::Relative(share) => {
            let percent = Number::exact(share * ohmline_circuit::Rational::from(100)).to_f64();
            format!("{percent}%")
        }
        Within::Absolute(value) => exact(value, unit),
    }
}

fn value_sentence(solved: &Number, unit: Unit, holds: Option<bool>, stated: &Stated, written: &str) -> String {
    if holds == Some(false) {
        format!("the solution is {}, not {written}", wording::apart(solved, unit, stated, written))
    } else {
        format!("the solution is {}", wording::beside(solved, unit, stated, written))
    }
}

fn stores(kind: Kind) -> bool {
    matches!(kind, Kind::Capacitor | Kind::Electrolytic | Kind::Inductor)
}

/// What people call a node, so that it can stand after `at`, `and` or `between`.
pub fn node(circuit: &Circuit, node: NodeId) -> String {
    let label = &circuit.node(node).label;
    if label.starts_with("between ") { format!("the point {label}") } else { label.to_string() }
}

/// The names of elements as a list: `R1, R2 and R3`; a long one is cut.
pub fn element_list(circuit: &Circuit, elements: &[ElementId]) -> String {
    wording::elements(circuit, elements)
}

/// A member of a claim: `R1`, or `(R2, R4)` for a branch.
fn member(circuit: &Circuit, elements: &[ElementId]) -> String {
    match elements {
        [one] => circuit.element(*one).name.to_string(),
        _ => {
            let names: Vec<&str> = elements.iter().map(|id| circuit.element(*id).name.as_str()).collect();
            match names.len() {
                0..=6 => format!("({})", names.join(", ")),
                many => format!("({} and {} more)", names[..5].join(", "), many - 5),
            }
        }
    }
}

/// Why members of a claim do or do not stand as claimed.
fn relation_sentence(
    circuit: &Circuit,
    topology: &Topology,
    state: StateId,
    relation: Relation,
    members: &[Vec<ElementId>],
    verdict: &RelationVerdict,
) -> String {
    let name = |id: ElementId| circuit.element(id).name.as_str();
    let list = |ids: &[ElementId]| element_list(circuit, ids);
    let at = |id: NodeId| node(circuit, id);
    let named = |index: usize| members.get(index).map_or_else(String::new, |ids| member(circuit, ids));
    // A claim of a single bracket speaks of the elements in it.
    let singles: Vec<Vec<ElementId>> = match members {
        [only] => only.iter().map(|&id| vec![id]).collect(),
        _ => members.to_vec(),
    };
    let everyone: Vec<String> = singles.iter().map(|ids| member(circuit, ids)).collect();
    let all = wording::list(&everyone.iter().map(String::as_str).collect::<Vec<_>>());
    let both = if everyone.len() == 2 { "both" } else { "all" };
    let pair = match members {
        [_] => all.clone(),
        _ => format!("{} and {}", named(verdict.pair.0), named(verdict.pair.1)),
    };
    let holds = verdict.how != How::No;
    match (&verdict.evidence, relation) {
        (Evidence::Chain(nodes), _) if !holds => match nodes[..] {
            [one] => format!("{pair} meet at {} and carry one current: they are in series", at(one)),
            _ => format!("{pair} carry one current, one after the other: they are in series"),
        },
        (Evidence::Chain(nodes), _) => match nodes[..] {
            [] => format!("{all} is one and the same element"),
            [one] => format!("{all} meet at {}, and nothing else there can carry current", at(one)),
            [first, second] => format!(
                "{all} lie in one line through {} and {}, and nothing else there can carry current",
                at(first),
                at(second)
            ),
            [first, .., last] => format!(
                "{all} lie in one line through {} points, from {} to {}, and nothing else there can carry current",
                nodes.len(),
                at(first),
                at(last)
            ),
        },
        (Evidence::Through(between), _) if between.is_empty() => {
            format!("{all} carry one current whatever the values: all that passes one of them passes the other")
        }
        (Evidence::Through(between), _) => format!(
            "{all} carry one current whatever the values: what passes one of them goes on through {} to the next",
            list(between)
        ),
        (Evidence::Settled(capacitors), _) => format!(
            "{} nothing any more once charged, so {all} carry one current",
            if capacitors.is_empty() {
                "capacitors carry".to_string()
            } else {
                format!("{} {}", list(capacitors), verb(capacitors.len(), "carries", "carry"))
            }
        ),
        (Evidence::Between(from, to), Relation::Series) => {
            format!(
                "{pair} both run between {} and {}: they are in parallel, and current divides between them",
                at(*from),
                at(*to)
            )
        }
        (Evidence::Between(from, to), Relation::Parallel) => {
            let run = format!("{all} {both} run between {} and {}", at(*from), at(*to));
            match verdict.how {
                How::Reduction => format!("with the groups inside replaced by their equivalents, {run}"),
                How::SteadyState => format!("once capacitors are charged and carry nothing any more, {run}"),
                _ => run,
            }
        }
        (Evidence::ThirdWire { at: point, others }, _) if others.is_empty() => {
            let point = at(*point);
            format!("{pair} meet at {point}, which is asked about: current can enter or leave there")
        }
        (Evidence::ThirdWire { at: point, others }, _) => format!(
            "{pair} meet at {}, but {} {} there too, so the current can divide",
            at(*point),
            list(others),
            verb(others.len(), "joins", "join")
        ),
        (Evidence::Apart, Relation::Series) => {
            format!("{pair} do not meet, and what passes one of them need not pass the other")
        }
        (Evidence::Apart, Relation::Parallel) => match (members.get(verdict.pair.0), members.get(verdict.pair.1)) {
            (Some(one), Some(other)) => match (ends(circuit, one), ends(circuit, other)) {
                (Some((a, b)), Some((c, d))) => format!(
                    "{} runs between {} and {}, {} between {} and {}: they share no end",
                    named(verdict.pair.0),
                    at(a),
                    at(b),
                    named(verdict.pair.1),
                    at(c),
                    at(d)
                ),
                _ => format!("{pair} do not run between the same two points"),
            },
            _ => format!("{pair} do not run between the same two points"),
        },
        (Evidence::OneShared { shared, others }, _) => {
            format!("{pair} share {}, but their other ends are {} and {}", at(*shared), at(others.0), at(others.1))
        }
        (Evidence::PartOfBranch { element, branch }, _) => {
            let beside = if members.get(verdict.pair.0).is_some_and(|ids| ids[..] == [*element]) {
                named(verdict.pair.1)
            } else {
                named(verdict.pair.0)
            };
            format!(
                "{} alone does not run between the same two points as {beside}: the branch {} does",
                name(*element),
                member(circuit, branch)
            )
        }
        (Evidence::PartsOfBranches(one, other), _) => format!(
            "each is only part of a branch: {} and {} are in parallel as a whole",
            member(circuit, one),
            member(circuit, other)
        ),
        (Evidence::Idle(element), _) => idle_sentence(circuit, topology, state, *element),
        (Evidence::ShortedBy(element, by), _) => shorted_sentence(circuit, *element, by),
        (Evidence::Bypassed { element, part, by }, _) => {
            let way: Vec<String> = by.iter().map(|id| wording::conductor(circuit, state, *id)).collect();
            let way: Vec<&str> = way.iter().map(String::as_str).collect();
            format!(
                "{} {} both ends of {}, so {} carries no current",
                wording::list(&way),
                verb(by.len(), "joins", "join"),
                list(part),
                name(*element)
            )
        }
        (Evidence::NoBranch(elements), _) => match elements[..] {
            [one] => {
                format!("current can enter or leave {} at three points, so it does not run between two", name(one))
            }
            _ => format!(
                "{} are not in series with each other, so {} is no branch",
                list(elements),
                member(circuit, elements)
            ),
        },
        (Evidence::Closed(elements), _) => {
            format!(
                "{} are a closed path of their own, so {} ends where it begins",
                list(elements),
                member(circuit, elements)
            )
        }
        (Evidence::Incomplete { members, missing }, _) => format!(
            "{} {} between {}, so {} is not the whole branch",
            list(missing),
            verb(missing.len(), "stands", "stand"),
            list(members),
            member(circuit, members)
        ),
    }
}

/// The two ends of a member that is one element of two terminals.
fn ends(circuit: &Circuit, elements: &[ElementId]) -> Option<(NodeId, NodeId)> {
    match elements {
        [one] => match circuit.element(*one).terminals[..] {
            [from, to] => Some((from, to)),
            _ => None,
        },
        _ => None,
    }
}

/// Why an element carries no current.
fn idle_sentence(circuit: &Circuit, topology: &Topology, state: StateId, id: ElementId) -> String {
    let element = circuit.element(id);
    let name = &element.name;
    if !element.is_placed() {
        return format!("{name} stands in no path");
    }
    if circuit.states[state.index()].faults.get(&id) == Some(&Fault::Open) {
        return format!("{name} is taken out, so it carries no current");
    }
    match circuit.params(state, id) {
        Params::Switch { closed: Some(false) } => format!("{name} is open, so it carries no current"),
        Params::Voltmeter { resistance: None, .. } => format!("{name} is an ideal voltmeter, so it carries no current"),
        _ => {
            let switches = topology.waits_for(circuit, id);
            if switches.is_empty() {
                format!("{name} is on no closed path, so it carries no current")
            } else {
                let open = verb(switches.len(), "is", "are");
                format!("{name} carries no current while {} {open} open", element_list(circuit, &switches))
            }
        }
    }
}

/// What joins both ends of an element.
fn shorted_sentence(circuit: &Circuit, id: ElementId, by: &[ElementId]) -> String {
    let element = circuit.element(id);
    let name = &element.name;
    let joiner = if by.is_empty() { "a wire".to_string() } else { element_list(circuit, by) };
    let joins = verb(by.len().max(1), "joins", "join");
    let then = match element.kind {
        Kind::Battery | Kind::VoltageSource | Kind::CurrentSource => format!("{name} is shorted"),
        Kind::Resistor | Kind::Lamp | Kind::Voltmeter | Kind::Potentiometer => format!("{name} carries no current"),
        _ => format!("{name} has no voltage"),
    };
    format!("{joiner} {joins} both ends of {name}, so {then}")
}

/// What an element is in series and in parallel with in one state: `in series with R1 and S1; in parallel with nothing`.
pub fn series_sentence(circuit: &Circuit, topology: &Topology, id: ElementId) -> String {
    let element = circuit.element(id);
    if !element.is_placed() {
        return "stands in no path".into();
    }
    let series = topology.series_with(circuit, id);
    let mut further = topology.series_reduced_with(circuit, id);
    further.retain(|other| series.binary_search(other).is_err());
    let parallel = topology.parallel_with(circuit, id);
    let shorted = circuit.branches_of(id).find(|branch| topology.role.get(branch.index()) == Some(&Role::Shorted));
    if let (Some(branch), true, true) = (shorted, series.is_empty() && further.is_empty(), parallel.is_empty()) {
        return match topology.shorted_by(circuit, branch) {
            Some(by) if !by.is_empty() => format!("shorted by {}", element_list(circuit, &by)),
            _ => "shorted by a wire".into(),
        };
    }
    let names = |ids: &[ElementId]| if ids.is_empty() { "nothing".into() } else { element_list(circuit, ids) };
    let after = if further.is_empty() {
        String::new()
    } else {
        format!(", after reduction also with {}", element_list(circuit, &further))
    };
    format!("in series with {}{after}; in parallel with {}", names(&series), names(&parallel))
}

/// Why something has no single value, in one sentence without a final period.
pub fn cause(circuit: &Circuit, cause: &Cause) -> String {
    let name = |id: ElementId| circuit.element(id).name.as_str();
    let list = |ids: &[ElementId]| element_list(circuit, ids);
    let at = |id: NodeId| node(circuit, id);
    match cause {
        Cause::VoltageLoop { elements, excess } => {
            let (sources, others): (Vec<ElementId>, Vec<ElementId>) =
                elements.iter().copied().partition(|&id| circuit.element(id).kind.is_source());
            match sources[..] {
                [one] => {
                    let joiner = if others.is_empty() { "a wire".to_string() } else { list(&others) };
                    let joins = verb(others.len().max(1), "joins", "join");
                    format!(
                        "{joiner} {joins} both ends of {}, and no finite current fits its {}",
                        name(one),
                        exact(&magnitude(excess), Unit::Volt)
                    )
                }
                _ => format!(
                    "the ideal voltages round the loop of {} leave over {}, and no finite current fits that",
                    list(elements),
                    exact(&magnitude(excess), Unit::Volt)
                ),
            }
        }
        Cause::CurrentCut { sources, at: point, excess } => format!(
            "{} {} {} more than anything at {} can carry on",
            list(sources),
            verb(sources.len(), "drives", "drive"),
            exact(&magnitude(excess), Unit::Ampere),
            at(*point)
        ),
        Cause::ZeroLoop { elements } => match elements[..] {
            [one] => format!(
                "a wire joins both ends of {}, and nothing says how the current divides between them",
                name(one)
            ),
            _ => format!(
                "{} form a loop without resistance, and nothing says how the current divides among them",
                list(elements)
            ),
        },
        Cause::Floating { at: point } => {
            format!("nothing that can carry current connects {} to the 0 V point", at(*point))
        }
        Cause::UnknownValue { element } if circuit.is_unoriented(*element) => {
            format!("the path does not say which way round {} stands", name(*element))
        }
        Cause::UnknownValue { element } => {
            let name = name(*element);
            match amounts(&circuit.element(*element).params) {
                amounts if amounts.contains(&&Amount::Asked) => {
                    format!("the value of {name} is written ?, and finding it is not solved yet")
                }
                amounts if amounts.contains(&&Amount::Invalid) => format!("the value of {name} could not be read"),
                _ => format!("the value of {name} is not known"),
            }
        }
        Cause::NoDiodeState { diodes } => {
            format!("no way for {} to conduct or block fits the rest of the circuit", list(diodes))
        }
        Cause::SeveralDiodeStates { diodes, count } => {
            format!("{count} ways for {} to conduct or block fit, each with its own answers", list(diodes))
        }
        Cause::NoMeaning { element } => match circuit.element(*element).terminals.len() {
            0 => format!("{} stands in no path", name(*element)),
            1 | 2 if !stores(circuit.element(*element).kind) => {
                format!("{} is no capacitor, so what it joins has no capacitance", name(*element))
            }
            1 | 2 => format!("it has no meaning for {}", name(*element)),
            _ => format!(
                "{} has more than two terminals, so only the current into one of them has a meaning",
                name(*element)
            ),
        },
        Cause::Between { from, to, diode: true } => {
            format!(
                "a diode stands in that part, so {} and {} have no single resistance between them",
                at(*from),
                at(*to)
            )
        }
        Cause::Between { from, to, diode: false } => {
            format!("nothing that can carry current connects {} and {}", at(*from), at(*to))
        }
        Cause::NotSteady => "only steady states are solved yet, not what holds some time after a change".into(),
    }
}

fn magnitude(value: &ohmline_circuit::Rational) -> ohmline_circuit::Rational {
    if *value < 0 { -value } else { value.clone() }
}

/// The values of an element that decide how it conducts.
fn amounts(params: &Params) -> Vec<&Amount> {
    match params {
        Params::Battery { emf, internal, .. } => internal.iter().chain([emf]).collect(),
        Params::VoltageSource { voltage, .. } => vec![voltage],
        Params::CurrentSource { drive, .. } => vec![drive],
        Params::Resistor { resistance, .. } | Params::Lamp { resistance, .. } => vec![resistance],
        Params::Switch { .. } | Params::Changeover { .. } => Vec::new(),
        Params::Potentiometer { resistance, at, .. } => vec![resistance, at],
        Params::Fuse { resistance, .. } | Params::Ammeter { resistance, .. } | Params::Voltmeter { resistance, .. } => {
            resistance.iter().collect()
        }
        Params::Capacitor { capacitance, .. } => vec![capacitance],
        Params::Inductor { resistance, inductance, .. } => resistance.iter().chain([inductance]).collect(),
        Params::Diode { drop, resistance, .. } => resistance.iter().chain([drop]).collect(),
    }
}
