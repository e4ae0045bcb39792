//! Tree, circuit and answers to diagnostics.
//!
//! Purpose: every rule, and the judgement of what to say once.
//! Boundary: no solving and no parsing of its own; no output formats.
//! Invariants:
//! - One file a rule; [`registry::RULES`] lists every rule that looks at the finished analysis, and
//!   [`registry::all_metas`] every rule whose name can appear in a diagnostic, also those that the parser and the
//!   circuit builder report.
//! - One cause, one message: a rule stays silent about what follows from a cause that another reports. What several rules
//!   must agree on for that (what was misread, what hangs loose, what floats) is found once, in [`facts`].
//! - Order, copies and repetition are decided in one place, [`merge`], not in rules.

mod broken;
pub mod context;
pub mod facts;
#[cfg(test)]
mod fixture;
mod loose;
mod merge;
mod pieces;
mod places;
pub mod registry;
pub mod rules;
mod shorts;
mod states;
mod wording;
pub mod words;

pub use context::Context;
pub use facts::Facts;
pub use registry::{Meta, RULES, Rule};
pub use states::AS_DRAWN;

use ohmline_syntax::{Diagnostic, FileId};

/// Everything to be said about a circuit: files in order (the one asked about first), each in text order.
///
/// Problems of syntax and names are included.
pub fn check(context: &Context<'_>) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for (file, source) in context.sources.files.iter().enumerate() {
        found.extend(source.tree.diagnostics(FileId(file as u32)));
    }
    found.extend(context.circuit.diagnostics.iter().cloned());
    let facts = Facts::new(*context);
    for rule in RULES {
        rule.check(&facts, &mut found);
    }
    merge::finish(found)
}

#[cfg(test)]
mod tests;
