//! Findings as SARIF: Static Analysis Results Interchange Format, version 2.1.0 (OASIS standard, 27 March 2020, with errata 01).

use std::collections::BTreeMap;

use ohmline_analysis::Analysis;
use ohmline_circuit::Sources;
use ohmline_lint::{Meta, Told, all_metas};
use ohmline_syntax::{Diagnostic, Evidence, EvidenceKind, EvidenceStep, FileId, FileSpan, Fix, Severity};
use serde_json::{Map, Value, json};

use crate::check_writer::{CheckWriter, Checked, Unreadable};
use crate::position::Positions;
use crate::proof::proof;
use crate::stream::{StreamedList, write_name, write_value};
use crate::tally::Tally;

const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// Writes the result of a check as one run.
pub struct CheckSarif {
    results: StreamedList,
    /// The rules, in the order of their names, and where each stands.
    metas: Vec<Meta>,
    index: BTreeMap<&'static str, usize>,
}

impl Default for CheckSarif {
    fn default() -> Self {
        let mut metas = all_metas().to_vec();
        metas.sort_by_key(|meta| meta.name);
        let index = metas.iter().enumerate().map(|(at, meta)| (meta.name, at)).collect();
        Self { results: StreamedList::new(4), metas, index }
    }
}

impl CheckWriter for CheckSarif {
    fn begin(&mut self, out: &mut Vec<u8>) {
        out.extend_from_slice(b"{\n");
        write_name(out, "$schema", 1);
        write_value(out, &SCHEMA, 1);
        out.extend_from_slice(b",\n");
        write_name(out, "version", 1);
        write_value(out, &"2.1.0", 1);
        out.extend_from_slice(b",\n");
        write_name(out, "runs", 1);
        out.extend_from_slice(b"[\n    {\n");
        let tool = json!({ "driver": {
            "name": "ohmline",
            "semanticVersion": env!("CARGO_PKG_VERSION"),
            "rules": self.metas.iter().map(rule).collect::<Vec<_>>(),
        } });
        for (name, value) in [("tool", tool), ("columnKind", json!("unicodeCodePoints"))] {
            write_name(out, name, 3);
            write_value(out, &value, 3);
            out.extend_from_slice(b",\n");
        }
        write_name(out, "results", 3);
    }

    fn add(&mut self, file: &Checked<'_>, _: &[u8], out: &mut Vec<u8>) {
        // Either all results of a run say whether they are suppressed, or none does (3.27.23); what a later file allows is not known yet.
        let known = json!([{ "kind": "external", "justification": "known from the baseline" }]);
        let open = file.shown.iter().chain(&file.allowed).map(|found| (found, suppressions(found)));
        for (found, suppressions) in open.chain(file.known.iter().map(|found| (found, known.clone()))) {
            let mut result = result(file.analysis, found, &self.index);
            result.insert("suppressions".to_owned(), suppressions);
            self.results.push(out, &result);
        }
    }

    fn end(&mut self, _: &[Unreadable], _: &Tally, out: &mut Vec<u8>) {
        self.results.close(out);
        out.extend_from_slice(b"\n    }\n  ]\n}\n");
    }
}

/// What the author allows is suppressed in the source, with the reason (3.35).
fn suppressions(found: &Diagnostic) -> Value {
    match &found.allowed {
        Some(reason) => json!([{ "kind": "inSource", "justification": reason }]),
        None => json!([]),
    }
}

/// The levels of the standard; what only teaches is a note.
fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Info | Severity::Hint => "note",
    }
}

