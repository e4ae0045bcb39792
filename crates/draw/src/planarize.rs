//! What is left of a graph when its groups are formed, embedded in the plane; with crossings as vertices where it has to be.

use std::collections::VecDeque;

use crate::embed::{Rotation, embed};
use crate::net::{Content, Net, Owner, bridges_between_blocks};
use crate::reduce::{Groups, Kind};

/// What an edge of the core carries.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Load {
    /// The first edge of the net.
    Root,
    /// A group.
    Group(usize),
    /// A wire of this node; of its ends, one that is a part with three terminals is joined to this terminal.
    Wire(usize, Option<usize>),
    /// Nothing.
    Gap,
}

/// An edge of the core.
#[derive(Clone, Copy, Debug)]
pub struct CoreEdge {
    /// First end.
    pub a: usize,
    /// Second end.
    pub b: usize,
    /// What it carries.
    pub load: Load,
}

/// The embedded core. Its vertices are those of the net, crossings appended.
#[derive(Clone, Debug, Default)]
pub struct Core {
    /// The vertices.
    pub owners: Vec<Owner>,
    /// The edges; the first is the root.
    pub edges: Vec<CoreEdge>,
    /// The edges round each vertex.
    pub rotation: Rotation,
    /// Groups straight between the ends of the root, which are not in the core.
    pub direct: Vec<usize>,
}

/// Embeds what is left; `None` where this method finds no drawing.
pub fn core(net: &Net, groups: &Groups) -> Option<Core> {
    let (s, t) = (net.edges[0].a, net.edges[0].b);
    let is_direct = |group: &usize| {
        let of = &groups.all[*group];
        (of.a, of.b) == (s, t) || (of.a, of.b) == (t, s)
    };
    let mut core = Core { owners: net.vertices.clone(), ..Core::default() };
    core.direct = groups.core.iter().copied().filter(|group| is_direct(group) && !groups.all[*group].gap).collect();
    core.edges.push(CoreEdge { a: s, b: t, load: Load::Root });
    let rest: Vec<usize> = groups.core.iter().copied().filter(|group| !is_direct(group)).collect();
    if rest.is_empty() {
        core.rotation = vec![Vec::new(); core.owners.len()];
        return Some(core);
    }
    let edge = |group: usize| CoreEdge {
        a: groups.all[group].a,
        b: groups.all[group].b,
        load: if groups.all[group].gap { Load::Gap } else { Load::Group(group) },
    };
    let all: Vec<CoreEdge> = std::iter::once(core.edges[0]).chain(rest.iter().map(|group| edge(*group))).collect();
    if let Some(rotation) = embed_compact(net.vertices.len(), &all) {
        core.edges = all;
        core.rotation = rotation;
        return Some(core);
    }
    // Not planar: keep a large planar part, then put the others in one by one.
    let (kept, left) = planar_part(net.vertices.len(), &all);
    if left.len() > MANY {
        return None;
    }
    core.edges = with_gaps(net.vertices.len(), &kept);
    core.rotation = embed_compact(net.vertices.len(), &core.edges)?;
    for edge in left {
        core.insert(edge, net, groups)?;
        if core.owners.len() > net.vertices.len() + 3 * MANY {
            return None;
        }
    }
    Some(core)
}

/// Embeds the vertices that have edges.
fn embed_compact(n: usize, edges: &[CoreEdge]) -> Option<Rotation> {
    let mut number = vec![usize::MAX; n];
    let mut count = 0;
    let mut ends = Vec::with_capacity(edges.len());
    for edge in edges {
        for v in [edge.a, edge.b] {
            if number[v] == usize::MAX {
                number[v] = count;
                count += 1;
            }
        }
        ends.push((number[edge.a], number[edge.b]));
    }
    let compact = embed(count, &ends)?;
    Some(number.into_iter().map(|at| compact.get(at).cloned().unwrap_or_default()).collect())
}

