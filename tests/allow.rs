//! Comments that allow a rule, as a user meets them: the command with its outputs and exit statuses, and a session in an editor.

mod harness;
mod lsp_client;

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use lsp_client::{Session, able};
use serde_json::{Value, json};

const URI: &str = "file:///harbour/quay.ohmline";

/// R1 and R2 are claimed to be in series, and the class is to find that they are not.
const PIER: &str = "\
battery B1 = 4.5 V, internal 0.5 ohm
resistor R1 = 9 ohm
lamp L1, L2 = 10 ohm
B1+ -- R1 -- @fork -- L1 -- B1-
@fork -- L2 -- B1-
claim R1, L1 in series  # allow split-series: the class is to find it
";

fn run(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_ohmline"))
        .args(args)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .expect("cargo has built the command before this test")
}

fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in files {
        fs::write(folder.path().join(name), text).expect("written");
    }
    folder
}

fn json_of(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).expect("JSON")
}

#[test]
fn what_is_allowed_makes_nothing_wrong_and_is_counted() {
    let folder = folder(&[("pier.ohmline", PIER)]);
    let output = run(folder.path(), &["check", "pier.ohmline"]);
    assert_eq!(String::from_utf8_lossy(&output.stdout), "pier.ohmline: nothing wrong; 1 allowed; 1 claim fails\n");
    assert_eq!(output.status.code(), Some(0));
    // Without the comment it is an error.
    let bare = PIER.replace("  # allow split-series: the class is to find it", "");
    fs::write(folder.path().join("bare.ohmline"), bare).expect("written");
    assert_eq!(run(folder.path(), &["check", "bare.ohmline"]).status.code(), Some(1));
    // A comment without a reason allows nothing.
    let bare = PIER.replace(": the class is to find it", ": ?");
    fs::write(folder.path().join("bare.ohmline"), bare).expect("written");
    let output = run(folder.path(), &["check", "--format", "line", "bare.ohmline"]);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(said.contains("missing-reason") && said.contains("split-series"), "{said}");
}

#[test]
fn outputs_for_programs_tell_of_it_apart() {
    let folder = folder(&[("pier.ohmline", PIER)]);
    let all = json_of(&run(folder.path(), &["check", "--format", "json", "pier.ohmline"]));
    assert!(all["diagnostics"].as_array().expect("a list").iter().all(|one| one["severity"] == "hint"));
    assert_eq!(all["summary"]["allowed"], json!(1));
    assert_eq!(all["allowed"][0]["rule"], "split-series");
    assert_eq!(all["allowed"][0]["allowed"], "the class is to find it");
    let log = json_of(&run(folder.path(), &["check", "--format", "sarif", "pier.ohmline"]));
    let results = log["runs"][0]["results"].as_array().expect("a list");
    let split: Vec<_> = results.iter().filter(|one| one["level"] == "error").collect();
    assert_eq!(split.len(), 1);
    assert_eq!(split[0]["suppressions"], json!([{ "kind": "inSource", "justification": "the class is to find it" }]));
    // Either every result says it, or none does (SARIF 2.1.0, 3.27.23).
    assert!(results.iter().all(|one| one["suppressions"].is_array()));
}

