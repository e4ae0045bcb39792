//! The circuit as a graph: a vertex for every node and for the middle of every part with three terminals, an edge for every branch.

use crate::picture::Picture;

/// What a vertex stands for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Owner {
    /// A node of the picture.
    Node(usize),
    /// The middle of a part with three terminals.
    Part(usize),
    /// A crossing of two wires without connection.
    Cross,
}

/// What an edge stands for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Content {
    /// A part with two terminals; the edge runs from the first to the second.
    Part(usize),
    /// The wire from a node (first end) to this terminal of a part with three (second end).
    Lead {
        /// The part.
        part: usize,
        /// Its terminal.
        terminal: usize,
        /// The node.
        node: usize,
    },
    /// A plain wire of this node.
    Wire(usize),
    /// Nothing: it only keeps its ends beside each other.
    Gap,
}

/// An edge.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Edge {
    /// First end.
    pub a: usize,
    /// Second end.
    pub b: usize,
    /// What it is.
    pub content: Content,
}

/// A connected piece as a graph that holds together when any vertex is taken out.
#[derive(Clone, Debug, Default)]
pub struct Net {
    /// The vertices.
    pub vertices: Vec<Owner>,
    /// The edges; the first is the one that stands at the left.
    pub edges: Vec<Edge>,
}

/// The connected pieces, each as the indices of its parts, in order of the first part.
pub fn pieces(picture: &Picture) -> Vec<Vec<usize>> {
    let mut piece: Vec<usize> = (0..picture.nodes.len()).collect();
    fn root(piece: &mut [usize], mut at: usize) -> usize {
        while piece[at] != at {
            piece[at] = piece[piece[at]];
            at = piece[at];
        }
        at
    }
    for part in &picture.parts {
        let first = root(&mut piece, part.terminals[0]);
        for node in &part.terminals[1..] {
            let other = root(&mut piece, *node);
            piece[other] = first;
        }
    }
    let mut number = vec![usize::MAX; picture.nodes.len()];
    let mut out: Vec<Vec<usize>> = Vec::new();
    for (index, part) in picture.parts.iter().enumerate() {
        let of = root(&mut piece, part.terminals[0]);
        if number[of] == usize::MAX {
            number[of] = out.len();
            out.push(Vec::new());
        }
        out[number[of]].push(index);
    }
    out
}

impl Net {
    /// The graph of a piece, the part `source` first; without one, an empty place first.
    pub fn new(picture: &Picture, parts: &[usize], source: Option<usize>) -> Self {
        let mut net = Net::default();
        let mut vertex = vec![usize::MAX; picture.nodes.len()];
        let mut order: Vec<usize> = source.into_iter().collect();
        order.extend(parts.iter().copied().filter(|part| Some(*part) != source));
        if let (None, Some(first)) = (source, parts.first()) {
            let here = picture.parts[*first].terminals[0];
            let mut others = parts.iter().flat_map(|part| &picture.parts[*part].terminals);
            let there = others.find(|node| **node != here).copied();
            vertex[here] = 0;
            net.vertices.push(Owner::Node(here));
            net.vertices.push(Owner::Node(there.unwrap_or(here)));
            net.edges.push(Edge { a: 0, b: 1, content: Content::Gap });
            match there {
                Some(there) => vertex[there] = 1,
                None => net.edges.push(Edge { a: 0, b: 1, content: Content::Wire(here) }),
            }
        }
        for part in order {
            let of = &picture.parts[part];
            let mut ends: Vec<usize> = Vec::with_capacity(3);
            for node in &of.terminals {
                if vertex[*node] == usize::MAX {
                    vertex[*node] = net.vertices.len();
                    net.vertices.push(Owner::Node(*node));
                }
                ends.push(vertex[*node]);
            }
            if let [a, b] = ends[..] {
                if a == b {
                    // Shorted by a wire: the wire gets an edge of its own.
                    let node = of.terminals[0];
                    let end = net.vertices.len();
                    net.vertices.push(Owner::Node(node));
                    net.edges.push(Edge { a, b: end, content: Content::Part(part) });
                    net.edges.push(Edge { a, b: end, content: Content::Wire(node) });
                } else {
                    net.edges.push(Edge { a, b, content: Content::Part(part) });
                }
            } else {
                let middle = net.vertices.len();
                net.vertices.push(Owner::Part(part));
                for (terminal, end) in ends.iter().enumerate() {
                    let node = of.terminals[terminal];
                    let mut end = *end;
                    if terminal == 2 && ends.iter().all(|other| *other == end) {
                        // All at one node: one of the wires gets an end of its own.
                        let own = net.vertices.len();
                        net.vertices.push(Owner::Node(node));
                        net.edges.push(Edge { a: end, b: own, content: Content::Wire(node) });
                        end = own;
                    }
                    net.edges.push(Edge { a: end, b: middle, content: Content::Lead { part, terminal, node } });
                }
            }
        }
        let (s, t) = (net.edges[0].a, net.edges[0].b);
        net.edges.push(Edge { a: s, b: t, content: Content::Gap });
        let ends: Vec<(usize, usize)> = net.edges.iter().map(|edge| (edge.a, edge.b)).collect();
        for (a, b) in bridges_between_blocks(net.vertices.len(), &ends) {
            net.edges.push(Edge { a, b, content: Content::Gap });
        }
        net
    }
}

