//! Findings as single lines: for people with many files, and as annotations that code hosts show beside a change.

use std::fmt::Write as _;

use ohmline_analysis::Analysis;
use ohmline_syntax::{Diagnostic, Severity};

use crate::position::Positions;
use crate::table::clean;

/// `pier.ohmline:4:1: error shorted-source: message`
pub fn check_line(analysis: &Analysis, found: &Diagnostic) -> String {
    let positions = Positions::new(&analysis.sources);
    let at = found.primary.at;
    let start = positions.start(at);
    let mut line = format!(
        "{}:{}:{}: {} {}: {}",
        clean(positions.name(at.file)),
        start.line,
        start.column,
        found.severity.word(),
        found.rule,
        clean(&found.message)
    );
    if !found.cases.is_empty() {
        // Writing into a string cannot fail.
        let _ = write!(line, " (only {})", clean(&found.cases.join(", ")));
    }
    line
}

/// A workflow command, which code hosts turn into a note beside the line: `::error file=...,line=4,col=1,title=...::message`.
pub fn check_annotation(analysis: &Analysis, found: &Diagnostic) -> String {
    let positions = Positions::new(&analysis.sources);
    let at = found.primary.at;
    let (start, end) = (positions.start(at), positions.end(at));
    let level = match found.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Info | Severity::Hint => "notice",
    };
    let mut message = found.message.clone();
    for line in found.notes.iter().chain(&found.help) {
        message.push('\n');
        message.push_str(line);
    }
    let mut place = format!("file={},line={},col={}", property(positions.name(at.file)), start.line, start.column);
    // A column at the end has a meaning only within one line.
    if end.line == start.line {
        let _ = write!(place, ",endLine={},endColumn={}", end.line, end.column);
    } else {
        let _ = write!(place, ",endLine={}", end.line);
    }
    format!("::{level} {place},title={}::{}", property(found.rule), data(&message))
}

/// The characters that have a meaning in a workflow command, percent-encoded.
fn data(text: &str) -> String {
    text.replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A")
}

fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}
