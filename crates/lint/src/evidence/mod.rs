//! What proves a finding, worked out when somebody asks: the loop, the cut, the points or the piece, element by element.
//!
//! Rules only note down what their finding is about ([`Basis`], made by the functions of [`basis`]), so an edit costs nothing more. Each list
//! can be checked against the circuit by whoever reads it: that is what it is for.

mod balance;
pub(crate) mod basis;
mod cores;
mod cuts;
mod loops;
mod pieces;
mod points;
mod told;
mod ways;
mod wires;

use ohmline_circuit::{ElementId, NodeId, StateId};
use ohmline_syntax::{Basis, Diagnostic, Evidence, EvidenceKind, EvidenceSide, EvidenceStep, Proof};

use crate::context::Context;
use crate::facts::Facts;
use crate::{places, wording};
pub use told::Told;
use ways::Ways;

/// The proof of a finding of this circuit; `None` where there is none to give: the place itself shows all, or the finding is about words,
/// values or a choice.
pub fn evidence(context: &Context<'_>, found: &Diagnostic) -> Option<Evidence> {
    let basis = found.basis.as_deref()?;
    let facts = Facts::new(*context);
    let state = StateId(basis.state);
    let circuit = context.circuit;
    // A basis of another circuit would name what is not there.
    let known = state.index() < circuit.states.len()
        && basis.elements.iter().chain(&basis.others).all(|id| (*id as usize) < circuit.elements.len())
        && basis.nodes.iter().all(|id| (*id as usize) < circuit.nodes.len());
    if !known {
        return None;
    }
    let teller = Teller { facts: &facts, ways: Ways::new(&facts, state), state, basis };
    match basis.proof {
        Proof::Short => loops::short(&teller),
        Proof::Round => loops::closed(&teller),
        Proof::Detour => loops::detour(&teller),
        Proof::Pair => cuts::pair(&teller),
        Proof::Bridge => cuts::bridge(&teller),
        Proof::Island => cuts::island(&teller),
        Proof::Ends => points::ends(&teller),
        Proof::Meeting => points::meeting(&teller),
        Proof::Piece => pieces::piece(&teller),
        Proof::Block => pieces::block(&teller),
        Proof::Bypassed => pieces::bypassed(&teller),
        Proof::Gap => points::gap(&teller),
        Proof::Core => cores::core(&teller),
        Proof::Driven => cores::driven(&teller),
        Proof::Wires => wires::wires(&teller, found.primary.at),
        Proof::Balance => balance::balance(&teller),
    }
}

/// What every kind of proof looks at and speaks with.
struct Teller<'t, 'a> {
    facts: &'t Facts<'a>,
    ways: Ways<'t, 'a>,
    state: StateId,
    basis: &'t Basis,
}

impl Teller<'_, '_> {
    fn elements(&self) -> Vec<ElementId> {
        self.basis.elements.iter().map(|id| ElementId(*id)).collect()
    }

    fn others(&self) -> Vec<ElementId> {
        self.basis.others.iter().map(|id| ElementId(*id)).collect()
    }

    fn nodes(&self) -> Vec<NodeId> {
        self.basis.nodes.iter().map(|id| NodeId(*id)).collect()
    }

    /// What a point is called in a sentence.
    fn node(&self, node: NodeId) -> String {
        wording::node(self.facts.circuit, node).into_owned()
    }

    /// What a point is called where it stands alone.
    fn label(&self, node: NodeId) -> String {
        self.facts.circuit.node(node).label.to_string()
    }

    fn list(&self, elements: &[ElementId]) -> String {
        wording::elements(self.facts.circuit, elements)
    }

    /// A step that is an element.
    fn step(&self, element: ElementId, point: Option<NodeId>, text: String) -> EvidenceStep {
        EvidenceStep {
            at: self.facts.place(element),
            element: Some(self.facts.name(element).to_owned()),
            point: point.map(|node| self.label(node)),
            text: capital(text),
        }
    }

    /// A step that is only a point.
    fn place(&self, point: NodeId, text: String) -> EvidenceStep {
        EvidenceStep {
            at: places::of_node(self.facts, point),
            element: None,
            point: Some(self.label(point)),
            text: capital(text),
        }
    }

    fn evidence(&self, kind: EvidenceKind, steps: Vec<EvidenceStep>, conclusion: String) -> Evidence {
        let case = self.facts.circuit.states[self.state.index()].name.as_ref().map(ToString::to_string);
        Evidence { kind, case, steps, sides: Vec::new(), conclusion: capital(conclusion) }
    }

    fn cut(&self, steps: Vec<EvidenceStep>, sides: [EvidenceSide; 2], conclusion: String) -> Evidence {
        Evidence { sides: sides.into(), ..self.evidence(EvidenceKind::Cut, steps, conclusion) }
    }
}

/// A sentence begins with a capital, but for the names in it.
fn capital(text: String) -> String {
    let first = text.split_whitespace().next().unwrap_or("");
    let word = first.chars().all(|c| c.is_ascii_lowercase() || matches!(c, ',' | ':'));
    let mut letters = text.chars();
    match letters.next() {
        Some(letter) if word => letter.to_uppercase().chain(letters).collect(),
        _ => text,
    }
}

#[cfg(test)]
mod tests;
