//! The parts of a graph that stay together whichever single node is taken out.

/// The biconnected components of a graph, each as its edges; an edge from a node to itself belongs to none. Depth first, without recursion
/// (J. Hopcroft, R. Tarjan, Algorithm 447, 1973).
pub fn components(nodes: usize, edges: &[(usize, usize)]) -> Vec<Vec<usize>> {
    let mut offsets = vec![0usize; nodes + 1];
    for &(a, b) in edges.iter().filter(|(a, b)| a != b) {
        offsets[a + 1] += 1;
        offsets[b + 1] += 1;
    }
    for at in 0..nodes {
        offsets[at + 1] += offsets[at];
    }
    let mut next = offsets.clone();
    let mut touching = vec![0usize; offsets[nodes]];
    for (edge, &(a, b)) in edges.iter().enumerate().filter(|(_, (a, b))| a != b) {
        for node in [a, b] {
            touching[next[node]] = edge;
            next[node] += 1;
        }
    }
    next.copy_from_slice(&offsets[..=nodes]);
    let mut found = Vec::new();
    let (mut order, mut low) = (vec![0usize; nodes], vec![0usize; nodes]);
    let mut counter = 0;
    let mut open: Vec<usize> = Vec::new();
    for root in 0..nodes {
        if order[root] != 0 {
            continue;
        }
        counter += 1;
        (order[root], low[root]) = (counter, counter);
        // A node on the way, and the edge by which it was reached.
        let mut way: Vec<(usize, Option<usize>)> = vec![(root, None)];
        while let Some(&(node, by)) = way.last() {
            if next[node] < offsets[node + 1] {
                let edge = touching[next[node]];
                next[node] += 1;
                if Some(edge) == by {
                    continue;
                }
                let other = if edges[edge].0 == node { edges[edge].1 } else { edges[edge].0 };
                if order[other] == 0 {
                    counter += 1;
                    (order[other], low[other]) = (counter, counter);
                    open.push(edge);
                    way.push((other, Some(edge)));
                } else if order[other] < order[node] {
                    open.push(edge);
                    low[node] = low[node].min(order[other]);
                }
                continue;
            }
            way.pop();
            let (Some(&(above, _)), Some(edge)) = (way.last(), by) else { continue };
            low[above] = low[above].min(low[node]);
            if low[node] >= order[above] {
                let start = open.iter().rposition(|one| *one == edge).unwrap_or(0);
                found.push(open.split_off(start));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::components;

    #[test]
    fn two_triangles_at_one_point_and_a_bridge() {
        let edges = [(0, 1), (1, 2), (2, 0), (2, 3), (3, 4), (4, 2), (4, 5), (5, 5)];
        let mut found = components(6, &edges);
        for one in &mut found {
            one.sort_unstable();
        }
        found.sort();
        assert_eq!(found, [vec![0, 1, 2], vec![3, 4, 5], vec![6]]);
    }

    #[test]
    fn two_edges_side_by_side_are_one_block() {
        assert_eq!(components(2, &[(0, 1), (0, 1)]).len(), 1);
    }
}