#[test]
fn comments_of_included_files_speak_of_their_own_lines() {
    let kit = "part stub(in, out)\n  resistor Ra, Rb = 10 ohm\n  @in -- Ra -- @out\n  @in -- Rb  # allow open-end: for the winch\nend\n";
    let main = "include \"kit.ohmline\"\nbattery B1 = 6 V, internal 1 ohm\nstub X\nB1+ -- X -- B1-\n";
    let folder = folder(&[("kit.ohmline", kit), ("main.ohmline", main)]);
    let output = run(folder.path(), &["check", "--deny", "warnings", "."]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert_eq!(output.status.code(), Some(0), "{said}");
    assert!(said.contains("1 allowed"), "{said}");
    // The comment of one file says nothing about another.
    fs::write(folder.path().join("kit.ohmline"), kit.replace("  # allow open-end: for the winch", ""))
        .expect("written");
    let main = format!("# allow open-end in this file: for the winch\n{main}");
    fs::write(folder.path().join("main.ohmline"), main).expect("written");
    let output = run(folder.path(), &["check", "--format", "line", "main.ohmline"]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(said.contains("warning open-end") && said.contains("warning unused-allow"), "{said}");
}

#[test]
fn each_circuit_of_a_document_is_a_file_of_its_own() {
    let fence = |file: &str| {
        format!("```ohmline\n{file}{}```\n", PIER.replace("  # allow split-series: the class is to find it", ""))
    };
    let whole = format!("# Lesson\n\n{}\n{}", fence("# allow split-series in this file: for the class\n"), fence(""));
    let folder = folder(&[("lesson.md", &whole)]);
    let all = json_of(&run(folder.path(), &["check", "--format", "json", "lesson.md"]));
    assert_eq!(all["summary"]["errors"], json!(1));
    assert_eq!(all["summary"]["allowed"], json!(1));
}

#[test]
fn fixing_takes_out_what_is_not_needed() {
    let text = "battery B1 = 6 V, internal 1 ohm\n# allow open-end: not yet there\nlamp L1 = 6 ohm\nB1+ -- L1 -- B1-\n";
    let folder = folder(&[("pier.ohmline", text)]);
    run(folder.path(), &["fix", "pier.ohmline"]);
    let mended = fs::read_to_string(folder.path().join("pier.ohmline")).expect("it is there");
    assert_eq!(mended, text.replace("# allow open-end: not yet there\n", ""));
}

#[test]
fn an_editor_offers_to_allow_completes_the_rule_and_explains_it() {
    let mut text =
        "battery B1 = 6 V, internal 1 ohm\nlamp L1, L2 = 6 ohm\nB1+ -- L1 -- @quay -- B1-\n@quay -- L2\n".to_owned();
    let mut session = Session::start(able());
    session.open(URI, 1, &text);
    let found = session.shown(URI);
    let open = found.iter().find(|one| one["code"] == "open-end").expect("L2 hangs loose");
    let params =
        json!({ "textDocument": { "uri": URI }, "range": open["range"], "context": { "diagnostics": [open] } });
    let actions = session.request("textDocument/codeAction", params).expect("answered");
    let allow = actions
        .as_array()
        .expect("a list")
        .iter()
        .find(|one| one["title"].as_str().is_some_and(|title| title.starts_with("Allow `open-end`")))
        .expect("it can be allowed");
    assert_eq!((&allow["kind"], &allow["isPreferred"]), (&json!("quickfix"), &json!(false)));
    assert_eq!(allow["diagnostics"][0]["code"], "open-end");
    let edit = &allow["edit"]["documentChanges"][0]["edits"][0];
    assert_eq!(edit["newText"], "# allow open-end: ?\n");
    let at = edit["range"]["start"]["line"].as_u64().expect("a line") as usize;
    text.insert_str(text.split_inclusive('\n').take(at).map(str::len).sum(), "# allow open-end: ?\n");
    session.change(URI, 2, None, &text);
    // Until a reason is written, nothing is allowed.
    let codes = |session: &mut Session| {
        let shown = session.shown(URI);
        let serious = shown.into_iter().filter(|one| one["severity"].as_u64() < Some(4));
        serious.map(|one| one["code"].as_str().expect("a code").to_owned()).collect::<Vec<_>>()
    };
    let both = codes(&mut session);
    assert!(both.contains(&"open-end".to_owned()) && both.contains(&"missing-reason".to_owned()), "{both:?}");
    text = text.replace(": ?", ": it comes with the winch");
    session.change(URI, 3, None, &text);
    assert_eq!(codes(&mut session), [""; 0]);
    // The name of the rule is explained.
    let line = text.lines().position(|line| line.starts_with("# allow")).expect("written");
    let hover = session
        .request(
            "textDocument/hover",
            json!({ "textDocument": { "uri": URI }, "position": { "line": line, "character": 10 } }),
        )
        .expect("answered");
    let value = hover["contents"]["value"].as_str().expect("text");
    assert!(value.starts_with("**open-end**") && value.contains("When to ignore it"), "{value}");
    // And completed, what the file has found first.
    let text = text.replace("# allow open-end: it comes with the winch", "# allow op");
    session.change(URI, 4, None, &text);
    let asked = json!({ "textDocument": { "uri": URI }, "position": { "line": line, "character": 10 } });
    let items = session.request("textDocument/completion", asked).expect("answered");
    let items = items.as_array().expect("a list").clone();
    let first = items.iter().min_by_key(|one| one["sortText"].as_str().map(str::to_owned)).expect("some");
    assert_eq!(first["label"], "open-end");
    assert_eq!(
        first["textEdit"]["range"],
        json!({ "start": { "line": line, "character": 8 }, "end": { "line": line, "character": 10 } })
    );
    assert!(items.iter().all(|one| one["label"] != "decimal-comma"), "errors of reading are not for allowing");
}

#[test]
fn what_is_allowed_takes_no_room_from_what_is_not() {
    let mut text = String::from("battery B1 = 6 V\nlamp L0 = 6 ohm\nB1+ -- L0 -- B1-\n");
    for at in 1..=1100 {
        text.push_str(&format!("lamp L{at} = 6 ohm\nB1+ -- L{at}  # allow open-end: later\n"));
    }
    text.push_str("lamp New = 6 ohm\nB1+ -- New\n");
    let folder = folder(&[("pier.ohmline", &text)]);
    let output = run(folder.path(), &["check", "--deny", "open-end", "--format", "line", "pier.ohmline"]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert_eq!(output.status.code(), Some(1));
    assert!(said.contains("New") && !said.contains("unused-allow"), "{said}");
}
