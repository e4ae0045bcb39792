//! Planar embeddings: the face-by-face method of G. Demoucron, Y. Malgrange and R. Pertuiset, "Graphes planaires", Revue française de
//! recherche opérationnelle 8, 1964.

use std::collections::VecDeque;

/// The edges round each vertex, in one sense of rotation for all of them.
pub type Rotation = Vec<Vec<usize>>;

/// Embeds a graph that no single vertex holds together and that has no two edges with the same ends; `None` if it is not planar.
pub fn embed(n: usize, edges: &[(usize, usize)]) -> Option<Rotation> {
    let mut around: Vec<Vec<usize>> = vec![Vec::new(); n];
    for (index, (a, b)) in edges.iter().enumerate() {
        around[*a].push(index);
        around[*b].push(index);
    }
    let other = |edge: usize, v: usize| if edges[edge].0 == v { edges[edge].1 } else { edges[edge].0 };
    if n >= 3 && edges.len() > 3 * n - 6 {
        return None;
    }
    let mut laid = vec![false; edges.len()];
    let mut placed = vec![false; n];
    // Faces as cycles of (vertex, edge to the next vertex).
    let mut faces: Vec<Vec<(usize, usize)>> = Vec::new();
    let mut faces_of: Vec<Vec<usize>> = vec![Vec::new(); n];
    let cycle = first_cycle(n, edges, &around)?;
    let back: Vec<(usize, usize)> = {
        let k = cycle.len();
        (0..k).rev().map(|i| (cycle[i].0, cycle[(i + k - 1) % k].1)).collect()
    };
    for (v, edge) in &cycle {
        placed[*v] = true;
        laid[*edge] = true;
        faces_of[*v].extend([0, 1]);
    }
    faces.push(cycle);
    faces.push(back);
    while let Some(fragments) = fragments(n, edges, &around, &laid, &placed) {
        // The fragment with the fewest faces to go to; one without any proves that the graph is not planar.
        let mut best: Option<(usize, usize, usize)> = None;
        for (index, fragment) in fragments.iter().enumerate() {
            let fewest = fragment.ends.iter().min_by_key(|v| faces_of[**v].len())?;
            let mut count = 0;
            let mut one = None;
            for face in &faces_of[*fewest] {
                if fragment.ends.iter().all(|v| faces_of[*v].contains(face)) {
                    count += 1;
                    one.get_or_insert(*face);
                }
            }
            let face = one?;
            if best.is_none_or(|(_, _, least)| count < least) {
                best = Some((index, face, count));
                if count == 1 {
                    break;
                }
            }
        }
        let (index, face, _) = best?;
        let fragment = &fragments[index];
        let way = way_through(fragment, &around, &placed, &laid, other)?;
        // Splits the face along the way from its first to its last vertex.
        let (from, to) = (way.start, way.end);
        let cycle = std::mem::take(&mut faces[face]);
        let i = cycle.iter().position(|step| step.0 == from)?;
        let cycle: Vec<(usize, usize)> = cycle[i..].iter().chain(&cycle[..i]).copied().collect();
        let j = cycle.iter().position(|step| step.0 == to)?;
        // One side: along the way, then on from `to`. The other: from `from` to `to`, then back along the way.
        let mut one: Vec<(usize, usize)> = way.steps.clone();
        one.extend(&cycle[j..]);
        let mut two: Vec<(usize, usize)> = cycle[..j].to_vec();
        let mut here = to;
        for (v, edge) in way.steps.iter().rev() {
            two.push((here, *edge));
            here = *v;
        }
        for (v, edge) in &way.steps {
            placed[*v] = true;
            laid[*edge] = true;
        }
        for (v, _) in &cycle {
            faces_of[*v].retain(|of| *of != face);
        }
        let second = faces.len();
        for (v, _) in &one {
            faces_of[*v].push(face);
        }
        for (v, _) in &two {
            faces_of[*v].push(second);
        }
        faces[face] = one;
        faces.push(two);
    }
    Some(rotation(n, &around, &faces))
}

