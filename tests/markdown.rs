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
    assert_eq!((output.status.code(), text(&output.stdout).trim()), (Some(0), "notes.md: no circuit in it"));
}

/// Two circuits that can be solved: one at the margin, one in a list.
const TWO: &str = "# Two\n\n```ohmline\ncircuit \"Pier\"\nbattery B1 = 4.5 V\nlamp L1=9 ohm\nB1+ -- L1 -- B1-\ncase \"dark\": L1 = open\n```\n\n\
    - ```ohmline\n  battery B1 = 6 V\n  lamp L2 = 2 ohm\n  B1+ -- L2 -- B1-\n  ```\n";

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).expect("JSON")
}

#[test]
fn every_circuit_is_solved() {
    let folder = notes(TWO);
    let output = call(folder.path(), &["solve", "notes.md", "--format", "json"]);
    let found = json(&output);
    assert_eq!((&found["schema"], &found["file"]), (&Value::from(1), &Value::from("notes.md")));
    let circuits = found["circuits"].as_array().expect("circuits");
    assert_eq!(circuits.len(), 2);
    assert_eq!(circuits[0]["title"], "Pier");
    // Ohm's law: 4.5 V over 9 ohm, 6 V over 2 ohm.
    assert_eq!(circuits[0]["cases"][0]["elements"]["L1"]["exact"]["current"], "1/2");
    assert_eq!(circuits[1]["cases"][0]["elements"]["L2"]["exact"]["current"], "3");
    let page = call(folder.path(), &["solve", "notes.md"]);
    let page = text(&page.stdout);
    let (first, second) =
        (page.find("notes.md, line 4").expect("a heading"), page.find("notes.md, line 12").expect("one more"));
    assert!(page[first..second].contains("500 mA") && page[second..].contains("3.00 A"), "{page}");
    // One of them by its number; a case that only one has.
    let output = call(folder.path(), &["solve", "notes.md", "--circuit", "2", "--format", "json"]);
    let circuits = json(&output)["circuits"].as_array().expect("circuits").clone();
    assert_eq!(
        (circuits.len(), &circuits[0]["cases"][0]["elements"]["L2"]["exact"]["current"]),
        (1, &Value::from("3"))
    );
    let output = call(folder.path(), &["solve", "notes.md", "--case", "dark", "--format", "json"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert_eq!(json(&output)["circuits"].as_array().map(Vec::len), Some(1));
    for (args, why) in [
        (&["solve", "notes.md", "--case", "noon"][..], "there is no case \"noon\" in any of the circuits"),
        (&["solve", "notes.md", "--circuit", "3"], "there is no circuit 3 in it; there are 2"),
        (&["solve", "notes.md", "--circuit", "0"], "there is no circuit 0 in it"),
        (&["solution", "notes.md", "--format", "html"], "choose one with --circuit, from 1 to 2"),
        (&["draw", "notes.md"], "choose one with --circuit, from 1 to 2"),
    ] {
        let output = call(folder.path(), args);
        assert_eq!((output.status.code(), output.stdout.len()), (Some(2), 0), "{args:?}");
        assert!(text(&output.stderr).contains(why), "{args:?}: {}", text(&output.stderr));
    }
}

#[test]
fn every_circuit_is_worked_out_and_drawn() {
    let folder = notes(TWO);
    let output = call(folder.path(), &["solution", "notes.md", "--format", "json"]);
    let found = json(&output);
    let circuits = found["circuits"].as_array().expect("circuits");
    let currents: Vec<&Value> = circuits.iter().map(|one| &one["sources"][0]["exact"]["current"]).collect();
    assert_eq!(currents, ["1/2", "3"]);
    for format in ["text", "markdown"] {
        let output = call(folder.path(), &["solution", "notes.md", "--format", format]);
        assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
        let page = text(&output.stdout);
        assert!(page.contains("500 mA") && page.contains("3.00 A"), "{page}");
    }
    let one = call(folder.path(), &["solution", "notes.md", "--circuit", "2", "--format", "html"]);
    assert!(text(&one.stdout).contains("L2") && !text(&one.stdout).contains("Pier"));
    let pages = |bytes: &[u8]| {
        String::from_utf8_lossy(bytes).matches("/Type/Page/").count()
            + String::from_utf8_lossy(bytes).matches("/Type /Page\n").count()
    };
    let pdf = call(folder.path(), &["draw", "notes.md", "--format", "pdf"]);
    assert!(pdf.stdout.starts_with(b"%PDF-"));
    assert_eq!(pages(&pdf.stdout), 2, "{}", String::from_utf8_lossy(&pdf.stdout[..400]));
    let output = call(folder.path(), &["draw", "notes.md", "--output", "notes.svg"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    for (number, name) in [(1, "L1"), (2, "L2")] {
        let drawing = std::fs::read_to_string(folder.path().join(format!("notes-{number}.svg"))).expect("a drawing");
        assert!(drawing.contains(&format!("data-element=\"{name}\"")));
    }
    let one = call(folder.path(), &["draw", "notes.md", "--circuit", "1"]);
    assert!(text(&one.stdout).starts_with("<svg"));
}

#[test]
fn a_document_without_a_circuit_cannot_be_solved() {
    let folder = notes("# Prose\n");
    for command in ["solve", "solution", "draw", "preview"] {
        let output = call(folder.path(), &[command, "notes.md"]);
        assert_eq!(output.status.code(), Some(2), "{command}");
        assert!(text(&output.stderr).contains("there is no circuit in it"), "{command}: {}", text(&output.stderr));
    }
}

#[test]
fn formatting_and_mending_touch_the_circuits_alone() {
    for newline in ["\n", "\r\n"] {
        let two = TWO.replace('\n', newline);
        let folder = notes(&two);
        let read = || std::fs::read_to_string(folder.path().join("notes.md")).expect("ours");
        let output = call(folder.path(), &["format", "--check", "notes.md"]);
        assert_eq!(output.status.code(), Some(1));
        assert!(text(&output.stdout).contains("   6 - lamp L1=9 ohm"), "{}", text(&output.stdout));
        assert_eq!(call(folder.path(), &["format", "notes.md"]).status.code(), Some(0));
        let tidy = two.replace("lamp L1=9 ohm", "lamp    L1 = 9 ohm").replace("  lamp L2 = 2", "  lamp    L2 = 2");
        assert_eq!(read(), tidy);
        assert_eq!(call(folder.path(), &["format", "--check", "notes.md"]).status.code(), Some(0));

        // Letters in the wrong order: each circuit is mended in its own lines.
        let wrong = "# Two\n\n```ohmline\nbattery B1 = 4.5 V\nlamp Quay = 9 ohm\nB1+ -- Qauy -- B1-\n```\n\n> ```ohmline\n> battery B1 = 6 V\n\
            > lamp Mole = 2 ohm\n> B1+ -- Moel -- B1-\n> ```\n"
            .replace('\n', newline);
        std::fs::write(folder.path().join("notes.md"), &wrong).expect("ours");
        let output = call(folder.path(), &["fix", "--all", "notes.md"]);
        assert_eq!(read(), wrong.replace("Qauy", "Quay").replace("Moel", "Mole"), "{}", text(&output.stdout));
        assert_eq!(call(folder.path(), &["check", "notes.md"]).status.code(), Some(0));
    }
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
