//! Who is in series and in parallel with whom, as lists of elements.

use ohmline_circuit::{Circuit, ElementId, Topology};
use rustc_hash::FxHashMap;

/// "No class", as in [`ohmline_circuit::topology::NONE`].
const NONE: u32 = ohmline_circuit::topology::NONE;

/// Companions of one element that are listed: a chain of thousands would otherwise be written thousands of times.
pub(crate) const MOST: usize = 200;

/// The groups of one state; each has two elements or more, in text order.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Groups {
    /// Directly in series.
    pub series: Vec<Vec<ElementId>>,
    /// Carrying one current whatever the values, where that says more than `series`.
    pub reduced: Vec<Vec<ElementId>>,
    /// Between the same two points.
    pub parallel: Vec<Vec<ElementId>>,
}

impl Groups {
    /// Gathers the groups. Linear in the number of branches.
    pub fn of(circuit: &Circuit, topology: &Topology) -> Self {
        let series = classes(circuit, &topology.series);
        let mut reduced = classes(circuit, &topology.series_reduced);
        let direct: std::collections::HashSet<&[ElementId]> = series.iter().map(Vec::as_slice).collect();
        reduced.retain(|group| !direct.contains(group.as_slice()));
        Self { series, reduced, parallel: classes(circuit, &topology.parallel) }
    }
}

/// The elements of each class with at least two of them, classes in order of their first element.
fn classes(circuit: &Circuit, class: &[u32]) -> Vec<Vec<ElementId>> {
    let mut place: FxHashMap<u32, usize> = FxHashMap::default();
    let mut found: Vec<Vec<ElementId>> = Vec::new();
    for (branch, class) in circuit.branches.iter().zip(class) {
        if *class == NONE {
            continue;
        }
        let group = *place.entry(*class).or_insert_with(|| {
            found.push(Vec::new());
            found.len() - 1
        });
        // Branches stand in the order of their elements, so an element with two of them in one class comes twice in a row.
        if found[group].last() != Some(&branch.element) {
            found[group].push(branch.element);
        }
    }
    found.retain(|group| group.len() > 1);
    found
}

/// For each element: the groups it belongs to, for looking up its companions.
pub(crate) struct Companions<'a> {
    groups: &'a [Vec<ElementId>],
    /// Pairs of element and group, sorted.
    member: Vec<(ElementId, u32)>,
}

impl<'a> Companions<'a> {
    pub fn new(groups: &'a [Vec<ElementId>]) -> Self {
        let mut member: Vec<(ElementId, u32)> = Vec::new();
        for (at, group) in groups.iter().enumerate() {
            member.extend(group.iter().map(|element| (*element, at as u32)));
        }
        member.sort_unstable();
        Self { groups, member }
    }

    /// The others in the groups of an element, in text order, each once; at most [`MOST`], and how many more there are.
    pub fn of(&self, element: ElementId) -> (Vec<ElementId>, usize) {
        let from = self.member.partition_point(|(other, _)| *other < element);
        let own: Vec<&[ElementId]> = self.member[from..]
            .iter()
            .take_while(|(other, _)| *other == element)
            .map(|(_, at)| self.groups[*at as usize].as_slice())
            .collect();
        if let [one] = own.as_slice() {
            let others = one.iter().copied().filter(|other| *other != element);
            return (others.take(MOST).collect(), (one.len() - 1).saturating_sub(MOST));
        }
        let mut all = own.concat();
        all.sort_unstable();
        all.dedup();
        all.retain(|other| *other != element);
        let more = all.len().saturating_sub(MOST);
        all.truncate(MOST);
        (all, more)
    }
}
