//! `ohmline fix`

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use ohmline_analysis::Analysis;
use ohmline_analysis::trial::{Chosen, Outcome, Taken, Trial, that_fit};
use ohmline_report::Tone;
use ohmline_syntax::{Diagnostic, Edit, FileId, Fix, Safety, Severity};

use crate::Status;
use crate::cli::FixArgs;
use crate::disk::Disk;
use crate::input::{self, Failure, Fixes};
use crate::settings::{Chooser, is_settings};
use crate::terminal::Terminal;
use crate::write::replace;

/// Rounds after which fixes that bring others without end are given up. Of a rule that finds much, a thousand are mended in each.
const ROUNDS: usize = 200;

/// What was done to a file.
struct Done {
    text: String,
    titles: BTreeMap<String, usize>,
    /// Fixes that ask, and were not taken.
    asking: usize,
    errors: usize,
}

/// Runs the command.
pub fn run(args: &FixArgs) -> Status {
    let terminal = Terminal::new();
    let mut status = Status::Fine;
    let settings = Chooser::new(&args.above, &[]);
    for file in &args.files {
        if input::is_stdin(file) {
            terminal.complain("standard input (`-`) is no file that could be mended");
            return Status::Unusable;
        }
        match one(file, args, &settings, terminal) {
            Ok(errors) => {
                if errors > 0 {
                    status = status.max(Status::Wrong);
                }
            }
            Err(why) => {
                if !why.is_empty() {
                    terminal.complain(&format!("{}: {why}", input::name(file)));
                }
                status = Status::Unusable;
            }
        }
        let (said, told) = settings.told(terminal);
        terminal.say(&said);
        status = status.max(told);
    }
    status
}

/// Mends a file; how many errors are left in it.
fn one(file: &Path, args: &FixArgs, settings: &Chooser, terminal: Terminal) -> Result<usize, String> {
    let name = input::name(file);
    if is_settings(file) {
        return Err(input::NO_CIRCUIT.to_owned());
    }
    let old = ohmline_files::read_named(file)?;
    if old.oddity.is_some() {
        return Err("it is no plain UTF-8, so it is left as it is".to_owned());
    }
    let old = old.text.to_string();
    let done = mend(file, &old, args.all, settings)?;
    let count: usize = done.titles.values().sum();
    let mut said = match count {
        0 => format!("{name}: nothing mended"),
        1 => format!("{name}: 1 fix"),
        count => format!("{name}: {count} fixes"),
    };
    if done.asking > 0 {
        said.push_str(&match done.asking {
            1 => "; 1 more has to be decided by you (--all takes the likeliest)".to_owned(),
            asking => format!("; {asking} more have to be decided by you (--all takes the likeliest)"),
        });
    }
    said.push('\n');
    for (title, times) in &done.titles {
        let times = if *times > 1 { format!(" ({times} times)") } else { String::new() };
        said.push_str(&format!("  {title}{times}\n"));
    }
    terminal.say(&said);
    if count == 0 {
        return Ok(done.errors);
    }
    if args.diff || args.dry_run {
        if args.diff {
            let _ = terminal.write(difference(&name, &old, &done.text, terminal).as_bytes());
        }
    } else {
        replace(file, &done.text).map_err(|why| format!("cannot write it: {why}"))?;
    }
    Ok(done.errors)
}

/// Everything that was found in the circuits of a file.
fn findings(circuits: &[Analysis]) -> impl Iterator<Item = &Diagnostic> {
    circuits.iter().flat_map(|circuit| &circuit.diagnostics)
}

fn errors(circuits: &[Analysis]) -> usize {
    findings(circuits).filter(|found| found.severity == Severity::Error).count()
}

