//! The linter against a corpus of marked circuits: faulty ones, in which exactly the marked mistakes are found, and sound ones, which stay silent;
//! each also with other names, in another order, and with a wire moved along its node.

#![allow(clippy::print_stdout, reason = "the rates are shown when asked for")]

#[path = "lint/field.rs"]
mod field;
#[path = "lint/mutation.rs"]
mod mutation;
#[path = "lint/reading.rs"]
mod reading;
#[path = "lint/variant.rs"]
mod variant;

use std::collections::BTreeMap;
use std::sync::Arc;

use ohmline_analysis::{Analysis, Settings, analyze};
use ohmline_circuit::{Source, Sources};
use ohmline_lint::{Group, all_metas};
use ohmline_syntax::{Diagnostic, LineIndex, Severity};

use field::{Branch, Random, same_size, solve};
use mutation::mistakes;
use reading::{Expected, Marked, circuits};
use variant::{Names, Variant, moved, renamed, reordered};

fn analysis(text: &str) -> Analysis {
    let tree = Arc::new(ohmline_syntax::parse(text));
    let lines = Arc::new(LineIndex::new(text));
    let main = Source { name: "corpus.ohmline".into(), path: None, tree, lines, includes: Vec::new() };
    analyze(Sources { files: vec![main] }, &Settings::default())
}

fn check(text: &str) -> Vec<Diagnostic> {
    analysis(text).diagnostics
}

fn span(at: ohmline_syntax::FileSpan) -> (u32, u32) {
    (at.span.start, at.span.end)
}

/// A finding without its words.
fn bare(said: &Diagnostic) -> Expected {
    let mut labels: Vec<_> = said.labels.iter().map(|label| span(label.at)).collect();
    labels.sort_unstable();
    Expected {
        at: span(said.primary.at),
        severity: said.severity,
        rule: said.rule.to_owned(),
        labels,
        cases: said.cases.clone(),
        says: Vec::new(),
    }
}

fn line_of(text: &str, at: u32) -> usize {
    text[..at as usize].matches('\n').count() + 1
}

fn write(text: &str, one: &Expected) -> String {
    let word = |at: (u32, u32)| format!("{}:`{}`", line_of(text, at.0), &text[at.0 as usize..at.1 as usize]);
    let labels: Vec<String> = one.labels.iter().map(|at| word(*at)).collect();
    let cases = if one.cases.is_empty() { String::new() } else { format!(" in {:?}", one.cases) };
    format!("{} {} {} ~ {}{cases}", one.severity.word(), one.rule, word(one.at), labels.join(" "))
}

/// What is wrong with what is found in a circuit; empty when everything is as marked.
fn differences(circuit: &Marked) -> String {
    let found = check(&circuit.text);
    let mut wrong = String::new();
    let mut left: Vec<&Diagnostic> = found.iter().collect();
    for expected in &circuit.expected {
        let same = |said: &&Diagnostic| bare(said) == Expected { says: Vec::new(), ..expected.clone() };
        let Some(at) = left.iter().position(same) else {
            wrong += &format!("  missing: {}\n", write(&circuit.text, expected));
            continue;
        };
        let said = left.remove(at);
        for words in &expected.says {
            if !said.message.contains(words) && !said.notes.iter().any(|note| note.contains(words)) {
                wrong += &format!("  {} does not say {words:?}: {} {:?}\n", said.rule, said.message, said.notes);
            }
        }
    }
    for said in left {
        // Hints are for the eye: they are marked where they are the matter.
        if said.severity < Severity::Hint {
            wrong += &format!("  not marked: {}\n    {}\n", write(&circuit.text, &bare(said)), said.message);
        }
    }
    if wrong.is_empty() { wrong } else { format!("== {}\n{wrong}", circuit.name) }
}

#[test]
fn faulty_circuits_are_found_as_marked() {
    let all = circuits("faulty");
    let wrong: String = all.iter().map(differences).collect();
    assert!(wrong.is_empty(), "\n{wrong}");
    assert!(all.iter().all(|circuit| !circuit.expected.is_empty()), "a faulty circuit without a mark");
}

