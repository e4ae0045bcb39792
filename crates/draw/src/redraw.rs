//! Redraws: what did not change keeps its place, and what is new stands in the place of what it replaces.

use std::collections::{HashMap, HashSet, VecDeque};

use crate::geometry::{Point, Rect, Segment, Turn, at};
use crate::label::has_tag;
use crate::layout::{Layout, Options, Placed, Side, Tag, TagSide};
use crate::measure::measure;
use crate::picture::{Picture, Symbol};

/// Lays out a picture in the places of the previous one; `None` where that leads to no sound drawing.
pub fn redraw(picture: &Picture, previous: &Layout) -> Option<Layout> {
    let old: HashMap<&str, usize> =
        previous.parts.iter().enumerate().map(|(index, part)| (part.key.as_str(), index)).collect();
    let mut of_node: Vec<Option<usize>> = vec![None; previous.nodes.len()];
    let old_node: HashMap<&str, usize> =
        previous.nodes.iter().enumerate().map(|(index, key)| (key.as_str(), index)).collect();
    for (index, node) in picture.nodes.iter().enumerate() {
        if let Some(old) = old_node.get(node.key.as_str()) {
            of_node[*old] = Some(index);
        }
    }
    let mut parts: Vec<Option<Placed>> = vec![None; picture.parts.len()];
    for (index, part) in picture.parts.iter().enumerate() {
        let Some(before) = old.get(part.key.as_str()) else { continue };
        let (symbol, ends) = &previous.drawn[*before];
        if symbol.terminals() != part.symbol.terminals() || ends.len() != part.terminals.len() {
            return None;
        }
        for (end, node) in ends.iter().zip(&part.terminals) {
            match of_node[*end] {
                Some(other) if other != *node => return None,
                _ => of_node[*end] = Some(*node),
            }
        }
        parts[index] = Some(previous.parts[*before].clone());
    }
    let mut wires: Vec<Vec<Segment>> = vec![Vec::new(); picture.nodes.len()];
    for (end, node) in of_node.iter().enumerate() {
        if let Some(node) = node {
            wires[*node].extend(&previous.wires[end]);
        }
    }
    // What is gone without a successor and has both ends at one node now is a wire.
    let replaced: HashSet<&str> = picture.parts.iter().flat_map(|part| &part.replaces).map(String::as_str).collect();
    let kept: HashSet<&str> = picture.parts.iter().map(|part| part.key.as_str()).collect();
    for (index, placed) in previous.parts.iter().enumerate() {
        let (symbol, ends) = &previous.drawn[index];
        if let ([a, b], false, false) =
            (ends.as_slice(), kept.contains(placed.key.as_str()), replaced.contains(placed.key.as_str()))
            && let (Some(a), Some(b)) = (of_node[*a], of_node[*b])
            && a == b
        {
            let pins = placed.pins(*symbol);
            wires[a].push(Segment::new(pins[0], pins[1]));
        }
    }
    let mut layout = Layout { parts: Vec::new(), wires, ..Layout::default() };
    // New parts one after the other, each at the first place that fits.
    let mut taken: Vec<(usize, Placed)> = Vec::new();
    for (index, part) in picture.parts.iter().enumerate() {
        if parts[index].is_some() {
            continue;
        }
        let members: Vec<usize> = part.replaces.iter().filter_map(|key| old.get(key.as_str()).copied()).collect();
        if members.is_empty() || part.terminals.len() != 2 {
            return None;
        }
        let (placed, ways) = places(previous, &members)
            .into_iter()
            .flat_map(|(middle, turn)| [(middle, turn), (middle, turn.back())])
            .find_map(|(middle, turn)| {
                let placed = Placed {
                    key: part.key.clone(),
                    at: middle,
                    turn,
                    flip: false,
                    side: if turn.is_vertical() { Side::Right } else { Side::Above },
                };
                let ways = connect(previous, &of_node, &members, &placed, [part.terminals[0], part.terminals[1]])?;
                Some((placed, ways))
            })?;
        for (node, way) in part.terminals.iter().zip(ways) {
            layout.wires[*node].extend(way);
        }
        taken.push((index, placed));
    }
    let new: Vec<usize> = taken.iter().map(|taken| taken.0).collect();
    for (index, placed) in taken {
        parts[index] = Some(placed);
    }
    layout.parts = parts.into_iter().collect::<Option<Vec<Placed>>>()?;
    layout.tags = vec![None; picture.nodes.len()];
    for node in 0..picture.nodes.len() {
        let pins = layout.pins_of(picture, node);
        layout.wires[node] = pruned(&layout.wires[node], &pins)?;
    }
    for (end, node) in of_node.iter().enumerate() {
        if let (Some(node), Some(tag)) = (node, previous.tags[end])
            && has_tag(&picture.nodes[*node])
            && layout.wires[*node].iter().any(|wire| wire.holds(tag.at))
        {
            layout.tags[*node].get_or_insert(tag);
        }
    }
    layout.inherited = true;
    layout.combed = previous.combed;
    layout.finish(picture);
    let sound = |layout: &Layout| {
        let measures = measure(picture, layout);
        measures.overlaps.is_empty() && measures.faithful
    };
    for index in new {
        let sides: &[Side] = if layout.parts[index].turn.is_vertical() {
            &[Side::Right, Side::Left]
        } else {
            &[Side::Above, Side::Below, Side::Over]
        };
        let faults = |side: &Side| {
            let mut trial = layout.clone();
            trial.parts[index].side = *side;
            measure(picture, &trial).overlaps.len()
        };
        if let Some(best) = sides.iter().min_by_key(|side| faults(side)) {
            layout.parts[index].side = *best;
        }
    }
    for node in 0..picture.nodes.len() {
        if has_tag(&picture.nodes[node]) && layout.tags[node].is_none() {
            let points: Vec<Point> = layout
                .dots(picture, node)
                .into_iter()
                .chain(layout.wires[node].iter().flat_map(|w| [w.a, w.b]))
                .collect();
            let sides = [TagSide::Corner, TagSide::Below, TagSide::Above, TagSide::Beside];
            let tag = points.into_iter().flat_map(|at| sides.map(|side| Tag { at, side })).find(|tag| {
                let mut trial = layout.clone();
                trial.tags[node] = Some(*tag);
                sound(&trial)
            })?;
            layout.tags[node] = Some(tag);
        }
    }
    layout.finish(picture);
    sound(&layout).then_some(layout)
}

