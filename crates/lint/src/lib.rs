//! Tree, circuit and answers to diagnostics.
//!
//! Purpose: every rule, and the judgement of what to say once.
//! Boundary: no solving and no parsing of its own; no output formats.
//! Invariants:
//! - One file a rule; [`registry::RULES`] lists every rule that looks at the finished analysis, and
//!   [`registry::all_metas`] every rule whose name can appear in a diagnostic, also those that the parser and the
//!   circuit builder report.
//! - One cause, one message: a rule stays silent about what follows from a cause that another reports. What several rules
//!   must agree on for that (what was misread, what hangs loose, what floats) is found once, in [`facts`].
//! - What proves a finding is noted down by the rule and worked out by [`evidence`] when somebody asks.
//! - Order, copies and repetition are decided in one place, [`merge`], not in rules.

pub mod allow;
mod blocks;
mod broken;
pub mod context;
mod core;
mod driven;
mod evidence;
pub mod facts;
#[cfg(test)]
mod fixture;
mod followers;
pub mod limits;
mod loose;
mod merge;
mod pages;
mod pieces;
mod places;
pub mod registry;
pub mod rules;
pub mod settings;
mod shorts;
mod slip;
mod source_across;
mod states;
pub mod topics;
mod trial;
pub mod voice;
mod what_if;
mod wording;
pub mod words;
mod written;

pub use context::{Context, judge};
pub use evidence::{Told, evidence};
pub use facts::Facts;
pub use limits::Limits;
pub use merge::MOST_OF_A_RULE;
pub use registry::{Group, Meta, RULES, Rule, all_metas, meta};
pub use settings::{Level, Levels, Settings};
pub use states::AS_DRAWN;
pub use topics::Topic;
pub use trial::MOST as MOST_SOLVED_AGAIN;
pub use voice::Voice;

use std::sync::atomic::{AtomicUsize, Ordering};

use ohmline_syntax::{Diagnostic, FileId};

/// Everything to be said about a circuit: files in order (the one asked about first), each in text order.
///
/// Problems of syntax and names are included, and what the text allows, marked by [`Diagnostic::allowed`].
pub fn check(context: &Context<'_>) -> Vec<Diagnostic> {
    check_unless(context, &|| false).unwrap_or_default()
}

/// The same, unless told to stop before the end; asked before each rule.
pub fn check_unless(context: &Context<'_>, stop: &(dyn Fn() -> bool + Sync)) -> Option<Vec<Diagnostic>> {
    check_within(context, &Settings::default(), stop)
}

/// The same with other settings.
pub fn check_within(
    context: &Context<'_>,
    settings: &Settings,
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<Vec<Diagnostic>> {
    let mut found = Vec::new();
    for (file, source) in context.sources.files.iter().enumerate() {
        found.extend(source.tree.diagnostics(FileId(file as u32)));
    }
    found.extend(context.circuit.diagnostics.iter().cloned());
    let facts = Facts::within(*context, settings);
    for said in found.iter_mut().filter(|said| said.rule == "shorted-group") {
        let group = said.labels.first().map(|group| group.at);
        said.basis = group.and_then(|group| evidence::basis::shorted_group(&facts, group)).map(Box::new);
    }
    let rules: Vec<&dyn Rule> = RULES
        .iter()
        .copied()
        .filter(|rule| !(settings.without_causes && rule.meta().name == rules::common_cause::NAME))
        .collect();
    found.extend(run_rules(&facts, &rules, stop)?);
    found.extend(topics::check(&facts, &settings.not_met));
    let found = settings.apply(merge::cap(allow::apply(&facts, merge::finish(found))));
    Some(if settings.without_causes { found } else { followers::settle(&facts, found) })
}

/// From this number of elements on, starting a second thread costs less than it saves.
pub const WORTH_A_THREAD: usize = 2_000;

/// What rules find, in their order. Rules know nothing of each other, so in large circuits two threads share them.
fn run_rules(facts: &Facts<'_>, rules: &[&dyn Rule], stop: &(dyn Fn() -> bool + Sync)) -> Option<Vec<Diagnostic>> {
    let next = AtomicUsize::new(0);
    let work = || {
        let mut found = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(rule) = rules.get(at) else { return Some(found) };
            if stop() {
                return None;
            }
            let mut said = Vec::new();
            rule.check(facts, &mut said);
            found.push((at, said));
        }
    };
    let mut found = if facts.circuit.elements.len() < WORTH_A_THREAD {
        work()
    } else {
        std::thread::scope(|scope| {
            let other = scope.spawn(work);
            let found = work();
            match other.join() {
                Ok(more) => found.zip(more).map(|(found, more)| [found, more].concat()),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        })
    }?;
    found.sort_by_key(|(at, _)| *at);
    Some(found.into_iter().flat_map(|(_, said)| said).collect())
}

#[cfg(test)]
mod tests;
