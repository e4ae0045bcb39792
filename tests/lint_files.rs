//! Rules that no single short text can fire: each fired by the files it takes, and silent once they are mended.

use std::fs;
use std::process::Command;

use ohmline_lint::all_metas;
use serde_json::Value;

/// Files of a folder: names and contents.
type Files = Vec<(&'static str, Vec<u8>)>;

const LOOP: &str = "battery B1 = 6 V\nresistor R1 = 20 ohm\nB1+ -- R1 -- B1-\n";

/// The rules that `ohmline check pier.ohmline` reports in a folder with these files.
fn fired(files: &Files) -> Vec<String> {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, content) in files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().expect("a file lies in a folder")).expect("made");
        fs::write(path, content).expect("written");
    }
    let output = Command::new(env!("CARGO_BIN_EXE_ohmline"))
        .args(["check", "--format", "json", "harbour/pier.ohmline"])
        .current_dir(folder.path())
        .output()
        .expect("cargo has built the command before this test");
    let json: Value = serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("{error}: {}", String::from_utf8_lossy(&output.stderr)));
    let mut rules = Vec::new();
    collect(&json, &mut rules);
    rules
}

/// Every `rule` anywhere in the output whose severity is an error or a warning.
fn collect(json: &Value, rules: &mut Vec<String>) {
    match json {
        Value::Object(object) => {
            let serious = matches!(object.get("severity").and_then(Value::as_str), Some("error" | "warning"));
            if let (true, Some(rule)) = (serious, object.get("rule").and_then(Value::as_str)) {
                rules.push(rule.to_owned());
            }
            object.values().for_each(|value| collect(value, rules));
        }
        Value::Array(list) => list.iter().for_each(|value| collect(value, rules)),
        _ => {}
    }
}

fn text(name: &'static str, content: impl Into<String>) -> (&'static str, Vec<u8>) {
    (name, content.into().into_bytes())
}

fn pier(before: &str) -> (&'static str, Vec<u8>) {
    text("harbour/pier.ohmline", format!("{before}{LOOP}"))
}

fn settings(content: &str) -> Files {
    vec![text("harbour/ohmline.toml", content), pier("")]
}

/// Each rule with files that fire it and the same files mended; what nothing can fire in a test of reasonable length stands in
/// [`ELSEWHERE`].
fn examples() -> Vec<(&'static str, Files, Files)> {
    let kit = |name, ohms: u32| text(name, format!("let dropper = {ohms} ohm\n"));
    let nested = |depth: usize| {
        let open = "( R2 | ".repeat(depth);
        text(
            "harbour/pier.ohmline",
            format!("{LOOP}resistor R2 = 5 ohm\nB1+ -- {open}R3{} -- B1-\n", " )".repeat(depth)),
        )
    };
    let long = |terms: usize| {
        pier(&format!("let sum = 1 ohm{}\nresistor R2 = sum\nB1+ -- R2 -- B1-\n", " + 1 ohm".repeat(terms)))
    };
    vec![
        (
            "circular-include",
            vec![pier("include \"kit.ohmline\"\n"), text("harbour/kit.ohmline", "include \"pier.ohmline\"\n")],
            vec![pier("include \"kit.ohmline\"\n"), kit("harbour/kit.ohmline", 33)],
        ),
        (
            "conflicting-include",
            vec![
                pier("include \"bow.ohmline\"\ninclude \"stern.ohmline\"\n"),
                kit("harbour/bow.ohmline", 33),
                kit("harbour/stern.ohmline", 47),
            ],
            vec![
                pier("include \"bow.ohmline\"\ninclude \"stern.ohmline\"\n"),
                kit("harbour/bow.ohmline", 33),
                text("harbour/stern.ohmline", "let other = 47 ohm\n"),
            ],
        ),
        (
            "unreadable-include",
            vec![pier("include \"kit.ohmline\"\n")],
            vec![pier("include \"kit.ohmline\"\n"), kit("harbour/kit.ohmline", 33)],
        ),
        (
            "outside-include",
            vec![text("harbour/ohmline.toml", ""), pier("include \"../kit.ohmline\"\n"), kit("kit.ohmline", 33)],
            vec![text("ohmline.toml", ""), pier("include \"../kit.ohmline\"\n"), kit("kit.ohmline", 33)],
        ),
        (
            "foreign-encoding",
            vec![("harbour/pier.ohmline", [b"# Gr\xf6\xdfe\n", LOOP.as_bytes()].concat())],
            vec![pier("# Größe\n")],
        ),
        ("deep-nesting", vec![nested(400)], vec![pier("")]),
        ("long-expression", vec![long(20_000)], vec![long(20)]),
        ("unknown-setting", settings("colour = \"red\"\n"), settings("")),
        ("unreadable-settings", settings("= nothing\n"), settings("")),
    ]
}

/// Rules that are fired elsewhere, with the reason and the place.
const ELSEWHERE: &[(&str, &str)] = &[
    (
        "too-many-cases",
        "millions of elements and cases take minutes; with a smaller limit in crates/analysis/src/limit.rs",
    ),
    (
        "too-many-elements",
        "a million elements take seconds; with a smaller limit in crates/circuit/src/build/tests/rules.rs",
    ),
    ("beyond-class", "it hangs on what a class has met; in crates/lint/src/topics.rs and tests/settings.rs"),
    ("silent-hazard", "it hangs on the words of settings; in crates/settings/src/read/tests.rs"),
    ("wrong-setting", "it hangs on the words of settings; in crates/settings/src/read/tests.rs"),
];

#[test]
fn rules_without_an_example_are_fired_by_files_and_silent_once_mended() {
    for (rule, bad, good) in examples() {
        let found = fired(&bad);
        assert!(found.iter().any(|one| one == rule), "{rule} is not among {found:?}");
        assert!(found.iter().all(|one| one == rule || rule == "deep-nesting"), "{rule} is not alone in {found:?}");
        let found = fired(&good);
        assert!(found.is_empty(), "{rule}: {found:?} once mended");
    }
}

#[test]
fn every_rule_without_an_example_is_here_or_elsewhere() {
    let examples = examples();
    for meta in all_metas().iter().filter(|meta| meta.bad.is_empty()) {
        let here = examples.iter().any(|example| example.0 == meta.name);
        let elsewhere = ELSEWHERE.iter().any(|(rule, why)| *rule == meta.name && !why.is_empty());
        assert!(here != elsewhere, "{} is fired in {}", meta.name, if here { "two places" } else { "no place" });
    }
}