#[test]
fn sound_circuits_stay_silent() {
    let all = circuits("sound");
    let wrong: String = all.iter().map(differences).collect();
    assert!(wrong.is_empty(), "\n{wrong}");
    let marks = all.iter().flat_map(|circuit| &circuit.expected);
    assert!(marks.clone().all(|mark| mark.severity >= Severity::Info), "a sound circuit with an error or a warning");
}

/// Findings of a variant that are not those of the original, in words.
fn unlike(
    circuit: &Marked,
    kind: &str,
    variant: &Variant,
    about: impl Fn(&Diagnostic) -> Option<Vec<String>>,
    sentence: impl Fn(&str) -> String,
) -> String {
    let mut expected: Vec<(Expected, Vec<String>)> = Vec::new();
    let mut wrong = String::new();
    for said in &check(&circuit.text) {
        let Some(words) = about(said) else { continue };
        let mut one = bare(said);
        let map = |at: (u32, u32)| variant.map(at);
        match (map(one.at), one.labels.iter().map(|at| map(*at)).collect::<Option<Vec<_>>>()) {
            (Some(at), Some(labels)) => (one.at, one.labels) = (at, labels),
            _ => wrong += &format!("  no place for {}\n", write(&circuit.text, &one)),
        }
        one.labels.sort_unstable();
        expected.push((one, words.iter().map(|words| sentence(words)).collect()));
    }
    let mut found: Vec<(Expected, Vec<String>)> =
        check(&variant.text).iter().filter_map(|said| Some((bare(said), about(said)?))).collect();
    expected.sort();
    found.sort();
    for one in expected.iter().filter(|one| !found.contains(one)) {
        wrong += &format!("  lost: {} {:?}\n", write(&variant.text, &one.0), one.1);
    }
    for one in found.iter().filter(|one| !expected.contains(one)) {
        wrong += &format!("  new: {} {:?}\n", write(&variant.text, &one.0), one.1);
    }
    if wrong.is_empty() { wrong } else { format!("== {} ({kind})\n{}{wrong}", circuit.name, variant.text) }
}

fn both() -> Vec<Marked> {
    circuits("faulty").into_iter().chain(circuits("sound")).collect()
}

#[test]
fn other_names_change_nothing_but_the_names_in_the_sentences() {
    let mut wrong = String::new();
    for circuit in both() {
        let names = Names::of(&ohmline_syntax::parse(&circuit.text));
        let variant = renamed(&circuit.text, &names);
        let words = |said: &Diagnostic| {
            // What names look like is about the names.
            let group = ohmline_lint::meta(said.rule).map(|meta| meta.group);
            let style = group == Some(Group::Style);
            let labels = said.labels.iter().map(|label| label.text.clone());
            let all =
                [said.message.clone(), said.primary.text.clone()].into_iter().chain(said.notes.clone()).chain(labels);
            // An example in the advice has names of its own.
            let own = |help: &&String| group != Some(Group::Writing) && !help.contains("as in");
            let help = said.help.iter().filter(own).cloned();
            (!style).then(|| all.chain(help).collect())
        };
        wrong += &unlike(&circuit, "renamed", &variant, words, |text| names.sentence(text));
    }
    assert!(wrong.is_empty(), "\n{wrong}");
}

#[test]
fn another_order_of_the_statements_changes_nothing() {
    let mut wrong = String::new();
    let mut tried = 0;
    let all = both();
    for circuit in &all {
        let Some(variant) = reordered(&circuit.text) else { continue };
        tried += 1;
        let words = |said: &Diagnostic| Some(vec![said.message.clone()]);
        wrong += &unlike(circuit, "reordered", &variant, words, str::to_owned);
    }
    assert!(wrong.is_empty(), "\n{wrong}");
    assert!(tried * 4 >= all.len() * 3, "only {tried} of {}", all.len());
}

