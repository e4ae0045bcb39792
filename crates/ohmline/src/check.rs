//! `ohmline check`

use std::collections::HashSet;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use indicatif::ProgressBar;
use ohmline_analysis::Analysis;
use ohmline_lint::evidence;
use ohmline_report::{
    CheckJson, CheckJunit, CheckSarif, CheckWriter, Checked, Tally, Tone, Unreadable, check_annotation, check_line,
};
use ohmline_settings::FILE;
use ohmline_syntax::{Diagnostic, Severity};
use rayon::prelude::*;

use crate::baseline::Baseline;
use crate::cli::{CheckArgs, CheckFormat, Format};
use crate::input::{self, Failure, Fixes};
use crate::settings::{Chooser, is_settings};
use crate::snippet::Snippets;
use crate::terminal::Terminal;
use crate::watch::{Round, watch};
use crate::write::put;
use crate::{Status, watch};

/// Files that are looked at together, before what was found in them is written out.
const TOGETHER: usize = 256;
/// Files from which a bar shows how far it is.
const MANY: usize = 50;
/// Room for deeply nested circuits, in each thread.
const STACK: usize = 64 << 20;

/// Runs the command.
pub fn run(args: &CheckArgs) -> Status {
    let terminal = Terminal::new();
    if args.files.iter().filter(|file| input::is_stdin(file)).count() > 1 {
        terminal.complain("standard input (`-`) can be read only once; name it once");
        return Status::Unusable;
    }
    if args.watch {
        let format = if args.format == CheckFormat::Text { Format::Text } else { Format::Json };
        return watch(&args.files, format, terminal, || {
            let mut out = Vec::new();
            let mut round = check(args, terminal, &mut |bytes| out.extend_from_slice(bytes));
            round.out = out;
            round
        });
    }
    // Whoever reads goes away when it has all it wants; the status is that of the input.
    let mut emit = |bytes: &[u8]| {
        let _ = terminal.write(bytes);
    };
    check(args, terminal, &mut emit).finish(terminal)
}

/// The files of a call: those named, and the circuits in the folders named, in order.
fn files(named: &[PathBuf]) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for path in named {
        if !input::is_stdin(path) && path.is_dir() {
            walk(path, &mut |found| files.extend(is_circuit(&found).then_some(found)), 0);
        } else {
            files.push(path.clone());
        }
    }
    files
}

fn is_circuit(file: &Path) -> bool {
    file.extension().is_some_and(|ending| ending == "ohmline")
}

/// Circuits that would stand beside the files of settings in the folders named: where those count.
fn beside_settings(named: &[PathBuf]) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for folder in named.iter().filter(|path| !input::is_stdin(path) && path.is_dir()) {
        walk(folder, &mut |found| files.extend(is_settings(&found).then(|| found.with_extension("ohmline"))), 0);
    }
    files
}

/// Hands on every file of a folder and of those in it, in order.
fn walk(folder: &Path, emit: &mut dyn FnMut(PathBuf), depth: usize) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    let mut paths: Vec<PathBuf> = entries.filter_map(|entry| entry.ok().map(|entry| entry.path())).collect();
    paths.sort();
    for path in paths {
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        // Links to folders may lead round and round.
        if path.is_dir() && !path.is_symlink() {
            if !hidden && depth < 64 {
                walk(&path, emit, depth + 1);
            }
        } else if !hidden {
            emit(path);
        }
    }
}

