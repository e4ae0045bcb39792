//! Tree, circuit and answers to diagnostics.
//!
//! Purpose: every rule, and the judgement of what to say once.
//! Boundary: no solving and no parsing of its own; no output formats.
//! Invariants:
//! - One file a rule; [`registry::RULES`] lists every rule whose name can appear in a diagnostic, also those that
//!   the parser and the circuit builder report.
//! - One cause, one message: a rule stays silent about what follows from a cause that another reports.
//! - Severity, levels and order are decided in one place, not in rules.

pub mod context;
pub mod registry;
pub mod rules;
pub mod words;

pub use context::Context;
pub use registry::{Meta, RULES, Rule};

use ohmline_syntax::Diagnostic;

/// Everything to be said about a circuit, in text order, problems of syntax and names included.
pub fn check(_context: &Context<'_>) -> Vec<Diagnostic> {
    Vec::new()
}
