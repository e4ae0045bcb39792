//! Every fix that is offered for any finding, over the examples of the rules, the samples of mistakes, files full of mistakes, and published
//! circuits that are damaged at random: it removes what it is for and makes no new error, whether it is safe or asks, the likeliest or not.
//!
//! What counts as a new error is told here from the lines of the text alone, and not as `ohmline_analysis::trial` tells it.

#![allow(clippy::print_stderr, reason = "what was tried is shown when asked for")]

#[path = "reference/case.rs"]
mod case;
#[path = "fixes/damage.rs"]
mod damage;
mod harness;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::Path;

use damage::{Folder, analysis, errors, sound, worse};
use harness::{Random, root};
use ohmline_analysis::{Analysis, Settings, trial};
use ohmline_lint::registry::{all_metas, meta};
use ohmline_lint::{allow, words};
use ohmline_syntax::{Diagnostic, FileId, Fix, Safety, Severity, Span};

/// What is found in a text, with the fixes that are offered.
fn settled(path: Option<&Path>, text: &str) -> Analysis {
    let mut found = analysis(path, text);
    trial::settle(&mut found, &Settings::default(), &Folder, |_| true);
    found
}

/// The text with the edits of a fix made, and where they are then; `None` where it edits another file.
fn mended(text: &str, fix: &Fix) -> Option<(String, Vec<Span>)> {
    let mut edits: Vec<_> = fix.edits.iter().collect();
    edits.sort_by_key(|edit| edit.at.span);
    let (mut out, mut from, mut written) = (String::new(), 0, Vec::new());
    for edit in edits {
        if edit.at.file != FileId::MAIN {
            return None;
        }
        let range = edit.at.span.range();
        assert!(range.start >= from, "the edits of {:?} overlap", fix.title);
        out += &text[from..range.start];
        written.push(Span::new(out.len() as u32, (out.len() + edit.text.len()) as u32));
        out += &edit.text;
        from = range.end;
    }
    Some((out + &text[from..], written))
}

/// Where a place of a text is after a fix.
fn moved(fix: &Fix, place: u32) -> u32 {
    let before = fix.edits.iter().filter(|edit| edit.at.span.end <= place && edit.at.span.start < place);
    before.fold(place, |place, edit| place + edit.text.len() as u32 - edit.at.span.len())
}

/// The number of the line of a place.
fn line_of(text: &str, place: u32) -> usize {
    text[..place as usize].matches('\n').count()
}

/// The errors after a fix that were not said before, in the same words, nor of the same line of text by the same rule.
fn fresh<'d>(text: &str, before: &Analysis, new: &str, after: &'d Analysis) -> Vec<&'d Diagnostic> {
    let line = |text: &str, own: &Diagnostic| match own.primary.at.file {
        FileId::MAIN => text.lines().nth(line_of(text, own.primary.at.span.start)).unwrap_or("").to_owned(),
        other => format!("{other:?} {}", own.primary.at.span.start),
    };
    let mut words: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let mut lines: BTreeMap<(&str, String), usize> = BTreeMap::new();
    for own in errors(before) {
        *words.entry((own.rule, own.message.as_str())).or_default() += 1;
        *lines.entry((own.rule, line(text, own))).or_default() += 1;
    }
    let mut left = errors(after);
    left.retain(|own| {
        let said = words.get_mut(&(own.rule, own.message.as_str())).filter(|left| **left > 0);
        let said = said.or(lines.get_mut(&(own.rule, line(new, own))).filter(|left| **left > 0));
        said.map(|left| *left -= 1).is_none()
    });
    left
}

/// Whether a finding is an error for the sake of claims that fail.
fn is_made_an_error(own: &Diagnostic) -> bool {
    own.rule == "common-cause" || meta(own.rule).is_some_and(|meta| meta.severity != Severity::Error)
}

/// What is tried: a fix of a finding of a text, and what comes of it.
struct Try<'a> {
    path: Option<&'a Path>,
    text: &'a str,
    before: &'a Analysis,
    fix: &'a Fix,
    new: &'a str,
    written: &'a [Span],
    after: &'a Analysis,
}