impl Layout {
    /// Lays out a circuit that came from the one of `previous` by replacing some parts: everything else stays where it is, and a
    /// new part stands in the middle of those that it replaces. Where that cannot be, the layout is made anew, which
    /// [`Layout::inherited`] tells.
    pub fn redraw(picture: &Picture, previous: &Layout, options: &Options) -> Self {
        if !picture.is_sound() {
            return Self::default();
        }
        redraw(picture, previous).unwrap_or_else(|| Self::new(picture, options))
    }
}

/// Where a part may stand that takes the place of others, best first.
fn places(previous: &Layout, members: &[usize]) -> Vec<(Point, Turn)> {
    let body = |member: &usize| previous.parts[*member].body(previous.drawn[*member].0);
    let Some(bounds) = members.iter().map(body).reduce(Rect::and) else { return Vec::new() };
    let middle = bounds.middle();
    let mut own: Vec<&Placed> = members
        .iter()
        .filter(|member| previous.drawn[**member].1.len() == 2)
        .map(|member| &previous.parts[*member])
        .collect();
    let away = |placed: &Placed| (placed.at.x - middle.x).abs() + (placed.at.y - middle.y).abs();
    own.sort_by_key(|placed| away(placed));
    let mut out = Vec::new();
    let upright = own.iter().filter(|placed| placed.turn.is_vertical()).count();
    if upright == own.len() {
        out.push((middle, Turn::Down));
    } else if upright == 0 {
        out.push((middle, Turn::Right));
    }
    out.extend(own.iter().map(|placed| (placed.at, placed.turn)));
    out
}

