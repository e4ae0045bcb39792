//! What hangs together, what carries one current, what stands between the same two points.
//!
//! Two graphs are looked at. The *series graph* has the drawn branches minus those that can carry nothing: open switches, ideal
//! voltmeters, dead branches. The *parallel graph* has every branch of zero resistance contracted. Capacitors count as
//! branches first (what stands so at every moment is `direct` or `reduction`), and as gaps second (`steady-state`).
//!
//! All of it takes linear time. Same-current classes are the classes of the two-edge cuts of the series graph; they are found with random
//! labels from the cycle space: every edge outside a spanning tree gets a random 128-bit label, a tree edge the exclusive-or
//! of the labels of the cycles through it; two edges form a cut exactly when their labels are equal, a bridge has label
//! zero. (The chance of a false answer is below 2^-100 for a million elements; the generator is seeded, so answers are reproducible.)

mod bypass;
mod closing;
mod components;
mod contract;
mod graph;
mod groups;
mod judge;
mod judge_parallel;
mod judge_series;
mod lines;
mod nature;
mod parallel;
mod query;
mod ring;
mod union_find;
mod verdict;

#[cfg(test)]
mod brute_tests;
#[cfg(test)]
mod judge_tests;
#[cfg(test)]
mod net;
#[cfg(test)]
mod shape_tests;

pub use components::components;
pub use query::Chain;
pub use verdict::{Evidence, How, RelationVerdict};

use rustc_hash::FxHashSet;

use crate::model::{BranchId, Circuit, ElementId, Fault, NodeId, StateId};
use bypass::Bypass;
use contract::Contraction;
use groups::Groups;
use lines::Lines;
use nature::Nature;
use parallel::Parallel;
use union_find::UnionFind;

/// "No class".
pub const NONE: u32 = u32::MAX;

/// What a branch is to the flow of current.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Role {
    /// On a closed path; something without resistance may lead past it.
    Live,
    /// On no closed path: its current is zero whatever the values.
    Dead,
    /// Carries nothing by itself: an open switch, an ideal voltmeter, an element taken out, a capacitor in steady state.
    Gap,
    /// Both its ends are one point, joined by a wire or by other branches of zero resistance. A load then carries nothing; a branch that
    /// has no resistance itself (one of two closed switches side by side) carries an undetermined share; a source drives its short-circuit current.
    Shorted,
}

/// The shape of the circuit in one state.
#[derive(Clone, Debug, Default)]
pub struct Topology {
    /// The piece of each node, by drawn connections (open switches and capacitors join).
    pub piece: Vec<u32>,
    /// Number of pieces.
    pub pieces: u32,
    /// The point of each node once branches of zero resistance are contracted: equal numbers are one point.
    pub point: Vec<u32>,
    /// The conducting part of each node: what currents can flow between (gaps do not join).
    pub island: Vec<u32>,
    /// What each branch is, in steady state.
    pub role: Vec<Role>,
    /// Direct series class of each branch (capacitors count as branches), or [`NONE`] if it is alone or carries nothing.
    pub series: Vec<u32>,
    /// Series class after reduction (same current at every moment for all values), or [`NONE`].
    pub series_reduced: Vec<u32>,
    /// Parallel class of each branch (same two points), or [`NONE`].
    pub parallel: Vec<u32>,
    natures: Vec<Nature>,
    closing: Vec<(NodeId, NodeId)>,
    lines: Lines,
    /// `None` where there are no capacitors: then it is the same as `lines`.
    steady: Option<Box<Lines>>,
    /// What is bypassed at every moment.
    bypass: Bypass,
    parallels: Parallel,
    /// Elements that a case puts a wire across.
    bridged: FxHashSet<ElementId>,
}

impl Topology {
    /// Looks at the circuit in a state. Linear in the number of branches and nodes.
    pub fn new(circuit: &Circuit, state: StateId) -> Self {
        let branches = circuit.branches.len() as u32;
        let natures = (0..branches).map(|branch| Nature::of(circuit, state, BranchId(branch))).collect();
        let bridged = circuit.states[state.index()]
            .faults
            .iter()
            .filter(|&(&element, fault)| *fault == Fault::Shorted && circuit.is_bridged(state, element))
            .map(|(&element, _)| element);
        Self::of(circuit, natures, bridged)
    }

