//! Rows, columns and then units: where the vertices, chains and labels of a stack stand.
//!
//! The vertices are horizontal bars, the chains upright lines between them, as in R. Tamassia and I. G. Tollis, "A unified approach
//! to visibility representations of planar graphs", Discrete & Computational Geometry 1, 1986. From there on it becomes a schematic:
//! what lies along the outer rails, or across between two bars, is laid down; then rows and columns are pushed together as far as
//! symbols and labels allow.

mod drawing;
mod fold;
mod heights;
mod lines;
mod order;
mod room;
mod widths;

use std::collections::HashMap;

use crate::label;
use crate::layout::{Layout, Options, TagSide};
use crate::net::Owner;
use crate::picture::Picture;
use crate::stack::{Chain, Stack};

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
}
