//! Layout to SVG.

use std::fmt::Write;

use crate::geometry::{Point, Rect, at};
use crate::label::{self, Anchor, GROUND, NAME, Role, SMALL, VALUE};
use crate::layout::{Layout, Tag, TagSide};
use crate::loops;
use crate::picture::{Mark, Picture};
use crate::symbols;
use crate::words::{Manner, describe};

/// Which standard the symbols follow.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Standard {
    /// IEC 60617.
    #[default]
    Iec,
    /// IEEE 315.
    Ieee,
}

/// Light or dark.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Theme {
    /// As the reader's system prefers.
    #[default]
    Auto,
    /// Dark lines on white.
    Light,
    /// Light lines on a dark ground.
    Dark,
    /// The colors of the page around: its properties `--ground`, `--ink`, `--quiet` and `--dim`.
    Page,
}

/// How a drawing is written.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Style {
    /// Its symbols.
    pub standard: Standard,
    /// Its colors.
    pub theme: Theme,
    /// Whether the description in words gives series and parallel away.
    pub manner: Manner,
    /// Put before ids, so that several drawings can stand in one page.
    pub id: String,
    /// Whether the style sheet is left out, since the page around has it ([`css`]).
    pub bare: bool,
}

const LIGHT: [&str; 4] = ["#ffffff", "#16191d", "#4a5058", "#8b9097"];
const PAGE: [&str; 4] = ["var(--ground)", "var(--ink)", "var(--quiet)", "var(--dim)"];
const DARK: [&str; 4] = ["#14171a", "#eceff1", "#b9bfc5", "#7d838a"];

fn colors([ground, ink, quiet, dim]: [&str; 4]) -> String {
    format!(
        ".ohm rect.ground{{fill:{ground}}}\
         .ohm path,.ohm circle,.ohm rect.line,.ohm rect.clear,.ohm rect.frame{{stroke:{ink}}}\
         .ohm .solid,.ohm .dot,.ohm .name,.ohm .current,.ohm .junction,.ohm .inside,.ohm .loop{{fill:{ink}}}\
         .ohm .value,.ohm .solved,.ohm .potential,.ohm .sign{{fill:{quiet}}}\
         .ohm .open{{fill:{ground}}}\
         .ohm .dim path,.ohm .dim circle,.ohm .dim rect.line,.ohm .dim rect.clear{{stroke:{dim}}}\
         .ohm .dim text{{fill:{dim}}}\
         .ohm .dim .solid{{fill:{dim}}}"
    )
}

/// The style sheet of all drawings.
pub fn css(theme: Theme) -> String {
    let mut out = format!(
        ".ohm{{font-family:Inter,\"Helvetica Neue\",Arial,sans-serif}}\
         .ohm path,.ohm circle,.ohm rect{{fill:none;stroke-width:1.6;stroke-linecap:round;stroke-linejoin:round}}\
         .ohm path.bold{{stroke-width:3.4;stroke-linecap:butt}}\
         .ohm .solid,.ohm .dot{{stroke:none}}\
         .ohm text{{font-size:{VALUE}px;stroke:none}}\
         .ohm text.name{{font-size:{NAME}px;font-weight:600}}\
         .ohm text.sign{{font-size:{SMALL}px}}\
         .ohm text.inside{{font-size:15px}}\
         .ohm rect.frame{{stroke-width:1.2}}\
         .ohm .group rect.frame{{stroke-dasharray:5 3}}\
         .ohm .new path,.ohm .new rect.line{{stroke-width:2.6}}\
         .ohm .dim path,.ohm .dim circle,.ohm .dim rect{{stroke-width:1}}"
    );
    match theme {
        Theme::Light => out.push_str(&colors(LIGHT)),
        Theme::Dark => out.push_str(&colors(DARK)),
        Theme::Page => out.push_str(&colors(PAGE)),
        Theme::Auto => {
            out.push_str(&colors(LIGHT));
            let _ = write!(out, "@media screen and (prefers-color-scheme:dark){{{}}}", colors(DARK));
        }
    }
    out
}

/// Text for XML: what it reserves is escaped, what it forbids is left out.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\0'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{fffe}' | '\u{ffff}' => {}
            other => out.push(other),
        }
    }
    out
}

