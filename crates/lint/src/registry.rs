//! The list of all rules.

use ohmline_syntax::{Diagnostic, Severity};

use crate::context::Context;

/// What everyone may know about a rule.
#[derive(Clone, Copy, Debug)]
pub struct Meta {
    /// Two or three words for what is wrong.
    pub name: &'static str,
    /// How bad it usually is.
    pub severity: Severity,
    /// One line.
    pub summary: &'static str,
    /// Why it matters in a real circuit.
    pub why: &'static str,
    /// A file that fires exactly this rule.
    pub bad: &'static str,
    /// The same file, mended.
    pub good: &'static str,
}

/// A rule that looks at the finished analysis. Rules reported by the parser or the builder have only a [`Meta`].
pub trait Rule: Sync {
    /// What everyone may know about it.
    fn meta(&self) -> &'static Meta;
    /// Reports what it finds.
    fn check(&self, context: &Context<'_>, found: &mut Vec<Diagnostic>);
}

/// Every rule.
pub const RULES: &[&dyn Rule] = &[];
