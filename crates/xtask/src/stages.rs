//! `cargo xtask test`: sets up what the tests need, runs every stage, and says how long each took.

use std::time::{Duration, Instant};

use anyhow::{Result, bail};

use crate::{build_binary, cargo, layers, markdown, python, run};

type Stage = (&'static str, &'static str, fn() -> Result<()>);

/// Cheap stages first, so that a slip in the form of the code shows before the long builds.
const STAGES: &[Stage] = &[
    ("format", "rustfmt finds nothing to change", format),
    ("layers", "crates depend in one direction only", layers::check),
    ("rust", "all Rust tests, documentation examples included", rust),
    ("lint", "clippy finds nothing", lint),
    ("python", "random circuits against an independent solver in numpy", python_tests),
    ("docs", "the documentation builds without a warning", docs),
    ("readme", "every example in the Markdown pages is true", readme),
];

/// Runs the stages named, or all; goes on after a failure so that one run shows everything that is wrong.
pub fn test(only: &[&str]) -> Result<()> {
    for name in only {
        if !STAGES.iter().any(|stage| stage.0 == *name) {
            let known: Vec<_> = STAGES.iter().map(|stage| stage.0).collect();
            bail!("there is no stage `{name}`; the stages are {}", known.join(", "));
        }
    }
    let mut results: Vec<(&str, Duration, Result<()>)> = Vec::new();
    for (name, what, work) in STAGES.iter().filter(|stage| only.is_empty() || only.contains(&stage.0)) {
        println!("== {name}: {what}");
        let start = Instant::now();
        let result = work();
        if let Err(error) = &result {
            eprintln!("{name}: {error:#}");
        }
        results.push((name, start.elapsed(), result));
    }
    println!("\n{:<8} {:>8}  result", "stage", "seconds");
    for (name, took, result) in &results {
        let word = if result.is_ok() { "passed" } else { "FAILED" };
        println!("{name:<8} {:>8.1}  {word}", took.as_secs_f64());
    }
    let total: Duration = results.iter().map(|result| result.1).sum();
    println!("{:<8} {:>8.1}", "all", total.as_secs_f64());
    let failed: Vec<_> = results.iter().filter(|result| result.2.is_err()).map(|result| result.0).collect();
    if failed.is_empty() { Ok(()) } else { bail!("failed: {}", failed.join(", ")) }
}

fn format() -> Result<()> {
    run(cargo().args(["fmt", "--all", "--check"]))
}

fn lint() -> Result<()> {
    run(cargo().args(["clippy", "--quiet", "--workspace", "--all-targets", "--", "-D", "warnings"]))
}

fn rust() -> Result<()> {
    run(cargo().args(["test", "--workspace", "--no-fail-fast"]))
}

fn python_tests() -> Result<()> {
    let binary = build_binary()?;
    python::test(&binary)
}

fn docs() -> Result<()> {
    run(cargo()
        .args(["doc", "--quiet", "--workspace", "--no-deps"])
        .env("RUSTDOCFLAGS", "-D warnings -A rustdoc::private-intra-doc-links"))
}

fn readme() -> Result<()> {
    markdown::check(&build_binary()?)
}
