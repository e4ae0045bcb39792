//! From the circuit in one state to the network that is solved: what is ideal, what is left out, and why.

use malachite::Rational;
use ohmline_circuit::topology::Role;
use ohmline_circuit::{
    Amount, BranchId, Circuit, ElementId, Fault, Kind, Law, NodeId, Params, Quantity, StateId, Topology, Unit,
};
use ohmline_solve::{DiodeState, StateAnswers};
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use crate::blocks::blocks;
use crate::line::{Equation, Figure, Line, Statement, list, verb};
use crate::model::Step;
use crate::net::{Behavior, Net, Part, Placed, Point, Shape};
use crate::reduce::capital;

/// Where a branch of the drawing went.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Fate {
    /// It is this part.
    Part(usize),
    /// A wire: its ends are one point.
    Wire,
    /// It carries nothing by itself.
    Gap,
    /// Both its ends are one point, so it carries nothing.
    Shorted,
    /// It is on no closed path, or on none with a source.
    Dead,
}

/// The network, what became of each branch, and the words for it.
pub(crate) struct Prepared {
    pub net: Net,
    /// Parts of the net by blocks that carry current.
    pub blocks: Vec<Vec<Placed>>,
    pub fates: Vec<Fate>,
    /// The point of each node.
    pub point: Vec<usize>,
    pub steps: Vec<Step>,
}

/// A question for a resistance that is to be worked out since no source drives a current.
fn asked_resistance(circuit: &Circuit, state: StateId) -> Option<(NodeId, NodeId)> {
    let finds = circuit.finds.iter();
    let claims = circuit.claims.iter().filter_map(|claim| match claim {
        ohmline_circuit::Claim::Value { ask, .. } => Some(ask),
        ohmline_circuit::Claim::Relation { .. } => None,
    });
    finds.chain(claims).filter(|ask| ask.state == state).find_map(|ask| match ask.quantity {
        Quantity::ResistanceBetween(from, to) => Some((from, to)),
        _ => None,
    })
}

/// The name of a branch: of its element, or of one side of it.
pub(crate) fn branch_name(circuit: &Circuit, branch: BranchId) -> SmolStr {
    let element = circuit.branch(branch).element;
    let name = &circuit.element(element).name;
    match circuit.element(element).kind {
        Kind::Potentiometer if branch.0 == circuit.element(element).branches.start => format!("{name}.a").into(),
        Kind::Potentiometer => format!("{name}.b").into(),
        _ => name.clone(),
    }
}

