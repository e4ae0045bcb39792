//! The worked solution as text.

use ohmline_analysis::Analysis;
use ohmline_worked::{Solution, Statement};

use super::{SolutionOptions, figures, page};
use crate::paint::Tone;
use crate::table::{Cell, Table, clean, width};

/// The solution as text for a terminal or a plain file.
pub fn solution_text(analysis: &Analysis, solution: &Solution, options: &SolutionOptions) -> String {
    let mut out = Out { options, text: String::new() };
    out.heading(&page::title(analysis, solution.state), "");
    if let Some(precision) = page::precision(options.style) {
        out.words(2, &precision);
    }
    if let Some(instead) = &solution.instead {
        out.words(2, instead);
    }
    let mut number = 0;
    let mut structure = "";
    for chapter in &solution.chapters {
        number += 1;
        out.heading(&format!("{number}  {}", chapter.title), "\n");
        for (index, step) in chapter.steps.iter().enumerate() {
            if index > 0 {
                out.text.push('\n');
            }
            let label = if chapter.steps.len() > 1 { format!("{number}.{}  ", index + 1) } else { String::new() };
            out.words(2, &format!("{label}{}", step.heading));
            for line in &step.lines {
                match line {
                    Statement::Say(line) => out.words(4, &figures::line(line, options.style)),
                    Statement::Equation(equation) => out.equation(6, &figures::sides(equation, options.style)),
                }
            }
            if let Some(stage) = &step.stage
                && stage.structure != structure
            {
                structure = &stage.structure;
                out.words(4, &format!("Circuit: {}", stage.structure));
            }
        }
    }
    number += 1;
    out.heading(&format!("{number}  Table"), "\n");
    let mut table = Table::new(["", "R", "I", "V", "P = V × I", "how found"]);
    for row in page::rows(solution, options.style) {
        let [name, ohms, current, voltage, power, how] = row;
        let cell = |text: &String| if text.is_empty() { Cell::empty() } else { Cell::shown(text) };
        table.row(vec![Cell::text(name), cell(&ohms), cell(&current), cell(&voltage), cell(&power), Cell::text(how)]);
    }
    table.write(&mut out.text, 2, options.paint);
    if let Some(remark) = page::sign_remark(solution) {
        out.words(2, &remark);
    }
    if !solution.checks.is_empty() {
        number += 1;
        out.heading(&format!("{number}  Checks, from unrounded values"), "\n");
    }
    for check in &solution.checks {
        let (text, holds) = page::check(check, options.style);
        let (word, tone) = if holds { ("holds", Tone::Good) } else { ("fails", Tone::Bad) };
        let painted = options.paint.tone(tone, word);
        out.hanging(&format!("  {painted}   "), 10, &text);
    }
    let answers = page::answers(analysis, solution.state, options.style);
    let claims = page::claims(analysis, solution.state);
    if !answers.is_empty() || !claims.is_empty() {
        number += 1;
        out.heading(&format!("{number}  Answer"), "\n");
        for line in answers.iter().chain(&claims) {
            out.hanging("  ", 4, line);
        }
    }
    if let Some(changes) = &solution.changes {
        number += 1;
        out.heading(&format!("{number}  What this case changes"), "\n");
        for line in page::chain(changes, options.style) {
            out.hanging("  ", 4, &line);
        }
        let mut table = Table::new(page::CHANGE_HEADINGS);
        for row in page::changes(changes, options.style) {
            let numeric = |at: usize| !at.is_multiple_of(3);
            table.row(
                row.iter()
                    .enumerate()
                    .map(|(at, text)| match text.as_str() {
                        "" => Cell::empty(),
                        text if numeric(at) => Cell::shown(text),
                        text => Cell::text(text),
                    })
                    .collect(),
            );
        }
        if !table.is_empty() {
            out.text.push('\n');
            table.write(&mut out.text, 2, options.paint);
        }
    }
    out.text.replace(figures::BLANK, " ")
}

/// The words in lines of at most `room` columns; a no-break space ends none.
fn wrap(text: &str, room: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let line = lines.last_mut().map_or(0, |line| width(line));
        if line > 0 && line + 1 + width(word) > room {
            lines.push(String::new());
        }
        // There is always one.
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

struct Out<'a> {
    options: &'a SolutionOptions,
    text: String,
}

impl Out<'_> {
    fn heading(&mut self, text: &str, before: &str) {
        self.text.push_str(before);
        self.text.push_str(&self.options.paint.tone(Tone::Strong, text));
        self.text.push('\n');
    }

    fn words(&mut self, indent: usize, text: &str) {
        let blanks = " ".repeat(indent);
        self.hanging(&blanks, indent, text);
    }

    /// A first line after `lead`, further ones indented.
    fn hanging(&mut self, lead: &str, indent: usize, text: &str) {
        for (index, line) in wrap(&clean(text), self.options.width.saturating_sub(indent).max(30)).iter().enumerate() {
            if index == 0 {
                self.text.push_str(lead);
            } else {
                self.text.push_str(&" ".repeat(indent));
            }
            self.text.push_str(line);
            self.text.push('\n');
        }
    }

    /// An equation, broken before its signs where it is long.
    fn equation(&mut self, indent: usize, sides: &[(&'static str, String)]) {
        let mut line = " ".repeat(indent);
        let hang = indent + sides.first().map_or(0, |(_, first)| width(first)).min(24) + 1;
        for (index, (sign, side)) in sides.iter().enumerate() {
            let piece = if index == 0 { clean(side) } else { format!("{sign} {}", clean(side)) };
            if index > 1 && width(&line) + 1 + width(&piece) > self.options.width {
                self.text.push_str(&line);
                self.text.push('\n');
                line = " ".repeat(hang);
            } else if index > 0 {
                line.push(' ');
            }
            line.push_str(&piece);
        }
        self.text.push_str(&line);
        self.text.push('\n');
    }
}
