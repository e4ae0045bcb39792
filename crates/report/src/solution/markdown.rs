//! The worked solution as Markdown.

use std::fmt::Write as _;

use ohmline_analysis::Analysis;
use ohmline_worked::{Solution, Statement};

use super::pictures::{Pictures, data_uri};
use super::{SolutionOptions, figures, page};
use crate::table::clean;

/// Text in which no character has a meaning in Markdown.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for c in clean(text).chars() {
        if matches!(c, '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '#') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// The solution as Markdown.
pub fn solution_markdown(analysis: &Analysis, solution: &Solution, options: &SolutionOptions) -> String {
    let mut out = String::new();
    // Writing into a string cannot fail.
    let _ = writeln!(out, "# {}\n", plain(&page::title(analysis, solution.state)));
    for remark in page::precision(options.style).iter().chain(&solution.instead) {
        let _ = writeln!(out, "{}\n", plain(remark));
    }
    let mut structure = "";
    let mut pictures = Pictures::new(analysis, options, false);
    for chapter in &solution.chapters {
        let _ = writeln!(out, "## {}\n", plain(&chapter.title));
        for (index, step) in chapter.steps.iter().enumerate() {
            let label = if chapter.steps.len() > 1 { format!("{}. ", index + 1) } else { String::new() };
            let _ = writeln!(out, "### {label}{}\n", plain(&step.heading));
            let mut equations = String::new();
            let flush = |out: &mut String, equations: &mut String| {
                if !equations.is_empty() {
                    let _ = write!(out, "```text\n{equations}```\n\n");
                    equations.clear();
                }
            };
            for line in &step.lines {
                match line {
                    Statement::Say(line) => {
                        flush(&mut out, &mut equations);
                        let _ = writeln!(out, "{}\n", plain(&figures::line(line, options.style)));
                    }
                    Statement::Equation(equation) => {
                        let sides = figures::sides(equation, options.style);
                        for (index, (sign, side)) in sides.iter().enumerate() {
                            let lead = if index == 0 { String::new() } else { format!(" {sign} ") };
                            equations.push_str(&lead);
                            equations.push_str(&clean(side));
                        }
                        equations.push('\n');
                    }
                }
            }
            flush(&mut out, &mut equations);
            if let Some(stage) = &step.stage
                && stage.structure != structure
            {
                structure = &stage.structure;
                if let Some(picture) = pictures.draw(stage) {
                    let _ = writeln!(out, "![The circuit at this step]({})\n", data_uri(&picture));
                }
                let _ = writeln!(out, "Circuit: `{}`\n", clean(&stage.structure));
            }
        }
    }
    let _ = writeln!(out, "## Table\n\n| | R | I | V | P = V × I | how found |\n|---|---:|---:|---:|---:|---|");
    for row in page::rows(solution, options.style) {
        let cells: Vec<String> = row.iter().map(|cell| plain(cell)).collect();
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    }
    out.push('\n');
    if let Some(remark) = page::sign_remark(solution) {
        let _ = writeln!(out, "{}\n", plain(&remark));
    }
    if !solution.checks.is_empty() {
        let _ = writeln!(out, "## Checks, from unrounded values\n");
    }
    for check in &solution.checks {
        let (text, holds) = page::check(check, options.style);
        let _ = writeln!(out, "- {}: {}", if holds { "holds" } else { "**fails**" }, plain(&text));
    }
    let answers = page::answers(analysis, solution.state, options.style);
    let claims = page::claims(analysis, solution.state);
    if !answers.is_empty() || !claims.is_empty() {
        let _ = writeln!(out, "\n## Answer\n");
        for line in answers.iter().chain(&claims) {
            let _ = writeln!(out, "- {}", plain(line));
        }
    }
    if let Some(changes) = &solution.changes {
        let _ = writeln!(out, "\n## What this case changes\n");
        for line in page::chain(changes, options.style) {
            let _ = writeln!(out, "- {}", plain(&line));
        }
        let rows = page::changes(changes, options.style);
        if !rows.is_empty() {
            let _ = writeln!(out, "\n| {} |\n|{}", page::CHANGE_HEADINGS.join(" | "), "---|".repeat(10));
            for row in rows {
                let cells: Vec<String> = row.iter().map(|cell| plain(cell)).collect();
                let _ = writeln!(out, "| {} |", cells.join(" | "));
            }
        }
    }
    out
}
