//! Things put into numbered groups.

use rustc_hash::FxHashMap;

use super::NONE;

/// The members of each group.
#[derive(Clone, Debug, Default)]
pub(super) struct Groups {
    offsets: Vec<u32>,
    items: Vec<u32>,
}

impl Groups {
    /// Adds a group and returns its number.
    pub(super) fn push(&mut self, members: impl IntoIterator<Item = u32>) -> u32 {
        if self.offsets.is_empty() {
            self.offsets.push(0);
        }
        self.items.extend(members);
        self.offsets.push(self.items.len() as u32);
        self.offsets.len() as u32 - 2
    }

    /// The members of a group; nothing for [`NONE`].
    pub(super) fn members(&self, group: u32) -> &[u32] {
        match self.offsets.get(group as usize..).and_then(|from| from.get(..2)) {
            Some(&[from, to]) => &self.items[from as usize..to as usize],
            _ => &[],
        }
    }

    /// Puts things with equal keys into one group, in the order of first members; what has no key, or is alone with it, gets [`NONE`].
    /// Also returns the group of each thing.
    pub(super) fn by_key<K: std::hash::Hash + Eq>(keys: impl ExactSizeIterator<Item = Option<K>>) -> (Vec<u32>, Self) {
        // Most keys are met once only, so there are nearly as many as things: growing the map would cost as much as filling it.
        let mut first: FxHashMap<K, u32> = FxHashMap::with_capacity_and_hasher(keys.len(), Default::default());
        let mut leader = vec![NONE; keys.len()];
        let mut size = vec![0u32; keys.len()];
        for (thing, key) in keys.enumerate() {
            if let Some(key) = key {
                let lead = *first.entry(key).or_insert(thing as u32);
                leader[thing] = lead;
                size[lead as usize] += 1;
            }
        }
        let mut offsets = vec![0];
        let mut group_of_leader = vec![NONE; leader.len()];
        let mut total = 0;
        for (thing, &count) in size.iter().enumerate() {
            if count > 1 {
                group_of_leader[thing] = offsets.len() as u32 - 1;
                total += count;
                offsets.push(total);
            }
        }
        let mut next = offsets.clone();
        let mut items = vec![0; total as usize];
        let group: Vec<u32> = leader
            .iter()
            .enumerate()
            .map(|(thing, &lead)| {
                let group = if lead == NONE { NONE } else { group_of_leader[lead as usize] };
                if group != NONE {
                    items[next[group as usize] as usize] = thing as u32;
                    next[group as usize] += 1;
                }
                group
            })
            .collect();
        (group, Self { offsets, items })
    }
}
