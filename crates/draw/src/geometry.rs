//! Points, rectangles and directions on a grid of whole units, so that what touches is equal and nothing is a matter of rounding.

/// A place; `y` grows downwards, as in SVG.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct Point {
    /// To the right.
    pub x: i32,
    /// Down.
    pub y: i32,
}

/// Shorthand.
pub const fn at(x: i32, y: i32) -> Point {
    Point { x, y }
}

/// A rectangle with sides along the axes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Rect {
    /// Left.
    pub x0: i32,
    /// Top.
    pub y0: i32,
    /// Right.
    pub x1: i32,
    /// Bottom.
    pub y1: i32,
}

impl Rect {
    /// The smallest that holds two points.
    pub fn of(a: Point, b: Point) -> Self {
        Self { x0: a.x.min(b.x), y0: a.y.min(b.y), x1: a.x.max(b.x), y1: a.y.max(b.y) }
    }

    /// Whether the interiors meet.
    pub const fn overlaps(self, other: Self) -> bool {
        self.x0 < other.x1 && other.x0 < self.x1 && self.y0 < other.y1 && other.y0 < self.y1
    }

    /// Larger by `by` on all sides (smaller if negative).
    pub const fn grown(self, by: i32) -> Self {
        Self { x0: self.x0 - by, y0: self.y0 - by, x1: self.x1 + by, y1: self.y1 + by }
    }

    /// The smallest that holds both.
    pub fn and(self, other: Self) -> Self {
        Self {
            x0: self.x0.min(other.x0),
            y0: self.y0.min(other.y0),
            x1: self.x1.max(other.x1),
            y1: self.y1.max(other.y1),
        }
    }

    /// Moved.
    pub const fn moved(self, x: i32, y: i32) -> Self {
        Self { x0: self.x0 + x, y0: self.y0 + y, x1: self.x1 + x, y1: self.y1 + y }
    }

    /// The point in the middle.
    pub const fn middle(self) -> Point {
        at((self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2)
    }
}

/// A direction along an axis.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Turn {
    /// To the right.
    Right,
    /// Down.
    Down,
    /// To the left.
    Left,
    /// Up.
    Up,
}

impl Turn {
    /// The step of one unit.
    pub const fn step(self) -> Point {
        match self {
            Turn::Right => at(1, 0),
            Turn::Down => at(0, 1),
            Turn::Left => at(-1, 0),
            Turn::Up => at(0, -1),
        }
    }

    /// The opposite direction.
    pub const fn back(self) -> Self {
        match self {
            Turn::Right => Turn::Left,
            Turn::Down => Turn::Up,
            Turn::Left => Turn::Right,
            Turn::Up => Turn::Down,
        }
    }

    /// Whether it runs up or down.
    pub const fn is_vertical(self) -> bool {
        matches!(self, Turn::Down | Turn::Up)
    }
}

/// A straight piece of wire, along an axis, its ends in ascending order.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct Segment {
    /// The left or upper end.
    pub a: Point,
    /// The right or lower end.
    pub b: Point,
}

impl Segment {
    /// Between two points on one horizontal or vertical line.
    pub fn new(a: Point, b: Point) -> Self {
        debug_assert!(a.x == b.x || a.y == b.y, "{a:?} {b:?} is a slanted wire");
        if a <= b { Self { a, b } } else { Self { a: b, b: a } }
    }

    /// Whether it runs up and down.
    pub const fn is_vertical(self) -> bool {
        self.a.x == self.b.x
    }

    /// Whether a point lies on it, ends included.
    pub const fn holds(self, p: Point) -> bool {
        self.a.x <= p.x && p.x <= self.b.x && self.a.y <= p.y && p.y <= self.b.y
    }

    /// Length.
    pub const fn length(self) -> i32 {
        self.b.x - self.a.x + self.b.y - self.a.y
    }

    /// As a rectangle without area.
    pub const fn rect(self) -> Rect {
        Rect { x0: self.a.x, y0: self.a.y, x1: self.b.x, y1: self.b.y }
    }

    /// The points that both hold: nothing, a point (as an empty segment), or a stretch.
    pub fn common(self, other: Self) -> Option<Self> {
        let a = at(self.a.x.max(other.a.x), self.a.y.max(other.a.y));
        let b = at(self.b.x.min(other.b.x), self.b.y.min(other.b.y));
        (a.x <= b.x && a.y <= b.y).then_some(Self { a, b })
    }
}

/// Joins pieces that lie on one line and touch, and drops empty ones.
pub fn joined(mut segments: Vec<Segment>) -> Vec<Segment> {
    segments.retain(|s| s.length() > 0);
    segments.sort_by_key(|s| (s.is_vertical(), if s.is_vertical() { (s.a.x, s.a.y) } else { (s.a.y, s.a.x) }));
    let mut out: Vec<Segment> = Vec::with_capacity(segments.len());
    for s in segments {
        if let Some(last) = out.last_mut()
            && last.is_vertical() == s.is_vertical()
            && last.common(s).is_some()
        {
            last.b = last.b.max(s.b);
            continue;
        }
        out.push(s);
    }
    out
}
