//! What a drawing is worth, from its geometry alone: overlaps, crossings, bends, size, and the connections that its touching
//! ends make.

use std::collections::HashMap;

use crate::geometry::{Point, Rect, Segment};
use crate::layout::Layout;
use crate::picture::Picture;

/// The figures of a drawing.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Measures {
    /// What lies on what that it should not, in words; empty for a sound drawing.
    pub overlaps: Vec<String>,
    /// Crossings of wires without connection.
    pub crossings: usize,
    /// Corners of wires.
    pub bends: usize,
    /// Width and height of the frame.
    pub size: (i32, i32),
    /// The longest straight stretch of wire.
    pub longest_wire: i32,
    /// For each part, for each terminal: the number of the net that touching ends make.
    pub nets: Vec<Vec<usize>>,
    /// Whether those nets are the nodes of the picture.
    pub faithful: bool,
}

/// Measures a drawing.
pub fn measure(picture: &Picture, layout: &Layout) -> Measures {
    let mut measures = Measures::default();
    if layout.parts.len() != picture.parts.len() || layout.wires.len() != picture.nodes.len() {
        measures.overlaps.push("the layout is not one of this picture".to_owned());
        return measures;
    }
    if let Some(frame) = layout.frame {
        measures.size = (frame.x1 - frame.x0, frame.y1 - frame.y0);
    }
    let wires: Vec<(usize, Segment)> = layout
        .wires
        .iter()
        .enumerate()
        .flat_map(|(node, segments)| segments.iter().map(move |segment| (node, *segment)))
        .collect();
    measures.longest_wire = wires.iter().map(|wire| wire.1.length()).max().unwrap_or(0);
    boxes(picture, layout, &wires, &mut measures);
    lines(&wires, &mut measures);
    let dots: Vec<Point> = (0..picture.nodes.len()).flat_map(|node| layout.dots(picture, node)).collect();
    nets(picture, layout, &wires, &dots, &mut measures);
    measures
}

/// Symbols and texts against each other and against wires.
fn boxes(picture: &Picture, layout: &Layout, wires: &[(usize, Segment)], measures: &mut Measures) {
    let mut boxes: Vec<(Rect, String)> = picture
        .parts
        .iter()
        .zip(&layout.parts)
        .map(|(part, placed)| (placed.body(part.symbol), format!("the symbol of {}", part.key)))
        .collect();
    boxes.extend(layout.texts(picture).into_iter().map(|text| {
        let name = format!("\"{}\" of {}", text.text, text.of);
        (text.rect, name)
    }));
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.sort_by_key(|index| boxes[*index].0.x0);
    for (at, one) in order.iter().enumerate() {
        let (rect, name) = &boxes[*one];
        for other in &order[at + 1..] {
            let (second, second_name) = &boxes[*other];
            if second.x0 >= rect.x1 {
                break;
            }
            if rect.overlaps(*second) {
                measures.overlaps.push(format!("{name} and {second_name}"));
            }
        }
        for (node, wire) in wires {
            let line = wire.rect();
            // A wire is thin: it must stay out of the interior, and may end at the border.
            if line.x0 < rect.x1
                && rect.x0 < line.x1.max(line.x0 + 1)
                && line.y0 < rect.y1
                && rect.y0 < line.y1.max(line.y0 + 1)
            {
                let within = Rect {
                    x0: line.x0.max(rect.x0),
                    x1: line.x1.min(rect.x1),
                    y0: line.y0.max(rect.y0),
                    y1: line.y1.min(rect.y1),
                };
                let inner = if wire.is_vertical() {
                    within.x0 > rect.x0 && within.x0 < rect.x1 && within.y0 < within.y1
                } else {
                    within.y0 > rect.y0 && within.y0 < rect.y1 && within.x0 < within.x1
                };
                if inner {
                    measures.overlaps.push(format!("{name} and a wire of {}", picture.nodes[*node].key));
                }
            }
        }
    }
}

/// Wires against wires.
fn lines(wires: &[(usize, Segment)], measures: &mut Measures) {
    for (index, (node, wire)) in wires.iter().enumerate() {
        for (other_node, other) in &wires[index + 1..] {
            let Some(common) = wire.common(*other) else { continue };
            if common.length() > 0 {
                if node != other_node {
                    measures.overlaps.push("two wires on one line".to_owned());
                }
                continue;
            }
            let ends = |segment: &Segment| segment.a == common.a || segment.b == common.a;
            match (node == other_node, ends(wire), ends(other)) {
                (true, true, true) if wire.is_vertical() != other.is_vertical() => measures.bends += 1,
                (true, ..) => {}
                (false, false, false) => measures.crossings += 1,
                (false, ..) => measures.overlaps.push("a wire ends on another one".to_owned()),
            }
        }
    }
}

/// Rebuilds the connections: ends that touch are one net; wires that pass through each other are not, but for a dot.
fn nets(picture: &Picture, layout: &Layout, wires: &[(usize, Segment)], dots: &[Point], measures: &mut Measures) {
    let pins: Vec<Vec<Point>> =
        picture.parts.iter().zip(&layout.parts).map(|(part, placed)| placed.pins(part.symbol)).collect();
    let pin_count: usize = pins.iter().map(Vec::len).sum();
    let mut joined: Vec<usize> = (0..wires.len() + pin_count).collect();
    fn root(joined: &mut [usize], mut at: usize) -> usize {
        while joined[at] != at {
            joined[at] = joined[joined[at]];
            at = joined[at];
        }
        at
    }
    let mut join = |a: usize, b: usize| {
        let (a, b) = (root(&mut joined, a), root(&mut joined, b));
        joined[a] = b;
    };
    for (index, (_, wire)) in wires.iter().enumerate() {
        for (second, (_, other)) in wires.iter().enumerate().skip(index + 1) {
            if let Some(common) = wire.common(*other) {
                let end = |segment: &Segment| segment.a == common.a || segment.b == common.a;
                if common.length() > 0 || end(wire) || end(other) || dots.contains(&common.a) {
                    join(index, second);
                }
            }
        }
    }
    let mut number = wires.len();
    let mut places: HashMap<Point, usize> = HashMap::new();
    for point in pins.iter().flatten() {
        for (index, (_, wire)) in wires.iter().enumerate() {
            if wire.holds(*point) {
                join(index, number);
            }
        }
        if let Some(other) = places.insert(*point, number) {
            join(other, number);
        }
        number += 1;
    }
    let mut number = wires.len();
    for pins in &pins {
        let mut of = Vec::with_capacity(pins.len());
        for _ in pins {
            of.push(root(&mut joined, number));
            number += 1;
        }
        measures.nets.push(of);
    }
    let mut there: HashMap<usize, usize> = HashMap::new();
    let mut back: HashMap<usize, usize> = HashMap::new();
    measures.faithful = picture.parts.iter().zip(&measures.nets).all(|(part, nets)| {
        part.terminals.iter().zip(nets).all(|(node, net)| {
            *there.entry(*node).or_insert(*net) == *net && *back.entry(*net).or_insert(*node) == *node
        })
    });
}
