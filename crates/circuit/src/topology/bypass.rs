//! Lines that something without resistance joins from end to end: what others drive takes that way, and nothing passes the line.
//!
//! A current runs round within one block of the graph, a part that stays together whichever single point is taken out. So a block without a source,
//! once branches of zero resistance are contracted, carries nothing, whatever the values. One that has no source before they are contracted either
//! is a loop of its own, which nothing bypasses; claims about it are judged as if it were driven.

use rustc_hash::FxHashMap;

use super::components;
use super::nature::Nature;

/// Blocks that carry nothing, since something without resistance joins all points at which they meet what is driven.
#[derive(Clone, Debug, Default)]
pub(super) struct Bypass {
    /// The number of each block by its branches.
    pub(super) block: FxHashMap<u32, usize>,
    /// The branches of each block.
    pub(super) blocks: Vec<Vec<u32>>,
}

impl Bypass {
    /// Of the graph of the branches that `edges` names; see [`super::Lines::new`].
    pub(super) fn new(
        nodes: usize,
        ends: &[[u32; 2]],
        edges: &[u32],
        closing: &[[u32; 2]],
        natures: &[Nature],
        point: &[u32],
    ) -> Self {
        let is_short = |branch: u32| natures[branch as usize] == Nature::Short;
        let joins = |&branch: &u32| {
            let [a, b] = ends[branch as usize];
            is_short(branch) && a != b
        };
        if !edges.iter().any(joins) {
            return Self::default();
        }
        // A question drives like a source.
        let drives =
            |list: &[u32], edge: usize| list.get(edge).is_none_or(|&branch| natures[branch as usize] == Nature::Active);
        let pair = |at: &dyn Fn(u32) -> u32, [a, b]: [u32; 2]| (at(a) as usize, at(b) as usize);
        let resisting: Vec<u32> = edges.iter().copied().filter(|branch| !is_short(*branch)).collect();
        let graph = |list: &[u32], at: &dyn Fn(u32) -> u32| -> Vec<(usize, usize)> {
            let drawn = list.iter().map(|&branch| ends[branch as usize]);
            drawn.chain(closing.iter().copied()).map(|both| pair(at, both)).collect()
        };
        let mut idle: Vec<Vec<usize>> = components(nodes, &graph(&resisting, &|node| point[node as usize]));
        idle.retain(|block| block.len() > 1 && !block.iter().any(|&edge| drives(&resisting, edge)));
        if idle.is_empty() {
            return Self::default();
        }
        let mut driven = vec![false; ends.len()];
        for block in components(nodes, &graph(edges, &|node| node)) {
            if block.iter().any(|&edge| drives(edges, edge)) {
                block.iter().filter_map(|&edge| edges.get(edge)).for_each(|&branch| driven[branch as usize] = true);
            }
        }
        let mut found = Self::default();
        for block in idle {
            let branches: Vec<u32> = block.into_iter().map(|edge| resisting[edge]).collect();
            if driven[branches[0] as usize] {
                found.block.extend(branches.iter().map(|&branch| (branch, found.blocks.len())));
                found.blocks.push(branches);
            }
        }
        found
    }

    pub(super) fn has(&self, branch: u32) -> bool {
        self.block.contains_key(&branch)
    }
}