/// With edges that make the graph hold together.
fn with_gaps(n: usize, edges: &[CoreEdge]) -> Vec<CoreEdge> {
    let ends: Vec<(usize, usize)> = edges.iter().map(|edge| (edge.a, edge.b)).collect();
    let mut out = edges.to_vec();
    for (a, b) in bridges_between_blocks(n, &ends) {
        if !out.iter().any(|edge| (edge.a, edge.b) == (a, b) || (edge.a, edge.b) == (b, a)) {
            out.push(CoreEdge { a, b, load: Load::Gap });
        }
    }
    out
}

/// Trials times edges that the search for a large planar part may take.
const PATIENCE: usize = 30_000;
/// Edges beside the planar part, and crossings, beyond which a drawing by rows of wires is no worse to read, and made at once.
const MANY: usize = 60;

/// Splits edges into a large planar part, and the others.
fn planar_part(n: usize, edges: &[CoreEdge]) -> (Vec<CoreEdge>, Vec<CoreEdge>) {
    let real: Vec<CoreEdge> = edges.iter().copied().filter(|edge| edge.load != Load::Gap).collect();
    // A tree first, so that the part hangs together.
    let mut in_tree = vec![false; real.len()];
    let mut reached = vec![false; n];
    reached[real[0].a] = true;
    let mut queue = VecDeque::from([real[0].a]);
    while let Some(v) = queue.pop_front() {
        for (index, edge) in real.iter().enumerate() {
            let w = if edge.a == v {
                edge.b
            } else if edge.b == v {
                edge.a
            } else {
                continue;
            };
            if !reached[w] {
                reached[w] = true;
                in_tree[index] = true;
                queue.push_back(w);
            }
        }
    }
    in_tree[0] = true;
    let mut kept: Vec<CoreEdge> = Vec::new();
    let mut wanted: Vec<CoreEdge> = Vec::new();
    for (index, edge) in real.iter().enumerate() {
        if in_tree[index] { kept.push(*edge) } else { wanted.push(*edge) }
    }
    let mut left = Vec::new();
    let mut work = vec![wanted];
    let mut trials = PATIENCE / edges.len().max(1);
    while let Some(some) = work.pop() {
        if some.is_empty() {
            continue;
        }
        if trials == 0 {
            left.extend(some);
            continue;
        }
        trials -= 1;
        let mut trial = kept.clone();
        trial.extend(&some);
        if embed_compact(n, &with_gaps(n, &trial)).is_some() {
            kept = trial;
        } else if let [one] = some[..] {
            left.push(one);
        } else {
            let (front, back) = some.split_at(some.len() / 2);
            work.push(back.to_vec());
            work.push(front.to_vec());
        }
    }
    (kept, left)
}

impl Core {
    /// The node whose wire comes to `vertex` in an edge; the inner `None` where nothing does, the outer where it is not a single one.
    fn node_at(&self, load: Load, vertex: usize, net: &Net, groups: &Groups) -> Option<Option<(usize, Option<usize>)>> {
        match load {
            Load::Root => None,
            Load::Wire(node, terminal) => {
                Some(Some((node, terminal.filter(|_| matches!(self.owners[vertex], Owner::Part(_))))))
            }
            Load::Gap => Some(None),
            Load::Group(group) => {
                if let Owner::Node(node) = self.owners[vertex] {
                    return Some(Some((node, None)));
                }
                end_node(net, groups, group, vertex)
            }
        }
    }