/// Applies fixes until none is left that can be: in each round as many as go together without a new error, the safe ones first.
fn mend(file: &Path, old: &str, all: bool, settings: &Chooser) -> Result<Done, String> {
    let look = |text: &str, fixes: Fixes| {
        input::analyses_of(file, text, settings, fixes).map_err(|failure| match failure {
            Failure::Unreadable(why) => why,
            Failure::Fault => String::new(),
        })
    };
    let own = settings.of(file);
    let mut text = old.to_owned();
    let mut circuits = look(&text, Fixes::Tried)?;
    let mut titles: BTreeMap<String, usize> = BTreeMap::new();
    let mut seen = BTreeSet::from([text.clone()]);
    for _ in 0..ROUNDS {
        let safe = chosen(&circuits, |found| wanted(found, Safety::Safe));
        let rounds = [safe, if all { chosen(&circuits, |found| wanted(found, Safety::Asks)) } else { Vec::new() }];
        let mut taken = None;
        let mut made = Vec::new();
        for round in rounds {
            let mut fits = |some: &[(usize, Chosen<'_>)]| {
                let new = with_edits(&text, some.iter().flat_map(|(_, (_, fix))| &fix.edits).collect());
                let Ok(next) = look(&new, Fixes::Made) else { return false };
                let fits = next.len() == circuits.len()
                    && circuits.iter().zip(&next).enumerate().all(|(at, (analysis, next))| {
                        let mine = some.iter().filter(|(circuit, _)| *circuit == at).map(|(_, own)| *own);
                        let disk = Disk::default();
                        let trial = Trial::new(analysis, &own.settings, &disk);
                        trial.outcome_in(&mine.collect::<Vec<_>>(), next) != Outcome::Fails
                    });
                if fits {
                    taken = Some(new);
                }
                fits
            };
            made = that_fit(&round, &mut fits);
            if !made.is_empty() {
                break;
            }
        }
        // Two rules that want opposite things would go on for ever.
        let Some(new) = taken.filter(|new| seen.insert(new.clone())) else { break };
        for (_, (_, fix)) in made {
            *titles.entry(fix.title.clone()).or_default() += 1;
        }
        circuits = look(&new, Fixes::Tried)?;
        text = new;
    }
    let asks = |found: &&Diagnostic| {
        found.fixes.first().is_some_and(|fix| fix.safety == Safety::Asks) && found.severity < Severity::Info
    };
    let asking = findings(&circuits).filter(asks).count();
    let errors = errors(&circuits);
    Ok(Done { text, titles, asking, errors })
}

/// For each finding the fix that is wanted, with the number of its circuit; of fixes that touch each other the first.
fn chosen<'a>(
    circuits: &'a [Analysis],
    wanted: impl Fn(&'a Diagnostic) -> Option<&'a Fix>,
) -> Vec<(usize, Chosen<'a>)> {
    let mut taken = Taken::default();
    let all =
        circuits.iter().enumerate().flat_map(|(at, circuit)| circuit.diagnostics.iter().map(move |own| (at, own)));
    let with_fix = all.filter_map(|(at, found)| Some((at, (found, wanted(found)?))));
    with_fix.filter(|(_, (_, fix))| taken.take(&fix.edits)).collect()
}

/// The fix of a finding that is to be applied: the likeliest, if it is so safe. Hints are not mended by guessing, and other files are left
/// alone.
fn wanted(found: &Diagnostic, safety: Safety) -> Option<&Fix> {
    let fix = found.fixes.first()?;
    let own = fix.edits.iter().all(|edit| edit.at.file == FileId::MAIN);
    let take = fix.safety == safety && (safety == Safety::Safe || found.severity <= Severity::Warning);
    (own && take && !fix.edits.is_empty()).then_some(fix)
}

fn with_edits(text: &str, mut edits: Vec<&Edit>) -> String {
    edits.sort_by_key(|edit| (edit.at.span.start, edit.at.span.end));
    let mut out = String::with_capacity(text.len());
    let mut from = 0;
    for edit in edits {
        let range = edit.at.span.range();
        out.push_str(text.get(from..range.start).unwrap_or(""));
        out.push_str(&edit.text);
        from = range.end;
    }
    out.push_str(text.get(from..).unwrap_or(""));
    out
}

/// The lines that differ, old before new, with the lines that stay between them left out.
fn difference(name: &str, old: &str, new: &str, terminal: Terminal) -> String {
    let (old_lines, new_lines): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
    let mut out = format!("{}\n", terminal.out.tone(Tone::Strong, name));
    let (mut a, mut b) = (0, 0);
    while a < old_lines.len() || b < new_lines.len() {
        if a < old_lines.len() && b < new_lines.len() && old_lines[a] == new_lines[b] {
            (a, b) = (a + 1, b + 1);
            continue;
        }
        // The nearest pair of equal lines ahead; few lines change, so looking this far finds it.
        let ahead = (1..200usize).find_map(|far| {
            (0..=far).find_map(|i| {
                let j = far - i;
                let same = old_lines.get(a + i).is_some_and(|line| new_lines.get(b + j) == Some(line));
                same.then_some((i, j))
            })
        });
        let (i, j) = ahead.unwrap_or((old_lines.len() - a, new_lines.len() - b));
        for (number, line) in old_lines[a..a + i].iter().enumerate() {
            out.push_str(&terminal.out.tone(Tone::Bad, &format!("  {:>4} - {line}", a + number + 1)));
            out.push('\n');
        }
        for line in &new_lines[b..b + j] {
            out.push_str(&terminal.out.tone(Tone::Good, &format!("       + {line}")));
            out.push('\n');
        }
        (a, b) = (a + i, b + j);
    }
    out
}
