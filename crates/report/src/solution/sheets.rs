//! The worked solution on sheets of paper: A4 pages (ISO 216) as SVG, ready to be printed.

use std::fmt::Write as _;

use ohmline_analysis::Analysis;
use ohmline_draw::{Face, text_width};
use ohmline_worked::{Solution, Statement};

use super::pictures::Pictures;
use super::{SolutionOptions, figures, page};
use crate::table::clean;

/// A4 in CSS pixels of 1/96 inch.
const WIDE: i32 = 794;
const HIGH: i32 = 1123;
const MARGIN: i32 = 62;
const ROOM: i32 = WIDE - 2 * MARGIN;
/// Size of running text.
const TEXT: i32 = 13;

fn escape(text: &str) -> String {
    clean(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace(figures::BLANK, " ")
}

/// Something that stands on a sheet: its height, and itself at height zero.
struct Item {
    high: i32,
    svg: String,
}

fn line(text: &str, face: Face, size: i32, indent: i32) -> Item {
    let weight = if face == Face::SemiBold { " font-weight=\"600\"" } else { "" };
    Item {
        high: size * 3 / 2,
        svg: format!(
            "<text x=\"{}\" y=\"{size}\" font-size=\"{size}\"{weight}>{}</text>",
            MARGIN + indent,
            escape(text)
        ),
    }
}

/// A paragraph, broken at blanks.
fn paragraph(text: &str, face: Face, size: i32, indent: i32, hanging: i32) -> Vec<Item> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in clean(text).split(' ').filter(|word| !word.is_empty()) {
        let own = lines.len() - 1;
        let room = ROOM - indent - if own > 0 { hanging } else { 0 };
        let longer = if lines[own].is_empty() { word.to_owned() } else { format!("{} {word}", lines[own]) };
        if !lines[own].is_empty() && text_width(face, size, &longer) > room {
            lines.push(word.to_owned());
        } else {
            lines[own] = longer;
        }
    }
    lines
        .iter()
        .enumerate()
        .map(|(at, text)| line(text, face, size, indent + if at > 0 { hanging } else { 0 }))
        .collect()
}

/// Sheets being filled.
#[derive(Default)]
struct Sheets {
    pages: Vec<String>,
    at: i32,
}

impl Sheets {
    /// Puts items below each other, on the next sheet where they do not fit together on this one.
    fn put(&mut self, items: Vec<Item>) {
        let high: i32 = items.iter().map(|item| item.high).sum();
        if self.pages.is_empty() || (self.at + high > HIGH - MARGIN && high < HIGH - 2 * MARGIN) {
            self.turn();
        }
        for item in items {
            if self.at + item.high > HIGH - MARGIN {
                self.turn();
            }
            if let Some(page) = self.pages.last_mut() {
                let _ = writeln!(page, "<g transform=\"translate(0 {})\">{}</g>", self.at, item.svg);
            }
            self.at += item.high;
        }
    }

    fn gap(&mut self, high: i32) {
        self.at += high;
    }

    fn turn(&mut self) {
        self.pages.push(String::new());
        self.at = MARGIN;
    }

    fn finish(self) -> Vec<String> {
        let count = self.pages.len();
        self.pages
            .into_iter()
            .enumerate()
            .map(|(at, body)| {
                format!(
                    "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDE}\" height=\"{HIGH}\" viewBox=\"0 0 {WIDE} {HIGH}\" \
                     font-family=\"Inter\" fill=\"#16191d\">\n<rect width=\"{WIDE}\" height=\"{HIGH}\" fill=\"#ffffff\"/>\n{body}\
                     <text x=\"{}\" y=\"{}\" font-size=\"11\" text-anchor=\"end\">{} / {count}</text>\n</svg>\n",
                    WIDE - MARGIN,
                    HIGH - MARGIN / 2,
                    at + 1
                )
            })
            .collect()
    }
}

/// The table, its columns as wide as they have to be.
fn table(rows: &[Vec<String>], headings: &[&str]) -> Vec<Item> {
    let size = 12;
    let count = headings.len();
    let mut wide = vec![0; count];
    let head: Vec<String> = headings.iter().map(|text| (*text).to_owned()).collect();
    for row in std::iter::once(&head).chain(rows) {
        for (own, cell) in wide.iter_mut().zip(row) {
            *own = (*own).max(text_width(Face::Regular, size, cell));
        }
    }
    let draw = |row: &[String], face: Face| {
        let mut svg = String::new();
        let mut x = MARGIN;
        for ((cell, wide), at) in row.iter().zip(&wide).zip(0..) {
            // Numbers stand at the right of their column, words at the left.
            let number = at > 0 && at + 1 < count;
            let (place, anchor) = if number { (x + wide, " text-anchor=\"end\"") } else { (x, "") };
            let weight = if face == Face::SemiBold { " font-weight=\"600\"" } else { "" };
            let _ = write!(
                svg,
                "<text x=\"{place}\" y=\"{size}\" font-size=\"{size}\"{anchor}{weight}>{}</text>",
                escape(cell)
            );
            x += wide + 16;
        }
        let _ = write!(
            svg,
            "<path d=\"M{MARGIN} {0}H{1}\" stroke=\"#8b9097\" stroke-width=\".6\"/>",
            size + 6,
            MARGIN + ROOM
        );
        Item { high: 21, svg }
    };
    let mut items = vec![draw(&head, Face::SemiBold)];
    items.extend(rows.iter().map(|row| draw(row, Face::Regular)));
    items
}

