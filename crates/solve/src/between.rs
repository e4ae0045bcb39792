//! Resistance and capacitance between two points.

use ohmline_circuit::{BranchId, Circuit, ElementId, NodeId, StateId};

use crate::answers::Cause;
use crate::net::{self, Edge, Model, Net, Rank};
use crate::operate::{Shake, operate, told_apart};
use crate::scalar::Scalar;

/// Resistance between two nodes: emfs become zero keeping their internal resistance, current sources and capacitors open,
/// everything else as it is in the state. `without` is left out (the source that looks).
pub(crate) fn resistance<F: Scalar>(
    circuit: &Circuit,
    state: StateId,
    from: NodeId,
    to: NodeId,
    without: Option<ElementId>,
) -> Result<F, Cause> {
    if from == to {
        return Ok(F::zero());
    }
    vary(circuit, state, |drawn: &Net<F>| {
        let mut net = drawn.clone();
        let mut piece = crate::operate::Sets::new(net.nodes);
        for (index, edge) in net.edges.iter_mut().enumerate() {
            if without == Some(circuit.branches[index].element) {
                edge.model = Model::Open;
                continue;
            }
            piece.join(edge.from, edge.to);
            match &mut edge.model {
                Model::Rigid { emf, .. } | Model::Resistive { emf, .. } => *emf = F::zero(),
                Model::Drive { .. } | Model::Capacitor { .. } => edge.model = Model::Open,
                Model::Open | Model::Diode { .. } => {}
            }
        }
        let whole = piece.find(from.0);
        if net.edges.iter().any(|edge| matches!(edge.model, Model::Diode { .. }) && piece.find(edge.from) == whole) {
            return Err(Cause::Between { from, to, diode: true });
        }
        if connected(&net, from, to).is_none() {
            return Err(Cause::Between { from, to, diode: false });
        }
        // One ampere through: the voltage is the resistance.
        let current = F::one().negated();
        net.edges.push(Edge { from: from.0, to: to.0, model: Model::Drive { current, free: false } });
        let operating = operate(&net, &[to.0], Shake::Still);
        Ok(operating.potential[from.0 as usize].minus(&operating.potential[to.0 as usize]))
    })
}

/// Capacitance between two nodes. What conducts is one plate with what it joins; sources are zero, or taken out where they join the
/// two points themselves.
pub(crate) fn capacitance<F: Scalar>(circuit: &Circuit, state: StateId, from: NodeId, to: NodeId) -> Result<F, Cause> {
    vary(circuit, state, |drawn: &Net<F>| {
        let mut net = drawn.clone();
        let whole = pieces(&net, from);
        if net.edges.iter().any(|edge| matches!(edge.model, Model::Diode { .. }) && whole[edge.from as usize]) {
            return Err(Cause::Between { from, to, diode: true });
        }
        for (index, edge) in net.edges.iter_mut().enumerate() {
            let source = circuit.element(circuit.branches[index].element).kind.is_source();
            match &mut edge.model {
                Model::Rigid { emf, .. } | Model::Resistive { emf, .. } if source => *emf = F::zero(),
                Model::Drive { .. } => edge.model = Model::Open,
                _ => {}
            }
        }
        if connected(&net, from, to).is_some() {
            for (index, edge) in net.edges.iter_mut().enumerate() {
                if circuit.element(circuit.branches[index].element).kind.is_source() {
                    edge.model = Model::Open;
                }
            }
            if let Some(through) = connected(&net, from, to) {
                // A conducting path between the plates.
                return Err(match through {
                    Some(edge) => Cause::NoMeaning { element: circuit.branches[edge as usize].element },
                    None => Cause::Between { from, to, diode: false },
                });
            }
        }
        // Capacitances stand for conductances, and conductors for ideal joints.
        for edge in &mut net.edges {
            edge.model = match &edge.model {
                Model::Capacitor { capacitance, .. } => {
                    Model::Resistive { resistance: F::one().over(capacitance), emf: F::zero() }
                }
                Model::Rigid { .. } | Model::Resistive { .. } => Model::Rigid { emf: F::zero(), rank: Rank::Wire },
                _ => Model::Open,
            };
        }
        if connected(&net, from, to).is_none() {
            return Err(Cause::Between { from, to, diode: false });
        }
        let current = F::one().negated();
        net.edges.push(Edge { from: from.0, to: to.0, model: Model::Drive { current, free: false } });
        let operating = operate(&net, &[to.0], Shake::Still);
        let elastance = operating.potential[from.0 as usize].minus(&operating.potential[to.0 as usize]);
        if elastance.is_zero() {
            return Err(Cause::Between { from, to, diode: false });
        }
        Ok(F::one().over(&elastance))
    })
}

/// The same under several assumptions for what is unknown: undetermined if it changes.
fn vary<F: Scalar>(circuit: &Circuit, state: StateId, ask: impl Fn(&Net<F>) -> Result<F, Cause>) -> Result<F, Cause> {
    let build = |key: &dyn Fn(ElementId) -> u64| net::build::<F>(circuit, state, key, &|_: BranchId| None);
    let base = ask(&build(&|element| u64::from(element.0) * 2))?;
    let unknown = net::unknown_elements(circuit, state);
    let group = unknown.len().div_ceil(told_apart(circuit.branches.len())).max(1);
    for elements in unknown.chunks(group) {
        let key = |element: ElementId| u64::from(element.0) * 2 + u64::from(elements.binary_search(&element).is_ok());
        let other = ask(&build(&key))?;
        if base.differs(&other, base.to_f64().abs()) {
            return Err(Cause::UnknownValue { element: elements[0] });
        }
    }
    Ok(base)
}

/// The nodes of the drawn piece of a node.
fn pieces<F>(net: &Net<F>, node: NodeId) -> Vec<bool> {
    let mut sets = crate::operate::Sets::new(net.nodes);
    for edge in &net.edges {
        sets.join(edge.from, edge.to);
    }
    let whole = sets.find(node.0);
    (0..net.nodes as u32).map(|at| sets.find(at) == whole).collect()
}

/// Whether current can flow between the nodes, and the first branch of such a path (`None` if they are one node).
fn connected<F>(net: &Net<F>, from: NodeId, to: NodeId) -> Option<Option<u32>> {
    if from == to {
        return Some(None);
    }
    let conducts = |edge: &Edge<F>| matches!(edge.model, Model::Rigid { .. } | Model::Resistive { .. });
    let mut sets = crate::operate::Sets::new(net.nodes);
    for edge in net.edges.iter().filter(|edge| conducts(edge)) {
        sets.join(edge.from, edge.to);
    }
    let whole = sets.find(from.0);
    if sets.find(to.0) != whole {
        return None;
    }
    let first = net
        .edges
        .iter()
        .position(|edge| conducts(edge) && (edge.from == from.0 || edge.to == from.0) && edge.from != edge.to);
    Some(first.map(|index| index as u32))
}