/// A label may show more or less of a path whose wire has moved; what is found, where, and in which cases stays.
#[test]
fn a_wire_moved_along_its_node_changes_nothing() {
    let mut wrong = String::new();
    let mut tried = 0;
    for circuit in both() {
        let there = |said: &Diagnostic| said.severity < Severity::Hint;
        let before: Vec<Expected> = check(&circuit.text).iter().filter(|said| there(said)).map(bare).collect();
        for variant in moved(&circuit.text) {
            tried += 1;
            let mut left: Vec<Expected> = check(&variant.text).iter().filter(|said| there(said)).map(bare).collect();
            let mut lost = Vec::new();
            for one in &before {
                // What was said at the wire itself may be said at another place of its node.
                let within = variant.changed.is_some_and(|changed| one.at.0 <= changed.0 && changed.1 <= one.at.1);
                let place = variant.map(one.at);
                let same = |other: &Expected| {
                    (&other.rule, other.severity, &other.cases) == (&one.rule, one.severity, &one.cases)
                        && (within || Some(other.at) == place)
                };
                match left.iter().position(same) {
                    Some(at) => drop(left.remove(at)),
                    None => lost.push(write(&circuit.text, one)),
                }
            }
            let new: Vec<String> = left.iter().map(|one| write(&variant.text, one)).collect();
            if !lost.is_empty() || !new.is_empty() {
                wrong += &format!("== {}\n{}  lost: {lost:?}\n  new: {new:?}\n", circuit.name, variant.text);
            }
        }
    }
    assert!(wrong.is_empty(), "\n{wrong}");
    assert!(tried >= 200, "only {tried}");
}

/// Rules that no circuit of the corpus fires, each with the reason.
const NOT_IN_THE_CORPUS: &[(&str, &str)] = &[
    ("circular-include", "it takes two files"),
    ("conflicting-include", "it takes two files"),
    ("deep-nesting", "it takes a line of brackets that nobody would read"),
    ("foreign-encoding", "it is about bytes, not text"),
    ("long-expression", "it takes a line of thousands of numbers"),
    ("outside-include", "it takes files"),
    ("too-many-cases", "it takes millions of elements and cases together"),
    ("too-many-elements", "it takes a million elements"),
    ("beyond-class", "it takes settings that say what the class has not met"),
    ("silent-hazard", "it takes a file of settings"),
    ("unknown-setting", "it takes a file of settings"),
    ("unreadable-include", "it takes files"),
    ("unreadable-settings", "it takes a file of settings"),
    ("wrong-setting", "it takes a file of settings"),
];

#[test]
fn every_rule_occurs() {
    let mut marks: BTreeMap<String, usize> = BTreeMap::new();
    for expected in circuits("faulty").into_iter().chain(circuits("sound")).flat_map(|circuit| circuit.expected) {
        *marks.entry(expected.rule).or_default() += 1;
    }
    let excused = |name: &str| NOT_IN_THE_CORPUS.iter().any(|(rule, _)| *rule == name);
    let missing: Vec<&str> =
        all_metas().iter().map(|meta| meta.name).filter(|name| !marks.contains_key(*name) && !excused(name)).collect();
    assert!(missing.is_empty(), "no circuit fires {missing:?}");
    for (rule, why) in NOT_IN_THE_CORPUS {
        assert!(!marks.contains_key(*rule) && !why.is_empty(), "{rule} is fired after all");
    }
}

/// Sound circuits that claim something: those of the corpus and the samples that stand alone.
fn claiming() -> Vec<String> {
    let samples = reading::folder().join("../../samples");
    let mut texts: Vec<String> = std::fs::read_dir(samples)
        .expect("the samples are part of the project")
        .map(|entry| entry.expect("a folder can be listed").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "ohmline"))
        .map(|path| std::fs::read_to_string(path).expect("samples are readable"))
        .filter(|text| !text.contains("\ninclude ") && !text.contains("\nrepeat "))
        .collect();
    texts.sort();
    texts.extend(circuits("sound").into_iter().map(|circuit| circuit.text).filter(|text| !text.contains("repeat ")));
    texts.retain(|text| text.contains("\nclaim "));
    texts
}

/// What the findings of a mutant are about.
#[derive(Default)]
struct Tally {
    mutants: usize,
    decidable: usize,
    caught: usize,
    /// Mutants in which a finding names what was changed.
    named: usize,
    findings: usize,
    /// Findings that name what was changed, and the first wrong claim where nothing else is found.
    about: usize,
    /// Further wrong claims: true, and the same mistake again.
    repeats: usize,
    /// Findings that neither name what was changed nor are wrong claims.
    beside: usize,
}

