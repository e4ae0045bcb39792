//! What is new after a fix, and what is not.

use std::cell::OnceCell;

use ohmline_circuit::{Circuit, Sources};
use ohmline_lint::allow::can_be_allowed;
use ohmline_lint::{MOST_OF_A_RULE, words};
use ohmline_syntax::{Diagnostic, Edit, FileId, FileSpan, Safety, Severity, Span};
use rustc_hash::{FxHashMap, FxHashSet};

use super::edited::edited;
use super::moves::Moves;
use super::{Chosen, Outcome, Trial};
use crate::{Analysis, Settings, analyze};

impl<'a> Judge<'a> {
    /// Of fixes of what was found before.
    pub fn new(trial: &'a Trial<'a>, before: &'a Analysis, settings: &'a Settings, fixes: &'a [Chosen<'a>]) -> Self {
        let edits: Vec<&Edit> = fixes.iter().flat_map(|(_, fix)| &fix.edits).collect();
        let moves = Moves::new(&edits, |at| trial.text(at).trim().is_empty());
        Self { trial, before, settings, fixes, moves, hidden: OnceCell::new(), known: errors(&before.diagnostics) }
    }

    /// Whether what is read after the fixes is as it should be, as far as that can be told before anything is solved.
    pub fn reads(&self, after: &Sources, circuit: &Circuit) -> bool {
        let files = after.files.iter().enumerate();
        let mut found: Vec<Diagnostic> =
            files.flat_map(|(file, source)| source.tree.diagnostics(FileId(file as u32))).collect();
        found.extend(circuit.diagnostics.iter().cloned());
        found.retain(|own| !can_be_allowed(own.rule));
        let news = without(errors(&found), &self.known, &self.moves);
        !self.stays(&found) && news.into_iter().all(|own| matches!(self.sort_read(after, own), Sort::Known))
    }

    /// What has come of the fixes.
    pub fn outcome(&self, after: &Analysis) -> Outcome {
        if self.stays(&after.diagnostics) {
            return Outcome::Fails;
        }
        let mut denied = 0;
        for own in without(errors(&after.diagnostics), &self.known, &self.moves) {
            match self.sort(after, own) {
                Sort::New => return Outcome::Fails,
                Sort::Known => {}
                Sort::Denies => denied += 1,
            }
        }
        Outcome::Mends { denied }
    }

    /// Whether one of the findings is still there.
    fn stays(&self, after: &[Diagnostic]) -> bool {
        self.fixes.iter().any(|(found, _)| {
            let at = found.primary.at;
            let place = self.moves.of(at.file, at.span.start);
            let here = |own: FileSpan| own.file == at.file && place.touches(own.span.start);
            // It may have been made an error for the sake of claims.
            let mut before =
                self.before.diagnostics.iter().filter(|own| own.rule == found.rule && own.primary.at == at);
            let severity = before.next().map_or(found.severity, |own| own.severity);
            let same = |own: &&Diagnostic| own.rule == found.rule && own.severity <= severity && here(own.primary.at);
            after.iter().any(|own| same(&own))
        })
    }
}

/// The errors of what was found.
fn errors(found: &[Diagnostic]) -> Vec<&Diagnostic> {
    found.iter().filter(|found| found.severity == Severity::Error).collect()
}

/// Tells what is new after fixes from what is not.
pub struct Judge<'a> {
    trial: &'a Trial<'a>,
    before: &'a Analysis,
    settings: &'a Settings,
    fixes: &'a [Chosen<'a>],
    moves: Moves,
    /// The errors before.
    known: Vec<&'a Diagnostic>,
    hidden: OnceCell<Hidden>,
}

/// The statements that could not be read and are mended.
struct Hidden {
    stmts: Vec<FileSpan>,
    /// What is found when they are left out.
    found: OnceCell<Vec<Diagnostic>>,
}

/// What an error is that was not reported before.
enum Sort {
    New,
    /// It was hidden, or has other words now.
    Known,
    /// It is about a claim that could not be judged before.
    Denies,
}

/// How it stood with a claim before.
enum Before {
    Held,
    /// What is wrong with it was reported.
    Denied,
    /// It could not be judged, or something else was said to be the cause.
    Open,
}

