//! `ohmline format`

use std::path::Path;

use ohmline_analysis::markdown::blocks;
use ohmline_format::{Change, apply, changes};
use ohmline_report::Tone;
use ohmline_syntax::LineIndex;

use crate::Status;
use crate::cli::FormatArgs;
use crate::fault::guard;
use crate::input;
use crate::settings::is_settings;
use crate::terminal::Terminal;
use crate::write::replace;

/// Most lines that are shown of one file.
const SHOWN: usize = 20;

/// Runs the command.
pub fn run(args: &FormatArgs) -> Status {
    let terminal = Terminal::new();
    if args.files.iter().filter(|file| input::is_stdin(file)).count() > 1 {
        terminal.complain("standard input (`-`) can be read only once; name it once");
        return Status::Unusable;
    }
    let mut status = Status::Fine;
    let (mut changed, mut kept) = (0, 0);
    for file in &args.files {
        let done = one(file, args.check, terminal);
        match done {
            Ok(true) => changed += 1,
            Ok(false) => kept += 1,
            Err(why) => {
                terminal.complain(&format!("{}: {why}", input::name(file)));
                status = Status::Unusable;
            }
        }
    }
    if args.check {
        if changed > 0 {
            status = status.max(Status::Wrong);
        }
        let them = |count: usize| if count == 1 { "1 file".to_owned() } else { format!("{count} files") };
        let line = match (changed, kept) {
            (0, kept) => format!("{} formatted", them(kept)),
            (changed, 0) => format!("{} not formatted", them(changed)),
            (changed, kept) => format!("{} not formatted, {kept} formatted", them(changed)),
        };
        terminal.say(&format!("{line}\n"));
    }
    status
}

/// Formats a file; whether anything changes.
fn one(file: &Path, check: bool, terminal: Terminal) -> Result<bool, String> {
    let is_stdin = input::is_stdin(file);
    if is_settings(file) {
        return Err(input::NO_CIRCUIT.to_owned());
    }
    let read =
        if is_stdin { ohmline_files::read_all(std::io::stdin().lock()) } else { ohmline_files::read_named(file) };
    let text = read?;
    if text.oddity.is_some() && !is_stdin {
        // Writing it back would turn what could not be read into something else.
        return Err("it is no plain UTF-8, so it is left as it is".to_owned());
    }
    let found = guard(&input::name(file), || changed(file, &text.text)).ok_or("it could not be formatted")?;
    let is_changed = !found.is_empty();
    if check {
        if is_changed {
            let _ = terminal.write(difference(&input::name(file), &text.text, &found, terminal).as_bytes());
        }
    } else if is_stdin {
        // A reader that went away has all it wanted.
        let _ = terminal.write(apply(&text.text, &found).as_bytes());
    } else if is_changed {
        replace(file, &apply(&text.text, &found)).map_err(|why| format!("cannot write it: {why}"))?;
    }
    Ok(is_changed)
}

/// What changes in a text: in a Markdown document, in its circuits alone.
fn changed(file: &Path, text: &str) -> Vec<Change> {
    if !input::is_document(file) {
        return changes(text);
    }
    let mut out = Vec::new();
    for block in blocks(text) {
        let alone = block.around.alone(text);
        let own = changes(&alone.text).into_iter();
        out.extend(own.map(|change| Change { span: alone.span(change.span), text: change.text }));
    }
    out
}

/// The lines that change, old and new.
fn difference(name: &str, text: &str, found: &[Change], terminal: Terminal) -> String {
    let lines = LineIndex::new(text);
    let mut out = format!("{}\n", terminal.out.tone(Tone::Strong, name));
    let mut number = 0;
    let mut shown = 0;
    while number < found.len() {
        let line = lines.line_of(found[number].span.start);
        let from = number;
        while number < found.len() && lines.line_of(found[number].span.start) == line {
            number += 1;
        }
        if shown == SHOWN {
            out.push_str("  ...\n");
            break;
        }
        shown += 1;
        let start = lines.line_start(line).unwrap_or(0);
        let end = text[start as usize..].find(['\n', '\r']).map_or(text.len() as u32, |length| start + length as u32);
        let own: Vec<Change> = found[from..number]
            .iter()
            .map(|change| Change {
                span: ohmline_syntax::Span::new(change.span.start - start, change.span.end - start),
                text: change.text.clone(),
            })
            .collect();
        let old = &text[start as usize..end as usize];
        out.push_str(&terminal.out.tone(Tone::Bad, &format!("  {:>4} - {old}", line + 1)));
        out.push('\n');
        out.push_str(
            &terminal.out.tone(Tone::Good, &format!("       + {}", apply(old, &own).trim_end_matches(['\n', '\r']))),
        );
        out.push('\n');
    }
    out
}
