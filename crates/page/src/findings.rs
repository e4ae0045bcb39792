//! What is wrong with the circuit, as a list.

use std::fmt::Write as _;

use ohmline_analysis::Analysis;
use ohmline_lint::{Told, evidence};
use ohmline_report::html_text;
use ohmline_syntax::{Encoding, Severity};

/// The most steps shown of a proof.
const MOST_STEPS: usize = 40;

/// The findings of a page, hints left out; empty where there are none.
pub fn findings(analysis: &Analysis) -> String {
    let mut out = String::new();
    let shown = analysis.diagnostics.iter().filter(|found| found.severity < Severity::Hint);
    for found in shown {
        let at = found.primary.at;
        let source = analysis.sources.file(at.file);
        let place = source.lines.line_col(&source.tree.text, at.span.start, Encoding::Utf32);
        let word = match found.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
            _ => "note",
        };
        // Writing into a string cannot fail.
        let _ = write!(
            out,
            "<li class=\"{word}\"><p><strong>{word}</strong> {} <span class=\"place\">{}, line {}</span></p>",
            html_text(&found.message),
            html_text(&source.name),
            place.line + 1
        );
        for line in found.notes.iter().chain(&found.help) {
            let _ = write!(out, "<p class=\"aside\">{}</p>", html_text(line));
        }
        if let Some(proof) = evidence(&analysis.context(), found) {
            let Told { title, lines, conclusion } = Told::new(&proof, MOST_STEPS);
            let _ = write!(out, "<details class=\"aside\"><summary>Proof: {}</summary><ol>", html_text(&title));
            for line in &lines {
                let _ = write!(out, "<li>{}</li>", html_text(line));
            }
            let _ = write!(out, "</ol><p>{}.</p></details>", html_text(&conclusion));
        }
        out.push_str("</li>\n");
    }
    if out.is_empty() {
        return out;
    }
    format!(
        "<section class=\"findings\" aria-label=\"What was found\">\n<h2>What was found</h2>\n<ul>\n{out}</ul>\n</section>\n"
    )
}