/// Whether a text names one of these, as a word.
fn names_one(text: &str, touched: &[String]) -> bool {
    let words = text.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == '@'));
    words.into_iter().any(|word| touched.iter().any(|name| name == word))
}

/// Whether a finding is that a claim does not hold.
fn is_wrong_claim(text: &str, said: &Diagnostic) -> bool {
    let at = said.primary.at.span.start as usize;
    let line = &text[text[..at].rfind('\n').map_or(0, |end| end + 1)..];
    line.starts_with("claim ") || line.starts_with("measured ")
}

/// Whether every claim holds, so that the answers which matter are as they were.
fn all_hold(text: &str) -> bool {
    let analysis = analysis(text);
    let context = analysis.context();
    (0..context.circuit.claims.len()).all(|index| ohmline_lint::words::claim(&context, index).holds == Some(true))
}

#[test]
fn mistakes_in_sound_circuits_are_caught_and_little_else_is_said() {
    let mut rows: BTreeMap<&str, Tally> = BTreeMap::new();
    let mut by_rule: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let mut beside: BTreeMap<&str, usize> = BTreeMap::new();
    let mut missed = String::new();
    let mut shown = String::new();
    for text in claiming() {
        assert!(all_hold(&text), "{text}");
        for mutant in mistakes(&text) {
            let said: Vec<_> =
                check(&mutant.text).into_iter().filter(|said| said.severity <= Severity::Warning).collect();
            let row = rows.entry(mutant.kind).or_default();
            row.mutants += 1;
            // What leaves every claim true is no mistake that this circuit can tell.
            if all_hold(&mutant.text) {
                continue;
            }
            row.decidable += 1;
            row.caught += usize::from(!said.is_empty());
            row.findings += said.len();
            let names = |said: &&Diagnostic| {
                let places = said.labels.iter().chain([&said.primary]).map(|label| label.at.span.range());
                names_one(&said.message, &mutant.touched)
                    || places.into_iter().any(|range| names_one(&mutant.text[range], &mutant.touched))
            };
            let (claims, others): (Vec<_>, Vec<_>) = said.iter().partition(|said| is_wrong_claim(&mutant.text, said));
            let about = others.iter().copied().filter(names).count();
            row.named += usize::from(said.iter().any(|said| names(&said)));
            row.beside += others.len() - about;
            for said in others.iter().filter(|said| !names(said)) {
                *beside.entry(said.rule).or_default() += 1;
            }
            row.about += about + usize::from(others.is_empty() && !claims.is_empty());
            row.repeats += claims.len() - usize::from(others.is_empty() && !claims.is_empty());
            match others.first().or(claims.first()) {
                Some(first) => *by_rule.entry((mutant.kind, first.rule)).or_default() += 1,
                None => missed += &format!("== {}\n{}", mutant.kind, mutant.text),
            }
            if std::env::var("SHOW").is_ok_and(|kind| kind == mutant.kind) && said.len() > 1 {
                shown += &format!("== {} {:?}\n{}", mutant.kind, mutant.touched, mutant.text);
                for said in &said {
                    shown += &format!("   > {}: {}\n", said.rule, said.message);
                }
            }
        }
    }
    println!("{shown}");
    println!("{:20} mutants decidable caught named findings about repeats beside", "mistake");
    for (kind, row) in &rows {
        let Tally { mutants, decidable, caught, named, findings, about, repeats, beside } = row;
        println!(
            "{kind:20} {mutants:7} {decidable:9} {caught:6} {named:5} {findings:8} {about:5} {repeats:7} {beside:6}"
        );
    }
    println!("{by_rule:?}\nbeside the point: {beside:?}");
    let sum = |of: fn(&Tally) -> usize| rows.values().map(of).sum::<usize>();
    assert!(rows.len() >= 6 && sum(|row| row.mutants) >= 500, "{}", sum(|row| row.mutants));
    let (decidable, caught) = (sum(|row| row.decidable), sum(|row| row.caught));
    assert!(caught * 100 >= decidable * 95, "{caught} of {decidable} caught; missed:\n{missed}");
    let (findings, beside) = (sum(|row| row.findings), sum(|row| row.beside));
    assert!(findings * 2 <= decidable * 3, "{findings} findings for {decidable} mistakes");
    assert!(beside * 10 <= decidable, "{beside} findings beside the point for {decidable} mistakes");
}

