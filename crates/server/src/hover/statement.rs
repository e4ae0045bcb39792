//! A claim, a question or a reading: what came of it.

use ohmline_circuit::quantity::show;
use ohmline_circuit::{Claim, StateId};
use ohmline_lint::words;
use ohmline_syntax::tree::{Stmt, StmtKind};
use ohmline_syntax::{FileId, FileSpan};

use super::{DIGITS, Part, Teller};

impl Teller<'_> {
    /// What is known about a claim, a question or a reading.
    pub(super) fn statement(&self, stmt: &Stmt) -> Option<Vec<Part>> {
        let here = |at: &FileSpan| {
            at.file == FileId::MAIN && stmt.range().touches(at.span.start) && at.span.start < stmt.range().end
        };
        let mut parts = Vec::new();
        match &stmt.node.kind {
            StmtKind::ClaimRelation { .. } | StmtKind::ClaimQuantity { .. } => {
                for (index, claim) in self.circuit.claims.iter().enumerate() {
                    let at = match claim {
                        Claim::Value { ask, .. } => &ask.stmt,
                        Claim::Relation { stmt, .. } => stmt,
                    };
                    if here(at) {
                        parts.extend(self.claim(index));
                    }
                }
            }
            StmtKind::Find { .. } => {
                let asked = self.circuit.finds.iter().zip(&self.analysis.answers.finds);
                for (ask, answer) in asked.filter(|(ask, _)| here(&ask.stmt)) {
                    let place = self.in_case(ask.state);
                    parts.push(Part::Text(match &answer.value {
                        Ok(number) => format!("{}{place}: {}", ask.text, show(number, answer.unit, DIGITS)),
                        Err(cause) => {
                            format!("{}{place}: undetermined. {}.", ask.text, words::cause(self.circuit, cause))
                        }
                    }));
                }
            }
            StmtKind::Measured { .. } => {
                let read = self.circuit.measured.iter().zip(&self.analysis.answers.measured);
                for (reading, verdict) in read.filter(|(reading, _)| here(&reading.ask.stmt)) {
                    let place = self.in_case(reading.ask.state);
                    let agrees = match verdict.agrees {
                        Some(true) => "agrees with the prediction",
                        Some(false) => "disagrees with the prediction",
                        None => "cannot be compared",
                    };
                    let why = match &verdict.predicted {
                        Ok(number) => format!("predicted {}", show(number, verdict.unit, DIGITS)),
                        Err(cause) => words::cause(self.circuit, cause),
                    };
                    parts.push(Part::Text(format!("The reading of {}{place} {agrees}: {why}.", reading.ask.text)));
                }
            }
            _ => {}
        }
        (!parts.is_empty()).then_some(parts)
    }

    fn in_case(&self, state: StateId) -> String {
        match &self.circuit.states[state.index()].name {
            None => String::new(),
            Some(name) => format!(" in \"{name}\""),
        }
    }

    fn claim(&self, index: usize) -> Vec<Part> {
        let answer = words::claim(&self.analysis.context(), index);
        let verdict = match answer.holds {
            Some(true) => "holds",
            Some(false) => "does not hold",
            None => "undetermined",
        };
        let place = answer.case.as_ref().map(|name| format!(" in \"{name}\"")).unwrap_or_default();
        let how = match answer.how {
            "direct" => " as drawn",
            "reduction" => " after reduction",
            "steady-state" => " in steady state only",
            _ => "",
        };
        let mut parts = vec![Part::Title { name: format!("{}{place}", answer.text), is: format!("{verdict}{how}") }];
        if !answer.why.is_empty() {
            parts.push(Part::Text(format!("{}.", answer.why)));
        }
        parts
    }
}
