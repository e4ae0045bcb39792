//! Short independent loops of branches.

use super::branch::Branch;

/// A loop: branches with whether they are passed against their direction.
pub(super) type Ring = Vec<(usize, bool)>;

/// Short independent loops; a branch with a current source lies in exactly one of them.
pub(crate) fn independent_loops(branches: &[Branch]) -> Vec<Ring> {
    let mut found: Vec<Ring> = Vec::new();
    let usable: Vec<usize> = (0..branches.len()).filter(|&index| branches[index].drive.is_none()).collect();
    let mut candidates: Vec<Ring> = Vec::new();
    for &index in &usable {
        let branch = &branches[index];
        if branch.from == branch.to {
            candidates.push(vec![(index, false)]);
            continue;
        }
        if let Some(way) = way(branches, &usable, branch.to, branch.from, Some(index)) {
            candidates.push(std::iter::once((index, false)).chain(way).collect());
        }
    }
    // Shortest ways from every point to both ends of every branch (Horton, SIAM Journal on Computing 16, 1987), where that is soon done.
    if usable.len() <= 40 {
        let points: std::collections::BTreeSet<usize> =
            usable.iter().flat_map(|&index| [branches[index].from, branches[index].to]).collect();
        for &point in &points {
            for &index in &usable {
                let branch = &branches[index];
                if branch.from == branch.to {
                    continue;
                }
                let there = way(branches, &usable, point, branch.from, Some(index));
                let back = way(branches, &usable, branch.to, point, Some(index));
                if let (Some(there), Some(back)) = (there, back) {
                    let ring: Ring = there.into_iter().chain([(index, false)]).chain(back).collect();
                    let mut once: Vec<usize> = ring.iter().map(|(index, _)| *index).collect();
                    once.sort_unstable();
                    once.dedup();
                    if once.len() == ring.len() {
                        candidates.push(ring);
                    }
                }
            }
        }
    }
    // Shortest paths alone may miss some; loops of a spanning tree complete them.
    let mut tree: Vec<usize> = Vec::new();
    let mut group: std::collections::BTreeMap<usize, usize> = Default::default();
    for &index in &usable {
        let (a, b) = (branches[index].from, branches[index].to);
        let (a, b) = (*group.entry(a).or_insert(a), *group.entry(b).or_insert(b));
        if a == b {
            if branches[index].from != branches[index].to
                && let Some(way) = way(branches, &tree, branches[index].to, branches[index].from, None)
            {
                candidates.push(std::iter::once((index, false)).chain(way).collect());
            }
        } else {
            group.values_mut().filter(|of| **of == b).for_each(|of| *of = a);
            tree.push(index);
        }
    }
    // Short ones first; of equals those without sources, which people call meshes.
    let driven = |ring: &Ring| ring.iter().filter(|(index, _)| branches[*index].driven).count();
    candidates.sort_by_key(|ring| (ring.len(), driven(ring)));
    let mut basis: Vec<Vec<bool>> = Vec::new();
    for ring in candidates {
        let mut bits = vec![false; branches.len()];
        ring.iter().for_each(|(index, _)| bits[*index] ^= true);
        for known in &basis {
            let lead = known.iter().position(|bit| *bit).unwrap_or(0);
            if bits[lead] {
                bits.iter_mut().zip(known).for_each(|(bit, other)| *bit ^= *other);
            }
        }
        if bits.iter().any(|bit| *bit) {
            basis.push(bits);
            found.push(ring);
        }
    }
    // Loops with a source first, each the way that its source drives; the others so that shared branches are passed in opposite senses.
    found.sort_by_key(|ring| driven(ring) == 0);
    for at in 0..found.len() {
        let source = found[at].iter().find(|(index, _)| branches[*index].driven).copied();
        let turn = match source {
            Some((_, against)) => against,
            None => {
                let shared: i32 = found[..at]
                    .iter()
                    .flatten()
                    .flat_map(|(index, against)| {
                        found[at]
                            .iter()
                            .filter(move |(own, _)| own == index)
                            .map(move |(_, own_against)| if own_against == against { 1 } else { -1 })
                    })
                    .sum();
                shared > 0
            }
        };
        if turn {
            found[at].reverse();
            found[at].iter_mut().for_each(|item| item.1 = !item.1);
        }
        if let Some(first) = found[at].iter().position(|(index, _)| branches[*index].driven) {
            found[at].rotate_left(first);
        }
    }
    for (index, branch) in branches.iter().enumerate() {
        if branch.drive.is_some()
            && let Some(way) = way(branches, &usable, branch.to, branch.from, None)
        {
            found.push(std::iter::once((index, false)).chain(way).collect());
        }
    }
    found
}

/// A shortest way over some branches.
pub(super) fn way(
    branches: &[Branch],
    usable: &[usize],
    from: usize,
    to: usize,
    without: Option<usize>,
) -> Option<Ring> {
    if from == to {
        return Some(Vec::new());
    }
    let mut by: std::collections::BTreeMap<usize, (usize, bool, usize)> = Default::default();
    let mut queue = vec![from];
    let mut next = 0;
    while next < queue.len() {
        let point = queue[next];
        next += 1;
        for &index in usable {
            if Some(index) == without {
                continue;
            }
            let branch = &branches[index];
            let (far, against) = if branch.from == point {
                (branch.to, false)
            } else if branch.to == point {
                (branch.from, true)
            } else {
                continue;
            };
            if far != from && !by.contains_key(&far) {
                by.insert(far, (index, against, point));
                queue.push(far);
            }
        }
    }
    let mut ring = Vec::new();
    let mut at = to;
    while at != from {
        let (index, against, before) = *by.get(&at)?;
        ring.push((index, against));
        at = before;
    }
    ring.reverse();
    Some(ring)
}
