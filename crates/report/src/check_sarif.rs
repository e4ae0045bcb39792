//! Findings as SARIF: Static Analysis Results Interchange Format, version 2.1.0 (OASIS standard, 27 March 2020, with errata 01).

use std::collections::BTreeMap;
use std::io;

use ohmline_circuit::Sources;
use ohmline_lint::{Meta, all_metas};
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Fix, Severity};
use serde_json::{Map, Value, json};

use crate::check_json::Checked;
use crate::position::Positions;

const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// Writes the result of a check of several files as one run.
pub fn write_check_sarif(mut out: impl io::Write, files: &[Checked<'_>]) -> io::Result<()> {
    let mut metas = all_metas();
    metas.sort_by_key(|meta| meta.name);
    let index: BTreeMap<&str, usize> = metas.iter().enumerate().map(|(at, meta)| (meta.name, at)).collect();
    let mut results = Vec::new();
    let suppressed = files.iter().any(|file| !file.allowed.is_empty() || !file.known.is_empty());
    for file in files {
        for found in file.shown.iter().chain(&file.allowed) {
            let mut result = result(&file.analysis.sources, found, &index);
            // Either all results of a run say whether they are suppressed, or none does (3.27.23).
            if suppressed {
                result.insert("suppressions".to_owned(), suppressions(found));
            }
            results.push(Value::Object(result));
        }
        for found in &file.known {
            let mut result = result(&file.analysis.sources, found, &index);
            let known = json!([{ "kind": "external", "justification": "known from the baseline" }]);
            result.insert("suppressions".to_owned(), known);
            results.push(Value::Object(result));
        }
    }
    let whole = json!({
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "ohmline",
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "rules": metas.iter().map(rule).collect::<Vec<_>>(),
            } },
            "columnKind": "unicodeCodePoints",
            "results": results,
        }],
    });
    serde_json::to_writer_pretty(&mut out, &whole)?;
    out.write_all(b"\n")
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

fn result(sources: &Sources, found: &Diagnostic, index: &BTreeMap<&str, usize>) -> Map<String, Value> {
    let positions = Positions::new(sources);
    let mut message = sentence(&found.message);
    if !found.cases.is_empty() {
        message.push_str(&format!(" Only {}.", found.cases.join(", ")));
    }
    for line in found.notes.iter().chain(&found.help) {
        message.push('\n');
        message.push_str(&sentence(line));
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
    let related: Vec<Value> = own
        .into_iter()
        .chain(&found.labels)
        .enumerate()
        .map(|(number, label)| {
            json!({
                "id": number,
                "message": { "text": sentence(&label.text) },
                "physicalLocation": physical(&positions, label.at),
            })
        })
        .collect();
    if !related.is_empty() {
        result.insert("relatedLocations".to_owned(), json!(related));
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
