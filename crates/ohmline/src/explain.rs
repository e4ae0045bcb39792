//! `ohmline explain`

use std::fmt::Write as _;

use ohmline_lint::{Group, Meta, all_metas};
use ohmline_report::{Tone, wrap};
use ohmline_syntax::words::nearest;

use crate::Status;
use crate::cli::{ExplainArgs, ExplainFormat, ExplainShow};
use crate::terminal::Terminal;

/// Columns of text.
const WIDTH: usize = 88;
/// Rules of a group that are named in the shortest table.
const FEW: usize = 5;

/// Runs the command.
pub fn run(args: &ExplainArgs) -> Status {
    let terminal = Terminal::new();
    let metas = all_metas();
    let mut out = String::new();
    if args.rules.is_empty() {
        match args.show {
            ExplainShow::Groups => groups(&mut out, metas, args.format, terminal),
            ExplainShow::Lines => list(&mut out, metas, args.format, terminal),
            ExplainShow::Pages => pages(&mut out, metas, args.format, terminal),
        }
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
            ExplainFormat::Markdown => markdown(&mut out, meta, 1),
        }
    }
    let _ = terminal.write(out.as_bytes());
    Status::Fine
}

/// The groups that have rules, each with its rules by name.
fn grouped(metas: &[Meta]) -> impl Iterator<Item = (Group, Vec<&Meta>)> {
    Group::ALL.iter().filter_map(|group| {
        let mut own: Vec<&Meta> = metas.iter().filter(|meta| meta.group == *group).collect();
        own.sort_by_key(|meta| meta.name);
        (!own.is_empty()).then_some((*group, own))
    })
}

fn groups(out: &mut String, metas: &[Meta], format: ExplainFormat, terminal: Terminal) {
    if format == ExplainFormat::Markdown {
        out.push_str("| about | rules | among them |\n|---|---|---|\n");
    }
    for (group, own) in grouped(metas) {
        let names: Vec<&str> = own.iter().map(|meta| meta.name).collect();
        match format {
            ExplainFormat::Text => {
                let _ = writeln!(out, "{} ({})", terminal.out.tone(Tone::Strong, group.title()), own.len());
                for line in wrap(&names.join(", "), WIDTH) {
                    let _ = writeln!(out, "  {line}");
                }
            }
            ExplainFormat::Markdown => {
                // Those that matter most, so that the table stays one to be read.
                let mut first = own.clone();
                first.sort_by_key(|meta| meta.severity);
                let few: Vec<String> = first.iter().take(FEW).map(|meta| format!("`{}`", meta.name)).collect();
                let _ = writeln!(out, "| {} | {} | {} |", group.title(), own.len(), few.join(", "));
            }
        }
    }
}

fn list(out: &mut String, metas: &[Meta], format: ExplainFormat, terminal: Terminal) {
    for (group, own) in grouped(metas) {
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

fn pages(out: &mut String, metas: &[Meta], format: ExplainFormat, terminal: Terminal) {
    for (group, own) in grouped(metas) {
        if format == ExplainFormat::Markdown {
            let _ = writeln!(out, "{}## {}", if out.is_empty() { "" } else { "\n" }, group.title());
        }
        for meta in own {
            if !out.is_empty() {
                out.push('\n');
            }
            match format {
                ExplainFormat::Text => text(out, meta, terminal),
                ExplainFormat::Markdown => markdown(out, meta, 3),
            }
        }
    }
}

/// What is known about a rule, section by section: heading and paragraph.
fn sections(meta: &Meta) -> Vec<(&'static str, String)> {
    [("Why it matters", meta.why), ("When to ignore it", meta.ignore_when), ("What its fix does", meta.fix)]
        .into_iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(heading, text)| (heading, if text.ends_with('.') { text.to_owned() } else { format!("{text}.") }))
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
        paragraph(out, &body);
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

/// A rule as a page, or as a part of one: `depth` is that of its heading.
fn markdown(out: &mut String, meta: &Meta, depth: usize) {
    let (head, below) = ("#".repeat(depth), "#".repeat(depth + 1));
    let (summary, level) = (markdown_text(meta.summary), meta.severity.word());
    let _ = writeln!(out, "{head} `{}`\n\n{summary} ({level}, {}).", meta.name, meta.group.title());
    for (heading, body) in sections(meta) {
        let _ = writeln!(out, "\n{below} {heading}\n\n{}", markdown_text(&body));
    }
    for (heading, example) in [("An example that is reported", meta.bad), ("The same, mended", meta.good)] {
        if !example.is_empty() {
            let _ = writeln!(out, "\n{below} {heading}\n\n```ohmline\n{}\n```", example.trim_end());
        }
    }
}

/// Words of ours as Markdown: outside of code, signs that would begin a tag or emphasis stand for themselves.
fn markdown_text(text: &str) -> String {
    let mut out = String::new();
    let mut code = false;
    for c in text.chars() {
        code ^= c == '`';
        if !code && matches!(c, '<' | '*' | '_') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}