/// Prepares a state. The diodes stand as `answers` found them.
pub(crate) fn prepare(circuit: &Circuit, state: StateId, topology: &Topology, answers: &StateAnswers) -> Prepared {
    let mut fates = vec![Fate::Gap; circuit.branches.len()];
    let mut behaviors: Vec<Option<Behavior>> = vec![None; circuit.branches.len()];
    let mut joins: Vec<usize> = (0..circuit.nodes.len()).collect();
    let diode = |id: ElementId| answers.diodes.iter().find(|(of, _)| *of == id).map(|(_, state)| *state);
    for (index, branch) in circuit.branches.iter().enumerate() {
        if !circuit.element(branch.element).is_placed() {
            continue;
        }
        match circuit.law(state, BranchId(index as u32)) {
            Law::Open | Law::Capacitor { .. } | Law::Unknown => {}
            Law::Short => fates[index] = Fate::Wire,
            Law::Resistance(value) => behaviors[index] = Some(Behavior::Resistance(value)),
            Law::Emf { emf, internal } => behaviors[index] = Some(Behavior::Emf { emf, internal }),
            Law::Drive(value) => behaviors[index] = Some(Behavior::Drive(value)),
            Law::Diode { drop, resistance } => {
                if diode(branch.element) == Some(DiodeState::Conducting) {
                    if drop == 0 && resistance == 0 {
                        fates[index] = Fate::Wire;
                    } else if drop == 0 {
                        behaviors[index] = Some(Behavior::Resistance(resistance));
                    } else {
                        behaviors[index] = Some(Behavior::Emf { emf: drop, internal: resistance });
                    }
                }
            }
        }
        if fates[index] == Fate::Wire {
            let (a, b) = (root(&joins, branch.from.index()), root(&joins, branch.to.index()));
            joins[a.max(b)] = a.min(b);
        }
    }
    // Points, numbered in the order of their first nodes.
    let mut number = vec![usize::MAX; circuit.nodes.len()];
    let mut point = vec![0; circuit.nodes.len()];
    let mut net = Net::default();
    for (node, own) in point.iter_mut().enumerate() {
        let of = root(&joins, node);
        if number[of] == usize::MAX {
            number[of] = net.points.len();
            net.points.push(Point::default());
        }
        *own = number[of];
        net.points[number[of]].nodes.push(NodeId(node as u32));
    }
    let mut edges = Vec::new();
    let mut of_edge = Vec::new();
    for (index, behavior) in behaviors.iter().enumerate() {
        if let Some(behavior) = behavior {
            let branch = circuit.branches[index];
            let (from, to) = (point[branch.from.index()], point[branch.to.index()]);
            fates[index] = Fate::Dead;
            if from == to && matches!(behavior, Behavior::Resistance(_) | Behavior::Drive(_)) {
                fates[index] = Fate::Shorted;
                continue;
            }
            edges.push((from, to));
            of_edge.push(Some(index));
        }
    }
    let has_source =
        of_edge.iter().flatten().any(|&index| !matches!(behaviors[index], Some(Behavior::Resistance(_)) | None));
    let asked = if has_source { None } else { asked_resistance(circuit, state) };
    if let Some((from, to)) = asked {
        edges.push((point[from.index()], point[to.index()]));
        of_edge.push(None);
    }
    let block = blocks(net.points.len(), &edges);
    let mut size = vec![0; block.iter().max().map_or(0, |most| most + 1)];
    let mut driven = size.iter().map(|_| false).collect::<Vec<bool>>();
    for (edge, &of) in block.iter().enumerate() {
        size[of] += 1;
        driven[of] |=
            of_edge[edge].is_none_or(|index| !matches!(behaviors[index], Some(Behavior::Resistance(_)) | None));
    }
    let mut found: Vec<(usize, Vec<Placed>)> = Vec::new();
    for (edge, &(from, to)) in edges.iter().enumerate() {
        let of = block[edge];
        // A bridge is on no closed path.
        if (size[of] < 2 && from != to) || !driven[of] {
            continue;
        }
        let part = match of_edge[edge] {
            Some(index) => {
                let id = BranchId(index as u32);
                let element = circuit.branches[index].element;
                fates[index] = Fate::Part(net.parts.len());
                Part {
                    ends: (branch_name(circuit, id), branch_name(circuit, id)),
                    name: branch_name(circuit, id),
                    bare: match circuit.element(element).kind {
                        Kind::Resistor => reads_as_resistance(&circuit.element(element).name),
                        Kind::Potentiometer => true,
                        _ => false,
                    },
                    element: Some(element),
                    behavior: behaviors[index].clone().unwrap_or(Behavior::Terminals),
                    given: !matches!(circuit.params(state, element), Params::Lamp { rated: Some(_), .. }),
                    span: (index as u32, index as u32),
                    shape: Shape::Single,
                }
            }
            None => Part {
                ends: Default::default(),
                name: "the asked points".into(),
                bare: false,
                element: None,
                behavior: Behavior::Terminals,
                given: false,
                span: (0, 0),
                shape: Shape::Single,
            },
        };
        let placed = Placed { part: net.parts.len(), from, to };
        net.parts.push(part);
        net.placed.push(placed);
        match found.iter_mut().find(|(number, _)| *number == of) {
            Some((_, parts)) => parts.push(placed),
            None => found.push((of, vec![placed])),
        }
    }
    name_points(circuit, &mut net);
    let mut prepared =
        Prepared { net, blocks: found.into_iter().map(|(_, parts)| parts).collect(), fates, point, steps: Vec::new() };
    let words = Words { circuit, state, topology, answers, prepared: &prepared };
    let steps = words.steps();
    prepared.steps = steps;
    prepared
}

fn root(joins: &[usize], mut node: usize) -> usize {
    while joins[node] != node {
        node = joins[node];
    }
    node
}

