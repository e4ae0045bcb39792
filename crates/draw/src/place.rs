//! Rows, columns and then units: where the vertices, chains and labels of a stack stand.
//!
//! The vertices are horizontal bars, the chains upright lines between them, as in R. Tamassia and I. G. Tollis, "A unified approach
//! to visibility representations of planar graphs", Discrete & Computational Geometry 1, 1986. From there on it becomes a schematic:
//! what lies along the outer rails, or across between two bars, is laid down; then rows and columns are pushed together as far as
//! symbols and labels allow.

use std::collections::HashMap;

use crate::geometry::{Point, Segment, Turn, at};
use crate::label::{self, Room};
use crate::layout::{Layout, Options, Placed, Side, Tag, TagSide};
use crate::net::Owner;
use crate::picture::{Picture, Symbol};
use crate::stack::{Chain, Stack};
use crate::symbols::REACH;

/// How far the layout may go from plain bars and upright chains.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Freedom {
    /// Rails folded, bridges laid across, columns lined up.
    Full,
    /// Rails folded only.
    Rails,
    /// Bars and upright chains.
    Plain,
}

/// Least distance of two wires side by side.
const LANE: i32 = 22;
/// Least distance of anything else.
const AIR: i32 = 10;
/// Free wire at both ends of an upright chain.
const LEAD: i32 = 8;
/// Length of a wire that leads nowhere.
const STUB: i32 = 14;
/// Height of a crossing.
const CROSSING: i32 = 2 * LANE;

/// How a chain is laid.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Lay {
    /// From bar to bar.
    Upright,
    /// Along a row, from this vertex at its left to the other one.
    Flat { from_up: bool },
    /// At the right edge: so many items along the upper row, so many along the lower one, the others upright.
    Corner { top: usize, bottom: usize },
}

/// Something on a chain.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Item {
    /// Index in [`Chain::parts`].
    Part(usize),
    /// The label of the node before part `before`.
    Tag { node: usize },
}

/// A column or a place in a row: what one x coordinate belongs to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Slot {
    /// An upright chain.
    Chain(usize),
    /// An item of a chain that lies in a row.
    Item { chain: usize, item: usize },
    /// The symbol of a three-terminal part whose axis is not that of a chain.
    Body(usize),
}

/// The chains of a three-terminal vertex: the one that comes to its symbol from above (or from below), and the two others.
#[derive(Clone, Copy, Debug)]
struct Trio {
    lone: usize,
    above: bool,
    left: usize,
    right: usize,
    /// Whether the lone one has to go round the symbol, since it hangs on the same side as the others.
    round: bool,
}

/// A rectangle that goes with a slot.
#[derive(Clone, Copy, Debug)]
struct Box {
    left: i32,
    right: i32,
    y0: i32,
    y1: i32,
    wire: bool,
}

struct Placer<'a> {
    picture: &'a Picture,
    options: &'a Options,
    stack: &'a Stack,
    lay: Vec<Lay>,
    items: Vec<Vec<Item>>,
    /// Number of items above the gap, for chains that have one.
    above_gap: Vec<usize>,
    /// Row of each vertex, and the vertices of each row from left to right.
    row: Vec<usize>,
    rows: Vec<Vec<usize>>,
    slots: Vec<Slot>,
    chain_slot: Vec<usize>,
    item_slot: HashMap<(usize, usize), usize>,
    body_slot: HashMap<usize, usize>,
    /// Slots in order from left to right.
    order: Vec<usize>,
    rank: Vec<usize>,
    /// Where the label of a vertex hangs: the slot, and the side.
    tags: Vec<Option<(usize, TagSide)>>,
    y: Vec<i32>,
    x: Vec<i32>,
}

/// Places a stack; `None` where this freedom leads to no order.
pub fn place(picture: &Picture, options: &Options, stack: &Stack, freedom: Freedom) -> Option<Layout> {
    let n = stack.vertices.len();
    let mut placer = Placer {
        picture,
        options,
        stack,
        lay: vec![Lay::Upright; stack.chains.len()],
        above_gap: stack.chains.iter().map(|chain| items(picture, chain).1).collect(),
        items: stack.chains.iter().map(|chain| items(picture, chain).0).collect(),
        row: (0..n).collect(),
        rows: (0..n).map(|v| vec![v]).collect(),
        slots: Vec::new(),
        chain_slot: Vec::new(),
        item_slot: HashMap::new(),
        body_slot: HashMap::new(),
        order: Vec::new(),
        rank: Vec::new(),
        tags: vec![None; n],
        y: Vec::new(),
        x: Vec::new(),
    };
    if freedom == Freedom::Full {
        placer.bridges();
    }
    if freedom <= Freedom::Rails {
        placer.fold();
    }
    placer.make_slots();
    placer.order_slots()?;
    placer.choose_tags();
    let ranks = placer.order_rows()?;
    placer.heights(&ranks);
    placer.widths(freedom == Freedom::Full)?;
    Some(placer.draw())
}

/// The parts of a chain and the labels of the nodes between them, from top to bottom; and the number of items above the gap.
fn items(picture: &Picture, chain: &Chain) -> (Vec<Item>, usize) {
    let mut out = Vec::new();
    let mut above = 0;
    let tag =
        |node: Option<usize>| node.filter(|node| label::has_tag(&picture.nodes[*node])).map(|node| Item::Tag { node });
    let n = chain.parts.len();
    for parts in 0..=n {
        let shift = usize::from(chain.gap.is_some_and(|gap| gap < parts));
        let inner = parts > 0 && parts < n;
        if chain.gap == Some(parts) {
            // An open end has its label; a wire that leads on to a bar does not.
            if parts > 0 || chain.leads.0.is_some() {
                out.extend(tag(chain.nodes[parts]));
            }
            above = out.len();
            if parts < n || chain.leads.1.is_some() {
                out.extend(tag(chain.nodes[parts + 1]));
            }
        } else if inner || (n == 0 && chain.leads.0.is_some() && chain.leads.1.is_some()) {
            out.extend(tag(chain.nodes[parts + shift]));
        }
        if parts < n {
            out.push(Item::Part(parts));
        }
    }
    (out, above)
}

