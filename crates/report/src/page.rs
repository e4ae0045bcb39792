//! The results of a circuit as a page of text: what was asked for, every element, claims, cases, series and parallel.

use malachite::Rational;
use ohmline_analysis::Analysis;
use ohmline_circuit::quantity::{Number, Style};
use ohmline_circuit::{Circuit, ElementId, NodeId, Quantity, StateId, Unit};
use ohmline_lint::words;
use ohmline_solve::{DiodeState, ElementAnswer, StateAnswers, Value};
use rustc_hash::FxHashMap;

use crate::amounts::{self, Shower, UNDETERMINED};
use crate::cases;
use crate::groups::{Groups, Member};
use crate::paint::{Paint, Tone};
use crate::table::{Cell, Table, clean, width, wrap};
use crate::tally::Tally;
use crate::undetermined::undetermined;

/// What the reader can choose.
#[derive(Clone, Debug)]
pub struct Options {
    /// How numbers are written.
    pub style: Style,
    /// Only this state; else the circuit as drawn, with all cases beside it.
    pub state: Option<StateId>,
    /// Columns that lines of words, and tables of cases, should fit into.
    pub width: usize,
    /// Emphasis.
    pub paint: Paint,
}

impl Default for Options {
    fn default() -> Self {
        Self { style: Style::Digits(3), state: None, width: 100, paint: Paint::default() }
    }
}

/// The page.
pub fn solve_page(analysis: &Analysis, options: &Options) -> String {
    let mut page = Page { analysis, circuit: &analysis.circuit, options, out: String::new() };
    page.write();
    page.out
}

/// Names shown of one group of elements; a longer list helps nobody.
const NAMES_SHOWN: usize = crate::groups::MOST;

/// Rules that speak of danger to people.
const SAFETY: [&str; 3] = ["touch-voltage", "short-circuit-current", "stored-energy"];

struct Page<'a> {
    analysis: &'a Analysis,
    circuit: &'a Circuit,
    options: &'a Options,
    out: String,
}

