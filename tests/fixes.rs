//! Every quick fix of every diagnostic, over the examples of the rules, the samples of mistakes, and published circuits that are damaged at
//! random: it removes what it is for, and brings no new error.

#![allow(clippy::print_stderr, reason = "what was tried is shown when asked for")]

#[path = "reference/case.rs"]
mod case;
mod harness;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use harness::{Random, root};
use ohmline_analysis::{Analysis, FileSystem, Settings, analyze, load};
use ohmline_lint::registry::all_metas;
use ohmline_syntax::lexer::{TokenKind, tokens};
use ohmline_syntax::{Diagnostic, FileId, Fix, Safety, Severity, parse};

/// The files of a folder.
struct Folder;

impl FileSystem for Folder {
    fn read(&self, path: &Path) -> Result<Arc<str>, String> {
        std::fs::read_to_string(path).map(Into::into).map_err(|error| error.to_string())
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }
}

fn analysis(path: Option<&Path>, text: &str) -> Analysis {
    analyze(load("text.ohmline", path, Arc::new(parse(text)), &Folder), &Settings::default())
}

/// The text with the edits of a fix made; `None` where it edits another file.
fn mended(text: &str, fix: &Fix) -> Option<String> {
    let mut edits: Vec<_> = fix.edits.iter().collect();
    edits.sort_by_key(|edit| edit.at.span);
    let (mut out, mut from) = (String::new(), 0);
    for edit in edits {
        if edit.at.file != FileId::MAIN {
            return None;
        }
        let range = edit.at.span.range();
        assert!(range.start >= from, "the edits of {:?} overlap", fix.title);
        out += &text[from..range.start];
        out += &edit.text;
        from = range.end;
    }
    Some(out + &text[from..])
}

/// Where a place of a text is after a fix.
fn moved(fix: &Fix, place: u32) -> u32 {
    let before = fix.edits.iter().filter(|edit| edit.at.span.end <= place && edit.at.span.start < place);
    before.fold(place, |place, edit| place + edit.text.len() as u32 - edit.at.span.len())
}

/// How often each thing is said, of those that `fits`.
fn said(found: &Analysis, fits: impl Fn(&Diagnostic) -> bool) -> BTreeMap<(&str, &str), usize> {
    let mut count = BTreeMap::new();
    for own in found.diagnostics.iter().filter(|own| own.allowed.is_none() && fits(own)) {
        *count.entry((own.rule, own.message.as_str())).or_default() += 1;
    }
    count
}

fn lines(found: &Analysis, severity: Severity) -> String {
    said(found, |own| own.severity == severity)
        .keys()
        .map(|(rule, message)| format!("    {rule}: {message}\n"))
        .collect()
}

/// Guesses that only the rest of the text could tell right from wrong, which who reads a single statement does not see. The server tries
/// such a fix before it offers it; see `tests/lsp_actions.rs`.
const GUESSES: &[(&str, &str)] = &[
    ("missing-comma", "a word behind a name may be a further name"),
    ("misplaced-unit", "a name may stand where a number was meant"),
    ("missing-quotes", "what follows `circuit` may be no title"),
    ("missing-wire", "a word in a path may be half of another"),
    ("unknown-name", "the nearest name may be placed further down"),
];

/// What was tried, and what came of it.
#[derive(Default)]
struct Tally {
    fixes: usize,
    /// Guesses that were wrong.
    guessed: usize,
    rules: BTreeMap<&'static str, usize>,
    /// Fixes after which there was one warning more.
    warned: BTreeMap<String, usize>,
    wrong: BTreeMap<String, (usize, String)>,
}

impl Tally {
    fn fail(&mut self, what: &str, rule: &str, fix: &Fix, text: &str, new: &str, after: &Analysis) {
        let own = self.wrong.entry(format!("{what}: {rule}, {:?}", shape(&fix.title))).or_default();
        own.0 += 1;
        if own.1.is_empty() {
            let _ = write!(own.1, "{text}  becomes, by {:?}\n{new}  with\n", fix.title);
            own.1 += &lines(after, Severity::Error);
            own.1 += &lines(after, Severity::Warning);
        }
    }

