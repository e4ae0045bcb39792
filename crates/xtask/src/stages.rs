//! `cargo xtask test`: sets up what the tests need, runs every stage, and says how long each took.

use std::time::{Duration, Instant};

use anyhow::{Result, bail};

use crate::{build_binary, cargo, editors, layers, markdown, packages, python, run};

type Stage = (&'static str, &'static str, fn() -> Result<Skipped>);

/// What a stage that passed left out, and why.
type Skipped = Option<&'static str>;

/// Cheap stages first, so that a slip in the form of the code shows before the long builds.
const STAGES: &[Stage] = &[
    ("format", "rustfmt finds nothing to change", format),
    ("layers", "crates depend in one direction only", arrows),
    ("rust", "all Rust tests, documentation examples included", rust),
    ("lint", "clippy finds nothing", lint),
    ("python", "random circuits against an independent solver in numpy; the page in a real browser", python_tests),
    ("editors", "types, colors, pages and package of the VS Code extension", editor_parts),
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
    let mut results: Vec<(&str, Duration, Result<Skipped>)> = Vec::new();
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
        let word = match result {
            Ok(None) => "passed".to_owned(),
            Ok(Some(what)) => format!("passed, but skipped: {what}"),
            Err(_) => "FAILED".to_owned(),
        };
        println!("{name:<8} {:>8.1}  {word}", took.as_secs_f64());
    }
    let total: Duration = results.iter().map(|result| result.1).sum();
    println!("{:<8} {:>8.1}", "all", total.as_secs_f64());
    let failed: Vec<_> = results.iter().filter(|result| result.2.is_err()).map(|result| result.0).collect();
    if failed.is_empty() { Ok(()) } else { bail!("failed: {}", failed.join(", ")) }
}

fn format() -> Result<Skipped> {
    run(cargo().args(["fmt", "--all", "--check"])).map(whole)
}

/// A stage that left nothing out.
fn whole((): ()) -> Skipped {
    None
}

fn arrows() -> Result<Skipped> {
    layers::check().map(whole)
}

fn lint() -> Result<Skipped> {
    run(cargo().args(["clippy", "--quiet", "--workspace", "--all-targets", "--", "-D", "warnings"])).map(whole)
}

fn rust() -> Result<Skipped> {
    let mut tests = cargo();
    tests.args(["test", "--workspace", "--no-fail-fast"]);
    let editor = editors::set_up();
    if editor {
        // From here on it is a failure when the tests do not find it.
        tests.env("OHMLINE_EDITORS", "1");
    }
    run(&mut tests)?;
    Ok((!editor).then_some("tests/lsp_neovim.rs or tests/lsp_emacs.rs, since the editor is not installed"))
}

fn python_tests() -> Result<Skipped> {
    let binary = build_binary()?;
    let browser = packages::ensure("chromium", &["chromium"]);
    python::test(&binary, browser)?;
    Ok((!browser).then_some("what needs a browser in tests/python/test_preview.py, since Chromium is not installed"))
}

fn editor_parts() -> Result<Skipped> {
    editors::extension()
}

fn docs() -> Result<Skipped> {
    run(cargo()
        .args(["doc", "--quiet", "--workspace", "--no-deps"])
        .env("RUSTDOCFLAGS", "-D warnings -A rustdoc::private-intra-doc-links"))
    .map(whole)
}

fn readme() -> Result<Skipped> {
    markdown::check(&build_binary()?).map(whole)
}
