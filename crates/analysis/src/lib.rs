//! Source to analysis: the one value that terminal, editor, JSON and page are views of.
//!
//! Purpose: run the stages in order and keep what each of them found.
//! Boundary: no stage's own logic, no rendering, no files but through [`FileSystem`].
//! Invariants: pure; the same sources and settings give the same analysis; no stage stops the next.

mod limit;
pub mod load;
pub mod markdown;
pub mod trial;

use std::sync::Arc;

use ohmline_circuit::build;
use ohmline_circuit::topology::RelationVerdict;
pub use ohmline_circuit::{Circuit, FileSystem, Source, Sources, Topology};
pub use ohmline_lint::{AS_DRAWN, Context};
pub use ohmline_solve::{Answers, Method};
use ohmline_syntax::Diagnostic;

pub use load::load;

/// What the user can choose.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settings {
    /// Which solver.
    pub method: Method,
    /// What is found, and how it is said.
    pub findings: ohmline_lint::Settings,
}

/// Everything known about a source.
#[derive(Clone, Debug)]
pub struct Analysis {
    /// The files.
    pub sources: Sources,
    /// What they describe.
    pub circuit: Arc<Circuit>,
    /// Its shape, for each state.
    pub topologies: Vec<Topology>,
    /// Its answers, for each state, and to every question.
    pub answers: Answers,
    /// For each claim about series or parallel: the judgement.
    pub relations: Vec<Option<RelationVerdict>>,
    /// Everything to be said, in text order.
    pub diagnostics: Vec<Diagnostic>,
    /// What would be said too if the author did not allow it, in text order; each with the reason.
    pub allowed: Vec<Diagnostic>,
}

/// Tells whether an analysis may be given up, since nobody waits for it any more. Asked now and then, from several threads.
pub type Stop<'s> = &'s (dyn Fn() -> bool + Sync);

/// Analyses the first of the files.
pub fn analyze(sources: Sources, settings: &Settings) -> Analysis {
    analyze_unless(sources, settings, &|| false).expect("it is never told to stop")
}

/// Analyses the first of the files, unless told to stop before the end: between stages, between states and between rules.
pub fn analyze_unless(sources: Sources, settings: &Settings, stop: Stop<'_>) -> Option<Analysis> {
    let mut circuit = build(&sources);
    limit::cut_cases(&mut circuit, limit::MOST);
    let look = || {
        let states = circuit.state_ids().map(|state| (!stop()).then(|| Topology::new(&circuit, state)));
        states.collect::<Option<Vec<_>>>()
    };
    let solve = || ohmline_solve::solve_unless(&circuit, settings.method, stop);
    let (topologies, answers) = if circuit.elements.len() < ohmline_lint::WORTH_A_THREAD {
        (look(), solve())
    } else {
        std::thread::scope(|scope| {
            let look = scope.spawn(look);
            let answers = solve();
            match look.join() {
                Ok(topologies) => (topologies, answers),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        })
    };
    let (topologies, answers) = (topologies?, answers?);
    let relations = ohmline_lint::judge(&circuit, &topologies);
    let mut analysis = Analysis {
        sources,
        circuit: Arc::new(circuit),
        topologies,
        answers,
        relations,
        diagnostics: Vec::new(),
        allowed: Vec::new(),
    };
    let found = ohmline_lint::check_within(&analysis.context(), &settings.findings, stop)?;
    (analysis.allowed, analysis.diagnostics) = found.into_iter().partition(|one| one.allowed.is_some());
    Some(analysis)
}

impl Analysis {
    /// The view that rules and words are made from.
    pub fn context(&self) -> Context<'_> {
        Context {
            sources: &self.sources,
            circuit: &self.circuit,
            topologies: &self.topologies,
            answers: &self.answers,
            relations: &self.relations,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    struct Nothing;

    impl FileSystem for Nothing {
        fn read(&self, _: &Path) -> Result<Arc<str>, String> {
            Err("there is no such file".to_owned())
        }

        fn exists(&self, _: &Path) -> bool {
            false
        }
    }

    #[test]
    fn it_can_be_stopped_anywhere_on_the_way() {
        let text = "battery B1 = 6 V\nlamp L1 = 12 ohm\nB1+ -- L1 -- B1-\n\
            case \"dusk\": B1 = 5 V\ncase \"night\": B1 = 4 V\n";
        let sources = load("quay.ohmline", None, Arc::new(ohmline_syntax::parse(text)), &Nothing);
        let asked = AtomicUsize::new(0);
        let stopped_after = |count: usize| {
            asked.store(0, Ordering::Relaxed);
            let stop = || asked.fetch_add(1, Ordering::Relaxed) >= count;
            analyze_unless(sources.clone(), &Settings::default(), &stop).is_none()
        };
        assert!(!stopped_after(usize::MAX));
        let asked = asked.load(Ordering::Relaxed);
        // Each of three states twice, and each rule.
        assert!(asked >= 2 * 3 + ohmline_lint::RULES.len(), "asked {asked} times");
        assert!((0..asked).all(stopped_after));
    }
}
