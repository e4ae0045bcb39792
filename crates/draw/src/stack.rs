//! The piece from top to bottom: what hangs from each vertex and what it hangs from, from left to right.

use crate::net::{Content, Net, Owner};
use crate::orient::{heights, is_bipolar};
use crate::picture::Picture;
use crate::planarize::{Core, Load, core};
use crate::reduce::{Groups, Kind};

/// A vertex of the stack.
#[derive(Clone, Debug)]
pub struct Vertex {
    /// What it stands for.
    pub owner: Owner,
    /// Chains that come from above, left to right.
    pub ins: Vec<usize>,
    /// Chains that go down, left to right.
    pub outs: Vec<usize>,
}

/// A chain of parts between two vertices.
#[derive(Clone, Debug)]
pub struct Chain {
    /// The vertex above.
    pub up: usize,
    /// The vertex below.
    pub low: usize,
    /// The parts from top to bottom; whether each is entered at its first terminal.
    pub parts: Vec<(usize, bool)>,
    /// The node of the wire before each part and after the last, and before and after the gap; `None` where nothing is drawn.
    pub nodes: Vec<Option<usize>>,
    /// Number of parts above the gap, if there is one.
    pub gap: Option<usize>,
    /// The terminal of a three-terminal part that its upper (lower) end leads to.
    pub leads: (Option<usize>, Option<usize>),
}

/// A piece, ordered in both directions.
#[derive(Clone, Debug)]
pub struct Stack {
    /// The vertices.
    pub vertices: Vec<Vertex>,
    /// The chains; the first is the one at the left.
    pub chains: Vec<Chain>,
    /// The top.
    pub s: usize,
    /// The bottom.
    pub t: usize,
}

struct Builder<'a> {
    picture: &'a Picture,
    net: &'a Net,
    groups: &'a Groups,
    /// Stack vertex of each core vertex.
    number: Vec<usize>,
    owners: &'a [Owner],
    stack: Stack,
}

/// Orders a piece; `None` where this method finds no order.
pub fn stack(picture: &Picture, net: &Net, groups: &Groups) -> Option<Stack> {
    let core = core(net, groups)?;
    let (s, t) = (core.edges[0].a, core.edges[0].b);
    let mut builder = Builder {
        picture,
        net,
        groups,
        number: vec![usize::MAX; core.owners.len()],
        owners: &core.owners,
        stack: Stack { vertices: Vec::new(), chains: Vec::new(), s: 0, t: 0 },
    };
    builder.stack.s = builder.vertex(s);
    builder.stack.t = builder.vertex(t);
    let root = builder.chain(&[(0, s)], s, t);
    builder.hang(s, vec![root], t, vec![root]);
    // Straight branches and the rest in text order.
    enum Child {
        Direct(usize),
        Core,
    }
    let mut children: Vec<(usize, Child)> =
        core.direct.iter().map(|group| (groups.all[*group].first, Child::Direct(*group))).collect();
    if core.edges.len() > 1 {
        let first = core.edges.iter().filter_map(|edge| match edge.load {
            Load::Group(group) => Some(groups.all[group].first),
            _ => None,
        });
        children.push((first.min().unwrap_or(usize::MAX), Child::Core));
    }
    children.sort_by_key(|child| child.0);
    for (_, child) in children {
        match child {
            Child::Direct(group) => {
                let (firsts, lasts) = builder.expand(group, s, t, groups.all[group].a == s);
                builder.hang(s, firsts, t, lasts);
            }
            Child::Core => builder.spread(&core)?,
        }
    }
    Some(builder.stack)
}