/// Wires from both pins of a new part to the wires of its nodes, through what its members leave.
fn connect(
    previous: &Layout,
    of_node: &[Option<usize>],
    members: &[usize],
    placed: &Placed,
    nodes: [usize; 2],
) -> Option<[Vec<Segment>; 2]> {
    let pins = placed.pins(Symbol::Resistor);
    let body = Segment::new(pins[0], pins[1]);
    // What conducts: the wires of both nodes, those of nodes that are gone, and the members as wires.
    let mut goal: [Vec<Segment>; 2] = [Vec::new(), Vec::new()];
    let mut free: Vec<Segment> = Vec::new();
    let touched: HashSet<usize> = members.iter().flat_map(|member| previous.drawn[*member].1.iter().copied()).collect();
    for (end, node) in of_node.iter().enumerate() {
        match node {
            Some(node) if *node == nodes[0] => goal[0].extend(&previous.wires[end]),
            Some(node) if *node == nodes[1] => goal[1].extend(&previous.wires[end]),
            None if touched.contains(&end) => free.extend(&previous.wires[end]),
            _ => {}
        }
    }
    let member_pins: Vec<(Vec<Point>, &Vec<usize>)> = members
        .iter()
        .map(|member| (previous.parts[*member].pins(previous.drawn[*member].0), &previous.drawn[*member].1))
        .collect();
    for (pins, _) in &member_pins {
        if let [a, b] = pins[..] {
            free.push(Segment::new(a, b));
        }
    }
    // Pins of members count as wire of their node: a bar may have none where they touch it.
    for (pins, ends) in &member_pins {
        for (pin, end) in pins.iter().zip(ends.iter()) {
            for (node, goal) in nodes.iter().zip(&mut goal) {
                if of_node[*end] == Some(*node) {
                    goal.push(Segment { a: *pin, b: *pin });
                }
            }
        }
    }
    let step = placed.turn.step();
    let on_line = free.iter().chain(&goal[0]).chain(&goal[1]).any(|s| s.holds(placed.at));
    if !on_line {
        // Straight on from both pins to the first wire.
        let mut ways: [Vec<Segment>; 2] = [Vec::new(), Vec::new()];
        for (index, direction) in [(0, -1), (1, 1)] {
            let pin = pins[index];
            let hit = ray(&goal[index], pin, step.x * direction, step.y * direction)?;
            let wire = Segment::new(pin, hit);
            if goal[1 - index].iter().any(|other| other.common(wire).is_some()) {
                return None;
            }
            ways[index].push(wire);
        }
        return Some(ways);
    }
    let first = way(&free, &goal[0], &goal[1], pins[0], body)?;
    let second = way(&free, &goal[1], &goal[0], pins[1], body)?;
    let clash = first.iter().any(|one| second.iter().any(|other| one.common(*other).is_some()));
    (!clash).then_some([first, second])
}

/// The nearest point of some wires straight on from a point.
fn ray(wires: &[Segment], from: Point, dx: i32, dy: i32) -> Option<Point> {
    wires
        .iter()
        .filter_map(|wire| {
            let hit = if dx == 0 {
                (wire.a.x <= from.x && from.x <= wire.b.x).then(|| {
                    let y = if dy > 0 { wire.a.y.max(from.y) } else { wire.b.y.min(from.y) };
                    at(from.x, if wire.is_vertical() { y } else { wire.a.y })
                })
            } else {
                (wire.a.y <= from.y && from.y <= wire.b.y).then(|| {
                    let x = if dx > 0 { wire.a.x.max(from.x) } else { wire.b.x.min(from.x) };
                    at(if wire.is_vertical() { wire.a.x } else { x }, from.y)
                })
            }?;
            let ahead = (hit.x - from.x) * dx + (hit.y - from.y) * dy;
            (ahead >= 0).then_some((ahead, hit))
        })
        .min_by_key(|hit| hit.0)
        .map(|hit| hit.1)
}