/// Writes a drawing as SVG.
pub fn svg(picture: &Picture, layout: &Layout, style: &Style) -> String {
    let frame = layout.frame.unwrap_or(Rect { x0: 0, y0: 0, x1: 32, y1: 32 });
    let (wide, high) = (frame.x1 - frame.x0, frame.y1 - frame.y0);
    let id = escape(&style.id);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"ohm\" role=\"img\" aria-labelledby=\"{id}title {id}desc\" \
         width=\"{wide}\" height=\"{high}\" viewBox=\"{} {} {wide} {high}\">\n",
        frame.x0, frame.y0
    );
    let title = if picture.title.is_empty() { "Circuit" } else { &picture.title };
    let _ = writeln!(out, "<title id=\"{id}title\">{}</title>", escape(title));
    let _ = writeln!(out, "<desc id=\"{id}desc\">{}</desc>", escape(&describe(picture, style.manner)));
    if !style.bare {
        let _ = writeln!(out, "<style>{}</style>", css(style.theme));
    }
    let _ = writeln!(
        out,
        "<rect class=\"ground\" x=\"{}\" y=\"{}\" width=\"{wide}\" height=\"{high}\"/>",
        frame.x0, frame.y0
    );
    if layout.parts.len() == picture.parts.len() {
        wires(&mut out, picture, layout);
        parts(&mut out, picture, layout, style);
        dots(&mut out, picture, layout);
        labels(&mut out, picture, layout);
        loop_arrows(&mut out, picture, layout);
    }
    out.push_str("</svg>\n");
    out
}

/// The name that a node goes by in attributes.
fn node_name(picture: &Picture, node: usize) -> String {
    let of = &picture.nodes[node];
    escape(of.names.first().unwrap_or(&of.key))
}

fn wires(out: &mut String, picture: &Picture, layout: &Layout) {
    out.push_str("<g class=\"wires\">\n");
    for (node, segments) in layout.wires.iter().enumerate() {
        if segments.is_empty() {
            continue;
        }
        let _ = write!(out, "<path class=\"wire\" data-wire=\"{}\" d=\"", node_name(picture, node));
        for segment in segments {
            let _ = write!(out, "M{} {}", segment.a.x, segment.a.y);
            let _ =
                if segment.is_vertical() { write!(out, "V{}", segment.b.y) } else { write!(out, "H{}", segment.b.x) };
        }
        out.push_str("\"/>\n");
    }
    out.push_str("</g>\n");
}

fn parts(out: &mut String, picture: &Picture, layout: &Layout, style: &Style) {
    for (part, placed) in picture.parts.iter().zip(&layout.parts) {
        let class = match part.mark {
            Mark::None => "element",
            Mark::New => "element new",
            Mark::Group => "element group",
            Mark::Dim => "element dim",
        };
        let drawn = symbols::draw(part.symbol, style.standard, placed);
        let _ = write!(
            out,
            "<g class=\"{class}\" data-element=\"{}\"><g transform=\"{}\">{}</g>",
            escape(&part.key),
            symbols::transform(placed),
            drawn.shapes
        );
        for sign in drawn.signs {
            let (class, size) = if sign.inside { ("inside", 15) } else { ("sign", SMALL) };
            let _ = write!(
                out,
                "<text class=\"{class}\" text-anchor=\"middle\" x=\"{}\" y=\"{}\">{}</text>",
                sign.at.x,
                sign.at.y + (size * 36 + 50) / 100,
                sign.text
            );
        }
        if matches!(part.mark, Mark::New | Mark::Group) {
            let body = placed.body(part.symbol);
            // The frame leaves the ends of the symbol free, where wires come in, and keeps off the label at its side.
            let body = if placed.turn.is_vertical() {
                Rect { x0: body.x0 + 2, x1: body.x1 - 2, y0: body.y0 + 4, y1: body.y1 - 4 }
            } else {
                Rect { x0: body.x0 + 4, x1: body.x1 - 4, ..body }
            };
            let _ = write!(
                out,
                "<rect class=\"frame\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"5\"/>",
                body.x0 - 4,
                body.y0,
                body.x1 - body.x0 + 8,
                body.y1 - body.y0
            );
        }
        if let (Some(middle), Some(arrow)) = (label::arrow_at(part, placed), &part.arrow) {
            let turn = if arrow.forward { placed.turn } else { placed.turn.back() };
            let step = turn.step();
            let tip = at(middle.x + 6 * step.x, middle.y + 6 * step.y);
            let base = at(middle.x - 5 * step.x, middle.y - 5 * step.y);
            let _ = write!(
                out,
                "<path class=\"solid arrow\" d=\"M{} {}L{} {}L{} {}Z\"/>",
                tip.x,
                tip.y,
                base.x - 5 * step.y,
                base.y - 5 * step.x,
                base.x + 5 * step.y,
                base.y + 5 * step.x
            );
        }
        out.push_str("</g>\n");
    }
}

fn dots(out: &mut String, picture: &Picture, layout: &Layout) {
    let circle = |out: &mut String, class: &str, point: Point, r: &str| {
        let _ = write!(out, "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"{r}\"/>", point.x, point.y);
    };
    let ends = picture.ends();
    for node in 0..picture.nodes.len() {
        let dots = layout.dots(picture, node);
        let name = node_name(picture, node);
        let mut inner = String::new();
        for dot in &dots {
            circle(&mut inner, "dot", *dot, "3.2");
        }
        if let (true, Some(tag)) = (dots.is_empty(), layout.tags[node]) {
            // A named point on a wire, or an open end.
            circle(&mut inner, "open", tag.at, "3");
        } else if ends[node] == 1 {
            for pin in layout.pins_of(picture, node) {
                let end = open_end(layout, node, pin);
                circle(&mut inner, "open", end, "3");
            }
        }
        if let (true, Some(tag)) = (picture.nodes[node].reference, layout.tags[node]) {
            ground(&mut inner, tag);
        }
        if !inner.is_empty() {
            let _ = writeln!(out, "<g class=\"node\" data-junction=\"{name}\">{inner}</g>");
        }
    }
}