impl Judge<'_> {
    fn sort(&self, after: &Analysis, own: &Diagnostic) -> Sort {
        if !can_be_allowed(own.rule) || self.moves.has_written(own.primary.at) {
            return self.sort_read(&after.sources, own);
        }
        match self.claim_before(after, own.primary.at) {
            Some(Before::Held) => Sort::New,
            Some(Before::Denied) => Sort::Known,
            Some(Before::Open) if self.hidden().stmts.is_empty() => Sort::New,
            Some(Before::Open) => Sort::Denies,
            None => self.sort_read(&after.sources, own),
        }
    }

    /// Of an error that is not about a claim.
    fn sort_read(&self, after: &Sources, own: &Diagnostic) -> Sort {
        let at = own.primary.at;
        let of_circuit = can_be_allowed(own.rule);
        let safe = self.fixes.iter().all(|(_, fix)| fix.safety == Safety::Safe);
        if self.moves.has_written(at) {
            return Sort::New;
        }
        if self.known.iter().filter(|known| known.rule == own.rule).count() >= MOST_OF_A_RULE {
            // Not all of them were listed.
            return Sort::Known;
        }
        let inside = |stmt: &FileSpan| {
            let end = self.moves.of(stmt.file, stmt.span.end).end;
            let start = self.moves.of(stmt.file, stmt.span.start).start;
            stmt.file == at.file && start <= at.span.start && at.span.end <= end
        };
        let stmts = &self.hidden().stmts;
        let is_known = if stmts.iter().any(inside) {
            let tree = &after.file(at.file).tree;
            let readable = tree.stmt_at(at.span.start).is_some_and(|stmt| stmt.node.problems.is_empty());
            (safe || readable) && !self.moves.has_touched(at, &tree.text, safe)
        } else if safe && of_circuit {
            !stmts.is_empty()
        } else {
            (safe || of_circuit) && !stmts.is_empty() && self.shows_without(own)
        };
        if is_known { Sort::Known } else { Sort::New }
    }

    /// Of an error in a claim: how it stood with the claim before.
    fn claim_before(&self, after: &Analysis, at: FileSpan) -> Option<Before> {
        let holds = |stmt: FileSpan, at: FileSpan| {
            stmt.file == at.file && stmt.span.start <= at.span.start && at.span.end <= stmt.span.end
        };
        let context = after.context();
        let mut claims = (0..after.circuit.claims.len()).map(|index| words::claim(&context, index).stmt);
        let now = claims.find(|stmt| holds(*stmt, at))?;
        let context = self.before.context();
        let mut before = (0..context.circuit.claims.len()).map(|index| words::claim(&context, index));
        let same =
            |stmt: FileSpan| stmt.file == now.file && self.moves.of(stmt.file, stmt.span.start).touches(now.span.start);
        let claim = before.find(|claim| same(claim.stmt));
        Some(match claim {
            Some(claim) if claim.holds == Some(true) => Before::Held,
            Some(claim) if self.known.iter().any(|own| holds(claim.stmt, own.primary.at)) => Before::Denied,
            _ => Before::Open,
        })
    }

    /// Whether an error shows as well with the mended statements left out.
    fn shows_without(&self, own: &Diagnostic) -> bool {
        let hidden = self.hidden();
        let found = hidden.found.get_or_init(|| {
            // Blanks keep every other place.
            let blank = |c: char| std::iter::repeat_n(if matches!(c, '\n' | '\r') { c } else { ' ' }, c.len_utf8());
            let blank = |at: &FileSpan| Edit { at: *at, text: self.trial.text(*at).chars().flat_map(blank).collect() };
            let edits: Vec<Edit> = hidden.stmts.iter().map(blank).collect();
            let edits: Vec<&Edit> = edits.iter().collect();
            let sources = edited(&self.before.sources, &edits, self.trial.files, None);
            sources.map_or_else(Vec::new, |sources| analyze(sources, self.settings).diagnostics)
        });
        without(vec![own], &errors(found), &self.moves).is_empty()
    }

    /// The statements that the fixes make readable.
    fn hidden(&self) -> &Hidden {
        self.hidden.get_or_init(|| {
            let broken: Vec<FileSpan> =
                self.known.iter().filter(|own| !can_be_allowed(own.rule)).map(|own| own.primary.at).collect();
            let is_broken = |stmt: &FileSpan| {
                let holds = |own: &FileSpan| own.file == stmt.file && stmt.span.touches(own.span.start);
                broken.iter().any(holds)
            };
            let edits = self.fixes.iter().flat_map(|(_, fix)| fix.edits.iter().map(|edit| edit.at));
            let places = edits.chain(self.fixes.iter().map(|(found, _)| found.primary.at));
            let mut stmts = FxHashSet::default();
            for at in places {
                let Some(source) = self.before.sources.files.get(at.file.0 as usize) else { continue };
                let all = &source.tree.stmts;
                let first = all.partition_point(|stmt| stmt.range().end < at.span.start);
                let touched = all[first..].iter().take_while(|stmt| stmt.offset <= at.span.end);
                stmts.extend(touched.map(|stmt| FileSpan::new(at.file, stmt.range())).filter(is_broken));
            }
            Hidden { stmts: stmts.into_iter().collect(), found: OnceCell::new() }
        })
    }
}

/// The errors of a text after edits that are not among those before: at the same place or, each once, in the same words.
fn without<'d>(now: Vec<&'d Diagnostic>, before: &[&Diagnostic], moves: &Moves) -> Vec<&'d Diagnostic> {
    let mut places: FxHashMap<(&str, FileId), Vec<(Span, usize)>> = FxHashMap::default();
    for (at, own) in before.iter().enumerate() {
        let file = own.primary.at.file;
        places.entry((own.rule, file)).or_default().push((moves.of(file, own.primary.at.span.start), at));
    }
    let mut used = vec![false; before.len()];
    let mut rest = Vec::new();
    for own in now {
        let at = own.primary.at;
        let same = places
            .get(&(own.rule, at.file))
            .and_then(|places| places.iter().find(|(place, index)| !used[*index] && place.touches(at.span.start)));
        match same {
            Some((_, index)) => used[*index] = true,
            None => rest.push(own),
        }
    }
    let mut words: FxHashMap<(&str, &str), usize> = FxHashMap::default();
    for (own, _) in before.iter().zip(used).filter(|(_, used)| !used) {
        *words.entry((own.rule, own.message.as_str())).or_default() += 1;
    }
    rest.retain(|own| match words.get_mut(&(own.rule, own.message.as_str())) {
        Some(left) if *left > 0 => {
            *left -= 1;
            false
        }
        _ => true,
    });
    rest
}