/// A random circuit of a few points: as text, and as branches.
fn random_circuit(random: &mut Random) -> (String, Vec<String>, usize, Vec<(Branch, usize, usize)>) {
    let points = 2 + random.below(5) as usize;
    let mut text = String::new();
    let mut names: Vec<String> = Vec::new();
    let mut branches = Vec::new();
    for number in 1..=4 + random.below(5) {
        let from = random.below(points as u64) as usize;
        let to = (from + 1 + random.below(points as u64 - 1) as usize) % points;
        // Drivers first, so that few circuits lack them.
        let (letter, declared, branch) = match if number <= 2 { number - 1 } else { 1 + random.below(11) } {
            0 => ("B", format!("battery B{number} = {number} V, internal {number} ohm"), Branch::Battery),
            1 => ("E", format!("source E{number} = {number} V"), Branch::Ideal),
            8 => ("A", format!("ammeter A{number}"), Branch::Short),
            9 => ("S", format!("switch S{number} = closed"), Branch::Short),
            10 => ("S", format!("switch S{number} = open"), Branch::Gap),
            11 => ("V", format!("voltmeter V{number}"), Branch::Gap),
            _ => ("R", format!("resistor R{number} = {number} ohm"), Branch::Resistor),
        };
        let name = format!("{letter}{number}");
        let placed = if letter == "R" || letter == "S" { name.clone() } else { format!("+{name}-") };
        text += &format!("{declared}\n@p{from} -- {placed} -- @p{to}\n");
        names.push(name);
        branches.push((branch, from, to));
    }
    (text, names, points, branches)
}

/// In series: one current in both, whatever the values. In parallel: one voltage across both, whatever the values. Elements that carry nothing
/// whatever the values are left out: they are in line or side by side with everything or with nothing, as one likes.
#[test]
fn series_and_parallel_are_what_all_values_say() {
    let mut random = Random(61);
    let (mut series, mut parallel, mut neither) = (0, 0, 0);
    let mut wrong: Vec<String> = Vec::new();
    for _ in 0..800 {
        let (mut text, names, points, branches) = random_circuit(&mut random);
        let solutions: Option<Vec<_>> = (0..3).map(|_| solve(points, &branches, &mut random)).collect();
        // Contradictions and shares without a single answer have rules of their own.
        let Some(solutions) = solutions else { continue };
        let live: Vec<usize> =
            (0..names.len()).filter(|at| solutions.iter().any(|solution| solution[*at].0 != 0)).collect();
        let mut pairs = Vec::new();
        for (at, &one) in live.iter().enumerate() {
            for &other in &live[at + 1..] {
                pairs.push((one, other));
                text += &format!(
                    "claim {one}, {other} in series\nclaim {one}, {other} in parallel\n",
                    one = names[one],
                    other = names[other]
                );
            }
        }
        let analysis = analysis(&text);
        let context = analysis.context();
        for (at, &(one, other)) in pairs.iter().enumerate() {
            let same = |value: fn(&(u64, u64)) -> u64| {
                solutions.iter().all(|solution| same_size(value(&solution[one]), value(&solution[other])))
            };
            let (current, voltage) = (same(|value| value.0), same(|value| value.1));
            // Across what has no resistance there is no voltage at all, which is nothing to compare.
            let bare = [one, other].iter().all(|one| solutions.iter().all(|solution| solution[*one].1 == 0));
            let holds = |claim: usize| ohmline_lint::words::claim(&context, claim).holds;
            let pair = format!("{} and {} in\n{text}", names[one], names[other]);
            if holds(2 * at) != Some(current) {
                wrong.push(format!("series is {current} of {pair}"));
            }
            if !bare && holds(2 * at + 1) != Some(voltage) {
                wrong.push(format!("parallel is {voltage} of {pair}"));
            }
            series += usize::from(current);
            parallel += usize::from(voltage && !bare);
            neither += usize::from(!current && !voltage);
        }
    }
    wrong.sort_by_key(String::len);
    assert!(wrong.is_empty(), "{} wrong\n{}", wrong.len(), wrong[..wrong.len().min(8)].join("\n"));
    println!("{series} in series, {parallel} in parallel, {neither} neither");
    assert!(series >= 500 && parallel >= 500 && neither >= 500, "{series} {parallel} {neither}");
}