impl Try<'_> {
    /// Lines that are mended: those that are edited and in which something could not be read.
    fn mended_lines(&self) -> BTreeSet<usize> {
        let reading = errors(self.before).into_iter().filter(|own| !allow::can_be_allowed(own.rule));
        let unread: BTreeSet<usize> = reading.map(|own| line_of(self.text, own.primary.at.span.start)).collect();
        let edited = self
            .fix
            .edits
            .iter()
            .flat_map(|edit| line_of(self.text, edit.at.span.start)..=line_of(self.text, edit.at.span.end));
        // What is put behind a line may stand at the start of the next.
        edited.flat_map(|line| [line.saturating_sub(1), line]).filter(|line| unread.contains(line)).collect()
    }

    /// The claims that hold, as they are written.
    fn holding(&self, text: &str, analysis: &Analysis) -> BTreeSet<String> {
        let context = analysis.context();
        let all = (0..analysis.circuit.claims.len()).map(|index| words::claim(&context, index));
        let slice = |claim: words::ClaimAnswer| text.get(claim.stmt.span.range()).unwrap_or("").to_owned();
        all.filter(|claim| claim.holds == Some(true)).map(slice).collect()
    }

    /// Why an error that was not there is none that the fix has made; `None` where it is.
    fn excuse(&self, own: &Diagnostic) -> Option<&'static str> {
        let at = own.primary.at;
        let safe = self.fix.safety == Safety::Safe;
        if is_made_an_error(own) && self.holding(self.text, self.before).is_subset(&self.holding(self.new, self.after))
        {
            return Some("the cause of claims that failed before");
        }
        let lines = self.mended_lines();
        let written = self.written.iter().any(|own| own.start <= at.span.start && at.span.end <= own.end);
        if lines.is_empty() || written && at.file == FileId::MAIN {
            return None;
        }
        let line = line_of(self.new, at.span.start);
        let text = self.new.lines().nth(line).unwrap_or("");
        let reading = !allow::can_be_allowed(own.rule);
        if !reading && text.trim_start().starts_with("claim") {
            let held = self.holding(self.text, self.before).iter().any(|claim| text.contains(claim));
            return (!held).then_some("a claim that could not be judged");
        }
        // Lines that come in between move the mended one.
        let grown = self.new.matches('\n').count() as i64 - self.text.matches('\n').count() as i64;
        let here = lines.iter().any(|own| (0..=grown.max(0)).any(|more| *own as i64 + more == line as i64));
        let form_is_right =
            self.after.sources.files[0].tree.problems().all(|(stmt, _)| line_of(self.new, stmt.offset) != line);
        if here && (safe || !reading || form_is_right) {
            return Some("the next mistake of the line");
        }
        if !reading && safe {
            return Some("what the author wrote contradicts the circuit");
        }
        let rest: String = self
            .text
            .split_inclusive('\n')
            .enumerate()
            .map(|(number, line)| if lines.contains(&number) { "\n" } else { line })
            .collect();
        let without = analysis(self.path, &rest);
        let there = errors(&without).iter().any(|other| other.rule == own.rule && other.message == own.message);
        (there && (safe || !reading)).then_some("no matter of how the line is mended")
    }
}

/// What was tried, and what came of it.
#[derive(Default)]
struct Tally {
    fixes: usize,
    /// Fixes that rules thought of, and that are not offered.
    withheld: usize,
    rules: BTreeMap<&'static str, usize>,
    excused: BTreeMap<&'static str, usize>,
    /// Fixes after which there was one warning more.
    warned: BTreeMap<String, usize>,
    wrong: BTreeMap<String, (usize, String)>,
    /// Texts with some errors; of these, those of which a fix makes texts without any; of these, those of which such a fix is withheld.
    texts: usize,
    cured: usize,
    missed: usize,
}

impl Tally {
    fn fail(&mut self, what: &str, rule: &str, own: &Try<'_>) {
        let count = self.wrong.entry(format!("{what}: {rule}, {:?}", shape(&own.fix.title))).or_default();
        count.0 += 1;
        if count.1.is_empty() {
            let list = |found: &Analysis| -> String {
                let said = found.diagnostics.iter().filter(|said| said.severity <= Severity::Warning);
                said.map(|said| format!("    {} {}: {}\n", said.severity.word(), said.rule, said.message)).collect()
            };
            let (title, text, new) = (&own.fix.title, own.text, own.new);
            let _ = write!(count.1, "{text}{}  becomes, by {title:?}\n{new}{}", list(own.before), list(own.after));
        }
    }

