//! The working network: parts between points, and which of them stand at the moment.

use malachite::Rational;
use ohmline_circuit::{ElementId, NodeId};
use smol_str::SmolStr;

use crate::line::Figure;
use crate::model::{PartKind, Stage, StagePart, StagePoint};
use crate::structure;

/// How a part behaves; its voltage from `from` to `to` is `emf + resistance x current` with the current from `from` to `to`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Behavior {
    /// A resistance.
    Resistance(Rational),
    /// A voltage with a resistance in series.
    Emf { emf: Rational, internal: Rational },
    /// A current out of `from`.
    Drive(Rational),
    /// Two points that a question speaks of: nothing, electrically.
    Terminals,
}

/// A part.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    pub name: SmolStr,
    /// Whether the name of the part is the symbol of its resistance, as with resistors.
    pub bare: bool,
    pub element: Option<ElementId>,
    pub behavior: Behavior,
    /// Whether its value is given.
    pub given: bool,
    /// Place in the text, for order: of the first element in it, of the last.
    pub span: (u32, u32),
    /// The outermost operation of the name, for brackets.
    pub shape: Shape,
    /// Names of the first and the last part that went into it.
    pub ends: (SmolStr, SmolStr),
}

/// How a name is put together.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Shape {
    Single,
    Sum,
    Beside,
}

impl Part {
    pub fn resistance(&self) -> Option<&Rational> {
        match &self.behavior {
            Behavior::Resistance(value) => Some(value),
            _ => None,
        }
    }

    pub fn is_source(&self) -> bool {
        !matches!(self.behavior, Behavior::Resistance(_))
    }

    /// The symbol of its resistance: `R1`, `R(L1)`.
    pub fn symbol(&self) -> String {
        if self.bare { self.name.to_string() } else { format!("R({})", self.name) }
    }

    /// The symbol as a factor or a divisor.
    pub fn factor(&self) -> String {
        if self.bare && self.shape != Shape::Single { format!("({})", self.name) } else { self.symbol() }
    }

    /// The symbol as a summand.
    pub fn summand(&self) -> String {
        if self.bare && self.shape == Shape::Sum { format!("({})", self.name) } else { self.symbol() }
    }

    /// Its resistance as a figure.
    pub fn ohms(&self) -> Figure {
        let zero = Rational::from(0);
        let value = match &self.behavior {
            Behavior::Resistance(value) | Behavior::Emf { internal: value, .. } => value,
            _ => &zero,
        };
        Figure::ohm(value).given_if(self.given)
    }
}

/// A part where it stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Placed {
    pub part: usize,
    pub from: usize,
    pub to: usize,
}

impl Placed {
    pub fn touches(&self, point: usize) -> bool {
        self.from == point || self.to == point
    }

    /// The other end.
    pub fn far(&self, point: usize) -> usize {
        if self.from == point { self.to } else { self.from }
    }
}

/// A point: nodes that are one once wires are contracted.
#[derive(Clone, Debug, Default)]
pub(crate) struct Point {
    pub nodes: Vec<NodeId>,
    pub label: String,
    /// Whether the label is a name, not a description.
    pub named: bool,
}

/// The network.
#[derive(Clone, Debug, Default)]
pub(crate) struct Net {
    pub points: Vec<Point>,
    /// Every part that ever was.
    pub parts: Vec<Part>,
    /// Those that stand now.
    pub placed: Vec<Placed>,
}

impl Net {
    pub fn name(&self, placed: Placed) -> &str {
        &self.parts[placed.part].name
    }

    pub fn sources(&self) -> Vec<Placed> {
        self.placed.iter().copied().filter(|placed| self.parts[placed.part].is_source()).collect()
    }

    pub fn resistances(&self) -> Vec<Placed> {
        self.placed.iter().copied().filter(|placed| !self.parts[placed.part].is_source()).collect()
    }

    pub fn at(&self, point: usize) -> Vec<Placed> {
        self.placed.iter().copied().filter(|placed| placed.touches(point)).collect()
    }

    pub fn degree(&self, point: usize) -> usize {
        self.placed.iter().map(|placed| usize::from(placed.from == point) + usize::from(placed.to == point)).sum()
    }

    pub fn label(&self, point: usize) -> &str {
        &self.points[point].label
    }

    /// The points that something touches.
    pub fn live_points(&self) -> Vec<usize> {
        (0..self.points.len()).filter(|&point| self.placed.iter().any(|placed| placed.touches(point))).collect()
    }

    /// The network as a stage; `new` are the parts that came, with what they replaced.
    pub fn stage(&self, new: &[(usize, Vec<SmolStr>)]) -> Stage {
        let live = self.live_points();
        let place = |point: usize| live.binary_search(&point).unwrap_or(0);
        let points = live
            .iter()
            .map(|&point| {
                let point = &self.points[point];
                StagePoint { nodes: point.nodes.clone(), label: point.label.clone(), named: point.named }
            })
            .collect();
        let mut placed = self.placed.clone();
        placed.sort_by_key(|placed| self.parts[placed.part].span);
        let parts = placed
            .iter()
            .map(|placed| {
                let part = &self.parts[placed.part];
                let came = new.iter().find(|(index, _)| *index == placed.part);
                let (kind, value, internal) = match &part.behavior {
                    Behavior::Resistance(value) => (PartKind::Resistance, Figure::ohm(value), None),
                    Behavior::Emf { emf, internal } => (
                        PartKind::Emf,
                        Figure::volt(emf),
                        (*internal != 0).then(|| Figure::ohm(internal).given_if(part.given)),
                    ),
                    Behavior::Drive(drive) => (PartKind::Drive, Figure::ampere(drive), None),
                    Behavior::Terminals => (PartKind::Terminals, Figure::ohm(&Rational::from(0)), None),
                };
                StagePart {
                    name: part.name.clone(),
                    element: part.element,
                    kind,
                    from: place(placed.from),
                    to: place(placed.to),
                    value: value.given_if(part.given),
                    internal,
                    current: None,
                    new: came.is_some(),
                    replaces: came.map_or_else(Vec::new, |(_, replaces)| replaces.clone()),
                }
            })
            .collect();
        Stage { points, parts, rings: Vec::new(), structure: structure::one_line(self) }
    }

    /// Distance of each point from the nearest of these, in parts.
    pub fn distances(&self, from: &[usize]) -> Vec<usize> {
        let mut distance = vec![usize::MAX; self.points.len()];
        let mut queue: Vec<usize> = from.to_vec();
        for &point in from {
            distance[point] = 0;
        }
        let mut next = 0;
        while next < queue.len() {
            let point = queue[next];
            next += 1;
            for placed in self.at(point) {
                let far = placed.far(point);
                if distance[far] == usize::MAX && !self.parts[placed.part].is_source() {
                    distance[far] = distance[point] + 1;
                    queue.push(far);
                }
            }
        }
        distance
    }
}
