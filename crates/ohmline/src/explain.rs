//! `ohmline explain`

use std::fmt::Write as _;

use ohmline_lint::{Group, Meta, all_metas};
use ohmline_report::{Tone, wrap};
use ohmline_syntax::words::nearest;

use crate::Status;
use crate::cli::{ExplainArgs, ExplainFormat};
use crate::terminal::Terminal;

/// Columns of text.
const WIDTH: usize = 88;

/// Runs the command.
pub fn run(args: &ExplainArgs) -> Status {
    let terminal = Terminal::new();
    let metas = all_metas();
    let mut out = String::new();
    if args.rules.is_empty() {
        list(&mut out, &metas, args.format, terminal);
    }
    for (number, name) in args.rules.iter().enumerate() {
        let Some(meta) = metas.iter().find(|meta| meta.name == *name) else {
            let close = nearest(name, metas.iter().map(|meta| meta.name));
            let hint = close.map_or_else(
                || "`ohmline explain` lists all rules".to_owned(),
                |close| format!("did you mean `{close}`?"),
            );
            terminal.complain(&format!("there is no rule `{name}`; {hint}"));
            return Status::Unusable;
        };
        if number > 0 {
            out.push('\n');
        }
        match args.format {
            ExplainFormat::Text => text(&mut out, meta, terminal),
            ExplainFormat::Markdown => markdown(&mut out, meta),
        }
    }
    let _ = terminal.write(out.as_bytes());
    Status::Fine
}

fn list(out: &mut String, metas: &[Meta], format: ExplainFormat, terminal: Terminal) {
    for group in Group::ALL {
        let mut own: Vec<&Meta> = metas.iter().filter(|meta| meta.group == *group).collect();
        if own.is_empty() {
            continue;
        }
        own.sort_by_key(|meta| meta.name);
        if !out.is_empty() {
            out.push('\n');
        }
        match format {
            ExplainFormat::Text => {
                let _ = writeln!(out, "{}", terminal.out.tone(Tone::Strong, group.title()));
                for meta in own {
                    let _ = writeln!(out, "  {:<26} {:<8} {}", meta.name, meta.severity.word(), meta.summary);
                }
            }
            ExplainFormat::Markdown => {
                let _ = writeln!(out, "## {}\n\n| rule | usually | what it finds |\n|---|---|---|", group.title());
                for meta in own {
                    let _ = writeln!(
                        out,
                        "| `{}` | {} | {} |",
                        meta.name,
                        meta.severity.word(),
                        meta.summary.replace('|', "\\|")
                    );
                }
            }
        }
    }
}

/// What is known about a rule, section by section: heading and paragraph.
fn sections(meta: &Meta) -> Vec<(&'static str, &'static str)> {
    [("Why it matters", meta.why), ("When to ignore it", meta.ignore_when), ("What its fix does", meta.fix)]
        .into_iter()
        .filter(|(_, text)| !text.is_empty())
        .collect()
}

fn text(out: &mut String, meta: &Meta, terminal: Terminal) {
    let head = terminal.out.tone(Tone::Strong, meta.name);
    let _ = writeln!(out, "{head}  ({}, {})", meta.severity.word(), meta.group.title());
    let paragraph = |out: &mut String, text: &str| {
        for line in wrap(text, WIDTH) {
            let _ = writeln!(out, "  {line}");
        }
    };
    paragraph(out, meta.summary);
    for (heading, body) in sections(meta) {
        let _ = writeln!(out, "\n{}", terminal.out.tone(Tone::Strong, heading));
        paragraph(out, body);
    }
    for (heading, example) in [("An example that is reported", meta.bad), ("The same, mended", meta.good)] {
        if !example.is_empty() {
            let _ = writeln!(out, "\n{}", terminal.out.tone(Tone::Strong, heading));
            for line in example.trim_end().lines() {
                let _ = writeln!(out, "    {line}");
            }
        }
    }
}

fn markdown(out: &mut String, meta: &Meta) {
    let _ = writeln!(out, "# `{}`\n\n{} ({}, {}).", meta.name, meta.summary, meta.severity.word(), meta.group.title());
    for (heading, body) in sections(meta) {
        let _ = writeln!(out, "\n## {heading}\n\n{body}");
    }
    for (heading, example) in [("An example that is reported", meta.bad), ("The same, mended", meta.good)] {
        if !example.is_empty() {
            let _ = writeln!(out, "\n## {heading}\n\n```ohmline\n{}\n```", example.trim_end());
        }
    }
}
