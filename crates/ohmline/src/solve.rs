//! `ohmline solve`

use ohmline_analysis::Analysis;
use ohmline_circuit::StateId;
use ohmline_circuit::quantity::Style;
use ohmline_report::{Options, Tally, Tone, solve_page, write_solve_circuits_json, write_solve_json};
use ohmline_syntax::Severity;

use crate::cli::{Format, SolveArgs};
use crate::input::{self, Failure};
use crate::settings::Chooser;
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
    let settings = Chooser::new(&args.above, &[]);
    let circuits = input::chosen(&args.file, args.circuit, &settings);
    (round.said, round.status) = settings.told(terminal);
    round.read_from = settings.read_from();
    let circuits = match circuits {
        Ok(circuits) => circuits,
        Err(failure) => {
            round.status = Status::Unusable;
            if let Failure::Unreadable(why) = failure {
                round.said.push_str(&watch::complaint(terminal, &format!("cannot read {name}: {why}")));
            }
            return round;
        }
    };
    round.read_from.extend(input::read_from_all(&args.file, &circuits));
    let states = match states(&circuits, args.case.as_deref()) {
        Ok(states) => states,
        Err(message) => {
            round.status = Status::Unusable;
            round.said.push_str(&watch::complaint(terminal, &format!("{name}: {message}")));
            return round;
        }
    };
    if circuits.iter().any(|analysis| Tally::of(analysis).is_wrong()) {
        round.status = round.status.max(Status::Wrong);
    }
    match (args.format, &states[..]) {
        // Writing into memory cannot fail.
        (Format::Json, [(analysis, state)]) if !input::is_document(&args.file) => {
            let _ = write_solve_json(&mut round.out, analysis, *state);
        }
        (Format::Json, all) => {
            let _ = write_solve_circuits_json(&mut round.out, &name, all);
        }
        (Format::Text, all) => {
            let style = if args.fractions { Style::Fraction } else { Style::Digits(args.digits) };
            let mut options = Options { style, paint: terminal.out, ..Options::default() };
            if let Some(columns) = terminal.columns() {
                options.width = columns;
            }
            for (number, (analysis, state)) in all.iter().enumerate() {
                round.said.push_str(&reports(analysis, terminal, args.hints));
                if number > 0 {
                    round.out.push(b'\n');
                }
                if circuits.len() > 1 {
                    round.out.extend(heading(&name, analysis, terminal).bytes());
                }
                options.state = *state;
                round.out.extend(solve_page(analysis, &options).bytes());
            }
        }
    }
    round
}

/// What stands above the page of each of several circuits.
pub fn heading(name: &str, analysis: &Analysis, terminal: Terminal) -> String {
    let line = format!("{name}, line {}", input::first_line(analysis));
    format!("{}\n\n", terminal.out.tone(Tone::Strong, &line))
}

/// The findings of a circuit for standard error; hints only if wanted.
pub fn reports(analysis: &Analysis, terminal: Terminal, hints: bool) -> String {
    let mut out = Vec::new();
    let mut snippets = Snippets::new(&analysis.sources, terminal.err);
    for found in analysis.diagnostics.iter().filter(|found| hints || found.severity <= Severity::Warning) {
        snippets.write(found, &mut out);
        out.push(b'\n');
    }
    String::from_utf8_lossy(&out).into_owned()
}

/// Each circuit with the state that is wanted of it. Of several circuits, those without such a case are left out; when none has it,
/// that is a mistake.
pub fn states<'a>(
    circuits: &'a [Analysis],
    case: Option<&str>,
) -> Result<Vec<(&'a Analysis, Option<StateId>)>, String> {
    let Some(case) = case else { return Ok(circuits.iter().map(|analysis| (analysis, None)).collect()) };
    let found: Vec<_> = circuits
        .iter()
        .filter_map(|analysis| find_case(analysis, case).ok().map(|state| (analysis, Some(state))))
        .collect();
    match (circuits, found.is_empty()) {
        (_, false) => Ok(found),
        ([one], true) => find_case(one, case).map(|state| vec![(one, Some(state))]),
        (_, true) => Err(format!("there is no case \"{case}\" in any of the circuits")),
    }
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
