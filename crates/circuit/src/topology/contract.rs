//! Points: nodes that branches of zero resistance join.

use super::graph::Graph;
use super::nature::Nature;
use super::union_find::UnionFind;

/// The nodes joined by branches of zero resistance.
pub(super) struct Contraction {
    /// The point of each node.
    pub(super) point: Vec<u32>,
    /// For each branch of zero resistance on a loop of such branches: what it shares with those that it forms a two-edge cut with.
    /// Empty when there is no such loop.
    loops: Vec<u128>,
}

impl Contraction {
    /// Contracts every branch of zero resistance.
    pub(super) fn new(nodes: usize, ends: &[[u32; 2]], natures: &[Nature]) -> Self {
        let mut points = UnionFind::new(nodes);
        let mut looped = false;
        for (both, nature) in ends.iter().zip(natures) {
            if *nature == Nature::Short && both[0] != both[1] {
                looped |= !points.union(both[0], both[1]);
            }
        }
        let mut loops = Vec::new();
        if looped {
            let shorts: Vec<usize> = (0..ends.len())
                .filter(|&branch| natures[branch] == Nature::Short && ends[branch][0] != ends[branch][1])
                .collect();
            let labels = Graph::new(nodes, shorts.iter().map(|&branch| ends[branch]).collect()).labels();
            loops = vec![0; ends.len()];
            for (branch, label) in shorts.into_iter().zip(labels) {
                loops[branch] = label;
            }
        }
        Self { point: points.numbered().0, loops }
    }

    /// The label of a branch of zero resistance among its like; zero when it is on no loop of them.
    pub(super) fn loop_label(&self, branch: usize) -> u128 {
        self.loops.get(branch).copied().unwrap_or(0)
    }

    /// Whether both ends of a branch are one point even without the branch.
    pub(super) fn is_shorted(&self, branch: usize, ends: [u32; 2], nature: Nature) -> bool {
        ends[0] == ends[1]
            || if nature == Nature::Short {
                self.loop_label(branch) != 0
            } else {
                self.point[ends[0] as usize] == self.point[ends[1] as usize]
            }
    }
}
