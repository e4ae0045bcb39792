//! Tree to circuit: quantities and units, names, parts and includes expanded, wires merged into nodes, topology.
//!
//! Purpose: say what is connected to what, and with which values, in every case.
//! Boundary: no solving (no potentials, no currents), no files (what is included is handed in as [`Sources`]).
//! Invariants:
//! - [`build()`] never fails: what cannot be understood is left out and reported, everything else is in the [`Circuit`].
//! - Values are exact rationals; nothing is rounded.
//! - The connections are the same in every state; only values differ between cases.
//! - [`Topology`] takes linear time.

pub mod build;
pub mod model;
pub mod quantity;
pub mod sources;
pub mod topology;

pub use build::{build, build_text};
pub use malachite::Rational;
pub use model::*;
pub use sources::{FileSystem, Source, Sources};
pub use topology::Topology;
