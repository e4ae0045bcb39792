//! A multigraph without loops at one node, and the labels of its cycle space.

use super::NONE;

/// Nodes and edges are numbered from 0; several edges may join the same two nodes, none may join a node to itself.
pub(super) struct Graph {
    offsets: Vec<u32>,
    at: Vec<u32>,
    ends: Vec<[u32; 2]>,
}

impl Graph {
    /// A graph of these edges.
    pub(super) fn new(nodes: usize, ends: Vec<[u32; 2]>) -> Self {
        debug_assert!(ends.iter().all(|[a, b]| a != b));
        let mut offsets = vec![0; nodes + 1];
        for &[a, b] in &ends {
            offsets[a as usize + 1] += 1;
            offsets[b as usize + 1] += 1;
        }
        for node in 0..nodes {
            offsets[node + 1] += offsets[node];
        }
        let mut next = offsets.clone();
        let mut at = vec![0; 2 * ends.len()];
        for (edge, both) in ends.iter().enumerate() {
            for &node in both {
                at[next[node as usize] as usize] = edge as u32;
                next[node as usize] += 1;
            }
        }
        Self { offsets, at, ends }
    }

    /// Number of nodes.
    pub(super) fn nodes(&self) -> usize {
        self.offsets.len() - 1
    }

    /// The two nodes of each edge.
    pub(super) fn ends(&self) -> &[[u32; 2]] {
        &self.ends
    }

    /// The edges at a node.
    pub(super) fn at(&self, node: u32) -> &[u32] {
        &self.at[self.offsets[node as usize] as usize..self.offsets[node as usize + 1] as usize]
    }

    /// The other node of an edge.
    pub(super) fn other(&self, edge: u32, node: u32) -> u32 {
        let [a, b] = self.ends[edge as usize];
        if a == node { b } else { a }
    }

    /// A spanning forest, breadth first: the nodes in the order of their visits, and the edge by which each was reached
    /// ([`NONE`] at a root). Nodes without edges are left out of the order.
    pub(super) fn forest(&self) -> (Vec<u32>, Vec<u32>) {
        let mut reached_by = vec![NONE; self.nodes()];
        let mut seen = vec![false; self.nodes()];
        let mut order = Vec::with_capacity(self.nodes());
        for root in 0..self.nodes() as u32 {
            if seen[root as usize] || self.at(root).is_empty() {
                continue;
            }
            seen[root as usize] = true;
            let mut head = order.len();
            order.push(root);
            while head < order.len() {
                let node = order[head];
                head += 1;
                for &edge in self.at(node) {
                    let next = self.other(edge, node);
                    if !seen[next as usize] {
                        seen[next as usize] = true;
                        reached_by[next as usize] = edge;
                        order.push(next);
                    }
                }
            }
        }
        (order, reached_by)
    }

    /// A label for each edge: zero exactly for bridges; equal and not zero exactly for two edges whose removal together
    /// disconnects what neither does alone.
    ///
    /// An edge outside a spanning forest gets a random label, an edge inside it the exclusive-or of the labels of the cycles
    /// that it closes with the others. Source: D. Pritchard and R. Thurimella, "Fast computation of small cuts via
    /// cycle space sampling", ACM Transactions on Algorithms, 2011 (from memory).
    pub(super) fn labels(&self) -> Vec<u128> {
        let (order, reached_by) = self.forest();
        let mut labels = vec![0u128; self.ends.len()];
        let mut in_forest = vec![false; self.ends.len()];
        for &edge in &reached_by {
            if edge != NONE {
                in_forest[edge as usize] = true;
            }
        }
        let mut random = SplitMix::new();
        let mut sum = vec![0u128; self.nodes()];
        for (edge, &[a, b]) in self.ends.iter().enumerate() {
            if !in_forest[edge] {
                let label = random.next_u128();
                labels[edge] = label;
                sum[a as usize] ^= label;
                sum[b as usize] ^= label;
            }
        }
        for &node in order.iter().rev() {
            let edge = reached_by[node as usize];
            if edge != NONE {
                let label = sum[node as usize];
                labels[edge as usize] = label;
                sum[self.other(edge, node) as usize] ^= label;
            }
        }
        labels
    }
}

/// The SplitMix64 generator with a fixed seed, so that answers never differ from run to run.
/// Source: G. Steele, D. Lea and C. Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014 (from memory).
struct SplitMix(u64);

impl SplitMix {
    fn new() -> Self {
        Self(0x6f68_6d6c_696e_6531)
    }

    fn next_u64(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Never zero, since zero stands for bridges.
    fn next_u128(&mut self) -> u128 {
        let label = u128::from(self.next_u64()) << 64 | u128::from(self.next_u64());
        label.max(1)
    }
}