    /// Looks at the circuit with branches of these natures, a wire put across some elements.
    fn of(circuit: &Circuit, natures: Vec<Nature>, bridged: impl IntoIterator<Item = ElementId>) -> Self {
        let nodes = circuit.nodes.len();
        let ends: Vec<[u32; 2]> = circuit.branches.iter().map(|branch| [branch.from.0, branch.to.0]).collect();
        let contraction = Contraction::new(nodes, &ends, &natures);
        let shorted: Vec<bool> =
            (0..ends.len()).map(|branch| contraction.is_shorted(branch, ends[branch], natures[branch])).collect();
        let (piece, pieces) = closing::pieces(circuit);

        // What is shorted and carries nothing at zero volts is no way for current.
        let carries = |branch: usize, steady: bool| {
            ends[branch][0] != ends[branch][1]
                && match natures[branch] {
                    Nature::Removed | Nature::Open => false,
                    Nature::Capacitor => !steady && !shorted[branch],
                    Nature::Passive => !shorted[branch],
                    Nature::Short | Nature::Active => true,
                }
        };
        let edges = |steady: bool| -> Vec<u32> {
            (0..ends.len()).filter(|&branch| carries(branch, steady)).map(|branch| branch as u32).collect()
        };
        let has_capacitors = natures.contains(&Nature::Capacitor);
        let at_any_moment = edges(false);
        let mut lines = Lines::new(nodes, &ends, &at_any_moment, &[]);
        let closing = closing::pairs(circuit, &piece, &lines);
        // What is bypassed is no way for current either.
        let passed = |mut edges: Vec<u32>| {
            let bypass = Bypass::new(nodes, &ends, &edges, &closing, &natures, &contraction.point);
            edges.retain(|branch| !bypass.has(*branch));
            (edges, bypass)
        };
        let (at_any_moment, bypass) = passed(at_any_moment);
        if !closing.is_empty() || !bypass.blocks.is_empty() {
            lines = Lines::new(nodes, &ends, &at_any_moment, &closing);
        }
        let later = has_capacitors.then(|| passed(edges(true)));
        let steady = later.as_ref().map(|(edges, _)| Box::new(Lines::new(nodes, &ends, edges, &closing)));

        let mut islands = UnionFind::new(nodes);
        for (both, nature) in ends.iter().zip(&natures) {
            if !nature.is_gap() && *nature != Nature::Capacitor {
                islands.union(both[0], both[1]);
            }
        }
        let live = &steady.as_deref().unwrap_or(&lines).live;
        let beside = later.as_ref().map_or(&bypass, |(_, bypass)| bypass);
        let role = (0..ends.len())
            .map(|branch| {
                let live = live[branch] || beside.has(branch as u32);
                parallel::role(natures[branch], shorted[branch], live)
            })
            .collect();
        let parallels = Parallel::new(circuit, &natures, &contraction, &lines, &bypass);
        let mut topology = Self {
            piece,
            pieces,
            point: contraction.point,
            island: islands.numbered().0,
            role,
            series: lines.series.clone(),
            series_reduced: lines.reduced.clone(),
            parallel: parallels.branch.clone(),
            natures,
            closing: closing.into_iter().map(|[a, b]| (NodeId(a), NodeId(b))).collect(),
            lines,
            steady,
            bypass,
            parallels,
            bridged: FxHashSet::default(),
        };
        topology.bridge(circuit, bridged);
        topology
    }

    /// What a case puts a wire across carries nothing that others carry; the wire, which is no element, keeps its place in the graphs.
    fn bridge(&mut self, circuit: &Circuit, elements: impl IntoIterator<Item = ElementId>) {
        for element in elements {
            self.bridged.insert(element);
            for branch in circuit.branches_of(element).map(BranchId::index) {
                self.role[branch] = Role::Shorted;
                self.series[branch] = NONE;
                self.series_reduced[branch] = NONE;
                self.parallel[branch] = NONE;
            }
        }
    }

    /// The pairs of points that a question closes: where no source drives the piece, current is thought to enter at one and leave at the other.
    pub fn closing(&self) -> &[(NodeId, NodeId)] {
        &self.closing
    }

    fn steady_lines(&self) -> &Lines {
        self.steady.as_deref().unwrap_or(&self.lines)
    }
}