/// Checks every file once; results go to `emit` as they come.
fn check(args: &CheckArgs, terminal: Terminal, emit: &mut dyn FnMut(&[u8])) -> Round {
    let mut round = Round::default();
    let baseline = match args.baseline.as_deref().map(|path| (path, Baseline::read(path))) {
        None => None,
        Some((_, Ok(baseline))) => Some(baseline),
        Some((path, Err(why))) => {
            let why = format!("cannot use the baseline {}: {why}", path.display());
            round.said.push_str(&watch::complaint(terminal, &why));
            round.status = Status::Unusable;
            return round;
        }
    };
    let settings = Chooser::new(&args.above, &args.deny);
    for folder in args.files.iter().filter(|path| !input::is_stdin(path) && path.is_dir()) {
        if files(std::slice::from_ref(folder)).is_empty() {
            let why = format!("there is no circuit in {}: no file in it ends in .ohmline", folder.display());
            round.said.push_str(&watch::complaint(terminal, &why));
            round.status = Status::Unusable;
        }
    }
    let files = files(&args.files);
    let mut unreadable = Vec::new();
    let mut ledger = Ledger::new(&settings);
    ledger.baseline = baseline;
    ledger.written_down = args.write_baseline.as_deref().map(Baseline::at);
    let (mut count, mut number) = (0, 0);
    let mut writer: Box<dyn CheckWriter> = match args.format {
        CheckFormat::Json => Box::new(CheckJson::default()),
        CheckFormat::Sarif => Box::new(CheckSarif::default()),
        CheckFormat::Junit => Box::new(CheckJunit::default()),
        CheckFormat::Text | CheckFormat::Line | CheckFormat::Annotations => Box::new(Plain { args, terminal }),
    };
    let fixes = match args.format {
        CheckFormat::Text if !args.hints => Fixes::TriedWithoutHints,
        CheckFormat::Text | CheckFormat::Json | CheckFormat::Sarif => Fixes::Tried,
        CheckFormat::Line | CheckFormat::Annotations | CheckFormat::Junit => Fixes::Untried,
    };
    let mut out = Vec::new();
    writer.begin(&mut out);
    emit(&out);
    let bar = (files.len() > MANY && std::io::stderr().is_terminal()).then(|| ProgressBar::new(files.len() as u64));
    let pool = (files.len() > 1).then(|| rayon::ThreadPoolBuilder::new().stack_size(STACK).build().ok()).flatten();
    let chunks = files.len().div_ceil(TOGETHER);
    for (at, chunk) in files.chunks(TOGETHER).enumerate() {
        let found = on_all(&pool, chunk, |file| input::analyses(file, &settings, fixes));
        let mut sifted = Vec::new();
        for (file, found) in chunk.iter().zip(found) {
            let circuits = match found {
                Ok(circuits) => circuits,
                Err(failure) => {
                    round.status = Status::Unusable;
                    if let Failure::Unreadable(why) = failure {
                        let file = input::name(file);
                        round.said.push_str(&watch::complaint(terminal, &format!("cannot read {file}: {why}")));
                        unreadable.push(Unreadable { file, why });
                    }
                    continue;
                }
            };
            count += 1;
            number += circuits.len();
            if input::is_document(file) {
                // A document without a circuit is still one that is followed.
                round.read_from.extend(std::path::absolute(file).ok());
            }
            for analysis in circuits {
                round.read_from.extend(input::read_from(&analysis));
                sifted.push(ledger.sift(file, analysis));
            }
            sifted.extend(ledger.sift_settings(file, &mut round));
        }
        if at + 1 == chunks {
            // Settings that no circuit uses are as wrong as others.
            sifted
                .extend(beside_settings(&args.files).iter().filter_map(|file| ledger.sift_settings(file, &mut round)));
        }
        let prepared = on_all(&pool, &sifted, |file| writer.prepare(&file.checked()));
        for (file, prepared) in sifted.iter().zip(prepared) {
            out.clear();
            writer.add(&file.checked(), &prepared, &mut out);
            if !out.is_empty() {
                match &bar {
                    Some(bar) => bar.suspend(|| emit(&out)),
                    None => emit(&out),
                }
            }
        }
        if let Some(bar) = &bar {
            bar.inc(chunk.len() as u64);
        }
    }
    let Ledger { baseline, mut written_down, tally, aside, denied, .. } = ledger;
    // A part of a collection that is written down anew leaves the rest as it is.
    if let (Some(path), Some(down)) = (&args.write_baseline, &mut written_down)
        && let Ok(old) = Baseline::read(path)
    {
        down.keep(old, &round.read_from);
    }
    if let Some(bar) = bar {
        bar.finish_and_clear();
    }
    if let (Some(path), Some(down)) = (&args.write_baseline, &written_down)
        && let Err(why) = put(path, &down.text())
    {
        let why = format!("cannot write {}: {why}", path.display());
        round.said.push_str(&watch::complaint(terminal, &why));
        round.status = Status::Unusable;
    }
    for (file, rule) in baseline.iter().flat_map(|baseline| baseline.stale(&round.read_from)) {
        let gone = format!("{file}: a known `{rule}` is gone; --write-baseline takes it out of the baseline");
        round.said.push_str(&watch::complaint(terminal, &gone));
    }
    round.read_from.extend(settings.read_from());
    if let Some(trouble) = settings.trouble() {
        round.said.push_str(&watch::complaint(terminal, &trouble));
        round.status = Status::Unusable;
    }
    if tally.is_wrong() || denied > 0 {
        round.status = round.status.max(Status::Wrong);
    }
    out.clear();
    writer.end(&unreadable, &tally, &mut out);
    if args.format == CheckFormat::Text && count > 0 {
        let what = match files.as_slice() {
            [one] => input::name(one),
            all if all.len() == count => format!("{} files", all.len()),
            all => format!("{count} of {} files", all.len()),
        };
        let tone = match (tally.is_wrong() || denied > 0, tally.warnings > 0) {
            (true, _) => Tone::Bad,
            (false, true) => Tone::Doubt,
            (false, false) => Tone::Good,
        };
        let own = Tally { errors: tally.errors - aside.errors, warnings: tally.warnings - aside.warnings, ..tally };
        let said = if number == 0 { "no circuit in it".to_owned() } else { summary(&own, args.hints, denied) };
        let aside = in_settings(&aside).map(|aside| format!("; {aside}")).unwrap_or_default();
        let line = terminal.out.tone(tone, &format!("{what}: {said}{aside}"));
        out.extend_from_slice(line.as_bytes());
        out.push(b'\n');
    }
    emit(&out);
    round
}

