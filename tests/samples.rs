//! Every sample is right, and the file of mistakes shows every mistake that a file can show.

mod harness;

use std::collections::BTreeSet;

use expect_test::{ExpectFile, expect_file};
use harness::{ohmline, root, samples};
use serde_json::Value;

fn solve(path: &str, format: &str) -> (i32, String) {
    let output = ohmline(&["solve", path, "--format", format], "");
    let text = String::from_utf8(output.stdout).expect("the output is UTF-8");
    (output.status.code().expect("it ended by itself"), text)
}

#[test]
fn good_samples_have_no_errors_and_no_warnings_and_their_claims_hold() {
    let files = samples();
    assert!(files.len() >= 12, "only {} samples", files.len());
    let mut claims = 0;
    for file in files {
        let name = file.strip_prefix(root()).expect("samples lie in the project").to_string_lossy().into_owned();
        let (status, text) = solve(&name, "json");
        let json: Value = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{name}: {error}\n{text}"));
        let serious: Vec<String> = json["diagnostics"]
            .as_array()
            .expect("diagnostics are listed")
            .iter()
            .filter(|found| matches!(found["severity"].as_str(), Some("error" | "warning")))
            .map(|found| format!("{}: {} {}", found["start"]["line"], found["rule"], found["message"]))
            .collect();
        assert!(serious.is_empty(), "{name}:\n{}", serious.join("\n"));
        assert_eq!(status, 0, "{name}");
        for claim in json["claims"].as_array().expect("claims are listed") {
            assert_eq!(claim["holds"], true, "{name}: {claim}");
            claims += 1;
        }
        for find in json["finds"].as_array().expect("finds are listed") {
            assert!(find["value"].is_number(), "{name}: {find}");
        }
        assert_eq!(json["undetermined"], Value::Array(Vec::new()), "{name}");
        let documented = std::fs::read_to_string(&file).expect("it was just read by the command");
        assert!(documented.starts_with("## "), "{name} begins with a line of documentation");
    }
    assert!(claims >= 80, "only {claims} claims");
}

/// One sample is a kit of parts; all others are circuits that answer something.
#[test]
fn every_sample_but_the_kit_is_a_circuit() {
    for file in samples() {
        let text = std::fs::read_to_string(&file).expect("samples are readable");
        let is_kit = file.ends_with("kit.ohmline");
        assert_eq!(text.contains("\ncircuit \""), !is_kit, "{}", file.display());
        assert_eq!(text.contains("\nfind "), !is_kit, "{}", file.display());
        assert_eq!(text.contains("\nclaim "), !is_kit, "{}", file.display());
    }
}

fn snapshot(sample: &str, expected: ExpectFile) {
    let (status, text) = solve(&format!("samples/{sample}.ohmline"), "text");
    assert_eq!(status, 0);
    expected.assert_eq(&text);
}

#[test]
fn the_table_of_the_pier_lamps() {
    snapshot("pier-lamps", expect_file!["snapshots/pier-lamps.txt"]);
}

#[test]
fn the_table_of_the_tide_gauge() {
    snapshot("tide-gauge", expect_file!["snapshots/tide-gauge.txt"]);
}

#[test]
fn the_table_of_the_promenade() {
    snapshot("promenade", expect_file!["snapshots/promenade.txt"]);
}

/// Rules that [`every_rule_fires_in_the_files_of_mistakes`] cannot ask for, each with the reason.
const NOT_IN_A_FILE: &[(&str, &str)] = &[
    ("deep-nesting", "it takes a line of brackets that nobody would read"),
    ("long-expression", "it takes a line of thousands of numbers"),
    ("too-many-elements", "it takes a million elements"),
    ("too-many-cases", "it takes millions of elements and cases together"),
    ("foreign-encoding", "it is about bytes that are not UTF-8; the tests of the command have such a file"),
    ("beyond-class", "it takes an ohmline.toml that says what the class has not met"),
    ("silent-hazard", "it stands in an ohmline.toml; the tests of settings have such files"),
    ("unknown-setting", "it stands in an ohmline.toml"),
    ("unreadable-settings", "it stands in an ohmline.toml"),
    ("wrong-setting", "it stands in an ohmline.toml"),
];

