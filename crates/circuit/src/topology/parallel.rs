//! What stands between the same two points.

use rustc_hash::FxHashMap;

use super::groups::Groups;
use super::nature::Nature;
use super::{Bypass, Contraction, Lines, NONE, Role};
use crate::model::{BranchId, Circuit, Element, ElementId, Kind, NodeId};

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

/// What branches of one class share: two points in one number, or above [`LOOPED`] what branches of zero resistance on a loop of them share.
type Key = u64;

/// Points are fewer than 2^31, so a pair of them never reaches this bit.
const LOOPED: Key = 1 << 63;

impl Parallel {
    /// Of the circuit, given what is known already.
    pub(super) fn new(
        circuit: &Circuit,
        natures: &[Nature],
        contraction: &Contraction,
        lines: &Lines,
        bypass: &Bypass,
    ) -> Self {
        let looped = Self::looped(circuit, natures, contraction);
        let points = |from: NodeId, to: NodeId| {
            let (a, b) = ordered(contraction.point[from.index()], contraction.point[to.index()]);
            (a != b).then_some(Key::from(a) << 32 | Key::from(b))
        };
        let key = |branch: usize| match natures[branch] {
            Nature::Removed => None,
            _ if bypass.has(branch as u32) => None,
            // The contact that a changeover does not stand on.
            Nature::Open if circuit.element(circuit.branches[branch].element).kind == Kind::Changeover => None,
            Nature::Short => looped.get(&branch).copied(),
            _ => points(circuit.branches[branch].from, circuit.branches[branch].to),
        };
        let (branch, groups) = Groups::by_key((0..natures.len()).map(key));
        // Where every element has one branch, as nearly always, elements and branches have the same numbers.
        let alike = |(number, element): (usize, &Element)| element.branches == (number as u32..number as u32 + 1);
        if circuit.elements.len() == branch.len() && circuit.elements.iter().enumerate().all(alike) {
            return Self { element: branch.clone(), branch, members: groups };
        }
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

    /// The keys of branches of zero resistance on loops of such branches. Side by side between the same two nodes they are parallel whatever
    /// else there is; else when they form a cut among their like: with all others contracted they stand between the same two points.
    fn looped(circuit: &Circuit, natures: &[Nature], contraction: &Contraction) -> FxHashMap<usize, Key> {
        let on_loop: Vec<usize> = (0..natures.len())
            .filter(|&branch| natures[branch] == Nature::Short && contraction.loop_label(branch) != 0)
            .collect();
        let nodes = |branch: usize| ordered(circuit.branches[branch].from.0, circuit.branches[branch].to.0);
        let mut beside: FxHashMap<(u32, u32), u32> = FxHashMap::default();
        for &branch in &on_loop {
            *beside.entry(nodes(branch)).or_default() += 1;
        }
        let mut cuts: FxHashMap<u128, Key> = FxHashMap::default();
        on_loop
            .into_iter()
            .map(|branch| {
                let (a, b) = nodes(branch);
                let key = if beside[&(a, b)] > 1 {
                    LOOPED | Key::from(a) << 32 | Key::from(b)
                } else {
                    // A pair of equal numbers is no pair of nodes.
                    let count = cuts.len() as Key;
                    *cuts.entry(contraction.loop_label(branch)).or_insert(LOOPED | count << 32 | count)
                };
                (branch, key)
            })
            .collect()
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
