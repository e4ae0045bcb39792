//! What is wrong with a statement that cannot be read: one precise message, and a fix where one exists.

use super::grammar::{Missed, Tokens};
use crate::diagnostic::{Problem, Severity};
use crate::span::RelSpan;
use crate::tree::StmtKind;

/// Which check a statement did not pass.
#[derive(Debug)]
pub(super) enum Failed {
    BadToken,
    TooDeep,
    TooLong,
    TouchingRun,
    Grammar(Option<Missed>),
}

pub(super) fn touching_run(_tokens: Tokens<'_>) -> Option<usize> {
    None
}

pub(super) fn long_wires(_tokens: Tokens<'_>, _text: &str) -> Vec<Problem> {
    Vec::new()
}

pub(super) fn slip(_kind: &StmtKind) -> Option<Failed> {
    None
}

pub(super) fn explain(failed: Failed, tokens: Tokens<'_>, text: &str) -> Problem {
    let base = tokens[0].start;
    let rel = |index: usize| {
        let token = tokens.get(index).copied().unwrap_or(tokens[tokens.len() - 1]);
        RelSpan::new(token.start - base, token.end() - base)
    };
    let (at, message) = match &failed {
        Failed::Grammar(Some(missed)) => {
            let found = tokens.get(missed.at).map_or("the end of the line", |token| token.text(text));
            (rel(missed.at), format!("found {found}, expected {}", missed.expected.join(", ")))
        }
        other => (rel(0), format!("{other:?}")),
    };
    Problem {
        rule: "unreadable-statement",
        severity: Severity::Error,
        message,
        at,
        here: String::new(),
        help: Vec::new(),
        fixes: Vec::new(),
    }
}
