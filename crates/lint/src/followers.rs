//! Claims that fail only because of a mistake that is reported already: one cause, one message.
//!
//! Whether a claim is such a follower is tried, not guessed: the mistake is mended as its own fix proposes, and everything is solved again. Claims
//! that hold then are told about together with the cause, which becomes an error for their sake; a claim that still fails is a mistake of its own.

use ohmline_syntax::{Diagnostic, FileSpan, Fix, Severity};

use crate::context::Context;
use crate::facts::Facts;
use crate::registry::{Group, meta};
use crate::rules::{common_cause, open_end};
use crate::{trial, words};

/// Most causes that are tried.
const MOST_CAUSES: usize = 6;

/// Most fixes of a cause that are tried.
const MOST_FIXES: usize = 3;

/// Most claims that are labelled at their cause.
const MOST_LABELS: usize = 6;

/// What remains to be said, in the same order.
pub fn settle(facts: &Facts<'_>, mut found: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let context: &Context<'_> = facts;
    let claims: Vec<FileSpan> =
        (0..context.circuit.claims.len()).map(|index| words::claim(context, index).stmt).collect();
    let holds = |outer: &FileSpan, inner: FileSpan| {
        outer.file == inner.file && outer.span.start <= inner.span.start && inner.span.end <= outer.span.end
    };
    let claim_of = |said: &Diagnostic| claims.iter().position(|stmt| holds(stmt, said.primary.at));
    let fails =
        |said: &Diagnostic| said.severity <= Severity::Warning && said.allowed.is_none() && claim_of(said).is_some();
    if !found.iter().any(fails) {
        return found;
    }
    let mut silent = vec![false; found.len()];
    let before = trial::verdicts(context);
    let causes: Vec<usize> =
        (0..found.len()).filter(|at| is_cause(&found[*at]) && claim_of(&found[*at]).is_none()).collect();
    if causes.len() <= MOST_CAUSES {
        for cause in causes {
            let own = found[cause].fixes.iter().take(MOST_FIXES).cloned().collect::<Vec<_>>();
            let Some((fix, mended)) = best(context, &before, own).or_else(|| {
                // Where a loose end belongs the claims may tell, if only one point makes them hold.
                let loose = found[cause].rule == "open-end";
                let ways = if loose { open_end::ways(facts, &found[cause]) } else { Vec::new() };
                only(context, &before, ways)
            }) else {
                continue;
            };
            let followers: Vec<usize> = (0..found.len())
                .filter(|at| !silent[*at] && fails(&found[*at]) && found[*at].rule != common_cause::NAME)
                .filter(|at| claim_of(&found[*at]).is_some_and(|claim| mended.contains(&claim)))
                .collect();
            if followers.is_empty() {
                continue;
            }
            for at in &followers {
                silent[*at] = true;
            }
            let of: Vec<FileSpan> = followers.iter().filter_map(|at| Some(claims[claim_of(&found[*at])?])).collect();
            explain(&mut found[cause], &of, fix);
        }
    }
    // One change of a value that explains several claims stands for them, unless a mistake in the wiring explains them too.
    for at in 0..found.len() {
        if found[at].rule != common_cause::NAME || found[at].allowed.is_some() {
            continue;
        }
        let labels: Vec<FileSpan> = found[at].labels.iter().map(|label| label.at).collect();
        let explained = |other: usize| {
            other != at && fails(&found[other]) && labels.iter().any(|label| holds(label, found[other].primary.at))
        };
        let explained: Vec<usize> = (0..found.len()).filter(|other| explained(*other)).collect();
        if explained.iter().any(|other| silent[*other]) || found[at].severity > Severity::Warning {
            silent[at] = true;
        } else {
            explained.into_iter().for_each(|other| silent[other] = true);
        }
    }
    let mut silent = silent.into_iter();
    found.retain(|_| !silent.next().unwrap_or(false));
    found
}

/// Of several fixes the first after which most claims hold.
fn best(context: &Context<'_>, before: &[Option<bool>], fixes: Vec<Fix>) -> Option<(Fix, Vec<usize>)> {
    let tried = fixes.into_iter().enumerate().filter_map(|(at, fix)| {
        let mended = trial::mended(before, &trial::after(context, &fix.edits)?);
        (!mended.is_empty()).then_some((at, fix, mended))
    });
    let best = tried.max_by_key(|(at, _, mended)| (mended.len(), std::cmp::Reverse(*at)))?;
    Some((best.1, best.2))
}

/// The fix after which every claim holds, if it is the only one.
fn only(context: &Context<'_>, before: &[Option<bool>], fixes: Vec<Fix>) -> Option<(Fix, Vec<usize>)> {
    let failing = before.iter().filter(|holds| **holds != Some(true)).count();
    let mut fits = fixes.into_iter().filter_map(|fix| {
        let mended = trial::mended(before, &trial::after(context, &fix.edits)?);
        (mended.len() == failing).then_some((fix, mended))
    });
    let one = fits.next()?;
    fits.next().is_none().then_some(one)
}

/// Whether a finding may be why claims fail: a mistake in the circuit itself that can be mended in the text.
fn is_cause(said: &Diagnostic) -> bool {
    let group = meta(said.rule).map(|meta| meta.group);
    let of_circuit = matches!(
        group,
        Some(Group::Connections | Group::Sources | Group::Meters | Group::SwitchesAndCases | Group::RatingsAndSafety)
    );
    of_circuit
        && said.severity <= Severity::Warning
        && said.allowed.is_none()
        && (!said.fixes.is_empty() || said.rule == "open-end")
}

fn explain(cause: &mut Diagnostic, claims: &[FileSpan], fix: Fix) {
    cause.severity = Severity::Error;
    cause.fixes.retain(|other| *other != fix);
    cause.fixes.insert(0, fix);
    let (claims_fail, they) = match claims.len() {
        1 => ("One claim fails".to_owned(), "it holds"),
        count => (format!("{count} claims fail"), "they hold"),
    };
    cause.notes.push(format!("{claims_fail} only because of this: once it is mended as proposed, {they}"));
    for (at, claim) in claims.iter().take(MOST_LABELS).enumerate() {
        let more = claims.len() - at - 1;
        let text = if at + 1 == MOST_LABELS && more > 0 {
            format!("fails because of it, and {more} more")
        } else {
            "fails because of it".to_owned()
        };
        cause.labels.push(ohmline_syntax::diagnostic::Label { at: *claim, text });
    }
}
