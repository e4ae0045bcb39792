//! Columns: how far they lie apart, and which of them stand in one line.

use super::lines::Lines;
use super::{AIR, Box, CROSSING, LANE, Lay, Placer, Trio};
use crate::label::{self, Room};
use crate::layout::TagSide;
use crate::net::Owner;
use crate::picture::Symbol;

impl Placer<'_> {
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
    pub(super) fn axis(&self, v: usize) -> Option<usize> {
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
    pub(super) fn widths(&mut self, line_up: bool) -> Option<()> {
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
    pub(super) fn foot(&self, e: usize) -> i32 {
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
}
