//! The pictures of a worked solution: one for each stage, each laid out after the one before it.

use ohmline_analysis::Analysis;
use ohmline_draw::{Layout, Options, Style, svg};
use ohmline_worked::Stage;

use super::SolutionOptions;
use super::figures::figure;
use super::stage::stage_picture;

/// Draws stage after stage.
pub(super) struct Pictures<'a> {
    analysis: &'a Analysis,
    options: &'a SolutionOptions,
    previous: Option<Layout>,
    count: usize,
    /// Whether the page has the style sheet of the drawings.
    bare: bool,
}

impl<'a> Pictures<'a> {
    pub fn new(analysis: &'a Analysis, options: &'a SolutionOptions, bare: bool) -> Self {
        Self { analysis, options, previous: None, count: 0, bare }
    }

    /// The drawing of a stage as SVG; `None` where there is nothing to draw.
    pub fn draw(&mut self, stage: &Stage) -> Option<String> {
        self.draw_sized(stage).map(|(svg, ..)| svg)
    }

    /// The drawing of a stage with its width and height.
    pub fn draw_sized(&mut self, stage: &Stage) -> Option<(String, i32, i32)> {
        if stage.parts.is_empty() {
            return None;
        }
        self.count += 1;
        let title = self.analysis.circuit.title.as_deref().unwrap_or("The circuit");
        let title = format!("{title}, picture {}", self.count);
        let picture = stage_picture(&self.analysis.circuit, stage, &title, &|own| figure(own, self.options.style));
        let options = Options::default();
        let layout = match &self.previous {
            Some(previous) => Layout::redraw(&picture, previous, &options),
            None => Layout::new(&picture, &options),
        };
        let style = Style { id: format!("p{}-", self.count), bare: self.bare, ..Style::default() };
        let drawn = svg(&picture, &layout, &style);
        let frame = layout.frame?;
        self.previous = Some(layout);
        Some((drawn, frame.x1 - frame.x0, frame.y1 - frame.y0))
    }
}

/// SVG as a data URI (RFC 2397), percent-encoded (RFC 3986).
pub(super) fn data_uri(svg: &str) -> String {
    let mut out = String::from("data:image/svg+xml,");
    for byte in svg.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' | b'=' | b':' | b',' | b';' => {
                out.push(byte as char);
            }
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}