    /// Tries every fix of every diagnostic of a text.
    fn try_all(&mut self, path: Option<&Path>, text: &str) {
        let before = analysis(path, text);
        let errors = said(&before, |own| own.severity == Severity::Error);
        let warnings = said(&before, |own| own.severity == Severity::Warning).values().sum::<usize>();
        let mut tried = BTreeSet::new();
        for found in before.diagnostics.iter().filter(|found| found.allowed.is_none()) {
            for (number, fix) in found.fixes.iter().enumerate() {
                let Some(new) = mended(text, fix) else { continue };
                // Of several of one sort in a text, one.
                if !tried.insert((found.rule, shape(&fix.title))) {
                    continue;
                }
                self.fixes += 1;
                *self.rules.entry(found.rule).or_default() += 1;
                if new == text {
                    self.fail("changes nothing", found.rule, fix, text, &new, &before);
                    continue;
                }
                let after = analysis(path, &new);
                // The same words at the same place; what is said of another place is another finding.
                let place = moved(fix, found.primary.at.span.start);
                let stays = after.diagnostics.iter().any(|own| {
                    own.rule == found.rule
                        && own.message == found.message
                        && own.severity <= found.severity
                        && own.primary.at.file == found.primary.at.file
                        && own.primary.at.span.start == place
                });
                if stays {
                    self.fail("stays", found.rule, fix, text, &new, &after);
                }
                // A line that can be read at last may have a further mistake; but no fix leaves more errors than it found.
                let now = said(&after, |own| own.severity == Severity::Error);
                // What was no error gives no reason for one; but a change of the circuit, for which the author is asked, may make what
                // was claimed of it false.
                let asks = fix.safety == Safety::Asks;
                let count = |errors: &BTreeMap<(&str, &str), usize>| {
                    errors
                        .iter()
                        .filter(|(own, _)| !(asks && own.0 == "false-claim"))
                        .map(|(_, count)| count)
                        .sum::<usize>()
                };
                let worse = count(&now) > count(&errors);
                let new_one = |own: &&(&str, &str)| !(errors.contains_key(*own) || asks && own.0 == "false-claim");
                let fresh = found.severity != Severity::Error && now.keys().any(|own| new_one(&own));
                // Of several readings the likeliest comes first; the others are for the author to choose.
                let guess = asks && number > 0 || GUESSES.iter().any(|(rule, _)| *rule == found.rule);
                self.guessed += usize::from((worse || fresh) && guess);
                if (worse && found.severity == Severity::Error || fresh) && !guess {
                    self.fail("makes an error", found.rule, fix, text, &new, &after);
                }
                let warned = said(&after, |own| own.severity == Severity::Warning).values().sum::<usize>();
                if warned > warnings + usize::from(found.severity == Severity::Error) {
                    *self.warned.entry(format!("{}, {:?}", found.rule, shape(&fix.title))).or_default() += 1;
                    if fix.safety == Safety::Safe && found.severity != Severity::Error {
                        self.fail("safe and warned of", found.rule, fix, text, &new, &after);
                    }
                }
            }
        }
    }

    /// What came of it, in a line; and after which fixes there was a warning more.
    fn sum(&self, of: &str) {
        let (fixes, rules, guessed) = (self.fixes, self.rules.len(), self.guessed);
        eprintln!("{of}: {fixes} fixes of {rules} rules, {guessed} wrong guesses");
        for (what, times) in &self.warned {
            eprintln!("  a warning more after {what}, {times} times");
        }
    }

    fn report(&self) -> String {
        let mut out = String::new();
        for (what, (times, example)) in &self.wrong {
            let _ = write!(out, "== {what}, {times} times\n{example}\n");
        }
        out
    }
}

/// A title without the names and numbers in it.
fn shape(title: &str) -> String {
    title.split('`').step_by(2).collect::<Vec<_>>().join("…").replace(|c: char| c.is_ascii_digit(), "0")
}

#[test]
fn fixes_of_rule_examples() {
    let mut tally = Tally::default();
    for meta in all_metas() {
        tally.try_all(None, meta.bad);
    }
    tally.sum("examples of rules");
    assert!(tally.wrong.is_empty(), "{}", tally.report());
    assert!(tally.rules.len() > 50, "{:?}", tally.rules);
}

#[test]
fn fixes_of_the_samples_of_mistakes() {
    let mut tally = Tally::default();
    let folder = root().join("samples/mistakes");
    for entry in std::fs::read_dir(folder).expect("the samples are part of the project") {
        let path = entry.expect("readable").path();
        if path.extension().is_some_and(|ending| ending == "ohmline") {
            tally.try_all(Some(&path), &std::fs::read_to_string(&path).expect("readable"));
        }
    }
    tally.sum("samples of mistakes");
    assert!(tally.wrong.is_empty(), "{}", tally.report());
    assert!(tally.rules.len() > 50, "{:?}", tally.rules);
}

