//! Picture model to schematic: where every symbol, wire and label stands, as SVG and in words.
//!
//! Purpose: draw any circuit as people draw it: the source at the left, plus up; what is in series in line, what is in parallel side by side.
//! Boundary: knows neither notation nor solver; everything that is shown arrives as text in a [`Picture`].
//! Invariants:
//! - [`Layout::new`] and [`Layout::redraw`] never fail, whatever is connected to what.
//! - No symbol, wire or label overlaps another; a planar circuit has no crossing; the ends that touch are those of the circuit. [`measure()`] checks it.
//! - The same picture gives the same drawing, byte for byte.

#![allow(
    clippy::needless_range_loop,
    clippy::explicit_counter_loop,
    reason = "one index runs over several tables of nodes and parts at once"
)]

mod comb;
mod embed;
mod geometry;
mod label;
pub mod layout;
mod loops;
pub mod measure;
mod net;
mod orient;
pub mod picture;
mod place;
mod planarize;
mod redraw;
mod reduce;
mod stack;
mod svg;
mod symbols;
mod type_size;
mod widths;
mod words;

pub use layout::{Layout, Options};
pub use measure::{Measures, measure};
pub use picture::{Arrow, Loop, Mark, Node, Part, Picture, Symbol, Throw};
pub use svg::{Standard, Style, Theme, css, svg};
pub use type_size::{Face, advance, width as text_width};
pub use words::{Manner, describe};