/// The edges (with the index of the first one first) grouped into blocks: parts of the graph that no single vertex holds together.
fn blocks(n: usize, edges: &[(usize, usize)]) -> Vec<Vec<usize>> {
    let mut around: Vec<Vec<usize>> = vec![Vec::new(); n];
    for (index, (a, b)) in edges.iter().enumerate() {
        around[*a].push(index);
        around[*b].push(index);
    }
    let (mut pre, mut low) = (vec![usize::MAX; n], vec![0; n]);
    let mut used = vec![false; edges.len()];
    let mut next = vec![0; n];
    let mut pending: Vec<usize> = Vec::new();
    let mut out = Vec::new();
    let mut time = 0;
    for start in edges.first().map(|edge| edge.0).into_iter().chain(0..n) {
        if pre[start] != usize::MAX {
            continue;
        }
        pre[start] = time;
        low[start] = time;
        time += 1;
        // Each entry: a vertex and the edge by which it was reached.
        let mut path: Vec<(usize, usize)> = vec![(start, usize::MAX)];
        while let Some((v, by)) = path.last().copied() {
            if let Some(edge) = around[v].get(next[v]).copied() {
                next[v] += 1;
                if used[edge] {
                    continue;
                }
                used[edge] = true;
                pending.push(edge);
                let w = if edges[edge].0 == v { edges[edge].1 } else { edges[edge].0 };
                if pre[w] == usize::MAX {
                    pre[w] = time;
                    low[w] = time;
                    time += 1;
                    path.push((w, edge));
                } else {
                    low[v] = low[v].min(pre[w]);
                }
                continue;
            }
            path.pop();
            if let Some((u, _)) = path.last().copied() {
                low[u] = low[u].min(low[v]);
                if low[v] >= pre[u] {
                    let from = pending.iter().rposition(|edge| *edge == by).unwrap_or(0);
                    let mut block = pending.split_off(from);
                    block.sort_unstable();
                    out.push(block);
                }
            }
        }
    }
    out
}

/// Edges to add so that a connected graph holds together when any vertex is taken out, and stays planar if it is: the far end of each
/// hanging block is tied to a neighbor of the vertex that it hangs from.
pub fn bridges_between_blocks(n: usize, edges: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let blocks = blocks(n, edges);
    let mut of_vertex: Vec<Vec<usize>> = vec![Vec::new(); n];
    for (index, block) in blocks.iter().enumerate() {
        for edge in block {
            for end in [edges[*edge].0, edges[*edge].1] {
                if of_vertex[end].last() != Some(&index) && !of_vertex[end].contains(&index) {
                    of_vertex[end].push(index);
                }
            }
        }
    }
    let Some(first) = blocks.iter().position(|block| block.contains(&0)) else { return Vec::new() };
    let (s, t) = edges[0];
    let mut added: Vec<(usize, usize)> = Vec::new();
    // For each vertex that is reached: a neighbor to tie to.
    let mut near: Vec<Vec<usize>> = vec![Vec::new(); n];
    let reach = |near: &mut Vec<Vec<usize>>, block: usize| {
        for edge in &blocks[block] {
            let (a, b) = edges[*edge];
            near[a].push(b);
            near[b].push(a);
        }
    };
    reach(&mut near, first);
    let mut done = vec![false; blocks.len()];
    done[first] = true;
    let mut queue = std::collections::VecDeque::from([s]);
    let mut seen = vec![false; n];
    seen[s] = true;
    for edge in &blocks[first] {
        for v in [edges[*edge].0, edges[*edge].1] {
            if !seen[v] {
                seen[v] = true;
                queue.push_back(v);
            }
        }
    }
    while let Some(c) = queue.pop_front() {
        for block in of_vertex[c].clone() {
            if done[block] {
                continue;
            }
            done[block] = true;
            let Some(far) = blocks[block].iter().map(|edge| edges[*edge]).find_map(|(a, b)| {
                if a == c {
                    Some(b)
                } else if b == c {
                    Some(a)
                } else {
                    None
                }
            }) else {
                continue;
            };
            let tie = if near[c].contains(&t) {
                t
            } else {
                let besides = near[c].iter().rev().find(|v| **v != s);
                besides.or(near[c].last()).copied().unwrap_or(t)
            };
            if tie != far {
                added.push((far, tie));
                reach(&mut near, block);
                near[far].push(tie);
                near[tie].push(far);
            }
            for edge in &blocks[block] {
                for v in [edges[*edge].0, edges[*edge].1] {
                    if !seen[v] {
                        seen[v] = true;
                        queue.push_back(v);
                    }
                }
            }
        }
    }
    added
}