impl Placer<'_> {
    fn is_node(&self, vertex: usize) -> bool {
        matches!(self.stack.vertices[vertex].owner, Owner::Node(_))
    }

    /// Lays the outer chains along the top and the bottom.
    fn fold(&mut self) {
        let stack = self.stack;
        let mut top = vec![stack.s];
        loop {
            let v = top[top.len() - 1];
            let Some(e) = stack.vertices[v].outs.last().copied() else { break };
            let chain = &stack.chains[e];
            let w = chain.low;
            if e == 0
                || w == stack.t
                || stack.vertices[w].ins.len() != 1
                || !self.is_node(w)
                || chain.gap.is_some()
                || self.rows[self.row[w]].len() > 1
            {
                break;
            }
            self.lay[e] = Lay::Flat { from_up: true };
            top.push(w);
        }
        let mut bottom = vec![stack.t];
        loop {
            let v = bottom[bottom.len() - 1];
            let Some(e) = stack.vertices[v].ins.last().copied() else { break };
            let chain = &stack.chains[e];
            let w = chain.up;
            if e == 0
                || top.contains(&w)
                || stack.vertices[w].outs.len() != 1
                || !self.is_node(w)
                || chain.gap.is_some()
                || self.rows[self.row[w]].len() > 1
            {
                break;
            }
            self.lay[e] = Lay::Flat { from_up: false };
            bottom.push(w);
        }
        let (u, w) = (top[top.len() - 1], bottom[bottom.len() - 1]);
        for list in [&top, &bottom] {
            for pair in list.windows(2) {
                self.join_rows(pair[0], pair[1]);
            }
        }
        let outer = stack.vertices[u].outs.last().copied().filter(|e| *e != 0 && self.lay[*e] == Lay::Upright);
        let outer_low = stack.vertices[w].ins.last().copied().filter(|e| *e != 0 && self.lay[*e] == Lay::Upright);
        let alone = |list: &[usize]| list.iter().filter(|e| **e != 0).count() == 1;
        if let (Some(e), true) = (outer, outer == outer_low) {
            let (upper, lower) = self.corner(e, u, w);
            if upper + lower > 0 {
                self.lay[e] = Lay::Corner { top: upper, bottom: lower };
            }
            return;
        }
        // What leads to something that cannot lie in the row still runs along the rail, up to the corner.
        if let Some(e) = outer
            && self.is_node(u)
            && alone(&stack.vertices[u].outs)
            && stack.chains[e].gap.is_none()
        {
            self.lay[e] = Lay::Corner { top: self.items[e].len(), bottom: 0 };
        }
        if let Some(e) = outer_low
            && self.is_node(w)
            && alone(&stack.vertices[w].ins)
            && stack.chains[e].gap.is_none()
            && self.lay[e] == Lay::Upright
        {
            self.lay[e] = Lay::Corner { top: 0, bottom: self.items[e].len() };
        }
    }

    /// Number of items of the outermost chain that go along the top and along the bottom.
    fn corner(&self, e: usize, u: usize, w: usize) -> (usize, usize) {
        let stack = self.stack;
        let chain = &stack.chains[e];
        let items = &self.items[e];
        let count = |upto: usize| {
            // Items up to the given number of parts, with the labels that follow.
            let mut parts = 0;
            let mut n = 0;
            for item in items {
                if matches!(item, Item::Part(_)) {
                    if parts == upto {
                        break;
                    }
                    parts += 1;
                }
                n += 1;
            }
            n
        };
        let n = chain.parts.len();
        let total = items.len();
        let single = u == stack.s && w == stack.t && stack.chains.len() == 2;
        let (top, bottom) = if single {
            if chain.gap.is_some() {
                return (self.above_gap[e], total - self.above_gap[e]);
            } else {
                let beside = if n > 12 { n / 5 } else { 1 };
                let rest = n.saturating_sub(beside);
                if n <= 3 { (rest, 0) } else { (rest.div_ceil(2), rest / 2) }
            }
        } else if chain.gap.is_some() {
            return (0, 0);
        } else if let Some(source) =
            chain.parts.iter().position(|(part, _)| self.picture.parts[*part].symbol.is_source()).filter(|_| n > 1)
        {
            (source, n - 1 - source)
        } else {
            let tallest = (1..stack.chains.len())
                .filter(|other| *other != e && self.lay[*other] == Lay::Upright)
                .map(|other| stack.chains[other].parts.len())
                .max()
                .unwrap_or(1);
            let ladder = u != stack.s || w != stack.t;
            let keep = tallest.max(if ladder { 1 } else { 2 });
            let extra = n.saturating_sub(keep);
            match (u != stack.s, w != stack.t) {
                (true, false) => (extra, 0),
                (false, true) => (0, extra),
                _ => (extra.div_ceil(2), extra / 2),
            }
        };
        let upper = if top > 0 { count(top) } else { 0 };
        // Labels between stay with the upper row.
        let lower = if bottom > 0 { total - count(n - bottom) } else { 0 };
        (upper, lower)
    }

    fn join_rows(&mut self, left: usize, right: usize) {
        let (a, b) = (self.row[left], self.row[right]);
        let moved = std::mem::take(&mut self.rows[b]);
        for v in &moved {
            self.row[*v] = a;
        }
        self.rows[a].extend(moved);
    }

    /// Lays chains between two bars of the middle across, where both bars can be level.
    fn bridges(&mut self) {
        let stack = self.stack;
        let rails = [self.row[stack.s], self.row[stack.t]];
        for e in 1..stack.chains.len() {
            let chain = &stack.chains[e];
            let (p, q) = (chain.up, chain.low);
            if self.lay[e] != Lay::Upright
                || chain.gap.is_some()
                || chain.parts.len() > 3
                || !self.is_node(p)
                || !self.is_node(q)
                || rails.contains(&self.row[p])
                || rails.contains(&self.row[q])
                || self.row[p] == self.row[q]
            {
                continue;
            }
            let (above, below) = (&stack.vertices[p], &stack.vertices[q]);
            if above.ins.is_empty() || above.outs.len() < 2 || below.ins.len() < 2 || below.outs.is_empty() {
                continue;
            }
            let (left, right, from_up) = if above.outs.last() == Some(&e) && below.ins.first() == Some(&e) {
                (p, q, true)
            } else if above.outs.first() == Some(&e) && below.ins.last() == Some(&e) {
                (q, p, false)
            } else {
                continue;
            };
            let fits =
                self.rows[self.row[left]].last() == Some(&left) && self.rows[self.row[right]].first() == Some(&right);
            if !fits || self.is_below(self.row[q], self.row[p], e) {
                continue;
            }
            self.lay[e] = Lay::Flat { from_up };
            self.join_rows(left, right);
        }
    }

    /// Whether a way leads down from row `from` to row `to`, not counting chain `but`; in either direction.
    fn is_below(&self, to: usize, from: usize, but: usize) -> bool {
        let reaches = |from: usize, to: usize| {
            let mut seen = vec![false; self.rows.len()];
            let mut work = vec![from];
            while let Some(row) = work.pop() {
                if std::mem::replace(&mut seen[row], true) {
                    continue;
                }
                for v in &self.rows[row] {
                    for e in &self.stack.vertices[*v].outs {
                        if *e == but || matches!(self.lay[*e], Lay::Flat { .. }) {
                            continue;
                        }
                        let next = self.row[self.stack.chains[*e].low];
                        if next == to {
                            return true;
                        }
                        work.push(next);
                    }
                }
            }
            false
        };
        reaches(from, to) || reaches(to, from)
    }

    fn make_slots(&mut self) {
        self.chain_slot = vec![usize::MAX; self.stack.chains.len()];
        for e in 0..self.stack.chains.len() {
            let lying = match self.lay[e] {
                Lay::Upright => 0..0,
                Lay::Flat { .. } => 0..self.items[e].len(),
                Lay::Corner { top, .. } => 0..top,
            };
            let tail = match self.lay[e] {
                Lay::Corner { bottom, .. } => self.items[e].len() - bottom..self.items[e].len(),
                _ => 0..0,
            };
            for item in lying.chain(tail) {
                self.item_slot.insert((e, item), self.slots.len());
                self.slots.push(Slot::Item { chain: e, item });
            }
            if !matches!(self.lay[e], Lay::Flat { .. }) {
                self.chain_slot[e] = self.slots.len();
                self.slots.push(Slot::Chain(e));
            }
        }
        for v in 0..self.stack.vertices.len() {
            if self.has_own_axis(v) {
                self.body_slot.insert(v, self.slots.len());
                self.slots.push(Slot::Body(v));
            }
        }
    }

    /// The chains of a three-terminal vertex.
    fn trio(&self, v: usize) -> Option<Trio> {
        let of = &self.stack.vertices[v];
        let drawn = |list: &[usize]| -> Vec<usize> { list.iter().copied().filter(|e| self.is_drawn(*e, v)).collect() };
        let (ins, outs) = (drawn(&of.ins), drawn(&of.outs));
        let trio = |lone, above, left, right, round| Some(Trio { lone, above, left, right, round });
        match (ins.as_slice(), outs.as_slice()) {
            ([lone], [l, r]) => trio(*lone, true, *l, *r, false),
            ([l, r], [lone]) => trio(*lone, false, *l, *r, false),
            ([l, r, lone], []) => trio(*lone, false, *l, *r, true),
            ([], [l, r, lone]) => trio(*lone, true, *l, *r, true),
            _ => None,
        }
    }

    /// The line of the middle of a three-terminal vertex's symbol.
    fn trio_line(&self, v: usize, part: usize) -> i32 {
        let round = self.trio(v).is_some_and(|trio| trio.round && trio.above);
        self.y[self.row[v]] + self.trio_room(v, part).before + if round { LANE } else { 0 }
    }

    /// The terminal at which a chain comes to a three-terminal vertex.
    fn terminal(&self, chain: usize, v: usize) -> usize {
        let of = &self.stack.chains[chain];
        let lead = if of.up == v { of.leads.0 } else { of.leads.1 };
        lead.unwrap_or(0)
    }

    /// Whether the symbol of a three-terminal vertex stands between its chains rather than in line with one of them.
    fn has_own_axis(&self, v: usize) -> bool {
        let Owner::Part(part) = self.stack.vertices[v].owner else { return false };
        let Some(Trio { lone, .. }) = self.trio(v) else { return false };
        match self.picture.parts[part].symbol {
            Symbol::Potentiometer => self.terminal(lone, v) == 2,
            _ => true,
        }
    }

    /// Slots at both ends of what a chain has in a row, from left to right.
    fn flat_slots(&self, e: usize) -> Vec<usize> {
        let n = self.items[e].len();
        let mut out: Vec<usize> = (0..n).filter_map(|item| self.item_slot.get(&(e, item)).copied()).collect();
        if self.lay[e] == (Lay::Flat { from_up: false }) {
            out.reverse();
        }
        out
    }

    /// From left to right: what is left of what in the plane, and where the rows want it.
    fn order_slots(&mut self) -> Option<()> {
        let stack = self.stack;
        let n = self.slots.len();
        // Nodes of the order: the slots, then one for each face.
        let mut after: Vec<Vec<usize>> = vec![Vec::new(); n];
        let upright = |e: &usize| self.chain_slot[*e] != usize::MAX;
        let ins: Vec<Vec<usize>> = self
            .rows
            .iter()
            .map(|row| row.iter().flat_map(|v| stack.vertices[*v].ins.iter().copied()).filter(upright).collect())
            .collect();
        let outs: Vec<Vec<usize>> = self
            .rows
            .iter()
            .map(|row| row.iter().flat_map(|v| stack.vertices[*v].outs.iter().copied()).filter(upright).collect())
            .collect();
        for list in &outs {
            for pair in list.windows(2) {
                let face = after.len();
                after.push(Vec::new());
                // Down the left side of the face: always the last way, as long as the face is not closed.
                let mut e = pair[0];
                loop {
                    after[self.chain_slot[e]].push(face);
                    let row = self.row[stack.chains[e].low];
                    if ins[row].last() != Some(&e) {
                        break;
                    }
                    match outs[row].last() {
                        Some(next) => e = *next,
                        None => break,
                    }
                }
                let mut e = pair[1];
                loop {
                    after[face].push(self.chain_slot[e]);
                    let row = self.row[stack.chains[e].low];
                    if ins[row].first() != Some(&e) {
                        break;
                    }
                    match outs[row].first() {
                        Some(next) => e = *next,
                        None => break,
                    }
                }
            }
        }
        for e in 0..stack.chains.len() {
            let chain = &stack.chains[e];
            let around = |v: usize| -> Vec<usize> {
                let of = &stack.vertices[v];
                of.ins
                    .iter()
                    .chain(&of.outs)
                    .filter(|other| **other != e)
                    .map(|other| self.chain_slot[*other])
                    .filter(|slot| *slot != usize::MAX)
                    .collect()
            };
            let mut line = |before: Vec<usize>, slots: Vec<usize>, behind: Vec<usize>| {
                let (Some(first), Some(last)) = (slots.first(), slots.last()) else {
                    for b in &before {
                        after[*b].extend(&behind);
                    }
                    return;
                };
                for b in before {
                    after[b].push(*first);
                }
                for pair in slots.windows(2) {
                    after[pair[0]].push(pair[1]);
                }
                after[*last].extend(behind);
            };
            match self.lay[e] {
                Lay::Upright => {}
                Lay::Flat { from_up } => {
                    let (left, right) = if from_up { (chain.up, chain.low) } else { (chain.low, chain.up) };
                    line(around(left), self.flat_slots(e), around(right));
                }
                Lay::Corner { top, bottom } => {
                    let n = self.items[e].len();
                    let slot = |item: usize| self.item_slot[&(e, item)];
                    let own = vec![self.chain_slot[e]];
                    if top > 0 {
                        line(around(chain.up), (0..top).map(slot).collect(), own.clone());
                    }
                    if bottom > 0 {
                        line(around(chain.low), (n - bottom..n).rev().map(slot).collect(), own);
                    }
                }
            }
        }
        for (v, slot) in &self.body_slot {
            if let Some(trio) = self.trio(*v) {
                let (l, r) = (self.chain_slot[trio.left], self.chain_slot[trio.right]);
                if l != usize::MAX {
                    after[l].push(*slot);
                }
                if r != usize::MAX {
                    after[*slot].push(r);
                }
            }
        }
        let total = after.len();
        let mut waiting = vec![0usize; total];
        for list in &after {
            for next in list {
                waiting[*next] += 1;
            }
        }
        // Of those that may come next, the one whose text comes first.
        let key = |at: usize| match self.slots.get(at) {
            Some(Slot::Chain(e) | Slot::Item { chain: e, .. }) => {
                1 + stack.chains[*e].parts.iter().map(|(part, _)| *part).min().unwrap_or(*e)
            }
            Some(Slot::Body(_)) | None => 0,
        };
        let mut ready: std::collections::BTreeSet<(usize, usize)> =
            (0..total).filter(|at| waiting[*at] == 0).map(|at| (key(at), at)).collect();
        // The source first, whatever the text says.
        let source = self.chain_slot[0];
        let mut taken = 0;
        while let Some(mut next) = ready.first().copied() {
            if ready.contains(&(key(source), source)) {
                next = (key(source), source);
            }
            ready.remove(&next);
            taken += 1;
            if next.1 < n {
                self.order.push(next.1);
            }
            for behind in &after[next.1] {
                waiting[*behind] -= 1;
                if waiting[*behind] == 0 {
                    ready.insert((key(*behind), *behind));
                }
            }
        }
        if taken < total {
            return None;
        }
        self.rank = vec![0; n];
        for (place, slot) in self.order.iter().enumerate() {
            self.rank[*slot] = place;
        }
        Some(())
    }

    /// Rows from the top down; `None` if they run in a circle.
    fn order_rows(&self) -> Option<Vec<usize>> {
        let mut waiting = vec![0usize; self.rows.len()];
        for chain in self.upright() {
            waiting[self.row[chain.1.low]] += 1;
        }
        let mut out = Vec::new();
        let live = |row: &usize| !self.rows[*row].is_empty();
        let mut ready: std::collections::VecDeque<usize> =
            (0..self.rows.len()).filter(live).filter(|row| waiting[*row] == 0).collect();
        while let Some(row) = ready.pop_front() {
            out.push(row);
            for v in &self.rows[row] {
                for e in &self.stack.vertices[*v].outs {
                    if matches!(self.lay[*e], Lay::Flat { .. }) {
                        continue;
                    }
                    let next = self.row[self.stack.chains[*e].low];
                    waiting[next] -= 1;
                    if waiting[next] == 0 {
                        ready.push_back(next);
                    }
                }
            }
        }
        let count = (0..self.rows.len()).filter(live).count();
        (out.len() == count).then_some(out)
    }

    fn upright(&self) -> impl Iterator<Item = (usize, &Chain)> {
        self.stack.chains.iter().enumerate().filter(|(e, _)| !matches!(self.lay[*e], Lay::Flat { .. }))
    }

    /// Where the labels of the vertices hang: at a column where the side of the bar is free.
    fn choose_tags(&mut self) {
        for v in 0..self.stack.vertices.len() {
            let of = &self.stack.vertices[v];
            let Owner::Node(node) = of.owner else { continue };
            if !label::has_tag(&self.picture.nodes[node]) {
                continue;
            }
            // Any column that reaches the bar; the source's only if there is no other.
            let reaches = |e: usize| match self.lay[e] {
                Lay::Upright => self.is_drawn(e, v),
                Lay::Flat { .. } => false,
                Lay::Corner { top, bottom } => {
                    if self.stack.chains[e].up == v {
                        top == 0
                    } else {
                        bottom == 0
                    }
                }
            };
            let middle = |list: &[usize]| -> Option<usize> {
                let columns: Vec<usize> = list.iter().copied().filter(|e| reaches(*e)).collect();
                let best = columns.iter().find(|e| **e != 0).or(columns.first());
                best.map(|e| self.chain_slot[*e])
            };
            let (up, down) = (middle(&of.outs), middle(&of.ins));
            let below_first = self.picture.nodes[node].reference || v == self.stack.t;
            let above =
                if of.ins.is_empty() || self.picture.nodes[node].reference { TagSide::Above } else { TagSide::Corner };
            self.tags[v] = if below_first {
                down.map(|slot| (slot, TagSide::Below)).or(up.map(|slot| (slot, above)))
            } else {
                up.map(|slot| (slot, above)).or(down.map(|slot| (slot, TagSide::Below)))
            };
        }
        // One label a node, though several vertices may be its.
        let mut seen = vec![false; self.picture.nodes.len()];
        for v in 0..self.stack.vertices.len() {
            if let (Owner::Node(node), true) = (self.stack.vertices[v].owner, self.tags[v].is_some())
                && std::mem::replace(&mut seen[node], true)
            {
                self.tags[v] = None;
            }
        }
    }

    fn part_room(&self, e: usize, index: usize) -> Room {
        let (part, forward) = self.stack.chains[e].parts[index];
        let placed = self.upright_part(part, forward, Point::default());
        label::vertical(&self.picture.parts[part], self.options, &placed)
    }

    fn upright_part(&self, part: usize, forward: bool, middle: Point) -> Placed {
        Placed {
            key: self.picture.parts[part].key.clone(),
            at: middle,
            turn: if forward { Turn::Down } else { Turn::Up },
            flip: false,
            side: Side::Right,
        }
    }

    fn flat_part(&self, part: usize, rightwards: bool, middle: Point) -> Placed {
        Placed {
            key: self.picture.parts[part].key.clone(),
            at: middle,
            turn: if rightwards { Turn::Right } else { Turn::Left },
            flip: false,
            side: Side::Above,
        }
    }

    /// Room of an item that lies in a row.
    fn flat_room(&self, e: usize, item: usize) -> Room {
        match self.items[e][item] {
            Item::Part(index) => {
                let (part, forward) = self.stack.chains[e].parts[index];
                let placed = self.flat_part(part, forward, Point::default());
                label::horizontal_at(&self.picture.parts[part], self.options, &placed)
            }
            Item::Tag { node } => {
                let of = &self.picture.nodes[node];
                label::tag_room(of, if of.reference { TagSide::Below } else { TagSide::Above })
            }
        }
    }

    /// Room of an item that stands upright.
    fn upright_room(&self, e: usize, item: usize) -> Room {
        match self.items[e][item] {
            Item::Part(index) => self.part_room(e, index),
            Item::Tag { node } => label::tag_room(&self.picture.nodes[node], TagSide::Beside),
        }
    }

    /// The items of a chain that stand upright.
    fn upright_items(&self, e: usize) -> std::ops::Range<usize> {
        let n = self.items[e].len();
        match self.lay[e] {
            Lay::Upright => 0..n,
            Lay::Flat { .. } => 0..0,
            Lay::Corner { top, bottom } => top..n - bottom,
        }
    }

    fn least_length(&self, e: usize) -> i32 {
        let items = self.upright_items(e);
        let chain = &self.stack.chains[e];
        let sum: i32 = items.clone().map(|item| self.upright_room(e, item)).map(|room| room.before + room.after).sum();
        let wire = if items.is_empty() { LEAD } else { 2 * LEAD };
        let stubs = chain.gap.map_or(0, |_| {
            let ends = [chain.nodes.first(), chain.nodes.last()];
            ends.iter().filter(|node| node.copied().flatten().is_some()).count() as i32 * STUB + LEAD
        });
        sum + wire + stubs + self.foot(e)
    }

    /// Height of a row: nothing but for symbols with three terminals, and crossings.
    fn thick(&self, row: usize) -> i32 {
        let [v] = self.rows[row][..] else { return 0 };
        match self.stack.vertices[v].owner {
            Owner::Node(_) => 0,
            Owner::Cross => CROSSING,
            Owner::Part(part) => {
                let room = self.trio_room(v, part);
                let round = self.trio(v).is_some_and(|trio| trio.round);
                room.before + room.after + if round { LANE } else { 0 }
            }
        }
    }

    /// How the symbol of a three-terminal vertex stands, its middle at the origin.
    fn trio_placed(&self, v: usize, part: usize) -> Placed {
        let symbol = self.picture.parts[part].symbol;
        let mut placed = Placed {
            key: self.picture.parts[part].key.clone(),
            at: Point::default(),
            turn: Turn::Down,
            flip: false,
            side: Side::Right,
        };
        let Some(Trio { lone, above, left: l, right: r, .. }) = self.trio(v) else { return placed };
        let (lone, left, right) = (self.terminal(lone, v), self.terminal(l, v), self.terminal(r, v));
        if symbol == Symbol::Potentiometer {
            if lone == 2 {
                placed.turn = if left == 0 { Turn::Right } else { Turn::Left };
                placed.side = if above { Side::Below } else { Side::Over };
            } else {
                placed.turn = if (lone == 0) == above { Turn::Down } else { Turn::Up };
                placed.side = if right == 2 { Side::Left } else { Side::Right };
            }
        } else if lone == 0 {
            placed.turn = if above { Turn::Down } else { Turn::Up };
        } else {
            placed.turn = if left == 0 { Turn::Right } else { Turn::Left };
            placed.side = if above { Side::Below } else { Side::Over };
        }
        // Mirrored or not: as the ends fit.
        for flip in [false, true] {
            placed.flip = flip;
            let pins = placed.pins(symbol);
            let fits = if symbol == Symbol::Potentiometer {
                if lone == 2 { (pins[2].y < 0) == above } else { (pins[2].x > 0) == (right == 2) }
            } else if lone == 0 {
                pins[left.max(1)].x < pins[right.max(1)].x || left == right
            } else {
                let other = 3 - lone.clamp(1, 2);
                (pins[lone.clamp(1, 2)].y < pins[other].y) == above
            };
            if fits {
                break;
            }
        }
        placed
    }

    /// Room of the symbol of a three-terminal vertex: before and after downwards, above and below across.
    fn trio_room(&self, v: usize, part: usize) -> Room {
        let placed = self.trio_placed(v, part);
        let of = &self.picture.parts[part];
        if placed.turn.is_vertical() {
            let room = label::vertical(of, self.options, &placed);
            Room { before: room.before.max(REACH), after: room.after.max(REACH), ..room }
        } else {
            let room = label::horizontal_at(of, self.options, &placed);
            Room { before: room.above + 2, after: room.below + 2, above: room.before, below: room.after }
        }
    }

    /// Slots that a row touches: with the room that each takes above and below the line.
    fn row_slots(&self, row: usize) -> Vec<(usize, i32, i32)> {
        let mut out = Vec::new();
        for v in &self.rows[row] {
            let of = &self.stack.vertices[*v];
            for (e, from_up) in of.ins.iter().map(|e| (*e, false)).chain(of.outs.iter().map(|e| (*e, true))) {
                let n = self.items[e].len();
                if self.chain_slot[e] != usize::MAX {
                    out.push((self.chain_slot[e], 3, 3));
                }
                let lying = match (self.lay[e], from_up) {
                    (Lay::Upright, _) => 0..0,
                    (Lay::Flat { .. }, _) => 0..n,
                    (Lay::Corner { top, .. }, true) => 0..top,
                    (Lay::Corner { bottom, .. }, false) => n - bottom..n,
                };
                for item in lying {
                    let room = self.flat_room(e, item);
                    out.push((self.item_slot[&(e, item)], room.above, room.below));
                }
            }
            if let Some(slot) = self.body_slot.get(v) {
                out.push((*slot, 3, 3));
            }
            if let (Some((slot, side)), Owner::Node(node)) = (self.tags[*v], of.owner) {
                let room = label::tag_room(&self.picture.nodes[node], side);
                out.push((slot, room.above, room.below));
            }
        }
        out
    }

    /// Gives every row its height.
    fn heights(&mut self, ranks: &[usize]) {
        let mut rank = vec![usize::MAX; self.rows.len()];
        for (place, row) in ranks.iter().enumerate() {
            rank[*row] = place;
        }
        let mut apart: HashMap<(usize, usize), i32> = HashMap::new();
        let mut keep = |upper: usize, lower: usize, least: i32| {
            let of = apart.entry((upper, lower)).or_insert(least);
            *of = (*of).max(least);
        };
        for (e, chain) in self.upright() {
            let (upper, lower) = (self.row[chain.up], self.row[chain.low]);
            keep(upper, lower, self.least_length(e) + self.thick(upper));
        }
        // Rows above each other in one column.
        let mut columns: Vec<Vec<(usize, usize, i32, i32)>> = vec![Vec::new(); self.slots.len()];
        for row in ranks {
            let slots = self.row_slots(*row);
            let places = || slots.iter().map(|slot| self.rank[slot.0]);
            let (Some(from), Some(to)) = (places().min(), places().max()) else { continue };
            let mut room = vec![(3, 3); to - from + 1];
            for (slot, above, below) in &slots {
                let of = &mut room[self.rank[*slot] - from];
                *of = (of.0.max(*above), of.1.max(*below));
            }
            for (offset, (above, below)) in room.into_iter().enumerate() {
                columns[from + offset].push((rank[*row], *row, above, below));
            }
        }
        for column in &mut columns {
            column.sort_unstable();
            for pair in column.windows(2) {
                let ((_, upper, _, below), (_, lower, above, _)) = (pair[0], pair[1]);
                keep(upper, lower, self.thick(upper) + below + above + AIR);
            }
        }
        let mut down: Vec<Vec<(usize, i32)>> = vec![Vec::new(); self.rows.len()];
        let mut up: Vec<Vec<(usize, i32)>> = vec![Vec::new(); self.rows.len()];
        for ((upper, lower), least) in &apart {
            down[*upper].push((*lower, *least));
            up[*lower].push((*upper, *least));
        }
        let mut early = vec![0; self.rows.len()];
        for row in ranks {
            early[*row] = up[*row].iter().map(|(upper, least)| early[*upper] + least).max().unwrap_or(0);
        }
        let end = ranks.iter().map(|row| early[*row]).max().unwrap_or(0);
        let mut late = vec![end; self.rows.len()];
        for row in ranks.iter().rev() {
            late[*row] = down[*row].iter().map(|(lower, least)| late[*lower] - least).min().unwrap_or(end);
            if up[*row].is_empty() {
                late[*row] = early[*row];
            }
        }
        self.y = (0..self.rows.len()).map(|row| (early[row] + late[row]) / 2).collect();
    }

    /// The lines between which an upright chain runs.
    fn ends(&self, e: usize) -> (i32, i32) {
        let chain = &self.stack.chains[e];
        let (upper, lower) = (self.row[chain.up], self.row[chain.low]);
        (self.y[upper] + self.thick(upper), self.y[lower])
    }

    /// The middle of each upright item of a chain.
    fn upright_places(&self, e: usize) -> Vec<(usize, i32)> {
        let (top, bottom) = self.ends(e);
        let bottom = bottom - self.foot(e);
        let items = self.upright_items(e);
        let rooms: Vec<Room> = items.clone().map(|item| self.upright_room(e, item)).collect();
        let sum: i32 = rooms.iter().map(|room| room.before + room.after).sum();
        let mut out = Vec::new();
        let gap = self.stack.chains[e].gap;
        let free = bottom - top - sum;
        let count = rooms.len() as i32;
        let mut y = top;
        let mut past_gap = false;
        for (index, (item, room)) in items.zip(&rooms).enumerate() {
            match gap {
                None => {
                    let share = free * (index as i32 + 1) / (count + 1) - free * index as i32 / (count + 1);
                    y += share;
                }
                Some(_) => {
                    // What hangs stays near the bar from which it hangs.
                    let behind = item >= self.above_gap[e];
                    if behind && !past_gap {
                        past_gap = true;
                        let rest: i32 = rooms[index..].iter().map(|room| room.before + room.after).sum();
                        y = bottom - rest - LEAD;
                    } else if index == 0 {
                        y += LEAD;
                    }
                }
            }
            out.push((item, y + room.before));
            y += room.before + room.after;
        }
        out
    }

    /// Everything that goes with each slot.
    fn boxes(&self) -> Vec<Vec<Box>> {
        let mut out: Vec<Vec<Box>> = vec![Vec::new(); self.slots.len()];
        for (e, chain) in self.upright() {
            let slot = self.chain_slot[e];
            let (mut top, mut bottom) = self.ends(e);
            // A crossing keeps its wires apart over its whole height.
            if self.stack.vertices[chain.up].owner == Owner::Cross {
                top -= CROSSING;
            }
            if self.stack.vertices[chain.low].owner == Owner::Cross {
                bottom += CROSSING;
            }
            for (v, down) in [(chain.up, true), (chain.low, false)] {
                if let (Owner::Part(part), Some(trio)) = (self.stack.vertices[v].owner, self.trio(v)) {
                    let (l, r) = (trio.left, trio.right);
                    let row = self.row[v];
                    let (line, thick) = (self.y[row], self.thick(row));
                    let room = self.trio_room(v, part);
                    let placed = self.trio_placed(v, part);
                    if e == l || e == r {
                        // From the line at which it turns towards the symbol.
                        let pin = placed.pins(self.picture.parts[part].symbol)[self.terminal(e, v)];
                        let turn = self.trio_line(v, part) + pin.y;
                        if down { top = top.min(turn - 1) } else { bottom = bottom.max(turn + 1) }
                    }
                    if e == trio.lone && trio.round {
                        // It goes round the symbol.
                        if down { top -= thick } else { bottom += thick }
                    }
                    if !self.body_slot.contains_key(&v) && self.axis(v) == Some(e) {
                        out[slot].push(Box {
                            left: room.above,
                            right: room.below,
                            y0: line,
                            y1: line + thick,
                            wire: false,
                        });
                    }
                }
            }
            out[slot].push(Box { left: 0, right: 0, y0: top, y1: bottom, wire: true });
            for (item, y) in self.upright_places(e) {
                let room = self.upright_room(e, item);
                out[slot].push(Box {
                    left: room.above,
                    right: room.below,
                    y0: y - room.before,
                    y1: y + room.after,
                    wire: false,
                });
            }
        }
        for ((e, item), slot) in &self.item_slot {
            let room = self.flat_room(*e, *item);
            let y = self.item_line(*e, *item);
            out[*slot].push(Box {
                left: room.before,
                right: room.after,
                y0: y - room.above,
                y1: y + room.below,
                wire: false,
            });
        }
        for (v, slot) in &self.body_slot {
            if let Owner::Part(part) = self.stack.vertices[*v].owner {
                let row = self.row[*v];
                let room = self.trio_room(*v, part);
                let placed = self.trio_placed(*v, part);
                let middle = self.trio_line(*v, part);
                if placed.turn.is_vertical() {
                    let body = placed.body(self.picture.parts[part].symbol);
                    out[*slot].push(Box {
                        left: -body.x0,
                        right: body.x1,
                        y0: middle + body.y0,
                        y1: middle + body.y1,
                        wire: false,
                    });
                }
                let (y0, y1) = if placed.turn.is_vertical() {
                    let half = label::upright_half(&self.picture.parts[part], self.options);
                    (middle - half, middle + half)
                } else {
                    (self.y[row], self.y[row] + self.thick(row))
                };
                out[*slot].push(Box { left: room.above, right: room.below, y0, y1, wire: false });
            }
        }
        for v in 0..self.stack.vertices.len() {
            if let (Some((slot, side)), Owner::Node(node)) = (self.tags[v], self.stack.vertices[v].owner) {
                let room = label::tag_room(&self.picture.nodes[node], side);
                let y = self.y[self.row[v]];
                let (y0, y1) = if side == TagSide::Below { (y + 1, y + room.below) } else { (y - room.above, y - 1) };
                out[slot].push(Box { left: room.before, right: room.after, y0, y1, wire: false });
            }
        }
        out
    }

    /// The chain in whose line the symbol of a three-terminal vertex stands.
    fn axis(&self, v: usize) -> Option<usize> {
        let Trio { left: l, right: r, .. } = self.trio(v)?;
        Some(if self.terminal(l, v) == 2 { r } else { l })
    }

    fn item_line(&self, e: usize, item: usize) -> i32 {
        let chain = &self.stack.chains[e];
        match self.lay[e] {
            Lay::Corner { top, .. } if item >= top => self.y[self.row[chain.low]],
            _ => self.y[self.row[chain.up]],
        }
    }

    /// Gives every slot its place from left to right.
    fn widths(&mut self, line_up: bool) -> Option<()> {
        let n = self.slots.len();
        let boxes = self.boxes();
        let spans: Vec<(i32, i32)> = boxes
            .iter()
            .map(|list| (list.iter().map(|b| b.y0).min().unwrap_or(0), list.iter().map(|b| b.y1).max().unwrap_or(0)))
            .collect();
        const PAD: i32 = 5;
        let mut apart: Vec<(usize, usize, i32)> = Vec::new();
        for (place, left) in self.order.iter().enumerate() {
            for right in &self.order[place + 1..] {
                if spans[*left].1 + PAD < spans[*right].0 || spans[*right].1 + PAD < spans[*left].0 {
                    continue;
                }
                let mut least: Option<i32> = None;
                for a in &boxes[*left] {
                    for b in &boxes[*right] {
                        if a.y0 - PAD <= b.y1 && b.y0 - PAD <= a.y1 {
                            let air = if a.wire && b.wire { LANE } else { AIR };
                            let need = a.right + b.left + air;
                            least = Some(least.map_or(need, |least: i32| least.max(need)));
                        }
                    }
                }
                if let Some(least) = least {
                    apart.push((*left, *right, least));
                }
            }
        }
        let mut lines = Lines::new(n);
        if line_up {
            for (a, b, shift) in self.in_line() {
                let trial = lines.joined(a, b, shift);
                if let Some(trial) = trial
                    && trial.solve(&apart).is_some()
                {
                    lines = trial;
                }
            }
        }
        self.x = lines.solve(&apart)?;
        self.spread_rows(&apart, &lines);
        Some(())
    }

    /// Pairs of slots that had better be in one line: the second so far right of the first.
    fn in_line(&self) -> Vec<(usize, usize, i32)> {
        let mut out = Vec::new();
        for v in 0..self.stack.vertices.len() {
            let of = &self.stack.vertices[v];
            let column = |e: usize| Some(self.chain_slot[e]).filter(|slot| *slot != usize::MAX);
            match of.owner {
                Owner::Node(_) => {
                    if let Some((a, b)) = self.straight(v) {
                        out.push((self.chain_slot[a], self.chain_slot[b], 0));
                    }
                }
                Owner::Cross => {
                    if let ([_, ir], [ol, _]) = (of.ins.as_slice(), of.outs.as_slice())
                        && let (Some(a), Some(b)) = (column(*ir), column(*ol))
                    {
                        out.push((a, b, 0));
                    }
                }
                Owner::Part(part) => {
                    let Some(Trio { lone, left: l, right: r, round, .. }) = self.trio(v) else { continue };
                    let symbol = self.picture.parts[part].symbol;
                    let placed = self.trio_placed(v, part);
                    let pins = placed.pins(symbol);
                    match self.body_slot.get(&v) {
                        Some(body) if placed.turn.is_vertical() => {
                            for e in [lone, l, r] {
                                if e == lone && round {
                                    continue;
                                }
                                if let Some(slot) = column(e) {
                                    out.push((*body, slot, pins[self.terminal(e, v)].x));
                                }
                            }
                        }
                        Some(body) => {
                            if let (Some(slot), Symbol::Potentiometer, false) = (column(lone), symbol, round) {
                                out.push((*body, slot, 0));
                            }
                        }
                        None => {
                            if let (Some(slot), Some(axis), false) =
                                (column(lone), self.axis(v).and_then(column), round)
                            {
                                out.push((axis, slot, 0));
                            }
                        }
                    }
                }
            }
        }
        out
    }

    /// The one upright chain that comes to a bar and the one that leaves it, which look best in one line.
    fn straight(&self, v: usize) -> Option<(usize, usize)> {
        let of = &self.stack.vertices[v];
        let upright = |list: &[usize]| -> Vec<usize> {
            list.iter().copied().filter(|e| self.lay[*e] == Lay::Upright && self.is_drawn(*e, v)).collect()
        };
        match (upright(&of.ins).as_slice(), upright(&of.outs).as_slice()) {
            ([a], [b]) if self.is_node(v) => Some((*a, *b)),
            _ => None,
        }
    }

    /// Free wire that a chain keeps above its lower bar, where a label stands beside it.
    fn foot(&self, e: usize) -> i32 {
        let v = self.stack.chains[e].low;
        match (self.straight(v), self.tags[v], self.stack.vertices[v].owner) {
            (Some((a, _)), Some((_, TagSide::Corner)), Owner::Node(node)) if a == e => {
                label::tag_room(&self.picture.nodes[node], TagSide::Corner).above
            }
            _ => 0,
        }
    }

    /// Spreads what lies in a row evenly over the wire between its neighbors, as far as there is room.
    fn spread_rows(&mut self, apart: &[(usize, usize, i32)], lines: &Lines) {
        for e in 0..self.stack.chains.len() {
            let chain = &self.stack.chains[e];
            if chain.gap.is_some() {
                continue;
            }
            let n = self.items[e].len();
            let runs: Vec<(Vec<usize>, Option<i32>, Option<i32>)> = match self.lay[e] {
                Lay::Upright => Vec::new(),
                Lay::Flat { from_up } => {
                    let (left, right) = if from_up { (chain.up, chain.low) } else { (chain.low, chain.up) };
                    let mut run: Vec<usize> = (0..n).collect();
                    if !from_up {
                        run.reverse();
                    }
                    vec![(run, self.bar_end(left, true), self.bar_end(right, false))]
                }
                Lay::Corner { top, bottom } => {
                    let x = self.x[self.chain_slot[e]];
                    vec![
                        ((0..top).collect(), self.bar_end(chain.up, true), Some(x)),
                        ((n - bottom..n).rev().collect(), self.bar_end(chain.low, true), Some(x)),
                    ]
                }
            };
            for (run, from, to) in runs {
                let (Some(from), Some(to), false) = (from, to, run.is_empty()) else { continue };
                let rooms: Vec<Room> = run.iter().map(|item| self.flat_room(e, *item)).collect();
                let sum: i32 = rooms.iter().map(|room| room.before + room.after).sum();
                let free = to - from - sum;
                if free <= 0 {
                    continue;
                }
                let mut edge = from;
                let count = run.len() as i32;
                for (index, (item, room)) in run.iter().zip(&rooms).enumerate() {
                    edge += free * (index as i32 + 1) / (count + 1) - free * index as i32 / (count + 1);
                    let slot = self.item_slot[&(e, *item)];
                    let wanted = edge + room.before;
                    edge += room.before + room.after;
                    let least = apart.iter().filter(|a| a.1 == slot).map(|a| self.x[a.0] + a.2).max();
                    let most = apart.iter().filter(|a| a.0 == slot).map(|a| self.x[a.1] - a.2).min();
                    let (least, most) = (least.unwrap_or(wanted), most.unwrap_or(wanted));
                    if least <= most && !lines.is_shared(slot) {
                        self.x[slot] = wanted.clamp(least, most);
                    }
                }
            }
        }
    }

    /// Makes symbols and wires of all this.
    fn draw(&self) -> Layout {
        let picture = self.picture;
        let mut pen = Pen {
            wires: vec![Vec::new(); picture.nodes.len()],
            parts: vec![None; picture.parts.len()],
            tags: vec![None; picture.nodes.len()],
        };
        for v in 0..self.stack.vertices.len() {
            match self.stack.vertices[v].owner {
                Owner::Node(node) => self.draw_bar(v, node, &mut pen),
                Owner::Part(part) => self.draw_trio(v, part, &mut pen),
                Owner::Cross => self.draw_cross(v, &mut pen),
            }
        }
        for e in 0..self.stack.chains.len() {
            match self.lay[e] {
                Lay::Flat { from_up } => self.draw_flat(e, from_up, &mut pen),
                Lay::Upright | Lay::Corner { .. } => self.draw_upright(e, &mut pen),
            }
        }
        Layout {
            parts: pen.parts.into_iter().map(|part| part.unwrap_or_else(Placed::nowhere)).collect(),
            wires: pen.wires,
            tags: pen.tags,
            ..Layout::default()
        }
    }

    /// Whether anything of a chain is drawn at its upper (lower) end.
    fn is_drawn(&self, e: usize, v: usize) -> bool {
        let chain = &self.stack.chains[e];
        let node = if chain.up == v { chain.nodes.first() } else { chain.nodes.last() };
        node.copied().flatten().is_some()
    }

    /// The columns that end at a bar.
    fn bar_columns(&self, v: usize) -> Vec<i32> {
        let of = &self.stack.vertices[v];
        of.ins
            .iter()
            .chain(&of.outs)
            .filter(|e| self.is_drawn(**e, v))
            .filter(|e| match self.lay[**e] {
                Lay::Upright => true,
                Lay::Flat { .. } => false,
                // The wire of the row leads there.
                Lay::Corner { top, bottom } => {
                    if self.stack.chains[**e].up == v {
                        top == 0
                    } else {
                        bottom == 0
                    }
                }
            })
            .map(|e| self.x[self.chain_slot[*e]])
            .collect()
    }

    fn draw_bar(&self, v: usize, node: usize, pen: &mut Pen) {
        let y = self.y[self.row[v]];
        let columns = self.bar_columns(v);
        if let (Some(from), Some(to)) = (columns.iter().min(), columns.iter().max()) {
            pen.wire(node, at(*from, y), at(*to, y));
        }
        if let Some((slot, side)) = self.tags[v] {
            pen.tags[node] = Some(Tag { at: at(self.x[slot], y), side });
        }
    }

    /// The place of a bar nearest to a row item.
    fn bar_end(&self, v: usize, right: bool) -> Option<i32> {
        let columns = self.bar_columns(v);
        if right { columns.into_iter().max() } else { columns.into_iter().min() }
    }

    /// Draws items in a row from `from` on; returns where the wire ends.
    fn draw_row(&self, e: usize, slots: &[usize], mut from: Point, from_up: bool, pen: &mut Pen) -> Point {
        let chain = &self.stack.chains[e];
        for item in slots {
            let x = self.x[self.item_slot[&(e, *item)]];
            let middle = at(x, from.y);
            match self.items[e][*item] {
                Item::Part(index) => {
                    let (part, forward) = chain.parts[index];
                    let rightwards = forward == from_up;
                    let shift = usize::from(chain.gap.is_some_and(|gap| gap <= index));
                    let (before, after) =
                        if from_up { (index + shift, index + 1 + shift) } else { (index + 1 + shift, index + shift) };
                    let _ = after;
                    if let Some(node) = chain.nodes[before] {
                        pen.wire(node, from, at(x - REACH, from.y));
                    }
                    pen.parts[part] = Some(self.flat_part(part, rightwards, middle));
                    from = at(x + REACH, from.y);
                }
                Item::Tag { node } => {
                    let side = if picture_reference(self.picture, node) { TagSide::Below } else { TagSide::Above };
                    pen.tags[node].get_or_insert(Tag { at: middle, side });
                    pen.wire(node, from, middle);
                    from = middle;
                }
            }
        }
        from
    }

    fn draw_flat(&self, e: usize, from_up: bool, pen: &mut Pen) {
        let chain = &self.stack.chains[e];
        let (left, right) = if from_up { (chain.up, chain.low) } else { (chain.low, chain.up) };
        let y = self.y[self.row[left]];
        let mut slots: Vec<usize> = (0..self.items[e].len()).collect();
        if !from_up {
            slots.reverse();
        }
        let ends = (self.bar_end(left, true), self.bar_end(right, false));
        let first = slots.first().map(|item| self.x[self.item_slot[&(e, *item)]] - REACH);
        let Some(start) = ends.0.or(first).or(ends.1) else { return };
        let from = self.draw_row(e, &slots, at(start, y), from_up, pen);
        let last = if from_up { chain.nodes.last() } else { chain.nodes.first() };
        if let (Some(Some(node)), Some(end)) = (last, ends.1) {
            pen.wire(*node, from, at(end, y));
        }
    }

    fn draw_upright(&self, e: usize, pen: &mut Pen) {
        let chain = &self.stack.chains[e];
        let x = self.x[self.chain_slot[e]];
        let (top, bottom) = self.ends(e);
        let n = self.items[e].len();
        let (along_top, along_bottom) = match self.lay[e] {
            Lay::Corner { top, bottom } => (top, bottom),
            _ => (0, 0),
        };
        // Items before this one hang from above, the others stand below the gap.
        let gap_at = chain.gap.map(|_| self.above_gap[e]);
        let parts_before =
            |item: usize| self.items[e][..item].iter().filter(|item| matches!(item, Item::Part(_))).count();
        // The node of the wire before an item (or at the end, after the last).
        let node_before = |item: usize| {
            let parts = parts_before(item);
            let below = gap_at.is_some_and(|gap| item > gap) || gap_at == Some(item) && chain.gap.is_some();
            chain.nodes[parts + usize::from(below && chain.gap.is_some())]
        };
        let labelled = |item: usize| matches!(self.items[e].get(item), Some(Item::Tag { .. }));
        let middles: HashMap<usize, i32> = self.upright_places(e).into_iter().collect();
        let mut here = at(x, top);
        let mut next = 0;
        if along_top > 0 {
            let slots: Vec<usize> = (0..along_top).collect();
            let first = self.x[self.item_slot[&(e, 0)]] - REACH;
            let start = self.bar_end(chain.up, true).unwrap_or(first);
            let from = self.draw_row(e, &slots, at(start, top), true, pen);
            next = along_top;
            if gap_at != Some(along_top) {
                // Round the corner.
                if let Some(node) = node_before(along_top) {
                    pen.wire(node, from, here);
                }
            } else {
                here = from;
            }
        }
        // The upper part, down to the gap or to the end.
        let upper_end = gap_at.unwrap_or(n - along_bottom);
        for item in next..upper_end.min(n - along_bottom) {
            here = self.draw_item(e, item, at(x, middles[&item]), here, node_before(item), pen);
        }
        if gap_at.is_none() {
            let corner = at(x, bottom);
            if let Some(node) = node_before(n - along_bottom) {
                pen.wire(node, here, corner);
                if along_bottom > 0 {
                    let from = self.draw_bottom(e, along_bottom, bottom, pen);
                    pen.wire(node, from, corner);
                }
            }
            return;
        }
        let gap = upper_end;
        // A short end, unless its label stands there.
        let node = chain.nodes[parts_before(gap)];
        if let (Some(node), false) = (node, gap > 0 && labelled(gap - 1)) {
            let end = if along_top > 0 { at(here.x + STUB, here.y) } else { at(x, here.y + STUB / 2) };
            pen.wire(node, here, end);
        }
        // The lower part, from the bottom up.
        let node = chain.nodes[parts_before(gap) + 1];
        let short = !labelled(gap);
        if along_bottom > 0 {
            let from = self.draw_bottom(e, along_bottom, bottom, pen);
            if let (Some(node), true) = (node, short) {
                pen.wire(node, from, at(from.x + STUB, from.y));
            }
            return;
        }
        let mut here: Option<Point> = None;
        for item in gap..n {
            let y = middles[&item];
            let start = match (here, self.items[e][item]) {
                (Some(here), _) => here,
                (None, Item::Part(_)) => at(x, y - REACH - STUB / 2),
                (None, Item::Tag { .. }) => at(x, y),
            };
            let node = if parts_before(item) == parts_before(gap) { node } else { node_before(item) };
            here = Some(self.draw_item(e, item, at(x, y), start, node, pen));
        }
        if let Some(node) = chain.nodes[chain.nodes.len() - 1] {
            pen.wire(node, here.unwrap_or(at(x, bottom - STUB / 2)), at(x, bottom));
        }
    }

    /// Draws the items along the lower row; returns where their wire ends at the right.
    fn draw_bottom(&self, e: usize, count: usize, y: i32, pen: &mut Pen) -> Point {
        let n = self.items[e].len();
        let slots: Vec<usize> = (n - count..n).rev().collect();
        let first = self.x[self.item_slot[&(e, n - 1)]] - REACH;
        let start = self.bar_end(self.stack.chains[e].low, true).unwrap_or(first);
        self.draw_row(e, &slots, at(start, y), false, pen)
    }

    /// Draws an upright item with the wire that leads to it; returns where it ends below.
    fn draw_item(
        &self,
        e: usize,
        item: usize,
        middle: Point,
        from: Point,
        node: Option<usize>,
        pen: &mut Pen,
    ) -> Point {
        match self.items[e][item] {
            Item::Part(index) => {
                let (part, forward) = self.stack.chains[e].parts[index];
                if let Some(node) = node {
                    pen.wire(node, from, at(middle.x, middle.y - REACH));
                }
                pen.parts[part] = Some(self.upright_part(part, forward, middle));
                at(middle.x, middle.y + REACH)
            }
            Item::Tag { node } => {
                pen.wire(node, from, middle);
                pen.tags[node].get_or_insert(Tag { at: middle, side: TagSide::Beside });
                middle
            }
        }
    }

    fn draw_trio(&self, v: usize, part: usize, pen: &mut Pen) {
        let symbol = self.picture.parts[part].symbol;
        let terminals = &self.picture.parts[part].terminals;
        let Some(Trio { lone, above, left: l, right: r, round }) = self.trio(v) else { return };
        let row = self.row[v];
        let (line, thick) = (self.y[row], self.thick(row));
        let mut placed = self.trio_placed(v, part);
        let x = match self.body_slot.get(&v) {
            Some(slot) => self.x[*slot],
            None => self.axis(v).map_or(0, |e| self.x[self.chain_slot[e]]),
        };
        placed.at = at(x, self.trio_line(v, part));
        let pins = placed.pins(symbol);
        for e in [lone, l, r] {
            let terminal = self.terminal(e, v);
            let node = terminals[terminal];
            let pin = pins[terminal];
            let column = self.x[self.chain_slot[e]];
            // The line of the thick row at which the chain comes in.
            let end = if (e == lone) == above { line } else { line + thick };
            let end = if e != lone && round { if above { line + thick } else { line } } else { end };
            if e == lone {
                if round {
                    pen.wire(node, at(column, line), at(column, line + thick));
                }
                pen.wire(node, at(column, end), at(pin.x, end));
                pen.wire(node, at(pin.x, end), pin);
            } else {
                pen.wire(node, pin, at(column, pin.y));
                pen.wire(node, at(column, pin.y), at(column, end));
            }
        }
        pen.parts[part] = Some(placed);
    }

    /// Two wires that pass each other without connection.
    fn draw_cross(&self, v: usize, pen: &mut Pen) {
        let of = &self.stack.vertices[v];
        let row = self.row[v];
        let (top, bottom) = (self.y[row], self.y[row] + CROSSING);
        let (upper, lower) = (top + CROSSING / 3, top + 2 * CROSSING / 3);
        let x = |e: usize| self.x[self.chain_slot[e]];
        let node = |e: usize| {
            let chain = &self.stack.chains[e];
            if chain.up == v { chain.nodes.first() } else { chain.nodes.last() }.copied().flatten()
        };
        let route = |pen: &mut Pen, a: usize, b: usize, level: i32, ya: i32, yb: i32| {
            if let Some(node) = node(a).or(node(b)) {
                pen.wire(node, at(x(a), ya), at(x(a), level));
                pen.wire(node, at(x(a), level), at(x(b), level));
                pen.wire(node, at(x(b), level), at(x(b), yb));
            }
        };
        match (of.ins.as_slice(), of.outs.as_slice()) {
            ([il, ir], [ol, or]) => {
                // One wire from upper left to lower right, the other from upper right to lower left.
                let (falling, rising) = if x(*il) <= x(*ol) { (upper, lower) } else { (lower, upper) };
                route(pen, *il, *or, falling, top, bottom);
                route(pen, *ir, *ol, rising, top, bottom);
            }
            ([lone], [l, m, r]) => {
                route(pen, *lone, *m, upper, top, bottom);
                route(pen, *l, *r, lower, bottom, bottom);
            }
            ([l, m, r], [lone]) => {
                route(pen, *m, *lone, lower, top, bottom);
                route(pen, *l, *r, upper, top, top);
            }
            _ => {}
        }
    }
}

