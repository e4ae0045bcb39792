//! The `ohmline` command.
//!
//! Purpose: read files, call the analysis, show what it found.
//! Boundary: no logic of its own. Files, the terminal, the clock and the environment are touched here (and in the server) only.
//! Invariants:
//! - Exit status 0: fine; 1: the input has errors or a claim fails; 2: the call or a file is unusable.
//! - Standard output holds results only; whatever is said about the call goes to standard error.
//! - A reader that goes away (a closed pipe) ends the command quietly.

mod baseline;
mod check;
mod cli;
mod disk;
mod draw;
mod explain;
mod fault;
mod fix;
mod format;
mod in_force;
mod input;
mod preview;
mod settings;
mod snippet;
mod solution;
mod solve;
mod terminal;
mod watch;
mod write;

use std::process::ExitCode;

use clap::Parser;

use cli::{Cli, Command};
use terminal::Terminal;

/// How a command ended; of several files the worst counts.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Status {
    /// Nothing is wrong.
    Fine,
    /// The input has errors, or a claim fails.
    Wrong,
    /// The call or a file is unusable.
    Unusable,
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> Self {
        ExitCode::from(match status {
            Status::Fine => 0,
            Status::Wrong => 1,
            Status::Unusable => 2,
        })
    }
}

/// Room for deeply nested circuits; it is only reserved, not used, until it is needed.
const STACK: usize = 256 << 20;

fn main() -> ExitCode {
    fault::install();
    let cli = Cli::parse();
    // The main thread's stack is as small as the system likes; a thread of our own is not.
    let thread = std::thread::Builder::new().stack_size(STACK).spawn(|| run(cli));
    match thread.map(std::thread::JoinHandle::join) {
        Ok(Ok(code)) => code,
        // The hook has said what happened.
        Ok(Err(_)) => Status::Unusable.into(),
        Err(error) => {
            Terminal::new().complain(&format!("cannot start: {error}"));
            Status::Unusable.into()
        }
    }
}

fn run(cli: Cli) -> ExitCode {
    match cli.command {
        Command::Check(args) => check::run(&args).into(),
        Command::Solve(args) => solve::run(&args).into(),
        Command::Solution(args) => solution::run(&args).into(),
        Command::Draw(args) => draw::run(&args).into(),
        Command::Fix(args) => fix::run(&args).into(),
        Command::Settings(args) => in_force::run(&args).into(),
        Command::Explain(args) => explain::run(&args).into(),
        Command::Format(args) => format::run(&args).into(),
        Command::Preview(args) => preview::run(&args).into(),
        Command::Serve(_) => match ohmline_server::run() {
            0 => ExitCode::SUCCESS,
            _ => ExitCode::FAILURE,
        },
    }
}
