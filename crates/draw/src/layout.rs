//! Where everything stands.

use crate::comb::comb;
use crate::geometry::{Point, Rect, Segment, Turn, at, joined};
use crate::label::{self, Text};
use crate::picture::{Picture, Symbol};
use crate::symbols::{self, REACH};

/// Room that is kept beside every part for what later redraws will write there.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Reserve {
    /// Sample lines of solved values: `I = 888 mA`.
    pub solved: Vec<String>,
    /// A sample of a current arrow's text.
    pub arrow: Option<String>,
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

/// The place of a node's label.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Tag {
    /// The point of the wire that it belongs to.
    pub at: Point,
    /// Whether the wire runs up and down there, so that the label stands at its right; else it stands above.
    pub beside: bool,
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
}

impl Layout {
    /// Lays out a circuit from nothing. A picture that is not sound ([`Picture::is_sound`]) gives an empty layout.
    pub fn new(picture: &Picture, options: &Options) -> Self {
        if !picture.is_sound() {
            return Self::default();
        }
        let mut layout = comb(picture, options);
        layout.finish(picture);
        layout
    }

    /// Lays out a circuit that came from the one of `previous` by replacing some parts: everything else stays where it is, and a
    /// new part stands in the middle of those that it replaces. Where that cannot be, the layout is made anew and not [`Layout::inherited`].
    pub fn redraw(picture: &Picture, _previous: &Layout, options: &Options) -> Self {
        Self::new(picture, options)
    }

    /// Joins wires and measures the frame.
    pub(crate) fn finish(&mut self, picture: &Picture) {
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
