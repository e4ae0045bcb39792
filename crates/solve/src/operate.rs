//! The operating point of a net without diodes.
//!
//! Ideal voltages ("rigid" branches) are contracted: a spanning forest of them joins nodes into classes, each node at a
//! fixed height above its class. Classes joined by resistances are islands. What is left is one potential a class, from a
//! resistive network; the currents of the forest follow from the junction rule, leaves first. Rigid branches outside the
//! forest close a loop: consistently (the share of current round the loop is free) or not (a contradiction). Current sources
//! between islands must balance, or contradict. Capacitors settle how far islands float above each other, by the balance of charge.

use rustc_hash::FxHashMap;

use crate::net::{Model, Net, Rank};
use crate::network::{Link, Network};
use crate::scalar::Scalar;

const NONE: u32 = u32::MAX;

/// How many contradictions, or unknown values, are told apart by varying each of them; further ones share a cause. Each takes
/// a solution of its own, so in large circuits fewer are.
pub(crate) fn told_apart(branches: usize) -> usize {
    match branches {
        0..=2_000 => 24,
        2_001..=20_000 => 8,
        _ => 3,
    }
}

/// A loop of rigid branches.
#[derive(Clone, Debug)]
pub(crate) struct Loop<F> {
    /// The branch outside the forest that closes it.
    pub closing: u32,
    /// All branches round it in order, the closing one first.
    pub edges: Vec<u32>,
    /// What the voltages leave over; zero when they agree.
    pub excess: F,
    /// Whether they agree.
    pub consistent: bool,
}

/// Current sources that feed a part that cannot pass the current on.
#[derive(Clone, Debug)]
pub(crate) struct Cut<F> {
    /// The branches across the cut.
    pub edges: Vec<u32>,
    /// Those of them whose currents may be assumed freely.
    free: Vec<u32>,
    /// A node of the part.
    pub at: u32,
    /// The current left over.
    pub excess: F,
}

/// What to vary, to see what depends on it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Shake {
    /// Nothing.
    Still,
    /// The voltages round the contradictory loop of this number (those beyond what is told apart with the last).
    Loop(usize),
    /// The currents across the cut of this number (likewise).
    Cut(usize),
}

/// The operating point.
#[derive(Clone, Debug)]
pub(crate) struct Operating<F> {
    /// Potential of each node; comparable within one group.
    pub potential: Vec<F>,
    /// The group of each node: nodes whose potentials above each other are determined.
    pub group: Vec<u32>,
    /// Voltage across each branch, `from` above `to`; has a meaning within one group only.
    pub voltage: Vec<F>,
    /// Current through each branch.
    pub current: Vec<F>,
    /// Charge on the plate at `from`, of capacitors.
    pub charge: Vec<Option<F>>,
    /// Loops of rigid branches.
    pub loops: Vec<Loop<F>>,
    /// The loop that leaves the current of a branch open, contradictory ones first; `u32::MAX` if none.
    pub loop_of: Vec<u32>,
    /// Contradictory current sources.
    pub cuts: Vec<Cut<F>>,
    /// The cut that contradicts a branch's own law; `u32::MAX` if none.
    pub cut_of: Vec<u32>,
}

impl<F> Operating<F> {
    /// Numbers of the contradictory loops.
    pub fn contradictions(&self) -> impl Iterator<Item = usize> + '_ {
        self.loops.iter().enumerate().filter(|(_, l)| !l.consistent).map(|(index, _)| index)
    }
}

/// Disjoint sets, by halving paths and by size.
pub(crate) struct Sets {
    parent: Vec<u32>,
    size: Vec<u32>,
}

impl Sets {
    pub fn new(count: usize) -> Self {
        Self { parent: (0..count as u32).collect(), size: vec![1; count] }
    }

    pub fn find(&mut self, mut at: u32) -> u32 {
        while self.parent[at as usize] != at {
            let up = self.parent[self.parent[at as usize] as usize];
            self.parent[at as usize] = up;
            at = up;
        }
        at
    }

