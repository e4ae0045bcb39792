//! The worked solution on paper: as text, Markdown, sheets, the inside of a page, and JSON.

mod figures;
mod html;
mod json;
mod markdown;
mod page;
mod pictures;
mod sheets;
mod stage;
mod text;

pub use html::{elements_html, html_text, solution_body};
pub use json::{write_solution_circuits_json, write_solution_json};
pub use markdown::solution_markdown;
pub use sheets::solution_sheets;
pub use text::solution_text;

use ohmline_analysis::Analysis;
use ohmline_circuit::StateId;
use ohmline_circuit::quantity::Style;
use ohmline_lint::words;
use ohmline_worked::{MOST_PARTS, Method, Refusal, Solution};

use crate::paint::Paint;

/// What the reader can choose.
#[derive(Clone, Debug)]
pub struct SolutionOptions {
    /// How numbers are written.
    pub style: Style,
    /// Of which state.
    pub state: StateId,
    /// By which method.
    pub method: Method,
    /// Columns that lines of words should fit into, in text.
    pub width: usize,
    /// Emphasis, in text.
    pub paint: Paint,
}

impl Default for SolutionOptions {
    fn default() -> Self {
        Self {
            style: Style::Digits(3),
            state: StateId::DRAWN,
            method: Method::Auto,
            width: 100,
            paint: Paint::default(),
        }
    }
}

/// The title of a state of a circuit: its own, or the name of the file, and the case.
pub fn state_title(analysis: &Analysis, state: StateId) -> String {
    page::title(analysis, state)
}

/// Works out a state, or says in sentences why that cannot be done.
pub fn work_out(analysis: &Analysis, state: StateId, method: Method) -> Result<Solution, Vec<String>> {
    let (Some(topology), Some(answers)) =
        (analysis.topologies.get(state.index()), analysis.answers.states.get(state.index()))
    else {
        return Err(vec!["This state has not been solved.".to_owned()]);
    };
    let solved = ohmline_worked::solve(&analysis.circuit, state, topology, answers, method).map(|mut solution| {
        if let (Some(drawn), Some(first)) = (analysis.topologies.first(), analysis.answers.states.first()) {
            solution.changes = ohmline_worked::changes(&analysis.circuit, state, (drawn, topology), (first, answers));
        }
        solution
    });
    solved.map_err(|refusal| match refusal {
        Refusal::NothingToDo => {
            vec!["There is no circuit to work out: no element stands in a path.".to_owned()]
        }
        Refusal::Undetermined(causes) => {
            let mut sentences = vec!["This circuit has no single solution, so none is worked out:".to_owned()];
            sentences.extend(causes.into_iter().map(|cause| {
                format!("- {}.", words::cause(&analysis.circuit, &answers.causes[cause]))
            }));
            sentences
        }
        Refusal::TooLarge { parts } => vec![
            format!(
                "With {parts} parts this circuit is too large to be worked out step by step; the limit is {MOST_PARTS} parts that carry current."
            ),
            "`ohmline solve` gives every current and voltage of it.".to_owned(),
        ],
    })
}
