//! `ohmline solution`

use std::io::Write as _;

use ohmline_circuit::StateId;
use ohmline_circuit::quantity::Style;
use ohmline_page::{PageOptions, page};
use ohmline_report::{
    SolutionOptions, Tally, solution_markdown, solution_sheets, solution_text, work_out, write_solution_json,
};
use ohmline_syntax::Severity;
use ohmline_worked::Method;

use crate::Status;
use crate::cli::{MethodArg, SolutionArgs, SolutionFormat};
use crate::input::{self, Failure};
use crate::snippet::Snippets;
use crate::solve::find_case;
use crate::terminal::Terminal;
use crate::watch::{Round, complaint};

/// Runs the command.
pub fn run(args: &SolutionArgs) -> Status {
    let terminal = Terminal::new();
    let mut round = Round::default();
    let name = input::name(&args.file);
    let refuse = |round: &mut Round, status: Status, message: &str| {
        round.status = status;
        round.said.push_str(&complaint(terminal, &format!("{name}: {message}")));
    };
    let analysis = match input::analysis(&args.file) {
        Ok(analysis) => analysis,
        Err(failure) => {
            round.status = Status::Unusable;
            if let Failure::Unreadable(why) = failure {
                round.said.push_str(&complaint(terminal, &format!("cannot read {name}: {why}")));
            }
            return round.finish(terminal);
        }
    };
    let state = match args.case.as_deref().map(|case| find_case(&analysis, case)).transpose() {
        Ok(state) => state.unwrap_or(StateId::DRAWN),
        Err(message) => {
            refuse(&mut round, Status::Unusable, &message);
            return round.finish(terminal);
        }
    };
    if Tally::of(&analysis).is_wrong() {
        round.status = Status::Wrong;
    }
    if args.format != SolutionFormat::Json {
        let mut reports = Vec::new();
        let mut snippets = Snippets::new(&analysis.sources, terminal.err);
        for diagnostic in analysis.diagnostics.iter().filter(|found| found.severity <= Severity::Warning) {
            snippets.write(diagnostic, &mut reports);
            reports.push(b'\n');
        }
        round.said.push_str(&String::from_utf8_lossy(&reports));
    }
    let method = match args.method {
        MethodArg::Auto => Method::Auto,
        MethodArg::Reduction => Method::Reduction,
        MethodArg::Nodes => Method::Nodes,
        MethodArg::Loops => Method::Loops,
        MethodArg::Superposition => Method::Superposition,
        MethodArg::StarDelta => Method::StarDelta,
    };
    let solution = match work_out(&analysis, state, method) {
        Ok(solution) => solution,
        Err(sentences) => {
            refuse(&mut round, Status::Wrong, &sentences.join("\n"));
            return round.finish(terminal);
        }
    };
    let style = if args.fractions { Style::Fraction } else { Style::Digits(args.digits) };
    let options = SolutionOptions { style, state, method, paint: terminal.out, ..SolutionOptions::default() };
    match args.format {
        SolutionFormat::Text => round.out = solution_text(&analysis, &solution, &options).into_bytes(),
        SolutionFormat::Markdown => round.out = solution_markdown(&analysis, &solution, &options).into_bytes(),
        SolutionFormat::Html => {
            round.out = page(&analysis, &PageOptions { solution: options, live: None }).into_bytes();
        }
        SolutionFormat::Pdf => {
            let pages = solution_sheets(&analysis, &solution, &options);
            let title = analysis.circuit.title.clone().unwrap_or_else(|| name.clone());
            match ohmline_print::pdf_pages(&pages, &title) {
                Ok(bytes) => round.out = bytes,
                Err(error) => refuse(&mut round, Status::Unusable, &error.to_string()),
            }
        }
        SolutionFormat::Json => {
            // Writing into memory cannot fail.
            let _ = write_solution_json(&mut round.out, &analysis, &solution);
            let _ = round.out.flush();
        }
    }
    round.finish(terminal)
}
