//! Which branches carry one current: direct chains, and the classes of two-edge cuts.

use super::NONE;
use super::graph::Graph;
use super::groups::Groups;

/// The series structure of one graph.
#[derive(Clone, Debug, Default)]
pub(super) struct Lines {
    /// Direct series class of each branch: the number of its chain.
    pub(super) series: Vec<u32>,
    /// Two-edge-cut class of each branch.
    pub(super) reduced: Vec<u32>,
    /// Whether each branch lies on a closed path.
    pub(super) live: Vec<bool>,
    /// The chains of two and more branches, in order along the chain.
    pub(super) chains: Groups,
    /// Where each chain begins and ends; equal when it bites its own tail.
    pub(super) chain_ends: Vec<(u32, u32)>,
    /// The members of the two-edge-cut classes.
    pub(super) classes: Groups,
    /// Number of live branches at each node, closing edges included.
    pub(super) degree: Vec<u32>,
}

impl Lines {
    /// Of the graph of the branches that `edges` names, between their `ends`, with further edges `closing` that stand for what
    /// lies outside the drawing: they let current in and out and are never members of anything.
    pub(super) fn new(nodes: usize, ends: &[[u32; 2]], edges: &[u32], closing: &[[u32; 2]]) -> Self {
        let graph = Graph::new(nodes, edges.iter().map(|&e| ends[e as usize]).chain(closing.iter().copied()).collect());
        let labels = graph.labels();
        let mut degree = vec![0u32; nodes];
        let mut met = vec![0u32; nodes];
        for (edge, both) in graph.ends().iter().enumerate() {
            if labels[edge] != 0 {
                for &node in both {
                    degree[node as usize] += 1;
                    met[node as usize] ^= edge as u32;
                }
            }
        }
        // The only way on from `edge` through `node`, if there is one.
        let onward = |edge: u32, node: u32| {
            let next = met[node as usize] ^ edge;
            (degree[node as usize] == 2 && (next as usize) < edges.len()).then_some(next)
        };

        let mut series = vec![NONE; ends.len()];
        let mut live = vec![false; ends.len()];
        let mut chains = Groups::default();
        let mut chain_ends = Vec::new();
        let mut walked = vec![false; edges.len()];
        let (mut forward, mut backward) = (Vec::new(), Vec::new());
        for start in 0..edges.len() as u32 {
            if labels[start as usize] == 0 {
                continue;
            }
            live[edges[start as usize] as usize] = true;
            if walked[start as usize] {
                continue;
            }
            walked[start as usize] = true;
            let mut walk = |mut node: u32, into: &mut Vec<u32>| {
                into.clear();
                let mut edge = start;
                while let Some(next) = onward(edge, node) {
                    if walked[next as usize] {
                        break;
                    }
                    walked[next as usize] = true;
                    into.push(edges[next as usize]);
                    node = graph.other(next, node);
                    edge = next;
                }
                node
            };
            let [from, to] = graph.ends()[start as usize];
            let end = walk(to, &mut forward);
            let begin = walk(from, &mut backward);
            if forward.is_empty() && backward.is_empty() {
                continue;
            }
            let start = edges[start as usize];
            let members = backward.iter().rev().copied().chain([start]).chain(forward.iter().copied());
            let chain = chains.push(members.clone());
            for branch in members {
                series[branch as usize] = chain;
            }
            chain_ends.push((begin, end));
        }

        let mut keys = vec![None; ends.len()];
        for (edge, &branch) in edges.iter().enumerate() {
            if labels[edge] != 0 {
                keys[branch as usize] = Some(labels[edge]);
            }
        }
        let (reduced, classes) = Groups::by_key(keys.into_iter());
        Self { series, reduced, live, chains, chain_ends, classes, degree }
    }
}
