//! Sparse solving in double precision.
//!
//! Chains, dead ends and parallel links are reduced first, as a person would reduce them, in linear time; what cannot be
//! reduced goes to a sparse Cholesky factorization, or, if it is small, to an elimination without subtractions; both are refined. Work then goes back down the reduction: a chain hands down its current, a parallel
//! group divides it. So tiny currents keep their accuracy where differences of potentials would lose it.
//!
//! The elimination without subtractions is the star-mesh transformation; that it loses no accuracy however far
//! the conductances lie apart is the point of Grassmann, Taksar and Heyman (Operations Research 33, 1985).

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::sparse::linalg::cholesky::SymbolicCholesky;
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Conj, MatMut, Par, Side};

use crate::network::{Flow, Network};
use crate::ordering::order;

/// Up to this many vertices the core is eliminated densely.
const DENSE_UP_TO: usize = 48;
/// How many links of a vertex are searched for one parallel to a new link. A hub's other ends are mostly less crowded.
const SEARCH: usize = 12;

/// Refinement stops when the junction rule holds this well, relative to the largest current at each vertex ...
const GOOD_ENOUGH: f64 = 1e-14;
/// ... or after this many steps.
const REFINEMENTS: usize = 4;

const NONE: u32 = u32::MAX;

/// Potentials in two parts: a number and what it lacks. Currents between potentials that are nearly equal need both.
struct Fine {
    rough: Vec<f64>,
    lacks: Vec<f64>,
}

/// A link of the reduction; the first ones are the network's own.
#[derive(Clone, Copy, Debug)]
struct Part {
    a: u32,
    b: u32,
    conductance: f64,
    boost: f64,
    made: Made,
}

#[derive(Clone, Copy, Debug)]
enum Made {
    /// A link of the network.
    Given,
    /// Two parts beside each other.
    Parallel(u32, u32),
    /// Two parts in line, the first at the end `a`, and the vertex between them.
    Series(u32, u32, u32),
}

/// Step of the reduction to undo.
#[derive(Clone, Copy, Debug)]
enum Step {
    /// This part was made.
    Made(u32),
    /// This part led to a dead end, the vertex.
    End(u32, u32),
}

struct Reduction<'a> {
    network: &'a Network<f64>,
    parts: Vec<Part>,
    /// Doubly linked lists of half-links at each vertex; half-link 2 p is at `a` of part p, 2 p + 1 at `b`.
    head: Vec<u32>,
    next: Vec<u32>,
    previous: Vec<u32>,
    degree: Vec<u32>,
    fed: Vec<f64>,
    gone: Vec<bool>,
    steps: Vec<Step>,
}

/// Solves a resistive network.
pub(crate) fn solve(network: &Network<f64>) -> Flow<f64> {
    let mut reduction = Reduction::new(network);
    reduction.reduce();
    let (potential, current) = reduction.core();
    reduction.expand(potential, current)
}

impl<'a> Reduction<'a> {
    fn new(network: &'a Network<f64>) -> Self {
        let count = network.ground.len();
        let links = network.links.len();
        let mut reduction = Self {
            network,
            parts: Vec::with_capacity(links * 2),
            head: vec![NONE; count],
            next: Vec::with_capacity(links * 4),
            previous: Vec::with_capacity(links * 4),
            degree: vec![0; count],
            fed: network.fed.clone(),
            gone: vec![false; count],
            steps: Vec::with_capacity(links),
        };
        for link in &network.links {
            reduction.insert(Part {
                a: link.a,
                b: link.b,
                conductance: 1.0 / link.resistance,
                boost: link.boost,
                made: Made::Given,
            });
        }
        reduction
    }

    fn insert(&mut self, part: Part) -> u32 {
        let id = self.parts.len() as u32;
        self.parts.push(part);
        for (half, vertex) in [(id * 2, part.a), (id * 2 + 1, part.b)] {
            let first = self.head[vertex as usize];
            self.next.push(first);
            self.previous.push(NONE);
            if first != NONE {
                self.previous[first as usize] = half;
            }
            self.head[vertex as usize] = half;
            self.degree[vertex as usize] += 1;
        }
        id
    }

