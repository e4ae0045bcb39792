//! What can be said about a text: one model, rendered by the terminal, the editor, JSON and the page.

use crate::span::{FileId, FileSpan, RelSpan};

/// How bad it is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Severity {
    /// The circuit or a statement is wrong.
    Error,
    /// Likely a mistake.
    Warning,
    /// Worth knowing.
    Info,
    /// For the eye only.
    Hint,
}

impl Severity {
    /// The word used in every output.
    pub const fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Info => "info",
            Severity::Hint => "hint",
        }
    }
}

/// A place with a few words about it.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Label {
    /// Where.
    pub at: FileSpan,
    /// What is there; may be empty.
    pub text: String,
}

/// Whether a fix may be applied without asking.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Safety {
    /// Keeps every answer or only makes readable what was clearly meant.
    Safe,
    /// Changes the circuit in a way that only its author can decide.
    Asks,
}

/// One replacement of text.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Edit {
    /// What is replaced; an empty stretch inserts.
    pub at: FileSpan,
    /// By what.
    pub text: String,
}

/// A way to mend what a diagnostic reports.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Fix {
    /// What it does, as an instruction: "Write `@quay`".
    pub title: String,
    /// Whether it may be applied without asking.
    pub safety: Safety,
    /// Edits in text order that do not overlap.
    pub edits: Vec<Edit>,
}

/// One thing said about the text.
///
/// `message` stands alone on one line, names the elements and junctions concerned, and has no final period.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Diagnostic {
    /// Name of the rule: two or three words for what is wrong, such as `open-end`.
    pub rule: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// The headline.
    pub message: String,
    /// The place where the hand would mend it.
    pub primary: Label,
    /// Other places that belong to it, in any file.
    pub labels: Vec<Label>,
    /// Facts that explain it.
    pub notes: Vec<String>,
    /// What to do.
    pub help: Vec<String>,
    /// The cases in which it is so; empty when it is so in every state.
    pub cases: Vec<String>,
    /// Ways to mend it, the likeliest first.
    pub fixes: Vec<Fix>,
}

impl Diagnostic {
    /// A diagnostic with nothing but a headline at a place.
    pub fn new(rule: &'static str, severity: Severity, at: FileSpan, message: impl Into<String>) -> Self {
        Self {
            rule,
            severity,
            message: message.into(),
            primary: Label { at, text: String::new() },
            labels: Vec::new(),
            notes: Vec::new(),
            help: Vec::new(),
            cases: Vec::new(),
            fixes: Vec::new(),
        }
    }

    /// Sets the words shown at the place itself.
    pub fn here(mut self, text: impl Into<String>) -> Self {
        self.primary.text = text.into();
        self
    }

    /// Adds another place.
    pub fn label(mut self, at: FileSpan, text: impl Into<String>) -> Self {
        self.labels.push(Label { at, text: text.into() });
        self
    }

    /// Adds a fact.
    pub fn note(mut self, text: impl Into<String>) -> Self {
        self.notes.push(text.into());
        self
    }

    /// Adds advice.
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }

    /// Adds a fix of one edit.
    pub fn fix(mut self, title: impl Into<String>, safety: Safety, at: FileSpan, text: impl Into<String>) -> Self {
        self.fixes.push(Fix { title: title.into(), safety, edits: vec![Edit { at, text: text.into() }] });
        self
    }
}

/// A problem of one statement, with places relative to it, so that it survives edits elsewhere.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Problem {
    /// Name of the rule.
    pub rule: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// The headline; the rules of [`Diagnostic::message`] hold.
    pub message: String,
    /// Where.
    pub at: RelSpan,
    /// Words at the place itself.
    pub here: String,
    /// What to do.
    pub help: Vec<String>,
    /// Ways to mend it: title, safety, replacements.
    pub fixes: Vec<(String, Safety, Vec<(RelSpan, String)>)>,
}

impl Problem {
    /// The diagnostic that it is, for a statement that starts at `offset` of a file.
    pub fn at(&self, file: FileId, offset: u32) -> Diagnostic {
        let place = |rel: RelSpan| FileSpan::new(file, rel.at(offset));
        Diagnostic {
            help: self.help.clone(),
            fixes: self
                .fixes
                .iter()
                .map(|(title, safety, edits)| Fix {
                    title: title.clone(),
                    safety: *safety,
                    edits: edits.iter().map(|(at, text)| Edit { at: place(*at), text: text.clone() }).collect(),
                })
                .collect(),
            ..Diagnostic::new(self.rule, self.severity, place(self.at), self.message.clone()).here(self.here.clone())
        }
    }
}
