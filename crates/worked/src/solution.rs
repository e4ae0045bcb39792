//! The whole solution: data, the method for each part of the circuit, the table, the checks.

use malachite::Rational;
use malachite::base::num::arithmetic::traits::Abs;
use ohmline_circuit::{BranchId, Circuit, ElementId, Fault, Kind, Params, StateId, Topology, Unit};
use ohmline_solve::{Cause, DiodeState, Number, StateAnswers, Value};
use rustc_hash::FxHashMap;
use smol_str::SmolStr;

use crate::blocks::blocks;
use crate::charges::charges;
use crate::equations::{self, branches, by_loops, by_nodes, independent_loops};
use crate::line::{Equation, Figure, Line, Statement, list};
use crate::model::{Back, Chapter, Check, CheckKind, Method, Refusal, Row, Solution, Source, Step, Topic, Whole};
use crate::net::{Behavior, Net, Part, Placed, Shape};
use crate::prepare::{Fate, Prepared, branch_name, prepare};
use crate::reduce::{Outcome, Reduction, Values, shorten, terminal_voltage, unwind, with_currents};

/// Parts that carry current up to which a solution is worked out step by step.
pub const MOST_PARTS: usize = 200;

/// Works out a state of the circuit. `answers` are the solver's for that state: diodes stand as it found them, and the voltages of gaps
/// and the currents of wires are taken from it.
pub fn solve(
    circuit: &Circuit,
    state: StateId,
    topology: &Topology,
    answers: &StateAnswers,
    method: Method,
) -> Result<Solution, Refusal> {
    if circuit.declared_ids().all(|id| !circuit.element(id).is_placed()) {
        return Err(Refusal::NothingToDo);
    }
    let spoilt: Vec<usize> = (0..answers.causes.len())
        .filter(|&at| {
            matches!(
                answers.causes[at],
                Cause::VoltageLoop { .. }
                    | Cause::CurrentCut { .. }
                    | Cause::UnknownValue { .. }
                    | Cause::NoDiodeState { .. }
                    | Cause::SeveralDiodeStates { .. }
            )
        })
        .collect();
    if !spoilt.is_empty() {
        return Err(Refusal::Undetermined(spoilt));
    }
    if !answers.exact || circuit.branches.len() > 20 * MOST_PARTS {
        return Err(Refusal::TooLarge { parts: circuit.branches.len() });
    }
    let prepared = prepare(circuit, state, topology, answers);
    let parts: usize = prepared.blocks.iter().map(Vec::len).sum();
    if parts > MOST_PARTS {
        return Err(Refusal::TooLarge { parts });
    }
    let mut work = Work {
        circuit,
        state,
        topology,
        answers,
        prepared: &prepared,
        method,
        used: Method::Reduction,
        instead: None,
        chapters: Vec::new(),
        equations: Vec::new(),
        values: Values::default(),
        hows: FxHashMap::default(),
        back: Vec::new(),
    };
    work.data();
    work.all_blocks();
    if let Some(chapter) = charges(circuit, state, answers, &prepared) {
        work.chapters.push(chapter);
    }
    Ok(work.finish())
}

struct Work<'a> {
    circuit: &'a Circuit,
    state: StateId,
    topology: &'a Topology,
    answers: &'a StateAnswers,
    prepared: &'a Prepared,
    method: Method,
    used: Method,
    instead: Option<String>,
    chapters: Vec<Chapter>,
    equations: Vec<Equation>,
    values: Values,
    hows: FxHashMap<usize, String>,
    back: Vec<Back>,
}

/// What one block gave.
struct Solved {
    chapters: Vec<Chapter>,
    equations: Vec<Equation>,
    values: Values,
    hows: FxHashMap<usize, String>,
    back: Vec<Back>,
    used: Method,
}

fn chapter(topic: Topic, title: &str, steps: Vec<Step>) -> Chapter {
    Chapter { topic, title: title.to_owned(), steps }
}