/// Does the same with each, in as many threads as there are; results in order.
fn on_all<T: Sync, R: Send>(
    pool: &Option<rayon::ThreadPool>,
    all: &[T],
    work: impl Fn(&T) -> R + Send + Sync,
) -> Vec<R> {
    match pool {
        Some(pool) => pool.install(|| all.par_iter().map(work).collect()),
        None => all.iter().map(work).collect(),
    }
}

/// What was found so far: counts, and what tells whether a finding is new.
struct Ledger<'a> {
    settings: &'a Chooser,
    baseline: Option<Baseline>,
    written_down: Option<Baseline>,
    once: HashSet<Identity>,
    tally: Tally,
    /// What of it was found in files of settings that were not named.
    aside: Tally,
    /// Findings that end the check with status 1 though they are no errors.
    denied: usize,
}

impl<'a> Ledger<'a> {
    fn new(settings: &'a Chooser) -> Self {
        Self {
            settings,
            baseline: None,
            written_down: None,
            once: HashSet::new(),
            tally: Tally::default(),
            aside: Tally::default(),
            denied: 0,
        }
    }

    /// What is wrong in the settings of a file, where that is news.
    fn sift_settings(&mut self, file: &Path, round: &mut Round) -> Option<Sifted> {
        let analysis = self.settings.problems(file)?;
        round.read_from.extend(input::read_from(&analysis));
        let sifted = self.sift(file, analysis);
        sifted.shown.iter().for_each(|at| self.aside.add(&sifted.analysis.diagnostics[*at]));
        Some(sifted)
    }

    /// Parts what was found in a file into what is shown, what is silent, and what was said of another file already; counts it.
    fn sift(&mut self, file: &Path, analysis: Analysis) -> Sifted {
        let mut fresh = |all: &[Diagnostic]| -> Vec<usize> {
            (0..all.len()).filter(|at| self.once.insert(identity(&analysis, &all[*at]))).collect()
        };
        let (found, allowed) = (fresh(&analysis.diagnostics), fresh(&analysis.allowed));
        if let Some(down) = &mut self.written_down {
            found.iter().for_each(|at| down.add(&analysis, &analysis.diagnostics[*at]));
        }
        let mut is_known =
            |at: &usize| self.baseline.as_mut().is_some_and(|known| known.takes(&analysis, &analysis.diagnostics[*at]));
        let (known, shown): (Vec<usize>, Vec<usize>) = found.into_iter().partition(&mut is_known);
        let force = &self.settings.of(file).force;
        let denied: Vec<usize> = shown.iter().copied().filter(|at| force.denies(&analysis.diagnostics[*at])).collect();
        self.denied += denied.len();
        shown.iter().for_each(|at| self.tally.add(&analysis.diagnostics[*at]));
        self.tally.known += known.len();
        self.tally.allowed += allowed.len();
        let silent = analysis.allowed.iter().chain(known.iter().map(|at| &analysis.diagnostics[*at]));
        self.tally.add_claims(&analysis, &silent.collect::<Vec<_>>());
        Sifted { analysis, shown, allowed, known, denied }
    }
}

/// A file with what is said of it: indices of its findings.
struct Sifted {
    analysis: Analysis,
    shown: Vec<usize>,
    allowed: Vec<usize>,
    known: Vec<usize>,
    denied: Vec<usize>,
}

impl Sifted {
    fn checked(&self) -> Checked<'_> {
        Checked {
            analysis: &self.analysis,
            shown: self.shown.iter().map(|at| &self.analysis.diagnostics[*at]).collect(),
            allowed: self.allowed.iter().map(|at| &self.analysis.allowed[*at]).collect(),
            known: self.known.iter().map(|at| &self.analysis.diagnostics[*at]).collect(),
            denied: self.denied.iter().map(|at| &self.analysis.diagnostics[*at]).collect(),
        }
    }
}

/// The forms in which a finding needs no other: reports, lines, annotations.
struct Plain<'a> {
    args: &'a CheckArgs,
    terminal: Terminal,
}

