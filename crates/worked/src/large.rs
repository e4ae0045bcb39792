//! Series and parallel in floating point, for networks of any size, in linear time.

/// A resistance between two points.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Ends {
    /// One point.
    pub from: u32,
    /// The other.
    pub to: u32,
    /// In ohms.
    pub ohms: f64,
}

/// The resistance between two points of a network that series and parallel replacements reduce to one; `None` where they do not,
/// or where nothing connects the two. Parts that carry nothing (dead ends, rings that hang at one point) are left out.
/// Every resistance must be positive. Linear in the number of resistances.
///
/// The replacements may come in any order, since none makes another impossible (Duffin, "Topology of series-parallel
/// networks", Journal of Mathematical Analysis and Applications 10, 1965).
pub fn equivalent(points: usize, resistances: &[Ends], from: u32, to: u32) -> Option<f64> {
    if from == to {
        return Some(0.0);
    }
    let mut net = Net::new(points, resistances)?;
    // Points with at most two neighbors, to be looked at; each replacement puts at most two points there again.
    let mut queue: Vec<u32> = (0..points as u32).collect();
    while let Some(point) = queue.pop() {
        if point == from || point == to {
            continue;
        }
        let Some(list) = net.short_list(point, &mut queue) else { continue };
        match list {
            Short::None => {}
            // A dead end.
            Short::One(edge) => {
                queue.push(net.far(edge, point));
                net.remove(edge);
            }
            Short::Two(one, other) => {
                let (a, b) = (net.far(one, point), net.far(other, point));
                if a == b {
                    // Side by side: one of them takes over, and is then a dead end.
                    net.ohms[one as usize] = beside(net.ohms[one as usize], net.ohms[other as usize]);
                    net.remove(other);
                    queue.push(point);
                    queue.push(a);
                    continue;
                }
                // In line: the first goes on to where the second ended.
                net.ohms[one as usize] += net.ohms[other as usize];
                net.remove(other);
                net.move_end(one, point, b);
                queue.push(a);
                queue.push(b);
            }
        }
    }
    net.answer(from, to)
}

fn beside(one: f64, other: f64) -> f64 {
    one * other / (one + other)
}

enum Short {
    None,
    One(u32),
    Two(u32, u32),
}

/// Edges in doubly linked lists, one list a point: each edge has two ends, numbered 2 e and 2 e + 1.
struct Net {
    point: Vec<u32>,
    next: Vec<u32>,
    before: Vec<u32>,
    first: Vec<u32>,
    ohms: Vec<f64>,
    gone: Vec<bool>,
    /// For merging side by side: the edge last seen towards a point, and in which look.
    seen: Vec<(u32, u32)>,
    look: u32,
}

const NONE: u32 = u32::MAX;
/// Entries of a list that one look goes through; further ones wait until replacements shorten the list.
const LOOK: usize = 8;

impl Net {
    fn new(points: usize, resistances: &[Ends]) -> Option<Self> {
        let mut net = Self {
            point: Vec::with_capacity(2 * resistances.len()),
            next: vec![NONE; 2 * resistances.len()],
            before: vec![NONE; 2 * resistances.len()],
            first: vec![NONE; points],
            ohms: Vec::with_capacity(resistances.len()),
            gone: vec![false; resistances.len()],
            seen: vec![(NONE, 0); points],
            look: 0,
        };
        for (edge, ends) in resistances.iter().enumerate() {
            if ends.from as usize >= points || ends.to as usize >= points {
                return None;
            }
            net.ohms.push(ends.ohms);
            net.point.extend([ends.from, ends.to]);
            if ends.from == ends.to {
                net.gone[edge] = true;
                continue;
            }
            net.link(2 * edge as u32, ends.from);
            net.link(2 * edge as u32 + 1, ends.to);
        }
        Some(net)
    }

    fn link(&mut self, end: u32, point: u32) {
        self.point[end as usize] = point;
        let first = self.first[point as usize];
        self.next[end as usize] = first;
        self.before[end as usize] = NONE;
        if first != NONE {
            self.before[first as usize] = end;
        }
        self.first[point as usize] = end;
    }

    fn unlink(&mut self, end: u32) {
        let (before, next) = (self.before[end as usize], self.next[end as usize]);
        match before {
            NONE => self.first[self.point[end as usize] as usize] = next,
            before => self.next[before as usize] = next,
        }
        if next != NONE {
            self.before[next as usize] = before;
        }
    }

    fn far(&self, edge: u32, point: u32) -> u32 {
        let (a, b) = (self.point[2 * edge as usize], self.point[2 * edge as usize + 1]);
        if a == point { b } else { a }
    }