    fn remove(&mut self, id: u32) {
        let part = self.parts[id as usize];
        for (half, vertex) in [(id * 2, part.a), (id * 2 + 1, part.b)] {
            let (before, after) = (self.previous[half as usize], self.next[half as usize]);
            match before {
                NONE => self.head[vertex as usize] = after,
                before => self.next[before as usize] = after,
            }
            if after != NONE {
                self.previous[after as usize] = before;
            }
            self.degree[vertex as usize] -= 1;
        }
    }

    fn other_end(&self, half: u32) -> u32 {
        let part = &self.parts[half as usize / 2];
        if half & 1 == 0 { part.b } else { part.a }
    }

    /// A part between the two vertices, other than `not`, if it is found quickly.
    fn parallel_to(&self, a: u32, b: u32, not: u32) -> Option<u32> {
        let (from, to) = if self.degree[a as usize] <= self.degree[b as usize] { (a, b) } else { (b, a) };
        let mut half = self.head[from as usize];
        for _ in 0..SEARCH {
            if half == NONE {
                return None;
            }
            if half / 2 != not && self.other_end(half) == to {
                return Some(half / 2);
            }
            half = self.next[half as usize];
        }
        None
    }

    fn merge_parallel(&mut self, first: u32, second: u32) -> u32 {
        let (one, two) = (self.parts[first as usize], self.parts[second as usize]);
        let boost = if one.a == two.a { two.boost } else { -two.boost };
        let conductance = one.conductance + two.conductance;
        self.remove(first);
        self.remove(second);
        let id = self.insert(Part {
            a: one.a,
            b: one.b,
            conductance,
            // A mean, so that equal voltages stay what they are.
            boost: one.boost + (boost - one.boost) * (two.conductance / conductance),
            made: Made::Parallel(first, second),
        });
        self.steps.push(Step::Made(id));
        id
    }

    fn reduce(&mut self) {
        let count = self.head.len() as u32;
        // Parallel links that are there from the start.
        for vertex in 0..count {
            if self.degree[vertex as usize] as usize > SEARCH {
                continue;
            }
            let mut half = self.head[vertex as usize];
            while half != NONE {
                let id = half / 2;
                half = self.next[half as usize];
                let (a, b) = (self.parts[id as usize].a, self.parts[id as usize].b);
                if let Some(other) = self.parallel_to(a, b, id) {
                    self.merge_parallel(id, other);
                    // The list has changed: begin again.
                    half = self.head[vertex as usize];
                }
            }
        }
        let mut queue: Vec<u32> = (0..count).rev().collect();
        while let Some(vertex) = queue.pop() {
            let at = vertex as usize;
            if self.gone[at] || self.network.ground[at] {
                continue;
            }
            match self.degree[at] {
                1 => {
                    let half = self.head[at];
                    let neighbor = self.other_end(half);
                    self.remove(half / 2);
                    self.gone[at] = true;
                    self.fed[neighbor as usize] += self.fed[at];
                    self.steps.push(Step::End(half / 2, vertex));
                    queue.push(neighbor);
                }
                2 => {
                    let first = self.head[at];
                    let second = self.next[first as usize];
                    let (u, w) = (self.other_end(first), self.other_end(second));
                    if u == w {
                        self.merge_parallel(first / 2, second / 2);
                        queue.push(vertex);
                        continue;
                    }
                    let (one, two) = (self.parts[first as usize / 2], self.parts[second as usize / 2]);
                    // Both turned so that they lead from u over the vertex to w.
                    let boost_one = if one.a == u { one.boost } else { -one.boost };
                    let boost_two = if two.b == w { two.boost } else { -two.boost };
                    self.remove(first / 2);
                    self.remove(second / 2);
                    self.gone[at] = true;
                    let fed = self.fed[at];
                    self.fed[w as usize] += fed;
                    let id = self.insert(Part {
                        a: u,
                        b: w,
                        conductance: one.conductance * (two.conductance / (one.conductance + two.conductance)),
                        boost: boost_one + boost_two - fed / two.conductance,
                        made: Made::Series(first / 2, second / 2, vertex),
                    });
                    self.steps.push(Step::Made(id));
                    if let Some(other) = self.parallel_to(u, w, id) {
                        self.merge_parallel(id, other);
                    }
                    queue.push(u);
                    queue.push(w);
                }
                _ => {}
            }
        }
    }