/// Names every point: by its junction, by a source's terminal, by a letter where three or more parts meet, else by its neighbors.
fn name_points(circuit: &Circuit, net: &mut Net) {
    let taken: FxHashSet<&str> = circuit.junction_names.keys().map(SmolStr::as_str).collect();
    let mut letters = ('a'..='z').map(String::from).chain((1..).map(|n| format!("p{n}")));
    for point in 0..net.points.len() {
        let at = net.at(point);
        let own = &net.points[point];
        let name = own.nodes.iter().flat_map(|node| &circuit.node(*node).names).next();
        let source = at.iter().find(|placed| {
            net.parts[placed.part].is_source() && net.parts[placed.part].element.is_some() && placed.from != placed.to
        });
        let (label, named) = if let Some(name) = name {
            (format!("@{name}"), true)
        } else if let Some(source) = source {
            (format!("{}{}", net.name(*source), if source.from == point { "+" } else { "-" }), true)
        } else if at.len() >= 3 {
            let letter = letters.find(|letter| !taken.contains(letter.as_str())).unwrap_or_default();
            (format!("@{letter}"), true)
        } else if at.is_empty() {
            let label = own.nodes.first().map_or("", |node| circuit.node(*node).label.as_str());
            let wordy = label.starts_with("between ");
            (if wordy { format!("the point {label}") } else { label.to_owned() }, !wordy)
        } else {
            let names: Vec<&str> = at.iter().map(|placed| net.name(*placed)).collect();
            (format!("the point between {}", list(&names)), false)
        };
        net.points[point].label = label;
        net.points[point].named = named;
    }
}

/// The words about the preparation.
struct Words<'a> {
    circuit: &'a Circuit,
    state: StateId,
    topology: &'a Topology,
    answers: &'a StateAnswers,
    prepared: &'a Prepared,
}

