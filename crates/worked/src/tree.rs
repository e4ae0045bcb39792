//! Series and parallel: the tree of a network, flat, so that it has as few replacements as there can be.

use malachite::Rational;

use crate::net::{Net, Placed};

/// What a node of the tree is.
#[derive(Clone, Debug)]
pub(crate) enum Shape {
    /// A part.
    Leaf(Placed),
    /// Nodes one after the other, from `from` to `to`.
    Series(Vec<usize>),
    /// Nodes side by side.
    Parallel(Vec<usize>),
}

/// A node.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub shape: Shape,
    pub from: usize,
    pub to: usize,
    pub resistance: Rational,
    /// Places in the text of the first and the last leaf.
    pub span: (u32, u32),
}

impl Node {
    pub fn far(&self, point: usize) -> usize {
        if self.from == point { self.to } else { self.from }
    }
}

/// An edge of the network that is left: a node of the tree between two points.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Edge {
    pub node: usize,
    pub from: usize,
    pub to: usize,
}

/// The trees of everything that reduces.
#[derive(Clone, Debug, Default)]
pub(crate) struct Tree {
    pub nodes: Vec<Node>,
    /// What is left: a single edge where the resistances between two terminals reduce to one.
    pub edges: Vec<Edge>,
}

impl Tree {
    /// Reduces the resistances of a network as far as series and parallel go. No replacement removes a terminal.
    pub fn grow(net: &Net, terminals: &[usize]) -> Self {
        let mut tree = Self::default();
        for placed in net.resistances() {
            let part = &net.parts[placed.part];
            let resistance = part.resistance().cloned().unwrap_or_default();
            tree.edges.push(Edge { node: tree.nodes.len(), from: placed.from, to: placed.to });
            tree.nodes.push(Node {
                shape: Shape::Leaf(placed),
                from: placed.from,
                to: placed.to,
                resistance,
                span: part.span,
            });
        }
        while tree.merge_parallel() || tree.merge_series(net.points.len(), terminals) {}
        tree.edges.sort_by_key(|edge| tree.nodes[edge.node].span);
        tree
    }

    /// Merges one group of edges between the same two points.
    fn merge_parallel(&mut self) -> bool {
        for (index, edge) in self.edges.iter().enumerate() {
            let ends = (edge.from.min(edge.to), edge.from.max(edge.to));
            let same: Vec<usize> = (index..self.edges.len())
                .filter(|&other| {
                    let other = self.edges[other];
                    (other.from.min(other.to), other.from.max(other.to)) == ends
                })
                .collect();
            if same.len() < 2 {
                continue;
            }
            let edge = *edge;
            let mut children = Vec::new();
            for &other in &same {
                let node = self.edges[other].node;
                match &self.nodes[node].shape {
                    Shape::Parallel(inner) => children.extend(inner.iter().copied()),
                    _ => children.push(node),
                }
            }
            children.sort_by_key(|&child| self.nodes[child].span);
            for &other in same.iter().rev() {
                self.edges.remove(other);
            }
            let node = self.add(Shape::Parallel(children), edge.from, edge.to);
            self.edges.push(Edge { node, from: edge.from, to: edge.to });
            return true;
        }
        false
    }

    /// Merges two edges that meet where nothing else is joined.
    fn merge_series(&mut self, points: usize, terminals: &[usize]) -> bool {
        let mut touching: Vec<Vec<usize>> = vec![Vec::new(); points];
        for (index, edge) in self.edges.iter().enumerate() {
            touching[edge.from].push(index);
            touching[edge.to].push(index);
        }
        for (point, touching) in touching.iter().enumerate() {
            let [first, second] = touching[..] else { continue };
            if terminals.contains(&point) || first == second {
                continue;
            }
            let (one, other) = (self.edges[first], self.edges[second]);
            let far = |edge: Edge| if edge.from == point { edge.to } else { edge.from };
            let (from, to) = (far(one), far(other));
            if from == to {
                // A ring that only hangs at one point; parallel merging takes it where it is a terminal's.
                continue;
            }
            let mut children = self.chain(one.node, from);
            children.extend(self.chain(other.node, point));
            self.edges.remove(second.max(first));
            self.edges.remove(second.min(first));
            let node = self.add(Shape::Series(children), from, to);
            self.edges.push(Edge { node, from, to });
            return true;
        }
        false
    }

    /// The members of a node in line, beginning at `from`.
    fn chain(&self, node: usize, from: usize) -> Vec<usize> {
        match &self.nodes[node].shape {
            Shape::Series(inner) if self.nodes[node].from == from => inner.clone(),
            Shape::Series(inner) => inner.iter().rev().copied().collect(),
            _ => vec![node],
        }
    }

    fn add(&mut self, shape: Shape, from: usize, to: usize) -> usize {
        let (resistance, children) = match &shape {
            Shape::Series(children) => {
                (children.iter().map(|&child| self.nodes[child].resistance.clone()).sum(), children)
            }
            Shape::Parallel(children) => {
                let conductance: Rational =
                    children.iter().map(|&child| Rational::from(1) / &self.nodes[child].resistance).sum();
                (Rational::from(1) / conductance, children)
            }
            Shape::Leaf(_) => return usize::MAX,
        };
        let first = children.iter().map(|&child| self.nodes[child].span.0).min().unwrap_or(0);
        let last = children.iter().map(|&child| self.nodes[child].span.1).max().unwrap_or(0);
        self.nodes.push(Node { shape, from, to, resistance, span: (first, last) });
        self.nodes.len() - 1
    }

    pub fn children(&self, node: usize) -> &[usize] {
        match &self.nodes[node].shape {
            Shape::Leaf(_) => &[],
            Shape::Series(children) | Shape::Parallel(children) => children,
        }
    }
}
