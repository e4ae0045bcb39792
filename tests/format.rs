//! Formatting keeps what a text means, and files are replaced at once or not at all.

mod harness;

use std::fs;
use std::process::Command;

use harness::{ohmline, samples};
use serde_json::Value;

/// The answers to a text, without the places in it.
fn answers(text: &str) -> Value {
    let output = ohmline(&["solve", "-", "--format", "json"], text);
    let mut answers: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    forget_places(&mut answers);
    answers
}

fn forget_places(value: &mut Value) {
    match value {
        Value::Array(values) => values.iter_mut().for_each(forget_places),
        Value::Object(fields) => {
            for key in ["start", "end", "line", "column", "fixes"] {
                fields.remove(key);
            }
            fields.values_mut().for_each(forget_places);
        }
        _ => {}
    }
}

/// Blanks taken away or strewn in where they have no meaning, units in another spelling.
fn ruffled(text: &str) -> String {
    let mut out = String::new();
    for line in text.lines() {
        if line.trim_start().starts_with('#') || line.contains('"') {
            out.push_str(line);
        } else {
            let line = line
                .replace(", ", " ,")
                .replace(" = ", "=")
                .replace(" -- ", "   --  ")
                .replace(" ohm", "\u{3a9}")
                .replace(" kohm", "k\u{3a9}");
            out.push_str("   ");
            out.push_str(&line.replacen(' ', "   ", 1));
        }
        out.push_str("  \n");
    }
    out
}

#[test]
fn a_ruffled_sample_is_formatted_back_and_means_the_same() {
    for path in samples() {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        // What needs its neighbors is read from a folder of its own elsewhere; broken lines have no one spelling.
        let text = fs::read_to_string(&path).expect("samples can be read");
        if text.contains("include ") || path.to_string_lossy().contains("mistakes") {
            continue;
        }
        let ruffled = ruffled(&text);
        let formatted = ohmline_format::format(&ruffled);
        assert_eq!(answers(&formatted), answers(&text), "{name}");
        // Statements on several lines keep the layout they are given; all others come back as they were.
        if !text.lines().any(|line| line.starts_with(' ')) {
            assert_eq!(formatted, text, "{name}");
        }
    }
}

#[test]
fn every_prefix_of_every_sample_keeps_its_problems() {
    for path in samples() {
        let text = fs::read_to_string(&path).expect("samples can be read");
        let cuts: Vec<usize> = text.char_indices().map(|(at, _)| at).step_by(61).collect();
        for cut in cuts {
            let part = &text[..cut];
            let formatted = ohmline_format::format(part);
            let kinds = |text: &str| {
                let tree = ohmline_syntax::parse(text);
                let problems: Vec<String> = tree.problems().map(|(_, problem)| problem.message.to_string()).collect();
                (tree.stmts.len(), problems)
            };
            assert_eq!(kinds(part), kinds(&formatted), "{} up to {cut}", path.display());
            assert_eq!(ohmline_format::format(&formatted), formatted, "{} up to {cut}", path.display());
        }
    }
}

fn call(folder: &std::path::Path, args: &[&str]) -> (i32, String, String) {
    let output =
        Command::new(env!("CARGO_BIN_EXE_ohmline")).current_dir(folder).args(args).output().expect("it was built");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code().unwrap_or(-1), text(&output.stdout), text(&output.stderr))
}

#[test]
fn files_are_replaced_and_checked() {
    let folder = tempfile::tempdir().expect("there is room");
    let file = folder.path().join("pier.ohmline");
    fs::write(&file, "lamp L1=6ohm\nbattery B1 = 6 V\n").expect("ours");
    let (status, out, said) = call(folder.path(), &["format", "--check", "pier.ohmline"]);
    assert_eq!(status, 1);
    assert!(out.contains("- lamp L1=6ohm") && out.contains("+ lamp    L1 = 6 ohm"), "{out}");
    assert_eq!(said, "1 file not formatted\n");
    assert_eq!(fs::read_to_string(&file).expect("there"), "lamp L1=6ohm\nbattery B1 = 6 V\n");
    assert_eq!(call(folder.path(), &["format", "pier.ohmline"]), (0, String::new(), String::new()));
    assert_eq!(fs::read_to_string(&file).expect("there"), "lamp    L1 = 6 ohm\nbattery B1 = 6 V\n");
    assert_eq!(call(folder.path(), &["format", "--check", "pier.ohmline"]).0, 0);
    let left: Vec<_> = fs::read_dir(folder.path()).expect("there").collect();
    assert_eq!(left.len(), 1, "nothing else is left behind");
    assert_eq!(call(folder.path(), &["format", "absent.ohmline"]).0, 2);
    fs::write(folder.path().join("odd.ohmline"), b"lamp L1=6ohm # \xff\n").expect("ours");
    assert_eq!(call(folder.path(), &["format", "odd.ohmline"]).0, 2);
    assert_eq!(fs::read(folder.path().join("odd.ohmline")).expect("there"), b"lamp L1=6ohm # \xff\n");
}

#[cfg(unix)]
#[test]
fn permissions_and_links_stay() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = tempfile::tempdir().expect("there is room");
    let file = folder.path().join("pier.ohmline");
    fs::write(&file, "lamp L1=6ohm\n").expect("ours");
    fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).expect("ours");
    symlink("pier.ohmline", folder.path().join("link.ohmline")).expect("ours");
    assert_eq!(call(folder.path(), &["format", "link.ohmline"]).0, 0);
    assert_eq!(fs::read_to_string(&file).expect("there"), "lamp L1 = 6 ohm\n");
    assert_eq!(fs::metadata(&file).expect("there").permissions().mode() & 0o777, 0o640);
    assert!(fs::symlink_metadata(folder.path().join("link.ohmline")).expect("there").file_type().is_symlink());
    fs::write(&file, "lamp L1=6ohm\n").expect("ours");
    fs::set_permissions(&file, fs::Permissions::from_mode(0o440)).expect("ours");
    let (status, _, said) = call(folder.path(), &["format", "pier.ohmline"]);
    assert_eq!(status, 2);
    assert!(said.contains("read-only"), "{said}");
}

#[test]
fn standard_input_goes_to_standard_output() {
    let output = ohmline(&["format", "-"], "lamp L1=6ohm");
    assert_eq!(String::from_utf8_lossy(&output.stdout), "lamp L1 = 6 ohm\n");
    assert_eq!(output.status.code(), Some(0));
}
