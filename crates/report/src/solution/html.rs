//! The worked solution as one HTML file.

use std::fmt::Write as _;

use ohmline_analysis::Analysis;
use ohmline_worked::{Solution, Statement};

use super::pictures::Pictures;
use super::{SolutionOptions, figures, page};
use crate::table::clean;

/// Text in which no character has a meaning in HTML.
fn plain(text: &str) -> String {
    clean(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// The look of the page: readable in print, in light and in dark.
const STYLE: &str = "\
:root { color-scheme: light dark; }
body { font: 1rem/1.5 system-ui, sans-serif; max-width: 52rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.2rem; margin-top: 2rem; border-bottom: 1px solid; } h3 { font-size: 1rem; margin-bottom: .3rem; }
.equation { margin: .2rem 0 .2rem 2rem; padding-left: 1.5rem; text-indent: -1.5rem; }
.structure { font-family: ui-monospace, monospace; font-size: .85rem; overflow-wrap: anywhere; }
table { border-collapse: collapse; } th, td { padding: .2rem .6rem; text-align: left; border-bottom: 1px solid; }
td.number { text-align: right; white-space: nowrap; } section { break-inside: avoid; } figure { margin: .5rem 0; }
@media print { body { margin: 0; max-width: none; } }
";

/// The solution as an HTML file that stands alone, with a drawing after every step that changes the circuit.
pub fn solution_html(analysis: &Analysis, solution: &Solution, options: &SolutionOptions) -> String {
    let mut out = String::new();
    let mut pictures = Pictures::new(analysis, options, false);
    let title = plain(&page::title(analysis, solution.state));
    // Writing into a string cannot fail.
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n\
         <style>\n{STYLE}</style>\n</head>\n<body>\n<h1>{title}</h1>\n"
    );
    for remark in page::precision(options.style).iter().chain(&solution.instead) {
        let _ = writeln!(out, "<p>{}</p>", plain(remark));
    }
    let mut number = 0;
    for chapter in &solution.chapters {
        let _ = writeln!(out, "<h2>{}</h2>", plain(&chapter.title));
        for step in &chapter.steps {
            number += 1;
            let about: Vec<&str> = step.about.iter().map(|name| name.as_str()).collect();
            let _ = writeln!(
                out,
                "<section id=\"step-{number}\" data-about=\"{}\">\n<h3>{}</h3>",
                plain(&about.join(" ")),
                plain(&step.heading)
            );
            for line in &step.lines {
                match line {
                    Statement::Say(line) => {
                        let _ = writeln!(out, "<p>{}</p>", plain(&figures::line(line, options.style)));
                    }
                    Statement::Equation(equation) => {
                        let mut text = String::new();
                        for (index, (sign, side)) in figures::sides(equation, options.style).iter().enumerate() {
                            if index > 0 {
                                let _ = write!(text, " {sign} ");
                            }
                            text.push_str(&plain(side));
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
                    plain(&stage.structure)
                );
            }
            out.push_str("</section>\n");
        }
    }
    out.push_str("<h2>Table</h2>\n<table>\n<tr><th></th><th>R</th><th>I</th><th>V</th><th>P = V × I</th><th>how found</th></tr>\n");
    for row in page::rows(solution, options.style) {
        let [name, numbers @ .., how] = row.map(|cell| plain(&cell));
        let _ = write!(out, "<tr data-row=\"{name}\"><th scope=\"row\">{name}</th>");
        for cell in numbers {
            let _ = write!(out, "<td class=\"number\">{cell}</td>");
        }
        let _ = writeln!(out, "<td>{how}</td></tr>");
    }
    out.push_str("</table>\n");
    if let Some(remark) = page::sign_remark(solution) {
        let _ = writeln!(out, "<p>{}</p>", plain(&remark));
    }
    out.push_str("<h2>Checks, from unrounded values</h2>\n<ul>\n");
    for check in &solution.checks {
        let (text, holds) = page::check(check, options.style);
        let _ = writeln!(out, "<li>{}: {}</li>", if holds { "holds" } else { "<strong>fails</strong>" }, plain(&text));
    }
    out.push_str("</ul>\n");
    let answers = page::answers(analysis, solution.state, options.style);
    let claims = page::claims(analysis, solution.state);
    if !answers.is_empty() || !claims.is_empty() {
        out.push_str("<h2>Answer</h2>\n<ul>\n");
        for line in answers.iter().chain(&claims) {
            let _ = writeln!(out, "<li>{}</li>", plain(line));
        }
        out.push_str("</ul>\n");
    }
    if let Some(changes) = &solution.changes {
        out.push_str("<h2>What this case changes</h2>\n<ul>\n");
        for line in page::chain(changes, options.style) {
            let _ = writeln!(out, "<li>{}</li>", plain(&line));
        }
        out.push_str("</ul>\n<table>\n<tr>");
        for heading in page::CHANGE_HEADINGS {
            let _ = write!(out, "<th>{heading}</th>");
        }
        out.push_str("</tr>\n");
        for row in page::changes(changes, options.style) {
            let [name, cells @ ..] = row.map(|cell| plain(&cell));
            let _ = write!(out, "<tr><th scope=\"row\">{name}</th>");
            for cell in cells {
                let _ = write!(out, "<td class=\"number\">{cell}</td>");
            }
            out.push_str("</tr>\n");
        }
        out.push_str("</table>\n");
    }
    out.push_str("</body>\n</html>\n");
    out
}