    /// Potentials of the vertices left, and currents of the parts left.
    fn core(&self) -> (Vec<f64>, Vec<f64>) {
        let count = self.head.len();
        let mut index = vec![NONE; count];
        let mut core: Vec<u32> = Vec::new();
        for (vertex, place) in index.iter_mut().enumerate() {
            if !self.gone[vertex] && !self.network.ground[vertex] {
                *place = core.len() as u32;
                core.push(vertex as u32);
            }
        }
        let mut potential = vec![0.0; count];
        let mut current = vec![0.0; self.parts.len()];
        // The parts left: each hangs in the list of its end `a`.
        let mut left: Vec<u32> = Vec::new();
        for vertex in 0..count {
            let mut half = self.head[vertex];
            while half != NONE {
                if half & 1 == 0 {
                    left.push(half / 2);
                }
                half = self.next[half as usize];
            }
        }
        if !core.is_empty() {
            let solved = if core.len() <= DENSE_UP_TO {
                self.dense(&core, &index, &left)
            } else {
                self.sparse(&core, &index, &left)
            };
            for id in left {
                current[id as usize] = self.through(id, &solved, &index);
            }
            for (at, vertex) in core.iter().enumerate() {
                potential[*vertex as usize] = solved.rough[at] + solved.lacks[at];
            }
        } else {
            // Links between grounds.
            for id in left {
                let part = &self.parts[id as usize];
                current[id as usize] = part.conductance * part.boost;
            }
        }
        (potential, current)
    }

    /// Current through a part that is left.
    fn through(&self, id: u32, solved: &Fine, index: &[u32]) -> f64 {
        let part = &self.parts[id as usize];
        let (a, b) = (index[part.a as usize], index[part.b as usize]);
        let at = |values: &[f64], vertex: u32| if vertex == NONE { 0.0 } else { values[vertex as usize] };
        let rough = at(&solved.rough, a) - at(&solved.rough, b) + part.boost;
        part.conductance * (rough + (at(&solved.lacks, a) - at(&solved.lacks, b)))
    }

    /// Solves and refines: the residual is taken from the currents themselves, and what it corrects is kept apart, since a
    /// potential could not hold it.
    fn refine(&self, core: &[u32], index: &[u32], left: &[u32], mut solve: impl FnMut(&mut [f64])) -> Fine {
        let count = core.len();
        let mut solved = Fine { rough: self.right(core, index, left), lacks: vec![0.0; count] };
        solve(&mut solved.rough);
        let mut largest = vec![0.0f64; count];
        for _ in 0..REFINEMENTS {
            let mut residual: Vec<f64> = core.iter().map(|vertex| self.fed[*vertex as usize]).collect();
            for (largest, fed) in largest.iter_mut().zip(&residual) {
                *largest = fed.abs();
            }
            for id in left {
                let part = &self.parts[*id as usize];
                let current = self.through(*id, &solved, index);
                for (vertex, out) in [(index[part.a as usize], current), (index[part.b as usize], -current)] {
                    if vertex != NONE {
                        residual[vertex as usize] -= out;
                        largest[vertex as usize] = largest[vertex as usize].max(out.abs());
                    }
                }
            }
            if residual.iter().zip(&largest).all(|(residual, largest)| residual.abs() <= GOOD_ENOUGH * largest) {
                break;
            }
            solve(&mut residual);
            if !residual.iter().all(|value| value.is_finite()) {
                break;
            }
            for (lacks, correction) in solved.lacks.iter_mut().zip(&residual) {
                *lacks += correction;
            }
        }
        solved
    }

