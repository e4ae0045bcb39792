//! Slots that stand in one line: they move together.

/// Slots that keep a fixed distance from each other.
#[derive(Clone, Debug)]
pub(super) struct Lines {
    /// The slot that stands for the line of each slot, and how far right of it the slot is.
    of: Vec<(usize, i32)>,
}

impl Lines {
    pub(super) fn new(n: usize) -> Self {
        Self { of: (0..n).map(|slot| (slot, 0)).collect() }
    }

    pub(super) fn is_shared(&self, slot: usize) -> bool {
        let line = self.of[slot].0;
        self.of.iter().filter(|of| of.0 == line).count() > 1
    }

    /// With `b` so far right of `a`; `None` if they are in one line already.
    pub(super) fn joined(&self, a: usize, b: usize, shift: i32) -> Option<Self> {
        let ((line, at_a), (moved, at_b)) = (self.of[a], self.of[b]);
        if line == moved {
            return None;
        }
        let by = at_a + shift - at_b;
        Some(Self { of: self.of.iter().map(|of| if of.0 == moved { (line, of.1 + by) } else { *of }).collect() })
    }

    /// Places such that all distances are kept: halfway between as far left and as far right as they can be. Within a line no
    /// distance is asked for.
    pub(super) fn solve(&self, apart: &[(usize, usize, i32)]) -> Option<Vec<i32>> {
        let n = self.of.len();
        let mut right: Vec<Vec<(usize, i32)>> = vec![Vec::new(); n];
        let mut left: Vec<Vec<(usize, i32)>> = vec![Vec::new(); n];
        let mut waiting = vec![0usize; n];
        for (a, b, least) in apart {
            let ((a, at_a), (b, at_b)) = (self.of[*a], self.of[*b]);
            if a == b {
                continue;
            }
            let least = least + at_a - at_b;
            right[a].push((b, least));
            left[b].push((a, least));
            waiting[b] += 1;
        }
        let lines: Vec<usize> = (0..n).filter(|slot| self.of[*slot].0 == *slot).collect();
        let mut order: Vec<usize> = lines.iter().copied().filter(|line| waiting[*line] == 0).collect();
        let mut next = 0;
        while next < order.len() {
            let line = order[next];
            next += 1;
            for (b, _) in &right[line] {
                waiting[*b] -= 1;
                if waiting[*b] == 0 {
                    order.push(*b);
                }
            }
        }
        if order.len() < lines.len() {
            return None;
        }
        let mut early = vec![0; n];
        for line in &order {
            early[*line] = left[*line].iter().map(|(a, least)| early[*a] + least).max().unwrap_or(0);
        }
        let end = order.iter().map(|line| early[*line]).max().unwrap_or(0);
        let mut late = vec![end; n];
        for line in order.iter().rev() {
            late[*line] = right[*line].iter().map(|(b, least)| late[*b] - least).min().unwrap_or(end);
        }
        Some(self.of.iter().map(|(line, shift)| (early[*line] + late[*line]) / 2 + shift).collect())
    }
}
