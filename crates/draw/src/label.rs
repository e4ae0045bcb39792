//! Texts and their rectangles; the room that a part needs with its label.

use crate::geometry::{Point, Rect, at};
use crate::layout::{Layout, Options, Placed, Side, Tag, TagSide};
use crate::picture::{Node, Part, Picture};
use crate::symbols::{self, REACH};
use crate::type_size::{Face, width};

/// Type size of names.
pub const NAME: i32 = 14;
/// Type size of everything else.
pub const VALUE: i32 = 13;
/// Type size of signs at symbols.
pub const SMALL: i32 = 11;
const NAME_LINE: i32 = 17;
const VALUE_LINE: i32 = 16;
/// Between a symbol and its label.
const GAP: i32 = 6;

/// What a text is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Role {
    /// A part's name.
    Name,
    /// A part's value.
    Value,
    /// A solved value.
    Solved,
    /// Beside a current arrow.
    Current,
    /// A junction's name.
    Junction,
    /// A junction's potential.
    Potential,
    /// A letter or sign of a symbol.
    Sign,
    /// A loop's name.
    Loop,
}

impl Role {
    /// Its face and size.
    pub const fn face(self) -> (Face, i32) {
        match self {
            Role::Name => (Face::SemiBold, NAME),
            Role::Sign => (Face::Regular, SMALL),
            Role::Value | Role::Solved | Role::Current | Role::Junction | Role::Potential | Role::Loop => {
                (Face::Regular, VALUE)
            }
        }
    }
}

/// How a text is aligned at its point.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Anchor {
    /// It starts there.
    Start,
    /// It stands centered on it.
    Middle,
    /// It ends there.
    End,
}

/// A text in its place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Text {
    /// What is written.
    pub text: String,
    /// What it is.
    pub role: Role,
    /// The key of the part or node that it belongs to.
    pub of: String,
    /// Where it is aligned, on the base line.
    pub at: Point,
    /// How.
    pub anchor: Anchor,
    /// What it covers.
    pub rect: Rect,
}

/// Room that a part takes with its label: along its axis before and after its middle, and across on both sides.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Room {
    /// Along the axis: upwards or to the left.
    pub before: i32,
    /// Along the axis: downwards or to the right.
    pub after: i32,
    /// Across: to the left or upwards.
    pub above: i32,
    /// Across: to the right or downwards.
    pub below: i32,
}

/// A line with its role.
type Line<'a> = (Role, &'a str);

fn head(part: &Part) -> Vec<Line<'_>> {
    let mut lines = Vec::new();
    if !part.name.is_empty() {
        lines.push((Role::Name, part.name.as_str()));
    }
    lines.extend(part.value.as_deref().map(|value| (Role::Value, value)));
    lines
}

fn solved(part: &Part) -> Vec<Line<'_>> {
    part.solved.iter().map(|line| (Role::Solved, line.as_str())).collect()
}

const fn line_height(role: Role) -> i32 {
    match role {
        Role::Name => NAME_LINE,
        _ => VALUE_LINE,
    }
}