    /// What is fed into each vertex of the core, the voltages in the parts turned into currents.
    fn right(&self, core: &[u32], index: &[u32], left: &[u32]) -> Vec<f64> {
        let mut right: Vec<f64> = core.iter().map(|vertex| self.fed[*vertex as usize]).collect();
        for id in left {
            let part = &self.parts[*id as usize];
            let driven = part.conductance * part.boost;
            if driven != 0.0 {
                if index[part.a as usize] != NONE {
                    right[index[part.a as usize] as usize] -= driven;
                }
                if index[part.b as usize] != NONE {
                    right[index[part.b as usize] as usize] += driven;
                }
            }
        }
        right
    }

    fn dense(&self, core: &[u32], index: &[u32], left: &[u32]) -> Fine {
        let count = core.len();
        // Conductance between two vertices; column `count` is the ground.
        let width = count + 1;
        let mut between = vec![0.0; count * width];
        for id in left {
            let part = &self.parts[*id as usize];
            let (a, b) = (index[part.a as usize], index[part.b as usize]);
            for (this, other) in [(a, b), (b, a)] {
                if this != NONE {
                    let column = if other == NONE { count } else { other as usize };
                    between[this as usize * width + column] += part.conductance;
                }
            }
        }
        let mut sums = vec![0.0; count];
        for pivot in (0..count).rev() {
            let row = pivot * width;
            let sum: f64 = between[row..row + pivot].iter().sum::<f64>() + between[row + count];
            sums[pivot] = sum;
            if sum == 0.0 {
                continue;
            }
            for this in 0..pivot {
                let share = between[this * width + pivot] / sum;
                if share == 0.0 {
                    continue;
                }
                for other in (0..pivot).chain([count]) {
                    if other != this {
                        between[this * width + other] += share * between[row + other];
                    }
                }
            }
        }
        self.refine(core, index, left, |right| {
            for pivot in (0..count).rev() {
                if sums[pivot] == 0.0 {
                    continue;
                }
                let share = right[pivot] / sums[pivot];
                for this in 0..pivot {
                    right[this] += between[this * width + pivot] * share;
                }
            }
            for vertex in 0..count {
                let row = vertex * width;
                let sum: f64 =
                    between[row..row + vertex].iter().zip(&right[..vertex]).map(|(value, known)| value * known).sum();
                right[vertex] = if sums[vertex] == 0.0 { 0.0 } else { (right[vertex] + sum) / sums[vertex] };
            }
        })
    }

    fn sparse(&self, core: &[u32], index: &[u32], left: &[u32]) -> Fine {
        let count = core.len();
        // The lower triangle, column by column; entries of parallel parts stay separate until sorted.
        let mut diagonal = vec![0.0; count];
        let mut starts = vec![0usize; count + 1];
        let mut pairs: Vec<(u32, u32, f64)> = Vec::with_capacity(left.len());
        for id in left {
            let part = &self.parts[*id as usize];
            let (a, b) = (index[part.a as usize], index[part.b as usize]);
            for vertex in [a, b] {
                if vertex != NONE {
                    diagonal[vertex as usize] += part.conductance;
                }
            }
            if a != NONE && b != NONE {
                pairs.push((a.min(b), a.max(b), part.conductance));
                starts[a.min(b) as usize + 1] += 1;
            }
        }
        for column in 0..count {
            starts[column + 1] += starts[column];
        }
        let mut fill = starts.clone();
        let mut sorted = vec![(0u32, 0.0); pairs.len()];
        for (column, row, value) in pairs {
            sorted[fill[column as usize]] = (row, value);
            fill[column as usize] += 1;
        }
        let mut pointers: Vec<u32> = Vec::with_capacity(count + 1);
        let mut rows: Vec<u32> = Vec::with_capacity(sorted.len() + count);
        let mut values: Vec<f64> = Vec::with_capacity(sorted.len() + count);
        pointers.push(0);
        for column in 0..count {
            let entries = &mut sorted[starts[column]..starts[column + 1]];
            entries.sort_unstable_by_key(|(row, _)| *row);
            rows.push(column as u32);
            values.push(diagonal[column]);
            let mut last = NONE;
            for (row, value) in entries.iter() {
                if *row == last {
                    // Just pushed in this column.
                    if let Some(entry) = values.last_mut() {
                        *entry -= value;
                    }
                } else {
                    rows.push(*row);
                    values.push(-value);
                    last = *row;
                }
            }
            pointers.push(rows.len() as u32);
        }
        let shape = SymbolicSparseColMatRef::new_checked(count, count, &pointers, None, &rows);
        let matrix = SparseColMatRef::new(shape, values.as_slice());
        let order = order(&pointers, &rows);
        order.and_then(|order| self.factor(&order, matrix, core, index, left)).unwrap_or_else(|| {
            // Out of memory or no longer positive definite in double precision: iterate instead.
            let rough = self.iterate(&self.right(core, index, left), &diagonal, index, left);
            Fine { lacks: vec![0.0; rough.len()], rough }
        })
    }