/// Words that are mistaken for one another, and signs for others.
const SWAPS: &[(&str, &str)] = &[
    ("ohm", "V"),
    ("ohm", "Ohm"),
    ("ohm", "\u{3a9}hm"),
    (" V", " A"),
    ("--", "\u{2013}"),
    ("--", "\u{2014}"),
    ("--", "-"),
    ("--", "---"),
    (" -- ", "--"),
    ("=", ":"),
    ("=", "=="),
    (" = ", " "),
    ("@", ""),
    ("@n", "n"),
    ("\"", "\u{201c}"),
    ("\"", ""),
    ("resistor", "Resistor"),
    ("resistor", "resitor"),
    ("battery", "batery"),
    ("ammeter", "amperemeter"),
    ("lamp", "bulb"),
    ("+", ""),
    ("-", "\u{2212}"),
    (".", ","),
    (", ", " "),
    (", internal", ", inner"),
    ("internal", "intenal"),
    ("1", "l"),
    ("0", "O"),
    ("circuit", "title"),
    ("\n", "\n\n"),
    ("\n", ",\n"),
    ("\n", ";\n"),
];

/// A text with one mistake in it.
fn damaged(text: &str, random: &mut Random) -> String {
    let own: Vec<_> = tokens(text)
        .into_iter()
        .filter(|token| !token.kind.is_trivia() && !matches!(token.kind, TokenKind::Text | TokenKind::Comment))
        .collect();
    let (one, other) = (random.pick(&own).span().range(), random.pick(&own).span().range());
    let with =
        |range: std::ops::Range<usize>, new: &str| format!("{}{new}{}", &text[..range.start], &text[range.end..]);
    match random.below(8) {
        0 => with(one, ""),
        1 => {
            let word = text[one.clone()].to_owned();
            with(one, &format!("{word} {word}"))
        }
        2 => with(one, &text[other]),
        3 => {
            // Two letters change places.
            let mut letters: Vec<char> = text[one.clone()].chars().collect();
            if letters.len() > 1 {
                let at = random.below(letters.len() - 1);
                letters.swap(at, at + 1);
            }
            with(one, &letters.into_iter().collect::<String>())
        }
        4 => {
            let mut lines: Vec<&str> = text.lines().collect();
            let from = random.below(lines.len());
            let line = lines.remove(from);
            if random.below(2) == 0 {
                lines.insert(random.below(lines.len() + 1), line);
            }
            lines.join("\n") + "\n"
        }
        _ => {
            let (from, to) = *random.pick(SWAPS);
            let places: Vec<usize> = text.match_indices(from).map(|(at, _)| at).collect();
            match places.is_empty() {
                true => with(one, ""),
                false => {
                    let at = *random.pick(&places);
                    with(at..at + from.len(), to)
                }
            }
        }
    }
}

/// A published circuit with a claim that holds; `None` where it has errors of its own, or is so large that trying takes long: there a
/// mistake is no other than in a small one.
fn sound(case: &case::Case) -> Option<String> {
    let last = case.elements.iter().rfind(|part| part.kind != "wire")?;
    let asked = format!("{}find current through {}\n", case.text(), last.name);
    let found = analysis(None, &asked);
    let value = found.answers.finds.first().and_then(|find| find.value.as_ref().ok()).map(|value| value.to_f64());
    let text = match value {
        Some(value) if value != 0.0 => {
            format!("{asked}claim current through {} = {:.9} A within 1%\n", last.name, value)
        }
        _ => asked,
    };
    let errors = said(&analysis(None, &text), |own| own.severity == Severity::Error).len();
    (errors == 0 && text.len() < 3000).then_some(text)
}

/// How often each published circuit is damaged.
const TIMES: usize = 4;

#[test]
fn fixes_of_published_circuits_that_are_damaged() {
    let mut tally = Tally::default();
    let mut random = Random::new(11);
    for case in case::cases() {
        let Some(text) = sound(&case) else { continue };
        for _ in 0..TIMES {
            let mut worse = damaged(&text, &mut random);
            if random.below(3) == 0 {
                worse = damaged(&worse, &mut random);
            }
            tally.try_all(None, &worse);
        }
    }
    tally.sum("published circuits, damaged");
    assert!(tally.wrong.is_empty(), "{}", tally.report());
    assert!(tally.fixes > 250 && tally.rules.len() > 30, "{} fixes: {:?}", tally.fixes, tally.rules);
    // Most guesses are right.
    assert!(tally.guessed * 20 < tally.fixes, "{} wrong guesses of {} fixes", tally.guessed, tally.fixes);
}
