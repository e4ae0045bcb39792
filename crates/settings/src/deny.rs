//! What ends a check with status 1, besides errors.

use ohmline_lint::settings::group_of;
use ohmline_syntax::{Diagnostic, Severity};

use crate::layer::Target;

/// Something that is not let pass. It changes the exit status alone, not how findings are shown.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Deny {
    /// Every warning.
    Warnings,
    /// Every warning and every info.
    Infos,
    /// Whatever a rule, or a rule of a group, finds.
    Of(Target),
}

impl Deny {
    /// What this word denies.
    pub fn of_word(word: &str) -> Option<Self> {
        match word {
            "warnings" => Some(Deny::Warnings),
            "infos" => Some(Deny::Infos),
            name => Target::named(name).map(Deny::Of),
        }
    }

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Deny::Warnings => "warnings",
            Deny::Infos => "infos",
            Deny::Of(target) => target.name(),
        }
    }

    /// Every word that denies something.
    pub fn words() -> impl Iterator<Item = &'static str> {
        ["warnings", "infos"].into_iter().chain(Target::names())
    }

    /// Whether it does not let this finding pass.
    pub fn covers(self, found: &Diagnostic) -> bool {
        match self {
            Deny::Warnings => found.severity <= Severity::Warning,
            Deny::Infos => found.severity <= Severity::Info,
            Deny::Of(Target::Rule(rule)) => found.rule == rule,
            Deny::Of(Target::Group(group)) => group_of(found.rule) == Some(group),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use ohmline_syntax::{FileId, FileSpan, Span};

    use super::*;

    #[test]
    fn no_word_stands_for_two_things() {
        let words: Vec<_> = Deny::words().collect();
        assert_eq!(words.iter().collect::<BTreeSet<_>>().len(), words.len());
        assert!(words.into_iter().all(|word| Deny::of_word(word).map(Deny::word) == Some(word)));
    }

    #[test]
    fn what_each_covers() {
        let place = FileSpan::new(FileId::MAIN, Span::new(0, 0));
        let found = |severity| Diagnostic::new("unused-value", severity, place, "x");
        let covers = |word: &str, severity| Deny::of_word(word).expect("it is a word").covers(&found(severity));
        assert!(covers("warnings", Severity::Warning) && !covers("warnings", Severity::Info));
        assert!(
            covers("infos", Severity::Warning) && covers("infos", Severity::Info) && !covers("infos", Severity::Hint)
        );
        assert!(covers("unused-value", Severity::Hint) && !covers("split-series", Severity::Error));
        assert!(covers("values-and-units", Severity::Hint) && !covers("style", Severity::Error));
    }
}
