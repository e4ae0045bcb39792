//! Fixes as people meet them: `ohmline fix` over files full of mistakes, and the same offers in JSON, in SARIF and in an editor, in a
//! file of its own, in a document, and in a large circuit.

#![allow(clippy::print_stderr, reason = "what was mended is shown when asked for")]

#[path = "reference/case.rs"]
mod case;
#[path = "fixes/damage.rs"]
mod damage;
mod harness;
mod lsp_client;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use damage::{Folder, analysis, errors, sound, worse};
use harness::{Random, ohmline, root};
use lsp_client::{Session, able, apply};
use ohmline_analysis::markdown::{blocks, is_markdown};
use ohmline_analysis::{Settings, trial};
use ohmline_lint::allow;
use serde_json::{Value, json};

/// The titles of the fixes that are offered in a text, in order.
fn titles(text: &str) -> Vec<String> {
    let mut found = analysis(None, text);
    trial::settle(&mut found, &Settings::default(), &Folder, |_| true);
    found.diagnostics.into_iter().flat_map(|own| own.fixes).map(|fix| fix.title).collect()
}

/// Damaged circuits, one of so many.
fn damages(every: usize, seed: u64) -> Vec<String> {
    let mut random = Random::new(seed);
    let cases = case::cases();
    let sound = cases.iter().filter_map(sound).enumerate().filter(|(at, _)| at % every == 0);
    sound.map(|(at, text)| worse(&text, at / every, &mut random)).filter(|text| !titles(text).is_empty()).collect()
}

/// A text in a quote of a document, behind another circuit.
fn quoted(text: &str) -> String {
    let lines: String = text.lines().map(|line| format!("> {line}\n")).collect();
    format!("# Notes\n\n```ohmline\nlamp L1 = 6 ohm\n```\n\n> ```ohmline\n{lines}> ```\n\nMore.\n")
}

/// A text with a circuit of 250 lamps beside it.
fn beside_many(text: &str) -> String {
    let lamps: Vec<String> = (1..=250).map(|number| format!("Pierlamp{number}")).collect();
    let (list, row) = (lamps.join(", "), lamps.join(" -- "));
    format!("{text}battery Pierfeed = 250 V\nlamp {list} = 2 ohm\nPierfeed+ -- {row} -- Pierfeed-\n")
}

/// The quick fixes that an editor is offered in all of a document, and whatever allows a finding left out.
fn actions(session: &mut Session, uri: &str, text: &str) -> Vec<Value> {
    session.open(uri, 1, text);
    let end = json!({ "line": text.lines().count(), "character": 0 });
    let range = json!({ "start": { "line": 0, "character": 0 }, "end": end });
    let context = json!({ "diagnostics": [], "only": ["quickfix"] });
    let asked = json!({ "textDocument": { "uri": uri }, "range": range, "context": context });
    let found = session.request("textDocument/codeAction", asked).expect("actions");
    session.close(uri);
    let is_fix = |action: &&Value| !action["title"].as_str().expect("a title").starts_with("Allow `");
    found.as_array().expect("a list").iter().filter(is_fix).cloned().collect()
}

fn title(action: &Value) -> String {
    action["title"].as_str().expect("a title").to_owned()
}

#[test]
fn an_editor_is_offered_what_the_command_offers() {
    let mut session = Session::start(able());
    let mut count = 0;
    for text in damages(1, 5) {
        let wanted = titles(&text);
        let plain = actions(&mut session, "file:///harbour/quay.ohmline", &text);
        assert_eq!(plain.iter().map(title).collect::<Vec<_>>(), wanted, "{text}");
        count += wanted.len();
        // In a document: the same but for its first circuit, and each edit stays inside of the quote.
        let document = quoted(&text);
        let block = blocks(&document).pop().expect("the second block");
        let first = block.around.span.start;
        let line = document[..first as usize].matches('\n').count() as u64;
        let inside: Vec<Value> = actions(&mut session, "file:///harbour/notes.md", &document)
            .into_iter()
            .filter(|action| action["diagnostics"][0]["range"]["start"]["line"].as_u64() >= Some(line))
            .collect();
        assert_eq!(inside.iter().map(title).collect::<Vec<_>>(), wanted, "{document}");
        for (own, plain) in inside.iter().zip(&plain) {
            let edits = |action: &Value| action["edit"]["documentChanges"][0]["edits"].clone();
            let new = apply(&document, &edits(own));
            let all = blocks(&new);
            assert_eq!(all.len(), 2, "{new}");
            let alone = all[1].around.alone(&new).text;
            assert_eq!(alone.trim_end(), apply(&text, &edits(plain)).trim_end(), "{own}\n{new}");
        }
    }
    assert!(count > 25, "{count} fixes");
}

#[test]
fn a_large_circuit_is_no_excuse() {
    let mut session = Session::start(able());
    for text in damages(8, 9).iter().take(8) {
        let text = beside_many(text);
        let offered = actions(&mut session, "file:///harbour/quay.ohmline", &text);
        assert_eq!(offered.iter().map(title).collect::<Vec<_>>(), titles(&text), "{text}");
    }
    // R2 stands in a path already, so that it is not the name that was meant.
    let taken = "battery B1 = 9 V\nlamp R2 = 9 ohm\nB1+ -- R3 -- B1-\nB1+ -- R2 -- B1-\n";
    let offered = actions(&mut session, "file:///harbour/quay.ohmline", &beside_many(taken));
    assert!(offered.is_empty(), "{offered:?}");
}