/// The solution as A4 pages, each an SVG.
pub fn solution_sheets(analysis: &Analysis, solution: &Solution, options: &SolutionOptions) -> Vec<String> {
    let mut sheets = Sheets::default();
    let mut pictures = Pictures::new(analysis, options, false);
    sheets.put(paragraph(&page::title(analysis, solution.state), Face::SemiBold, 22, 0, 0));
    sheets.gap(6);
    for remark in page::precision(options.style).iter().chain(&solution.instead) {
        sheets.put(paragraph(remark, Face::Regular, TEXT, 0, 0));
    }
    let chapter_heading = |sheets: &mut Sheets, text: &str| {
        sheets.gap(14);
        // Never alone at the foot of a sheet.
        if sheets.at > HIGH - 3 * MARGIN {
            sheets.turn();
        }
        sheets.put(vec![line(text, Face::SemiBold, 17, 0)]);
    };
    let mut number = 0;
    let mut structure = "";
    for chapter in &solution.chapters {
        number += 1;
        chapter_heading(&mut sheets, &format!("{number}  {}", chapter.title));
        for (index, step) in chapter.steps.iter().enumerate() {
            let label = if chapter.steps.len() > 1 { format!("{number}.{}  ", index + 1) } else { String::new() };
            let mut items = paragraph(&format!("{label}{}", step.heading), Face::SemiBold, TEXT, 0, 24);
            for statement in &step.lines {
                items.extend(match statement {
                    Statement::Say(own) => paragraph(&figures::line(own, options.style), Face::Regular, TEXT, 0, 0),
                    Statement::Equation(equation) => {
                        let mut text = String::new();
                        for (at, (sign, side)) in figures::sides(equation, options.style).iter().enumerate() {
                            if at > 0 {
                                let _ = write!(text, " {sign} ");
                            }
                            text.push_str(side);
                        }
                        paragraph(&text, Face::Regular, TEXT, 24, 24)
                    }
                });
            }
            if let Some(stage) = &step.stage
                && stage.structure != structure
            {
                structure = &stage.structure;
                if let Some((svg, wide, high)) = pictures.draw_sized(stage) {
                    let scale = (f64::from(ROOM) / f64::from(wide)).min(0.8);
                    let (w, h) = (f64::from(wide) * scale, f64::from(high) * scale);
                    let size = format!(" width=\"{wide}\" height=\"{high}\"");
                    let placed = svg.replacen("<svg ", &format!("<svg x=\"{MARGIN}\" y=\"6\" "), 1).replacen(
                        &size,
                        &format!(" width=\"{w:.1}\" height=\"{h:.1}\""),
                        1,
                    );
                    items.push(Item { high: h as i32 + 12, svg: placed });
                }
            }
            sheets.put(items);
            sheets.gap(9);
        }
    }
    number += 1;
    chapter_heading(&mut sheets, &format!("{number}  Table"));
    let rows: Vec<Vec<String>> = page::rows(solution, options.style).into_iter().map(Vec::from).collect();
    sheets.put(table(&rows, &["", "R", "I", "V", "P = V × I", "how found"]));
    if let Some(remark) = page::sign_remark(solution) {
        sheets.gap(6);
        sheets.put(paragraph(&remark, Face::Regular, TEXT, 0, 0));
    }
    if !solution.checks.is_empty() {
        number += 1;
        chapter_heading(&mut sheets, &format!("{number}  Checks, from unrounded values"));
        for check in &solution.checks {
            let (text, holds) = page::check(check, options.style);
            let text = format!("{}:  {text}", if holds { "holds" } else { "FAILS" });
            sheets.put(paragraph(&text, Face::Regular, TEXT, 0, 24));
        }
    }
    let answers = page::answers(analysis, solution.state, options.style);
    let claims = page::claims(analysis, solution.state);
    if !answers.is_empty() || !claims.is_empty() {
        number += 1;
        chapter_heading(&mut sheets, &format!("{number}  Answer"));
        for text in answers.iter().chain(&claims) {
            sheets.put(paragraph(text, Face::Regular, TEXT, 0, 24));
        }
    }
    if let Some(changes) = &solution.changes {
        number += 1;
        chapter_heading(&mut sheets, &format!("{number}  What this case changes"));
        for text in page::chain(changes, options.style) {
            sheets.put(paragraph(&text, Face::Regular, TEXT, 0, 24));
        }
        sheets.gap(6);
        let rows: Vec<Vec<String>> = page::changes(changes, options.style).into_iter().map(Vec::from).collect();
        if !rows.is_empty() {
            sheets.put(table(&rows, &page::CHANGE_HEADINGS));
        }
    }
    sheets.finish()
}
