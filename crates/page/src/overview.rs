//! The circuit as drawn, with everything that flows in it.

use ohmline_analysis::Analysis;
use ohmline_circuit::StateId;
use ohmline_circuit::quantity::Style as Numbers;
use ohmline_draw::{Layout, Options, Style, Theme, svg};
use ohmline_report::html_text;
use ohmline_sketch::{LARGEST, Show, SketchOptions, picture};

/// The drawing of a state with its currents and voltages, or why there is none.
pub fn overview(analysis: &Analysis, state: StateId, numbers: Numbers) -> String {
    let picture = picture(analysis, &SketchOptions { show: Show::Solved, style: numbers, state });
    let drawing = match picture.parts.len() {
        0 => "<p>There is nothing to draw yet: no element stands in a path.</p>".to_owned(),
        count if count > LARGEST => {
            format!("<p>A drawing of {count} elements could not be read; {LARGEST} are the most that are drawn.</p>")
        }
        _ => {
            let layout = Layout::new(&picture, &Options::default());
            let style = Style { theme: Theme::Page, id: "whole-".to_owned(), bare: true, ..Style::default() };
            svg(&picture, &layout, &style)
        }
    };
    let caption = match analysis.circuit.states.get(state.index()).and_then(|state| state.name.as_ref()) {
        Some(case) => format!("The circuit in the case \u{201c}{}\u{201d}, and what flows in it", html_text(case)),
        None => "The circuit, and what flows in it".to_owned(),
    };
    format!("<figure id=\"whole\">\n{drawing}\n<figcaption>{caption}</figcaption>\n</figure>\n")
}
