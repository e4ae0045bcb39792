//! The chores of the project: `cargo xtask help` lists them.

#![allow(clippy::print_stdout, reason = "this is a terminal program")]

mod editors;
mod grammar;
mod layers;
mod markdown;
mod packages;
mod python;
mod stages;

use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use anyhow::{Context, Result, bail};

const HELP: &str = "\
cargo xtask test [STAGE...]   set up what the tests need and run all of them, or only these stages:
                              format, lint, layers, rust, python, editors, docs, readme
cargo xtask editors [NAME...] run whole sessions in the real editors: neovim, emacs, kakoune, vscode; what they need is
                              set up once, under target/
cargo xtask readme            write the output blocks of the Markdown pages anew
cargo xtask readme --check    fail when an output block is stale or an example is wrong
cargo xtask grammar           write the lists of words in grammar/ and editors/ anew, and the tree-sitter parser
cargo xtask layers            check that the crates depend on each other in one direction only
cargo xtask bench             run the benches of every stage (release build)
cargo xtask bench latency     time what an editor waits for while somebody types in a large file
";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    let done = match words.as_slice() {
        ["test", only @ ..] => stages::test(only),
        ["readme"] => build_binary().and_then(|binary| markdown::rewrite(&binary)),
        ["readme", "--check"] => build_binary().and_then(|binary| markdown::check(&binary)),
        ["editors", only @ ..] => editors::sessions(only),
        ["grammar"] => grammar::write(),
        ["layers"] => layers::check(),
        ["bench", "latency", rest @ ..] => {
            run(cargo().args(["bench", "-p", "ohmline", "--bench", "latency", "--"]).args(rest))
        }
        ["bench", rest @ ..] => run(cargo().args(["bench", "-p", "ohmline", "--bench", "pipeline", "--"]).args(rest)),
        [] | ["help" | "--help" | "-h"] => {
            print!("{HELP}");
            return ExitCode::SUCCESS;
        }
        _ => {
            eprint!("unknown chore `{}`\n\n{HELP}", words.join(" "));
            return ExitCode::from(2);
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("xtask: {error:#}");
            ExitCode::FAILURE
        }
    }
}

/// The root of the workspace.
fn root() -> PathBuf {
    let manifest = Path::new(env!("CARGO_MANIFEST_DIR"));
    manifest.ancestors().nth(2).unwrap_or(manifest).to_path_buf()
}

/// The same cargo that runs this chore, started at the root.
fn cargo() -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(root());
    command
}

/// Runs a command with its output shown; an exit status other than 0 is an error that names the command.
fn run(command: &mut Command) -> Result<()> {
    let shown = shown(command);
    let status = command.status().with_context(|| format!("cannot start `{shown}`"))?;
    if !status.success() {
        bail!("`{shown}` failed ({status})");
    }
    Ok(())
}

/// A command as a person would type it.
fn shown(command: &Command) -> String {
    let program = Path::new(command.get_program());
    let name = program.file_name().unwrap_or(program.as_os_str()).to_string_lossy().into_owned();
    let mut words = vec![name];
    words.extend(command.get_args().map(|arg| arg.to_string_lossy().into_owned()));
    words.join(" ")
}

/// Whether packages of the system may be installed.
fn is_root() -> bool {
    let output = Command::new("id").arg("-u").output();
    output.is_ok_and(|output| output.stdout.trim_ascii() == b"0")
}

/// Where cargo puts what it builds.
fn target_dir() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root().join("target"), PathBuf::from)
}

/// Builds the `ohmline` command in the profile of the tests and says where it is.
fn build_binary() -> Result<PathBuf> {
    build_program("ohmline")
}

/// Builds a program of the workspace in the profile of the tests and says where it is.
///
/// Of the whole workspace, as the tests are: one package alone asks for fewer features, and the big libraries would be built again.
fn build_program(name: &str) -> Result<PathBuf> {
    run(cargo().args(["build", "--quiet", "--workspace", "--bin", name]))?;
    Ok(target_dir().join("debug").join(format!("{name}{}", std::env::consts::EXE_SUFFIX)))
}
