//! The worked solution as HTML, for the page that goes around it.

use std::fmt::Write as _;

use ohmline_analysis::Analysis;
use ohmline_circuit::StateId;
use ohmline_circuit::quantity::Style;
use ohmline_worked::{Solution, Statement};

use super::pictures::Pictures;
use super::{SolutionOptions, figures, page};
use crate::page::element_table;
use crate::table::clean;

/// Text in which no character has a meaning in HTML, as it stands between tags or in an attribute.
pub fn html_text(text: &str) -> String {
    clean(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Every element of a state with its value, current, voltage and power, as an HTML table.
pub fn elements_html(analysis: &Analysis, state: StateId, style: Style) -> String {
    match analysis.answers.states.get(state.index()) {
        Some(answers) => element_table(&analysis.circuit, state, answers, style).html(html_text),
        None => String::new(),
    }
}

/// The worked solution as the inside of an HTML page: a section for each step, with a drawing after every step that changes the
/// circuit, then the table, the checks and the answers. Colors of the drawings are those of the page around: see
/// [`ohmline_draw::Theme::Page`].
///
/// Sections have the class `step` and a `data-about` with the names of the parts they speak of; rows of the table have the
/// element's name as `data-row`.
pub fn solution_body(analysis: &Analysis, solution: &Solution, options: &SolutionOptions) -> String {
    let mut out = String::new();
    let mut pictures = Pictures::new(analysis, options, true);
    for remark in page::precision(options.style).iter().chain(&solution.instead) {
        // Writing into a string cannot fail.
        let _ = writeln!(out, "<p class=\"remark\">{}</p>", html_text(remark));
    }
    let mut number = 0;
    for chapter in &solution.chapters {
        let _ = writeln!(out, "<h2>{}</h2>", html_text(&chapter.title));
        for step in &chapter.steps {
            number += 1;
            let about: Vec<&str> = step.about.iter().map(|name| name.as_str()).collect();
            let _ = writeln!(
                out,
                "<section class=\"step\" id=\"step-{number}\" data-about=\"{}\">\n<h3>{}</h3>",
                html_text(&about.join(" ")),
                html_text(&step.heading)
            );
            for line in &step.lines {
                match line {
                    Statement::Say(line) => {
                        let _ = writeln!(out, "<p>{}</p>", html_text(&figures::line(line, options.style)));
                    }
                    Statement::Equation(equation) => {
                        let mut text = String::new();
                        for (index, (sign, side)) in figures::sides(equation, options.style).iter().enumerate() {
                            if index > 0 {
                                let _ = write!(text, " {sign} ");
                            }
                            text.push_str(&html_text(side));
                        }
                        let _ = writeln!(out, "<p class=\"equation\">{text}</p>");
                    }
                }
            }
            if let Some(stage) = &step.stage
                && !stage.structure.is_empty()
            {
                let _ = writeln!(out, "<figure data-stage=\"{number}\">");
                if let Some(picture) = pictures.draw(stage) {
                    out.push_str(&picture);
                    out.push('\n');
                }
                let _ = writeln!(
                    out,
                    "<figcaption class=\"structure\">{}</figcaption>\n</figure>",
                    html_text(&stage.structure)
                );
            }
            out.push_str("</section>\n");
        }
    }
    out.push_str("<section class=\"table\">\n<h2>Table</h2>\n<div class=\"wide\"><table>\n<tr><th></th><th>R</th><th>I</th><th>V</th><th>P = V × I</th><th>how found</th></tr>\n");
    for row in page::rows(solution, options.style) {
        let [name, numbers @ .., how] = row.map(|cell| html_text(&cell));
        let _ = write!(out, "<tr data-row=\"{name}\"><th scope=\"row\">{name}</th>");
        for cell in numbers {
            let _ = write!(out, "<td class=\"number\">{cell}</td>");
        }
        let _ = writeln!(out, "<td>{how}</td></tr>");
    }
    out.push_str("</table></div>\n");
    if let Some(remark) = page::sign_remark(solution) {
        let _ = writeln!(out, "<p>{}</p>", html_text(&remark));
    }
    out.push_str("</section>\n");
    out.push_str("<h2>Checks, from unrounded values</h2>\n<ul>\n");
    for check in &solution.checks {
        let (text, holds) = page::check(check, options.style);
        let _ =
            writeln!(out, "<li>{}: {}</li>", if holds { "holds" } else { "<strong>fails</strong>" }, html_text(&text));
    }
    out.push_str("</ul>\n");
    let answers = page::answers(analysis, solution.state, options.style);
    let claims = page::claims(analysis, solution.state);
    if !answers.is_empty() || !claims.is_empty() {
        out.push_str("<h2>Answer</h2>\n<ul>\n");
        for line in answers.iter().chain(&claims) {
            let _ = writeln!(out, "<li>{}</li>", html_text(line));
        }
        out.push_str("</ul>\n");
    }
    if let Some(changes) = &solution.changes {
        out.push_str("<h2>What this case changes</h2>\n<ul>\n");
        for line in page::chain(changes, options.style) {
            let _ = writeln!(out, "<li>{}</li>", html_text(&line));
        }
        out.push_str("</ul>\n<div class=\"wide\"><table>\n<tr>");
        for heading in page::CHANGE_HEADINGS {
            let _ = write!(out, "<th>{heading}</th>");
        }
        out.push_str("</tr>\n");
        for row in page::changes(changes, options.style) {
            let [name, cells @ ..] = row.map(|cell| html_text(&cell));
            let _ = write!(out, "<tr><th scope=\"row\">{name}</th>");
            for cell in cells {
                let _ = write!(out, "<td class=\"number\">{cell}</td>");
            }
            out.push_str("</tr>\n");
        }
        out.push_str("</table></div>\n");
    }
    out
}
