//! Series and parallel groups of the graph: nested as they are drawn, in text order.

use std::collections::HashMap;

use crate::net::{Content, Net};

/// A group: an edge of the net, or groups in series or side by side.
#[derive(Clone, Debug)]
pub struct Group {
    /// First end.
    pub a: usize,
    /// Second end.
    pub b: usize,
    /// What it is made of.
    pub kind: Kind,
    /// The smallest index of a part in it, for text order.
    pub first: usize,
    /// Whether it is nothing but a gap.
    pub gap: bool,
}

/// What a group is made of.
#[derive(Clone, Debug)]
pub enum Kind {
    /// An edge of the net.
    Leaf(usize),
    /// Groups from `a` to `b`, each with the vertex at which it is left.
    Series(Vec<usize>),
    /// Groups side by side.
    Parallel(Vec<usize>),
}

/// The groups of a net, and those that are left when nothing can be joined any more.
#[derive(Clone, Debug, Default)]
pub struct Groups {
    /// All of them.
    pub all: Vec<Group>,
    /// What is left, without the first edge of the net.
    pub core: Vec<usize>,
}

impl Groups {
    /// Groups the edges of a net; its first edge keeps out of it.
    pub fn new(net: &Net) -> Self {
        let n = net.vertices.len();
        let (s, t) = (net.edges[0].a, net.edges[0].b);
        let mut groups = Groups::default();
        let mut alive: Vec<bool> = Vec::new();
        let mut around: Vec<Vec<usize>> = vec![Vec::new(); n];
        let mut pairs: HashMap<(usize, usize), usize> = HashMap::new();
        let mut work: Vec<usize> = Vec::new();
        for (index, edge) in net.edges.iter().enumerate() {
            let first = match edge.content {
                Content::Part(part) | Content::Lead { part, .. } => part,
                Content::Wire(_) | Content::Gap => usize::MAX,
            };
            groups.all.push(Group {
                a: edge.a,
                b: edge.b,
                kind: Kind::Leaf(index),
                first,
                gap: edge.content == Content::Gap,
            });
            alive.push(true);
        }
        alive[0] = false;
        for index in 1..net.edges.len() {
            groups.enter(index, &mut alive, &mut around, &mut pairs);
        }
        work.extend(0..n);
        while let Some(v) = work.pop() {
            if v == s || v == t {
                continue;
            }
            around[v].retain(|group| alive[*group]);
            let [one, two] = around[v][..] else { continue };
            let (p, q) = (groups.other(one, v), groups.other(two, v));
            if p == v || q == v || p == q {
                continue;
            }
            alive[one] = false;
            alive[two] = false;
            for group in [one, two] {
                let key = key(groups.all[group].a, groups.all[group].b);
                pairs.remove(&key);
            }
            let mut members = groups.series_members(one, p);
            members.extend(groups.series_members(two, v));
            let (first, gap) =
                (groups.all[one].first.min(groups.all[two].first), groups.all[one].gap && groups.all[two].gap);
            groups.all.push(Group { a: p, b: q, kind: Kind::Series(members), first, gap });
            alive.push(true);
            let new = groups.all.len() - 1;
            groups.enter(new, &mut alive, &mut around, &mut pairs);
            work.push(p);
            work.push(q);
        }
        groups.core = (0..groups.all.len()).filter(|group| alive[*group]).collect();
        groups.core.sort_by_key(|group| groups.all[*group].first);
        groups
    }

    /// The end of a group that is not `v`.
    pub fn other(&self, group: usize, v: usize) -> usize {
        let of = &self.all[group];
        if of.a == v { of.b } else { of.a }
    }

    /// The groups that one consists of in series, seen from `from`.
    fn series_members(&self, group: usize, from: usize) -> Vec<usize> {
        let of = &self.all[group];
        match &of.kind {
            Kind::Series(members) if of.a == from => members.clone(),
            Kind::Series(members) => members.iter().rev().copied().collect(),
            _ => vec![group],
        }
    }

    /// Lets a group in, side by side with one that has the same ends.
    fn enter(
        &mut self,
        group: usize,
        alive: &mut Vec<bool>,
        around: &mut [Vec<usize>],
        pairs: &mut HashMap<(usize, usize), usize>,
    ) {
        let (a, b) = (self.all[group].a, self.all[group].b);
        let mut entering = group;
        if let Some(other) = pairs.get(&key(a, b)).copied().filter(|other| alive[*other]) {
            alive[other] = false;
            alive[group] = false;
            // A gap beside something that is drawn is not needed.
            if self.all[other].gap || self.all[group].gap {
                entering = if self.all[group].gap { other } else { group };
                alive[entering] = true;
            } else {
                let mut members = Vec::new();
                for one in [other, group] {
                    match &self.all[one].kind {
                        Kind::Parallel(of) => members.extend(of.iter().copied()),
                        _ => members.push(one),
                    }
                }
                members.sort_by_key(|member| self.all[*member].first);
                let first = self.all[members[0]].first;
                self.all.push(Group { a, b, kind: Kind::Parallel(members), first, gap: false });
                alive.push(true);
                entering = self.all.len() - 1;
            }
        }
        pairs.insert(key(a, b), entering);
        for v in [a, b] {
            around[v].retain(|group| alive[*group] && *group != entering);
            around[v].push(entering);
        }
    }
}

const fn key(a: usize, b: usize) -> (usize, usize) {
    if a < b { (a, b) } else { (b, a) }
}