    /// Puts an edge in along the way that crosses the fewest others.
    fn insert(&mut self, edge: CoreEdge, net: &Net, groups: &Groups) -> Option<()> {
        // Faces: half-edges (2 * edge + direction), each followed by the next one round the vertex where it arrives.
        let half = self.edges.len() * 2;
        let arrives = |edges: &[CoreEdge], h: usize| if h.is_multiple_of(2) { edges[h / 2].b } else { edges[h / 2].a };
        let mut place = vec![0usize; half];
        for (v, list) in self.rotation.iter().enumerate() {
            for (index, of) in list.iter().enumerate() {
                // The half-edge that arrives at v along this edge.
                let h = 2 * of + usize::from(self.edges[*of].b != v);
                place[h] = index;
            }
        }
        let next = |core: &Core, h: usize| {
            let v = arrives(&core.edges, h);
            let list = &core.rotation[v];
            let of = list[(place[h] + 1) % list.len()];
            2 * of + usize::from(core.edges[of].a != v)
        };
        let mut face = vec![usize::MAX; half];
        let mut faces: Vec<Vec<usize>> = Vec::new();
        for h in 0..half {
            if face[h] != usize::MAX || self.rotation[arrives(&self.edges, h)].is_empty() {
                continue;
            }
            let mut cycle = Vec::new();
            let mut here = h;
            while face[here] == usize::MAX {
                face[here] = faces.len();
                cycle.push(here);
                here = next(self, here);
            }
            faces.push(cycle);
        }
        // The way through the faces with the fewest crossings; gaps cost nothing.
        let mut cost = vec![usize::MAX; faces.len()];
        let mut by: Vec<Option<(usize, usize)>> = vec![None; faces.len()];
        let mut queue = VecDeque::new();
        for (index, cycle) in faces.iter().enumerate() {
            if cycle.iter().any(|h| arrives(&self.edges, *h) == edge.a) {
                cost[index] = 0;
                queue.push_back(index);
            }
        }
        let mut goal: Option<usize> = None;
        let mut settled = vec![false; faces.len()];
        while let Some(f) = queue.pop_front() {
            if std::mem::replace(&mut settled[f], true) {
                continue;
            }
            if faces[f].iter().any(|h| arrives(&self.edges, *h) == edge.b) {
                goal = Some(f);
                break;
            }
            for h in &faces[f] {
                let crossed = h / 2;
                let g = face[h ^ 1];
                let of = self.edges[crossed];
                if self.node_at(of.load, of.a, net, groups).is_none()
                    && self.node_at(of.load, of.b, net, groups).is_none()
                {
                    continue;
                }
                let step = usize::from(of.load != Load::Gap);
                if cost[f] + step < cost[g] {
                    cost[g] = cost[f] + step;
                    by[g] = Some((f, *h));
                    if step == 0 { queue.push_front(g) } else { queue.push_back(g) }
                }
            }
        }
        let goal = goal?;
        let mut way = Vec::new();
        let mut here = goal;
        while let Some((before, h)) = by[here] {
            way.push(h);
            here = before;
        }
        way.reverse();
        let corner = |f: usize, v: usize| faces[f].iter().find(|h| arrives(&self.edges, **h) == v).map(|h| place[*h]);
        let (start, end) = (corner(here, edge.a)?, corner(goal, edge.b)?);
        // What the edge carries stands on its first piece if its wire at the other end is clear, else on its last.
        let far = self.node_at(edge.load, edge.b, net, groups);
        let near = self.node_at(edge.load, edge.a, net, groups);
        let (first_load, rest_load, last_load) = match (far, near) {
            _ if way.is_empty() => (edge.load, edge.load, edge.load),
            (Some(Some((node, lead))), _) => (edge.load, Load::Wire(node, None), Load::Wire(node, lead)),
            (_, Some(Some((node, lead)))) => (Load::Wire(node, lead), Load::Wire(node, None), edge.load),
            _ => return None,
        };
        let mut stops = vec![edge.a];
        let mut sides: Vec<(usize, usize)> = Vec::new();
        for h in &way {
            let crossed = h / 2;
            let of = self.edges[crossed];
            let d = self.owners.len();
            self.owners.push(Owner::Cross);
            let at_b = self.node_at(of.load, of.b, net, groups);
            let at_a = self.node_at(of.load, of.a, net, groups);
            let wire =
                |node: Option<(usize, Option<usize>)>| node.map_or(Load::Gap, |(node, lead)| Load::Wire(node, lead));
            let (front, back) = match (at_b, at_a) {
                (Some(node), _) => (of.load, wire(node)),
                (None, Some(node)) => (wire(node), of.load),
                (None, None) => return None,
            };
            let new = self.edges.len();
            self.edges[crossed] = CoreEdge { a: of.a, b: d, load: front };
            self.edges.push(CoreEdge { a: d, b: of.b, load: back });
            let mut behind = crossed;
            let mut ahead = new;
            for entry in &mut self.rotation[of.b] {
                if *entry == crossed {
                    *entry = new;
                }
            }
            self.rotation.push(Vec::new());
            if front == of.load {
                behind = self.gathered(crossed, d, of.b, at_b.flatten(), groups);
            } else {
                ahead = self.gathered(new, d, of.a, at_a.flatten(), groups);
            }
            // Direction 0 runs from a to b: the piece behind is the old edge, the one ahead the new.
            sides.push(if h % 2 == 0 { (behind, ahead) } else { (ahead, behind) });
            stops.push(d);
        }
        stops.push(edge.b);
        let pieces = stops.len() - 1;
        let mut ids = Vec::with_capacity(pieces);
        for (index, pair) in stops.windows(2).enumerate() {
            let load = if index == 0 {
                first_load
            } else if index + 1 == pieces {
                last_load
            } else {
                rest_load
            };
            ids.push(self.edges.len());
            self.edges.push(CoreEdge { a: pair[0], b: pair[1], load });
        }
        self.rotation[edge.a].insert(start + 1, ids[0]);
        self.rotation[edge.b].insert(end + 1, ids[pieces - 1]);
        let mut arriving = ids.clone();
        let mut leaving = ids.clone();
        if pieces > 1 {
            // The piece that carries something ends at a crossing.
            if first_load == edge.load {
                arriving[0] = self.gathered(ids[0], stops[1], edge.b, far.flatten(), groups);
            } else {
                leaving[pieces - 1] = self.gathered(ids[pieces - 1], stops[pieces - 1], edge.a, near.flatten(), groups);
            }
        }
        for (index, (behind, ahead)) in sides.into_iter().enumerate() {
            self.rotation[stops[index + 1]] = vec![behind, arriving[index], ahead, leaving[index + 1]];
        }
        Some(())
    }

