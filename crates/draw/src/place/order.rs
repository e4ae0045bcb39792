//! Rows and columns in their order, before they have any length.

use super::{LANE, Lay, Placer, Slot, Trio};
use crate::net::Owner;
use crate::picture::Symbol;
use crate::stack::Chain;

impl Placer<'_> {
    pub(super) fn make_slots(&mut self) {
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
    pub(super) fn trio(&self, v: usize) -> Option<Trio> {
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
    pub(super) fn trio_line(&self, v: usize, part: usize) -> i32 {
        let round = self.trio(v).is_some_and(|trio| trio.round && trio.above);
        self.y[self.row[v]] + self.trio_room(v, part).before + if round { LANE } else { 0 }
    }

    /// The terminal at which a chain comes to a three-terminal vertex.
    pub(super) fn terminal(&self, chain: usize, v: usize) -> usize {
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
    pub(super) fn order_slots(&mut self) -> Option<()> {
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
    pub(super) fn order_rows(&self) -> Option<Vec<usize>> {
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

    pub(super) fn upright(&self) -> impl Iterator<Item = (usize, &Chain)> {
        self.stack.chains.iter().enumerate().filter(|(e, _)| !matches!(self.lay[*e], Lay::Flat { .. }))
    }
}
