//! What can be said about a text: one model, rendered by the terminal, the editor, JSON and the page.

use crate::evidence::Basis;
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
    /// The same in a second voice, for learners: a question that leads to the mistake instead of naming it. `None` where there is nothing to
    /// find out, as with slips of the pen. It stands alone, on one line.
    pub question: Option<String>,
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
    /// Why the author allows it, in a comment; `None` when nobody does. What is allowed is shown apart from the rest.
    pub allowed: Option<String>,
    /// What proves it; `None` where nothing but the place itself has to be seen. `Evidence` is worked out from it on demand.
    pub basis: Option<Box<Basis>>,
}

impl Diagnostic {
    /// A diagnostic with nothing but a headline at a place.
    pub fn new(rule: &'static str, severity: Severity, at: FileSpan, message: impl Into<String>) -> Self {
        Self {
            rule,
            severity,
            message: message.into(),
            question: None,
            primary: Label { at, text: String::new() },
            labels: Vec::new(),
            notes: Vec::new(),
            help: Vec::new(),
            cases: Vec::new(),
            fixes: Vec::new(),
            allowed: None,
            basis: None,
        }
    }

    /// Sets the question that a learner is asked instead.
    pub fn ask(mut self, text: impl Into<String>) -> Self {
        self.question = Some(text.into());
        self
    }

    /// Sets the words shown at the place itself.
    pub fn here(mut self, text: impl Into<String>) -> Self {
        self.primary.text = text.into();
        self
    }