    /// Tries every fix of every finding of a text that is offered, and says of those that are not whether they would mend all.
    fn try_all(&mut self, path: Option<&Path>, text: &str) {
        let before = settled(path, text);
        let all = analysis(path, text);
        let count = |found: &Analysis| found.diagnostics.iter().map(|own| own.fixes.len()).sum::<usize>();
        self.withheld += count(&all) - count(&before);
        // One fix cures no more.
        let broken = (1..=6).contains(&errors(&before).len());
        let cures = |fix: &Fix| mended(text, fix).is_some_and(|(new, _)| errors(&analysis(path, &new)).is_empty());
        if broken && count(&all) > 0 {
            self.texts += 1;
            let cured = all.diagnostics.iter().flat_map(|own| &own.fixes).any(cures);
            let offered = before.diagnostics.iter().flat_map(|own| &own.fixes).any(cures);
            self.cured += usize::from(cured);
            self.missed += usize::from(cured && !offered);
        }
        let warnings =
            |found: &Analysis| found.diagnostics.iter().filter(|own| own.severity == Severity::Warning).count();
        for found in &before.diagnostics {
            for fix in &found.fixes {
                let Some((new, written)) = mended(text, fix) else { continue };
                let after = analysis(path, &new);
                let own = Try { path, text, before: &before, fix, new: &new, written: &written, after: &after };
                self.fixes += 1;
                *self.rules.entry(found.rule).or_default() += 1;
                // The same words at the same place; what is said of another place is another finding.
                let place = moved(fix, found.primary.at.span.start);
                let stays = after.diagnostics.iter().any(|own| {
                    own.rule == found.rule
                        && own.message == found.message
                        && own.severity <= found.severity
                        && own.primary.at.file == found.primary.at.file
                        && own.primary.at.span.start == place
                });
                if new == text || stays {
                    self.fail("stays", found.rule, &own);
                }
                for error in fresh(text, &before, &new, &after) {
                    match own.excuse(error) {
                        Some(why) => *self.excused.entry(why).or_default() += 1,
                        None => self.fail(&format!("makes {}", error.rule), found.rule, &own),
                    }
                }
                if warnings(&after) > warnings(&before) + usize::from(found.severity == Severity::Error) {
                    *self.warned.entry(format!("{}, {:?}", found.rule, shape(&fix.title))).or_default() += 1;
                    if fix.safety == Safety::Safe && found.severity != Severity::Error {
                        self.fail("safe and warned of", found.rule, &own);
                    }
                }
            }
        }
    }

    /// Says what came of it, and fails when anything is wrong.
    fn settle(&self, of: &str) {
        let Self { fixes, withheld, texts, cured, missed, excused, .. } = self;
        eprintln!("{of}: {fixes} fixes of {} rules, {withheld} withheld; uncovered: {excused:?}", self.rules.len());
        eprintln!("  of {texts} texts with some errors one fix cures {cured}, of which {missed} are not offered it");
        for (what, times) in &self.warned {
            eprintln!("  a warning more after {what}, {times} times");
        }
        let mut report = String::new();
        for (what, (times, example)) in &self.wrong {
            let _ = write!(report, "== {what}, {times} times\n{example}\n");
        }
        assert!(report.is_empty(), "{report}");
        // What is withheld is never what mends the text.
        assert_eq!(*missed, 0, "{of}");
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
    tally.settle("examples of rules");
    assert!(tally.rules.len() > 50, "{:?}", tally.rules);
    // Each is there to show what its fix does.
    assert!(tally.withheld * 10 < tally.fixes, "{} withheld", tally.withheld);
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
    tally.settle("samples of mistakes");
    assert!(tally.rules.len() > 50, "{:?}", tally.rules);
}

/// How often each published circuit is damaged.
const TIMES: usize = 8;

#[test]
fn fixes_of_published_circuits_that_are_damaged() {
    let mut tally = Tally::default();
    let mut random = Random::new(11);
    for case in case::cases() {
        let Some(text) = sound(&case) else { continue };
        for number in 0..TIMES {
            tally.try_all(None, &worse(&text, number, &mut random));
        }
    }
    tally.settle("published circuits, damaged");
    assert!(tally.fixes > 300 && tally.rules.len() > 30, "{} fixes: {:?}", tally.fixes, tally.rules);
    assert!(tally.cured * 5 > tally.texts * 2, "one fix cures {} of {} texts", tally.cured, tally.texts);
}