/// Whether branches lead from one point to another.
fn reaches(branches: &[(Branch, usize, usize)], from: usize, to: usize) -> bool {
    let mut met = vec![from];
    let mut at = 0;
    while let Some(&point) = met.get(at) {
        for &(_, a, b) in branches {
            for (one, other) in [(a, b), (b, a)] {
                if one == point && !met.contains(&other) {
                    met.push(other);
                }
            }
        }
        at += 1;
    }
    met.contains(&to)
}

/// What a finding says carries nothing does so whatever the values, and whatever does so is said or waits for a switch or a meter.
#[test]
fn what_is_said_to_carry_nothing_does_so_for_all_values() {
    let mut random = Random(2_305);
    let rules = ["open-end", "floating-piece", "dead-branch", "undriven-loop", "shorted-element", "ammeter-across"];
    let (mut dead, mut alive) = (0, 0);
    for _ in 0..3_000 {
        let (text, names, points, branches) = random_circuit(&mut random);
        let solutions: Option<Vec<_>> = (0..3).map(|_| solve(points, &branches, &mut random)).collect();
        let Some(solutions) = solutions else { continue };
        let mut found = check(&text);
        // A shorted source is the cause, and what is joined to the same two points is silent for its sake.
        if found.iter().any(|said| said.rule == "shorted-source") {
            continue;
        }
        found.retain(|said| rules.contains(&said.rule));
        // With every gap closed by a resistor: what is dead then waits for no switch.
        let closed: Vec<_> = branches
            .iter()
            .map(|&(branch, from, to)| (if branch == Branch::Gap { Branch::Resistor } else { branch }, from, to))
            .collect();
        let Some(closed) = solve(points, &closed, &mut random) else { continue };
        for (at, name) in names.iter().enumerate() {
            let carries = solutions.iter().any(|solution| solution[at].0 != 0);
            let waits = closed[at].0 != 0;
            // An ammeter or a closed switch names itself as what does the shorting.
            let is_load = branches[at].0 == Branch::Resistor;
            let touched = [name.clone()];
            let said = found.iter().any(|said| {
                names_one(&said.message, &touched) || said.notes.iter().any(|note| names_one(note, &touched))
            });
            if is_load && carries {
                let wrong = found.iter().find(|said| {
                    names_one(said.message.split(", so no").next().unwrap_or(""), &touched) && said.rule != "open-end"
                });
                assert!(
                    wrong.is_none(),
                    "{name} carries something, and yet {:?} in\n{text}",
                    wrong.map(|said| &said.message)
                );
                alive += 1;
            }
            // What joins several loose ends is explained by each of them.
            let hangs = found.iter().any(|said| said.rule == "open-end");
            // Where no source of the piece lies on a closed path, that is the cause, and the only thing said.
            let driven = (0..names.len()).any(|other| {
                let source = matches!(branches[other].0, Branch::Battery | Branch::Ideal);
                source && reaches(&branches, branches[at].1, branches[other].1) && closed[other].0 != 0
            });
            if is_load && !carries && !waits && !driven {
                assert!(!found.is_empty(), "{name} carries nothing, and nothing is said in\n{text}");
            } else if is_load && !carries && !waits {
                assert!(said || hangs, "{name} carries nothing, and nobody says so in\n{text}");
                dead += 1;
            }
        }
    }
    println!("{dead} dead, {alive} alive");
    assert!(dead >= 200 && alive >= 2_000, "{dead} {alive}");
}
