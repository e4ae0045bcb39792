//! Settings: what an `ohmline.toml`, an editor or a call says, and what is in force when all have spoken.
//!
//! Purpose: text to settings, with a precise report of everything that is none; one order in which they count.
//! Boundary: no files but through [`FileSystem`](ohmline_analysis::FileSystem), no terminals, no protocols.
//! Invariants:
//! - Reading never fails and never panics: a wrong entry is reported and spoils no other.
//! - Terminal and editor read with this crate alone, so the same file means the same to both.
//! - Every setting is listed once, in [`keys`]; the page about settings is written from that list.

pub mod assist;
pub mod deny;
pub mod file;
pub mod force;
pub mod keys;
pub mod layer;
pub mod profile;
mod read;
mod toml_text;
pub mod value;

pub use deny::Deny;
pub use file::{FILE, File, candidates, is_settings};
pub use force::{InForce, Origin, in_force};
pub use layer::{Layer, Stated, Target};
pub use read::{KEYS, Read, read, read_value};
