//! What stands between the same two points.

use rustc_hash::FxHashMap;

use super::groups::Groups;
use super::nature::Nature;
use super::{Contraction, Lines, NONE, Role};
use crate::model::{BranchId, Circuit, ElementId, NodeId};

/// Parallel classes, of branches and of whole elements.
#[derive(Clone, Debug, Default)]
pub(super) struct Parallel {
    /// Class of each branch.
    pub(super) branch: Vec<u32>,
    /// Class of each element.
    pub(super) element: Vec<u32>,
    /// Elements of each element class.
    pub(super) members: Groups,
}

/// What branches of one class share.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Between {
    /// These two points.
    Points(u32, u32),
    /// These two nodes: branches of zero resistance side by side.
    Nodes(u32, u32),
    /// The cut that they form among the branches of zero resistance: with all others contracted they stand between the same two points.
    Cut(u128),
}

impl Parallel {
    /// Of the circuit, given what is known already.
    pub(super) fn new(circuit: &Circuit, natures: &[Nature], contraction: &Contraction, lines: &Lines) -> Self {
        let mut beside: FxHashMap<(u32, u32), u32> = FxHashMap::default();
        let is_short = |branch: usize| natures[branch] == Nature::Short;
        for (branch, place) in circuit.branches.iter().enumerate() {
            if is_short(branch) && contraction.loop_label(branch) != 0 {
                *beside.entry(ordered(place.from.0, place.to.0)).or_default() += 1;
            }
        }
        let points = |from: NodeId, to: NodeId| {
            let (a, b) = ordered(contraction.point[from.index()], contraction.point[to.index()]);
            (a != b).then_some(Between::Points(a, b))
        };
        let key = |branch: usize| {
            let place = circuit.branches[branch];
            match natures[branch] {
                Nature::Removed => None,
                Nature::Short => {
                    let label = contraction.loop_label(branch);
                    let nodes = ordered(place.from.0, place.to.0);
                    match beside.get(&nodes) {
                        _ if label == 0 => None,
                        Some(count) if *count > 1 => Some(Between::Nodes(nodes.0, nodes.1)),
                        _ => Some(Between::Cut(label)),
                    }
                }
                _ => points(place.from, place.to),
            }
        };
        let (branch, _) = Groups::by_key((0..natures.len()).map(key));
        let (element, members) = Groups::by_key((0..circuit.elements.len()).map(|element| {
            let shorted = |branch: usize| {
                let place = circuit.branches[branch];
                contraction.is_shorted(branch, [place.from.0, place.to.0], natures[branch])
            };
            match run(circuit, ElementId(element as u32), shorted, lines)? {
                Run::Branch(branch) => key(branch.index()),
                Run::Through(first, second) => points(circuit.branch(first).from, circuit.branch(second).to),
            }
        }));
        Self { branch, element, members }
    }
}

/// What of an element current can run through from one end to the other.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Run {
    /// One branch.
    Branch(BranchId),
    /// Both branches of a potentiometer whose wiper carries nothing, from the start of the first to the end of the second.
    Through(BranchId, BranchId),
}

/// An element of two terminals runs through its one branch. A changeover or a potentiometer runs through the branch that is in use; a
/// potentiometer with both in use only if they carry one current, its wiper joined to nothing that takes any.
pub(super) fn run(
    circuit: &Circuit,
    element: ElementId,
    shorted: impl Fn(usize) -> bool,
    lines: &Lines,
) -> Option<Run> {
    let mut all = circuit.branches_of(element);
    let first = all.next()?;
    if all.next().is_none() {
        return Some(Run::Branch(first));
    }
    let mut used = circuit.branches_of(element).filter(|branch| lines.live[branch.index()] && !shorted(branch.index()));
    match (used.next(), used.next()) {
        (Some(one), None) => Some(Run::Branch(one)),
        (Some(one), Some(other)) => {
            let wiper = circuit.branch(one).to;
            let class = lines.series[one.index()];
            (wiper == circuit.branch(other).from
                && lines.degree[wiper.index()] == 2
                && class != NONE
                && class == lines.series[other.index()])
            .then_some(Run::Through(one, other))
        }
        _ => None,
    }
}

fn ordered(a: u32, b: u32) -> (u32, u32) {
    (a.min(b), a.max(b))
}

/// The role of a branch, given whether it is on a closed path.
pub(super) fn role(nature: Nature, shorted: bool, live: bool) -> Role {
    match nature {
        Nature::Removed | Nature::Open | Nature::Capacitor => Role::Gap,
        _ if shorted => Role::Shorted,
        _ if live => Role::Live,
        _ => Role::Dead,
    }
}