fn picture_reference(picture: &Picture, node: usize) -> bool {
    picture.nodes[node].reference
}

struct Pen {
    wires: Vec<Vec<Segment>>,
    parts: Vec<Option<Placed>>,
    tags: Vec<Option<Tag>>,
}

impl Pen {
    fn wire(&mut self, node: usize, a: Point, b: Point) {
        if a != b && (a.x == b.x || a.y == b.y) {
            self.wires[node].push(Segment::new(a, b));
        }
    }
}

/// Slots that keep a fixed distance from each other.
#[derive(Clone, Debug)]
struct Lines {
    /// The slot that stands for the line of each slot, and how far right of it the slot is.
    of: Vec<(usize, i32)>,
}

impl Lines {
    fn new(n: usize) -> Self {
        Self { of: (0..n).map(|slot| (slot, 0)).collect() }
    }

    fn is_shared(&self, slot: usize) -> bool {
        let line = self.of[slot].0;
        self.of.iter().filter(|of| of.0 == line).count() > 1
    }

    /// With `b` so far right of `a`; `None` if they are in one line already.
    fn joined(&self, a: usize, b: usize, shift: i32) -> Option<Self> {
        let ((line, at_a), (moved, at_b)) = (self.of[a], self.of[b]);
        if line == moved {
            return None;
        }
        let by = at_a + shift - at_b;
        Some(Self { of: self.of.iter().map(|of| if of.0 == moved { (line, of.1 + by) } else { *of }).collect() })
    }