    /// Joins two sets; false when they are one already.
    pub fn join(&mut self, a: u32, b: u32) -> bool {
        let (mut a, mut b) = (self.find(a), self.find(b));
        if a == b {
            return false;
        }
        if self.size[a as usize] < self.size[b as usize] {
            std::mem::swap(&mut a, &mut b);
        }
        self.parent[b as usize] = a;
        self.size[a as usize] += self.size[b as usize];
        true
    }

    /// Numbers the sets from 0, in the order of their first members.
    pub fn numbered(&mut self) -> (Vec<u32>, usize) {
        let count = self.parent.len();
        let mut number = vec![NONE; count];
        let mut of = Vec::with_capacity(count);
        let mut next = 0u32;
        for at in 0..count as u32 {
            let root = self.find(at) as usize;
            if number[root] == NONE {
                number[root] = next;
                next += 1;
            }
            of.push(number[root]);
        }
        (of, next as usize)
    }
}

/// A rooted forest over some vertices, given by edges that form no loop.
struct Forest {
    /// Vertices, each after its parent.
    order: Vec<u32>,
    /// The edge to the parent, or `NONE`.
    up: Vec<u32>,
    depth: Vec<u32>,
}

impl Forest {
    /// `roots` are tried in order; every vertex gets a tree in the end.
    fn new(count: usize, ends: &[(u32, u32, u32)], roots: &[u32]) -> Self {
        let mut start = vec![0u32; count + 1];
        for (_, a, b) in ends {
            start[*a as usize + 1] += 1;
            start[*b as usize + 1] += 1;
        }
        for at in 0..count {
            start[at + 1] += start[at];
        }
        let mut fill = start.clone();
        let mut incident = vec![(0u32, 0u32); ends.len() * 2];
        for (edge, a, b) in ends {
            for (this, other) in [(*a, *b), (*b, *a)] {
                incident[fill[this as usize] as usize] = (*edge, other);
                fill[this as usize] += 1;
            }
        }
        let mut forest = Self { order: Vec::with_capacity(count), up: vec![NONE; count], depth: vec![NONE; count] };
        let mut next = 0;
        for root in roots.iter().copied().chain(0..count as u32) {
            if forest.depth[root as usize] != NONE {
                continue;
            }
            forest.depth[root as usize] = 0;
            forest.order.push(root);
            while next < forest.order.len() {
                let vertex = forest.order[next] as usize;
                next += 1;
                for (edge, other) in &incident[start[vertex] as usize..start[vertex + 1] as usize] {
                    if forest.depth[*other as usize] == NONE {
                        forest.depth[*other as usize] = forest.depth[vertex] + 1;
                        forest.up[*other as usize] = *edge;
                        forest.order.push(*other);
                    }
                }
            }
        }
        forest
    }
}

/// A pseudo-random voltage or current to vary something by, never zero.
fn shaken<F: Scalar>(key: u64) -> F {
    F::of(&crate::net::assumed(key))
}