    fn remove(&mut self, edge: u32) {
        self.gone[edge as usize] = true;
        self.unlink(2 * edge);
        self.unlink(2 * edge + 1);
    }

    fn move_end(&mut self, edge: u32, from: u32, to: u32) {
        let end = if self.point[2 * edge as usize] == from { 2 * edge } else { 2 * edge + 1 };
        self.unlink(end);
        self.link(end, to);
    }

    /// The list of a point if it has at most two edges once those side by side among its first few are merged.
    fn short_list(&mut self, point: u32, queue: &mut Vec<u32>) -> Option<Short> {
        self.look += 1;
        let mut kept: [u32; 2] = [NONE; 2];
        let mut count = 0;
        let mut end = self.first[point as usize];
        let mut looked = 0;
        while end != NONE {
            let next = self.next[end as usize];
            let edge = end / 2;
            let far = self.far(edge, point) as usize;
            if self.seen[far].1 == self.look {
                let known = self.seen[far].0 as usize;
                self.ohms[known] = beside(self.ohms[known], self.ohms[edge as usize]);
                self.remove(edge);
                // The other end has one neighbor's edge fewer.
                queue.push(far as u32);
            } else {
                self.seen[far] = (edge, self.look);
                if count < 2 {
                    kept[count] = edge;
                }
                count += 1;
                looked += 1;
                if looked > LOOK {
                    return None;
                }
            }
            end = next;
        }
        match count {
            0 => Some(Short::None),
            1 => Some(Short::One(kept[0])),
            2 => Some(Short::Two(kept[0], kept[1])),
            _ => None,
        }
    }

    /// What is left between the two terminals, if it is only edges between them.
    fn answer(&self, from: u32, to: u32) -> Option<f64> {
        let mut conductance = 0.0;
        let mut connected = false;
        for edge in 0..self.ohms.len() {
            if self.gone[edge] {
                continue;
            }
            let ends = (self.point[2 * edge], self.point[2 * edge + 1]);
            if ends != (from, to) && ends != (to, from) {
                // An edge elsewhere: harmless only where it hangs apart from both terminals, which reduction leaves open.
                return None;
            }
            conductance += 1.0 / self.ohms[edge];
            connected = true;
        }
        connected.then(|| 1.0 / conductance)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ends(list: &[(u32, u32, f64)]) -> Vec<Ends> {
        list.iter().map(|&(from, to, ohms)| Ends { from, to, ohms }).collect()
    }

    #[test]
    fn small_networks_by_hand() {
        // 3 ohm and 6 ohm side by side are 2 ohm; with 4 ohm in line 6 ohm.
        let net = ends(&[(0, 1, 4.0), (1, 2, 3.0), (1, 2, 6.0)]);
        assert_eq!(equivalent(3, &net, 0, 2), Some(6.0));
        // A dead end changes nothing.
        let net = ends(&[(0, 1, 4.0), (1, 2, 3.0), (1, 2, 6.0), (1, 3, 5.0)]);
        assert_eq!(equivalent(4, &net, 0, 2), Some(6.0));
        // A bridge does not reduce.
        let net = ends(&[(0, 1, 1.0), (0, 2, 2.0), (1, 2, 3.0), (1, 3, 4.0), (2, 3, 5.0)]);
        assert_eq!(equivalent(4, &net, 0, 3), None);
        assert_eq!(equivalent(3, &ends(&[(0, 1, 4.0)]), 0, 2), None);
    }

    /// A ladder of equal resistances in line and across tends to the golden ratio (from memory; the fixed point of
    /// x = 1 + x / (1 + x)).
    #[test]
    fn a_long_ladder() {
        let mut list = Vec::new();
        for k in 0..100_000u32 {
            list.push((k + 1, k + 2, 1.0));
            list.push((k + 2, 0, 1.0));
        }
        let found = equivalent(100_002, &ends(&list), 1, 0).expect("a ladder reduces");
        assert!((found - (1.0 + 5f64.sqrt()) / 2.0).abs() < 1e-12, "{found}");
    }

    /// Thousands of resistances between two rails, which have long lists.
    #[test]
    fn many_side_by_side() {
        let list: Vec<(u32, u32, f64)> = (0..50_000).flat_map(|k| [(0, k + 2, 1.0), (k + 2, 1, 1.0)]).collect();
        let found = equivalent(50_002, &ends(&list), 0, 1).expect("it reduces");
        assert!((found - 2.0 / 50_000.0).abs() < 1e-15, "{found}");
    }
}
