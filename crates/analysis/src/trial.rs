//! Trying a fix before it is offered: one statement may read well in a way that the rest of the text speaks against.
//!
//! A fix is offered when its finding is gone after it and no error is new. An error is *new* unless one of the same rule was there before:
//! at its place, as the edits moved it, or in the same words. Text that could not be read hides other mistakes, though. Once a fix makes
//! it readable, these are *uncovered*, and not new. Never so is an error in what the fix wrote. Else it depends on where it is:
//! - in the statement that is mended, it is the next mistake of the line, in words that the fix left alone. A fix that asks may have
//!   decided by what it wrote beside a word what that word is, and so may any fix by what it put between two words: such words are not
//!   left alone. And after a fix that asks, the form of the statement has to be right: else the guess is none.
//! - in a claim, it is for the author when the claim could not be judged before. Of several fixes that ask, those after which the fewest
//!   such claims fail are offered. A claim that held has to hold.
//! - elsewhere, it is uncovered when it shows as well with that statement left out as a whole, and so is no matter of how it is mended; but
//!   a name that is not known elsewhere, say, is a matter of a fix that asks. A safe fix spells what the author wrote, so that it is
//!   not the fix when that contradicts the circuit.
//!
//! Of a rule that found more than is listed, no error is new but in what a fix wrote.

mod edited;
mod judge;
mod moves;

use std::cell::OnceCell;
use std::collections::BTreeMap;

use ohmline_circuit::{FileSystem, Sources, build};
use ohmline_lint::MOST_SOLVED_AGAIN;
use ohmline_syntax::{Diagnostic, Edit, FileId, FileSpan, Fix, Safety, Severity};

use crate::markdown::Around;
use crate::{Analysis, Method, Settings, analyze};
use edited::edited;
use judge::Judge;

/// Up to this much work each fix is tried by itself; beyond, many are tried at once, and one by one only where that fails. One is an
/// element in a state, or a statement, analyzed once.
const ALONE: usize = 20_000;

/// Most work for the fixes of one text. What has not been tried by then is not offered.
const MOST: usize = 1_000_000;

/// So many times cheaper than an analysis it is to read a text and put its circuit together.
const CHEAPER: usize = 4;

/// Largest circuit that is solved exactly for each fix. Larger ones are in floating point, before the fix and after it.
const EXACT: usize = 40;

/// Largest circuit that is analyzed once more before a fix for the sake of those settings. Larger ones are in floating point already, if they
/// are not very simple, and no causes are looked for in them.
const AGAIN: usize = 2_000;

/// What fixes are tried on.
pub struct Trial<'a> {
    analysis: &'a Analysis,
    settings: &'a Settings,
    files: &'a dyn FileSystem,
    around: Option<(&'a Around, &'a str)>,
    quick: OnceCell<Quick>,
}

/// What is found with settings under which much can be tried.
struct Quick {
    settings: Settings,
    analysis: Analysis,
}

/// What comes of a fix.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// Its finding stays, or there is a new error.
    Fails,
    /// All is well, but for so many claims that could not be judged before and do not hold.
    Mends {
        /// How many.
        denied: usize,
    },
}

/// A fix with its finding.
pub type Chosen<'f> = (&'f Diagnostic, &'f Fix);

/// Takes every fix out of an analysis that is not to be offered, and those of findings that are not `shown`.
pub fn settle(
    analysis: &mut Analysis,
    settings: &Settings,
    files: &dyn FileSystem,
    shown: impl Fn(&Diagnostic) -> bool,
) {
    analysis.diagnostics.iter_mut().filter(|own| !shown(own)).for_each(|own| own.fixes.clear());
    let wanted: Vec<usize> =
        (0..analysis.diagnostics.len()).filter(|at| !analysis.diagnostics[*at].fixes.is_empty()).collect();
    if wanted.is_empty() {
        return;
    }
    let offered = Trial::new(analysis, settings, files).offered(&wanted);
    for (at, offered) in wanted.into_iter().zip(offered) {
        let mut number = 0..;
        analysis.diagnostics[at].fixes.retain(|_| number.next().is_some_and(|own| offered.contains(&own)));
    }
}

/// The same settings, but each claim that fails is reported by itself: to look for a cause is to try fixes, and here is one to be tried.
pub fn without_causes(settings: &Settings) -> Settings {
    let mut settings = settings.clone();
    settings.findings.without_causes = true;
    settings
}