    /// Makes an edge come to the crossing `d` as one wire: where it carries branches side by side at the end that was at `was`, they
    /// are gathered at a bar of their own. Returns the edge that comes to `d`.
    fn gathered(
        &mut self,
        edge: usize,
        d: usize,
        was: usize,
        node: Option<(usize, Option<usize>)>,
        groups: &Groups,
    ) -> usize {
        let (Load::Group(group), Some((node, _))) = (self.edges[edge].load, node) else { return edge };
        if !is_wide(groups, group, was) {
            return edge;
        }
        let bar = self.owners.len();
        self.owners.push(Owner::Node(node));
        let wire = self.edges.len();
        let of = &mut self.edges[edge];
        if of.a == d {
            of.a = bar;
            self.edges.push(CoreEdge { a: d, b: bar, load: Load::Wire(node, None) });
        } else {
            of.b = bar;
            self.edges.push(CoreEdge { a: bar, b: d, load: Load::Wire(node, None) });
        }
        self.rotation.push(vec![edge, wire]);
        wire
    }
}

/// The node whose wire comes to a vertex that is not a node.
fn end_node(net: &Net, groups: &Groups, group: usize, vertex: usize) -> Option<Option<(usize, Option<usize>)>> {
    let of = &groups.all[group];
    match &of.kind {
        Kind::Leaf(edge) => match net.edges[*edge].content {
            Content::Lead { node, terminal, .. } => Some(Some((node, Some(terminal)))),
            Content::Wire(node) => Some(Some((node, None))),
            Content::Gap => Some(None),
            Content::Part(_) => None,
        },
        Kind::Series(members) => {
            let member = if of.a == vertex { members.first()? } else { members.last()? };
            end_node(net, groups, *member, vertex)
        }
        Kind::Parallel(_) => None,
    }
}

/// Whether a group comes to its end at `vertex` as several branches.
fn is_wide(groups: &Groups, group: usize, vertex: usize) -> bool {
    let of = &groups.all[group];
    match &of.kind {
        Kind::Leaf(_) => false,
        Kind::Parallel(_) => true,
        Kind::Series(members) => {
            let member = if of.a == vertex { members.first() } else { members.last() };
            member.is_some_and(|member| is_wide(groups, *member, vertex))
        }
    }
}