/// What has to be solved, in one sentence; none where nothing flows.
fn what_is_left(net: &Net, blocks: usize) -> Option<String> {
    if net.placed.is_empty() {
        return None;
    }
    let sources = net.sources();
    let drives = sources.iter().filter(|placed| net.parts[placed.part].behavior != Behavior::Terminals);
    let resistances = match net.resistances().as_slice() {
        [] => None,
        [one] => Some(format!("the resistance {}", net.name(*one))),
        all => Some(format!("{} resistances", all.len())),
    };
    let all: Vec<&str> = drives.clone().map(|placed| net.name(*placed)).chain(resistances.as_deref()).collect();
    let mut meeting = vec![0usize; net.points.len()];
    for placed in &net.placed {
        meeting[placed.from] += 1;
        meeting[placed.to] += 1;
    }
    let shape = match meeting.iter().filter(|meeting| **meeting > 2).count() {
        0 if blocks > 1 => format!("they form {blocks} loops apart from each other"),
        // Between the two points that a question speaks of.
        0 if drives.clone().count() == 0 => "they form one line".to_owned(),
        0 => "they form one loop".to_owned(),
        1 => "at one junction more than two of them meet".to_owned(),
        junctions => format!("at {junctions} junctions more than two of them meet"),
    };
    Some(format!("Left to solve: {}; {shape}.", list(&all)))
}

