//! Where everything stands.

use crate::comb::comb;
use crate::geometry::{Point, Rect, Segment, Turn, at, joined};
use crate::label::{self, Text};
use crate::measure::measure;
use crate::net::{self, Net};
use crate::picture::{Picture, Symbol};
use crate::place::{Freedom, place};
use crate::reduce::Groups;
use crate::stack::stack;
use crate::symbols::{self, REACH};

/// Room that is kept beside every part for what later redraws will write there.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Reserve {
    /// Names of parts to come: the room is that of the widest.
    pub names: Vec<String>,
    /// Values to come.
    pub values: Vec<String>,
    /// Lines of solved values: `I = 888 mA`.
    pub solved: Vec<String>,
    /// Number of lines of solved values beside one part.
    pub solved_lines: usize,
    /// A sample of a current arrow's text.
    pub arrow: Option<String>,
}

impl Reserve {
    /// Room for everything that some pictures write beside parts with two terminals, so that each can be drawn in the places of
    /// the first.
    pub fn for_pictures<'a>(pictures: impl IntoIterator<Item = &'a Picture>) -> Self {
        let mut reserve = Self::default();
        for part in pictures.into_iter().flat_map(|picture| &picture.parts).filter(|part| part.terminals.len() == 2) {
            reserve.names.push(part.name.clone());
            reserve.values.extend(part.value.clone());
            reserve.solved.extend(part.solved.iter().cloned());
            reserve.solved_lines = reserve.solved_lines.max(part.solved.len());
            if let Some(arrow) = &part.arrow {
                let wider = reserve
                    .arrow
                    .as_ref()
                    .is_none_or(|text| label::arrow_width(text) < label::arrow_width(&arrow.text));
                if wider {
                    reserve.arrow = Some(arrow.text.clone());
                }
            }
        }
        for (list, role) in [
            (&mut reserve.names, label::Role::Name),
            (&mut reserve.values, label::Role::Value),
            (&mut reserve.solved, label::Role::Solved),
        ] {
            // The widest is enough.
            list.sort();
            let widest = list.iter().max_by_key(|text| label::text_width(role, text)).cloned();
            *list = widest.into_iter().collect();
        }
        reserve
    }
}

/// What a layout depends on beside the picture.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Options {
    /// Room for later.
    pub reserve: Reserve,
}

/// On which side of its symbol a label stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Side {
    /// Right of a vertical symbol.
    Right,
    /// Left of a vertical symbol.
    Left,
    /// Name and value above a horizontal symbol, solved values below it.
    Above,
    /// Everything above a horizontal symbol.
    Over,
    /// Everything below a horizontal symbol.
    Below,
}

/// A symbol in its place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Placed {
    /// [`crate::Part::key`].
    pub key: String,
    /// Its middle.
    pub at: Point,
    /// The direction from the first terminal to the second (for a changeover: to the contacts).
    pub turn: Turn,
    /// Whether it is mirrored at its axis: the wiper, or contact `b`, stands on the other side.
    pub flip: bool,
    /// Where its label stands.
    pub side: Side,
}

impl Placed {
    /// A place for what has none.
    pub(crate) fn nowhere() -> Self {
        Self { key: String::new(), at: Point::default(), turn: Turn::Right, flip: false, side: Side::Above }
    }

    /// Where the wires end, in the order of the terminals.
    pub fn pins(&self, symbol: Symbol) -> Vec<Point> {
        symbols::pins(symbol).iter().map(|pin| self.place(*pin)).collect()
    }

    /// From the symbol's own coordinates (first terminal at the left) to the drawing's.
    pub fn place(&self, p: Point) -> Point {
        let y = if self.flip { -p.y } else { p.y };
        let turned = match self.turn {
            Turn::Right => at(p.x, y),
            Turn::Down => at(-y, p.x),
            Turn::Left => at(-p.x, -y),
            Turn::Up => at(y, -p.x),
        };
        at(self.at.x + turned.x, self.at.y + turned.y)
    }

