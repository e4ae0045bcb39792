//! The drawing that always works: a row for every node, a column for every part. Wires may cross; nothing overlaps.

use crate::geometry::{Segment, Turn, at};
use crate::label;
use crate::layout::{Layout, Options, Placed, Side, Tag, TagSide};
use crate::picture::{Part, Picture, Symbol};
use crate::symbols::REACH;

const ROW: i32 = 64;
const GAP: i32 = 14;

/// Lays out a sound picture.
pub fn comb(picture: &Picture, options: &Options) -> Layout {
    let mut layout = Layout {
        wires: vec![Vec::new(); picture.nodes.len()],
        tags: vec![None; picture.nodes.len()],
        ..Layout::default()
    };
    let row = |node: usize| node as i32 * ROW;
    let strip = picture.nodes.len() as i32 * ROW
        + picture.parts.iter().map(|part| label::horizontal(part, options, Side::Over).above).max().unwrap_or(0)
        + 2 * GAP;
    let mut left = 0;
    for (node, of) in picture.nodes.iter().enumerate() {
        if of.label.is_some() || of.potential.is_some() || of.reference {
            left = left.max(2 * label::tag_width(of) + 2 * GAP);
            layout.tags[node] = Some(Tag {
                at: at(label::tag_width(of) / 2, row(node)),
                side: if of.reference { TagSide::Below } else { TagSide::Above },
            });
        }
    }
    let side = |part: &Part| if part.symbol == Symbol::Potentiometer { Side::Over } else { Side::Above };
    let mut x = left + GAP;
    let mut span = vec![None::<(i32, i32)>; picture.nodes.len()];
    for part in &picture.parts {
        let room = label::horizontal(part, options, side(part));
        let center = x + GAP + room.before;
        let placed =
            Placed { key: part.key.clone(), at: at(center, strip), turn: Turn::Right, flip: false, side: side(part) };
        let pins = placed.pins(part.symbol);
        let mut right = center + room.after.max(REACH) + GAP;
        for (index, (node, pin)) in part.terminals.iter().zip(&pins).enumerate() {
            let column = if index == 0 {
                x
            } else {
                right += GAP;
                right
            };
            // The wiper points down in a drawing that is not mirrored: its wire goes round below.
            let turning = if pin.y > strip + REACH / 2 { pin.y + GAP } else { pin.y };
            let wires = &mut layout.wires[*node];
            wires.push(Segment::new(*pin, at(pin.x, turning)));
            wires.push(Segment::new(at(pin.x, turning), at(column, turning)));
            wires.push(Segment::new(at(column, turning), at(column, row(*node))));
            let reach = span[*node].get_or_insert((column, column));
            *reach = (reach.0.min(column), reach.1.max(column));
        }
        layout.parts.push(placed);
        x = right + 2 * GAP;
    }
    for (node, span) in span.into_iter().enumerate() {
        if let Some((from, to)) = span {
            let from = if layout.tags[node].is_some() { 0 } else { from };
            layout.wires[node].push(Segment::new(at(from, row(node)), at(to, row(node))));
        }
    }
    layout
}