impl Builder<'_> {
    fn vertex(&mut self, core: usize) -> usize {
        if self.number[core] == usize::MAX {
            self.number[core] = self.stack.vertices.len();
            self.stack.vertices.push(Vertex { owner: self.owners[core], ins: Vec::new(), outs: Vec::new() });
        }
        self.number[core]
    }

    fn hang(&mut self, upper: usize, firsts: Vec<usize>, lower: usize, lasts: Vec<usize>) {
        let (upper, lower) = (self.vertex(upper), self.vertex(lower));
        self.stack.vertices[upper].outs.extend(firsts);
        self.stack.vertices[lower].ins.extend(lasts);
    }

    /// Branches side by side in text order; but a lone second supply with something in series stands at the far side, as people
    /// draw it.
    fn supply_last(&self, mut members: Vec<usize>) -> Vec<usize> {
        let driven: Vec<usize> = (0..members.len()).filter(|index| self.is_driven(members[*index])).collect();
        if let [one] = driven[..] {
            let moved = members.remove(one);
            members.push(moved);
        }
        members
    }

    /// Whether a branch is a battery or source with other parts in series.
    fn is_driven(&self, group: usize) -> bool {
        let Kind::Series(members) = &self.groups.all[group].kind else { return false };
        members.iter().any(|member| match self.groups.all[*member].kind {
            Kind::Leaf(edge) => match self.net.edges[edge].content {
                Content::Part(part) => self.picture.parts[part].symbol.is_source(),
                _ => false,
            },
            _ => false,
        })
    }

    /// Lays out the core.
    fn spread(&mut self, core: &Core) -> Option<()> {
        let mut number = vec![usize::MAX; core.owners.len()];
        let mut used = Vec::new();
        let mut ends = Vec::with_capacity(core.edges.len());
        for edge in &core.edges {
            for v in [edge.a, edge.b] {
                if number[v] == usize::MAX {
                    number[v] = used.len();
                    used.push(v);
                }
            }
            ends.push((number[edge.a], number[edge.b]));
        }
        let heights = heights(used.len(), &ends);
        if !is_bipolar(used.len(), &ends, &heights) {
            return None;
        }
        let height = |v: usize| heights[number[v]];
        let s = core.edges[0].a;
        let first = |edge: usize| match core.edges[edge].load {
            Load::Group(group) => self.groups.all[group].first,
            _ => usize::MAX,
        };
        let at_top = &core.rotation[s];
        let root = at_top.iter().position(|edge| *edge == 0)?;
        let round: Vec<usize> = at_top[root + 1..].iter().chain(&at_top[..root]).copied().collect();
        let mirrored = first(*round.last()?) < first(*round.first()?);
        let mut firsts: Vec<Vec<usize>> = vec![Vec::new(); core.edges.len()];
        let mut lasts: Vec<Vec<usize>> = vec![Vec::new(); core.edges.len()];
        for (index, edge) in core.edges.iter().enumerate().skip(1) {
            let down = height(edge.a) > height(edge.b);
            let (upper, lower) = if down { (edge.a, edge.b) } else { (edge.b, edge.a) };
            (firsts[index], lasts[index]) = match edge.load {
                Load::Group(group) => self.expand(group, upper, lower, down),
                Load::Wire(node, terminal) => {
                    let chain = self.bare(upper, lower, Some(node), None);
                    if matches!(self.owners[upper], Owner::Part(_)) {
                        self.stack.chains[chain].leads.0 = terminal;
                    } else {
                        self.stack.chains[chain].leads.1 = terminal;
                    }
                    (vec![chain], vec![chain])
                }
                Load::Gap | Load::Root => {
                    let chain = self.bare(upper, lower, None, Some(0));
                    (vec![chain], vec![chain])
                }
            };
        }
        for v in used {
            let mut round: Vec<usize> = core.rotation[v].clone();
            if mirrored {
                round.reverse();
            }
            let down = |edge: usize| {
                let of = core.edges[edge];
                let other = if of.a == v { of.b } else { of.a };
                height(other) < height(v)
            };
            // The edges that go down follow each other; the first of them, or the root, begins.
            let k = round.len();
            let start = (0..k).find(|i| down(round[*i]) && !down(round[(*i + k - 1) % k]));
            let start = match start {
                _ if v == s => round.iter().position(|edge| *edge == 0)?,
                Some(start) => start,
                None => (round.iter().position(|edge| *edge == 0)? + 1) % k,
            };
            let round: Vec<usize> = round[start..].iter().chain(&round[..start]).copied().collect();
            let outs: Vec<usize> = round.iter().copied().filter(|edge| down(*edge)).collect();
            let ins: Vec<usize> = round.iter().rev().copied().filter(|edge| !down(*edge)).collect();
            let vertex = self.vertex(v);
            for edge in outs {
                self.stack.vertices[vertex].outs.extend(firsts[edge].iter().copied());
            }
            for edge in ins {
                self.stack.vertices[vertex].ins.extend(lasts[edge].iter().copied());
            }
        }
        Some(())
    }

    fn bare(&mut self, upper: usize, lower: usize, node: Option<usize>, gap: Option<usize>) -> usize {
        let (up, low) = (self.vertex(upper), self.vertex(lower));
        let nodes = if gap.is_some() { vec![None, None] } else { vec![node] };
        self.stack.chains.push(Chain { up, low, parts: Vec::new(), nodes, gap, leads: (None, None) });
        self.stack.chains.len() - 1
    }

    /// Draws a group from top to bottom: the chains that leave the upper vertex, and those that come to the lower one. `down` tells
    /// whether its first end is the upper one (a crossing may stand where its end was).
    fn expand(&mut self, group: usize, upper: usize, lower: usize, down: bool) -> (Vec<usize>, Vec<usize>) {
        let of = self.groups.all[group].clone();
        let top = if down { of.a } else { of.b };
        match of.kind {
            Kind::Leaf(edge) => {
                let chain = self.chain(&[(edge, top)], upper, lower);
                (vec![chain], vec![chain])
            }
            Kind::Parallel(members) => {
                let (mut firsts, mut lasts) = (Vec::new(), Vec::new());
                for member in self.supply_last(members) {
                    let down = self.groups.all[member].a == top;
                    let (first, last) = self.expand(member, upper, lower, down);
                    firsts.extend(first);
                    lasts.extend(last);
                }
                (firsts, lasts)
            }
            Kind::Series(members) => {
                let members: Vec<usize> = if down { members } else { members.into_iter().rev().collect() };
                // Where we are in the net, and the vertex that is drawn there.
                let (mut here, mut drawn) = (top, upper);
                let mut run: Vec<(usize, usize)> = Vec::new();
                let mut run_from = upper;
                let mut firsts: Option<Vec<usize>> = None;
                let mut lasts: Vec<usize> = Vec::new();
                let count = members.len();
                for (index, member) in members.into_iter().enumerate() {
                    let next = self.groups.other(member, here);
                    let next_drawn = if index + 1 == count { lower } else { next };
                    let leaf = match self.groups.all[member].kind {
                        Kind::Leaf(edge) => Some(edge),
                        _ => None,
                    };
                    if let Some(edge) = leaf {
                        if run.is_empty() {
                            run_from = drawn;
                        }
                        run.push((edge, here));
                        if index + 1 < count {
                            (here, drawn) = (next, next_drawn);
                            continue;
                        }
                        drawn = next_drawn;
                    }
                    if !run.is_empty() {
                        let chain = self.chain(&run, run_from, drawn);
                        run.clear();
                        self.link(run_from, &mut firsts, &mut lasts, vec![chain], vec![chain]);
                    }
                    if leaf.is_none() {
                        let down = self.groups.all[member].a == here;
                        let (first, last) = self.expand(member, drawn, next_drawn, down);
                        self.link(drawn, &mut firsts, &mut lasts, first, last);
                        (here, drawn) = (next, next_drawn);
                    }
                }
                (firsts.unwrap_or_default(), lasts)
            }
        }
    }

    /// Hangs the next members of a series under those before.
    fn link(
        &mut self,
        at: usize,
        firsts: &mut Option<Vec<usize>>,
        lasts: &mut Vec<usize>,
        first: Vec<usize>,
        last: Vec<usize>,
    ) {
        if firsts.is_none() {
            *firsts = Some(first);
        } else {
            let vertex = self.vertex(at);
            self.stack.vertices[vertex].ins.append(lasts);
            self.stack.vertices[vertex].outs.extend(first);
        }
        *lasts = last;
    }

    /// Makes a chain of edges of the net, each with the vertex above it.
    fn chain(&mut self, edges: &[(usize, usize)], upper: usize, lower: usize) -> usize {
        let (up, low) = (self.vertex(upper), self.vertex(lower));
        let mut parts: Vec<(usize, bool)> = Vec::new();
        let mut nodes: Vec<Option<usize>> = vec![match self.owners[upper] {
            Owner::Node(node) => Some(node),
            _ => None,
        }];
        let mut gap = None;
        let mut leads = (None, None);
        let count = edges.len();
        for (index, (edge, from)) in edges.iter().enumerate() {
            let of = self.net.edges[*edge];
            match of.content {
                Content::Part(part) => {
                    let forward = of.a == *from;
                    let terminals = &self.picture.parts[part].terminals;
                    let (before, after) =
                        if forward { (terminals[0], terminals[1]) } else { (terminals[1], terminals[0]) };
                    if let Some(last) = nodes.last_mut() {
                        *last = Some(before);
                    }
                    parts.push((part, forward));
                    nodes.push(Some(after));
                }
                Content::Lead { node, terminal, .. } => {
                    if let Some(last) = nodes.last_mut() {
                        *last = Some(node);
                    }
                    if index == 0 && matches!(self.owners[upper], Owner::Part(_)) {
                        leads.0 = Some(terminal);
                    }
                    if index + 1 == count && matches!(self.owners[lower], Owner::Part(_)) {
                        leads.1 = Some(terminal);
                    }
                }
                Content::Wire(node) => {
                    if let Some(last) = nodes.last_mut() {
                        *last = Some(node);
                    }
                }
                Content::Gap if gap.is_none() => {
                    gap = Some(parts.len());
                    nodes.push(None);
                }
                Content::Gap => {}
            }
        }
        if let Some(above) = gap {
            // A wire that leads to a gap only from a node's bar is not drawn.
            if above == 0 && matches!(self.owners[upper], Owner::Node(_)) {
                nodes[0] = None;
            }
        }
        self.stack.chains.push(Chain { up, low, parts, nodes, gap, leads });
        self.stack.chains.len() - 1
    }
}
