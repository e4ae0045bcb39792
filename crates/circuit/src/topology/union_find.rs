//! Disjoint sets: union by size, path halving.

/// Sets of the numbers below a bound.
pub(super) struct UnionFind {
    parent: Vec<u32>,
    size: Vec<u32>,
}

impl UnionFind {
    /// Every number in a set of its own.
    pub(super) fn new(count: usize) -> Self {
        Self { parent: (0..count as u32).collect(), size: vec![1; count] }
    }

    /// The number that stands for the set of `x`.
    pub(super) fn find(&mut self, mut x: u32) -> u32 {
        while self.parent[x as usize] != x {
            let above = self.parent[self.parent[x as usize] as usize];
            self.parent[x as usize] = above;
            x = above;
        }
        x
    }

    /// Joins two sets; false when they were one already.
    pub(super) fn union(&mut self, a: u32, b: u32) -> bool {
        let (mut a, mut b) = (self.find(a), self.find(b));
        if a == b {
            return false;
        }
        if self.size[a as usize] < self.size[b as usize] {
            std::mem::swap(&mut a, &mut b);
        }
        self.parent[b as usize] = a;
        self.size[a as usize] += self.size[b as usize];
        true
    }

    /// The set of each number, counted from 0 in the order of the smallest members, and how many sets there are.
    pub(super) fn numbered(mut self) -> (Vec<u32>, u32) {
        let mut name = vec![u32::MAX; self.parent.len()];
        let mut count = 0;
        let sets = (0..self.parent.len() as u32)
            .map(|x| {
                let root = self.find(x) as usize;
                if name[root] == u32::MAX {
                    name[root] = count;
                    count += 1;
                }
                name[root]
            })
            .collect();
        (sets, count)
    }
}
