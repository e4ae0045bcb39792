//! The direction of the arrows between the crates, as DEVELOPERS.md draws them, and what the pure crates keep away from.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use serde_json::Value;

use crate::{cargo, root};

/// Each crate with the crates of the project that it may use. An order: each line uses lines above it only.
const MAY_USE: &[(&str, &[&str])] = &[
    ("ohmline-syntax", &[]),
    ("ohmline-format", &["ohmline-syntax"]),
    ("ohmline-draw", &[]),
    ("ohmline-print", &[]),
    ("ohmline-circuit", &["ohmline-syntax"]),
    ("ohmline-files", &["ohmline-syntax", "ohmline-circuit"]),
    ("ohmline-solve", &["ohmline-circuit"]),
    ("ohmline-worked", &["ohmline-circuit", "ohmline-solve"]),
    ("ohmline-lint", &["ohmline-syntax", "ohmline-circuit", "ohmline-solve"]),
    ("ohmline-analysis", &["ohmline-syntax", "ohmline-circuit", "ohmline-solve", "ohmline-lint"]),
    ("ohmline-settings", &["ohmline-syntax", "ohmline-circuit", "ohmline-lint", "ohmline-analysis"]),
    (
        "ohmline-report",
        &[
            "ohmline-syntax",
            "ohmline-draw",
            "ohmline-circuit",
            "ohmline-solve",
            "ohmline-worked",
            "ohmline-lint",
            "ohmline-analysis",
        ],
    ),
    ("ohmline-sketch", &["ohmline-circuit", "ohmline-solve", "ohmline-analysis", "ohmline-report", "ohmline-draw"]),
    (
        "ohmline-assist",
        &[
            "ohmline-syntax",
            "ohmline-circuit",
            "ohmline-solve",
            "ohmline-worked",
            "ohmline-lint",
            "ohmline-analysis",
            "ohmline-report",
        ],
    ),
    (
        "ohmline-page",
        &[
            "ohmline-syntax",
            "ohmline-circuit",
            "ohmline-worked",
            "ohmline-lint",
            "ohmline-analysis",
            "ohmline-report",
            "ohmline-draw",
            "ohmline-sketch",
        ],
    ),
    ("ohmline-preview", &["ohmline-circuit", "ohmline-analysis", "ohmline-report", "ohmline-page"]),
    (
        "ohmline-server",
        &[
            "ohmline-format",
            "ohmline-assist",
            "ohmline-preview",
            "ohmline-syntax",
            "ohmline-circuit",
            "ohmline-files",
            "ohmline-solve",
            "ohmline-lint",
            "ohmline-analysis",
            "ohmline-settings",
            "ohmline-report",
        ],
    ),
    (
        "ohmline",
        &[
            "ohmline-settings",
            "ohmline-syntax",
            "ohmline-lint",
            "ohmline-print",
            "ohmline-circuit",
            "ohmline-files",
            "ohmline-worked",
            "ohmline-analysis",
            "ohmline-report",
            "ohmline-draw",
            "ohmline-print",
            "ohmline-sketch",
            "ohmline-format",
            "ohmline-page",
            "ohmline-preview",
            "ohmline-server",
        ],
    ),
    ("ohmline-grammar", &["ohmline-syntax"]),
    ("xtask", &[]),
];

/// Libraries with the crates that they belong to, one where that is possible, so that they can be replaced in one place.
const HOMES: &[(&str, &[&str])] = &[
    ("tower-lsp", &["ohmline-server"]),
    ("tokio", &["ohmline-server", "ohmline-preview"]),
    ("axum", &["ohmline-preview"]),
    ("clap", &["ohmline"]),
    ("ariadne", &["ohmline"]),
    ("notify", &["ohmline"]),
    ("chumsky", &["ohmline-syntax"]),
    ("logos", &["ohmline-syntax"]),
    ("faer", &["ohmline-solve"]),
    ("resvg", &["ohmline-print"]),
    ("krilla", &["ohmline-print"]),
    ("krilla-svg", &["ohmline-print"]),
    ("tree-sitter", &["ohmline-grammar"]),
    ("cc", &["ohmline-grammar"]),
    ("toml", &["ohmline-settings"]),
];

/// Crates that neither read files nor clocks nor the environment.
const PURE: &[&str] = &[
    "draw", "print", "sketch", "syntax", "format", "circuit", "solve", "worked", "lint", "analysis", "report", "page",
    "assist", "settings",
];

