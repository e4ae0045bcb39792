//! Formatting keeps what a text means, and files are replaced at once or not at all.

mod harness;

use std::fs;
use std::path::PathBuf;
use std::process::Command;

use harness::{Random, ohmline, root, samples};
use ohmline_syntax::lexer::{TokenKind, tokens};
use serde_json::Value;

/// What is said of spellings that formatting puts into one, and of lines that are long, as the blanks in them have it.
const SPELLING: [&str; 3] = ["long-wire", "mixed-spelling", "crowded-path"];

/// The answers to a text and what is said of it, without the places in it.
fn answers(text: &str) -> Value {
    let output = ohmline(&["solve", "-", "--format", "json"], text);
    let mut answers: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    forget_places(&mut answers);
    if let Some(found) = answers["diagnostics"].as_array_mut() {
        found.retain(|one| !SPELLING.iter().any(|rule| one["rule"] == *rule));
    }
    answers
}

fn forget_places(value: &mut Value) {
    match value {
        Value::Array(values) => values.iter_mut().for_each(forget_places),
        Value::Object(fields) => {
            // Words quote the text as it is written.
            for key in
                ["start", "end", "line", "column", "fixes", "message", "labels", "notes", "help", "ask", "text", "why"]
            {
                fields.remove(key);
            }
            fields.values_mut().for_each(forget_places);
        }
        _ => {}
    }
}

fn one_of(random: &mut Random, forms: &[&'static str]) -> &'static str {
    random.pick::<&'static str>(forms)
}

/// A text with blanks strewn in and taken away where they have no meaning, statements broken where they may be, and units, wires and
/// signs in other spellings.
fn ruffled(text: &str, random: &mut Random) -> String {
    let all = tokens(text);
    let mut out = String::new();
    // Quoted text and comments stay; a line that cannot be read may mean anything.
    let tree = ohmline_syntax::parse(text);
    for (number, token) in all.iter().enumerate() {
        let written = token.text(text);
        let read = tree.stmt_at(token.start).is_some_and(|stmt| stmt.node.problems.is_empty());
        let before = number.checked_sub(1).map(|before| all[before].kind);
        let behind_number = before == Some(TokenKind::Number);
        let begins = before.is_none_or(|before| before == TokenKind::Newline);
        let next = all.get(number + 1);
        match token.kind {
            _ if !read => out.push_str(written),
            TokenKind::Blank if begins => out.push_str(&"   "[..random.below(4)]),
            // In front of what continues a line it may be broken.
            TokenKind::Blank if next.is_some_and(|next| next.kind.continues()) && random.below(4) == 0 => {
                out.push_str(one_of(random, &["\n", "\n  ", " \n          "]));
            }
            TokenKind::Blank if behind_number && next.is_some_and(|next| is_unit(next.text(text))) => {
                out.push_str(one_of(random, &["", " ", "  "]));
            }
            TokenKind::Blank => out.push_str(one_of(random, &[" ", "  ", "    ", "\u{a0}"])),
            TokenKind::Comma => out.push_str(one_of(random, &[",", " ,", "  , "])),
            TokenKind::Equals => out.push_str(one_of(random, &["=", " =", "=  "])),
            // A longer one would touch what it stands beside, did a blank not do so.
            TokenKind::Wire => {
                let apart = before == Some(TokenKind::Blank) && next.is_some_and(|next| next.kind == TokenKind::Blank);
                let forms: &[&str] = if apart { &["--", "---", "\u{2014}"] } else { &["--"] };
                out.push_str(one_of(random, forms));
            }
            TokenKind::Minus => out.push_str(one_of(random, &["-", "\u{2212}"])),
            _ if written == "ohm" => out.push_str(one_of(random, &["ohm", "\u{3a9}", "\u{2126}"])),
            _ => out.push_str(written),
        }
    }
    out
}

fn is_unit(word: &str) -> bool {
    ["ohm", "kohm", "V", "A", "mA", "W", "F", "uF", "H", "mH", "C", "J"].contains(&word)
}

/// The files of the samples folder, those full of mistakes too.
fn all_samples() -> Vec<PathBuf> {
    let mistakes = fs::read_dir(root().join("samples/mistakes")).expect("part of the project");
    let mut files: Vec<PathBuf> = mistakes.map(|entry| entry.expect("can be read").path()).collect();
    files.sort();
    files.extend(samples());
    files
}

#[test]
fn a_ruffled_sample_is_formatted_back_and_means_the_same() {
    for (number, path) in all_samples().into_iter().enumerate() {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let text = fs::read_to_string(&path).expect("samples can be read");
        // What needs its neighbors is read from a folder of its own elsewhere.
        if text.contains("include ") {
            continue;
        }
        let wanted = answers(&text);
        for round in 0..2 {
            let ruffled = ruffled(&text, &mut Random::new((10 * number + round) as u64 + 1));
            assert_eq!(answers(&ruffled), wanted, "the test itself changes {name}:\n{ruffled}");
            let formatted = ohmline_format::format(&ruffled);
            assert_eq!(answers(&formatted), wanted, "{name}:\n{ruffled}\nbecomes\n{formatted}");
            assert_eq!(ohmline_format::format(&formatted), formatted, "{name}");
            // Nobody's line breaks are taken away, so with as many lines it is the text that it was.
            assert_eq!(formatted.lines().count(), ruffled.lines().count(), "{name}");
            if ruffled.lines().count() == text.lines().count() && ohmline_format::is_formatted(&text) {
                assert_eq!(formatted, text, "{name}");
            }
        }
    }
}

#[test]
fn every_prefix_of_every_sample_keeps_its_problems() {
    for path in all_samples() {
        let text = fs::read_to_string(&path).expect("samples can be read");
        let cuts: Vec<usize> = text.char_indices().map(|(at, _)| at).step_by(61).collect();
        for cut in cuts {
            let part = &text[..cut];
            let formatted = ohmline_format::format(part);
            let kinds = |text: &str| {
                let tree = ohmline_syntax::parse(text);
                let problems = tree.problems().map(|(_, problem)| problem);
                let problems: Vec<String> = problems
                    .filter(|problem| !SPELLING.contains(&problem.rule))
                    .map(|problem| problem.message.to_string())
                    .collect();
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