    /// The rectangle that the symbol covers; its pins lie on the border.
    pub fn body(&self, symbol: Symbol) -> Rect {
        let reach = symbols::extent(symbol, self);
        if self.turn.is_vertical() {
            Rect {
                x0: self.at.x - reach.before,
                x1: self.at.x + reach.after,
                y0: self.at.y - REACH,
                y1: self.at.y + REACH,
            }
        } else {
            Rect {
                x0: self.at.x - REACH,
                x1: self.at.x + REACH,
                y0: self.at.y - reach.before,
                y1: self.at.y + reach.after,
            }
        }
    }
}

/// On which side of its point a node's label and reference sign stand.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum TagSide {
    /// Above a lying wire.
    Above,
    /// Above a lying wire, right of an upright one that meets it there.
    Corner,
    /// Below a lying wire.
    Below,
    /// Right of an upright wire.
    Beside,
}

/// The place of a node's label.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Tag {
    /// The point of the wire that it belongs to.
    pub at: Point,
    /// On which side of it.
    pub side: TagSide,
}

/// A drawing's geometry. Parts and nodes in the order of the picture that it was made for.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Layout {
    /// Every symbol.
    pub parts: Vec<Placed>,
    /// The keys of the nodes.
    pub nodes: Vec<String>,
    /// The wires of each node.
    pub wires: Vec<Vec<Segment>>,
    /// The place of each node's label, if it has one.
    pub tags: Vec<Option<Tag>>,
    /// What the drawing covers, margins included.
    pub frame: Option<Rect>,
    /// Whether positions were taken over from a previous layout.
    pub inherited: bool,
    /// Symbol and nodes of each part.
    pub(crate) drawn: Vec<(Symbol, Vec<usize>)>,
    /// Number of pieces drawn in the plain way that works for every circuit, wires crossing.
    pub combed: usize,
}

impl Layout {
    /// Lays out a circuit from nothing. A picture that is not sound ([`Picture::is_sound`]) gives an empty layout.
    pub fn new(picture: &Picture, options: &Options) -> Self {
        if !picture.is_sound() {
            return Self::default();
        }
        let mut whole = Layout {
            parts: vec![Placed::nowhere(); picture.parts.len()],
            wires: vec![Vec::new(); picture.nodes.len()],
            tags: vec![None; picture.nodes.len()],
            ..Layout::default()
        };
        let mut right = 0;
        for parts in net::pieces(picture) {
            let Some((piece, layout)) = Self::piece(picture, &parts, options) else {
                return Self::combed(picture, options);
            };
            let Some(frame) = layout.frame else { continue };
            whole.combed += layout.combed;
            let shift = at(right - frame.x0, -frame.y0);
            right += frame.x1 - frame.x0 + 8;
            let moved = |p: Point| at(p.x + shift.x, p.y + shift.y);
            for (index, mut placed) in piece.parts.iter().copied().zip(layout.parts) {
                placed.at = moved(placed.at);
                whole.parts[index] = placed;
            }
            for (node, wires) in piece.nodes.iter().zip(layout.wires) {
                whole.wires[*node] = wires.into_iter().map(|wire| Segment::new(moved(wire.a), moved(wire.b))).collect();
            }
            for (node, tag) in piece.nodes.iter().zip(layout.tags) {
                whole.tags[*node] = tag.map(|tag| Tag { at: moved(tag.at), ..tag });
            }
        }
        whole.finish(picture);
        whole
    }

    fn combed(picture: &Picture, options: &Options) -> Self {
        let mut layout = comb(picture, options);
        layout.combed = 1;
        layout.finish(picture);
        layout
    }