impl Page<'_> {
    fn write(&mut self) {
        let state = self.options.state.unwrap_or(StateId::DRAWN);
        self.title(state);
        if self.circuit.elements.is_empty() {
            self.heading("There are no elements");
            self.text(2, "Declare one, such as `lamp L1 = 6 ohm`, and join it in a path, such as `B1+ -- L1 -- B1-`.");
            return;
        }
        let Some(answers) = self.analysis.answers.states.get(state.index()) else {
            self.heading("Nothing could be solved");
            return;
        };
        self.finds();
        self.elements(state, answers);
        self.junctions(answers);
        self.claims();
        self.measured();
        if self.options.state.is_none() && self.circuit.states.len() > 1 {
            self.side_by_side();
        }
        self.relations(state);
        self.references(state, answers);
        self.undetermined();
        self.balance(answers);
        self.safety();
    }

    fn states(&self) -> Vec<StateId> {
        match self.options.state {
            Some(state) => vec![state],
            None => self.circuit.state_ids().collect(),
        }
    }

    fn wanted(&self, state: StateId) -> bool {
        self.options.state.is_none_or(|only| only == state)
    }

    fn state_name(&self, state: StateId) -> String {
        match self.circuit.states.get(state.index()).and_then(|state| state.name.as_ref()) {
            Some(name) => format!("\"{}\"", clean(name)),
            None => "as drawn".to_owned(),
        }
    }

    fn in_case(&self, state: StateId) -> String {
        if state == StateId::DRAWN { String::new() } else { format!("in {}", self.state_name(state)) }
    }

    fn answers(&self, state: StateId) -> Option<&StateAnswers> {
        self.analysis.answers.states.get(state.index())
    }

    fn heading(&mut self, text: &str) {
        if !self.out.is_empty() {
            self.out.push('\n');
        }
        self.out.push_str(&self.options.paint.tone(Tone::Strong, text));
        self.out.push('\n');
    }

    fn text(&mut self, indent: usize, text: &str) {
        for line in wrap(text, self.options.width.saturating_sub(indent).max(20)) {
            self.out.extend(std::iter::repeat_n(' ', indent));
            self.out.push_str(&line);
            self.out.push('\n');
        }
    }

    fn table(&mut self, table: &Table) {
        table.write(&mut self.out, 2, self.options.paint);
    }

    fn title(&mut self, state: StateId) {
        let file = self.analysis.sources.files.first().map_or("", |source| source.name.as_str());
        let mut title = match &self.circuit.title {
            Some(title) => format!("{}  ({})", clean(title), clean(file)),
            None => clean(file),
        };
        if self.options.state.is_some() && state != StateId::DRAWN {
            title = format!("{title}, case {}", self.state_name(state));
        }
        self.out.push_str(&self.options.paint.tone(Tone::Strong, &title));
        self.out.push('\n');
        if self.options.state.is_some() && state != StateId::DRAWN {
            let changes = cases::changes(&self.analysis.sources, &self.circuit.states[state.index()]);
            self.text(2, &format!("with {}", clean(&changes)));
        }
        let tally = Tally::of(self.analysis);
        if tally.errors > 0 {
            let errors = if tally.errors == 1 { "1 error".to_owned() } else { format!("{} errors", tally.errors) };
            let line = format!("{errors} reported; what could be solved is shown.");
            self.out.push_str(&format!("  {}\n", self.options.paint.tone(Tone::Bad, &line)));
        }
    }

    fn finds(&mut self) {
        let mut table = Table::new(["", "", ""]);
        for (ask, answer) in self.circuit.finds.iter().zip(&self.analysis.answers.finds) {
            if !self.wanted(ask.state) {
                continue;
            }
            let value = match &answer.value {
                Ok(number) => match self.answers(ask.state) {
                    Some(answers) => Cell::shown(&Shower::new(self.options.style, answers).number(number, answer.unit)),
                    None => Cell::empty(),
                },
                Err(_) => Cell::text(UNDETERMINED),
            };
            table.row(vec![Cell::text(clean(&amounts::question(ask))), value, Cell::text(self.in_case(ask.state))]);
        }
        if !table.is_empty() {
            self.heading("Asked for");
            self.table(&table);
        }
    }

    fn elements(&mut self, state: StateId, answers: &StateAnswers) {
        let several = self.circuit.states.len() > 1;
        self.heading(&if several && self.options.state.is_none() {
            "Every element, as drawn".to_owned()
        } else {
            "Every element".to_owned()
        });
        let shower = Shower::new(self.options.style, answers);
        let diodes: FxHashMap<ElementId, DiodeState> = answers.diodes.iter().copied().collect();
        let mut table = Table::new(["name", "kind", "value", "current", "voltage", "power", ""]);
        for id in self.circuit.declared_ids() {
            let element = self.circuit.element(id);
            let params = self.circuit.params(state, id);
            let answer = answers.elements.get(id.index()).and_then(Option::as_ref);
            let mut notes = Vec::new();
            if let Some(fault) = self.circuit.states[state.index()].faults.get(&id) {
                notes.push(format!("{} in this case", amounts::fault_word(*fault)));
            }
            amounts::value_remarks(params, &mut notes);
            let mut cells =
                vec![Cell::text(element.name.as_str()), Cell::text(element.kind.word()), amounts::value_cell(params)];
            match answer {
                Some(answer) => {
                    let cell = |value: &Option<Value>, unit| {
                        value.as_ref().map_or(Cell::empty(), |value| shower.cell(value, unit))
                    };
                    cells.push(cell(&answer.current, Unit::Ampere));
                    cells.push(cell(&answer.voltage, Unit::Volt));
                    cells.push(shower.cell(&answer.power, Unit::Watt));
                    for (terminal, value) in amounts::terminals(element, answer) {
                        notes.push(format!("into {terminal} {}", shower.words(value, Unit::Ampere)));
                    }
                    if let Some(charge) = &answer.charge {
                        notes.push(format!("charge {}", shower.words(charge, Unit::Coulomb)));
                    }
                    if let Some(energy) = &answer.energy {
                        notes.push(format!("energy {}", shower.words(energy, Unit::Joule)));
                    }
                    match diodes.get(&id) {
                        Some(DiodeState::Conducting) => notes.push("conducting".to_owned()),
                        Some(DiodeState::Blocking) => notes.push("blocking".to_owned()),
                        None => {}
                    }
                    if element.kind.is_source() && answer.power.known().is_some_and(|power| power.to_f64() < 0.0) {
                        notes.push("takes power up".to_owned());
                    }
                }
                None => {
                    cells.extend([Cell::empty(), Cell::empty(), Cell::empty()]);
                    notes.push("not placed in any path".to_owned());
                }
            }
            cells.push(Cell::text(notes.join(", ")));
            table.row(cells);
        }
        self.table(&table);
    }

    fn junctions(&mut self, answers: &StateAnswers) {
        let shower = Shower::new(self.options.style, answers);
        let mut table = Table::new(["junction", "potential", ""]);
        for (node, value) in self.circuit.nodes.iter().zip(&answers.potentials) {
            let Some((first, rest)) = node.names.split_first() else { continue };
            let also: Vec<_> = rest.iter().map(|name| format!("@{name}")).collect();
            let also = if also.is_empty() { String::new() } else { format!("one point with {}", also.join(", ")) };
            table.row(vec![Cell::text(format!("@{first}")), shower.cell(value, Unit::Volt), Cell::text(also)]);
        }
        if !table.is_empty() {
            self.out.push('\n');
            self.table(&table);
        }
    }

    fn claims(&mut self) {
        let context = self.analysis.context();
        let mut lines = Vec::new();
        for (index, claim) in self.circuit.claims.iter().enumerate() {
            let state = match claim {
                ohmline_circuit::Claim::Value { ask, .. } => ask.state,
                ohmline_circuit::Claim::Relation { state, .. } => *state,
            };
            if self.wanted(state) {
                lines.push((words::claim(&context, index), state));
            }
        }
        if lines.is_empty() {
            return;
        }
        self.heading("Claims");
        let mut rows = Vec::new();
        for (answer, state) in lines {
            let (word, tone) = match answer.holds {
                Some(true) => ("holds", Tone::Good),
                Some(false) => ("fails", Tone::Bad),
                None => (UNDETERMINED, Tone::Doubt),
            };
            let case = self.in_case(state);
            let text = match (answer.text.contains(&case), case.is_empty()) {
                (_, true) | (true, _) => answer.text,
                _ => format!("{} {case}", answer.text),
            };
            let how = match answer.how {
                "reduction" => " (after reduction)",
                "steady-state" => " (in the steady state only)",
                _ => "",
            };
            rows.push((word, tone, clean(&text), clean(&format!("{}{how}", answer.why))));
        }
        // Reasons stand in a column of their own, beside all claims but unusually long ones.
        let words = rows.iter().map(|(word, ..)| width(word)).max().unwrap_or(0);
        let column = rows.iter().map(|(_, _, text, _)| width(text)).filter(|wide| *wide <= 48).max().unwrap_or(0);
        let reasons = 2 + words + 3 + column + 3;
        for (word, tone, text, why) in rows {
            let mut line = format!("  {}", self.options.paint.tone(tone, word));
            line.extend(std::iter::repeat_n(' ', words - width(word) + 3));
            line.push_str(&text);
            let mut room = column.checked_sub(width(&text)).map(|short| short + 3);
            for part in wrap(&why, self.options.width.saturating_sub(reasons).max(30)) {
                match room.take() {
                    Some(blanks) => line.extend(std::iter::repeat_n(' ', blanks)),
                    None => {
                        line.push('\n');
                        line.extend(std::iter::repeat_n(' ', reasons));
                    }
                }
                line.push_str(&part);
            }
            self.out.push_str(line.trim_end());
            self.out.push('\n');
        }
    }

    fn measured(&mut self) {
        let mut table = Table::new(["quantity", "read", "predicted", "", ""]);
        for (reading, verdict) in self.circuit.measured.iter().zip(&self.analysis.answers.measured) {
            let state = reading.ask.state;
            let (true, Some(answers)) = (self.wanted(state), self.answers(state)) else { continue };
            let shower = Shower::new(self.options.style, answers);
            let stated = match reading.stated.digits {
                0 => self.options.style,
                digits => Style::Digits(digits),
            };
            let read =
                ohmline_circuit::quantity::show(&Number::Exact(reading.stated.value.clone()), verdict.unit, stated);
            table.row(vec![
                Cell::text(clean(&amounts::question(&reading.ask))),
                Cell::shown(&read),
                match &verdict.predicted {
                    Ok(number) => Cell::shown(&shower.number(number, verdict.unit)),
                    Err(_) => Cell::text(UNDETERMINED),
                },
                Cell::text(match verdict.agrees {
                    Some(true) => "agrees",
                    Some(false) => "disagrees",
                    None => "not compared",
                }),
                Cell::text(self.in_case(state)),
            ]);
        }
        if !table.is_empty() {
            self.heading("Measured");
            self.table(&table);
        }
    }

    /// One block for each quantity, one column for each state; a star marks what a case changes.
    fn side_by_side(&mut self) {
        self.heading("Cases side by side  (* = not as drawn)");
        for state in self.circuit.state_ids().skip(1) {
            let changes = cases::changes(&self.analysis.sources, &self.circuit.states[state.index()]);
            self.text(2, &clean(&format!("{}: {changes}", self.state_name(state))));
        }
        type Of = fn(&ElementAnswer) -> Option<&Value>;
        let blocks: [(&str, Unit, Of); 3] = [
            ("current", Unit::Ampere, |answer| answer.current.as_ref()),
            ("voltage", Unit::Volt, |answer| answer.voltage.as_ref()),
            ("power", Unit::Watt, |answer| Some(&answer.power)),
        ];
        let states: Vec<(StateId, &StateAnswers)> = self
            .circuit
            .state_ids()
            .filter_map(|id| Some((id, self.analysis.answers.states.get(id.index())?)))
            .collect();
        for (heading, unit, of) in blocks {
            let mut rows: Vec<(String, Vec<Option<&Value>>)> = Vec::new();
            for id in self.circuit.declared_ids() {
                let values: Vec<_> = states
                    .iter()
                    .map(|(_, answers)| answers.elements.get(id.index()).and_then(Option::as_ref).and_then(of))
                    .collect();
                rows.push((self.circuit.element(id).name.to_string(), values));
            }
            self.block(heading, unit, &states, rows);
        }
        let mut rows: Vec<(String, Vec<Option<&Value>>)> = Vec::new();
        for id in self.circuit.node_ids() {
            if let Some(name) = self.circuit.node(id).names.first() {
                let values = states.iter().map(|(_, answers)| answers.potentials.get(id.index())).collect();
                rows.push((format!("@{name}"), values));
            }
        }
        self.block("potential", Unit::Volt, &states, rows);
    }

    fn block(
        &mut self,
        heading: &str,
        unit: Unit,
        states: &[(StateId, &StateAnswers)],
        mut rows: Vec<(String, Vec<Option<&Value>>)>,
    ) {
        rows.retain(|(_, values)| values.iter().any(Option::is_some));
        if rows.is_empty() {
            return;
        }
        let showers: Vec<_> = states.iter().map(|(_, answers)| Shower::new(self.options.style, answers)).collect();
        let names = rows.iter().map(|(name, _)| width(name)).max().unwrap_or(0).max(heading.len());
        // Room that a column of numbers takes at most: digits, point, sign, unit and star, or its heading.
        let digits = match self.options.style {
            Style::Digits(digits) => digits as usize,
            Style::Fraction => 12,
        };
        let mut from = 1;
        while from < states.len() {
            let mut upto = from;
            let mut used = 2 + names + 3 + 12 + digits;
            while upto < states.len() {
                used += 3 + (8 + digits).max(width(&self.state_name(states[upto].0)));
                if upto > from && used > self.options.width {
                    break;
                }
                upto += 1;
            }
            let shown: Vec<usize> = std::iter::once(0).chain(from..upto).collect();
            let mut table = Table::new(
                std::iter::once(heading.to_owned()).chain(shown.iter().map(|at| self.state_name(states[*at].0))),
            );
            for (name, values) in &rows {
                let mut cells = vec![Cell::text(name.as_str())];
                for at in &shown {
                    cells.push(match (values[*at], values[0]) {
                        (Some(value), drawn) => {
                            let cell = showers[*at].cell(value, unit);
                            let changed = *at > 0 && drawn.is_none_or(|drawn| amounts::differ(value, drawn));
                            if changed { cell.marked(" *") } else { cell }
                        }
                        (None, _) => Cell::empty(),
                    });
                }
                table.row(cells);
            }
            self.out.push('\n');
            self.table(&table);
            from = upto;
        }
    }

    /// Who is in series and in parallel with whom; for cases only where that differs from the circuit as drawn.
    fn relations(&mut self, state: StateId) {
        let groups = |state: StateId| {
            self.analysis.topologies.get(state.index()).map(|topology| Groups::of(self.circuit, topology))
        };
        let Some(base) = groups(state) else { return };
        let mut others: Vec<(String, Groups)> = Vec::new();
        if self.options.state.is_none() {
            for state in self.circuit.state_ids().skip(1) {
                others.extend(groups(state).map(|groups| (self.state_name(state), groups)));
            }
        }
        for series in [true, false] {
            let lines = |page: &Self, groups: &Groups| {
                if series { page.in_series(groups) } else { page.in_parallel(groups) }
            };
            let heading = if series { "In series: one current" } else { "In parallel: the same two points" };
            let drawn = lines(self, &base);
            self.heading(heading);
            self.list(2, &drawn);
            // Cases with the same groups share one list.
            let mut different: Vec<(Vec<&str>, Vec<String>)> = Vec::new();
            for (name, groups) in &others {
                let lines = lines(self, groups);
                match different.iter_mut().find(|(_, other)| *other == lines) {
                    _ if lines == drawn => {}
                    Some((names, _)) => names.push(name),
                    None => different.push((vec![name], lines)),
                }
            }
            for (names, lines) in different {
                self.text(2, &format!("in {}:", names.join(", ")));
                self.list(4, &lines);
            }
        }
    }

    fn list(&mut self, indent: usize, lines: &[String]) {
        if lines.is_empty() {
            self.text(indent, "none");
        }
        for line in lines {
            self.text(indent, line);
        }
    }

    fn in_series(&self, groups: &Groups) -> Vec<String> {
        let direct = groups.series.iter().map(|group| self.names(group));
        let reduced = groups
            .reduced
            .iter()
            .map(|group| format!("{} (after reduction: groups of others stand between)", self.names(group)));
        direct.chain(reduced).collect()
    }

    fn in_parallel(&self, groups: &Groups) -> Vec<String> {
        let line = |group: &Vec<Member>| match self.ends(group) {
            Some((from, to)) => format!("{} (between {from} and {to})", self.names(group)),
            None => self.names(group),
        };
        groups.parallel.iter().map(line).collect()
    }

    /// The two points of a parallel group, where each has a name of its own.
    fn ends(&self, group: &[Member]) -> Option<(&str, &str)> {
        let pairs = group.iter().filter_map(|member| {
            let [from, to] = self.circuit.element(member.element).terminals.as_slice() else { return None };
            let named = |node: NodeId| !self.circuit.node(node).names.is_empty();
            (named(*from) && named(*to))
                .then(|| (amounts::point(self.circuit, *from), amounts::point(self.circuit, *to)))
        });
        pairs.into_iter().next()
    }

    fn names(&self, group: &[Member]) -> String {
        let name = |member: &Member| {
            let name = self.circuit.element(member.element).name.as_str();
            member.side.map_or_else(|| name.to_owned(), |side| format!("{name} ({side})"))
        };
        let shown: Vec<_> = group.iter().take(NAMES_SHOWN).map(name).collect();
        let mut names = shown.join(", ");
        if group.len() > NAMES_SHOWN {
            names.push_str(&format!(" and {} more", group.len() - NAMES_SHOWN));
        }
        names
    }

    fn references(&mut self, state: StateId, answers: &StateAnswers) {
        if answers.references.is_empty() {
            return;
        }
        self.heading("Reference: the point at 0 V");
        // Pieces beyond a few are loose parts of a large drawing; one line says so.
        const SHOWN: usize = 20;
        let pieces = answers.references.len();
        for reference in answers.references.iter().take(SHOWN) {
            let at = amounts::point(self.circuit, reference.node);
            let how = if reference.chosen { "chosen here; `reference POINT` sets another" } else { "as declared" };
            let piece = if pieces > 1 { self.piece(state, reference.node) } else { String::new() };
            self.text(2, &format!("{at}  ({how}){piece}"));
        }
        if pieces > SHOWN {
            self.text(2, &format!("and one in each of {} more pieces", pieces - SHOWN));
        }
    }

    /// A few elements of a piece, so that readers know which one it is.
    fn piece(&self, state: StateId, reference: NodeId) -> String {
        let Some(topology) = self.analysis.topologies.get(state.index()) else { return String::new() };
        let Some(piece) = topology.piece.get(reference.index()) else { return String::new() };
        let declared = self.circuit.declared_ids().map(|id| self.circuit.element(id));
        let mut names = declared.filter(|element| {
            element.terminals.first().is_some_and(|node| topology.piece.get(node.index()) == Some(piece))
        });
        let shown: Vec<_> = names.by_ref().take(3).map(|element| element.name.as_str()).collect();
        let more = if names.next().is_some() { ", ..." } else { "" };
        format!(", for the piece with {}{more}", shown.join(", "))
    }

    /// Each cause once, with all that it leaves without a single value.
    fn undetermined(&mut self) {
        let states = self.states();
        // The same in several states is said once.
        let mut lines: Vec<(String, String, Vec<StateId>)> = Vec::new();
        let mut add = |what: String, why: String, state: StateId| match lines
            .iter_mut()
            .find(|(other, reason, _)| *other == what && *reason == why)
        {
            Some((.., states)) => states.push(state),
            None => lines.push((what, why, vec![state])),
        };
        for &state in &states {
            let Some(answers) = self.answers(state) else { continue };
            let mut by_cause: Vec<Vec<(&str, String)>> = vec![Vec::new(); answers.causes.len()];
            for one in undetermined(self.circuit, answers).into_iter().filter(|one| !one.follows) {
                if let Some(list) = by_cause.get_mut(one.cause.0 as usize) {
                    list.push((one.of, one.what.into_owned()));
                }
            }
            for (cause, list) in answers.causes.iter().zip(by_cause) {
                let mut parts: Vec<(&str, Vec<&str>)> = Vec::new();
                for (of, what) in &list {
                    match parts.iter_mut().find(|(other, _)| other == of) {
                        Some((_, names)) => names.push(what),
                        None => parts.push((of, vec![what])),
                    }
                }
                let parts: Vec<String> = parts
                    .into_iter()
                    .map(|(of, names)| {
                        let more = names.len().saturating_sub(NAMES_SHOWN);
                        let names = names[..names.len() - more].join(", ");
                        if more > 0 { format!("{of} {names} and {more} more") } else { format!("{of} {names}") }
                    })
                    .collect();
                if parts.is_empty() {
                    continue;
                }
                add(parts.join("; "), words::cause(self.circuit, cause), state);
            }
        }
        for (ask, answer) in self.circuit.finds.iter().zip(&self.analysis.answers.finds) {
            if let (true, Err(cause)) = (self.wanted(ask.state), &answer.value) {
                let question = amounts::question(ask);
                // Currents and the like are in the list above, by their cause.
                let listed = matches!(
                    ask.quantity,
                    Quantity::CurrentThrough(_)
                        | Quantity::VoltageAcross(_)
                        | Quantity::PowerOf(_)
                        | Quantity::PotentialAt(_)
                );
                let why = words::cause(self.circuit, cause);
                let known = self.answers(ask.state).is_some_and(|answers| answers.causes.contains(cause));
                if !(listed && known) {
                    add(question, why, ask.state);
                }
            }
        }
        if lines.is_empty() {
            return;
        }
        self.heading("Undetermined");
        for (what, why, within) in lines {
            let names: Vec<String> = within.iter().map(|state| self.state_name(*state)).collect();
            let place = if within.len() == states.len() { String::new() } else { format!(" ({})", names.join(", ")) };
            self.text(2, &clean(&format!("{what}{place}")));
            self.text(6, &clean(&format!("since {why}")));
        }
    }

    fn balance(&mut self, answers: &StateAnswers) {
        let mut delivered = Sum::default();
        let mut taken = Sum::default();
        for (element, answer) in self.circuit.elements.iter().zip(&answers.elements) {
            let Some(answer) = answer else { continue };
            match (&answer.power, element.kind.is_source()) {
                (Value::Known(power), true) => delivered.add(power),
                (Value::Known(power), false) => taken.add(power),
                (Value::Undetermined(_), _) => {
                    self.heading("Check");
                    self.laws(answers);
                    self.text(2, "The power balance is left open, since some powers are undetermined.");
                    return;
                }
            }
        }
        let shower = Shower::new(self.options.style, answers);
        self.heading("Check");
        let (delivered, taken) =
            (shower.number(&delivered.number(), Unit::Watt), shower.number(&taken.number(), Unit::Watt));
        self.text(2, &format!("Batteries and sources deliver {delivered} in all; everything else takes up {taken}."));
        self.laws(answers);
    }

    fn laws(&mut self, answers: &StateAnswers) {
        let residuals = answers.residuals;
        if answers.exact {
            self.text(2, "Kirchhoff's laws hold exactly at every junction and round every loop.");
        } else {
            let largest = residuals.junction.max(residuals.element).max(residuals.power);
            let line = format!(
                "Kirchhoff's laws hold to within {largest:.0e} of the largest value (floating-point arithmetic)."
            );
            self.text(2, &line);
        }
        if !answers.diodes.is_empty() && !answers.diodes_unique {
            self.text(2, "This state of the diodes fits; that no other does is not proved.");
        }
    }

    /// What the linter says about danger; on paper it stands beside the numbers it speaks of.
    fn safety(&mut self) {
        let notes = self.analysis.diagnostics.iter().filter(|one| SAFETY.contains(&one.rule));
        let mut lines: Vec<String> = Vec::new();
        for note in notes {
            let cases: Vec<String> = note.cases.iter().map(|name| format!("\"{name}\"")).collect();
            let cases = if cases.is_empty() { String::new() } else { format!(" (in {})", cases.join(", ")) };
            lines.push(clean(&format!("{}{cases}. {}", note.message, note.help.join(". "))));
        }
        if lines.is_empty() {
            return;
        }
        self.heading("Safety");
        for line in lines {
            self.text(2, line.trim_end());
        }
    }
}

