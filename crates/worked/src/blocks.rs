//! Blocks: parts of a network between which currents can circulate. What hangs at a single point is a block of its own.

/// The block of each edge (edges as pairs of points). An edge on no cycle is alone in its block, as is an edge from a point to itself.
pub(crate) fn blocks(points: usize, edges: &[(usize, usize)]) -> Vec<usize> {
    let mut adjacent: Vec<Vec<usize>> = vec![Vec::new(); points];
    for (index, &(from, to)) in edges.iter().enumerate() {
        if from != to {
            adjacent[from].push(index);
            adjacent[to].push(index);
        }
    }
    let mut walk = Walk {
        edges,
        adjacent,
        time: vec![0; points],
        low: vec![0; points],
        clock: 0,
        stack: Vec::new(),
        block: vec![usize::MAX; edges.len()],
        count: 0,
    };
    for point in 0..points {
        if walk.time[point] == 0 {
            walk.visit(point, usize::MAX);
        }
    }
    for (index, &(from, to)) in edges.iter().enumerate() {
        if from == to {
            walk.block[index] = walk.count;
            walk.count += 1;
        }
    }
    walk.block
}

/// Depth-first search (Hopcroft, Tarjan, 1973). The depth is bounded by the size up to which solutions are worked out.
struct Walk<'a> {
    edges: &'a [(usize, usize)],
    adjacent: Vec<Vec<usize>>,
    time: Vec<usize>,
    low: Vec<usize>,
    clock: usize,
    stack: Vec<usize>,
    block: Vec<usize>,
    count: usize,
}

impl Walk<'_> {
    fn visit(&mut self, point: usize, by: usize) {
        self.clock += 1;
        self.time[point] = self.clock;
        self.low[point] = self.clock;
        for edge in self.adjacent[point].clone() {
            if edge == by {
                continue;
            }
            let (from, to) = self.edges[edge];
            let far = if from == point { to } else { from };
            if self.time[far] == 0 {
                self.stack.push(edge);
                self.visit(far, edge);
                self.low[point] = self.low[point].min(self.low[far]);
                if self.low[far] >= self.time[point] {
                    while let Some(top) = self.stack.pop() {
                        self.block[top] = self.count;
                        if top == edge {
                            break;
                        }
                    }
                    self.count += 1;
                }
            } else if self.time[far] < self.time[point] {
                self.stack.push(edge);
                self.low[point] = self.low[point].min(self.time[far]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::blocks;

    #[test]
    fn two_rings_that_share_a_point_and_a_tail() {
        let found = blocks(6, &[(0, 1), (1, 2), (2, 0), (2, 3), (3, 2), (3, 4), (5, 5)]);
        assert!(found[0] == found[1] && found[1] == found[2]);
        assert!(found[3] == found[4] && found[3] != found[0]);
        assert!(!found[..5].contains(&found[5]) && found[6] != found[5]);
    }
}
