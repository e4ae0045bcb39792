//! Rows: how far they lie apart.

use std::collections::HashMap;

use super::{AIR, LEAD, Placer};
use crate::label::Room;

impl Placer<'_> {
    /// Gives every row its height.
    pub(super) fn heights(&mut self, ranks: &[usize]) {
        let mut rank = vec![usize::MAX; self.rows.len()];
        for (place, row) in ranks.iter().enumerate() {
            rank[*row] = place;
        }
        let mut apart: HashMap<(usize, usize), i32> = HashMap::new();
        let mut keep = |upper: usize, lower: usize, least: i32| {
            let of = apart.entry((upper, lower)).or_insert(least);
            *of = (*of).max(least);
        };
        for (e, chain) in self.upright() {
            let (upper, lower) = (self.row[chain.up], self.row[chain.low]);
            keep(upper, lower, self.least_length(e) + self.thick(upper));
        }
        // Rows above each other in one column.
        let mut columns: Vec<Vec<(usize, usize, i32, i32)>> = vec![Vec::new(); self.slots.len()];
        for row in ranks {
            let slots = self.row_slots(*row);
            let places = || slots.iter().map(|slot| self.rank[slot.0]);
            let (Some(from), Some(to)) = (places().min(), places().max()) else { continue };
            let mut room = vec![(3, 3); to - from + 1];
            for (slot, above, below) in &slots {
                let of = &mut room[self.rank[*slot] - from];
                *of = (of.0.max(*above), of.1.max(*below));
            }
            for (offset, (above, below)) in room.into_iter().enumerate() {
                columns[from + offset].push((rank[*row], *row, above, below));
            }
        }
        for column in &mut columns {
            column.sort_unstable();
            for pair in column.windows(2) {
                let ((_, upper, _, below), (_, lower, above, _)) = (pair[0], pair[1]);
                keep(upper, lower, self.thick(upper) + below + above + AIR);
            }
        }
        let mut down: Vec<Vec<(usize, i32)>> = vec![Vec::new(); self.rows.len()];
        let mut up: Vec<Vec<(usize, i32)>> = vec![Vec::new(); self.rows.len()];
        for ((upper, lower), least) in &apart {
            down[*upper].push((*lower, *least));
            up[*lower].push((*upper, *least));
        }
        let mut early = vec![0; self.rows.len()];
        for row in ranks {
            early[*row] = up[*row].iter().map(|(upper, least)| early[*upper] + least).max().unwrap_or(0);
        }
        let end = ranks.iter().map(|row| early[*row]).max().unwrap_or(0);
        let mut late = vec![end; self.rows.len()];
        for row in ranks.iter().rev() {
            late[*row] = down[*row].iter().map(|(lower, least)| late[*lower] - least).min().unwrap_or(end);
            if up[*row].is_empty() {
                late[*row] = early[*row];
            }
        }
        self.y = (0..self.rows.len()).map(|row| (early[row] + late[row]) / 2).collect();
    }

    /// The lines between which an upright chain runs.
    pub(super) fn ends(&self, e: usize) -> (i32, i32) {
        let chain = &self.stack.chains[e];
        let (upper, lower) = (self.row[chain.up], self.row[chain.low]);
        (self.y[upper] + self.thick(upper), self.y[lower])
    }

    /// The middle of each upright item of a chain.
    pub(super) fn upright_places(&self, e: usize) -> Vec<(usize, i32)> {
        let (top, bottom) = self.ends(e);
        let bottom = bottom - self.foot(e);
        let items = self.upright_items(e);
        let rooms: Vec<Room> = items.clone().map(|item| self.upright_room(e, item)).collect();
        let sum: i32 = rooms.iter().map(|room| room.before + room.after).sum();
        let mut out = Vec::new();
        let gap = self.stack.chains[e].gap;
        let free = bottom - top - sum;
        let count = rooms.len() as i32;
        let mut y = top;
        let mut past_gap = false;
        for (index, (item, room)) in items.zip(&rooms).enumerate() {
            match gap {
                None => {
                    let share = free * (index as i32 + 1) / (count + 1) - free * index as i32 / (count + 1);
                    y += share;
                }
                Some(_) => {
                    // What hangs stays near the bar from which it hangs.
                    let behind = item >= self.above_gap[e];
                    if behind && !past_gap {
                        past_gap = true;
                        let rest: i32 = rooms[index..].iter().map(|room| room.before + room.after).sum();
                        y = bottom - rest - LEAD;
                    } else if index == 0 {
                        y += LEAD;
                    }
                }
            }
            out.push((item, y + room.before));
            y += room.before + room.after;
        }
        out
    }
}