impl CheckWriter for Plain<'_> {
    fn begin(&mut self, _: &mut Vec<u8>) {}

    fn prepare(&self, file: &Checked<'_>) -> Vec<u8> {
        let mut out = Vec::new();
        let mut snippets = Snippets::new(&file.analysis.sources, self.terminal.out);
        // What ends the check is shown, however small it is.
        let is_denied = |found: &Diagnostic| file.denied.iter().any(|own| std::ptr::eq(*own, found));
        let told = |found: &Diagnostic| self.args.hints || found.severity != Severity::Hint || is_denied(found);
        for found in file.shown.iter().filter(|found| told(found)) {
            match self.args.format {
                CheckFormat::Line => out.extend_from_slice(check_line(file.analysis, found).as_bytes()),
                CheckFormat::Annotations => out.extend_from_slice(check_annotation(file.analysis, found).as_bytes()),
                _ => {
                    snippets.write(found, &mut out);
                    let proof = self.args.explain.then(|| evidence(&file.analysis.context(), found)).flatten();
                    if let Some(proof) = proof {
                        snippets.prove(&proof, &mut out);
                    }
                }
            }
            out.push(b'\n');
        }
        out
    }

    fn add(&mut self, _: &Checked<'_>, prepared: &[u8], out: &mut Vec<u8>) {
        out.extend_from_slice(prepared);
    }

    fn end(&mut self, _: &[Unreadable], _: &Tally, _: &mut Vec<u8>) {}
}

type Identity = (PathBuf, u32, u32, &'static str, String);

/// What makes two diagnostics the same, also when they come from two files that include a third.
fn identity(analysis: &Analysis, one: &Diagnostic) -> Identity {
    let at = one.primary.at;
    let source = analysis.sources.files.get(at.file.0 as usize);
    let file = source.map(|source| source.path.clone().unwrap_or_else(|| source.name.clone().into()));
    (file.unwrap_or_default(), at.span.start, at.span.end, one.rule, one.message.clone())
}

/// `1 error in ohmline.toml`
fn in_settings(aside: &Tally) -> Option<String> {
    let count = |number: usize, word: &str| match number {
        0 => None,
        1 => Some(format!("1 {word}")),
        number => Some(format!("{number} {word}s")),
    };
    let found: Vec<String> =
        [count(aside.errors, "error"), count(aside.warnings, "warning")].into_iter().flatten().collect();
    (!found.is_empty()).then(|| format!("{} in {FILE}", found.join(", ")))
}

/// `2 errors, 1 warning; 3 hints (--hints prints them); 1 allowed; 4 claims hold, 1 fails`
pub fn summary(tally: &Tally, hints_shown: bool, denied: usize) -> String {
    let count = |number: usize, one: &str, many: &str| match number {
        0 => None,
        1 => Some(format!("1 {one}")),
        number => Some(format!("{number} {many}")),
    };
    let found: Vec<String> = [
        count(tally.errors, "error", "errors"),
        count(tally.warnings, "warning", "warnings"),
        count(tally.infos, "info", "infos"),
    ]
    .into_iter()
    .flatten()
    .collect();
    let mut parts = vec![match (found.is_empty(), denied) {
        (true, 0) if tally.known > 0 => "nothing new".to_owned(),
        (true, 0) => "nothing wrong".to_owned(),
        (true, denied) => format!("{denied} denied"),
        (false, _) => found.join(", "),
    }];
    parts.extend(count(tally.hints, "hint", "hints").map(|hints| match (hints_shown, tally.hints) {
        (true, _) => hints,
        (false, 1) => format!("{hints} (--hints prints it)"),
        (false, _) => format!("{hints} (--hints prints them)"),
    }));
    if tally.known > 0 {
        parts.push(format!("{} known", tally.known));
    }
    if tally.allowed > 0 {
        parts.push(format!("{} allowed", tally.allowed));
    }
    let claims: Vec<String> = [
        count(tally.claims_held, "claim holds", "claims hold"),
        count(tally.claims_failed, "claim fails", "claims fail"),
        count(tally.claims_undetermined, "claim is undetermined", "claims are undetermined"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !claims.is_empty() {
        parts.push(claims.join(", "));
    }
    parts.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_summary_counts_in_words() {
        let clean = Tally::default();
        assert_eq!(summary(&clean, false, 0), "nothing wrong");
        let tally = Tally { errors: 1, warnings: 2, hints: 3, claims_held: 1, claims_failed: 2, ..clean };
        assert_eq!(
            summary(&tally, false, 0),
            "1 error, 2 warnings; 3 hints (--hints prints them); 1 claim holds, 2 claims fail"
        );
        assert_eq!(summary(&Tally { hints: 1, infos: 1, ..clean }, true, 0), "1 info; 1 hint");
        assert_eq!(summary(&Tally { hints: 1, ..clean }, false, 1), "1 denied; 1 hint (--hints prints it)");
        assert_eq!(summary(&Tally { allowed: 2, ..clean }, true, 0), "nothing wrong; 2 allowed");
    }
}