/// Edges after each other in faces follow each other round the vertex between them.
fn rotation(n: usize, around: &[Vec<usize>], faces: &[Vec<(usize, usize)>]) -> Rotation {
    let mut next: Vec<Vec<(usize, usize)>> = vec![Vec::new(); n];
    for face in faces {
        let k = face.len();
        for i in 0..k {
            let (v, out) = face[(i + 1) % k];
            next[v].push((face[i].1, out));
        }
    }
    (0..n)
        .map(|v| {
            let mut list = Vec::with_capacity(around[v].len());
            let Some(first) = around[v].first().copied() else { return list };
            let mut here = first;
            loop {
                list.push(here);
                let Some((_, after)) = next[v].iter().find(|(before, _)| *before == here) else { break };
                here = *after;
                if here == first || list.len() > around[v].len() {
                    break;
                }
            }
            list
        })
        .collect()
}

fn first_cycle(n: usize, edges: &[(usize, usize)], around: &[Vec<usize>]) -> Option<Vec<(usize, usize)>> {
    let (s, t) = *edges.first()?;
    let mut by = vec![usize::MAX; n];
    let mut queue = VecDeque::from([t]);
    by[t] = 0;
    while let Some(v) = queue.pop_front() {
        for edge in &around[v] {
            let w = if edges[*edge].0 == v { edges[*edge].1 } else { edges[*edge].0 };
            if *edge != 0 && by[w] == usize::MAX {
                by[w] = *edge;
                queue.push_back(w);
            }
        }
    }
    if by[s] == usize::MAX {
        return None;
    }
    // From s back to t, then the first edge from t to s.
    let mut cycle = Vec::new();
    let mut here = s;
    while here != t {
        let edge = by[here];
        cycle.push((here, edge));
        here = if edges[edge].0 == here { edges[edge].1 } else { edges[edge].0 };
    }
    cycle.push((t, 0));
    Some(cycle)
}

/// A part of the graph that is not laid yet and hangs together without laid vertices.
struct Fragment {
    ends: Vec<usize>,
    /// An edge of it at its first end.
    edge: usize,
}

fn fragments(
    n: usize,
    edges: &[(usize, usize)],
    around: &[Vec<usize>],
    laid: &[bool],
    placed: &[bool],
) -> Option<Vec<Fragment>> {
    let mut out = Vec::new();
    let mut seen = vec![false; n];
    for (index, (a, b)) in edges.iter().enumerate() {
        if laid[index] {
            continue;
        }
        if placed[*a] && placed[*b] {
            out.push(Fragment { ends: vec![*a, *b], edge: index });
            continue;
        }
        let start = if placed[*a] { *b } else { *a };
        if seen[start] {
            continue;
        }
        seen[start] = true;
        let mut ends: Vec<(usize, usize)> = Vec::new();
        let mut work = vec![start];
        while let Some(v) = work.pop() {
            for edge in &around[v] {
                let w = if edges[*edge].0 == v { edges[*edge].1 } else { edges[*edge].0 };
                if placed[w] {
                    if !ends.iter().any(|end| end.0 == w) {
                        ends.push((w, *edge));
                    }
                } else if !seen[w] {
                    seen[w] = true;
                    work.push(w);
                }
            }
        }
        let edge = ends.first()?.1;
        out.push(Fragment { ends: ends.into_iter().map(|end| end.0).collect(), edge });
    }
    (!out.is_empty()).then_some(out)
}

struct Way {
    start: usize,
    end: usize,
    /// Each vertex with the edge that leaves it, the last vertex left out.
    steps: Vec<(usize, usize)>,
}

/// A way through a fragment from its first end to another one.
fn way_through(
    fragment: &Fragment,
    around: &[Vec<usize>],
    placed: &[bool],
    laid: &[bool],
    other: impl Fn(usize, usize) -> usize,
) -> Option<Way> {
    let start = *fragment.ends.first()?;
    let first = other(fragment.edge, start);
    if placed[first] {
        return Some(Way { start, end: first, steps: vec![(start, fragment.edge)] });
    }
    let mut by: std::collections::HashMap<usize, usize> = std::collections::HashMap::from([(first, fragment.edge)]);
    let mut queue = VecDeque::from([first]);
    while let Some(v) = queue.pop_front() {
        for edge in &around[v] {
            let w = other(*edge, v);
            if laid[*edge] || w == start || by.contains_key(&w) {
                continue;
            }
            if placed[w] {
                let mut steps = vec![(v, *edge)];
                let mut here = v;
                while here != start {
                    let edge = by[&here];
                    here = other(edge, here);
                    steps.push((here, edge));
                }
                steps.reverse();
                return Some(Way { start, end: w, steps });
            }
            by.insert(w, *edge);
            queue.push_back(w);
        }
    }
    None
}
