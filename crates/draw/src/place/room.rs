//! How much room each symbol and each label needs, and where on its chain it stands.

use super::{CROSSING, Item, LANE, LEAD, Lay, Placer, STUB, Trio};
use crate::geometry::{Point, Turn};
use crate::label::{self, Room};
use crate::layout::{Placed, Side, TagSide};
use crate::net::Owner;
use crate::picture::Symbol;
use crate::symbols::REACH;

impl Placer<'_> {
    /// Where the labels of the vertices hang: at a column where the side of the bar is free.
    pub(super) fn choose_tags(&mut self) {
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

    pub(super) fn upright_part(&self, part: usize, forward: bool, middle: Point) -> Placed {
        Placed {
            key: self.picture.parts[part].key.clone(),
            at: middle,
            turn: if forward { Turn::Down } else { Turn::Up },
            flip: false,
            side: Side::Right,
        }
    }

    pub(super) fn flat_part(&self, part: usize, rightwards: bool, middle: Point) -> Placed {
        Placed {
            key: self.picture.parts[part].key.clone(),
            at: middle,
            turn: if rightwards { Turn::Right } else { Turn::Left },
            flip: false,
            side: Side::Above,
        }
    }

    /// Room of an item that lies in a row.
    pub(super) fn flat_room(&self, e: usize, item: usize) -> Room {
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
    pub(super) fn upright_room(&self, e: usize, item: usize) -> Room {
        match self.items[e][item] {
            Item::Part(index) => self.part_room(e, index),
            Item::Tag { node } => label::tag_room(&self.picture.nodes[node], TagSide::Beside),
        }
    }

    /// The items of a chain that stand upright.
    pub(super) fn upright_items(&self, e: usize) -> std::ops::Range<usize> {
        let n = self.items[e].len();
        match self.lay[e] {
            Lay::Upright => 0..n,
            Lay::Flat { .. } => 0..0,
            Lay::Corner { top, bottom } => top..n - bottom,
        }
    }

    pub(super) fn least_length(&self, e: usize) -> i32 {
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
    pub(super) fn thick(&self, row: usize) -> i32 {
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
    pub(super) fn trio_placed(&self, v: usize, part: usize) -> Placed {
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
    pub(super) fn trio_room(&self, v: usize, part: usize) -> Room {
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
    pub(super) fn row_slots(&self, row: usize) -> Vec<(usize, i32, i32)> {
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
}