    /// Places such that all distances are kept: halfway between as far left and as far right as they can be. Within a line no
    /// distance is asked for.
    fn solve(&self, apart: &[(usize, usize, i32)]) -> Option<Vec<i32>> {
        let n = self.of.len();
        let mut right: Vec<Vec<(usize, i32)>> = vec![Vec::new(); n];
        let mut left: Vec<Vec<(usize, i32)>> = vec![Vec::new(); n];
        let mut waiting = vec![0usize; n];
        for (a, b, least) in apart {
            let ((a, at_a), (b, at_b)) = (self.of[*a], self.of[*b]);
            if a == b {
                continue;
            }
            let least = least + at_a - at_b;
            right[a].push((b, least));
            left[b].push((a, least));
            waiting[b] += 1;
        }
        let lines: Vec<usize> = (0..n).filter(|slot| self.of[*slot].0 == *slot).collect();
        let mut order: Vec<usize> = lines.iter().copied().filter(|line| waiting[*line] == 0).collect();
        let mut next = 0;
        while next < order.len() {
            let line = order[next];
            next += 1;
            for (b, _) in &right[line] {
                waiting[*b] -= 1;
                if waiting[*b] == 0 {
                    order.push(*b);
                }
            }
        }
        if order.len() < lines.len() {
            return None;
        }
        let mut early = vec![0; n];
        for line in &order {
            early[*line] = left[*line].iter().map(|(a, least)| early[*a] + least).max().unwrap_or(0);
        }
        let end = order.iter().map(|line| early[*line]).max().unwrap_or(0);
        let mut late = vec![end; n];
        for line in order.iter().rev() {
            late[*line] = right[*line].iter().map(|(b, least)| late[*b] - least).min().unwrap_or(end);
        }
        Some(self.of.iter().map(|(line, shift)| (early[*line] + late[*line]) / 2 + shift).collect())
    }
}
