//! What is shown when the pointer rests on something: its values in every case, and why they are so.

mod page;
mod rule;

use std::collections::BTreeSet;

use ohmline_analysis::Analysis;
use ohmline_circuit::quantity::{Dimension, Measure, Style, show};
use ohmline_circuit::{
    Amount, Circuit, Element, ElementId, Fault, Kind, NodeId, Params, Rational, StateId, Throw, Unit,
};
use ohmline_lint::words;
use ohmline_solve::{ElementAnswer, Number, StateAnswers, Value};
use ohmline_syntax::tree::{Stmt, StmtKind};
use ohmline_syntax::{FileId, FileSpan, Tree};

pub use page::{Hover, Part};

use crate::hints::negated;
use crate::target::{self, What};

/// Significant digits of every value shown.
const DIGITS: Style = Style::Digits(3);
/// The most entries of a list or rows of a table; what is left out is counted.
const MOST: usize = 12;
/// With more states than this, each state is a row.
const WIDE: usize = 4;

/// What is known about the place at this byte offset of the document.
pub fn hover(analysis: &Analysis, offset: u32) -> Option<Hover> {
    let main = analysis.sources.files.first()?;
    if let Some(told) = rule::in_comment(&main.tree, offset) {
        return Some(told);
    }
    let found = target::at(analysis, offset)?;
    let teller = Teller { analysis, circuit: &analysis.circuit, tree: &main.tree };
    let stmt = &main.tree.stmts[found.stmt];
    let (span, parts) = match &found.what {
        What::Elements(ids) => match ids[..] {
            [id] => (found.span, teller.element(id)),
            _ => (found.span, teller.elements(main.tree.slice(found.span), ids)),
        },
        What::Instance(name) => (found.span, teller.instance(name)),
        What::Nodes(ids) => match ids[..] {
            [id] => (found.span, teller.node(id)),
            _ => (found.span, teller.nodes(main.tree.slice(found.span), ids)),
        },
        What::Case(state) => (found.span, teller.case(*state)),
        What::Let(file, index) | What::Part(file, index) => (found.span, teller.definition(*file, *index)),
        What::Include(index) => (found.span, teller.include(*index)),
        What::Statement(_) => {
            let word = target::word_at(&main.tree.text, offset);
            let at_first_word = word.is_some_and(|(span, _)| span.start == stmt.offset);
            let help = word.and_then(|(span, word)| Some((span, teller.keyword(word)?)));
            match (teller.statement(stmt), help) {
                // Its first word speaks for the statement; a word of the notation inside it for itself.
                (Some(mut told), Some((_, help))) if at_first_word => {
                    told.push(Part::Rule);
                    told.extend(help);
                    (stmt.range(), told)
                }
                (_, Some((span, help))) => (span, help),
                (Some(told), None) => (stmt.range(), told),
                (None, None) => return None,
            }
        }
    };
    let mut parts = parts;
    // On a name inside a claim or a question, its answer is the next thing one wants to know.
    if matches!(found.what, What::Elements(_) | What::Nodes(_) | What::Instance(_))
        && let Some(told) = teller.statement(stmt)
    {
        parts.push(Part::Rule);
        parts.extend(told);
    }
    (!parts.is_empty()).then_some(Hover { span, parts })
}

struct Teller<'a> {
    analysis: &'a Analysis,
    circuit: &'a Circuit,
    tree: &'a Tree,
}

/// One quantity in every state.
struct Row {
    name: String,
    cells: Vec<String>,
}