fn size(lines: &[Line<'_>]) -> (i32, i32) {
    let wide = lines.iter().map(|(role, text)| text_width(*role, text)).max().unwrap_or(0);
    (wide, lines.iter().map(|(role, _)| line_height(*role)).sum())
}

pub fn text_width(role: Role, text: &str) -> i32 {
    let (face, size) = role.face();
    width(face, size, text)
}

/// Length of wire for an arrow, along a vertical wire.
const ARROW_V: i32 = 24;

fn arrow_room(text: &str) -> i32 {
    (text_width(Role::Current, text) + 10).max(30)
}

/// Width of an arrow's text.
pub fn arrow_width(text: &str) -> i32 {
    text_width(Role::Current, text)
}

/// Width and height of name and value, and of the solved values, with what is reserved for later.
fn reserved(part: &Part, options: &Options) -> ((i32, i32), (i32, i32)) {
    let reserve = &options.reserve;
    let widest = |role: Role, own: i32, list: &[String]| {
        list.iter().map(|text| text_width(role, text)).max().unwrap_or(0).max(own)
    };
    let (mut wide, _) = size(&head(part));
    wide = widest(Role::Name, wide, &reserve.names);
    wide = widest(Role::Value, wide, &reserve.values);
    let name = !part.name.is_empty() || !reserve.names.is_empty();
    let value = part.value.is_some() || !reserve.values.is_empty();
    let high = if name { NAME_LINE } else { 0 } + if value { VALUE_LINE } else { 0 };
    let solved_wide = widest(Role::Solved, size(&solved(part)).0, &reserve.solved);
    let lines = part.solved.len().max(reserve.solved_lines) as i32;
    ((wide, high), (solved_wide, lines * VALUE_LINE))
}

/// The room of a part that stands upright, its label at `side`.
pub fn vertical(part: &Part, options: &Options, placed: &Placed) -> Room {
    let reach = symbols::extent(part.symbol, placed);
    let ((head_wide, head_high), (solved_wide, solved_high)) = reserved(part, options);
    let wide = head_wide.max(solved_wide);
    let half = REACH.max((head_high + solved_high) / 2 + 2);
    let mut room = Room { before: half, after: half, ..Room::default() };
    let label = if wide > 0 { GAP + wide } else { 0 };
    let (mut left, mut right) = (reach.before, reach.after);
    match placed.side {
        Side::Left => left += label,
        _ => right += label,
    }
    if let Some(widest) = arrows(part, options).map(|text| text_width(Role::Current, text)).max() {
        right = right.max(12 + widest);
        room.before += ARROW_V;
    }
    room.above = left;
    room.below = right;
    room
}

/// The texts of the arrow that a part has, or may get later.
fn arrows<'a>(part: &'a Part, options: &'a Options) -> impl Iterator<Item = &'a str> {
    let own = part.arrow.as_ref().map(|arrow| arrow.text.as_str());
    own.into_iter().chain(options.reserve.arrow.as_deref()).filter(|_| part.terminals.len() == 2)
}

/// Half the height of an upright part's label, the symbol included.
pub fn upright_half(part: &Part, options: &Options) -> i32 {
    let ((_, head), (_, solved)) = reserved(part, options);
    (head + solved) / 2 + 2
}

/// The room of a part that lies along a horizontal wire, its label above (or all of it below).
pub fn horizontal_at(part: &Part, options: &Options, placed: &Placed) -> Room {
    let reach = symbols::extent(part.symbol, placed);
    let ((head_wide, head_high), (solved_wide, solved_high)) = reserved(part, options);
    let wide = head_wide.max(solved_wide);
    let half = REACH.max(wide / 2 + 5);
    let mut room = Room { before: half, after: half, above: reach.before, below: reach.after };
    let pad = |high: i32| if high > 0 { high + 3 } else { 0 };
    match placed.side {
        Side::Below => room.below += pad(head_high + solved_high),
        Side::Over => room.above += pad(head_high + solved_high),
        _ => {
            room.above += pad(head_high);
            room.below += pad(solved_high);
        }
    }
    if let Some(longest) = arrows(part, options).map(arrow_room).max() {
        room.before += longest;
        room.above = room.above.max(6 + VALUE_LINE);
    }
    room
}

/// The room of a part that lies along a horizontal wire, its first terminal at the left.
pub fn horizontal(part: &Part, options: &Options, side: Side) -> Room {
    horizontal_at(part, options, &Placed { side, ..Placed::nowhere() })
}

fn tag_lines(node: &Node) -> Vec<Line<'_>> {
    let mut lines = Vec::new();
    lines.extend(node.label.as_deref().map(|label| (Role::Junction, label)));
    lines.extend(node.potential.as_deref().map(|potential| (Role::Potential, potential)));
    lines
}

/// Whether anything is written or drawn at a node.
pub fn has_tag(node: &Node) -> bool {
    node.label.is_some() || node.potential.is_some() || node.reference
}

/// Half the width of the reference sign, and how far it hangs down.
pub const GROUND: (i32, i32) = (9, 20);

/// Width of what is written at a node.
pub fn tag_width(node: &Node) -> i32 {
    size(&tag_lines(node)).0.max(if node.reference { 2 * GROUND.0 } else { 0 })
}

/// The room of what is written at a node: before and after along the wire, above and below it (across it, for one beside).
pub fn tag_room(node: &Node, side: TagSide) -> Room {
    let (wide, high) = size(&tag_lines(node));
    let text = if wide > 0 { wide + 4 } else { 0 };
    if side == TagSide::Beside {
        let half = (high / 2 + 3).max(if node.reference { GROUND.0 + 2 } else { 5 });
        let sign = if node.reference { GROUND.1 } else { 5 };
        return Room { before: half, after: half, above: 5, below: sign + text };
    }
    if side == TagSide::Corner {
        return Room { before: 4, after: 4 + text, above: 4 + high, below: 5 };
    }
    let (half, deep) = if node.reference {
        // The text stands right of the sign.
        (GROUND.0, GROUND.1.max(high + 3))
    } else {
        ((wide / 2 + 1).max(4), if high > 0 { 6 + high } else { 5 })
    };
    let after = if node.reference { half + text } else { half };
    let (above, below) = if side == TagSide::Above { (deep, 5) } else { (5, deep) };
    Room { before: half, after, above, below }
}

struct Setter<'a> {
    out: &'a mut Vec<Text>,
    of: &'a str,
}

