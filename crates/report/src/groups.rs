//! Who is in series and in parallel with whom, as lists of elements.

use ohmline_circuit::topology::Role;
use ohmline_circuit::{Circuit, ElementId, Kind, Topology};
use rustc_hash::{FxHashMap, FxHashSet};

/// "No class", as in [`ohmline_circuit::topology::NONE`].
const NONE: u32 = ohmline_circuit::topology::NONE;

/// Companions of one element that are listed: a chain of thousands would otherwise be written thousands of times.
pub(crate) const MOST: usize = 200;

/// A member of a group: an element, or one side of an element that has two.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(crate) struct Member {
    /// Which element.
    pub element: ElementId,
    /// Which side of it, in words; `None` for all of it.
    pub side: Option<&'static str>,
}

/// The groups of one state; each has two elements or more, in text order.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Groups {
    /// Directly in series.
    pub series: Vec<Vec<Member>>,
    /// Carrying one current whatever the values, where that says more than `series`.
    pub reduced: Vec<Vec<Member>>,
    /// Between the same two points.
    pub parallel: Vec<Vec<Member>>,
}

impl Groups {
    /// Gathers the groups. Linear in the number of branches.
    pub fn of(circuit: &Circuit, topology: &Topology) -> Self {
        let series = classes(circuit, &topology.series);
        let mut reduced = classes(circuit, &topology.series_reduced);
        // The contact that a changeover does not stand on puts nothing in parallel.
        let idle = |at: usize| {
            circuit.element(circuit.branches[at].element).kind == Kind::Changeover && topology.role[at] == Role::Gap
        };
        let parallel: Vec<u32> =
            topology.parallel.iter().enumerate().map(|(at, &class)| if idle(at) { NONE } else { class }).collect();
        let direct: FxHashSet<&[Member]> = series.iter().map(Vec::as_slice).collect();
        reduced.retain(|group| !direct.contains(group.as_slice()));
        Self { series, reduced, parallel: classes(circuit, &parallel) }
    }
}

/// The elements of each class with at least two of them, classes in order of their first element.
fn classes(circuit: &Circuit, class: &[u32]) -> Vec<Vec<Member>> {
    let mut place: FxHashMap<u32, usize> = FxHashMap::default();
    let mut found: Vec<Vec<Member>> = Vec::new();
    for (at, (branch, class)) in circuit.branches.iter().zip(class).enumerate() {
        if *class == NONE || circuit.is_undeclared(branch.element) {
            continue;
        }
        let group = *place.entry(*class).or_insert_with(|| {
            found.push(Vec::new());
            found.len() - 1
        });
        let element = branch.element;
        // Branches stand in the order of their elements, so both sides of an element in one class come one after the other.
        match found[group].last_mut() {
            Some(last) if last.element == element => last.side = None,
            _ => {
                let second = at as u32 > circuit.element(element).branches.start;
                found[group].push(Member { element, side: side(circuit.element(element).kind, second) });
            }
        }
    }
    found.retain(|group| group.len() > 1);
    found
}

/// The sides of the kinds that have two.
const fn side(kind: Kind, second: bool) -> Option<&'static str> {
    match (kind, second) {
        (Kind::Potentiometer, false) => Some("a to wiper"),
        (Kind::Potentiometer, true) => Some("wiper to b"),
        (Kind::Changeover, false) => Some("common to a"),
        (Kind::Changeover, true) => Some("common to b"),
        _ => None,
    }
}

/// For each element: the groups it belongs to, for looking up its companions.
pub(crate) struct Companions<'a> {
    groups: &'a [Vec<Member>],
    /// Pairs of element and group, sorted.
    member: Vec<(ElementId, u32)>,
}

impl<'a> Companions<'a> {
    pub fn new(groups: &'a [Vec<Member>]) -> Self {
        let mut member: Vec<(ElementId, u32)> = Vec::new();
        for (at, group) in groups.iter().enumerate() {
            member.extend(group.iter().map(|member| (member.element, at as u32)));
        }
        member.sort_unstable();
        Self { groups, member }
    }

    /// The others in the groups of an element, in text order, each once; at most [`MOST`], and how many more there are.
    pub fn of(&self, element: ElementId) -> (Vec<ElementId>, usize) {
        let from = self.member.partition_point(|(other, _)| *other < element);
        let own: Vec<&[Member]> = self.member[from..]
            .iter()
            .take_while(|(other, _)| *other == element)
            .map(|(_, at)| self.groups[*at as usize].as_slice())
            .collect();
        if let [one] = own.as_slice() {
            let others = one.iter().map(|member| member.element).filter(|other| *other != element);
            return (others.take(MOST).collect(), (one.len() - 1).saturating_sub(MOST));
        }
        let mut all: Vec<ElementId> = own.iter().flat_map(|group| group.iter().map(|member| member.element)).collect();
        all.sort_unstable();
        all.dedup();
        all.retain(|other| *other != element);
        let more = all.len().saturating_sub(MOST);
        all.truncate(MOST);
        (all, more)
    }
}
