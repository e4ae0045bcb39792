//! `ohmline check`

use std::collections::HashSet;
use std::path::PathBuf;

use ohmline_analysis::Analysis;
use ohmline_report::{Checked, Tally, Tone, Unreadable, write_check_json};
use ohmline_syntax::{Diagnostic, Severity};

use crate::cli::{CheckArgs, Format};
use crate::input::{self, Failure};
use crate::snippet::Snippets;
use crate::terminal::Terminal;
use crate::watch::{Round, watch};
use crate::{Status, watch};

/// Runs the command.
pub fn run(args: &CheckArgs) -> Status {
    let terminal = Terminal::new();
    if args.files.iter().filter(|file| input::is_stdin(file)).count() > 1 {
        terminal.complain("standard input (`-`) can be read only once; name it once");
        return Status::Unusable;
    }
    if args.watch {
        return watch(&args.files, args.format, terminal, || check(args, terminal));
    }
    check(args, terminal).finish(terminal)
}

/// Checks every file once.
fn check(args: &CheckArgs, terminal: Terminal) -> Round {
    let mut round = Round::default();
    let mut analyses: Vec<Analysis> = Vec::new();
    let mut unreadable = Vec::new();
    for file in &args.files {
        match input::analysis(file) {
            Ok(analysis) => {
                round.read_from.extend(input::read_from(&analysis));
                analyses.push(analysis);
            }
            Err(failure) => {
                round.status = Status::Unusable;
                if let Failure::Unreadable(why) = failure {
                    let file = input::name(file);
                    round.said.push_str(&watch::complaint(terminal, &format!("cannot read {file}: {why}")));
                    unreadable.push(Unreadable { file, why });
                }
            }
        }
    }
    let mut tally = Tally::default();
    let mut once = HashSet::new();
    let mut checked = Vec::new();
    for analysis in &analyses {
        let shown: Vec<&Diagnostic> =
            analysis.diagnostics.iter().filter(|one| once.insert(identity(analysis, one))).collect();
        shown.iter().for_each(|one| tally.add(one));
        tally.add_claims(analysis);
        checked.push(Checked { analysis, shown });
    }
    if tally.is_wrong() {
        round.status = round.status.max(Status::Wrong);
    }
    match args.format {
        Format::Json => {
            // Writing into memory cannot fail.
            let _ = write_check_json(&mut round.out, &checked, &unreadable, &tally);
        }
        Format::Text => {
            for file in &checked {
                let mut snippets = Snippets::new(&file.analysis.sources, terminal.out);
                for diagnostic in &file.shown {
                    if args.hints || diagnostic.severity != Severity::Hint {
                        snippets.write(diagnostic, &mut round.out);
                        round.out.push(b'\n');
                    }
                }
            }
            if !checked.is_empty() {
                let what = match args.files.as_slice() {
                    [one] => input::name(one),
                    all if all.len() == checked.len() => format!("{} files", all.len()),
                    all => format!("{} of {} files", checked.len(), all.len()),
                };
                let tone = match (tally.is_wrong(), tally.warnings > 0) {
                    (true, _) => Tone::Bad,
                    (false, true) => Tone::Doubt,
                    (false, false) => Tone::Good,
                };
                let line = terminal.out.tone(tone, &format!("{what}: {}", summary(&tally, args.hints)));
                round.out.extend_from_slice(line.as_bytes());
                round.out.push(b'\n');
            }
        }
    }
    round
}

/// What makes two diagnostics the same, also when they come from two files that include a third.
fn identity<'a>(analysis: &'a Analysis, one: &'a Diagnostic) -> (PathBuf, u32, u32, &'static str, &'a str) {
    let at = one.primary.at;
    let source = analysis.sources.files.get(at.file.0 as usize);
    let file = source.map(|source| source.path.clone().unwrap_or_else(|| source.name.clone().into()));
    (file.unwrap_or_default(), at.span.start, at.span.end, one.rule, &one.message)
}

/// `2 errors, 1 warning; 3 hints (--hints prints them); 4 claims hold, 1 fails`
pub fn summary(tally: &Tally, hints_shown: bool) -> String {
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
    let mut parts = vec![if found.is_empty() { "nothing wrong".to_owned() } else { found.join(", ") }];
    parts.extend(count(tally.hints, "hint", "hints").map(|hints| match (hints_shown, tally.hints) {
        (true, _) => hints,
        (false, 1) => format!("{hints} (--hints prints it)"),
        (false, _) => format!("{hints} (--hints prints them)"),
    }));
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
        assert_eq!(summary(&clean, false), "nothing wrong");
        let tally = Tally { errors: 1, warnings: 2, hints: 3, claims_held: 1, claims_failed: 2, ..clean };
        assert_eq!(
            summary(&tally, false),
            "1 error, 2 warnings; 3 hints (--hints prints them); 1 claim holds, 2 claims fail"
        );
        assert_eq!(summary(&Tally { hints: 1, infos: 1, ..clean }, true), "1 info; 1 hint");
    }
}
