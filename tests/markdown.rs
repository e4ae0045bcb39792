//! `ohmline check` on Markdown documents.

use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

/// Both blocks call their battery B1; the second gives it a wrong unit. `Ü` and the ship take more bytes than columns.
const NOTES: &str = "# Grüße 🚢\n\n```ohmline\nbattery B1 = 4.5 V\nlamp L1 = 9 Ω\nB1+ -- L1 -- B1-\nclaim current through L1 = 0.5 A\n```\n\n\
    > Ü, a wrong one:\n>\n> ~~~ ohmline\n> battery B1 = 6 ohm # 🌙\n> ~~~\n\n```text\nbattery B9 = 6 ohm\n```\n";

fn call(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_ohmline")).current_dir(folder).args(args).output().expect("the command was built")
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).expect("outputs are UTF-8")
}

fn notes(body: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("the system has room for a folder");
    std::fs::write(folder.path().join("notes.md"), body).expect("the folder is ours");
    folder
}

#[test]
fn blocks_are_checked_where_they_stand() {
    let folder = notes(NOTES);
    let output = call(folder.path(), &["check", "notes.md", "--format", "json"]);
    assert_eq!(output.status.code(), Some(1));
    let found: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let circuits = found["circuits"].as_array().expect("circuits");
    assert_eq!(circuits.len(), 2);
    assert_eq!(
        (&circuits[0]["summary"]["errors"], &circuits[0]["summary"]["claims_held"]),
        (&Value::from(0), &Value::from(1))
    );
    assert_eq!(circuits[1]["summary"]["errors"], 1);
    assert_eq!(circuits[1]["file"], "notes.md");
    let errors: Vec<&Value> =
        found["diagnostics"].as_array().expect("a list").iter().filter(|one| one["severity"] == "error").collect();
    assert_eq!(errors.len(), 1);
    // Line 13 of the document: `> battery B1 = 6 ohm`; the value begins in column 16.
    assert_eq!(errors[0]["start"]["line"], 13);
    assert!(matches!(errors[0]["start"]["column"].as_u64(), Some(16..=18)), "{}", errors[0]["start"]);
    let output = call(folder.path(), &["check", "notes.md"]);
    let page = text(&output.stdout);
    assert!(page.contains("notes.md:13:") && page.contains("battery B1 = 6 ohm"), "{page}");
    assert!(page.trim_end().ends_with("1 claim holds"), "{page}");
}

#[test]
fn a_document_without_circuits_is_fine() {
    let folder = notes("# Prose\n\n```text\nlamp\n```\n");
    let output = call(folder.path(), &["check", "notes.md"]);
    assert_eq!((output.status.code(), text(&output.stdout).trim()), (Some(0), "notes.md: nothing wrong"));
}

#[test]
fn who_wants_one_circuit_is_told() {
    let folder = notes(NOTES);
    for command in ["solve", "solution", "draw"] {
        let output = call(folder.path(), &[command, "notes.md"]);
        assert_eq!(output.status.code(), Some(2), "{command}");
        assert!(text(&output.stderr).contains("it is a Markdown document"), "{command}: {}", text(&output.stderr));
    }
    let before = std::fs::read_to_string(folder.path().join("notes.md")).expect("ours");
    call(folder.path(), &["fix", "notes.md"]);
    assert_eq!(std::fs::read_to_string(folder.path().join("notes.md")).expect("ours"), before);
}

#[test]
fn a_block_may_include() {
    let folder = notes(
        "```ohmline\ninclude \"kit.ohmline\"\nbattery B1 = flat\nlamp L1 = 9 ohm\nB1+ -- L1 -- B1-\nclaim voltage across L1 = 4.5 V\n```\n",
    );
    std::fs::write(folder.path().join("kit.ohmline"), "let flat = 4.5 V\n").expect("the folder is ours");
    let output = call(folder.path(), &["check", "notes.md"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stdout));
    assert!(text(&output.stdout).contains("1 claim holds"));
}
