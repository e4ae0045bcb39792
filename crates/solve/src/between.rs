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
        if !connected(&net, from, to) {
            return Err(Cause::Between { from, to, diode: false });
        }
        // One ampere through: the voltage is the resistance.
        let current = F::one().negated();
        net.edges.push(Edge { from: from.0, to: to.0, model: Model::Drive { current, free: false } });
        let operating = operate(&net, &[to.0], Shake::Still);
        Ok(operating.potential[from.0 as usize].minus(&operating.potential[to.0 as usize]))
    })
}

/// Capacitance between two nodes. What conducts is one plate with what it joins; emfs become zero as for [`resistance`]. A source
/// through which the two nodes would be joined is taken out: the answer is what it sees.
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
        while let Some(path) = way(&net, from, to) {
            let is_source = |edge: &u32| circuit.element(circuit.branches[*edge as usize].element).kind.is_source();
            let Some(source) = path.iter().copied().find(is_source) else {
                // A conducting path between the plates.
                return Err(match path.first() {
                    Some(edge) => Cause::NoMeaning { element: circuit.branches[*edge as usize].element },
                    None => Cause::Between { from, to, diode: false },
                });
            };
            net.edges[source as usize].model = Model::Open;
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
        if !connected(&net, from, to) {
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

fn conducts<F>(edge: &Edge<F>) -> bool {
    matches!(edge.model, Model::Rigid { .. } | Model::Resistive { .. })
}

/// Whether current can flow between the nodes.
fn connected<F>(net: &Net<F>, from: NodeId, to: NodeId) -> bool {
    let mut sets = crate::operate::Sets::new(net.nodes);
    for edge in net.edges.iter().filter(|edge| conducts(edge)) {
        sets.join(edge.from, edge.to);
    }
    sets.find(from.0) == sets.find(to.0)
}

/// The branches of a shortest conducting way between the nodes.
fn way<F>(net: &Net<F>, from: NodeId, to: NodeId) -> Option<Vec<u32>> {
    let mut at_node: Vec<Vec<u32>> = vec![Vec::new(); net.nodes];
    for (index, edge) in net.edges.iter().enumerate().filter(|(_, edge)| conducts(edge)) {
        at_node[edge.from as usize].push(index as u32);
        at_node[edge.to as usize].push(index as u32);
    }
    let mut reached: Vec<Option<u32>> = vec![None; net.nodes];
    let mut queue = std::collections::VecDeque::from([from.0]);
    while let Some(node) = queue.pop_front() {
        if node == to.0 {
            break;
        }
        for &index in &at_node[node as usize] {
            let edge = &net.edges[index as usize];
            let other = if edge.from == node { edge.to } else { edge.from };
            if other != from.0 && reached[other as usize].is_none() {
                reached[other as usize] = Some(index);
                queue.push_back(other);
            }
        }
    }
    let mut path = Vec::new();
    let mut node = to.0;
    while node != from.0 {
        let index = reached[node as usize]?;
        let edge = &net.edges[index as usize];
        node = if edge.from == node { edge.to } else { edge.from };
        path.push(index);
    }
    path.reverse();
    Some(path)
}
