//! What a rule may look at.

use ohmline_circuit::topology::RelationVerdict;
use ohmline_circuit::{Circuit, Claim, Sources, Topology};
use ohmline_solve::Answers;

/// One frozen view of everything known about a source.
#[derive(Clone, Copy)]
pub struct Context<'a> {
    /// The files.
    pub sources: &'a Sources,
    /// What they describe.
    pub circuit: &'a Circuit,
    /// Its shape, for each state.
    pub topologies: &'a [Topology],
    /// Its answers.
    pub answers: &'a Answers,
    /// For each claim about series or parallel: the judgement; `None` for claims about values.
    pub relations: &'a [Option<RelationVerdict>],
}

/// Judges each claim about series or parallel in the state it speaks of; `None` for claims about values.
pub fn judge(circuit: &Circuit, topologies: &[Topology]) -> Vec<Option<RelationVerdict>> {
    let judged = |claim: &Claim| match claim {
        Claim::Relation { relation, branches, state, .. } => {
            Some(topologies.get(state.index())?.judge(circuit, *relation, branches))
        }
        Claim::Value { .. } => None,
    };
    circuit.claims.iter().map(judged).collect()
}
