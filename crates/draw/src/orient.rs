//! From top to bottom: a direction for every edge such that only the first vertex has nothing above it and only the last nothing below.

/// Heights of the vertices between 1 at `s` and 0 at `t`, all different for neighbors. The graph must hold together when any
/// vertex is taken out, and its first edge must join `s` and `t`.
///
/// They are the potentials of a network of nearly equal resistors: the drawing then runs downhill as a current would, and
/// what is symmetric lies level. Where these are too close to tell apart, the order of R. E. Tarjan, "Two streamlined
/// depth-first search algorithms", Fundamenta Informaticae 9, 1986, takes their place.
pub fn heights(n: usize, edges: &[(usize, usize)]) -> Vec<f64> {
    if n <= 400
        && let Some(heights) = potentials(n, edges)
        && is_bipolar(n, edges, &heights)
    {
        return heights;
    }
    let order = st_order(n, edges);
    let mut heights = vec![0.0; n];
    for (place, v) in order.iter().enumerate() {
        heights[*v] = 1.0 - place as f64 / (n.max(2) - 1) as f64;
    }
    heights
}

/// Whether every vertex but the ends of the first edge has a higher and a lower neighbor, and no neighbors are level.
pub fn is_bipolar(n: usize, edges: &[(usize, usize)], heights: &[f64]) -> bool {
    let (mut higher, mut lower) = (vec![false; n], vec![false; n]);
    for (a, b) in edges {
        if (heights[*a] - heights[*b]).abs() < 1e-11 {
            return false;
        }
        let (up, down) = if heights[*a] > heights[*b] { (*a, *b) } else { (*b, *a) };
        higher[down] = true;
        lower[up] = true;
    }
    let (s, t) = edges[0];
    (0..n).all(|v| (higher[v] || v == s) && (lower[v] || v == t)) && heights[s] > heights[t]
}

fn potentials(n: usize, edges: &[(usize, usize)]) -> Option<Vec<f64>> {
    let (s, t) = *edges.first()?;
    let mut matrix = vec![vec![0.0; n + 1]; n];
    for (index, (a, b)) in edges.iter().enumerate().skip(1) {
        // Nearly equal, but no two alike: no two neighbors are level by symmetry.
        let conductance = 1.0 + 1e-4 * (((index * 7919) % 1009) as f64 / 1009.0);
        matrix[*a][*a] += conductance;
        matrix[*b][*b] += conductance;
        matrix[*a][*b] -= conductance;
        matrix[*b][*a] -= conductance;
    }
    for (v, value) in [(s, 1.0), (t, 0.0)] {
        matrix[v].iter_mut().for_each(|x| *x = 0.0);
        matrix[v][v] = 1.0;
        matrix[v][n] = value;
    }
    for column in 0..n {
        let pivot = (column..n).max_by(|a, b| matrix[*a][column].abs().total_cmp(&matrix[*b][column].abs()))?;
        if matrix[pivot][column].abs() < 1e-12 {
            return None;
        }
        matrix.swap(column, pivot);
        let (above, below) = matrix.split_at_mut(column + 1);
        let row = &above[column];
        for other in below {
            let factor = other[column] / row[column];
            if factor != 0.0 {
                for (x, y) in other[column..].iter_mut().zip(&row[column..]) {
                    *x -= factor * y;
                }
            }
        }
    }
    let mut out = vec![0.0; n];
    for v in (0..n).rev() {
        let known: f64 = (v + 1..n).map(|w| matrix[v][w] * out[w]).sum();
        out[v] = (matrix[v][n] - known) / matrix[v][v];
    }
    Some(out)
}

fn st_order(n: usize, edges: &[(usize, usize)]) -> Vec<usize> {
    let (s, t) = edges[0];
    let mut around: Vec<Vec<usize>> = vec![Vec::new(); n];
    for (a, b) in edges {
        around[*a].push(*b);
        around[*b].push(*a);
    }
    let (mut pre, mut low, mut parent) = (vec![usize::MAX; n], vec![0; n], vec![usize::MAX; n]);
    let mut order = vec![s, t];
    pre[s] = 0;
    low[s] = 0;
    pre[t] = 1;
    low[t] = 0;
    parent[t] = s;
    let mut next = vec![0; n];
    let mut path = vec![t];
    while let Some(v) = path.last().copied() {
        if let Some(w) = around[v].get(next[v]).copied() {
            next[v] += 1;
            if pre[w] == usize::MAX {
                pre[w] = order.len();
                low[w] = pre[w];
                parent[w] = v;
                order.push(w);
                path.push(w);
            } else if w != parent[v] {
                low[v] = low[v].min(pre[w]);
            }
        } else {
            path.pop();
            if let Some(u) = path.last() {
                low[*u] = low[*u].min(low[v]);
            }
        }
    }
    let mut after = vec![usize::MAX; n];
    let mut before = vec![usize::MAX; n];
    after[s] = t;
    before[t] = s;
    let mut plus = vec![false; n];
    for v in order.iter().copied().skip(2) {
        let p = parent[v];
        if plus[order[low[v]]] {
            // After the parent.
            let q = after[p];
            after[p] = v;
            before[v] = p;
            after[v] = q;
            if q != usize::MAX {
                before[q] = v;
            }
            plus[p] = false;
        } else {
            let q = before[p];
            before[p] = v;
            after[v] = p;
            before[v] = q;
            if q != usize::MAX {
                after[q] = v;
            }
            plus[p] = true;
        }
    }
    let mut out = Vec::with_capacity(n);
    let mut here = s;
    while here != usize::MAX && out.len() < n {
        out.push(here);
        here = after[here];
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A prism over a polygon, its first edge from vertex 0.
    fn prism(k: usize) -> (usize, Vec<(usize, usize)>) {
        let mut edges = Vec::new();
        for i in 0..k {
            edges.push((i, (i + 1) % k));
            edges.push((k + i, k + (i + 1) % k));
            edges.push((i, k + i));
        }
        (2 * k, edges)
    }

    #[test]
    fn both_ways_are_bipolar() {
        for k in 3..60 {
            let (n, edges) = prism(k);
            assert!(is_bipolar(n, &edges, &heights(n, &edges)), "prism over {k}");
            let order = st_order(n, &edges);
            assert_eq!(order.len(), n);
            let mut heights = vec![0.0; n];
            for (place, v) in order.iter().enumerate() {
                heights[*v] = -(place as f64);
            }
            assert!(is_bipolar(n, &edges, &heights), "prism over {k}");
        }
    }
}
