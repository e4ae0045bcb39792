//! Analysis to picture: what is drawn of a circuit, and what is written beside it.
//!
//! Purpose: one converter for the command, the page and the worked solution.
//! Boundary: no geometry (that is `ohmline-draw`), no solving.
//! Invariants: keys of nodes and parts are the same in every state of a circuit, so that redraws can keep places.

mod label;
mod picture;

pub use picture::{LARGEST, Show, SketchOptions, picture};