/// Of things in order as many as can be made at once, which `fits` tells of any of them: all, or, where they do not fit, those of the first
/// half and then of the second what goes with them.
pub fn that_fit<T: Clone>(all: &[T], fits: &mut dyn FnMut(&[T]) -> bool) -> Vec<T> {
    let mut chosen = Vec::new();
    let mut rest = vec![all];
    while let Some(next) = rest.pop() {
        if next.is_empty() {
            continue;
        }
        let before = chosen.len();
        chosen.extend_from_slice(next);
        if fits(&chosen) {
            continue;
        }
        chosen.truncate(before);
        if next.len() > 1 {
            let (first, second) = next.split_at(next.len() / 2);
            rest.extend([second, first]);
        }
    }
    chosen
}

/// Stretches of text that edits have taken.
#[derive(Default)]
pub struct Taken {
    /// Where each ends, by where it begins.
    ends: BTreeMap<(FileId, u32), u32>,
}

impl Taken {
    /// Takes the stretches of edits, unless one of them touches what is taken already.
    pub fn take(&mut self, edits: &[Edit]) -> bool {
        let apart = |own: &Edit| {
            let before = self.ends.range((own.at.file, 0)..=(own.at.file, own.at.span.end)).next_back();
            before.is_none_or(|(_, end)| *end < own.at.span.start)
        };
        let free = edits.iter().all(apart);
        if free {
            self.ends.extend(edits.iter().map(|own| ((own.at.file, own.at.span.start), own.at.span.end)));
        }
        free
    }
}

impl<'a> Trial<'a> {
    /// Of what was found with these settings. Files that are not among those of the analysis are looked for in `files`.
    pub fn new(analysis: &'a Analysis, settings: &'a Settings, files: &'a dyn FileSystem) -> Self {
        Self { analysis, settings, files, around: None, quick: OnceCell::new() }
    }

    /// The same of a circuit in a Markdown document, whose fixes are edits of the document.
    pub fn within(self, around: Option<(&'a Around, &'a str)>) -> Self {
        Self { around, ..self }
    }

    /// For each of some findings, by their numbers: which of its fixes are to be offered, by their numbers.
    pub fn offered(&self, wanted: &[usize]) -> Vec<Vec<usize>> {
        let found: Vec<&Diagnostic> = wanted.iter().map(|at| &self.analysis.diagnostics[*at]).collect();
        let fixes: usize = found.iter().map(|found| found.fixes.len()).sum();
        let outcomes: Vec<Vec<Outcome>> = if fixes * self.work() <= ALONE || fixes == 1 {
            found.iter().map(|own| own.fixes.iter().map(|fix| self.outcome(&[(own, fix)])).collect()).collect()
        } else {
            self.outcomes_of_many(&found)
        };
        found.iter().zip(&outcomes).map(|(found, outcomes)| best(found, outcomes)).collect()
    }