const IMPURE: &[&str] = &["std::fs", "std::env", "std::net", "std::process", "SystemTime", "Instant::now"];

/// Fails with every arrow that points the wrong way.
pub fn check() -> Result<()> {
    let output = cargo()
        .args(["metadata", "--format-version", "1", "--no-deps"])
        .output()
        .context("cannot start `cargo metadata`")?;
    if !output.status.success() {
        bail!("`cargo metadata` failed: {}", String::from_utf8_lossy(&output.stderr));
    }
    let metadata: Value = serde_json::from_slice(&output.stdout).context("`cargo metadata` printed no JSON")?;
    let mut wrong = arrows(&metadata);
    for name in PURE {
        impure(&root().join("crates").join(name).join("src"), &mut wrong)?;
    }
    if wrong.is_empty() { Ok(()) } else { bail!("{}", wrong.join("\n")) }
}

fn arrows(metadata: &Value) -> Vec<String> {
    let mut wrong = Vec::new();
    let own: Vec<&str> = MAY_USE.iter().map(|entry| entry.0).collect();
    for package in metadata["packages"].as_array().into_iter().flatten() {
        let name = package["name"].as_str().unwrap_or_default();
        let Some((_, allowed)) = MAY_USE.iter().find(|entry| entry.0 == name) else {
            wrong.push(format!("crate `{name}` is not in the list of layers"));
            continue;
        };
        for dependency in package["dependencies"].as_array().into_iter().flatten() {
            // Tests may look anywhere.
            if dependency["kind"].as_str() == Some("dev") {
                continue;
            }
            let target = dependency["name"].as_str().unwrap_or_default();
            if own.contains(&target) && !allowed.contains(&target) {
                wrong.push(format!("`{name}` must not use `{target}`"));
            }
            if let Some((_, homes)) = HOMES.iter().find(|entry| entry.0 == target)
                && !homes.contains(&name)
            {
                wrong.push(format!("`{target}` belongs to `{}` alone, but `{name}` uses it", homes.join("` and `")));
            }
        }
    }
    wrong
}

fn impure(folder: &Path, wrong: &mut Vec<String>) -> Result<()> {
    for file in rust_files(folder)? {
        let text = fs::read_to_string(&file).with_context(|| format!("cannot read {}", file.display()))?;
        // Unit tests stand at the end of a file and may do as they like.
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        for (number, line) in code.lines().enumerate() {
            let line = line.split("//").next().unwrap_or_default();
            if let Some(word) = IMPURE.iter().find(|word| line.contains(*word)) {
                wrong.push(format!("{}:{}: a pure crate uses `{word}`", file.display(), number + 1));
            }
        }
    }
    Ok(())
}

fn rust_files(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(&next).with_context(|| format!("cannot read {}", next.display()))? {
            let path = entry?.path();
            if path.file_stem().is_some_and(|name| name == "tests") {
                // Tests may do as they like.
                continue;
            }
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                files.push(path);
            }
        }
    }
    files.sort();
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn an_arrow_against_the_order_is_reported() {
        let metadata = json!({"packages": [
            {"name": "ohmline-syntax", "dependencies": [{"name": "ohmline-circuit", "kind": null}]},
            {"name": "ohmline-circuit", "dependencies": [{"name": "ohmline-syntax", "kind": null}]},
        ]});
        assert_eq!(arrows(&metadata), ["`ohmline-syntax` must not use `ohmline-circuit`"]);
    }

    #[test]
    fn a_library_away_from_its_home_is_reported_but_not_in_tests() {
        let metadata = json!({"packages": [
            {"name": "ohmline-lint", "dependencies": [{"name": "tokio", "kind": null}, {"name": "clap", "kind": "dev"}]},
        ]});
        assert_eq!(
            arrows(&metadata),
            ["`tokio` belongs to `ohmline-server` and `ohmline-preview` alone, but `ohmline-lint` uses it"]
        );
    }

    #[test]
    fn the_list_is_in_order() {
        for (index, (name, uses)) in MAY_USE.iter().enumerate() {
            for used in *uses {
                assert!(MAY_USE[..index].iter().any(|entry| entry.0 == *used), "{name} uses {used}");
            }
        }
    }
}