/// The sign of the 0 V point, hanging from its wire.
fn ground(out: &mut String, tag: Tag) {
    let turn = match tag.side {
        TagSide::Below => 0,
        TagSide::Above | TagSide::Corner => 180,
        TagSide::Beside => 270,
    };
    let (half, deep) = GROUND;
    let _ = write!(
        out,
        "<path class=\"ground\" transform=\"translate({} {}) rotate({turn})\" d=\"M0 0V{}M{} {}H{half}M-6 {}H6M-2 {}H2\"/>",
        tag.at.x,
        tag.at.y,
        deep - 10,
        -half,
        deep - 10,
        deep - 6,
        deep - 2
    );
}

/// Where a wire that leads nowhere ends.
fn open_end(layout: &Layout, node: usize, pin: Point) -> Point {
    let wires = &layout.wires[node];
    let mut here = pin;
    let mut left: Vec<_> = wires.clone();
    while let Some(index) = left.iter().position(|wire| wire.a == here || wire.b == here) {
        let wire = left.swap_remove(index);
        here = if wire.a == here { wire.b } else { wire.a };
    }
    here
}

/// Writes a text as wide as the layout took it to be: where another font stands in for the one measured, the letters give way and
/// the text keeps clear of its neighbours.
fn text(out: &mut String, role: Role, point: Point, anchor: Anchor, of: Option<&str>, words: &str) {
    let class = class(role);
    let anchor = match anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let of = of.map_or_else(String::new, |of| format!(" data-label=\"{}\"", escape(of)));
    let wide = label::text_width(role, words);
    let _ = writeln!(
        out,
        "<text class=\"{class}\"{of}{anchor} x=\"{}\" y=\"{}\" textLength=\"{wide}\" lengthAdjust=\"spacingAndGlyphs\">{}</text>",
        point.x,
        point.y,
        escape(words)
    );
}

const fn class(role: Role) -> &'static str {
    match role {
        Role::Name => "name",
        Role::Value => "value",
        Role::Solved => "solved",
        Role::Current => "current",
        Role::Junction => "junction",
        Role::Potential => "potential",
        Role::Sign => "sign",
        Role::Loop => "loop",
    }
}

fn labels(out: &mut String, picture: &Picture, layout: &Layout) {
    let dim: Vec<&str> =
        picture.parts.iter().filter(|part| part.mark == Mark::Dim).map(|part| part.key.as_str()).collect();
    for label in layout.texts(picture) {
        let pale = dim.contains(&label.of.as_str()) && !matches!(label.role, Role::Junction | Role::Potential);
        if pale {
            out.push_str("<g class=\"dim\">");
        }
        text(out, label.role, label.at, label.anchor, Some(&label.of), &label.text);
        if pale {
            out.push_str("</g>\n");
        }
    }
}

fn loop_arrows(out: &mut String, picture: &Picture, layout: &Layout) {
    for (index, placed) in loops::place(picture, layout).into_iter().enumerate() {
        let Some(placed) = placed else { continue };
        let (x, y, r) = (f64::from(placed.middle.x), f64::from(placed.middle.y), f64::from(placed.radius));
        // Three quarters of a circle, open at the lower left (or right), with a head at its end.
        let sweep = i32::from(placed.clockwise);
        let side = if placed.clockwise { -1.0 } else { 1.0 };
        let start = (x + side * r * 0.707, y + r * 0.707);
        let end = (x - side * r * 0.707, y + r * 0.707);
        let (dx, dy) = (side * 0.707, 0.707);
        let tip = (end.0 + dx * 7.0, end.1 + dy * 7.0);
        let normal = (-dy, dx);
        let _ = write!(
            out,
            "<g class=\"mesh\" data-loop=\"{}\"><path d=\"M{:.1} {:.1}A{r} {r} 0 1 {sweep} {:.1} {:.1}\"/>\
             <path class=\"solid\" d=\"M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}Z\"/>",
            index + 1,
            start.0,
            start.1,
            end.0,
            end.1,
            tip.0,
            tip.1,
            end.0 + normal.0 * 4.5 - dx * 2.0,
            end.1 + normal.1 * 4.5 - dy * 2.0,
            end.0 - normal.0 * 4.5 - dx * 2.0,
            end.1 - normal.1 * 4.5 - dy * 2.0
        );
        text(
            out,
            Role::Loop,
            at(placed.middle.x, placed.middle.y + 5),
            Anchor::Middle,
            None,
            &picture.loops[index].text,
        );
        out.push_str("</g>\n");
    }
}