    /// Sets what proves it.
    pub fn proof(mut self, basis: Basis) -> Self {
        self.basis = Some(Box::new(basis));
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

/// A way to mend a [`Problem`]: title, safety, replacements in text order.
pub type ProblemFix = (String, Safety, Vec<(RelSpan, String)>);

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
    pub fixes: Vec<ProblemFix>,
}

/// Every rule that this crate reports: name, severity, summary.
pub const SYNTAX_RULES: &[(&str, Severity, &str)] = &[
    ("curly-quotes", Severity::Error, "Text stands between straight quotes, not typographic ones."),
    ("dash-for-minus", Severity::Error, "A typographic dash stands where a minus sign should."),
    ("decimal-comma", Severity::Error, "A number is written with a decimal comma; the decimal sign is a point."),
    ("deep-nesting", Severity::Error, "Brackets within brackets go too deep to be read."),
    ("doubled-wire", Severity::Error, "Two wires follow each other with nothing between them."),
    ("empty-alternative", Severity::Error, "An alternative of a parallel group holds no element."),
    ("equals-after-option", Severity::Error, "An option takes its value without an equals sign."),
    ("foreign-sign", Severity::Error, "Braces, square brackets or semicolons have no meaning here."),
    ("leftover-text", Severity::Error, "Something is left over behind a complete statement."),
    ("lone-member", Severity::Error, "A claim of series or parallel names a single element."),
    ("long-expression", Severity::Error, "An expression holds too many operations to be read."),
    ("long-wire", Severity::Warning, "A wire is written with more than two hyphens, or with typographic dashes."),
    ("loose-end-wire", Severity::Error, "A path ends in a wire that leads to nothing."),
    ("loose-line", Severity::Error, "A line goes on with a statement, but none stands right above it."),
    ("loose-sign", Severity::Error, "A polarity sign does not touch the name it belongs to."),
    ("misplaced-case", Severity::Error, "The case a statement speaks of does not stand at its end."),
    ("misplaced-kind", Severity::Error, "A kind word stands where an element is only named."),
    ("misplaced-unit", Severity::Error, "A unit stands where no number is right before it."),
    ("missing-colon", Severity::Error, "A colon is missing behind the name of a case."),
    ("missing-comma", Severity::Error, "A comma is missing in a list."),
    ("missing-end", Severity::Error, "A part or a repeat is not closed by an end."),
    ("missing-equals", Severity::Error, "An equals sign is missing before a value."),
    ("missing-kind", Severity::Error, "A declaration does not say what kind of element it declares."),
    ("missing-name", Severity::Error, "A name is missing."),
    ("missing-point", Severity::Error, "A junction or terminal is missing."),
    ("missing-ports", Severity::Error, "The head of a part does not list its ports."),
    ("missing-quotes", Severity::Error, "A title, file or case is written without quotes."),
    ("missing-sign", Severity::Error, "A polarity is given on one side of an element only."),
    ("missing-value", Severity::Error, "A value is missing."),
    ("missing-wire", Severity::Error, "Two items of a path stand side by side without a wire."),
    ("missing-word", Severity::Error, "A word that joins the parts of a statement is missing."),
    ("missing-zero", Severity::Error, "A number begins with its decimal point."),
    ("name-begins", Severity::Error, "A name begins with a digit; it begins with a letter."),
    ("nameless-junction", Severity::Error, "A junction mark has no name touching it."),
    ("no-negation", Severity::Error, "A claim is denied; it states only what holds."),
    ("no-power", Severity::Error, "A power is written with a sign; only numbers such as 5e3 hold one."),
    ("only-equals", Severity::Error, "A statement compares with another sign than the equals sign."),
    ("reserved-name", Severity::Error, "A word of the notation is used as the name of an element."),
    ("several-elements", Severity::Error, "A statement about one value names several elements."),
    ("short-path", Severity::Error, "A line holds a single item that nothing is joined to."),
    ("single-alternative", Severity::Error, "A parallel group holds only one alternative."),
    ("single-hyphen", Severity::Error, "A wire is written with one hyphen; it takes two."),
    ("slash-comment", Severity::Error, "A comment begins with slashes; it begins with a number sign."),
    ("split-name", Severity::Error, "A name holds a blank or a hyphen."),
    ("split-number", Severity::Error, "The digits of a number stand apart."),
    ("stray-comma", Severity::Error, "A comma stands at the end of a line."),
    ("stray-end", Severity::Error, "An end closes nothing."),
    ("swapped-kind", Severity::Error, "The name of an element stands before its kind."),
    ("touching-dashes", Severity::Error, "A run of dashes touches a name and can be read in more than one way."),
    ("unclosed-group", Severity::Error, "An opening bracket is never closed."),
    ("unclosed-text", Severity::Error, "A text in quotes is never closed."),
    ("unknown-character", Severity::Error, "A character has no meaning in the notation."),
    ("unknown-kind", Severity::Error, "A declaration begins with a word that is no kind of element and no part."),
    ("unknown-quantity", Severity::Error, "A statement asks for a quantity that does not exist."),
    ("unknown-statement", Severity::Error, "A line begins with a word that begins no statement."),
    ("unopened-group", Severity::Error, "A closing bracket closes nothing."),
    ("unreadable-statement", Severity::Error, "A statement does not follow the notation."),
    ("value-in-find", Severity::Error, "A find states a value; it only asks for one."),
    ("wire-in-value", Severity::Error, "A wire stands in a value."),
    ("wrong-preposition", Severity::Error, "A quantity is followed by a word that does not go with it."),
    ("wrong-unit", Severity::Error, "A value has a unit of another kind."),
];

impl Problem {
    /// A problem with nothing but a headline at a place; its severity is the one that [`SYNTAX_RULES`] lists.
    pub(crate) fn new(rule: &'static str, at: RelSpan, message: impl Into<String>) -> Self {
        let listed = SYNTAX_RULES.iter().find(|(name, _, _)| *name == rule);
        debug_assert!(listed.is_some(), "the rule {rule} is not listed");
        Self {
            rule,
            severity: listed.map_or(Severity::Error, |&(_, severity, _)| severity),
            message: sentence(message.into()),
            at,
            here: String::new(),
            help: Vec::new(),
            fixes: Vec::new(),
        }
    }

    pub(crate) fn here(mut self, text: impl Into<String>) -> Self {
        self.here = text.into();
        self
    }

    pub(crate) fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(sentence(text.into()));
        self
    }

    pub(crate) fn fix(mut self, title: impl Into<String>, safety: Safety, edits: Vec<(RelSpan, String)>) -> Self {
        self.fixes.push((title.into(), safety, edits));
        self
    }

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

/// Messages and advice begin with a capital, as sentences do; one that begins with a quoted word keeps it.
fn sentence(mut text: String) -> String {
    if let Some(first) = text.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    text
}