fn rule(meta: &Meta) -> Value {
    let mut rule = Map::new();
    rule.insert("id".to_owned(), json!(meta.name));
    rule.insert("shortDescription".to_owned(), json!({ "text": sentence(meta.summary) }));
    if !meta.why.is_empty() {
        rule.insert("fullDescription".to_owned(), json!({ "text": sentence(meta.why) }));
    }
    let help: Vec<String> = [
        (!meta.ignore_when.is_empty()).then(|| format!("Ignore it when: {}", sentence(meta.ignore_when))),
        (!meta.fix.is_empty()).then(|| format!("Fix: {}", sentence(meta.fix))),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !help.is_empty() {
        rule.insert("help".to_owned(), json!({ "text": help.join("\n") }));
    }
    rule.insert("defaultConfiguration".to_owned(), json!({ "level": level(meta.severity) }));
    rule.insert("properties".to_owned(), json!({ "tags": [meta.group.word()] }));
    Value::Object(rule)
}

/// The standard asks for texts that end like sentences.
fn sentence(text: &str) -> String {
    let text = text.trim_end();
    if text.ends_with(['.', '!', '?']) { text.to_owned() } else { format!("{text}.") }
}

fn result(analysis: &Analysis, found: &Diagnostic, index: &BTreeMap<&str, usize>) -> Map<String, Value> {
    let sources = &analysis.sources;
    let positions = Positions::new(sources);
    let mut message = sentence(&found.message);
    if !found.cases.is_empty() {
        message.push_str(&format!(" Only {}.", found.cases.join(", ")));
    }
    for line in found.notes.iter().chain(&found.help) {
        message.push('\n');
        message.push_str(&sentence(line));
    }
    let proof = proof(analysis, found);
    // Only a way is a flow; what else is listed are places that help to understand the result (3.27.22).
    let (way, list) = match proof {
        Some(proof) if is_way(&proof) => (Some(proof), None),
        other => (None, other),
    };
    if let Some(proof) = &list {
        let told = Told::new(proof, proof.steps.len());
        for line in told.lines[proof.steps.len()..].iter().chain([&summary(proof)]) {
            message.push('\n');
            message.push_str(&sentence(line));
        }
    }
    let mut result = Map::new();
    result.insert("ruleId".to_owned(), json!(found.rule));
    if let Some(at) = index.get(found.rule) {
        result.insert("ruleIndex".to_owned(), json!(at));
    }
    result.insert("level".to_owned(), json!(level(found.severity)));
    result.insert("message".to_owned(), json!({ "text": message }));
    result.insert("locations".to_owned(), json!([{ "physicalLocation": physical(&positions, found.primary.at) }]));
    let own = Some(&found.primary).filter(|label| !label.text.is_empty());
    let steps = list.iter().flat_map(|proof| &proof.steps).map(|step| (&step.text, step.at));
    let related: Vec<Value> = own
        .into_iter()
        .chain(&found.labels)
        .map(|label| (&label.text, label.at))
        .chain(steps)
        .enumerate()
        .map(|(number, (text, at))| {
            json!({
                "id": number,
                "message": { "text": sentence(text) },
                "physicalLocation": physical(&positions, at),
            })
        })
        .collect();
    if !related.is_empty() {
        result.insert("relatedLocations".to_owned(), json!(related));
    }
    if let Some(proof) = &way {
        result.insert("codeFlows".to_owned(), json!([flow(&positions, proof)]));
    }
    let fixes: Vec<Value> = found.fixes.iter().map(|own| fix(&positions, own)).collect();
    if !fixes.is_empty() {
        result.insert("fixes".to_owned(), json!(fixes));
    }
    result.insert(
        "partialFingerprints".to_owned(),
        json!({ "finding/v1": fingerprint(sources, found, &sources.file(found.primary.at.file).name) }),
    );
    result
}

/// Whether each step of a proof goes on where the last one ended.
fn is_way(proof: &Evidence) -> bool {
    match proof.kind {
        EvidenceKind::Loop | EvidenceKind::Wires | EvidenceKind::Lines => true,
        EvidenceKind::Cut | EvidenceKind::Points | EvidenceKind::Piece | EvidenceKind::Core => false,
    }
}

/// What a proof is, and what follows from it.
fn summary(proof: &Evidence) -> String {
    let Told { title, conclusion, .. } = Told::new(proof, 0);
    let mut letters = title.chars();
    let head: String = letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect();
    format!("{head}: {conclusion}")
}

/// A way, step by step: one thread for each line that it has, since nothing else happens beside it (3.36, 3.37, 3.38).
fn flow(positions: &Positions<'_>, proof: &Evidence) -> Value {
    let step = |step: &EvidenceStep| {
        json!({ "location": {
            "message": { "text": sentence(&step.text) },
            "physicalLocation": physical(positions, step.at),
        } })
    };
    // A second line begins where the first one began.
    let begins = |_: &EvidenceStep, next: &EvidenceStep| !next.text.starts_with("From ");
    let lines =
        proof.steps.chunk_by(begins).map(|line| json!({ "locations": line.iter().map(step).collect::<Vec<_>>() }));
    let lines: Vec<Value> = lines.collect();
    json!({ "message": { "text": sentence(&summary(proof)) }, "threadFlows": lines })
}

/// What stays the same when lines move: the rule, the file by the name given, and the words at the place.
pub fn fingerprint(sources: &Sources, found: &Diagnostic, name: &str) -> String {
    let source = sources.file(found.primary.at.file);
    let at = found.primary.at.span;
    let text = &source.tree.text;
    let start = text.get(..at.start as usize).and_then(|before| before.rfind('\n')).map_or(0, |newline| newline + 1);
    let line: String = text.get(start..).unwrap_or("").lines().next().unwrap_or("").split_whitespace().collect();
    // FNV-1a, 64 bits (Fowler, Noll, Vo): short, and the same on every machine.
    let hash = [found.rule, name, &line, &found.message]
        .iter()
        .flat_map(|piece| piece.bytes().chain([0]))
        .fold(0xcbf2_9ce4_8422_2325u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3));
    format!("{hash:016x}")
}

/// A path as an address relative to where the command ran (RFC 3986).
fn address(name: &str) -> String {
    let mut out = String::new();
    for byte in name.replace('\\', "/").bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => out.push(byte as char),
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}

fn artifact(positions: &Positions<'_>, file: FileId) -> Value {
    json!({ "uri": address(positions.name(file)) })
}

fn region(positions: &Positions<'_>, at: FileSpan) -> Value {
    let (start, end) = (positions.start(at), positions.end(at));
    json!({ "startLine": start.line, "startColumn": start.column, "endLine": end.line, "endColumn": end.column })
}

fn physical(positions: &Positions<'_>, at: FileSpan) -> Value {
    json!({ "artifactLocation": artifact(positions, at.file), "region": region(positions, at) })
}

fn fix(positions: &Positions<'_>, fix: &Fix) -> Value {
    let mut files: Vec<(FileId, Vec<Value>)> = Vec::new();
    for edit in &fix.edits {
        let replacement =
            json!({ "deletedRegion": region(positions, edit.at), "insertedContent": { "text": edit.text } });
        match files.iter_mut().find(|(file, _)| *file == edit.at.file) {
            Some((_, list)) => list.push(replacement),
            None => files.push((edit.at.file, vec![replacement])),
        }
    }
    let changes: Vec<Value> = files
        .into_iter()
        .map(|(file, list)| json!({ "artifactLocation": artifact(positions, file), "replacements": list }))
        .collect();
    json!({ "description": { "text": sentence(&fix.title) }, "artifactChanges": changes })
}
