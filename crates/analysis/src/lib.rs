//! Source to analysis: the one value that terminal, editor, JSON and page are views of.
//!
//! Purpose: run the stages in order and keep what each of them found.
//! Boundary: no stage's own logic, no rendering, no files but through [`FileSystem`].
//! Invariants: pure; the same sources and settings give the same analysis; no stage stops the next.

pub mod load;

use std::sync::Arc;

use ohmline_circuit::build;
use ohmline_circuit::topology::RelationVerdict;
pub use ohmline_circuit::{Circuit, FileSystem, Source, Sources, Topology};
pub use ohmline_lint::{AS_DRAWN, Context};
pub use ohmline_solve::{Answers, Method};
use ohmline_syntax::Diagnostic;

pub use load::load;

/// What the user can choose.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Settings {
    /// Which solver.
    pub method: Method,
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
}

/// From this number of elements on, a second thread saves more than it costs to start.
const WORTH_A_THREAD: usize = 2_000;

/// Analyses the first of the files.
pub fn analyze(sources: Sources, settings: &Settings) -> Analysis {
    let circuit = build(&sources);
    let look = || circuit.state_ids().map(|state| Topology::new(&circuit, state)).collect::<Vec<_>>();
    let (topologies, answers) = if circuit.elements.len() < WORTH_A_THREAD {
        (look(), ohmline_solve::solve(&circuit, settings.method))
    } else {
        std::thread::scope(|scope| {
            let look = scope.spawn(look);
            let answers = ohmline_solve::solve(&circuit, settings.method);
            match look.join() {
                Ok(topologies) => (topologies, answers),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        })
    };
    let relations = ohmline_lint::judge(&circuit, &topologies);
    let mut analysis =
        Analysis { sources, circuit: Arc::new(circuit), topologies, answers, relations, diagnostics: Vec::new() };
    analysis.diagnostics = ohmline_lint::check(&analysis.context());
    analysis
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
