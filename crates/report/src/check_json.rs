//! Diagnostics as JSON: the output of `check`, and the `diagnostics` of `solve`.

use ohmline_analysis::Analysis;
use ohmline_analysis::markdown::is_markdown;
use ohmline_syntax::{Diagnostic, Evidence, EvidenceSide, EvidenceStep, FileSpan, Fix, Label, Safety};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use crate::SCHEMA;
use crate::check_writer::{CheckWriter, Checked, Unreadable};
use crate::json::List;
use crate::position::Positions;
use crate::proof::proof;
use crate::stream::{StreamedList, write_name, write_value};
use crate::tally::Tally;

/// Writes the result of a check, file by file: first what is wrong, then the counts, then what is silent.
pub struct CheckJson {
    diagnostics: StreamedList,
    /// What comes after the counts, as text.
    allowed: (StreamedList, Vec<u8>),
    circuits: (StreamedList, Vec<u8>),
}

impl Default for CheckJson {
    fn default() -> Self {
        let list = || StreamedList::new(2);
        Self { diagnostics: list(), allowed: (list(), Vec::new()), circuits: (list(), Vec::new()) }
    }
}

impl CheckWriter for CheckJson {
    fn begin(&mut self, out: &mut Vec<u8>) {
        out.extend_from_slice(b"{\n");
        write_name(out, "schema", 1);
        write_value(out, &SCHEMA, 1);
        out.extend_from_slice(b",\n");
        write_name(out, "diagnostics", 1);
    }

    fn add(&mut self, file: &Checked<'_>, _: &[u8], out: &mut Vec<u8>) {
        let positions = Positions::new(&file.analysis.sources);
        for found in &file.shown {
            self.diagnostics.push(out, &DiagnosticJson(found, file.analysis, &positions));
        }
        let (list, text) = &mut self.allowed;
        for found in &file.allowed {
            list.push(text, &DiagnosticJson(found, file.analysis, &positions));
        }
        // Each block of a Markdown document is a circuit of its own, also for who reads this.
        if is_markdown(main(file.analysis)) {
            let (list, text) = &mut self.circuits;
            list.push(text, &CircuitJson(file, &positions));
        }
    }

    fn end(&mut self, unreadable: &[Unreadable], tally: &Tally, out: &mut Vec<u8>) {
        self.diagnostics.close(out);
        out.extend_from_slice(b",\n");
        write_name(out, "summary", 1);
        write_value(out, tally, 1);
        for (name, (list, text)) in [("allowed", &self.allowed), ("circuits", &self.circuits)] {
            if !list.is_empty() {
                out.extend_from_slice(b",\n");
                write_name(out, name, 1);
                out.extend_from_slice(text);
                list.close(out);
            }
        }
        if !unreadable.is_empty() {
            out.extend_from_slice(b",\n");
            write_name(out, "unreadable", 1);
            write_value(out, &unreadable, 1);
        }
        out.extend_from_slice(b"\n}\n");
    }
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
        map.serialize_entry(
            "diagnostics",
            &List(|| file.shown.iter().map(|one| DiagnosticJson(one, file.analysis, positions))),
        )?;
        map.serialize_entry("summary", &tally)?;
        if !file.allowed.is_empty() {
            map.serialize_entry(
                "allowed",
                &List(|| file.allowed.iter().map(|one| DiagnosticJson(one, file.analysis, positions))),
            )?;
        }
        map.end()
    }
}

/// A diagnostic with its positions converted, and its proof.
pub(crate) struct DiagnosticJson<'a>(pub &'a Diagnostic, pub &'a Analysis, pub &'a Positions<'a>);

impl Serialize for DiagnosticJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self(diagnostic, analysis, positions) = self;
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
        if let Some(proof) = proof(analysis, diagnostic) {
            map.serialize_entry("evidence", &EvidenceJson(&proof, positions))?;
        }
        if let Some(reason) = &diagnostic.allowed {
            map.serialize_entry("allowed", reason)?;
        }
        map.end()
    }
}

/// What proves a finding: `kind` says what the steps are (`loop`, `cut`, `points`, `piece`, `core`, `wires` or `lines`, see `ohmline_syntax::EvidenceKind`), `case` in which
/// state it is shown (`null` as drawn), `sides` what lies on either side of a cut, `conclusion` what follows. Proofs of more than 200 steps
/// are left out.
struct EvidenceJson<'a>(&'a Evidence, &'a Positions<'a>);

impl Serialize for EvidenceJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self(proof, positions) = self;
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("kind", proof.kind.word())?;
        map.serialize_entry("case", &proof.case)?;
        map.serialize_entry("steps", &List(|| proof.steps.iter().map(|step| StepJson(step, positions))))?;
        if !proof.sides.is_empty() {
            map.serialize_entry("sides", &List(|| proof.sides.iter().map(SideJson::from)))?;
        }
        map.serialize_entry("conclusion", &proof.conclusion)?;
        map.end()
    }
}

/// A step in words (`message`), its `element` and `point` by name (`null` where it has none), and where it stands in the text.
struct StepJson<'a>(&'a EvidenceStep, &'a Positions<'a>);

impl Serialize for StepJson<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("message", &self.0.text)?;
        map.serialize_entry("element", &self.0.element)?;
        map.serialize_entry("point", &self.0.point)?;
        place(&mut map, self.1, self.0.at)?;
        map.end()
    }
}

/// The elements of a side, how many `more` are not listed, and the points at which the cut touches it.
#[derive(Serialize)]
struct SideJson<'a> {
    elements: &'a [String],
    more: usize,
    points: &'a [String],
}

impl<'a> From<&'a EvidenceSide> for SideJson<'a> {
    fn from(side: &'a EvidenceSide) -> Self {
        Self { elements: &side.elements, more: side.more, points: &side.points }
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