impl Setter<'_> {
    /// Sets lines from the top down.
    fn lines(&mut self, lines: &[Line<'_>], x: i32, mut top: i32, anchor: Anchor) {
        for (role, text) in lines {
            let high = line_height(*role);
            self.one(*role, text, at(x, top + high - 4), anchor, top, high);
            top += high;
        }
    }

    fn one(&mut self, role: Role, text: &str, base: Point, anchor: Anchor, top: i32, high: i32) {
        let wide = text_width(role, text);
        let x0 = match anchor {
            Anchor::Start => base.x,
            Anchor::Middle => base.x - (wide + 1) / 2,
            Anchor::End => base.x - wide,
        };
        self.out.push(Text {
            text: text.to_owned(),
            role,
            of: self.of.to_owned(),
            at: base,
            anchor,
            rect: Rect { x0, x1: x0 + wide, y0: top + 1, y1: top + high },
        });
    }
}

/// Every text of a drawing.
pub fn texts(picture: &Picture, layout: &Layout) -> Vec<Text> {
    let mut out = Vec::new();
    for (part, placed) in picture.parts.iter().zip(&layout.parts) {
        let reach = symbols::extent(part.symbol, placed);
        let (head, solved) = (head(part), solved(part));
        let mut set = Setter { out: &mut out, of: &part.key };
        match placed.side {
            Side::Right | Side::Left => {
                let lines: Vec<_> = head.into_iter().chain(solved).collect();
                let top = placed.at.y - size(&lines).1 / 2;
                if placed.side == Side::Right {
                    set.lines(&lines, placed.at.x + reach.after + GAP, top, Anchor::Start);
                } else {
                    set.lines(&lines, placed.at.x - reach.before - GAP, top, Anchor::End);
                }
            }
            Side::Above => {
                let top = placed.at.y - reach.before - 3 - size(&head).1;
                set.lines(&head, placed.at.x, top, Anchor::Middle);
                set.lines(&solved, placed.at.x, placed.at.y + reach.after + 3, Anchor::Middle);
            }
            Side::Over => {
                let lines: Vec<_> = head.into_iter().chain(solved).collect();
                let top = placed.at.y - reach.before - 3 - size(&lines).1;
                set.lines(&lines, placed.at.x, top, Anchor::Middle);
            }
            Side::Below => {
                let lines: Vec<_> = head.into_iter().chain(solved).collect();
                set.lines(&lines, placed.at.x, placed.at.y + reach.after + 3, Anchor::Middle);
            }
        }
        if let (Some(tip), Some(arrow)) = (arrow_at(part, placed), &part.arrow) {
            if placed.turn.is_vertical() {
                let top = tip.y - VALUE_LINE / 2;
                set.one(Role::Current, &arrow.text, at(tip.x + 11, tip.y + 5), Anchor::Start, top, VALUE_LINE);
            } else {
                let top = tip.y - 6 - VALUE_LINE;
                set.one(Role::Current, &arrow.text, at(tip.x, tip.y - 10), Anchor::Middle, top, VALUE_LINE);
            }
        }
    }
    for (node, tag) in picture.nodes.iter().zip(&layout.tags) {
        let Some(Tag { at: point, side }) = tag else { continue };
        let lines = tag_lines(node);
        let mut set = Setter { out: &mut out, of: &node.key };
        let high = size(&lines).1;
        match (side, node.reference) {
            (TagSide::Beside, reference) => {
                let x = point.x + if reference { GROUND.1 + 3 } else { 9 };
                set.lines(&lines, x, point.y - high / 2, Anchor::Start);
            }
            (TagSide::Corner, _) => set.lines(&lines, point.x + 6, point.y - 4 - high, Anchor::Start),
            (TagSide::Above, false) => set.lines(&lines, point.x, point.y - 5 - high, Anchor::Middle),
            (TagSide::Below, false) => set.lines(&lines, point.x, point.y + 4, Anchor::Middle),
            (TagSide::Above, true) => set.lines(&lines, point.x + GROUND.0 + 3, point.y - 3 - high, Anchor::Start),
            (TagSide::Below, true) => set.lines(&lines, point.x + GROUND.0 + 3, point.y + 3, Anchor::Start),
        }
    }
    out
}

/// The middle of a part's current arrow, on the wire before the symbol.
pub fn arrow_at(part: &Part, placed: &Placed) -> Option<Point> {
    let arrow = part.arrow.as_ref()?;
    if part.symbol.terminals() != 2 {
        return None;
    }
    let lines: Vec<_> = head(part).into_iter().chain(solved(part)).collect();
    Some(if placed.turn.is_vertical() {
        let half = REACH.max(size(&lines).1 / 2 + 2);
        at(placed.at.x, placed.at.y - half - ARROW_V / 2)
    } else {
        let wide = size(&lines).0;
        let half = REACH.max(wide / 2 + 5);
        at(placed.at.x - half - arrow_room(&arrow.text) / 2, placed.at.y)
    })
}