    /// What comes of fixes, which are apart from each other, when they are made at once.
    pub fn outcome(&self, fixes: &[Chosen<'_>]) -> Outcome {
        let Some(sources) = self.edited(fixes) else { return Outcome::Fails };
        let (settings, before) = match fixes.iter().any(|(found, _)| self.is_cause(found)) {
            true => (self.settings, self.analysis),
            false => self.before(),
        };
        let judge = Judge::new(self, before, settings, fixes);
        // Most that fails does so before anything is solved.
        match judge.reads(&sources, &build(&sources)) {
            true => judge.outcome(&analyze(sources, settings)),
            false => Outcome::Fails,
        }
    }

    /// Whether a finding tells about claims that fail because of it. To mend it is to make them hold.
    fn is_cause(&self, found: &Diagnostic) -> bool {
        let same = |own: &&Diagnostic| own.rule == found.rule && own.primary.at == found.primary.at;
        self.analysis.circuit.elements.len() <= MOST_SOLVED_AGAIN
            && found.severity == Severity::Error
            && self.before().1.diagnostics.iter().find(same).is_none_or(|own| own.severity != found.severity)
    }

    /// Whether a fix fails already before anything is solved.
    fn misreads(&self, fix: Chosen<'_>) -> bool {
        let (settings, before) = self.before();
        let sources = self.edited(&[fix]);
        sources.is_none_or(|sources| !Judge::new(self, before, settings, &[fix]).reads(&sources, &build(&sources)))
    }

    fn edited(&self, fixes: &[Chosen<'_>]) -> Option<Sources> {
        let edits: Vec<&Edit> = fixes.iter().flat_map(|(_, fix)| &fix.edits).collect();
        edited(&self.analysis.sources, &edits, self.files, self.around)
    }

    /// What the analysis after a fix is compared with, and the settings of both. A common cause of claims that fail is not looked for: they
    /// fail all the same.
    fn before(&self) -> (&Settings, &Analysis) {
        if self.analysis.circuit.elements.len() > AGAIN {
            return (self.settings, self.analysis);
        }
        let quick = self.quick.get_or_init(|| {
            let mut settings = without_causes(self.settings);
            if self.analysis.circuit.elements.len() > EXACT {
                settings.method = Method::Float;
            }
            Quick { analysis: analyze(self.analysis.sources.clone(), &settings), settings }
        });
        (&quick.settings, &quick.analysis)
    }

    /// The same of an analysis that somebody has made of the text with these fixes, with settings [`without_causes`].
    pub fn outcome_in(&self, fixes: &[Chosen<'_>], after: &Analysis) -> Outcome {
        let settings = without_causes(self.settings);
        let before = analyze(self.analysis.sources.clone(), &settings);
        Judge::new(self, &before, &settings, fixes).outcome(after)
    }

    /// How much work one analysis is.
    fn work(&self) -> usize {
        let stmts: usize = self.analysis.sources.files.iter().map(|source| source.tree.stmts.len()).sum();
        let elements = self.analysis.circuit.elements.len() * self.analysis.topologies.len().max(1);
        stmts.max(elements) + 50
    }

    /// Outcomes where there is too much to be done for trying each fix by itself.
    fn outcomes_of_many(&self, found: &[&Diagnostic]) -> Vec<Vec<Outcome>> {
        let mut outcomes: Vec<Vec<Outcome>> =
            found.iter().map(|found| vec![Outcome::Fails; found.fixes.len()]).collect();
        let mut left = MOST / self.work();
        let most = found.iter().map(|found| found.fixes.len()).max().unwrap_or(0);
        // The likeliest of all come first; what is safe is judged otherwise than what asks.
        for (number, safety) in (0..most).flat_map(|number| [(number, Safety::Safe), (number, Safety::Asks)]) {
            let of = |at: usize| found[at].fixes.get(number).filter(|fix| fix.safety == safety);
            let (mut together, mut rest): (Vec<usize>, Vec<Vec<usize>>) = (Vec::new(), Vec::new());
            let mut taken = Taken::default();
            for at in 0..found.len() {
                match of(at) {
                    Some(fix) if taken.take(&fix.edits) => together.push(at),
                    Some(_) => rest.push(vec![at]),
                    None => {}
                }
            }
            rest.reverse();
            rest.push(together);
            let mut is_first = true;
            while let Some(mut next) = rest.pop() {
                if next.is_empty() || left == 0 {
                    continue;
                }
                left -= 1;
                let chosen: Vec<Chosen<'_>> = next.iter().filter_map(|at| Some((found[*at], of(*at)?))).collect();
                match self.outcome(&chosen) {
                    Outcome::Fails if is_first && next.len() > 1 && next.len() / CHEAPER < left => {
                        // What cannot be read afterwards is left out before anything more is solved.
                        left -= next.len() / CHEAPER;
                        next.retain(|at| of(*at).is_some_and(|fix| !self.misreads((found[*at], fix))));
                        rest.push(next);
                    }
                    Outcome::Fails if next.len() > 1 => {
                        let (first, second) = next.split_at(next.len() / 2);
                        rest.extend([second.to_vec(), first.to_vec()]);
                    }
                    outcome => next.iter().for_each(|at| outcomes[*at][number] = outcome),
                }
                is_first = false;
            }
        }
        outcomes
    }

    fn text(&self, at: FileSpan) -> &str {
        self.analysis.sources.files.get(at.file.0 as usize).map_or("", |file| file.tree.slice(at.span))
    }
}

/// The numbers of the fixes that are to be offered.
fn best(found: &Diagnostic, outcomes: &[Outcome]) -> Vec<usize> {
    let denied = |outcome: &Outcome| match outcome {
        Outcome::Mends { denied } => Some(*denied),
        Outcome::Fails => None,
    };
    let fewest = outcomes.iter().filter_map(denied).min();
    let all = found.fixes.iter().zip(outcomes).enumerate();
    all.filter(|(_, (fix, outcome))| {
        denied(outcome).is_some_and(|denied| fix.safety == Safety::Safe || Some(denied) == fewest)
    })
    .map(|(number, _)| number)
    .collect()
}
