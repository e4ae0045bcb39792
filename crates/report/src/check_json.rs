//! Diagnostics as JSON: the output of `check`, and the `diagnostics` of `solve`.

use std::io;

use ohmline_analysis::Analysis;
use ohmline_analysis::markdown::is_markdown;
use ohmline_syntax::{Diagnostic, FileSpan, Fix, Label, Safety};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use crate::SCHEMA;
use crate::json::List;
use crate::position::Positions;
use crate::tally::Tally;

/// One file of a call, analyzed, with the diagnostics to be shown of it.
pub struct Checked<'a> {
    /// The analysis.
    pub analysis: &'a Analysis,
    /// Which of its diagnostics are shown: those in a file that several others include are shown once.
    pub shown: Vec<&'a Diagnostic>,
    /// Which of those that the author allows are told of.
    pub allowed: Vec<&'a Diagnostic>,
    /// Which are known from a baseline.
    pub known: Vec<&'a Diagnostic>,
}

/// A file of a call that cannot be read.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Unreadable {
    /// As given in the call.
    pub file: String,
    /// Why, in words.
    pub why: String,
}

/// Writes the result of a check of several files.
pub fn write_check_json(
    mut out: impl io::Write,
    files: &[Checked<'_>],
    unreadable: &[Unreadable],
    tally: &Tally,
) -> io::Result<()> {
    struct Whole<'a>(&'a [Checked<'a>], &'a [Unreadable], &'a Tally);
    impl Serialize for Whole<'_> {
        fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
            let mut map = serializer.serialize_map(None)?;
            map.serialize_entry("schema", &SCHEMA)?;
            let positions: Vec<_> = self.0.iter().map(|file| Positions::new(&file.analysis.sources)).collect();
            let all = List(|| {
                self.0
                    .iter()
                    .zip(&positions)
                    .flat_map(|(file, positions)| file.shown.iter().map(move |one| DiagnosticJson(one, positions)))
            });
            map.serialize_entry("diagnostics", &all)?;
            map.serialize_entry("summary", self.2)?;
            if self.0.iter().any(|file| !file.allowed.is_empty()) {
                let allowed = List(|| {
                    let files = self.0.iter().zip(&positions);
                    files.flat_map(|(file, at)| file.allowed.iter().map(move |one| DiagnosticJson(one, at)))
                });
                map.serialize_entry("allowed", &allowed)?;
            }
            // Each block of a Markdown document is a circuit of its own, also for who reads this.
            let is_block = |file: &Checked<'_>| is_markdown(main(file.analysis));
            if self.0.iter().any(is_block) {
                let circuits = List(|| {
                    self.0
                        .iter()
                        .zip(&positions)
                        .filter(|(file, _)| is_block(file))
                        .map(|(file, at)| CircuitJson(file, at))
                });
                map.serialize_entry("circuits", &circuits)?;
            }
            if !self.1.is_empty() {
                map.serialize_entry("unreadable", self.1)?;
            }
            map.end()
        }
    }
    serde_json::to_writer_pretty(&mut out, &Whole(files, unreadable, tally))?;
    out.write_all(b"\n")
}

/// What the file asked about is called.
fn main(analysis: &Analysis) -> &str {
    analysis.sources.files.first().map_or("", |source| source.name.as_str())
}

/// A circuit of a Markdown document.
struct CircuitJson<'a>(&'a Checked<'a>, &'a Positions<'a>);

impl Serialize for CircuitJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self(file, positions) = self;
        let mut tally = Tally::default();
        file.shown.iter().for_each(|one| tally.add(one));
        tally.allowed = file.allowed.len();
        tally.known = file.known.len();
        tally.add_claims(file.analysis, &[file.allowed.as_slice(), &file.known].concat());
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("schema", &SCHEMA)?;
        map.serialize_entry("file", main(file.analysis))?;
        map.serialize_entry("diagnostics", &List(|| file.shown.iter().map(|one| DiagnosticJson(one, positions))))?;
        map.serialize_entry("summary", &tally)?;
        if !file.allowed.is_empty() {
            map.serialize_entry("allowed", &List(|| file.allowed.iter().map(|one| DiagnosticJson(one, positions))))?;
        }
        map.end()
    }
}

/// A diagnostic with its positions converted.
pub(crate) struct DiagnosticJson<'a>(pub &'a Diagnostic, pub &'a Positions<'a>);

impl Serialize for DiagnosticJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self(diagnostic, positions) = self;
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("rule", diagnostic.rule)?;
        map.serialize_entry("severity", diagnostic.severity.word())?;
        map.serialize_entry("message", &diagnostic.message)?;
        place(&mut map, positions, diagnostic.primary.at)?;
        // The words at the place itself come first, so that one list tells the whole story.
        let labels = List(|| {
            let own = Some(&diagnostic.primary).filter(|label| !label.text.is_empty());
            own.into_iter().chain(&diagnostic.labels).map(|label| LabelJson(label, positions))
        });
        map.serialize_entry("labels", &labels)?;
        map.serialize_entry("notes", &diagnostic.notes)?;
        map.serialize_entry("help", &diagnostic.help)?;
        map.serialize_entry("cases", &diagnostic.cases)?;
        map.serialize_entry("fixes", &List(|| diagnostic.fixes.iter().map(|fix| FixJson(fix, positions))))?;
        if let Some(reason) = &diagnostic.allowed {
            map.serialize_entry("allowed", reason)?;
        }
        map.end()
    }
}

/// `file`, `start` and `end`.
fn place<M: SerializeMap>(map: &mut M, positions: &Positions<'_>, at: FileSpan) -> Result<(), M::Error> {
    map.serialize_entry("file", positions.name(at.file))?;
    map.serialize_entry("start", &positions.start(at))?;
    map.serialize_entry("end", &positions.end(at))
}

struct LabelJson<'a>(&'a Label, &'a Positions<'a>);

impl Serialize for LabelJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("message", &self.0.text)?;
        place(&mut map, self.1, self.0.at)?;
        map.end()
    }
}

struct FixJson<'a>(&'a Fix, &'a Positions<'a>);

impl Serialize for FixJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("title", &self.0.title)?;
        map.serialize_entry(
            "safety",
            match self.0.safety {
                Safety::Safe => "safe",
                Safety::Asks => "asks",
            },
        )?;
        map.serialize_entry("edits", &List(|| self.0.edits.iter().map(|edit| EditJson(edit, self.1))))?;
        map.end()
    }
}

struct EditJson<'a>(&'a ohmline_syntax::Edit, &'a Positions<'a>);

impl Serialize for EditJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        place(&mut map, self.1, self.0.at)?;
        map.serialize_entry("text", &self.0.text)?;
        map.end()
    }
}
