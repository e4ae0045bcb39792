//! `ohmline solve`

use ohmline_analysis::Analysis;
use ohmline_circuit::StateId;
use ohmline_circuit::quantity::Style;
use ohmline_report::{Options, Tally, solve_page, write_solve_json};
use ohmline_syntax::Severity;

use crate::cli::{Format, SolveArgs};
use crate::input::{self, Failure};
use crate::snippet::Snippets;
use crate::terminal::Terminal;
use crate::watch::{Round, watch};
use crate::{Status, watch};

/// Runs the command.
pub fn run(args: &SolveArgs) -> Status {
    let terminal = Terminal::new();
    if args.watch {
        return watch(std::slice::from_ref(&args.file), args.format, terminal, || solve(args, terminal));
    }
    solve(args, terminal).finish(terminal)
}

/// Solves the file once.
fn solve(args: &SolveArgs, terminal: Terminal) -> Round {
    let mut round = Round::default();
    let name = input::name(&args.file);
    let analysis = match input::analysis(&args.file) {
        Ok(analysis) => analysis,
        Err(failure) => {
            round.status = Status::Unusable;
            if let Failure::Unreadable(why) = failure {
                round.said.push_str(&watch::complaint(terminal, &format!("cannot read {name}: {why}")));
            }
            return round;
        }
    };
    round.read_from = input::read_from(&analysis);
    let state = match args.case.as_deref().map(|case| find_case(&analysis, case)).transpose() {
        Ok(state) => state,
        Err(message) => {
            round.status = Status::Unusable;
            round.said.push_str(&watch::complaint(terminal, &format!("{name}: {message}")));
            return round;
        }
    };
    if Tally::of(&analysis).is_wrong() {
        round.status = Status::Wrong;
    }
    match args.format {
        Format::Json => {
            // Writing into memory cannot fail.
            let _ = write_solve_json(&mut round.out, &analysis, state);
        }
        Format::Text => {
            let mut reports = Vec::new();
            let mut snippets = Snippets::new(&analysis.sources, terminal.err);
            for diagnostic in &analysis.diagnostics {
                if args.hints || diagnostic.severity <= Severity::Warning {
                    snippets.write(diagnostic, &mut reports);
                    reports.push(b'\n');
                }
            }
            round.said.push_str(&String::from_utf8_lossy(&reports));
            let style = if args.fractions { Style::Fraction } else { Style::Digits(args.digits) };
            let mut options = Options { style, state, paint: terminal.out, ..Options::default() };
            if let Some(columns) = terminal.columns() {
                options.width = columns;
            }
            round.out = solve_page(&analysis, &options).into_bytes();
        }
    }
    round
}

/// The state of a case, or a message that names those there are.
pub fn find_case(analysis: &Analysis, wanted: &str) -> Result<StateId, String> {
    let circuit = &analysis.circuit;
    let names = || circuit.state_ids().filter_map(|id| Some((id, circuit.states[id.index()].name.as_deref()?)));
    if let Some((id, _)) = names().find(|(_, name)| *name == wanted) {
        return Ok(id);
    }
    let known: Vec<String> = names().map(|(_, name)| format!("\"{name}\"")).collect();
    Err(match known.as_slice() {
        [] => format!("there is no case \"{wanted}\"; the file describes no case at all"),
        [one] => format!("there is no case \"{wanted}\"; the only one is {one}"),
        several => format!("there is no case \"{wanted}\"; there are {}", several.join(", ")),
    })
}