impl Teller<'_> {
    fn states(&self) -> impl Iterator<Item = (StateId, &StateAnswers)> {
        self.circuit.state_ids().zip(&self.analysis.answers.states)
    }

    fn state_name(&self, state: StateId) -> String {
        match &self.circuit.states[state.index()].name {
            None => "as drawn".to_owned(),
            Some(name) => format!("\"{name}\""),
        }
    }

    /// One row for each quantity and one column for each state; turned round when there are many states.
    fn table(&self, rows: Vec<Row>) -> Option<Part> {
        if rows.is_empty() {
            return None;
        }
        let states: Vec<_> = self.states().map(|(state, _)| self.state_name(state)).collect();
        if states.len() <= WIDE {
            let head = std::iter::once(String::new()).chain(states).collect();
            let rows = rows.into_iter().map(|row| std::iter::once(row.name).chain(row.cells).collect()).collect();
            return Some(Part::Table { head, rows, left_out: 0 });
        }
        let head = std::iter::once(String::new()).chain(rows.iter().map(|row| row.name.clone())).collect();
        let left_out = states.len().saturating_sub(MOST);
        let lines = states.into_iter().enumerate().take(MOST).map(|(index, state)| {
            let cells = rows.iter().map(|row| row.cells.get(index).cloned().unwrap_or_default());
            std::iter::once(state).chain(cells).collect()
        });
        Some(Part::Table { head, rows: lines.collect(), left_out })
    }

    /// The statement that holds a place, with its file.
    fn stmt_of(&self, at: FileSpan) -> Option<(&Tree, &Stmt)> {
        let tree = &self.analysis.sources.files.get(at.file.0 as usize)?.tree;
        Some((tree, tree.stmt_at(at.span.start)?))
    }

    /// A statement as written, and the comment above it.
    fn source(&self, at: FileSpan) -> Vec<Part> {
        let Some((tree, stmt)) = self.stmt_of(at) else { return Vec::new() };
        let mut parts = vec![Part::Source(tree.slice(stmt.range()).to_owned())];
        parts.extend(tree.doc(stmt).map(Part::Text));
        parts
    }

    // Elements.

    fn element(&self, id: ElementId) -> Vec<Part> {
        let element = self.circuit.element(id);
        let mut parts = vec![Part::Title { name: element.name.to_string(), is: self.is(element) }];
        parts.extend(self.source(element.declared));
        if !element.is_placed() {
            parts.push(Part::Text("It stands in no path, so it is left out of the circuit.".to_owned()));
            return parts;
        }
        let mut rows = Vec::new();
        if let Some(row) = self.settings_row(id) {
            rows.push(row);
        }
        rows.extend(self.answer_rows(id));
        parts.extend(self.table(rows));
        if let Some(direction) = self.direction(element) {
            parts.push(Part::Text(direction));
        }
        parts.extend(self.causes(|answers| {
            let answer = answers.elements.get(id.index()).and_then(Option::as_ref);
            answer.map(|answer| answer_values(answer).cloned().collect()).unwrap_or_default()
        }));
        parts.extend(self.company(id));
        parts
    }

    /// What it is, in a few words.
    fn is(&self, element: &Element) -> String {
        let what = match element.kind {
            Kind::VoltageSource => "ideal voltage source",
            Kind::CurrentSource => "ideal current source",
            Kind::Ammeter if matches!(element.params, Params::Ammeter { resistance: None, .. }) => "ideal ammeter",
            Kind::Voltmeter if matches!(element.params, Params::Voltmeter { resistance: None, .. }) => {
                "ideal voltmeter"
            }
            kind => kind.word(),
        };
        match set_to(&element.params, None) {
            Some(value) => format!("{what}, {value}"),
            None => what.to_owned(),
        }
    }

    /// How it is set in each state, when that differs.
    fn settings_row(&self, id: ElementId) -> Option<Row> {
        let cells: Vec<_> = self
            .states()
            .map(|(state, _)| {
                let fault = self.circuit.states[state.index()].faults.get(&id).copied();
                set_to(self.circuit.params(state, id), fault).unwrap_or_default()
            })
            .collect();
        let differs = cells.iter().any(|cell| *cell != cells[0]);
        differs.then(|| Row { name: "set to".to_owned(), cells })
    }

    fn answer_rows(&self, id: ElementId) -> Vec<Row> {
        let element = self.circuit.element(id);
        let source = element.kind.is_source();
        let (current, voltage, power) = if source {
            ("current delivered", "voltage at its terminals", "power delivered")
        } else {
            ("current through", "voltage across", "power taken up")
        };
        let mut rows = vec![
            self.row(id, current, Unit::Ampere, |answer| answer.current.as_ref()),
            self.row(id, voltage, Unit::Volt, |answer| answer.voltage.as_ref()),
        ];
        // Where a current through has no meaning, those into the terminals have.
        if rows[0].is_none() {
            for (index, terminal) in element.kind.terminals().iter().enumerate() {
                let name = format!("current into .{terminal}");
                rows.push(self.row(id, &name, Unit::Ampere, |answer| answer.into.get(index)));
            }
        }
        rows.push(self.row(id, power, Unit::Watt, |answer| Some(&answer.power)));
        rows.push(self.row(id, "charge", Unit::Coulomb, |answer| answer.charge.as_ref()));
        rows.push(self.row(id, "energy stored", Unit::Joule, |answer| answer.energy.as_ref()));
        rows.into_iter().flatten().collect()
    }

    /// A row, if there is such a quantity in any state.
    fn row<'s>(
        &'s self,
        id: ElementId,
        name: &str,
        unit: Unit,
        value: impl Fn(&'s ElementAnswer) -> Option<&'s Value>,
    ) -> Option<Row> {
        let values: Vec<_> = self
            .states()
            .map(|(_, answers)| answers.elements.get(id.index()).and_then(Option::as_ref).and_then(&value))
            .collect();
        if values.iter().all(Option::is_none) {
            return None;
        }
        let cells = values.into_iter().map(|value| value.map_or_else(|| "none".to_owned(), |value| cell(value, unit)));
        Some(Row { name: name.to_owned(), cells: cells.collect() })
    }

    /// Which way its current counts.
    fn direction(&self, element: &Element) -> Option<String> {
        let [from, to] = element.terminals[..] else { return None };
        let (from, to) = (self.point(from), self.point(to));
        Some(if element.kind.is_source() {
            format!("Its current counts out of {}+.", element.name)
        } else {
            format!("Its current counts from {from} to {to}.")
        })
    }

    /// A node in the middle of a sentence.
    fn point(&self, node: NodeId) -> String {
        let label = self.node_name(node);
        if label.starts_with("between ") { format!("the point {label}") } else { label }
    }

    fn node_name(&self, node: NodeId) -> String {
        self.circuit.node(node).label.to_string()
    }

    /// Why values are undetermined: each reason once, with the states it holds in.
    fn causes(&self, values: impl Fn(&StateAnswers) -> Vec<Value>) -> Vec<Part> {
        let mut reasons: Vec<(String, Vec<String>)> = Vec::new();
        for (state, answers) in self.states() {
            let causes: BTreeSet<_> = values(answers)
                .iter()
                .filter_map(|value| match value {
                    Value::Undetermined(cause) => Some(*cause),
                    Value::Known(_) => None,
                })
                .collect();
            for cause in causes {
                let Some(cause) = answers.causes.get(cause.0 as usize) else { continue };
                let text = words::cause(self.circuit, cause);
                let name = self.state_name(state);
                match reasons.iter_mut().find(|(had, _)| *had == text) {
                    Some((_, names)) => names.push(name),
                    None => reasons.push((text, vec![name])),
                }
            }
        }
        let all = self.circuit.states.len();
        let told = reasons.into_iter().map(|(text, names)| {
            let places = if names.len() == all { String::new() } else { format!(" ({})", list(&names)) };
            Part::Text(format!("Undetermined{places}: {text}."))
        });
        told.collect()
    }

    /// What it is in series and in parallel with, in every state.
    fn company(&self, id: ElementId) -> Vec<Part> {
        let mut lines = Vec::new();
        let mut series = Vec::new();
        let mut reduced = Vec::new();
        let mut parallel = Vec::new();
        for topology in &self.analysis.topologies {
            let direct = topology.series_with(self.circuit, id);
            let mut same = topology.series_reduced_with(self.circuit, id);
            same.retain(|other| !direct.contains(other));
            series.push(self.names(&direct));
            reduced.push(self.names(&same));
            parallel.push(self.names(&topology.parallel_with(self.circuit, id)));
        }
        for (what, lists) in
            [("In series with", series), ("Same current for all values as", reduced), ("In parallel with", parallel)]
        {
            let mut groups: Vec<(String, Vec<String>)> = Vec::new();
            for (index, names) in lists.into_iter().enumerate() {
                let state = self.state_name(StateId(index as u32));
                match groups.iter_mut().find(|(had, _)| *had == names) {
                    Some((_, states)) => states.push(state),
                    None => groups.push((names, vec![state])),
                }
            }
            match &groups[..] {
                [(names, _)] if names.is_empty() => {}
                [(names, _)] => lines.push(format!("{what} {names}.")),
                _ => {
                    let told: Vec<_> = groups
                        .iter()
                        .map(|(names, states)| {
                            let names = if names.is_empty() { "nothing" } else { names };
                            format!("{names} ({})", list(states))
                        })
                        .collect();
                    if !told.is_empty() {
                        lines.push(format!("{what} {}.", told.join("; ")));
                    }
                }
            }
        }
        lines.into_iter().map(Part::Text).collect()
    }

    /// Element names in a list; empty for none.
    fn names(&self, ids: &[ElementId]) -> String {
        let names: Vec<_> = ids.iter().map(|id| self.circuit.element(*id).name.to_string()).collect();
        list(&names)
    }

    /// Several elements that one place stands for, as drawn.
    fn elements(&self, name: &str, ids: &[ElementId]) -> Vec<Part> {
        let first = self.circuit.element(ids[0]);
        let is = format!("{}, {} copies", first.kind.word(), ids.len());
        let mut parts = vec![Part::Title { name: name.to_owned(), is }];
        parts.extend(self.source(first.declared));
        parts.extend(self.summary(ids));
        parts
    }

    /// A copy of a part, as drawn.
    fn instance(&self, name: &str) -> Vec<Part> {
        let prefix = format!("{name}.");
        let inside = |id: &ElementId| self.circuit.element(*id).name.starts_with(&prefix);
        let ids: Vec<_> = self.circuit.element_ids().filter(inside).collect();
        let kind = self.tree.stmts.iter().find_map(|stmt| match &stmt.node.kind {
            StmtKind::Declare(declare) if declare.names.iter().any(|had| had.text == name) => Some(&declare.kind.text),
            _ => None,
        });
        let is = kind.map_or_else(|| "a part".to_owned(), |kind| format!("a {kind}"));
        let mut parts = vec![Part::Title { name: name.to_owned(), is }];
        if let Some((file, index)) = kind.and_then(|kind| target::find_part(self.analysis, kind)) {
            parts.extend(self.head(file, index));
        }
        parts.extend(self.summary(&ids));
        parts
    }

    /// Current, voltage and power of several elements, as drawn.
    fn summary(&self, ids: &[ElementId]) -> Option<Part> {
        let drawn = self.analysis.answers.states.first()?;
        let head = ["", "current", "voltage", "power"].map(str::to_owned).to_vec();
        let rows = ids.iter().take(MOST).map(|id| {
            let name = self.circuit.element(*id).name.to_string();
            let Some(Some(answer)) = drawn.elements.get(id.index()) else {
                return vec![name, "in no path".to_owned(), String::new(), String::new()];
            };
            let shown = |value: Option<&Value>, unit| value.map(|value| cell(value, unit)).unwrap_or_default();
            vec![
                name,
                shown(answer.current.as_ref(), Unit::Ampere),
                shown(answer.voltage.as_ref(), Unit::Volt),
                shown(Some(&answer.power), Unit::Watt),
            ]
        });
        let rows = rows.collect();
        Some(Part::Table { head, rows, left_out: ids.len().saturating_sub(MOST) })
    }

    // Junctions.

    fn node(&self, id: NodeId) -> Vec<Part> {
        let node = self.circuit.node(id);
        let ends = self.circuit.ends(id);
        let names: Vec<_> = node.names.iter().map(|name| format!("@{name}")).collect();
        let name = if names.is_empty() { node.label.to_string() } else { names.join(" = ") };
        let mut parts = vec![Part::Title { name, is: format!("junction, {} connections", ends.len()) }];
        if let Some((tree, stmt)) = self.stmt_of(node.first_use) {
            parts.extend(tree.doc(stmt).map(Part::Text));
        }
        let potentials = self.states().map(|(_, answers)| {
            answers.potentials.get(id.index()).map_or_else(|| "none".to_owned(), |value| cell(value, Unit::Volt))
        });
        let mut rows = vec![Row { name: "potential".to_owned(), cells: potentials.collect() }];
        for end in ends.iter().take(MOST) {
            let element = self.circuit.element(end.element);
            let terminal = element.kind.terminals().get(end.terminal as usize).copied().unwrap_or("");
            let name = match terminal {
                "" => element.name.to_string(),
                "+" | "-" => format!("{}{terminal}", element.name),
                word => format!("{}.{word}", element.name),
            };
            let cells = self.states().map(|(_, answers)| {
                let answer = answers.elements.get(end.element.index()).and_then(Option::as_ref);
                match answer.and_then(|answer| answer.into.get(end.terminal as usize)) {
                    // What flows into the element flows out of the junction.
                    Some(Value::Known(into)) => show(&negated(into), Unit::Ampere, DIGITS),
                    Some(value) => cell(value, Unit::Ampere),
                    None => "none".to_owned(),
                }
            });
            let cells = cells.collect();
            rows.push(Row { name: format!("from {name}"), cells });
        }
        if ends.len() > MOST {
            let rest = ends.len() - MOST;
            rows.push(Row { name: format!("{rest} more"), cells: vec![String::new(); self.circuit.states.len()] });
        }
        let sums = self.states().map(|(_, answers)| {
            let into = |end: &ohmline_circuit::End| {
                let answer = answers.elements.get(end.element.index())?.as_ref()?;
                answer.into.get(end.terminal as usize)?.known()
            };
            let currents: Option<Vec<_>> = ends.iter().map(into).collect();
            currents.map_or_else(|| "undetermined".to_owned(), |currents| sum(&currents))
        });
        rows.push(Row { name: "sum of currents".to_owned(), cells: sums.collect() });
        parts.extend(self.table(rows));
        parts.push(Part::Text("Currents count into the junction.".to_owned()));
        parts.extend(self.wires_across(ends));
        parts.extend(self.references(id));
        parts.extend(self.causes(|answers| {
            let potential = answers.potentials.get(id.index()).cloned();
            let currents = ends.iter().filter_map(|end| {
                let answer = answers.elements.get(end.element.index())?.as_ref()?;
                answer.into.get(end.terminal as usize).cloned()
            });
            potential.into_iter().chain(currents).collect()
        }));
        parts
    }

    /// Where a case puts a wire across an element, the junction's table counts both as one.
    fn wires_across(&self, ends: &[ohmline_circuit::End]) -> Option<Part> {
        let pairs = self.circuit.state_ids().flat_map(|state| ends.iter().map(move |end| (state, end.element)));
        let bridged = pairs.filter(|(state, element)| self.circuit.is_bridged(*state, *element));
        let said: Vec<String> = bridged
            .map(|(state, element)| {
                let (state, name) = (self.state_name(state), &self.circuit.element(element).name);
                format!("In {state}, the wire across {name} is counted with it.")
            })
            .collect();
        (!said.is_empty()).then(|| Part::Text(said.join(" ")))
    }

    /// What the potential is above.
    fn references(&self, id: NodeId) -> Option<Part> {
        let piece = &self.analysis.topologies.first()?.piece;
        let own = piece.get(id.index())?;
        let drawn = self.analysis.answers.states.first()?;
        let reference = drawn.references.iter().find(|reference| piece.get(reference.node.index()) == Some(own))?;
        let chosen = if reference.chosen { ", chosen since none is declared" } else { "" };
        Some(Part::Text(if reference.node == id {
            format!("This is the 0 V point{chosen}.")
        } else {
            format!("Potentials count above {}{chosen}.", self.point(reference.node))
        }))
    }

    /// Several junctions that one place stands for, as drawn.
    fn nodes(&self, name: &str, ids: &[NodeId]) -> Vec<Part> {
        let mut parts = vec![Part::Title { name: name.to_owned(), is: format!("junction, {} copies", ids.len()) }];
        if let Some(drawn) = self.analysis.answers.states.first() {
            let rows = ids.iter().take(MOST).map(|id| {
                let potential = drawn.potentials.get(id.index());
                vec![self.node_name(*id), potential.map(|value| cell(value, Unit::Volt)).unwrap_or_default()]
            });
            let head = vec![String::new(), "potential".to_owned()];
            parts.push(Part::Table { head, rows: rows.collect(), left_out: ids.len().saturating_sub(MOST) });
        }
        parts
    }

    // Statements.

    /// What is known about a claim, a question or a reading.
    fn statement(&self, stmt: &Stmt) -> Option<Vec<Part>> {
        let here = |at: &FileSpan| {
            at.file == FileId::MAIN && stmt.range().touches(at.span.start) && at.span.start < stmt.range().end
        };
        let mut parts = Vec::new();
        match &stmt.node.kind {
            StmtKind::ClaimRelation { .. } | StmtKind::ClaimQuantity { .. } => {
                for (index, claim) in self.circuit.claims.iter().enumerate() {
                    let at = match claim {
                        ohmline_circuit::Claim::Value { ask, .. } => &ask.stmt,
                        ohmline_circuit::Claim::Relation { stmt, .. } => stmt,
                    };
                    if here(at) {
                        parts.extend(self.claim(index));
                    }
                }
            }
            StmtKind::Find { .. } => {
                let asked = self.circuit.finds.iter().zip(&self.analysis.answers.finds);
                for (ask, answer) in asked.filter(|(ask, _)| here(&ask.stmt)) {
                    let place = self.in_case(ask.state);
                    parts.push(Part::Text(match &answer.value {
                        Ok(number) => format!("{}{place}: {}", ask.text, show(number, answer.unit, DIGITS)),
                        Err(cause) => {
                            format!("{}{place}: undetermined. {}.", ask.text, words::cause(self.circuit, cause))
                        }
                    }));
                }
            }
            StmtKind::Measured { .. } => {
                let read = self.circuit.measured.iter().zip(&self.analysis.answers.measured);
                for (reading, verdict) in read.filter(|(reading, _)| here(&reading.ask.stmt)) {
                    let place = self.in_case(reading.ask.state);
                    let agrees = match verdict.agrees {
                        Some(true) => "agrees with the prediction",
                        Some(false) => "disagrees with the prediction",
                        None => "cannot be compared",
                    };
                    let why = match &verdict.predicted {
                        Ok(number) => format!("predicted {}", show(number, verdict.unit, DIGITS)),
                        Err(cause) => words::cause(self.circuit, cause),
                    };
                    parts.push(Part::Text(format!("The reading of {}{place} {agrees}: {why}.", reading.ask.text)));
                }
            }
            _ => {}
        }
        (!parts.is_empty()).then_some(parts)
    }

    fn in_case(&self, state: StateId) -> String {
        match &self.circuit.states[state.index()].name {
            None => String::new(),
            Some(name) => format!(" in \"{name}\""),
        }
    }

    fn claim(&self, index: usize) -> Vec<Part> {
        let answer = words::claim(&self.analysis.context(), index);
        let verdict = match answer.holds {
            Some(true) => "holds",
            Some(false) => "does not hold",
            None => "undetermined",
        };
        let place = answer.case.as_ref().map(|name| format!(" in \"{name}\"")).unwrap_or_default();
        let how = match answer.how {
            "direct" => " as drawn",
            "reduction" => " after reduction",
            "steady-state" => " in steady state only",
            _ => "",
        };
        let mut parts = vec![Part::Title { name: format!("{}{place}", answer.text), is: format!("{verdict}{how}") }];
        if !answer.why.is_empty() {
            parts.push(Part::Text(format!("{}.", answer.why)));
        }
        parts
    }

    fn case(&self, id: StateId) -> Vec<Part> {
        let state = &self.circuit.states[id.index()];
        let name = state.name.as_ref().map(ToString::to_string).unwrap_or_default();
        let mut parts = vec![Part::Title { name: format!("\"{name}\""), is: "case".to_owned() }];
        if let Some(at) = state.at {
            parts.extend(self.source(at));
        }
        let mut changed: Vec<_> = state.overrides.keys().chain(state.faults.keys()).copied().collect();
        changed.sort_unstable();
        changed.dedup();
        let rows: Vec<_> = changed
            .iter()
            .map(|element| {
                let drawn = set_to(self.circuit.params(StateId::DRAWN, *element), None).unwrap_or_default();
                let fault = state.faults.get(element).copied();
                let now = set_to(self.circuit.params(id, *element), fault).unwrap_or_default();
                vec![self.circuit.element(*element).name.to_string(), drawn, now]
            })
            .collect();
        if !rows.is_empty() {
            let left_out = rows.len().saturating_sub(MOST);
            let rows = rows.into_iter().take(MOST).collect();
            let head = vec!["what changes".to_owned(), "as drawn".to_owned(), format!("\"{name}\"")];
            parts.push(Part::Table { head, rows, left_out });
        }
        parts
    }

    /// A `let` or the head of a part, in whatever file.
    fn definition(&self, file: FileId, index: usize) -> Vec<Part> {
        let Some(source) = self.analysis.sources.files.get(file.0 as usize) else { return Vec::new() };
        let Some(stmt) = source.tree.stmts.get(index) else { return Vec::new() };
        let (name, is) = match &stmt.node.kind {
            StmtKind::Let { name, .. } => (name, "value"),
            StmtKind::Part { name, .. } => (name, "part"),
            _ => return Vec::new(),
        };
        let from = if file == FileId::MAIN { String::new() } else { format!(", from {}", source.name) };
        let mut parts = vec![Part::Title { name: name.text.to_string(), is: format!("{is}{from}") }];
        parts.extend(self.head(file, index));
        let at = FileSpan::new(file, stmt.span(name.span));
        let value = self.circuit.values.iter().find(|(place, _)| *place == at);
        parts.extend(value.map(|(_, measure)| Part::Text(format!("It comes to {}.", comes_to(measure)))));
        parts
    }

    /// A statement as written, and the comment above it.
    fn head(&self, file: FileId, index: usize) -> Vec<Part> {
        let stmt = self.analysis.sources.files.get(file.0 as usize).and_then(|source| source.tree.stmts.get(index));
        stmt.map(|stmt| self.source(FileSpan::new(file, stmt.range()))).unwrap_or_default()
    }

    /// What an included file brings in.
    fn include(&self, index: usize) -> Vec<Part> {
        let Some(main) = self.analysis.sources.files.first() else { return Vec::new() };
        let found = main.includes.iter().find(|(stmt, _)| *stmt as usize == index);
        let Some((_, Ok(file))) = found else { return Vec::new() };
        let Some(source) = self.analysis.sources.files.get(file.0 as usize) else { return Vec::new() };
        let mut parts = vec![Part::Title { name: source.name.clone(), is: "included file".to_owned() }];
        let mut names = |what: &str, wanted: fn(&StmtKind) -> Option<&str>| {
            let names: Vec<_> = source.tree.stmts.iter().filter_map(|stmt| wanted(&stmt.node.kind)).collect();
            if !names.is_empty() {
                let names: Vec<_> = names.into_iter().map(str::to_owned).collect();
                parts.push(Part::Text(format!("{what} {}.", list(&names))));
            }
        };
        names("Parts:", |kind| match kind {
            StmtKind::Part { name, .. } => Some(name.text.as_str()),
            _ => None,
        });
        names("Values:", |kind| match kind {
            StmtKind::Let { name, .. } => Some(name.text.as_str()),
            _ => None,
        });
        parts
    }

    /// The grammar of a word of the notation.
    fn keyword(&self, word: &str) -> Option<Vec<Part>> {
        let help = ohmline_syntax::words::help(word)?;
        let (form, meaning) = help.split_once('\n').unwrap_or((help, ""));
        let mut parts = vec![Part::Source(form.to_owned())];
        if !meaning.is_empty() {
            parts.push(Part::Text(meaning.to_owned()));
        }
        Some(parts)
    }
}

