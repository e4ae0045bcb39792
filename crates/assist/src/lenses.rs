//! Lines above lines: what was solved, in a word, above the statements that ask for it.

use ohmline_analysis::Analysis;
use ohmline_circuit::quantity::{Number, Style, show};
use ohmline_circuit::{Claim, StateId, Unit};
use ohmline_lint::words;
use ohmline_report::Tally;
use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::{FileId, FileSpan, Severity, Span};

/// Significant digits of every value shown.
const DIGITS: Style = Style::Digits(3);
/// Most values in one line.
const MOST: usize = 3;

/// What a line opens.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Opens {
    /// The worked solution.
    Solution,
    /// The drawing.
    Drawing,
    /// The page that follows the text.
    Preview,
}

/// A line above a statement.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Lens {
    /// The statement.
    pub at: Span,
    /// What it says.
    pub title: String,
    /// What it opens.
    pub opens: Opens,
    /// The case that it speaks of.
    pub case: Option<String>,
}

/// The lines above `circuit`, `case` and `find`.
pub fn lenses(analysis: &Analysis) -> Vec<Lens> {
    let Some(source) = analysis.sources.files.first() else { return Vec::new() };
    let mut out = Vec::new();
    for stmt in &source.tree.stmts {
        let at = stmt.range();
        match &stmt.node.kind {
            StmtKind::Circuit(_) => {
                let lens = |title: String, opens: Opens| Lens { at, title, opens, case: None };
                out.push(lens(whole(analysis), Opens::Solution));
                out.push(lens("Drawing".to_owned(), Opens::Drawing));
                out.push(lens("Preview".to_owned(), Opens::Preview));
            }
            StmtKind::Case { name, .. } => {
                let own = FileSpan::new(FileId::MAIN, at);
                let within = |state: &ohmline_circuit::State| state.at.is_some_and(|place| holds(own, place));
                let Some(state) = analysis.circuit.states.iter().position(within) else { continue };
                let title = sources(analysis, StateId(state as u32)).unwrap_or_else(|| "Solution".to_owned());
                out.push(Lens { at, title, opens: Opens::Solution, case: Some(name.text.to_string()) });
            }
            StmtKind::Find { case, .. } => {
                let own = FileSpan::new(FileId::MAIN, at);
                if let Some(title) = found(analysis, own) {
                    let case = case.as_ref().map(|case| case.text.to_string());
                    out.push(Lens { at, title, opens: Opens::Solution, case });
                }
            }
            _ => {}
        }
    }
    out
}

fn holds(own: FileSpan, place: FileSpan) -> bool {
    place.file == own.file && own.span.start <= place.span.start && place.span.end <= own.span.end
}

/// Values that were found, the first few of them.
fn list(values: Vec<String>) -> String {
    let rest = values.len().saturating_sub(MOST);
    let mut text = values.into_iter().take(MOST).collect::<Vec<_>>().join(", ");
    if rest > 0 {
        text.push_str(&format!(" and {rest} more"));
    }
    text
}

/// What the batteries and sources of a state give: `B1 300 mA, 1.35 W`.
fn sources(analysis: &Analysis, state: StateId) -> Option<String> {
    let answers = analysis.answers.states.get(state.index())?;
    let circuit = &analysis.circuit;
    let of = circuit.declared_ids().filter(|id| circuit.element(*id).kind.is_source()).filter_map(|id| {
        let answer = answers.elements.get(id.index())?.as_ref()?;
        let shown = |value: Option<&Number>, unit: Unit| value.map(|number| show(number, unit, DIGITS));
        let current = shown(answer.current.as_ref().and_then(|value| value.known()), Unit::Ampere);
        let power = shown(answer.power.known(), Unit::Watt);
        let values: Vec<String> = current.into_iter().chain(power).collect();
        let name = &circuit.element(id).name;
        Some(if values.is_empty() { format!("{name} undetermined") } else { format!("{name} {}", values.join(", ")) })
    });
    let all: Vec<String> = of.collect();
    if all.is_empty() {
        return None;
    }
    let rest = all.len().saturating_sub(MOST);
    let mut text = all.into_iter().take(MOST).collect::<Vec<_>>().join("; ");
    if rest > 0 {
        text.push_str(&format!(" and {rest} more"));
    }
    Some(text)
}

/// The statements of the claims that fail.
fn failed_claims(analysis: &Analysis) -> Vec<FileSpan> {
    let context = analysis.context();
    let claims = analysis.circuit.claims.iter().enumerate();
    claims
        .filter(|(number, _)| words::claim(&context, *number).holds == Some(false))
        .map(|(_, claim)| match claim {
            Claim::Value { ask, .. } => ask.stmt,
            Claim::Relation { stmt, .. } => *stmt,
        })
        .collect()
}

/// The circuit as drawn, in a line; what is wrong comes first.
fn whole(analysis: &Analysis) -> String {
    let tally = Tally::of(analysis);
    let count = |number: usize, one: &str, many: &str| match number {
        0 => None,
        1 => Some(format!("1 {one}")),
        number => Some(format!("{number} {many}")),
    };
    let mut parts: Vec<String> = Vec::new();
    // A claim that fails is an error too, and is told of below.
    let failed = failed_claims(analysis);
    let told = |at: FileSpan| failed.iter().any(|claim| holds(*claim, at));
    let other = analysis.diagnostics.iter().filter(|one| one.severity == Severity::Error && !told(one.primary.at));
    parts.extend(count(other.count(), "error", "errors"));
    parts.extend(sources(analysis, StateId::DRAWN));
    let claims: Vec<String> = [
        count(tally.claims_held, "claim holds", "claims hold"),
        count(tally.claims_failed, "claim fails", "claims fail"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !claims.is_empty() {
        parts.push(claims.join(", "));
    }
    if parts.is_empty() { "Solution".to_owned() } else { parts.join(" · ") }
}

/// The answers to a `find`.
fn found(analysis: &Analysis, own: FileSpan) -> Option<String> {
    let circuit = &analysis.circuit;
    let mut values = Vec::new();
    for (ask, answer) in circuit.finds.iter().zip(&analysis.answers.finds) {
        if !holds(own, ask.stmt) {
            continue;
        }
        values.push(match &answer.value {
            Ok(number) => show(number, answer.unit, DIGITS),
            Err(_) => "undetermined".to_owned(),
        });
    }
    (!values.is_empty()).then(|| list(values))
}