/// Solves the net. `references` are the nodes whose islands are grounded at them (the 0 V points).
pub(crate) fn operate<F: Scalar>(net: &Net<F>, references: &[u32], shake: Shake) -> Operating<F> {
    let nodes = net.nodes;
    let edges = &net.edges;
    let count = edges.len();
    let told_apart = told_apart(count);
    let other = |edge: u32, vertex: u32| {
        let edge = &edges[edge as usize];
        if edge.from == vertex { edge.to } else { edge.from }
    };

    // The forest of rigid branches, the strictest first.
    let mut sets = Sets::new(nodes);
    let mut in_forest: Vec<(u32, u32, u32)> = Vec::new();
    let mut closing: Vec<u32> = Vec::new();
    let mut rigid: Vec<(Rank, u32)> = Vec::new();
    for (index, edge) in edges.iter().enumerate() {
        if let Model::Rigid { rank, .. } = &edge.model {
            rigid.push((*rank, index as u32));
        }
    }
    rigid.sort();
    for (_, index) in rigid {
        let edge = &edges[index as usize];
        if sets.join(edge.from, edge.to) {
            in_forest.push((index, edge.from, edge.to));
        } else {
            closing.push(index);
        }
    }
    let (class, classes) = sets.numbered();
    let forest = Forest::new(nodes, &in_forest, references);
    let emf = |index: u32| match &edges[index as usize].model {
        Model::Rigid { emf, .. } => emf.clone(),
        _ => F::zero(),
    };
    let heights = |extra: &FxHashMap<u32, F>| -> Vec<F> {
        let mut height = vec![F::zero(); nodes];
        if in_forest.is_empty() {
            return height;
        }
        for vertex in &forest.order {
            let up = forest.up[*vertex as usize];
            if up == NONE {
                continue;
            }
            let edge = &edges[up as usize];
            let mut rise = emf(up);
            if let Some(extra) = extra.get(&up) {
                rise.add(extra);
            }
            height[*vertex as usize] = if edge.from == *vertex {
                height[edge.to as usize].plus(&rise)
            } else {
                height[edge.from as usize].minus(&rise)
            };
        }
        height
    };
    let still = heights(&FxHashMap::default());

    // Loops.
    let mut loops: Vec<Loop<F>> = Vec::with_capacity(closing.len());
    for index in &closing {
        let edge = &edges[*index as usize];
        let across = still[edge.from as usize].minus(&still[edge.to as usize]);
        let (free, emf) = match &edge.model {
            Model::Rigid { emf, rank } => (*rank == Rank::Free, emf.clone()),
            _ => (false, F::zero()),
        };
        let scale = still[edge.from as usize].to_f64().abs().max(still[edge.to as usize].to_f64().abs());
        let consistent = free || !across.differs(&emf, scale);
        loops.push(Loop { closing: *index, edges: Vec::new(), excess: emf.minus(&across), consistent });
    }
    // Contradictions first, so that what lies on both kinds of loop is put down to them.
    loops.sort_by_key(|l| l.consistent);
    let mut loop_of = vec![NONE; count];
    trace_loops(&mut loops, &mut loop_of, &forest, &other, |edge| (edges[edge as usize].from, edges[edge as usize].to));

    let mut extra: FxHashMap<u32, F> = FxHashMap::default();
    if let Shake::Loop(which) = shake {
        for (number, l) in loops.iter().enumerate().filter(|(_, l)| !l.consistent) {
            if number.min(told_apart - 1) == which {
                for edge in l.edges.iter().filter(|edge| **edge != l.closing) {
                    extra.insert(*edge, shaken(u64::from(*edge)));
                }
            }
        }
    }
    let height = if extra.is_empty() { still } else { heights(&extra) };

    // Islands: classes joined by resistances.
    let mut island_sets = Sets::new(classes);
    for edge in edges {
        if let Model::Resistive { .. } = edge.model {
            island_sets.join(class[edge.from as usize], class[edge.to as usize]);
        }
    }
    let (island, islands) = island_sets.numbered();
    let island_of = |node: u32| island[class[node as usize] as usize];

    let mut current = vec![F::zero(); count];
    let mut cut_of = vec![NONE; count];
    let roots: Vec<u32> = references.iter().map(|node| island_of(*node)).collect();
    let cuts = drive(net, &island_of, islands, &roots, shake, &mut current, &mut cut_of);

    // The resistive network of the classes.
    let mut fed = vec![F::zero(); classes];
    let mut links: Vec<Link<F>> = Vec::new();
    let mut link_edge: Vec<u32> = Vec::new();
    let mut degree = vec![0u32; classes];
    for (index, edge) in edges.iter().enumerate() {
        let (a, b) = (class[edge.from as usize], class[edge.to as usize]);
        match &edge.model {
            Model::Resistive { resistance, emf } => {
                let mut boost = height[edge.from as usize].minus(&height[edge.to as usize]);
                boost.sub(emf);
                if a == b {
                    current[index] = boost.over(resistance);
                } else {
                    links.push(Link { a, b, resistance: resistance.clone(), boost });
                    link_edge.push(index as u32);
                    degree[a as usize] += 1;
                    degree[b as usize] += 1;
                }
            }
            Model::Drive { .. } if a != b => {
                fed[a as usize].sub(&current[index]);
                fed[b as usize].add(&current[index]);
            }
            _ => {}
        }
    }
    let mut ground_of = vec![NONE; islands];
    for reference in references {
        let at = class[*reference as usize];
        let ground = &mut ground_of[island[at as usize] as usize];
        if *ground == NONE {
            *ground = at;
        }
    }
    let referenced: Vec<bool> = ground_of.iter().map(|ground| *ground != NONE).collect();
    for at in 0..classes as u32 {
        let number = island[at as usize] as usize;
        let ground = &mut ground_of[number];
        // Without a reference the busiest class serves best.
        if *ground == NONE || !referenced[number] && degree[at as usize] > degree[*ground as usize] {
            *ground = at;
        }
    }
    let mut ground = vec![false; classes];
    for at in &ground_of {
        ground[*at as usize] = true;
    }
    let network = Network { links, fed, ground };
    let flow = F::solve(&network);
    for (index, through) in link_edge.iter().zip(flow.current) {
        current[*index as usize] = through;
    }

    // Charge: how islands float above each other.
    let mut potential: Vec<F> = (0..nodes)
        .map(|node| {
            let base = &flow.potential[class[node] as usize];
            if height[node].is_zero() { base.clone() } else { base.plus(&height[node]) }
        })
        .collect();
    let (group_of, lift) = float_islands(net, &potential, &island_of, islands, &referenced);
    let group: Vec<u32> = (0..nodes as u32).map(|node| group_of[island_of(node) as usize]).collect();
    if let Some(lift) = &lift {
        for (node, value) in potential.iter_mut().enumerate() {
            value.add(&lift[island_of(node as u32) as usize]);
        }
    }

    // Currents of the rigid forest, leaves first.
    if !in_forest.is_empty() {
        let mut into = vec![F::zero(); nodes];
        let mut several = vec![false; nodes];
        for (_, a, b) in &in_forest {
            several[*a as usize] = true;
            several[*b as usize] = true;
        }
        for (index, edge) in edges.iter().enumerate() {
            if !current[index].is_zero() && edge.from != edge.to {
                if several[edge.from as usize] {
                    into[edge.from as usize].sub(&current[index]);
                }
                if several[edge.to as usize] {
                    into[edge.to as usize].add(&current[index]);
                }
            }
        }
        // Rooted where most flows, so that small currents are not found as differences of large ones.
        let roots = busiest_roots(net, &class, classes, &current);
        let forest = Forest::new(nodes, &in_forest, &roots);
        for vertex in forest.order.iter().rev() {
            let up = forest.up[*vertex as usize];
            if up == NONE {
                continue;
            }
            let through = std::mem::replace(&mut into[*vertex as usize], F::zero());
            let parent = other(up, *vertex);
            into[parent as usize].add(&through);
            // What flows into the vertex leaves it through its one way up.
            current[up as usize] = if edges[up as usize].from == *vertex { through } else { through.negated() };
        }
    }

    let charge: Vec<Option<F>> = edges
        .iter()
        .map(|edge| match &edge.model {
            Model::Capacitor { capacitance, .. } => {
                let across = potential[edge.from as usize].minus(&potential[edge.to as usize]);
                Some(capacitance.times(&across))
            }
            _ => None,
        })
        .collect();
    let voltage: Vec<F> = edges
        .iter()
        .enumerate()
        .map(|(index, edge)| match &edge.model {
            // From the current: potentials that differ little would lose digits.
            Model::Resistive { resistance, emf } => {
                let drop = resistance.times(&current[index]);
                if emf.is_zero() { drop } else { drop.plus(emf) }
            }
            Model::Rigid { emf, rank }
                if extra.is_empty()
                    && *rank != Rank::Free
                    && (loop_of[index] == NONE || loops[loop_of[index] as usize].consistent) =>
            {
                emf.clone()
            }
            _ => potential[edge.from as usize].minus(&potential[edge.to as usize]),
        })
        .collect();
    Operating { potential, group, voltage, current, charge, loops, loop_of, cuts, cut_of }
}