/// What is said about the file of mistakes, and where: line, severity, rule.
#[test]
fn the_file_of_mistakes_is_reported_line_by_line() {
    let output = ohmline(&["check", "samples/mistakes/every-diagnostic.ohmline", "--format", "json"], "");
    let json: Value = serde_json::from_slice(&output.stdout).expect("the output is JSON");
    let all = json["diagnostics"].as_array().expect("diagnostics are listed");
    let word = |found: &Value, key: &str| found[key].as_str().unwrap_or("?").to_owned();
    let line =
        |found: &Value| format!("{} {} {}\n", found["start"]["line"], word(found, "severity"), word(found, "rule"));
    let said: String = all.iter().map(line).collect();
    expect_file!["snapshots/every-diagnostic.txt"].assert_eq(&said);
}

/// The rules that report something in a file.
fn fired(path: &str) -> BTreeSet<String> {
    let output = ohmline(&["check", path, "--format", "json"], "");
    assert!(matches!(output.status.code(), Some(0 | 1)), "{path}");
    let json: Value = serde_json::from_slice(&output.stdout).expect("the output is JSON");
    let all = json["diagnostics"].as_array().expect("diagnostics are listed");
    all.iter().filter_map(|found| found["rule"].as_str().map(str::to_owned)).collect()
}

#[test]
fn the_small_files_of_mistakes_show_one_each() {
    assert_eq!(fired("samples/mistakes/no-source.ohmline"), BTreeSet::from(["no-source".to_owned()]));
    assert_eq!(fired("samples/mistakes/not-in-series.ohmline"), BTreeSet::from(["split-series".to_owned()]));
}

/// The files of mistakes, kits that they include left out.
fn files_of_mistakes() -> Vec<String> {
    let folder = root().join("samples/mistakes");
    let entries = std::fs::read_dir(&folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let names = entries.map(|entry| entry.expect("a folder can be listed").file_name().to_string_lossy().into_owned());
    let mut names: Vec<String> =
        names.filter(|name| name.ends_with(".ohmline") && name != "other-kit.ohmline").collect();
    names.sort();
    names.into_iter().map(|name| format!("samples/mistakes/{name}")).collect()
}

#[test]
fn every_rule_fires_in_the_files_of_mistakes() {
    let fired: BTreeSet<String> = files_of_mistakes().iter().flat_map(|path| fired(path)).collect();
    let fired: BTreeSet<&str> = fired.iter().map(String::as_str).collect();
    let known: BTreeSet<&str> = ohmline_lint::registry::all_metas().iter().map(|meta| meta.name).collect();
    let excused: BTreeSet<&str> = NOT_IN_A_FILE.iter().map(|entry| entry.0).collect();
    let missing: Vec<_> = known.iter().filter(|name| !fired.contains(*name) && !excused.contains(*name)).collect();
    assert!(missing.is_empty(), "the files of mistakes do not show {missing:?}");
    let stale: Vec<_> = excused.iter().filter(|name| fired.contains(*name) || !known.contains(*name)).collect();
    assert!(stale.is_empty(), "the list of rules that no file can show is out of date: {stale:?}");
    let unlisted: Vec<_> = fired.iter().filter(|name| !known.contains(*name)).collect();
    assert!(unlisted.is_empty(), "the registry does not list {unlisted:?}");
}

/// Each circuit of a file of mistakes stands below a comment that names what reports it.
#[test]
fn the_files_of_mistakes_show_what_their_comments_name() {
    let known: BTreeSet<&str> = ohmline_lint::registry::all_metas().iter().map(|meta| meta.name).collect();
    for path in files_of_mistakes() {
        let text = std::fs::read_to_string(root().join(&path)).expect("it was listed a moment ago");
        let fired = fired(&path);
        let words = text
            .lines()
            .filter(|line| line.starts_with("# "))
            .flat_map(|line| line.split(|c: char| !c.is_ascii_lowercase() && c != '-'));
        let excused = |word: &str| NOT_IN_A_FILE.iter().any(|entry| entry.0 == word);
        for named in words.filter(|word| known.contains(word) && !excused(word)) {
            assert!(fired.contains(named), "{path} does not show {named}");
        }
    }
}

#[test]
fn every_sample_is_drawn_without_overlaps_and_crossings() {
    for file in samples() {
        let text = std::fs::read_to_string(&file).expect("samples can be read");
        let crossings = harness::drawn(&file.display().to_string(), Some(&file), &text);
        assert!(crossings.iter().all(|count| *count == 0), "{}: {crossings:?}", file.display());
    }
}

/// What `ohmline format` would change in a sample is not in it.
#[test]
fn every_sample_is_formatted() {
    for path in samples() {
        let text = std::fs::read_to_string(&path).expect("samples can be read");
        assert!(ohmline_format::is_formatted(&text), "run `ohmline format {}`", path.display());
    }
}