/// Every value of an element's answer.
fn answer_values(answer: &ElementAnswer) -> impl Iterator<Item = &Value> {
    let values = [&answer.current, &answer.voltage, &answer.charge, &answer.energy];
    values.into_iter().flatten().chain([&answer.power]).chain(&answer.into)
}

fn cell(value: &Value, unit: Unit) -> String {
    match value {
        Value::Known(number) => show(number, unit, DIGITS),
        Value::Undetermined(_) => "undetermined".to_owned(),
    }
}

/// The sum of currents: exact where they are; what rounding leaves over of floating numbers is nothing.
fn sum(currents: &[&Number]) -> String {
    let exact: Option<Vec<_>> = currents
        .iter()
        .map(|number| match number {
            Number::Exact(value) => Some(&**value),
            Number::Float(_) => None,
        })
        .collect();
    let total = match exact {
        Some(values) => Number::exact(values.into_iter().fold(Rational::from(0), |total, value| total - value)),
        None => {
            let values: Vec<_> = currents.iter().map(|number| number.to_f64()).collect();
            let largest = values.iter().fold(0.0, |largest: f64, value| largest.max(value.abs()));
            let total = -values.iter().sum::<f64>();
            Number::Float(if total.abs() <= 1e-9 * largest { 0.0 } else { total })
        }
    };
    show(&total, Unit::Ampere, DIGITS)
}