/// A sum that stays exact while its terms are.
struct Sum {
    exact: Option<Rational>,
    float: f64,
}

impl Default for Sum {
    fn default() -> Self {
        Self { exact: Some(Rational::from(0)), float: 0.0 }
    }
}

impl Sum {
    fn add(&mut self, number: &Number) {
        self.float += number.to_f64();
        match (number, &mut self.exact) {
            (Number::Exact(value), Some(sum)) => *sum += value,
            _ => self.exact = None,
        }
    }

    fn number(self) -> Number {
        self.exact.map_or(Number::Float(self.float), Number::Exact)
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::sync::Arc;

    use expect_test::{Expect, expect};
    use ohmline_analysis::{FileSystem, Settings, analyze, load};

    use super::*;

    /// No files at all.
    struct Nothing;

    impl FileSystem for Nothing {
        fn read(&self, _: &Path) -> Result<Arc<str>, String> {
            Err("there is no such file".to_owned())
        }

        fn exists(&self, _: &Path) -> bool {
            false
        }
    }

    fn analysis(text: &str) -> Analysis {
        analyze(load("quay.ohmline", None, Arc::new(ohmline_syntax::parse(text)), &Nothing), &Settings::default())
    }

    fn check(text: &str, options: &Options, expected: Expect) {
        let page = solve_page(&analysis(text), options);
        assert!(page.lines().all(|line| line.trim_end() == line), "no blanks at the ends of lines");
        expected.assert_eq(&page);
    }

    /// 10 and 15 ohm side by side are 6 ohm; with 9 ohm before them 15 ohm, which take 0.3 A from 4.5 V.
    const PIER: &str = "\
circuit \"Pier lamps\"
battery  B1 = 4.5 V
switch   S1 = closed
resistor R1 = 9 ohm
lamp     L1 = 10 ohm
lamp     L2 = 15 ohm
B1+ -- S1 -- R1 -- @fork -- ( L1 | L2 ) -- @join -- B1-
reference @join
find  current through R1, L1
find  current through L1 in \"one lamp out\"
claim L1, L2 in parallel
claim R1, L1 in series
claim current through L2 = 0.12 A
case \"one lamp out\": L2 = open
case \"night\": S1 = open
";

    #[test]
    fn a_circuit_with_cases() {
        check(
            PIER,
            &Options::default(),
            expect![[r#"
            Pier lamps  (quay.ohmline)
              1 error reported; what could be solved is shown.

            Asked for
              current through R1   300 mA
              current through L1   180 mA
              current through L1   237 mA   in "one lamp out"

            Every element, as drawn
              name   kind        value   current   voltage       power
              B1     battery     4.5 V    300 mA    4.50 V     1.35 W
              S1     switch     closed    300 mA    0    V     0    W
              R1     resistor    9   Ω    300 mA    2.70 V   810    mW
              L1     lamp       10   Ω    180 mA    1.80 V   324    mW
              L2     lamp       15   Ω    120 mA    1.80 V   216    mW

              junction   potential
              @fork         1.80 V
              @join         0    V

            Claims
              holds   L1, L2 in parallel            L1 and L2 both run between @fork and @join
              fails   R1, L1 in series              R1 and L1 meet at @fork, but L2 joins there too, so the
                                                    current can divide
              holds   current through L2 = 0.12 A   the solution is 120 mA

            Cases side by side  (* = not as drawn)
              "one lamp out": L2 = open
              "night": S1 = open

              current   as drawn   "one lamp out"   "night"
              B1          300 mA         237 mA *     0 A *
              S1          300 mA         237 mA *     0 A *
              R1          300 mA         237 mA *     0 A *
              L1          180 mA         237 mA *     0 A *
              L2          120 mA           0 A  *     0 A *

              voltage   as drawn   "one lamp out"    "night"
              B1          4.50 V         4.50 V     4.50 V
              S1          0    V         0    V     4.50 V *
              R1          2.70 V         2.13 V *   0    V *
              L1          1.80 V         2.37 V *   0    V *
              L2          1.80 V         2.37 V *   0    V *

              power    as drawn   "one lamp out"   "night"
              B1        1.35 W         1.07 W  *     0 W *
              S1        0    W         0    W        0 W
              R1      810    mW      505    mW *     0 W *
              L1      324    mW      561    mW *     0 W *
              L2      216    mW        0    W  *     0 W *

              potential   as drawn   "one lamp out"   "night"
              @fork         1.80 V         2.37 V *     0 V *
              @join         0    V         0    V       0 V

            In series: one current
              B1, S1, R1
              in "one lamp out":
                B1, S1, R1, L1
              in "night":
                L1, L2

            In parallel: the same two points
              L1, L2 (between @fork and @join)
              in "one lamp out":
                none

            Reference: the point at 0 V
              @join (as declared)

            Check
              Batteries and sources deliver 1.35 W in all; everything else takes up 1.35 W.
              Kirchhoff's laws hold exactly at every junction and round every loop.
        "#]],
        );
    }

    #[test]
    fn one_case_alone() {
        let options = Options { state: Some(StateId(1)), ..Options::default() };
        check(
            PIER,
            &options,
            expect![[r#"
            Pier lamps  (quay.ohmline), case "one lamp out"
              with L2 = open
              1 error reported; what could be solved is shown.

            Asked for
              current through L1   237 mA   in "one lamp out"

            Every element
              name   kind        value   current   voltage       power
              B1     battery     4.5 V    237 mA    4.50 V     1.07 W
              S1     switch     closed    237 mA    0    V     0    W
              R1     resistor    9   Ω    237 mA    2.13 V   505    mW
              L1     lamp       10   Ω    237 mA    2.37 V   561    mW
              L2     lamp       15   Ω      0 A     2.37 V     0    W    open in this case

              junction   potential
              @fork         2.37 V
              @join         0    V

            In series: one current
              B1, S1, R1, L1

            In parallel: the same two points
              none

            Reference: the point at 0 V
              @join (as declared)

            Check
              Batteries and sources deliver 1.07 W in all; everything else takes up 1.07 W.
              Kirchhoff's laws hold exactly at every junction and round every loop.
        "#]],
        );
    }

    #[test]
    fn many_cases_are_shown_in_blocks() {
        let mut text = "battery B1 = 6 V\nlamp L1 = 6 ohm\nB1+ -- L1 -- B1-\n".to_owned();
        for volts in 1..=7 {
            text.push_str(&format!("case \"supply of {volts} V\": B1 = {volts} V\n"));
        }
        let options = Options { width: 80, ..Options::default() };
        let page = solve_page(&analysis(&text), &options);
        let from = page.find("  current   as drawn").expect("a block of currents");
        let upto = page.find("  voltage   as drawn").expect("a block of voltages");
        assert!(page[from..upto].lines().all(|line| width(line) <= 80), "{page}");
        expect![[r#"
            Currents
              current   as drawn   "supply of 1 V"   "supply of 2 V"
              B1          1.00 A          167 mA *          333 mA *
              L1          1.00 A          167 mA *          333 mA *

              current   as drawn   "supply of 3 V"   "supply of 4 V"
              B1          1.00 A          500 mA *          667 mA *
              L1          1.00 A          500 mA *          667 mA *

              current   as drawn   "supply of 5 V"   "supply of 6 V"
              B1          1.00 A          833 mA *            1.00 A
              L1          1.00 A          833 mA *            1.00 A

              current   as drawn   "supply of 7 V"
              B1          1.00 A          1.17 A *
              L1          1.00 A          1.17 A *

        "#]]
        .assert_eq(&format!("Currents\n{}", &page[from..upto]));
    }

    #[test]
    fn every_kind() {
        let text = "\
circuit \"Quay, everything at once\"
battery       B1 = 12 V, internal 0.5 ohm
source        G1 = 20 mA
ammeter       A1
voltmeter     V1 = 10 Mohm
lamp          L1 = 5 W at 12 V
fuse          F1 = 2 A
electrolytic  C1 = 4700 uF
inductor      K1 = 12 mH, resistance 1.5 ohm
diode         D1 = 0.7 V
changeover    X1 = a
potentiometer P1 = 1 kohm at 40%
resistor      R1 = (1/3) ohm
resistor      Spare = 4k7
B1+ -- F1 -- +A1- -- @bar -- L1 -- @rail -- B1-
@bar -- X1.common
X1.a -- +D1- -- K1 -- @mid -- P1.a
X1.b -- R1 -- @rail
P1.b -- @rail
P1.wiper -- +C1- -- @rail
@mid -- +V1- -- @rail
@rail -- +G1- -- @mid
measured voltage across L1 = 11.7 V within 2%
";
        check(
            text,
            &Options::default(),
            expect![[r#"
            Quay, everything at once  (quay.ohmline)

            Every element
              name    kind               value     current     voltage        power
              B1      battery          12   V    440    mA    11.8  V       5.18 W    internal 500 mΩ
              G1      source           20   mA    20.0  mA   -11.0  V    -221    mW   takes power up
              A1      ammeter            ideal   440    mA     0    V       0    W
              V1      voltmeter        10   MΩ     1.10 µA    11.0  V      12.2  µW
              L1      lamp             28.8 Ω    409    mA    11.8  V       4.82 W    rated 5 W at 12 V
              F1      fuse              2   A    440    mA     0    V       0    W
              C1      electrolytic      4.7 mF     0    A      6.62 V       0    W    charge 31.1 mC, energy 103 mJ
              K1      inductor         12   mH    31.0  mA    46.6  mV      1.44 mW   resistance 1.5 Ω, energy 5.78 µJ
              D1      diode           700   mV    31.0  mA   700    mV     21.7  mW   conducting
              X1      changeover          on a    31.0  mA     0    V       0    W    into common 31.0 mA, into a -31.0 mA, into b 0 A
              P1      potentiometer     1   kΩ                            122    mW   at 40%, into a 11.0 mA, into b -11.0 mA, into wiper 0 A
              R1      resistor        333.3 mΩ     0    A      0    V       0    W
              Spare   resistor          4.7 kΩ                                        not placed in any path

              junction   potential
              @bar          11.8 V
              @rail          0   V
              @mid          11.0 V

            Measured
              quantity              read   predicted
              voltage across L1   11.7 V      11.8 V   agrees

            In series: one current
              B1, A1, F1
              K1, D1, X1 (common to a)

            In parallel: the same two points
              B1, L1 (between @bar and @rail)
              G1, V1 (between @rail and @mid)
              C1, P1 (wiper to b)

            Reference: the point at 0 V
              @rail (chosen here; `reference POINT` sets another)

            Check
              Batteries and sources deliver 4.96 W in all; everything else takes up 4.96 W.
              Kirchhoff's laws hold exactly at every junction and round every loop.
        "#]],
        );
    }

    #[test]
    fn fractions_and_what_is_undetermined() {
        let text = "\
battery B1 = 6 V
ammeter A1, A2
lamp L1 = 9 ohm
B1+ -- ( +A1- | +A2- ) -- L1 -- B1-
find current through A1
case \"dusk\": L1 = 7 ohm
";
        let options = Options { style: Style::Fraction, ..Options::default() };
        check(
            text,
            &options,
            expect![[r#"
            quay.ohmline

            Asked for
              current through A1   undetermined

            Every element, as drawn
              name   kind      value        current   voltage   power
              B1     battery     6 V          2/3 A       6 V     4 W
              A1     ammeter   ideal   undetermined       0 V     0 W
              A2     ammeter   ideal   undetermined       0 V     0 W
              L1     lamp        9 Ω          2/3 A       6 V     4 W

            Cases side by side  (* = not as drawn)
              "dusk": L1 = 7 ohm

              current       as drawn         "dusk"
              B1               2/3 A        6/7 A *
              A1        undetermined   undetermined
              A2        undetermined   undetermined
              L1               2/3 A        6/7 A *

              voltage   as drawn   "dusk"
              B1             6 V      6 V
              A1             0 V      0 V
              A2             0 V      0 V
              L1             6 V      6 V

              power   as drawn     "dusk"
              B1           4 W   36/7 W *
              A1           0 W      0 W
              A2           0 W      0 W
              L1           4 W   36/7 W *

            In series: one current
              B1, L1

            In parallel: the same two points
              B1, L1
              A1, A2

            Reference: the point at 0 V
              B1- (chosen here; `reference POINT` sets another)

            Undetermined
              current through A1, A2
                  since A2 and A1 form a loop without resistance, and nothing says how the current divides among
                  them

            Check
              Batteries and sources deliver 4 W in all; everything else takes up 4 W.
              Kirchhoff's laws hold exactly at every junction and round every loop.
        "#]],
        );
    }

    #[test]
    fn an_empty_file() {
        check(
            "",
            &Options::default(),
            expect![[r#"
            quay.ohmline

            There are no elements
              Declare one, such as `lamp L1 = 6 ohm`, and join it in a path, such as `B1+ -- L1 -- B1-`.
        "#]],
        );
    }
}
