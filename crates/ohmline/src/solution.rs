//! `ohmline solution`

use ohmline_analysis::Analysis;
use ohmline_circuit::StateId;
use ohmline_circuit::quantity::Style;
use ohmline_page::{PageOptions, page};
use ohmline_report::{
    SolutionOptions, Tally, solution_markdown, solution_sheets, solution_text, work_out, write_solution_circuits_json,
    write_solution_json,
};
use ohmline_worked::{Method, Solution};

use crate::Status;
use crate::cli::{MethodArg, SolutionArgs, SolutionFormat};
use crate::input::{self, Failure};
use crate::settings::Chooser;
use crate::solve::{heading, reports, states};
use crate::terminal::Terminal;
use crate::watch::{Round, complaint};

/// Runs the command.
pub fn run(args: &SolutionArgs) -> Status {
    let terminal = Terminal::new();
    let mut round = Round::default();
    let name = input::name(&args.file);
    let refuse = |round: &mut Round, status: Status, message: &str| {
        round.status = round.status.max(status);
        round.said.push_str(&complaint(terminal, &format!("{name}: {message}")));
    };
    let settings = Chooser::new(&args.above, &[]);
    let circuits = input::chosen(&args.file, args.circuit, &settings);
    (round.said, round.status) = settings.told(terminal);
    let circuits = match circuits {
        Ok(circuits) => circuits,
        Err(failure) => {
            round.status = Status::Unusable;
            if let Failure::Unreadable(why) = failure {
                round.said.push_str(&complaint(terminal, &format!("cannot read {name}: {why}")));
            }
            return round.finish(terminal);
        }
    };
    let states = match states(&circuits, args.case.as_deref()) {
        Ok(states) => states,
        Err(message) => {
            refuse(&mut round, Status::Unusable, &message);
            return round.finish(terminal);
        }
    };
    if args.format == SolutionFormat::Html && states.len() > 1 {
        refuse(&mut round, Status::Unusable, &format!("a page shows one circuit; {}", input::several(circuits.len())));
        return round.finish(terminal);
    }
    if circuits.iter().any(|analysis| Tally::of(analysis).is_wrong()) {
        round.status = round.status.max(Status::Wrong);
    }
    if args.format != SolutionFormat::Json {
        states.iter().for_each(|(analysis, _)| round.said.push_str(&reports(analysis, terminal, false)));
    }
    let method = match args.method {
        MethodArg::Auto => Method::Auto,
        MethodArg::Reduction => Method::Reduction,
        MethodArg::Nodes => Method::Nodes,
        MethodArg::Loops => Method::Loops,
        MethodArg::Superposition => Method::Superposition,
        MethodArg::StarDelta => Method::StarDelta,
    };
    let style = if args.fractions { Style::Fraction } else { Style::Digits(args.digits) };
    let mut solved: Vec<(&Analysis, Option<Solution>)> = Vec::new();
    for (analysis, state) in &states {
        let found = work_out(analysis, state.unwrap_or(StateId::DRAWN), method);
        let found = found.map_err(|mut sentences| {
            if circuits.len() > 1 {
                sentences.insert(0, format!("the circuit in line {}:", input::first_line(analysis)));
            }
            refuse(&mut round, Status::Wrong, &sentences.join("\n"));
        });
        solved.push((analysis, found.ok()));
    }
    let worked: Vec<(&Analysis, &Solution, SolutionOptions)> = solved
        .iter()
        .filter_map(|(analysis, solution)| {
            let solution = solution.as_ref()?;
            let options = SolutionOptions {
                style,
                state: solution.state,
                method,
                paint: terminal.out,
                ..SolutionOptions::default()
            };
            Some((*analysis, solution, options))
        })
        .collect();
    if worked.is_empty() && !input::is_document(&args.file) {
        return round.finish(terminal);
    }
    // Writing into memory cannot fail.
    let _ = match args.format {
        SolutionFormat::Text | SolutionFormat::Markdown => {
            for (number, (analysis, solution, options)) in worked.iter().enumerate() {
                if number > 0 {
                    round.out.push(b'\n');
                }
                let page = if args.format == SolutionFormat::Text {
                    if circuits.len() > 1 {
                        round.out.extend(heading(&name, analysis, terminal).bytes());
                    }
                    solution_text(analysis, solution, options)
                } else {
                    solution_markdown(analysis, solution, options)
                };
                round.out.extend(page.bytes());
            }
            Ok(())
        }
        SolutionFormat::Html => {
            for (analysis, _, options) in worked {
                round.out = page(analysis, &PageOptions { solution: options, live: None }).into_bytes();
            }
            Ok(())
        }
        SolutionFormat::Pdf => {
            let pages: Vec<String> = worked
                .iter()
                .flat_map(|(analysis, solution, options)| solution_sheets(analysis, solution, options))
                .collect();
            let title = match worked.as_slice() {
                [(analysis, ..)] => analysis.circuit.title.as_deref().unwrap_or(&name),
                _ => &name,
            };
            if !pages.is_empty() {
                match ohmline_print::pdf_pages(&pages, title) {
                    Ok(bytes) => round.out = bytes,
                    Err(error) => refuse(&mut round, Status::Unusable, &error.to_string()),
                }
            }
            Ok(())
        }
        SolutionFormat::Json => match worked.as_slice() {
            [(analysis, solution, _)] if !input::is_document(&args.file) => {
                write_solution_json(&mut round.out, analysis, solution)
            }
            _ => {
                let all: Vec<_> = solved.iter().map(|(analysis, solution)| (*analysis, solution.as_ref())).collect();
                write_solution_circuits_json(&mut round.out, &name, &all)
            }
        },
    };
    round.finish(terminal)
}
