//! Collecting diagnostics: one for all copies of one place.

use ohmline_syntax::{Diagnostic, FileSpan, Safety, Severity};
use rustc_hash::FxHashSet;

/// The diagnostics so far.
#[derive(Default)]
pub(super) struct Report {
    found: Vec<Diagnostic>,
    seen: FxHashSet<(&'static str, FileSpan)>,
    /// How often something was to be added.
    pub(super) asked: usize,
    /// The case that is being built; diagnostics that appear only then name it.
    pub(super) case: Option<String>,
}

impl Report {
    /// Adds a diagnostic unless its rule has spoken at this place already.
    pub(super) fn add(&mut self, mut diagnostic: Diagnostic) {
        self.asked += 1;
        if self.seen.insert((diagnostic.rule, diagnostic.primary.at)) {
            diagnostic.cases.extend(self.case.clone());
            self.found.push(diagnostic);
        }
    }

    /// Everything, in text order.
    pub(super) fn into_sorted(mut self) -> Vec<Diagnostic> {
        self.found.sort_by_key(|diagnostic| diagnostic.primary.at);
        self.found
    }
}

/// A diagnostic of a rule.
pub(super) fn diagnostic(rule: (&'static str, Severity), at: FileSpan, message: impl Into<String>) -> Diagnostic {
    Diagnostic::new(rule.0, rule.1, at, message)
}

/// Offers each candidate as a replacement of the place itself.
pub(super) fn offer(mut diagnostic: Diagnostic, at: FileSpan, candidates: &[String]) -> Diagnostic {
    if let [first, rest @ ..] = candidates {
        let others: String = rest.iter().map(|other| format!(" or `{other}`")).collect();
        diagnostic = diagnostic.help(format!("Did you mean `{first}`{others}?"));
    }
    for candidate in candidates {
        diagnostic = diagnostic.fix(format!("Write `{candidate}`"), Safety::Asks, at, candidate.clone());
    }
    diagnostic
}

/// A list in words: `a`, `b` and `c`, each quoted.
pub(super) fn listed<S: AsRef<str>>(items: impl IntoIterator<Item = S>) -> String {
    let items: Vec<String> = items.into_iter().map(|item| format!("`{}`", item.as_ref())).collect();
    match items.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
    }
}