/// Lists the branches round each loop, and marks those on any of them. Climbing skips what is marked, so all marks together
/// take linear time; whole lists are kept while they are short in sum.
fn trace_loops<F>(
    loops: &mut [Loop<F>],
    loop_of: &mut [u32],
    forest: &Forest,
    other: &dyn Fn(u32, u32) -> u32,
    ends: impl Fn(u32) -> (u32, u32),
) {
    if loops.is_empty() {
        return;
    }
    let mut budget = 4 * forest.order.len() + 1000;
    let mut jump = (0..forest.up.len() as u32).collect::<Vec<u32>>();
    let find = |jump: &mut Vec<u32>, mut at: u32| {
        while jump[at as usize] != at {
            let up = jump[jump[at as usize] as usize];
            jump[at as usize] = up;
            at = up;
        }
        at
    };
    for (number, l) in loops.iter_mut().enumerate() {
        let (from, to) = ends(l.closing);
        loop_of[l.closing as usize] = number as u32;
        // Marks.
        let (mut a, mut b) = (find(&mut jump, from), find(&mut jump, to));
        let mut marked = Vec::new();
        while a != b {
            let climber = if forest.depth[a as usize] >= forest.depth[b as usize] { &mut a } else { &mut b };
            let up = forest.up[*climber as usize];
            loop_of[up as usize] = number as u32;
            marked.push(up);
            let parent = other(up, *climber);
            jump[*climber as usize] = parent;
            *climber = find(&mut jump, parent);
        }
        // The whole loop: from the end `to` back to the end `from`.
        let (mut a, mut b) = (from, to);
        let (mut near, mut far) = (Vec::new(), Vec::new());
        while a != b && budget > 0 {
            budget -= 1;
            if forest.depth[a as usize] >= forest.depth[b as usize] {
                let up = forest.up[a as usize];
                near.push(up);
                a = other(up, a);
            } else {
                let up = forest.up[b as usize];
                far.push(up);
                b = other(up, b);
            }
        }
        l.edges.push(l.closing);
        if a == b {
            l.edges.extend(far);
            l.edges.extend(near.into_iter().rev());
        } else {
            l.edges.extend(marked);
        }
    }
}

