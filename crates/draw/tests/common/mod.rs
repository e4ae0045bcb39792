//! Random circuits from a seed.

use ohmline_draw::{Node, Part, Picture, Symbol, Throw};

/// A small generator of our own (xorshift, G. Marsaglia 2003), so that a seed means the same circuit everywhere.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 11) as usize) % n.max(1)
    }
}

/// How a circuit comes about.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Shape {
    /// Grown by putting elements in series and side by side: planar.
    SeriesParallel,
    /// A piece of a triangular lattice: planar.
    Lattice,
    /// Any two nodes: mostly not planar.
    Any,
    /// Any, with dead ends, shorted elements, several pieces and elements with three terminals.
    Wild,
}

impl Shape {
    pub const ALL: [Shape; 4] = [Shape::SeriesParallel, Shape::Lattice, Shape::Any, Shape::Wild];

    pub fn is_planar(self) -> bool {
        matches!(self, Shape::SeriesParallel | Shape::Lattice)
    }
}

/// A circuit of `n` elements.
pub fn circuit(shape: Shape, n: usize, seed: u64) -> Picture {
    let mut dice = Dice::new(seed);
    let mut ends: Vec<Vec<usize>> = match shape {
        Shape::SeriesParallel => series_parallel(n, &mut dice),
        Shape::Lattice => lattice(n, &mut dice),
        Shape::Any => {
            let nodes = 2 + dice.below(n.div_ceil(2) + 1);
            let mut ends: Vec<Vec<usize>> = (1..nodes).map(|v| vec![dice.below(v), v]).take(n).collect();
            while ends.len() < n {
                let (a, b) = (dice.below(nodes), dice.below(nodes));
                if a != b {
                    ends.push(vec![a, b]);
                }
            }
            ends
        }
        Shape::Wild => {
            let nodes = 2 + dice.below(n);
            (0..n)
                .map(|_| {
                    let count = if dice.below(6) == 0 { 3 } else { 2 };
                    (0..count).map(|_| dice.below(nodes)).collect()
                })
                .collect()
        }
    };
    // In random order, as text may be.
    for i in (1..ends.len()).rev() {
        ends.swap(i, dice.below(i + 1));
    }
    let mut number: Vec<usize> = Vec::new();
    let mut parts = Vec::new();
    let mut has_source = false;
    for (index, ends) in ends.into_iter().enumerate() {
        let mut terminals = Vec::new();
        for end in ends {
            let at = number.iter().position(|v| *v == end).unwrap_or_else(|| {
                number.push(end);
                number.len() - 1
            });
            terminals.push(at);
        }
        if dice.below(2) == 0 && terminals.len() == 2 {
            terminals.reverse();
        }
        let symbol = match (terminals.len(), dice.below(20)) {
            (3, r) if r < 10 => Symbol::Potentiometer,
            (3, _) => Symbol::Changeover { throw: Throw::B },
            _ if !has_source => Symbol::Battery,
            (_, 0) => Symbol::Battery,
            (_, 1) => Symbol::CurrentSource,
            (_, 2) => Symbol::VoltageSource,
            (_, 3) => Symbol::Lamp,
            (_, 4) => Symbol::Switch { closed: false },
            (_, 5) => Symbol::Ammeter,
            (_, 6) => Symbol::Voltmeter,
            (_, 7) => Symbol::Capacitor,
            (_, 8) => Symbol::Electrolytic,
            (_, 9) => Symbol::Inductor,
            (_, 10) => Symbol::Diode,
            (_, 11) => Symbol::Fuse,
            _ => Symbol::Resistor,
        };
        has_source |= symbol == Symbol::Battery;
        let mut part = Part::new(&format!("R{index}"), symbol, &terminals);
        if dice.below(3) > 0 {
            part.value = Some(format!("{}.{} kΩ", 1 + dice.below(900), dice.below(10)));
        }
        if dice.below(4) == 0 {
            part.solved = vec!["I = 125 mA".to_owned(), "U = 3.75 V".to_owned()];
        }
        if dice.below(5) == 0 && terminals.len() == 2 {
            part.arrow = Some(ohmline_draw::Arrow { forward: dice.below(2) == 0, text: format!("I{index}") });
        }
        parts.push(part);
    }
    let nodes = (0..number.len())
        .map(|index| {
            let mut node = Node { key: format!("n{index}"), ..Node::default() };
            if dice.below(4) == 0 {
                node.label = Some(format!("point{index}"));
                node.names = vec![format!("point{index}")];
            }
            if dice.below(8) == 0 {
                node.potential = Some("4.5 V".to_owned());
            }
            node
        })
        .collect::<Vec<_>>();
    let mut picture = Picture { title: "Random".to_owned(), nodes, parts, ..Picture::default() };
    if dice.below(3) == 0 {
        let at = dice.below(picture.nodes.len());
        picture.nodes[at].reference = true;
    }
    picture
}

fn series_parallel(n: usize, dice: &mut Dice) -> Vec<Vec<usize>> {
    let mut ends = vec![vec![0, 1], vec![0, 1]];
    let mut nodes = 2;
    while ends.len() < n {
        let at = 1 + dice.below(ends.len() - 1);
        let (a, b) = (ends[at][0], ends[at][1]);
        if dice.below(2) == 0 {
            ends[at] = vec![a, nodes];
            ends.push(vec![nodes, b]);
            nodes += 1;
        } else {
            ends.push(vec![a, b]);
        }
    }
    ends
}

fn lattice(n: usize, dice: &mut Dice) -> Vec<Vec<usize>> {
    let wide = 2 + dice.below(4);
    let high = 2 + n / (2 * wide);
    let at = |x: usize, y: usize| y * wide + x;
    let mut all = Vec::new();
    for y in 0..high {
        for x in 0..wide {
            if x + 1 < wide {
                all.push(vec![at(x, y), at(x + 1, y)]);
            }
            if y + 1 < high {
                all.push(vec![at(x, y), at(x, y + 1)]);
            }
            if x + 1 < wide && y + 1 < high && dice.below(2) == 0 {
                all.push(vec![at(x, y), at(x + 1, y + 1)]);
            }
        }
    }
    // Grown from one element, so that it hangs together.
    let mut reached = vec![false; wide * high];
    let first = dice.below(all.len());
    let mut ends = vec![all.swap_remove(first)];
    reached[ends[0][0]] = true;
    reached[ends[0][1]] = true;
    while ends.len() < n {
        let near: Vec<usize> = (0..all.len()).filter(|e| all[*e].iter().any(|v| reached[*v])).collect();
        if near.is_empty() {
            break;
        }
        let taken = all.swap_remove(near[dice.below(near.len())]);
        for v in &taken {
            reached[*v] = true;
        }
        ends.push(taken);
    }
    ends
}
