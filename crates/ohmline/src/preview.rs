//! `ohmline preview`

use std::sync::Arc;

use ohmline_circuit::quantity::Style;
use ohmline_preview::{Preview, Shown, Start};
use ohmline_report::SolutionOptions;

use crate::Status;
use crate::cli::{Format, PreviewArgs};
use crate::input::{self, Failure};
use crate::settings::Chooser;
use crate::solve::find_case;
use crate::terminal::Terminal;
use crate::watch::{Round, watch};

/// Runs the command: until the terminal ends it.
pub fn run(args: &PreviewArgs) -> Status {
    let terminal = Terminal::new();
    let name = input::name(&args.file);
    if input::is_stdin(&args.file) {
        terminal.complain("standard input (`-`) cannot be followed; name a file");
        return Status::Unusable;
    }
    let first = match input::only(&args.file, args.circuit, &Chooser::new(&args.above, &[])) {
        Ok(analysis) => analysis,
        Err(failure) => {
            if let Failure::Unreadable(why) = failure {
                terminal.complain(&format!("cannot read {name}: {why}"));
            }
            return Status::Unusable;
        }
    };
    let case = match args.case.as_deref().map(|case| find_case(&first, case)).transpose() {
        Ok(state) => state.and_then(|state| first.circuit.states[state.index()].name.clone()),
        Err(message) => {
            terminal.complain(&format!("{name}: {message}"));
            return Status::Unusable;
        }
    };
    let start = Start {
        name: name.clone(),
        port: args.port,
        case: case.map(|case| case.to_string()),
        options: SolutionOptions { style: Style::Digits(args.digits), ..SolutionOptions::default() },
    };
    let preview = match Preview::start(start, Shown::Circuit(Arc::new(first))) {
        Ok(preview) => preview,
        Err(error) => {
            terminal.complain(&format!("cannot serve a page on port {}: {error}", args.port));
            return Status::Unusable;
        }
    };
    // The one result of this command, for people and for programs that wait for it.
    if terminal.write(format!("{}\n", preview.address()).as_bytes()).is_err() {
        return Status::Unusable;
    }
    watch(std::slice::from_ref(&args.file), Format::Json, terminal, || {
        let mut round = Round::default();
        let settings = Chooser::new(&args.above, &[]);
        let found = input::only(&args.file, args.circuit, &settings);
        (round.said, round.status) = settings.told(terminal);
        round.read_from = settings.read_from();
        let shown = match found {
            Ok(analysis) => {
                round.read_from.extend(input::read_from(&analysis));
                Shown::Circuit(Arc::new(analysis))
            }
            Err(Failure::Unreadable(why)) => Shown::Trouble(format!("{name} cannot be read: {why}")),
            Err(Failure::Fault) => Shown::Trouble(format!("{name} could not be analyzed, and the fault is not yours.")),
        };
        preview.publish(shown);
        round
    })
}
