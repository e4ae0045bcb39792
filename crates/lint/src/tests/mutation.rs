//! One mistake of each kind in sound circuits: what is caught, and by which rule.

#![allow(clippy::print_stderr, reason = "the rates are shown when asked for")]

use std::collections::BTreeMap;

use ohmline_syntax::Severity;

use crate::fixture::{Analyzed, check};

/// Sound circuits with claims: the samples that stand alone.
fn sound() -> Vec<String> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../samples");
    let mut texts: Vec<String> = std::fs::read_dir(&folder)
        .expect("the samples are part of the project")
        .map(|entry| entry.expect("a folder can be listed").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "ohmline"))
        .map(|path| std::fs::read_to_string(path).expect("samples are readable"))
        .filter(|text| !text.contains("\ninclude ") && !text.contains("\nrepeat ") && text.contains("\nclaim "))
        .collect();
    texts.sort();
    texts
}

fn is_path(line: &str) -> bool {
    line.contains(" -- ") && !line.starts_with('#') && !line.starts_with("claim") && !line.contains('"')
}

/// The text with one line put in place of another.
fn with_line(text: &str, at: usize, new: &str) -> String {
    let lines = text.lines().enumerate().map(|(index, line)| if index == at { new } else { line });
    lines.map(|line| format!("{line}\n")).collect()
}

/// Every mistake of each kind, with its kind.
fn mistakes(text: &str) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    let declared = |kind: &str| -> Vec<String> {
        let lines = text.lines().filter(|line| line.starts_with(kind));
        let names = lines.flat_map(|line| line[kind.len()..].split('=').next().unwrap_or("").split(','));
        names.filter_map(|name| name.split_whitespace().next()).map(str::to_owned).collect()
    };
    for (at, line) in text.lines().enumerate() {
        let code = line.split('#').next().unwrap_or("");
        if is_path(line) {
            for (place, _) in code.match_indices(" -- ") {
                let inside = code[..place].matches('(').count() > code[..place].matches(')').count();
                if !inside {
                    let cut = format!("{}\n{}", &code[..place], &code[place + 4..]);
                    // Half a path of a single item is a slip of writing, which is another matter.
                    if cut.split('\n').all(|part| part.contains(" -- ")) {
                        all.push(("drop a wire", with_line(text, at, &cut)));
                    }
                }
            }
            for (place, _) in code.match_indices('@') {
                let end = code[place + 1..]
                    .find(|c: char| !c.is_alphanumeric() && c != '_')
                    .map_or(code.len(), |end| place + 1 + end);
                let renamed = format!("{}@{}x{}", &code[..place], &code[place + 1..end], &code[end..]);
                all.push(("rename a junction", with_line(text, at, &renamed)));
            }
            for name in declared("resistor ").iter().chain(&declared("lamp ")) {
                let word = format!(" -- {name} -- ");
                if code.contains(&word) && !code.contains('(') {
                    let bridged = code.replacen(&word, &format!(" -- @hop -- {name} -- @skip -- "), 1);
                    all.push(("short an element", with_line(text, at, &format!("{bridged}\n@hop -- @skip"))));
                }
            }
        }
        for (from, to) in [(" ohm", " kohm"), (" kohm", " ohm"), (" V", " mV")] {
            let declares = ["resistor ", "battery ", "lamp "].iter().any(|kind| code.starts_with(kind));
            let holds = code.contains(&format!("{from},")) || code.trim_end().ends_with(from);
            if declares && holds {
                all.push(("wrong prefix", with_line(text, at, &code.replacen(from, to, 1))));
            }
        }
        for (from, to) in [("ammeter", "voltmeter"), ("voltmeter", "ammeter")] {
            if code.starts_with(from) && !code.contains("range") {
                all.push(("swap a meter", with_line(text, at, &code.replacen(from, to, 1))));
            }
        }
    }
    for name in declared("battery ") {
        let flip = |line: &str| {
            let swapped = line.replace(&format!("{name}+"), "\u{1}").replace(&format!("{name}-"), &format!("{name}+"));
            let swapped = swapped.replace('\u{1}', &format!("{name}-"));
            swapped
                .replace(&format!("-{name}-"), &format!("+{name}-"))
                .replace(&format!("+{name}+"), &format!("-{name}+"))
        };
        let flipped: String = text
            .lines()
            .map(|line| format!("{}\n", if is_path(line) { flip(line) } else { line.to_owned() }))
            .collect();
        if flipped != text {
            all.push(("flip a cell", flipped));
        }
    }
    all
}

/// Whether every claim holds, so that the answers which matter are as they were.
fn all_hold(text: &str) -> bool {
    let analyzed = Analyzed::new(text);
    let context = analyzed.context();
    (0..context.circuit.claims.len()).all(|index| crate::words::claim(&context, index).holds == Some(true))
}

#[test]
fn mistakes_in_sound_circuits_are_caught() {
    let mut rows: BTreeMap<&str, [usize; 4]> = BTreeMap::new();
    let mut by_rule: BTreeMap<&str, usize> = BTreeMap::new();
    let mut missed = String::new();
    let texts = sound();
    assert!(texts.len() >= 8, "only {} circuits", texts.len());
    for text in &texts {
        let before: Vec<_> = check(text).into_iter().filter(|said| said.severity <= Severity::Warning).collect();
        assert!(before.is_empty() && all_hold(text), "{text}");
        for (kind, mutant) in mistakes(text) {
            let said: Vec<_> = check(&mutant).into_iter().filter(|said| said.severity <= Severity::Warning).collect();
            // What leaves every claim true is no mistake that this circuit can tell.
            let decidable = !all_hold(&mutant);
            let row = rows.entry(kind).or_default();
            row[0] += 1;
            row[1] += usize::from(decidable);
            row[2] += usize::from(decidable && !said.is_empty());
            row[3] += said.len();
            if let Some(first) = said.iter().find(|said| !said.rule.ends_with("claim")).or(said.first()) {
                *by_rule.entry(first.rule).or_default() += 1;
            } else if decidable {
                missed += &format!("== {kind}\n{mutant}");
            }
        }
    }
    for (kind, [all, decidable, caught, findings]) in &rows {
        eprintln!("{kind}: {all} tried, {decidable} change a claim, {caught} of them caught, {findings} findings");
    }
    for (rule, count) in &by_rule {
        eprintln!("{rule}: {count}");
    }
    let sum = |at: usize| rows.values().map(|row| row[at]).sum::<usize>();
    assert!(rows.len() >= 5 && sum(0) >= 120, "{rows:?}");
    assert!(sum(2) * 100 >= sum(1) * 95, "{} of {} caught; missed:\n{missed}", sum(2), sum(1));
}
