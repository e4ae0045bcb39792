//! An analysis as a page for a browser: the drawing with what flows in it, what was found, and the worked solution, step by step.
//!
//! Purpose: one page for the preview and for a file that stands alone.
//! Boundary: no server, no files; sentences and numbers come from `ohmline-report`, drawings from `ohmline-sketch`.
//! Invariants:
//! - The page asks for nothing from anywhere, but for its own successor where it is live.
//! - Without scripts, and in print, everything can be read in order.
//! - No meaning is carried by color alone.

mod findings;
mod overview;
mod page;

pub use page::{Live, PageOptions, page, trouble_page};