/// Words in a list; what is beyond the most is counted.
fn list(words: &[String]) -> String {
    if words.len() <= MOST {
        return words.join(", ");
    }
    format!("{} and {} more", words[..MOST].join(", "), words.len() - MOST)
}

/// A value that was written, not solved: without zeros that nobody wrote.
fn written(number: &Rational, unit: Unit) -> String {
    let text = show(&Number::exact(number.clone()), unit, Style::Digits(9));
    let Some((digits, rest)) = text.split_once(' ') else { return text };
    if digits.contains('.') { format!("{} {rest}", digits.trim_end_matches('0').trim_end_matches('.')) } else { text }
}

/// What a value comes to, with its unit as far as there is one.
fn comes_to(measure: &Measure) -> String {
    const UNITS: [Unit; 9] = [
        Unit::Ohm,
        Unit::Volt,
        Unit::Ampere,
        Unit::Watt,
        Unit::Farad,
        Unit::Henry,
        Unit::Coulomb,
        Unit::Joule,
        Unit::Second,
    ];
    if let Some(unit) = UNITS.into_iter().find(|unit| unit.dimension() == measure.dimension) {
        return written(&measure.value, unit);
    }
    let number = Number::exact(measure.value.clone());
    let plain = show(&number, Unit::One, Style::Digits(9));
    let plain = if plain.contains('.') { plain.trim_end_matches('0').trim_end_matches('.') } else { &plain };
    match measure.dimension.unit_word() {
        Some(word) => format!("{plain} {word}"),
        None if measure.dimension == Dimension::NONE => plain.to_owned(),
        None => format!("{plain}, {}", measure.dimension.describe()),
    }
}