    fn factor(
        &self,
        symbolic: &SymbolicCholesky<u32>,
        matrix: SparseColMatRef<'_, u32, f64>,
        core: &[u32],
        index: &[u32],
        left: &[u32],
    ) -> Option<Fine> {
        let count = core.len();
        let mut numbers = vec![0.0; symbolic.len_val()];
        let mut memory = MemBuffer::try_new(
            symbolic
                .factorize_numeric_llt_scratch::<f64>(Par::Seq, Default::default())
                .or(symbolic.solve_in_place_scratch::<f64>(1, Par::Seq)),
        )
        .ok()?;
        let factor = symbolic
            .factorize_numeric_llt(
                &mut numbers,
                matrix,
                Side::Lower,
                Default::default(),
                Par::Seq,
                MemStack::new(&mut memory),
                Default::default(),
            )
            .ok()?;
        let solved = self.refine(core, index, left, |values| {
            factor.solve_in_place_with_conj(
                Conj::No,
                MatMut::from_column_major_slice_mut(values, count, 1),
                Par::Seq,
                MemStack::new(&mut memory),
            );
        });
        solved.rough.iter().all(|value| value.is_finite()).then_some(solved)
    }

    /// Conjugate gradients with diagonal scaling (Hestenes and Stiefel 1952), for what the factorization cannot take.
    fn iterate(&self, right: &[f64], diagonal: &[f64], index: &[u32], left: &[u32]) -> Vec<f64> {
        let count = right.len();
        let multiply = |x: &[f64]| {
            let mut product = vec![0.0; count];
            let at = |vertex: u32| if vertex == NONE { 0.0 } else { x[vertex as usize] };
            for id in left {
                let part = &self.parts[*id as usize];
                let (a, b) = (index[part.a as usize], index[part.b as usize]);
                let current = part.conductance * (at(a) - at(b));
                if a != NONE {
                    product[a as usize] += current;
                }
                if b != NONE {
                    product[b as usize] -= current;
                }
            }
            product
        };
        let dot = |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(x, y)| x * y).sum::<f64>();
        let scaled = |x: &[f64]| x.iter().zip(diagonal).map(|(x, d)| x / d).collect::<Vec<f64>>();
        let mut solved = vec![0.0; count];
        let mut residual = right.to_vec();
        let mut z = scaled(&residual);
        let mut direction = z.clone();
        let mut size = dot(&residual, &z);
        let enough = size * 1e-28;
        for _ in 0..2000 {
            if size <= enough || size == 0.0 {
                break;
            }
            let product = multiply(&direction);
            let curve = dot(&direction, &product);
            if curve <= 0.0 {
                break;
            }
            let step = size / curve;
            for at in 0..count {
                solved[at] += step * direction[at];
                residual[at] -= step * product[at];
            }
            z = scaled(&residual);
            let new = dot(&residual, &z);
            for (direction, z) in direction.iter_mut().zip(&z) {
                *direction = z + *direction * (new / size);
            }
            size = new;
        }
        solved
    }

    /// Undoes the reduction, last step first.
    fn expand(&self, mut potential: Vec<f64>, mut current: Vec<f64>) -> Flow<f64> {
        for step in self.steps.iter().rev() {
            match *step {
                Step::End(id, vertex) => {
                    let part = &self.parts[id as usize];
                    // Everything fed into the dead end comes out through its one part.
                    let out = self.fed[vertex as usize];
                    let lost = out / part.conductance;
                    if part.b == vertex {
                        current[id as usize] = -out;
                        potential[vertex as usize] = potential[part.a as usize] + part.boost + lost;
                    } else {
                        current[id as usize] = out;
                        potential[vertex as usize] = potential[part.b as usize] - part.boost + lost;
                    }
                }
                Step::Made(id) => {
                    let part = self.parts[id as usize];
                    let through = current[id as usize];
                    match part.made {
                        Made::Given => {}
                        Made::Parallel(first, second) => {
                            let (one, two) = (self.parts[first as usize], self.parts[second as usize]);
                            let turned = two.a != one.a;
                            let boost = if turned { -two.boost } else { two.boost };
                            let share = one.conductance / part.conductance;
                            let rest = two.conductance / part.conductance;
                            // What the two drive round among themselves.
                            let round = one.conductance * rest * (one.boost - boost);
                            current[first as usize] = through * share + round;
                            let second_current = through * rest - round;
                            current[second as usize] = if turned { -second_current } else { second_current };
                        }
                        Made::Series(first, second, vertex) => {
                            let (one, two) = (self.parts[first as usize], self.parts[second as usize]);
                            let beyond = through + self.fed[vertex as usize];
                            let boost = if one.a == part.a { one.boost } else { -one.boost };
                            current[first as usize] = if one.a == part.a { through } else { -through };
                            current[second as usize] = if two.b == part.b { beyond } else { -beyond };
                            potential[vertex as usize] = potential[part.a as usize] + boost - through / one.conductance;
                        }
                    }
                }
            }
        }
        current.truncate(self.network.links.len());
        Flow { potential, current }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::Link;

    /// A square grid of unit resistors, one ampere in at one corner and out at the opposite one.
    fn grid(side: u32) -> Network<f64> {
        let at = |x: u32, y: u32| y * side + x;
        let mut links = Vec::new();
        for y in 0..side {
            for x in 0..side {
                if x + 1 < side {
                    links.push(Link { a: at(x, y), b: at(x + 1, y), resistance: 1.0, boost: 0.0 });
                }
                if y + 1 < side {
                    links.push(Link { a: at(x, y), b: at(x, y + 1), resistance: 1.0, boost: 0.0 });
                }
            }
        }
        let count = (side * side) as usize;
        let mut fed = vec![0.0; count];
        fed[count - 1] = 1.0;
        let mut ground = vec![false; count];
        ground[0] = true;
        fed[0] = -1.0;
        Network { links, fed, ground }
    }

    /// Kirchhoff's junction rule within 1e-12 of the largest current there, through the sparse factorization.
    #[test]
    fn grid_holds_the_junction_rule() {
        for side in [2, 3, 9, 30] {
            let network = grid(side);
            let flow = solve(&network);
            let mut sums = network.fed.clone();
            let mut largest = vec![0.0f64; sums.len()];
            for (link, current) in network.links.iter().zip(&flow.current) {
                sums[link.a as usize] -= current;
                sums[link.b as usize] += current;
                for vertex in [link.a, link.b] {
                    largest[vertex as usize] = largest[vertex as usize].max(current.abs());
                }
            }
            for (sum, largest) in sums.iter().zip(&largest) {
                assert!(sum.abs() <= 1e-12 * largest.max(1e-3), "side {side}: {sum} of {largest}");
            }
        }
    }

    /// Mathematics: the corner-to-corner resistance of the 2x2 grid (one square) is 1 ohm, of the 3x3 grid 3/2 ohm.
    #[test]
    fn small_grids() {
        assert!((solve(&grid(2)).potential[3] - 1.0).abs() < 1e-15);
        assert!((solve(&grid(3)).potential[8] - 1.5).abs() < 1e-14);
    }
}