/// JSON and SARIF (OASIS, version 2.1.0, section 3.55) list the same fixes in the same order.
#[test]
fn every_format_lists_the_same() {
    for text in damages(5, 3) {
        let wanted = titles(&text);
        let read = |format: &str| -> Value {
            let output = ohmline(&["check", "-", "--format", format], &text);
            serde_json::from_slice(&output.stdout).expect("JSON")
        };
        let json = read("json");
        let found = json["diagnostics"].as_array().expect("a list").iter();
        let fixes = found.flat_map(|own| own["fixes"].as_array().expect("a list")).map(title);
        assert_eq!(fixes.collect::<Vec<_>>(), wanted, "{text}");
        let sarif = read("sarif");
        let found = sarif["runs"][0]["results"].as_array().expect("a list").iter();
        let fixes = found.flat_map(|own| own["fixes"].as_array().into_iter().flatten());
        let fixes = fixes.map(|fix| fix["description"]["text"].as_str().expect("a title").to_owned());
        // Messages of SARIF end with a period.
        let wanted: Vec<String> = wanted.iter().map(|title| format!("{title}.")).collect();
        assert_eq!(fixes.collect::<Vec<_>>(), wanted, "{text}");
    }
}

/// How often each error is said of the circuits of a file, and whether something could not be read.
fn said(path: &Path, text: &str) -> (BTreeMap<(String, String), usize>, bool) {
    let texts = match is_markdown(&path.to_string_lossy()) {
        true => blocks(text).into_iter().map(|block| block.text).collect(),
        false => vec![text.to_owned()],
    };
    let (mut count, mut unread) = (BTreeMap::new(), false);
    for text in texts {
        for own in errors(&analysis(Some(path), &text)) {
            unread |= !allow::can_be_allowed(own.rule);
            *count.entry((own.rule.to_owned(), own.message.clone())).or_default() += 1;
        }
    }
    (count, unread)
}

/// `ohmline fix` makes no error: there are not more than before, and one that was not there is about text that can be read only now, or about
/// a claim that was wrong before. A second call finds nothing to do.
fn fixed(path: &Path, args: &[&str]) -> (usize, usize) {
    let old = std::fs::read_to_string(path).expect("readable");
    let name = path.to_str().expect("a plain name");
    let call = || ohmline(&[&["fix", name], args].concat(), "");
    let output = call();
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", String::from_utf8_lossy(&output.stderr));
    let new = std::fs::read_to_string(path).expect("readable");
    let ((before, unread), (after, _)) = (said(path, &old), said(path, &new));
    let sum = |errors: &BTreeMap<_, usize>| errors.values().sum::<usize>();
    let all = |old: &str| format!("{old}\n  becomes\n{new}\n  with {after:#?}");
    assert!(sum(&after) <= sum(&before), "{}", all(&old));
    let denied = |errors: &BTreeMap<(String, String), usize>| -> BTreeSet<String> {
        errors.keys().map(|(rule, _)| rule.clone()).filter(|rule| rule.ends_with("claim")).collect()
    };
    let fresh: Vec<_> = after.keys().filter(|own| !before.contains_key(*own)).collect();
    let known = fresh.iter().all(|(rule, _)| denied(&before).contains(rule));
    assert!(unread || known, "{fresh:?}\n{}", all(&old));
    let again = call();
    assert_eq!(std::fs::read_to_string(path).expect("readable"), new, "{}", String::from_utf8_lossy(&again.stderr));
    (sum(&before), sum(&after))
}

/// Copies of files are fixed, each with what stands beside it.
fn fixed_copies(folder: &str, ending: &str, args: &[&str]) -> (usize, usize) {
    let holder = tempfile::tempdir().expect("a folder");
    let files = || {
        std::fs::read_dir(root().join(folder))
            .expect("it is part of the project")
            .map(|file| file.expect("readable").path())
    };
    files().filter(|path| path.is_file()).for_each(|path| {
        std::fs::copy(&path, holder.path().join(path.file_name().expect("a name"))).expect("the folder is ours");
    });
    let mut sum = (0, 0);
    for path in files().filter(|path| path.extension().is_some_and(|own| own == ending)) {
        let (before, after) = fixed(&holder.path().join(path.file_name().expect("a name")), args);
        sum = (sum.0 + before, sum.1 + after);
    }
    sum
}

#[test]
fn the_command_mends_files_full_of_mistakes() {
    for (folder, ending) in [("samples/mistakes", "ohmline"), ("tests/lint/faulty", "md")] {
        for args in [&[][..], &["--all"]] {
            let (before, after) = fixed_copies(folder, ending, args);
            eprintln!("{folder} {args:?}: {before} errors, then {after}");
            assert!(before > 20 && after < before, "{folder} {args:?}: {before} errors, then {after}");
        }
    }
}

#[test]
fn the_command_mends_damaged_circuits() {
    let holder = tempfile::tempdir().expect("a folder");
    let path = holder.path().join("quay.ohmline");
    for args in [&[][..], &["--all"]] {
        let (mut before, mut after) = (0, 0);
        for (number, text) in damages(2, 21).into_iter().enumerate() {
            // Some with the line ends of another system, some in a document.
            let text = if number % 5 == 0 { text.replace('\n', "\r\n") } else { text };
            let (path, text) = match number % 4 {
                0 => (holder.path().join("notes.md"), quoted(&text)),
                _ => (path.clone(), text),
            };
            std::fs::write(&path, &text).expect("the folder is ours");
            let (was, is) = fixed(&path, args);
            (before, after) = (before + was, after + is);
        }
        eprintln!("{args:?}: {before} errors, then {after}");
        assert!(after < before, "{args:?}: {before} errors, then {after}");
    }
}