    /// Lays out one connected piece, as well as it can be done.
    fn piece(picture: &Picture, parts: &[usize], options: &Options) -> Option<(Piece, Self)> {
        let is_source = |part: &usize| picture.parts[*part].symbol.is_source();
        let two = |part: &usize| picture.parts[*part].terminals.len() == 2;
        let source = picture
            .source
            .filter(|source| parts.contains(source) && two(source))
            .or_else(|| parts.iter().copied().find(is_source))
            .or_else(|| parts.iter().copied().find(two));
        let piece = Piece::new(picture, parts);
        let source = source.and_then(|source| parts.iter().position(|part| *part == source));
        let own: Vec<usize> = (0..parts.len()).collect();
        let net = Net::new(&piece.picture, &own, source);
        let groups = Groups::new(&net);
        if let Some(stack) = stack(&piece.picture, &net, &groups) {
            for freedom in [Freedom::Full, Freedom::Rails, Freedom::Plain] {
                if let Some(mut layout) = place(&piece.picture, options, &stack, freedom) {
                    layout.finish(&piece.picture);
                    let measures = measure(&piece.picture, &layout);
                    if measures.overlaps.is_empty() && measures.faithful {
                        return Some((piece, layout));
                    }
                }
            }
        }
        let layout = Self::combed(&piece.picture, options);
        Some((piece, layout))
    }

    /// Joins wires and measures the frame.
    pub(crate) fn finish(&mut self, picture: &Picture) {
        self.drawn = picture.parts.iter().map(|part| (part.symbol, part.terminals.clone())).collect();
        self.nodes = picture.nodes.iter().map(|node| node.key.clone()).collect();
        for wires in &mut self.wires {
            *wires = joined(std::mem::take(wires));
        }
        let mut frame: Option<Rect> = None;
        let mut hold = |rect: Rect| frame = Some(frame.map_or(rect, |frame| frame.and(rect)));
        for (part, placed) in picture.parts.iter().zip(&self.parts) {
            hold(placed.body(part.symbol));
        }
        for text in self.texts(picture) {
            hold(text.rect);
        }
        for segment in self.wires.iter().flatten() {
            hold(segment.rect());
        }
        self.frame = frame.map(|frame| frame.grown(16));
    }

    /// Every text of the drawing with its rectangle.
    pub fn texts(&self, picture: &Picture) -> Vec<Text> {
        label::texts(picture, self)
    }

    /// The points of a node that join three or more ends: its dots.
    pub fn dots(&self, picture: &Picture, node: usize) -> Vec<Point> {
        let wires = &self.wires[node];
        let mut points: Vec<Point> = wires.iter().flat_map(|wire| [wire.a, wire.b]).collect();
        let pins = self.pins_of(picture, node);
        points.extend(&pins);
        // Wires of one node that pass through each other are joined there.
        for (index, one) in wires.iter().enumerate() {
            for other in &wires[index + 1..] {
                if let Some(common) = one.common(*other) {
                    points.push(common.a);
                }
            }
        }
        points.sort();
        points.dedup();
        points.retain(|point| {
            let ways: usize = wires
                .iter()
                .filter(|wire| wire.holds(*point))
                .map(|wire| if *point == wire.a || *point == wire.b { 1 } else { 2 })
                .sum();
            ways + pins.iter().filter(|pin| *pin == point).count() >= 3
        });
        points
    }

    /// Where parts end at a node.
    pub fn pins_of(&self, picture: &Picture, node: usize) -> Vec<Point> {
        let mut pins = Vec::new();
        for (part, placed) in picture.parts.iter().zip(&self.parts) {
            if part.terminals.contains(&node) {
                for (terminal, pin) in part.terminals.iter().zip(placed.pins(part.symbol)) {
                    if *terminal == node {
                        pins.push(pin);
                    }
                }
            }
        }
        pins
    }
}

/// A connected piece as a picture of its own.
struct Piece {
    picture: Picture,
    parts: Vec<usize>,
    nodes: Vec<usize>,
}

impl Piece {
    fn new(picture: &Picture, parts: &[usize]) -> Self {
        let mut number = vec![usize::MAX; picture.nodes.len()];
        let mut nodes = Vec::new();
        let mut own = Picture::default();
        for part in parts {
            let mut part = picture.parts[*part].clone();
            for node in &mut part.terminals {
                if number[*node] == usize::MAX {
                    number[*node] = nodes.len();
                    nodes.push(*node);
                    own.nodes.push(picture.nodes[*node].clone());
                }
                *node = number[*node];
            }
            own.parts.push(part);
        }
        Self { picture: own, parts: parts.to_vec(), nodes }
    }
}