impl Work<'_> {
    fn data(&mut self) {
        let mut steps = self.prepared.steps.clone();
        let mut last = Step { heading: "The network to solve".to_owned(), ..Step::default() };
        let mut net = self.prepared.net.clone();
        net.placed = self.prepared.blocks.iter().flatten().copied().collect();
        if net.placed.is_empty() {
            last.heading = "Nothing flows".to_owned();
            let bridged = |id| self.circuit.is_bridged(self.state, id) && self.circuit.element(id).kind.is_source();
            let shorted: Vec<&str> = self
                .circuit
                .declared_ids()
                .filter(|&id| bridged(id))
                .map(|id| self.circuit.element(id).name.as_str())
                .collect();
            last.lines.push(Statement::say(if shorted.is_empty() {
                "No closed path leads through a source, so every current is zero, and nothing has a voltage but the gaps."
                    .to_owned()
            } else {
                format!(
                    "Nothing flows but through {} and the wire across it: no other closed path leads through a source.",
                    list(&shorted)
                )
            }));
        }
        last.lines.extend(what_is_left(&net, self.prepared.blocks.len()).map(Statement::say));
        last.stage = Some(net.stage(&[]));
        steps.push(last);
        self.chapters.push(chapter(Topic::Data, "Data", steps));
    }

    fn all_blocks(&mut self) {
        let many = self.prepared.blocks.len() > 1;
        for (index, placed) in self.prepared.blocks.iter().enumerate() {
            let net = Net { placed: placed.clone(), ..self.prepared.net.clone() };
            let mut solved = self.block(net);
            if many {
                for chapter in &mut solved.chapters {
                    chapter.title = format!("Part {}: {}", index + 1, chapter.title);
                }
            }
            self.used = solved.used;
            self.chapters.extend(solved.chapters);
            self.equations.extend(solved.equations);
            self.values.extend(solved.values);
            self.hows.extend(solved.hows);
            self.back.extend(solved.back);
        }
    }

    /// The point that potentials count from.
    fn zero(&self, net: &Net) -> usize {
        let live = net.live_points();
        let declared = self.answers.references.iter().map(|reference| self.prepared.point[reference.node.index()]);
        let minus = net.sources().first().map(|source| source.to);
        declared.filter(|point| live.contains(point)).chain(minus).next().unwrap_or(0)
    }

    fn block(&mut self, net: Net) -> Solved {
        let sources = net.sources();
        let asked = sources.iter().all(|source| net.parts[source.part].behavior == Behavior::Terminals);
        match self.method {
            Method::Superposition if sources.len() > 1 => return self.superpose(net),
            Method::Superposition => {
                self.instead = Some(
                    "Superposition takes the sources one at a time, and here is only one. It is solved by reduction instead."
                        .to_owned(),
                );
            }
            Method::Nodes | Method::Loops if asked => {
                self.instead = Some(
                    "Nothing drives a current here, so there are no equations to set up. The resistance that is asked for is found by reduction."
                        .to_owned(),
                );
            }
            Method::Nodes | Method::Loops => {
                let method = self.method;
                if let Some(solved) = self.equations_for(&net, method, Vec::new(), Values::default()) {
                    return solved;
                }
                self.instead =
                    Some("These equations have no single solution; it is solved by reduction instead.".to_owned());
            }
            _ => {}
        }
        self.reduced(net, self.method)
    }

    /// Series and parallel as far as they go; then whatever helps.
    fn reduced(&mut self, net: Net, method: Method) -> Solved {
        let mut reduction = Reduction::new(self.circuit, net);
        let mut star = false;
        let mut outcome = reduction.run();
        while outcome == Outcome::Stuck {
            if reduction.leave_out_balanced() || reduction.join_equal_points() {
                outcome = reduction.run();
                continue;
            }
            if reduction.net.sources().len() == 1 && !star {
                let why = reduction.why_stuck();
                let at = reduction.steps.len();
                if reduction.star() {
                    reduction.steps.insert(at, why);
                    star = true;
                    outcome = reduction.run();
                    continue;
                }
            }
            break;
        }
        if method == Method::Reduction && (star || outcome == Outcome::Stuck) {
            self.instead = Some(
                "Series and parallel alone do not finish this circuit; the step at which they end says why, and another method goes on."
                    .to_owned(),
            );
        }
        if method == Method::StarDelta && !star {
            self.instead = Some(if outcome == Outcome::Loop {
                "Series and parallel finish this circuit, so no triangle has to be replaced.".to_owned()
            } else {
                "No single triangle makes this circuit reducible, so equations are set up instead.".to_owned()
            });
        }
        if outcome == Outcome::Stuck {
            return self.stuck(reduction);
        }
        reduction.close_ring();
        let used = if star { Method::StarDelta } else { Method::Reduction };
        let (step, values, equations) = reduction.solve_loop();
        let mut chapters = Vec::new();
        if !reduction.steps.is_empty() {
            chapters.push(chapter(Topic::Reduction, "Reduction", std::mem::take(&mut reduction.steps)));
        }
        let Some(mut values) = values else {
            chapters.push(chapter(Topic::Loop, "The result", vec![step]));
            return Solved {
                chapters,
                equations,
                values: Values::default(),
                hows: FxHashMap::default(),
                back: Vec::new(),
                used,
            };
        };
        let mut hows = FxHashMap::default();
        for part in values.keys() {
            hows.insert(*part, "the loop".to_owned());
        }
        chapters.push(chapter(Topic::Loop, "The loop that is left", vec![step]));
        let (steps, back) = unwind(&reduction, &mut values, &mut hows);
        if !steps.is_empty() {
            chapters.push(chapter(Topic::Back, "The way back", steps));
        }
        Solved { chapters, equations, values, hows, back, used }
    }

    /// Equations for what does not reduce.
    fn stuck(&mut self, mut reduction: Reduction<'_>) -> Solved {
        let why = reduction.why_stuck();
        reduction.steps.push(why);
        let mut chapters = vec![chapter(Topic::Reduction, "Reduction", std::mem::take(&mut reduction.steps))];
        let mut net = reduction.net.clone();
        let asked =
            net.sources().first().copied().filter(|source| net.parts[source.part].behavior == Behavior::Terminals);
        let one = Rational::from(1);
        if let Some(source) = asked {
            let part = &mut net.parts[source.part];
            part.behavior = Behavior::Drive(one.clone());
            part.name = "test".into();
            part.given = true;
        }
        let (nodes, loops) = equations::unknowns(self.circuit, &net);
        let method = if loops < nodes && asked.is_none() { Method::Loops } else { Method::Nodes };
        let Some(mut solved) = self.equations_for(&net, method, Vec::new(), Values::default()) else {
            return Solved {
                chapters,
                equations: Vec::new(),
                values: Values::default(),
                hows: FxHashMap::default(),
                back: Vec::new(),
                used: method,
            };
        };
        if let Some(source) = asked {
            let (a, b) = (net.label(source.from).to_owned(), net.label(source.to).to_owned());
            if let Some(first) = solved.chapters.first_mut() {
                first.steps.insert(0, Step {
                    heading: "A test current".to_owned(),
                    lines: vec![Statement::Say(Line::of(
                        &format!(
                            "Think a current of # driven in at {a} and taken out at {b}. The voltage between them, divided by that \
                             current, is the resistance."
                        ),
                        [Figure::ampere(&one).given()],
                    ))],
                    ..Step::default()
                });
                let volts = solved.values.get(&source.part).map(|(_, v)| v.clone()).unwrap_or_default();
                first.steps.push(Step {
                    heading: "The resistance".to_owned(),
                    lines: vec![Statement::Equation(
                        Equation::new(format!("R({a} to {b})"))
                            .put("# / #", [Figure::volt(&volts), Figure::ampere(&one).given()])
                            .gives(Figure::ohm(&volts)),
                    )],
                    ..Step::default()
                });
            }
            chapters.extend(solved.chapters);
            return Solved {
                chapters,
                values: Values::default(),
                back: Vec::new(),
                ..Solved { chapters: Vec::new(), ..solved }
            };
        }
        let (steps, back) = unwind(&reduction, &mut solved.values, &mut solved.hows);
        chapters.extend(solved.chapters);
        if !steps.is_empty() {
            chapters.push(chapter(Topic::Back, "The way back", steps));
        }
        Solved { chapters, back, ..Solved { chapters: Vec::new(), ..solved } }
    }

    /// Sets up and solves equations of one kind.
    fn equations_for(&mut self, net: &Net, method: Method, back: Vec<Back>, _: Values) -> Option<Solved> {
        let (worked, topic, title, how) = if method == Method::Loops {
            (by_loops(self.circuit, net)?, Topic::Loops, "Loop equations", "from the loop currents")
        } else {
            (by_nodes(self.circuit, net, self.zero(net))?, Topic::Nodes, "Junction equations", "from the potentials")
        };
        let mut worked = worked;
        if let Some(last) = worked.steps.last_mut() {
            last.stage = Some(with_currents(net.stage(&[]), net, &worked.values));
        }
        let hows = worked.values.keys().map(|part| (*part, how.to_owned())).collect();
        Some(Solved {
            chapters: vec![chapter(topic, title, worked.steps)],
            equations: worked.equations,
            values: worked.values,
            hows,
            back,
            used: method,
        })
    }

    /// One source at a time.
    fn superpose(&mut self, net: Net) -> Solved {
        let sources = net.sources();
        let mut chapters = Vec::new();
        let mut equations = Vec::new();
        let mut shares: Vec<(SmolStr, Values)> = Vec::new();
        for source in &sources {
            let mut alone = net.clone();
            let mut lines = Vec::new();
            let mut joined: Vec<usize> = (0..net.points.len()).collect();
            let mut internal: Vec<(usize, usize)> = Vec::new();
            for other in &sources {
                if other == source {
                    continue;
                }
                let part = net.parts[other.part].clone();
                alone.placed.retain(|placed| placed != other);
                match &part.behavior {
                    Behavior::Emf { internal: ohms, .. } if *ohms == 0 => {
                        lines.push(Statement::say(format!("{} is replaced by a wire.", part.name)));
                        let (a, b) = (joined[other.from], joined[other.to]);
                        joined.iter_mut().filter(|of| **of == a.max(b)).for_each(|of| *of = a.min(b));
                    }
                    Behavior::Emf { internal: ohms, .. } => {
                        lines.push(Statement::Say(Line::of(
                            &format!("{} is replaced by its internal resistance, #.", part.name),
                            [part.ohms()],
                        )));
                        let name = crate::reduce::internal_symbol(self.circuit, &part);
                        let name = SmolStr::from(name);
                        alone.parts.push(Part {
                            ends: (name.clone(), name.clone()),
                            name,
                            bare: true,
                            behavior: Behavior::Resistance(ohms.clone()),
                            shape: Shape::Single,
                            ..part
                        });
                        let index = alone.parts.len() - 1;
                        alone.placed.push(Placed { part: index, ..*other });
                        internal.push((index, other.part));
                    }
                    _ => lines.push(Statement::say(format!("{} is taken out: a gap.", part.name))),
                }
            }
            for placed in &mut alone.placed {
                placed.from = joined[placed.from];
                placed.to = joined[placed.to];
            }
            let ends: Vec<(usize, usize)> = alone.placed.iter().map(|placed| (placed.from, placed.to)).collect();
            let block = blocks(alone.points.len(), &ends);
            let own = alone.placed.iter().position(|placed| placed.part == source.part).map(|at| block[at]);
            let (stay, gone): (Vec<usize>, Vec<usize>) = (0..block.len()).partition(|&at| Some(block[at]) == own);
            let dead: Vec<SmolStr> = gone.iter().map(|&at| alone.parts[alone.placed[at].part].name.clone()).collect();
            if !dead.is_empty() {
                lines.push(Statement::say(format!(
                    "{} then {} nothing.",
                    shorten(&dead),
                    crate::line::verb(dead.len(), "carries", "carry")
                )));
            }
            let mut values = Values::default();
            for &at in &gone {
                values.insert(alone.placed[at].part, Default::default());
            }
            alone.placed = stay.iter().map(|&at| alone.placed[at]).collect();
            let name = net.parts[source.part].name.clone();
            let before = Step {
                heading: format!("Only {name} is left"),
                lines,
                stage: Some(alone.stage(&[])),
                ..Step::default()
            };
            let kept = self.instead.take();
            let solved = if alone.placed.len() < 2 {
                // Its ends are open, or it stands alone.
                Solved {
                    chapters: Vec::new(),
                    equations: Vec::new(),
                    values: Values::default(),
                    hows: FxHashMap::default(),
                    back: Vec::new(),
                    used: Method::Reduction,
                }
            } else {
                self.reduced(alone, Method::Auto)
            };
            self.instead = kept;
            values.extend(solved.values);
            for (index, of) in internal {
                if let Some(value) = values.get(&index).cloned() {
                    values.insert(of, value);
                }
            }
            let mut steps = vec![before];
            for part in solved.chapters {
                steps.extend(part.steps);
            }
            equations.extend(solved.equations);
            chapters.push(Chapter { topic: Topic::OneSource, title: format!("{name} alone"), steps });
            shares.push((name, values));
        }
        let mut values = Values::default();
        let names: Vec<&str> = shares.iter().map(|(name, _)| name.as_str()).collect();
        let mut lines = vec![Statement::say(format!(
            "The current through each element is the sum of the currents that {} cause alone, each with its sign. A current counts \
             in the direction in which the element is written.",
            list(&names)
        ))];
        let real = |placed: &Placed| match &net.parts[placed.part].behavior {
            Behavior::Resistance(_) => true,
            Behavior::Emf { internal, .. } => *internal != 0,
            _ => false,
        };
        for placed in net.placed.iter().copied().filter(real) {
            let part = &net.parts[placed.part];
            let out = matches!(part.behavior, Behavior::Emf { .. }) && self.is_source(part);
            let mut template = String::new();
            let mut figures = Vec::new();
            let mut sum = Rational::from(0);
            for (_, share) in &shares {
                let current = share.get(&placed.part).map(|(i, _)| i.clone()).unwrap_or_default();
                let current = if out { -current } else { current };
                let head = match (template.is_empty(), current < 0) {
                    (true, false) => "",
                    (true, true) => "-",
                    (false, false) => " + ",
                    (false, true) => " - ",
                };
                template = format!("{template}{head}#");
                sum += &current;
                figures.push(Figure::ampere(&current.abs()));
            }
            lines.push(Statement::Equation(
                Equation::new(format!("I({})", part.name)).put(&template, figures).gives(Figure::ampere(&sum)),
            ));
            let inside = if out { -sum } else { sum };
            let volts = match &part.behavior {
                Behavior::Resistance(ohms) => ohms * &inside,
                _ => terminal_voltage(part, &inside),
            };
            values.insert(placed.part, (inside, volts));
        }
        for source in &sources {
            if let Behavior::Drive(drive) = &net.parts[source.part].behavior {
                values.insert(source.part, (-drive.clone(), Rational::from(0)));
            }
        }
        let mut sum_step = Step { heading: "The currents".to_owned(), lines, ..Step::default() };
        // Sources: by the junction rule at a point where nothing else is missing.
        loop {
            let found = net.live_points().into_iter().find_map(|point| {
                let at = net.at(point);
                let missing: Vec<Placed> =
                    at.iter().copied().filter(|placed| !values.contains_key(&placed.part)).collect();
                if let [one] = missing[..] { Some((point, at, one)) } else { None }
            });
            let Some((point, at, missing)) = found else { break };
            let mut leaving = Rational::from(0);
            for placed in at {
                if let Some((i, _)) = values.get(&placed.part) {
                    if placed.from == point { leaving += i } else { leaving -= i }
                }
            }
            let inside = if missing.to == point { leaving } else { -leaving };
            let part = &net.parts[missing.part];
            let volts = terminal_voltage(part, &inside);
            sum_step.lines.push(Statement::say(format!("By the junction rule at {}:", net.label(point))));
            sum_step.lines.push(Statement::Equation(
                Equation::new(format!("I({})", part.name)).gives(Figure::ampere(&if self.is_source(part) {
                    -inside.clone()
                } else {
                    inside.clone()
                })),
            ));
            values.insert(missing.part, (inside, volts));
        }
        equations::settle_drives(&net, &mut values);
        sum_step.lines.push(Statement::say(
            "Powers do not add in this way, since a power goes with the square of a current: they follow from the sums.",
        ));
        chapters.push(chapter(Topic::Sum, "The sum", vec![sum_step]));
        let hows = values.keys().map(|part| (*part, "sum of what each source causes".to_owned())).collect();
        Solved { chapters, equations, values, hows, back: Vec::new(), used: Method::Superposition }
    }

    /// Whether its current counts out of `+`.
    fn is_source(&self, part: &Part) -> bool {
        part.element.is_some_and(|id| self.circuit.element(id).kind.is_source())
    }

    /// Table, checks and all.
    fn finish(self) -> Solution {
        let rows = self.rows();
        let checks = self.checks(&rows);
        let number = |value: &Option<Value>| match value.as_ref().and_then(Value::known) {
            Some(Number::Exact(value)) => (**value).clone(),
            _ => Rational::from(0),
        };
        let mut sources = Vec::new();
        let mut delivered = Rational::from(0);
        for id in self.circuit.declared_ids().filter(|&id| self.circuit.element(id).kind.is_source()) {
            let Some(row) = rows.iter().find(|row| row.element == id) else { continue };
            sources.push(Source {
                name: row.name.clone(),
                current: row.current.clone().unwrap_or_default(),
                voltage: row.voltage.clone().unwrap_or_else(|| {
                    self.answers.elements[id.index()].as_ref().map(|own| number(&own.voltage)).unwrap_or_default()
                }),
            });
            delivered += row.power.clone().filter(|power| *power > 0).unwrap_or_default();
        }
        let single = match &sources[..] {
            [one] => Some(one.clone()),
            _ => None,
        };
        let diode = self.answers.diodes.iter().any(|(_, state)| *state == DiodeState::Conducting);
        let flows = rows.iter().any(|row| row.current.as_ref().is_some_and(|current| *current != 0));
        let whole = (!sources.is_empty() && flows).then(|| Whole {
            resistance: single.as_ref().filter(|one| one.current != 0 && !diode).map(|one| &one.voltage / &one.current),
            current: single.as_ref().map(|one| one.current.clone()),
            voltage: single.as_ref().map(|one| one.voltage.clone()),
            power: delivered,
        });
        Solution {
            state: self.state,
            method: self.used,
            instead: self.instead,
            chapters: self.chapters,
            equations: self.equations,
            sources,
            back: self.back,
            rows,
            whole,
            checks,
            changes: None,
        }
    }

    fn rows(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for id in self.circuit.declared_ids() {
            let element = self.circuit.element(id);
            if !element.is_placed() {
                continue;
            }
            if element.kind == Kind::Changeover {
                rows.push(self.wire_row(id, element.name.clone(), "a wire"));
                continue;
            }
            for branch in self.circuit.branches_of(id) {
                let name = branch_name(self.circuit, branch);
                rows.push(match self.prepared.fates[branch.index()] {
                    Fate::Part(part) => self.part_row(id, branch, part),
                    Fate::Wire => self.wire_row(id, name, self.wire_word(id)),
                    Fate::Gap => self.gap_row(id, branch, name),
                    Fate::Shorted => self.idle_row(id, branch, name, "shorted: both ends are one point"),
                    Fate::Dead => self.idle_row(id, branch, name, "on no closed path with a source"),
                });
            }
        }
        rows
    }

    fn part_row(&self, id: ElementId, branch: BranchId, part: usize) -> Row {
        let own = &self.prepared.net.parts[part];
        let value = self.values.get(&part).cloned();
        let source = self.circuit.element(id).kind.is_source();
        let how = self.hows.get(&part).cloned().unwrap_or_else(|| "nothing drives a current".to_owned());
        let (current, voltage) = value.unwrap_or_default();
        let power = &current * &voltage;
        Row {
            element: id,
            name: branch_name(self.circuit, branch),
            resistance: own.resistance().map(|_| own.ohms()),
            current: Some(if source { -current } else { current }),
            voltage: Some(voltage),
            power: Some(if source { -power } else { power }),
            how,
        }
    }

    fn wire_word(&self, id: ElementId) -> &'static str {
        if self.circuit.states[self.state.index()].faults.get(&id) == Some(&Fault::Shorted) {
            return "bridged";
        }
        match self.circuit.params(self.state, id) {
            Params::Switch { .. } => "closed",
            Params::Ammeter { .. } => "ideal ammeter",
            _ => "a wire",
        }
    }

    fn wire_row(&self, id: ElementId, name: SmolStr, word: &str) -> Row {
        let answer = self.answers.elements[id.index()].as_ref();
        let exact = |value: Option<&Value>| match value.and_then(Value::known) {
            Some(Number::Exact(value)) => Some((**value).clone()),
            _ => None,
        };
        let partner = self.topology.series_with(self.circuit, id).into_iter().find(|other| {
            self.circuit.branches_of(*other).any(|branch| matches!(self.prepared.fates[branch.index()], Fate::Part(_)))
        });
        let current = exact(answer.and_then(|answer| answer.current.as_ref()));
        let how = match (partner, &current) {
            _ if self.circuit.is_bridged(self.state, id) => match self.circuit.element(id).kind.is_source() {
                true => "shorted by the wire across it".to_owned(),
                false => "a wire lies across it".to_owned(),
            },
            (_, None) => format!("{word}; its share is undetermined"),
            (Some(partner), _) => format!("{word}; same current as {}", self.circuit.element(partner).name),
            (None, Some(current)) if *current == 0 => format!("{word}; nothing flows"),
            (None, _) => format!("{word}; junction rule"),
        };
        Row {
            element: id,
            name,
            resistance: None,
            current,
            voltage: Some(Rational::from(0)),
            power: Some(Rational::from(0)),
            how,
        }
    }

    fn voltage_across(&self, branch: BranchId) -> Option<Rational> {
        let ends = self.circuit.branch(branch);
        let potential = |node: ohmline_circuit::NodeId| match self.answers.potentials.get(node.index())?.known()? {
            Number::Exact(value) => Some((**value).clone()),
            Number::Float(_) => None,
        };
        Some(potential(ends.from)? - potential(ends.to)?)
    }

    fn gap_row(&self, id: ElementId, branch: BranchId, name: SmolStr) -> Row {
        let how = match self.circuit.params(self.state, id) {
            _ if self.circuit.states[self.state.index()].faults.get(&id) == Some(&Fault::Open) => "taken out",
            Params::Switch { .. } => "open",
            Params::Voltmeter { .. } => "ideal voltmeter",
            Params::Capacitor { .. } => "charged, carries nothing",
            Params::Diode { .. } => "blocks",
            _ => "carries nothing",
        };
        Row {
            element: id,
            name,
            resistance: None,
            current: Some(Rational::from(0)),
            voltage: self.voltage_across(branch),
            power: Some(Rational::from(0)),
            how: how.to_owned(),
        }
    }

    fn idle_row(&self, id: ElementId, branch: BranchId, name: SmolStr, how: &str) -> Row {
        let resistance = match self.circuit.law(self.state, branch) {
            ohmline_circuit::Law::Resistance(value) => Some(Figure::ohm(&value).given()),
            _ => None,
        };
        let source = self.circuit.element(id).kind.is_source();
        Row {
            element: id,
            name,
            resistance,
            current: Some(Rational::from(0)),
            voltage: if source { self.voltage_across(branch) } else { Some(Rational::from(0)) },
            power: Some(Rational::from(0)),
            how: how.to_owned(),
        }
    }

    fn checks(&self, rows: &[Row]) -> Vec<Check> {
        let mut checks = Vec::new();
        let zero = || Rational::from(0);
        let is_equal = |left: &[(SmolStr, Figure)], right: &[(SmolStr, Figure)]| {
            let sum =
                |side: &[(SmolStr, Figure)]| side.iter().map(|(_, figure)| figure.value.clone()).sum::<Rational>();
            sum(left) == sum(right)
        };
        let mut loops = Vec::new();
        for placed in &self.prepared.blocks {
            let net = Net { placed: placed.clone(), ..self.prepared.net.clone() };
            if net.sources().iter().any(|source| net.parts[source.part].behavior == Behavior::Terminals) {
                continue;
            }
            let value = |part: usize| self.values.get(&part).cloned().unwrap_or_else(|| (zero(), zero()));
            for point in net.live_points() {
                if net.degree(point) < 3 {
                    continue;
                }
                let (mut left, mut right) = (Vec::new(), Vec::new());
                for own in net.at(point) {
                    let (current, _) = value(own.part);
                    let out = if own.from == point { current } else { -current };
                    let name = net.parts[own.part].name.clone();
                    if out < 0 {
                        left.push((name, Figure::ampere(&-out)));
                    } else {
                        right.push((name, Figure::ampere(&out)));
                    }
                }
                let holds = is_equal(&left, &right);
                checks.push(Check {
                    kind: CheckKind::Junction(net.label(point).to_owned()),
                    left,
                    right,
                    holds,
                    say: None,
                });
            }
            let all = branches(self.circuit, &net);
            for mut ring in independent_loops(&all) {
                // Begin with a source, and go the way that it drives.
                let drives = |(branch, _): &(usize, bool)| {
                    all[*branch]
                        .parts
                        .iter()
                        .find(|(part, _)| self.is_source(&net.parts[*part]))
                        .map(|(_, flipped)| *flipped)
                };
                if let Some(at) = ring.iter().position(|item| drives(item).is_some()) {
                    if drives(&ring[at]) == Some(ring[at].1) {
                        ring.reverse();
                        ring.iter_mut().for_each(|item| item.1 = !item.1);
                    }
                    let at = ring.iter().position(|item| drives(item).is_some()).unwrap_or(0);
                    ring.rotate_left(at);
                }
                let (mut left, mut right, mut names) = (Vec::new(), Vec::new(), Vec::new());
                for (branch, against) in ring {
                    let mut parts = all[branch].parts.clone();
                    if against {
                        parts.reverse();
                    }
                    for (part, flipped) in parts {
                        let (_, voltage) = value(part);
                        let drop = if flipped != against { -voltage } else { voltage };
                        let name = net.parts[part].name.clone();
                        names.push(name.clone());
                        if drop < 0 {
                            left.push((name, Figure::volt(&-drop)));
                        } else {
                            right.push((name, Figure::volt(&drop)));
                        }
                    }
                }
                let holds = is_equal(&left, &right);
                loops.push(Check { kind: CheckKind::Loop(names), left, right, holds, say: None });
            }
        }
        checks.extend(loops);
        let (mut left, mut right) = (Vec::new(), Vec::new());
        for row in rows {
            let Some(power) = &row.power else { continue };
            if *power == 0 {
                continue;
            }
            let figure = Figure::new(&power.clone().abs(), Unit::Watt);
            let source = self.circuit.element(row.element).kind.is_source();
            if source == (*power > 0) {
                left.push((row.name.clone(), figure))
            } else {
                right.push((row.name.clone(), figure))
            }
        }
        if !left.is_empty() || !right.is_empty() {
            let holds = is_equal(&left, &right);
            checks.push(Check { kind: CheckKind::Power, left, right, holds, say: None });
        }
        for (id, state) in &self.answers.diodes {
            let name = self.circuit.element(*id).name.clone();
            let Some(row) = rows.iter().find(|row| row.element == *id) else { continue };
            let Params::Diode { drop, .. } = self.circuit.params(self.state, *id) else { continue };
            let Some(drop) = drop.known() else { continue };
            let (say, holds) = match (state, &row.current, &row.voltage) {
                (DiodeState::Conducting, Some(current), _) => (
                    Line::of(
                        &format!("{name} conducts: its current, #, runs from + to -, as was assumed."),
                        [Figure::ampere(current)],
                    ),
                    *current >= 0,
                ),
                (DiodeState::Blocking, _, Some(voltage)) => (
                    Line::of(
                        &format!("{name} blocks: the voltage from its + to its -, #, stays below its drop, #."),
                        [Figure::volt(voltage), Figure::volt(drop).given()],
                    ),
                    voltage <= drop,
                ),
                _ => continue,
            };
            checks.push(Check {
                kind: CheckKind::Diode(name),
                left: Vec::new(),
                right: Vec::new(),
                holds,
                say: Some(say),
            });
        }
        checks
    }
}
