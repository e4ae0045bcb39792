//! What lies flat: chains along the outer rails, and those that cross from bar to bar.

use super::{Item, Lay, Placer};

impl Placer<'_> {
    /// Lays the outer chains along the top and the bottom.
    pub(super) fn fold(&mut self) {
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
    pub(super) fn corner(&self, e: usize, u: usize, w: usize) -> (usize, usize) {
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
    pub(super) fn bridges(&mut self) {
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
}