/// One node of each class that has several, the one through which most flows.
fn busiest_roots<F: Scalar>(net: &Net<F>, class: &[u32], classes: usize, current: &[F]) -> Vec<u32> {
    if F::EXACT {
        return Vec::new();
    }
    let mut flow = vec![0.0f64; net.nodes];
    for (edge, through) in net.edges.iter().zip(current) {
        let size = through.to_f64().abs();
        flow[edge.from as usize] += size;
        flow[edge.to as usize] += size;
    }
    let mut busiest = vec![NONE; classes];
    for (node, of) in class.iter().enumerate() {
        let best = &mut busiest[*of as usize];
        if *best == NONE || flow[node] > flow[*best as usize] {
            *best = node as u32;
        }
    }
    busiest
}

/// Sets the currents of current sources, and finds those that contradict each other.
fn drive<F: Scalar>(
    net: &Net<F>,
    island_of: &dyn Fn(u32) -> u32,
    islands: usize,
    roots: &[u32],
    shake: Shake,
    current: &mut [F],
    cut_of: &mut [u32],
) -> Vec<Cut<F>> {
    let edges = &net.edges;
    let told_apart = told_apart(edges.len());
    // Sources between islands; those asked for first, so that they take what the rest demands.
    let mut across: Vec<(bool, u32, u32, u32)> = Vec::new();
    for (index, edge) in edges.iter().enumerate() {
        if let Model::Drive { current: drive, free } = &edge.model {
            current[index] = drive.clone();
            let (a, b) = (island_of(edge.from), island_of(edge.to));
            if a != b {
                across.push((!*free, index as u32, a, b));
            }
        }
    }
    if across.is_empty() {
        return Vec::new();
    }
    across.sort();
    let mut sets = Sets::new(islands);
    let (mut tree, mut rest) = (Vec::new(), Vec::new());
    for (_, index, a, b) in &across {
        if sets.join(*a, *b) { tree.push((*index, *a, *b)) } else { rest.push((*index, *a, *b)) }
    }
    let forest = Forest::new(islands, &tree, roots);
    let is_free = |index: u32| matches!(edges[index as usize].model, Model::Drive { free: true, .. });
    let up_other = |vertex: u32| {
        let edge = &edges[forest.up[vertex as usize] as usize];
        let (a, b) = (island_of(edge.from), island_of(edge.to));
        if a == vertex { b } else { a }
    };
    // What the junction rule leaves to each source of the tree.
    let balance = |current: &mut [F]| {
        let mut into = vec![F::zero(); islands];
        for (index, a, b) in &rest {
            into[*a as usize].sub(&current[*index as usize]);
            into[*b as usize].add(&current[*index as usize]);
        }
        for vertex in forest.order.iter().rev() {
            let up = forest.up[*vertex as usize];
            if up == NONE {
                continue;
            }
            let through = std::mem::replace(&mut into[*vertex as usize], F::zero());
            into[up_other(*vertex) as usize].add(&through);
            let leaves = island_of(edges[up as usize].from) == *vertex;
            current[up as usize] = if leaves { through } else { through.negated() };
        }
    };
    let wanted: FxHashMap<u32, F> = tree.iter().map(|(index, ..)| (*index, current[*index as usize].clone())).collect();
    balance(current);
    // The biggest of the sources sets the scale of rounding.
    let scale = across.iter().map(|(_, index, ..)| current[*index as usize].to_f64().abs()).fold(0.0, f64::max);
    let mut cuts: Vec<Cut<F>> = Vec::new();
    for (position, vertex) in forest.order.iter().enumerate() {
        let up = forest.up[*vertex as usize];
        if up == NONE || is_free(up) || !wanted[&up].differs(&current[up as usize], scale) {
            continue;
        }
        cut_of[up as usize] = cuts.len() as u32;
        let leaves = island_of(edges[up as usize].from) == *vertex;
        let surplus = wanted[&up].minus(&current[up as usize]);
        let excess = if leaves { surplus.negated() } else { surplus };
        let (mut crossing, mut free) = (vec![up], Vec::new());
        if cuts.len() < told_apart {
            // The part: this island and those below it.
            let mut below = vec![false; islands];
            below[*vertex as usize] = true;
            for later in &forest.order[position + 1..] {
                if forest.up[*later as usize] != NONE && below[up_other(*later) as usize] {
                    below[*later as usize] = true;
                }
            }
            for (index, a, b) in &rest {
                if below[*a as usize] != below[*b as usize] {
                    crossing.push(*index);
                    if !is_free(*index) {
                        free.push(*index);
                        if cut_of[*index as usize] == NONE {
                            cut_of[*index as usize] = cuts.len() as u32;
                        }
                    }
                }
            }
        }
        crossing.sort_unstable();
        let edge = &edges[up as usize];
        let at = if leaves { edge.from } else { edge.to };
        cuts.push(Cut { edges: crossing, free, at, excess });
    }
    if let Shake::Cut(which) = shake {
        for (number, cut) in cuts.iter().enumerate() {
            if number.min(told_apart - 1) == which {
                for index in &cut.free {
                    current[*index as usize].add(&shaken(u64::from(*index)));
                }
            }
        }
        balance(current);
    }
    cuts
}

