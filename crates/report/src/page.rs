//! The results of a circuit as a page of text: what was asked for, every element, claims, cases, series and parallel.

mod asked;
mod cases;
mod check;
mod elements;
mod groups;
#[cfg(test)]
mod tests;

pub(crate) use elements::element_table;

use ohmline_analysis::Analysis;
use ohmline_circuit::quantity::Style;
use ohmline_circuit::{Circuit, StateId};
use ohmline_solve::StateAnswers;

use crate::paint::{Paint, Tone};
use crate::table::{Table, clean, wrap};
use crate::tally::Tally;

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
            let changes = crate::cases::changes(&self.analysis.sources, &self.circuit.states[state.index()]);
            self.text(2, &format!("with {}", clean(&changes)));
        }
        let tally = Tally::of(self.analysis);
        if tally.errors > 0 {
            let errors = if tally.errors == 1 { "1 error".to_owned() } else { format!("{} errors", tally.errors) };
            let line = format!("{errors} reported; what could be solved is shown.");
            self.out.push_str(&format!("  {}\n", self.options.paint.tone(Tone::Bad, &line)));
        }
    }
}
