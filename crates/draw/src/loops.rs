//! Places for the arrows of loops: in the widest free spot inside the loop.

use crate::geometry::{Point, Rect, Segment, at};
use crate::label::{Role, text_width};
use crate::layout::Layout;
use crate::picture::Picture;

/// A loop arrow in its place.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct PlacedLoop {
    /// Its middle.
    pub middle: Point,
    /// Its radius.
    pub radius: i32,
    /// Which way it runs.
    pub clockwise: bool,
}

/// One place for each loop; `None` where there is no room inside it, or its parts form no loop.
pub fn place(picture: &Picture, layout: &Layout) -> Vec<Option<PlacedLoop>> {
    if picture.loops.is_empty() {
        return Vec::new();
    }
    let mut solid: Vec<Rect> = layout.texts(picture).iter().map(|text| text.rect).collect();
    solid.extend(picture.parts.iter().zip(&layout.parts).map(|(part, placed)| placed.body(part.symbol)));
    solid.extend(layout.wires.iter().flatten().map(|wire| wire.rect()));
    let mut out: Vec<Option<PlacedLoop>> = Vec::new();
    for wanted in &picture.loops {
        let found = outline(picture, layout, &wanted.parts).and_then(|outline| {
            let clockwise = doubled_area(&outline) > 0;
            let need = (text_width(Role::Loop, &wanted.text) / 2 + 6).max(14);
            widest(&outline, &solid, need).map(|(middle, radius)| PlacedLoop { middle, radius, clockwise })
        });
        if let Some(found) = found {
            let r = found.radius + 8;
            solid.push(Rect {
                x0: found.middle.x - r,
                x1: found.middle.x + r,
                y0: found.middle.y - r,
                y1: found.middle.y + r,
            });
        }
        out.push(found);
    }
    out
}

/// Positive when the outline runs clockwise on a page whose y axis points down.
fn doubled_area(outline: &[Point]) -> i64 {
    let next = outline.iter().cycle().skip(1);
    outline.iter().zip(next).map(|(a, b)| i64::from(a.x) * i64::from(b.y) - i64::from(b.x) * i64::from(a.y)).sum()
}

/// The loop's way through the drawing.
fn outline(picture: &Picture, layout: &Layout, keys: &[String]) -> Option<Vec<Point>> {
    let parts: Vec<usize> =
        keys.iter().map(|key| picture.parts.iter().position(|part| part.key == *key)).collect::<Option<_>>()?;
    let first = *parts.first()?;
    let ends = |part: usize| (picture.parts[part].terminals[0], picture.parts[part].terminals[1]);
    let second = *parts.get(1)?;
    // The node at which the first part is left: the one that the second part shares (either one of a pair).
    let (a, b) = ends(first);
    let (c, d) = ends(second);
    let mut here = if b == c || b == d { b } else { a };
    let mut out: Vec<Point> = Vec::new();
    let pin = |part: usize, node: usize, leaving: bool| {
        let pins = layout.parts[part].pins(picture.parts[part].symbol);
        let (a, b) = ends(part);
        let index = if a == b { usize::from(leaving) } else { usize::from(b == node) };
        pins.get(index).copied()
    };
    let mut from = pin(first, here, true)?;
    for part in parts[1..].iter().chain(&parts[..1]) {
        let to = pin(*part, here, false)?;
        out.extend(path(&layout.wires[here], from, to)?);
        let (a, b) = ends(*part);
        here = if a == here { b } else { a };
        from = pin(*part, here, true)?;
        out.push(from);
    }
    Some(out)
}

/// A way along wires of one node, from point to point.
fn path(wires: &[Segment], from: Point, to: Point) -> Option<Vec<Point>> {
    let mut points: Vec<Point> = wires.iter().flat_map(|wire| [wire.a, wire.b]).chain([from, to]).collect();
    points.sort();
    points.dedup();
    let find = |point: Point| points.binary_search(&point).ok();
    let mut before: Vec<Option<usize>> = vec![None; points.len()];
    let start = find(from)?;
    let goal = find(to)?;
    before[start] = Some(start);
    let mut queue = std::collections::VecDeque::from([start]);
    while let Some(here) = queue.pop_front() {
        if here == goal {
            break;
        }
        for wire in wires.iter().filter(|wire| wire.holds(points[here])) {
            for (index, point) in points.iter().enumerate() {
                if before[index].is_none() && wire.holds(*point) {
                    before[index] = Some(here);
                    queue.push_back(index);
                }
            }
        }
    }
    let mut out = vec![to];
    let mut here = goal;
    while here != start {
        here = before[here]?;
        out.push(points[here]);
    }
    out.reverse();
    Some(out)
}

fn inside(outline: &[Point], p: Point) -> bool {
    let mut odd = false;
    let next = outline.iter().cycle().skip(1);
    for (a, b) in outline.iter().zip(next) {
        if a.x == b.x && (a.y.min(b.y)..a.y.max(b.y)).contains(&p.y) && a.x > p.x {
            odd = !odd;
        }
    }
    odd
}

/// The point inside that is farthest from everything, and a radius that fits there.
fn widest(outline: &[Point], solid: &[Rect], need: i32) -> Option<(Point, i32)> {
    let bounds = outline.iter().map(|p| Rect::of(*p, *p)).reduce(Rect::and)?;
    let middle = bounds.middle();
    let step = ((bounds.x1 - bounds.x0).max(bounds.y1 - bounds.y0) / 64).max(3);
    let near: Vec<Rect> = solid.iter().copied().filter(|rect| rect.overlaps(bounds.grown(60))).collect();
    let mut best: Option<(i32, i32, Point)> = None;
    let mut y = bounds.y0 + step;
    while y < bounds.y1 {
        let mut x = bounds.x0 + step;
        while x < bounds.x1 {
            let p = at(x, y);
            if inside(outline, p) {
                let free = near.iter().map(|rect| away(*rect, p)).min().unwrap_or(i32::MAX).min(need + 18);
                let off = (x - middle.x).abs() + (y - middle.y).abs();
                if best.is_none_or(|(most, far, _)| (free, -off) > (most, -far)) {
                    best = Some((free, off, p));
                }
            }
            x += step;
        }
        y += step;
    }
    let (free, _, point) = best?;
    (free >= need + 6).then(|| (point, (free - 8).clamp(need, 24.max(need))))
}

/// Distance of a point from a rectangle.
fn away(rect: Rect, p: Point) -> i32 {
    let dx = (rect.x0 - p.x).max(p.x - rect.x1).max(0);
    let dy = (rect.y0 - p.y).max(p.y - rect.y1).max(0);
    f64::from(dx * dx + dy * dy).sqrt() as i32
}
