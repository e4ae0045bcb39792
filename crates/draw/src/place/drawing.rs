//! The layout: wires, symbols, dots and crossings where everything stands.

use std::collections::HashMap;

use super::{CROSSING, Item, Lay, Placer, STUB, Trio};
use crate::geometry::{Point, Segment, at};
use crate::layout::{Layout, Placed, Tag, TagSide};
use crate::net::Owner;
use crate::picture::Picture;
use crate::symbols::REACH;

impl Placer<'_> {
    /// Makes symbols and wires of all this.
    pub(super) fn draw(&self) -> Layout {
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
    pub(super) fn is_drawn(&self, e: usize, v: usize) -> bool {
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
    pub(super) fn bar_end(&self, v: usize, right: bool) -> Option<i32> {
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