impl Words<'_> {
    fn name(&self, id: ElementId) -> &str {
        &self.circuit.element(id).name
    }

    fn steps(&self) -> Vec<Step> {
        let mut steps = Vec::new();
        let mut add = |heading: &str, lines: Vec<Statement>| {
            if !lines.is_empty() {
                steps.push(Step { heading: heading.to_owned(), lines, ..Step::default() });
            }
        };
        add("Given", self.given());
        add("Taken as ideal", self.ideal());
        add("Left out", self.left_out());
        add("Names of points", self.points());
        steps
    }

    /// Values, one line for each kind.
    fn given(&self) -> Vec<Statement> {
        let mut template: Vec<String> = Vec::new();
        let mut figures = Vec::new();
        let mut lines = Vec::new();
        let mut after = Vec::new();
        let mut marked: Vec<(&(Rational, Rational), &Rational, Vec<&str>)> = Vec::new();
        for id in self.circuit.declared_ids() {
            let element = self.circuit.element(id);
            if !element.is_placed() || self.circuit.states[self.state.index()].faults.contains_key(&id) {
                continue;
            }
            let name = self.name(id);
            let mut value = |symbol: String, amount: &Amount, unit: Unit| {
                if let Amount::Known(value) = amount {
                    let figure = Figure::new(value, unit).given();
                    match template.last_mut() {
                        Some(last) if figures.last() == Some(&figure) => {
                            *last = format!("{} = {symbol} = #", last.trim_end_matches(" = #"));
                        }
                        _ => {
                            template.push(format!("{symbol} = #"));
                            figures.push(figure);
                        }
                    }
                }
            };
            match self.circuit.params(self.state, id) {
                Params::Battery { emf, internal, .. } => {
                    value(format!("emf({name})"), emf, Unit::Volt);
                    if let Some(internal) = internal {
                        value(format!("{name}.internal"), internal, Unit::Ohm);
                    }
                }
                Params::VoltageSource { voltage, .. } => value(format!("emf({name})"), voltage, Unit::Volt),
                Params::CurrentSource { drive, .. } => value(format!("drive({name})"), drive, Unit::Ampere),
                Params::Resistor { resistance, .. } if reads_as_resistance(name) => {
                    value(name.to_owned(), resistance, Unit::Ohm)
                }
                Params::Resistor { resistance, .. } | Params::Lamp { resistance, rated: None } => {
                    value(format!("R({name})"), resistance, Unit::Ohm)
                }
                Params::Lamp { resistance: Amount::Known(ohms), rated: Some(rated) } => {
                    match marked.iter_mut().find(|(of, ..)| *of == &**rated) {
                        Some((.., names)) => names.push(name),
                        None => marked.push((rated, ohms, vec![name])),
                    }
                }
                Params::Lamp { .. } | Params::Switch { .. } | Params::Changeover { .. } => {}
                Params::Potentiometer { resistance: Amount::Known(whole), at: Amount::Known(at), .. } => {
                    let (a, b) = (whole * at, whole * (Rational::from(1) - at));
                    let track = Figure::ohm(whole).given();
                    after.push(Statement::Say(Line::of(
                        &format!(
                            "{name} has a track of #, divided by its wiper into {name}.a = # between a and the wiper, \
                             and {name}.b = # between the wiper and b."
                        ),
                        [track, Figure::ohm(&a).given(), Figure::ohm(&b).given()],
                    )));
                }
                Params::Potentiometer { .. } => {}
                Params::Fuse { resistance, .. }
                | Params::Ammeter { resistance, .. }
                | Params::Voltmeter { resistance, .. }
                | Params::Inductor { resistance, .. } => {
                    if let Some(resistance) = resistance {
                        value(format!("R({name})"), resistance, Unit::Ohm);
                    }
                }
                Params::Capacitor { capacitance, .. } => value(name.to_owned(), capacitance, Unit::Farad),
                Params::Diode { drop, resistance, .. } => {
                    value(format!("drop({name})"), drop, Unit::Volt);
                    if let Some(resistance) = resistance {
                        value(format!("R({name})"), resistance, Unit::Ohm);
                    }
                }
            }
        }
        if !template.is_empty() {
            lines.push(Statement::Say(Line::of(&format!("{}.", template.join(", ")), figures)));
        }
        for ((watts, volts), ohms, names) in marked {
            let (watts, volts) = (Figure::new(watts, Unit::Watt).given(), Figure::new(volts, Unit::Volt).given());
            lines.push(Statement::Say(Line::of(
                &format!(
                    "{} {} marked # at #; {} resistance is taken to be the same at any voltage:",
                    list(&names),
                    verb(names.len(), "is", "are each"),
                    verb(names.len(), "its", "the")
                ),
                [watts.clone(), volts.clone()],
            )));
            lines.push(Statement::Equation(
                Equation::new(format!("R({})", names[0]))
                    .is("(rated voltage)² / (rated power)")
                    .put("(#)² / #", [volts, watts])
                    .gives(Figure::ohm(ohms)),
            ));
        }
        lines.extend(after);
        // `current through R1` and `current through R2` are asked for together.
        let mut asked: Vec<(&str, Vec<&str>)> = Vec::new();
        for ask in self.circuit.finds.iter().filter(|ask| ask.state == self.state) {
            let text = ask.text.split(" in \"").next().unwrap_or(&ask.text);
            let (what, name) = match &ask.quantity {
                Quantity::VoltageBetween(..) | Quantity::ResistanceBetween(..) | Quantity::CapacitanceBetween(..) => {
                    (text, "")
                }
                _ => text.rsplit_once(' ').unwrap_or((text, "")),
            };
            match asked.iter_mut().find(|(of, names)| *of == what && !names.contains(&"")) {
                Some((_, names)) => names.push(name),
                None => asked.push((what, vec![name])),
            }
        }
        let finds: Vec<String> =
            asked.iter().map(|(what, names)| format!("{what} {}", list(names)).trim_end().to_owned()).collect();
        if !finds.is_empty() {
            lines.push(Statement::say(format!("Asked for: {}.", finds.join("; "))));
        }
        lines
    }

    /// Elements for which a test on their values holds, faults aside.
    fn those(&self, test: impl Fn(ElementId, &Params) -> bool) -> Vec<&str> {
        self.circuit
            .declared_ids()
            .filter(|&id| self.circuit.element(id).is_placed())
            .filter(|id| !self.circuit.states[self.state.index()].faults.contains_key(id))
            .filter(|&id| test(id, self.circuit.params(self.state, id)))
            .map(|id| self.name(id))
            .collect()
    }

    fn faults(&self, fault: Fault) -> Vec<&str> {
        self.circuit
            .declared_ids()
            .filter(|&id| self.circuit.element(id).is_placed())
            .filter(|id| self.circuit.states[self.state.index()].faults.get(id) == Some(&fault))
            .map(|id| self.name(id))
            .collect()
    }

    fn ideal(&self) -> Vec<Statement> {
        let mut lines = Vec::new();
        let mut say = |names: Vec<&str>, one: &'static str, many: &'static str| {
            if !names.is_empty() {
                lines.push(Statement::say(format!("{} {}.", list(&names), verb(names.len(), one, many))));
            }
        };
        say(vec!["Wires"], "have no resistance", "");
        say(
            self.those(|_, params| {
                matches!(params, Params::Battery { internal: None, .. } | Params::VoltageSource { .. })
            }),
            "keeps its voltage whatever the current",
            "keep their voltages whatever the current",
        );
        say(
            self.those(|_, params| matches!(params, Params::CurrentSource { .. })),
            "keeps its current whatever the voltage",
            "keep their currents whatever the voltage",
        );
        say(
            self.those(|_, params| matches!(params, Params::Switch { closed: Some(true) })),
            "is closed and counts as a wire",
            "are closed and count as wires",
        );
        say(
            self.those(|_, params| matches!(params, Params::Ammeter { resistance: None, .. })),
            "is an ideal ammeter: a wire",
            "are ideal ammeters: wires",
        );
        say(
            self.those(|_, params| matches!(params, Params::Fuse { resistance: None, .. })),
            "is a fuse without resistance: a wire",
            "are fuses without resistance: wires",
        );
        say(
            self.those(|_, params| matches!(params, Params::Inductor { resistance: None, .. })),
            "has no voltage once its current is steady: a wire",
            "have no voltage once their currents are steady: wires",
        );
        say(
            self.those(|_, params| matches!(params, Params::Inductor { resistance: Some(_), .. })),
            "is only the resistance of its winding once its current is steady",
            "are only the resistances of their windings once their currents are steady",
        );
        let bridged = |own: bool, source: bool| -> Vec<&str> {
            let those = self.circuit.declared_ids().filter(|&id| {
                self.circuit.is_bridged(self.state, id) == own && self.circuit.element(id).kind.is_source() == source
            });
            those.map(|id| self.name(id)).filter(|name| self.faults(Fault::Shorted).contains(name)).collect()
        };
        say(
            bridged(false, false),
            "is bridged in this case and counts as a wire",
            "are bridged in this case and count as wires",
        );
        say(
            bridged(true, false),
            "has a wire across it in this case: the wire carries what comes, and nothing drives a current through the element",
            "have wires across them in this case: the wires carry what comes, and nothing drives a current through the elements",
        );
        say(
            bridged(true, true),
            "is shorted by a wire in this case, and the rest of the circuit sees the wire alone",
            "are shorted by wires in this case, and the rest of the circuit sees the wires alone",
        );
        for id in self.circuit.declared_ids().filter(|&id| self.circuit.is_bridged(self.state, id)) {
            let Law::Emf { emf, internal } = self.circuit.params(self.state, id).law(false) else { continue };
            let name = self.name(id);
            if internal == 0 {
                lines.push(Statement::say(format!("No finite current fits the ideal {name} and the wire across it.")));
            } else {
                let current = &emf / &internal;
                lines.push(Statement::say(format!("Only the internal resistance of {name} limits its own current:")));
                lines.push(Statement::Equation(
                    Equation::new(format!("I({name})"))
                        .is(format!("emf({name}) / {name}.internal"))
                        .put("# / #", [Figure::volt(&emf).given(), Figure::ohm(&internal).given()])
                        .gives(Figure::ampere(&current)),
                ));
            }
        }
        for id in self.circuit.declared_ids().filter(|&id| self.circuit.element(id).is_placed()) {
            let name = self.name(id);
            match self.circuit.params(self.state, id) {
                Params::Changeover { throw: Some(throw) } => {
                    let throw = if *throw == ohmline_circuit::Throw::A { "a" } else { "b" };
                    lines.push(Statement::say(format!(
                        "{name} stands on {throw}: a wire between its common contact and {throw}."
                    )));
                }
                Params::Diode { drop: Amount::Known(drop), .. } => {
                    let state = self.answers.diodes.iter().find(|(of, _)| *of == id).map(|(_, state)| *state);
                    match state {
                        Some(DiodeState::Conducting) => lines.push(Statement::Say(Line::of(
                            &format!("{name} is taken to conduct, with # across it; the checks at the end confirm it."),
                            [Figure::volt(drop).given()],
                        ))),
                        Some(DiodeState::Blocking) => lines.push(Statement::say(format!(
                            "{name} is taken to block and carries nothing; the checks at the end confirm it."
                        ))),
                        None => {}
                    }
                }
                _ => {}
            }
        }
        lines
    }

    fn left_out(&self) -> Vec<Statement> {
        let mut lines = Vec::new();
        let mut say = |names: Vec<&str>, one: &'static str, many: &'static str| {
            if !names.is_empty() {
                lines.push(Statement::say(format!("{} {}.", list(&names), verb(names.len(), one, many))));
            }
        };
        say(
            self.those(|_, params| matches!(params, Params::Switch { closed: Some(false) })),
            "is open and carries nothing",
            "are open and carry nothing",
        );
        say(self.faults(Fault::Open), "is taken out in this case", "are taken out in this case");
        say(
            self.those(|_, params| matches!(params, Params::Voltmeter { resistance: None, .. })),
            "is an ideal voltmeter and carries nothing",
            "are ideal voltmeters and carry nothing",
        );
        say(
            self.those(|_, params| matches!(params, Params::Capacitor { .. })),
            "carries nothing once it is charged",
            "carry nothing once they are charged",
        );
        for (index, fate) in self.prepared.fates.iter().enumerate() {
            let branch = BranchId(index as u32);
            if *fate == Fate::Shorted {
                let by = self.topology.shorted_by(self.circuit, branch).unwrap_or_default();
                let across = |id: &ElementId| match self.circuit.is_bridged(self.state, *id) {
                    true => format!("the wire across {}", self.name(*id)),
                    false => self.name(*id).to_owned(),
                };
                let names: Vec<String> = by.iter().map(across).collect();
                let joiner = if names.is_empty() { "A wire".to_owned() } else { capital(&list(&names)) };
                lines.push(Statement::say(format!(
                    "{joiner} {} both ends of {}, so no voltage drives a current through it.",
                    verb(names.len().max(1), "joins", "join"),
                    branch_name(self.circuit, branch)
                )));
            }
        }
        // Dead parts, those that wait for the same switches together.
        let mut dead: Vec<(Vec<ElementId>, bool, Vec<SmolStr>)> = Vec::new();
        for (index, fate) in self.prepared.fates.iter().enumerate() {
            if *fate != Fate::Dead {
                continue;
            }
            let element = self.circuit.branches[index].element;
            let idle = self.topology.role.get(index) == Some(&Role::Live);
            let waits = if idle { Vec::new() } else { self.topology.waits_for(self.circuit, element) };
            let name = branch_name(self.circuit, BranchId(index as u32));
            match dead.iter_mut().find(|(for_, of, _)| *for_ == waits && *of == idle) {
                Some((.., names)) => names.push(name),
                None => dead.push((waits, idle, vec![name])),
            }
        }
        for (waits, idle, names) in dead {
            let carry = verb(names.len(), "carries", "carry");
            let switches: Vec<&str> = waits.iter().map(|id| self.name(*id)).collect();
            let names = list(&names);
            lines.push(Statement::say(if !switches.is_empty() {
                format!("{names} {carry} nothing while {} {} open.", list(&switches), verb(waits.len(), "is", "are"))
            } else if idle {
                format!("Nothing drives a current through {names}.")
            } else {
                format!("{names} {carry} nothing, since no closed path leads through.")
            }));
        }
        lines
    }

    fn points(&self) -> Vec<Statement> {
        let net = &self.prepared.net;
        let mut lines = Vec::new();
        for point in net.live_points() {
            let own = &net.points[point];
            let from_drawing = own.nodes.iter().any(|node| !self.circuit.node(*node).names.is_empty());
            if own.label.starts_with('@') && !from_drawing {
                let names: Vec<&str> = net.at(point).iter().map(|placed| net.name(*placed)).collect();
                lines.push(Statement::say(format!("{} is the point where {} meet.", own.label, list(&names))));
            }
        }
        lines
    }
}

/// Whether a name by itself stands for a resistance in a formula: `R1`, `Rx`, `R_load`, `Left.R2`; a resistor of another name is
/// written as `R(Float)`, since `Float × I(Float)` multiplies a thing.
fn reads_as_resistance(name: &str) -> bool {
    let own = name.rsplit('.').next().unwrap_or(name);
    let mut characters = own.chars();
    characters.next() == Some('R') && (own.len() <= 2 || characters.next().is_none_or(|second| !second.is_lowercase()))
}
