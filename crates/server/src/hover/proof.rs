//! What proves the findings at a place: the loop, the cut or the points, step by step.

use ohmline_analysis::Analysis;
use ohmline_lint::{Told, evidence};
use ohmline_syntax::{FileId, Span};

use super::Part;

/// The most findings proved at one place.
const MOST_FINDINGS: usize = 3;
/// The most steps shown of a proof.
const MOST_STEPS: usize = 20;

/// The findings with a proof whose place an offset lies in: the smallest of these places, and what is shown.
pub(super) fn at(analysis: &Analysis, offset: u32) -> Option<(Span, Vec<Part>)> {
    let here = analysis.diagnostics.iter().filter(|found| {
        let at = found.primary.at;
        found.basis.is_some() && at.file == FileId::MAIN && at.span.touches(offset)
    });
    let mut span: Option<Span> = None;
    let mut parts = Vec::new();
    for found in here.take(MOST_FINDINGS) {
        let Some(proof) = evidence(&analysis.context(), found) else { continue };
        let own = found.primary.at.span;
        let smaller = span.is_none_or(|known| own.end - own.start < known.end - known.start);
        span = if smaller { Some(own) } else { span };
        let Told { title, lines, conclusion } = Told::new(&proof, MOST_STEPS);
        if !parts.is_empty() {
            parts.push(Part::Rule);
        }
        parts.push(Part::Title { name: found.rule.to_owned(), is: found.message.clone() });
        parts.push(Part::Text(format!("Proof, {title}:")));
        parts.push(Part::Steps(lines));
        parts.push(Part::Text(format!("{conclusion}.")));
    }
    span.map(|span| (span, parts))
}