/// How an element is set, in a few words.
fn set_to(params: &Params, fault: Option<Fault>) -> Option<String> {
    match fault {
        Some(Fault::Open) => return Some("open".to_owned()),
        Some(Fault::Shorted) => return Some("shorted".to_owned()),
        None => {}
    }
    let value = |number: &Rational, unit| written(number, unit);
    let amount = |amount: &Amount, unit| match amount {
        Amount::Known(number) => value(number, unit),
        Amount::Asked => "to be found".to_owned(),
        Amount::Invalid => "unreadable".to_owned(),
    };
    let inside = |found: &Option<Amount>| match found {
        Some(found) => format!(" with {} inside", amount(found, Unit::Ohm)),
        None => String::new(),
    };
    Some(match params {
        Params::Battery { emf, internal, .. } => format!("{}{}", amount(emf, Unit::Volt), inside(internal)),
        Params::VoltageSource { voltage, .. } => amount(voltage, Unit::Volt),
        Params::CurrentSource { drive, .. } => amount(drive, Unit::Ampere),
        Params::Resistor { resistance, .. } => amount(resistance, Unit::Ohm),
        Params::Lamp { resistance, rated } => match rated.as_deref() {
            Some((power, voltage)) => format!(
                "{} at {} ({})",
                value(power, Unit::Watt),
                value(voltage, Unit::Volt),
                amount(resistance, Unit::Ohm)
            ),
            None => amount(resistance, Unit::Ohm),
        },
        Params::Switch { closed } => match closed {
            Some(true) => "closed".to_owned(),
            Some(false) => "open".to_owned(),
            None => return None,
        },
        Params::Changeover { throw } => match throw {
            Some(Throw::A) => "a".to_owned(),
            Some(Throw::B) => "b".to_owned(),
            None => return None,
        },
        Params::Potentiometer { resistance, at, .. } => {
            let percent = match at {
                Amount::Known(share) => {
                    let percent = Number::exact(share * Rational::from(100)).to_f64();
                    format!("{percent} %")
                }
                other => amount(other, Unit::One),
            };
            format!("{} at {percent}", amount(resistance, Unit::Ohm))
        }
        Params::Fuse { rating, .. } => return rating.as_ref().map(|rating| amount(rating, Unit::Ampere)),
        Params::Ammeter { resistance, .. } | Params::Voltmeter { resistance, .. } => {
            return resistance.as_ref().map(|resistance| amount(resistance, Unit::Ohm));
        }
        Params::Capacitor { capacitance, .. } => amount(capacitance, Unit::Farad),
        Params::Inductor { inductance, resistance, .. } => {
            format!("{}{}", amount(inductance, Unit::Henry), inside(resistance))
        }
        Params::Diode { drop, .. } => amount(drop, Unit::Volt),
    })
}
