//! What an editor can do with a circuit at a place in its text: find, rename, complete, rewrite.
//!
//! Purpose: the features of an editor as functions from an analysis and a place to plain values.
//! Boundary: no protocol, no positions but byte offsets; that is `ohmline-server`. No solving, no wording of findings.
//! Invariants:
//! - Every feature works on a text that is being typed: what cannot be read is left out, the rest is served.
//! - A rename is offered only where the text means the same afterwards, which is tried before it is given out.

pub mod complete;
pub mod highlight;
pub mod lenses;
pub mod links;
pub mod occurrences;
pub mod outline;
pub mod preferred;
pub mod rename;
pub mod rewrite;
pub mod signature;
pub mod stretches;
pub mod tokens;

pub use occurrences::{Index, Occurrence, Role, Symbol, SymbolKind};

#[cfg(test)]
mod fixture;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_typing;