/// Pieces of wire between the points where something meets.
fn pieces(segments: &[Segment], marks: &[Point]) -> Vec<Segment> {
    let mut out = Vec::new();
    for segment in segments {
        let mut points: Vec<Point> = vec![segment.a, segment.b];
        points.extend(marks.iter().filter(|mark| segment.holds(**mark)));
        for other in segments {
            if let Some(common) = segment.common(*other) {
                points.extend([common.a, common.b]);
            }
        }
        points.sort();
        points.dedup();
        out.extend(points.windows(2).map(|pair| Segment { a: pair[0], b: pair[1] }));
    }
    out.sort();
    out.dedup();
    out
}

/// A way from a pin along free wires to a wire of `goal`, not through `body` and not touching `taboo`.
fn way(free: &[Segment], goal: &[Segment], taboo: &[Segment], pin: Point, body: Segment) -> Option<Vec<Segment>> {
    let mut marks: Vec<Point> = vec![pin, body.a, body.b];
    marks.extend(goal.iter().flat_map(|wire| [wire.a, wire.b]));
    let mut all: Vec<Segment> = free.to_vec();
    all.extend(goal);
    let pieces: Vec<Segment> = pieces(&all, &marks)
        .into_iter()
        .filter(|piece| piece.common(body).is_none_or(|common| common.length() == 0))
        .collect();
    let mut by: HashMap<Point, Point> = HashMap::from([(pin, pin)]);
    let mut queue = VecDeque::from([pin]);
    while let Some(here) = queue.pop_front() {
        if goal.iter().any(|wire| wire.holds(here)) {
            let mut out = Vec::new();
            let mut at = here;
            while by[&at] != at {
                out.push(Segment::new(by[&at], at));
                at = by[&at];
            }
            return Some(out);
        }
        if taboo.iter().any(|wire| wire.holds(here)) {
            continue;
        }
        for piece in &pieces {
            let next = if piece.a == here {
                piece.b
            } else if piece.b == here {
                piece.a
            } else {
                continue;
            };
            by.entry(next).or_insert_with(|| {
                queue.push_back(next);
                here
            });
        }
    }
    None
}

/// What is needed of some wires to join pins: ends that lead nowhere are taken away. `None` if they do not join all of them.
fn pruned(wires: &[Segment], pins: &[Point]) -> Option<Vec<Segment>> {
    let mut pieces = pieces(wires, pins);
    // Without rings: the pieces that a search from the first pin uses.
    if let Some(start) = pins.first() {
        let mut seen: HashSet<Point> = HashSet::from([*start]);
        let mut queue = VecDeque::from([*start]);
        let mut used: HashSet<Segment> = HashSet::new();
        while let Some(here) = queue.pop_front() {
            for piece in &pieces {
                let next = if piece.a == here {
                    piece.b
                } else if piece.b == here {
                    piece.a
                } else {
                    continue;
                };
                if seen.insert(next) {
                    used.insert(*piece);
                    queue.push_back(next);
                }
            }
        }
        if pins.iter().any(|pin| !seen.contains(pin)) {
            return None;
        }
        pieces.retain(|piece| used.contains(piece));
    }
    let open = |pieces: &[Segment], end: Point| {
        !pins.contains(&end) && pieces.iter().filter(|piece| piece.a == end || piece.b == end).count() == 1
    };
    // A wire that ends open on purpose keeps its end.
    while pins.len() > 1
        && let Some(index) = pieces.iter().position(|piece| open(&pieces, piece.a) || open(&pieces, piece.b))
    {
        pieces.swap_remove(index);
    }
    Some(pieces)
}