/// Groups islands that capacitors join, and finds how far each is lifted so that the charge on it is what it began with.
fn float_islands<F: Scalar>(
    net: &Net<F>,
    potential: &[F],
    island_of: &dyn Fn(u32) -> u32,
    islands: usize,
    referenced: &[bool],
) -> (Vec<u32>, Option<Vec<F>>) {
    let mut sets = Sets::new(islands);
    let mut links: Vec<Link<F>> = Vec::new();
    for edge in &net.edges {
        let Model::Capacitor { capacitance, charge } = &edge.model else { continue };
        let (a, b) = (island_of(edge.from), island_of(edge.to));
        if a == b {
            continue;
        }
        sets.join(a, b);
        // Charge that has moved = C (voltage now - voltage at first): the law of a link whose resistance is 1 / C.
        let mut boost = potential[edge.from as usize].minus(&potential[edge.to as usize]);
        boost.sub(&charge.over(capacitance));
        links.push(Link { a, b, resistance: F::one().over(capacitance), boost });
    }
    let (group, groups) = sets.numbered();
    if links.is_empty() {
        return (group, None);
    }
    let mut ground_of = vec![NONE; groups];
    for island in 0..islands {
        let ground = &mut ground_of[group[island] as usize];
        if *ground == NONE || referenced[island] && !referenced[*ground as usize] {
            *ground = island as u32;
        }
    }
    let mut ground = vec![false; islands];
    for at in ground_of {
        ground[at as usize] = true;
    }
    let flow = F::solve(&Network { links, fed: vec![F::zero(); islands], ground });
    (group, Some(flow.potential))
}
