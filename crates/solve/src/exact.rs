//! Exact solving with rationals.
//!
//! The equations of a resistive network are symmetric and positive definite once each part is grounded, so any order of
//! elimination works without pivoting. Small networks are eliminated directly, vertices of least degree first. Where a
//! core of many vertices remains, the intermediate fractions of elimination grow much longer than the result; there the
//! solution is lifted p-adically (J. D. Dixon, Exact solution of linear equations using p-adic expansions, Numerische
//! Mathematik 40, 1982), turned back into fractions and verified in the equations themselves.

use malachite::base::num::arithmetic::traits::{
    AddMulAssign, DivExact, DivRem, Lcm, Mod, Sign, SubMulAssign, UnsignedAbs,
};
use malachite::base::num::basic::traits::{One, Zero};
use malachite::base::num::logic::traits::SignificantBits;
use malachite::{Integer, Natural, Rational};
use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

use crate::network::{Flow, Network};

/// From this many unknowns on, lifting beats elimination (random networks with two resistors a node; see the bench).
const LIFT_FROM: usize = 24;

/// Solves a resistive network exactly.
pub(crate) fn solve(network: &Network<Rational>) -> Flow<Rational> {
    let system = System::new(network);
    let unknowns = if system.needs_lifting() { system.lift() } else { None };
    let unknowns = unknowns.unwrap_or_else(|| system.eliminate());
    let potential: Vec<Rational> = system
        .unknown
        .iter()
        .map(|index| if *index == GROUND { Rational::ZERO } else { unknowns[*index as usize].clone() })
        .collect();
    let current = network
        .links
        .iter()
        .map(|link| {
            let across = difference(&potential[link.a as usize], &potential[link.b as usize]);
            if link.boost == 0 { across / &link.resistance } else { (across + &link.boost) / &link.resistance }
        })
        .collect();
    Flow { potential, current }
}

/// `a - b`. Potentials of one network mostly share their denominator, which makes the difference much cheaper.
pub(crate) fn difference(a: &Rational, b: &Rational) -> Rational {
    if a.denominator_ref() == b.denominator_ref() && a.denominator_ref().significant_bits() > 64 {
        let numerator = signed_numerator(a) - signed_numerator(b);
        Rational::from_sign_and_naturals(numerator >= 0, numerator.unsigned_abs(), a.denominator_ref().clone())
    } else {
        a - b
    }
}

fn signed_numerator(value: &Rational) -> Integer {
    Integer::from_sign_and_abs_ref(*value >= 0, value.numerator_ref())
}

const GROUND: u32 = u32::MAX;

/// The equations: conductance matrix times potentials = currents fed in.
struct System {
    /// The unknown of each vertex, or [`GROUND`].
    unknown: Vec<u32>,
    /// Row by row: the entries off the diagonal (sums of conductances; the matrix has their negatives).
    rows: Vec<Vec<(u32, Rational)>>,
    diagonal: Vec<Rational>,
    right: Vec<Rational>,
}

impl System {
    fn new(network: &Network<Rational>) -> Self {
        let mut count = 0u32;
        let unknown: Vec<u32> = network
            .ground
            .iter()
            .map(|ground| {
                if *ground {
                    GROUND
                } else {
                    count += 1;
                    count - 1
                }
            })
            .collect();
        let count = count as usize;
        let mut rows: Vec<Vec<(u32, Rational)>> = vec![Vec::new(); count];
        let mut diagonal = vec![Rational::ZERO; count];
        let mut right = vec![Rational::ZERO; count];
        for (vertex, index) in unknown.iter().enumerate() {
            if *index != GROUND {
                right[*index as usize] = network.fed[vertex].clone();
            }
        }
        for link in &network.links {
            let conductance = Rational::ONE / &link.resistance;
            let (a, b) = (unknown[link.a as usize], unknown[link.b as usize]);
            for (this, other, leaves) in [(a, b, true), (b, a, false)] {
                if this == GROUND {
                    continue;
                }
                let row = this as usize;
                diagonal[row] += &conductance;
                if link.boost != 0 {
                    let driven = &conductance * &link.boost;
                    if leaves {
                        right[row] -= driven;
                    } else {
                        right[row] += driven;
                    }
                }
                if other != GROUND {
                    add_entry(&mut rows[row], other, &conductance);
                }
            }
        }
        Self { unknown, rows, diagonal, right }
    }

    /// Whether, after the vertices that elimination deals with cheaply, a large core remains.
    fn needs_lifting(&self) -> bool {
        if self.rows.len() < LIFT_FROM {
            return false;
        }
        // Peel off vertices of degree one and two, counting neighbors only; chains and trees are cheap to eliminate, and
        // their answers short.
        let core = self.rows.iter().filter(|row| row.len() > 2).count();
        core >= LIFT_FROM
    }

    fn eliminate(&self) -> Vec<Rational> {
        let factor = Factor::new(self.rows.clone(), self.diagonal.clone());
        // Positive definite: no pivot is zero.
        factor.map(|factor| factor.solve(self.right.clone())).unwrap_or_else(|| vec![Rational::ZERO; self.right.len()])
    }

    /// The solution by p-adic lifting; `None` when the prime does not suit the system.
    fn lift(&self) -> Option<Vec<Rational>> {
        let count = self.rows.len();
        // Modulo the prime.
        let rows: Option<Vec<Vec<(u32, Residue)>>> = self
            .rows
            .iter()
            .map(|row| row.iter().map(|(other, value)| Some((*other, Residue::of(value)?))).collect())
            .collect();
        let diagonal: Option<Vec<Residue>> = self.diagonal.iter().map(Residue::of).collect();
        let factor = Factor::new(rows?, diagonal?)?;
        // Each row made whole by its own multiplier.
        let mut whole_rows: Vec<Vec<(u32, Integer)>> = Vec::with_capacity(count);
        let mut whole_right: Vec<Integer> = Vec::with_capacity(count);
        let mut unscale: Vec<Residue> = Vec::with_capacity(count);
        for row in 0..count {
            let mut multiplier = self.diagonal[row].denominator_ref().lcm(self.right[row].denominator_ref());
            for (_, value) in &self.rows[row] {
                multiplier = multiplier.lcm(value.denominator_ref());
            }
            let scale = |value: &Rational| -> Integer {
                let factor = (&multiplier).div_exact(value.denominator_ref());
                Integer::from_sign_and_abs(*value >= 0, factor * value.numerator_ref())
            };
            let mut whole: Vec<(u32, Integer)> =
                self.rows[row].iter().map(|(other, value)| (*other, -scale(value))).collect();
            whole.push((row as u32, scale(&self.diagonal[row])));
            whole_rows.push(whole);
            whole_right.push(scale(&self.right[row]));
            unscale.push(Residue::of_natural(&multiplier).inverse()?);
        }
        if whole_right.iter().all(|value| *value == 0) {
            return Some(vec![Rational::ZERO; count]);
        }
        let prime = Integer::from(PRIME);
        let mut remainder = whole_right.clone();
        let mut digits: Vec<Vec<u64>> = vec![Vec::new(); count];
        let limit = digit_limit(&whole_rows, &whole_right);
        let mut next_check = 8usize;
        for step in 1..=limit {
            let reduced: Vec<Residue> = remainder
                .iter()
                .zip(&unscale)
                .map(|(value, unscale)| Residue::of_integer(value).times(unscale))
                .collect();
            let found = factor.solve(reduced);
            for (row, entries) in whole_rows.iter().enumerate() {
                let rest = &mut remainder[row];
                for (column, value) in entries {
                    let digit = Integer::from(found[*column as usize].0);
                    rest.sub_mul_assign(value, &digit);
                }
                *rest = (&*rest).div_exact(&prime);
            }
            for (digits, found) in digits.iter_mut().zip(&found) {
                digits.push(found.0);
            }
            if step == next_check || step == limit {
                if let Some(solution) = reconstruct(&digits, &whole_rows, &whole_right) {
                    return Some(solution);
                }
                next_check += (next_check / 4).max(4);
            }
        }
        None
    }
}

/// The number of digits after which the solution must be found: twice the bits of Hadamard's bound on the determinants in
/// Cramer's rule.
fn digit_limit(rows: &[Vec<(u32, Integer)>], right: &[Integer]) -> usize {
    let bits = |value: &Integer| value.unsigned_abs_ref().significant_bits();
    let matrix: u64 = rows
        .iter()
        .map(|row| {
            let largest = row.iter().map(|(_, value)| bits(value)).max().unwrap_or(1);
            largest + (row.len() as u64).ilog2() as u64 + 1
        })
        .sum();
    let right = right.iter().map(bits).max().unwrap_or(1);
    ((2 * (matrix + right) + 128) / 60 + 2) as usize
}

/// Turns p-adic digits into fractions, and verifies them in the equations.
fn reconstruct(digits: &[Vec<u64>], rows: &[Vec<(u32, Integer)>], right: &[Integer]) -> Option<Vec<Rational>> {
    let steps = digits.first()?.len();
    let powers = powers(steps);
    let modulus = &powers.last()?.1;
    let values: Vec<Natural> = digits.iter().map(|digits| join(digits, &powers)).collect();
    // All fractions have one common denominator (the determinant); the first few fix it.
    let half = modulus >> 1u64;
    let mut common = Natural::ONE;
    let bound_bits = modulus.significant_bits();
    let mut numerators: Vec<Integer> = Vec::with_capacity(values.len());
    for value in &values {
        let mut scaled = (value * &common).mod_op(modulus);
        let symmetric = |scaled: &Natural| -> Integer {
            if *scaled > half { Integer::from(scaled) - Integer::from(modulus) } else { Integer::from(scaled) }
        };
        let mut numerator = symmetric(&scaled);
        if numerator.unsigned_abs_ref().significant_bits() + common.significant_bits() + 32 > bound_bits {
            // Too long to be the numerator over the denominator known so far: that denominator lacks a factor.
            let (_, factor) = fraction(&scaled, modulus)?;
            common *= &factor;
            if common.significant_bits() > bound_bits / 2 + 2 {
                return None;
            }
            for numerator in &mut numerators {
                *numerator *= Integer::from(&factor);
            }
            scaled = (&scaled * &factor).mod_op(modulus);
            numerator = symmetric(&scaled);
        }
        numerators.push(numerator);
    }
    let whole = Integer::from(&common);
    for (row, entries) in rows.iter().enumerate() {
        let mut sum = Integer::ZERO;
        for (column, value) in entries {
            sum.add_mul_assign(value, &numerators[*column as usize]);
        }
        if sum != &right[row] * &whole {
            return None;
        }
    }
    Some(
        numerators
            .into_iter()
            .map(|numerator| Rational::from_sign_and_naturals(numerator >= 0, numerator.unsigned_abs(), common.clone()))
            .collect(),
    )
}

/// `p^(2^k)` for the halving of `steps` digits, smallest first, then `p^steps` itself.
fn powers(steps: usize) -> Vec<(usize, Natural)> {
    let mut powers = vec![(1usize, Natural::from(PRIME))];
    while powers.last().is_some_and(|(size, _)| size * 2 <= steps) {
        let (size, power) = &powers[powers.len() - 1];
        let square = (size * 2, power * power);
        powers.push(square);
    }
    let mut whole = Natural::ONE;
    let mut left = steps;
    for (size, power) in powers.iter().rev() {
        if left >= *size {
            whole *= power;
            left -= size;
        }
    }
    powers.push((steps, whole));
    powers
}

/// The number with these digits in base p, lowest first.
fn join(digits: &[u64], powers: &[(usize, Natural)]) -> Natural {
    match digits {
        [] => Natural::ZERO,
        [digit] => Natural::from(*digit),
        _ => {
            // The largest power of two below the length.
            let level = (digits.len() - 1).ilog2() as usize;
            let (size, power) = &powers[level];
            join(&digits[*size..], powers) * power + join(&digits[..*size], powers)
        }
    }
}

/// The fraction n / d with the value `value` modulo `modulus` and n, d about half as long as the modulus (Wang's rational
/// reconstruction: the extended Euclidean algorithm stopped half way).
fn fraction(value: &Natural, modulus: &Natural) -> Option<(Natural, Natural)> {
    let target = modulus.significant_bits() / 2;
    let (mut high, mut low) = (modulus.clone(), value.clone());
    let (mut before, mut factor) = (Natural::ZERO, Natural::ONE);
    while low.significant_bits() > target {
        let (quotient, rest) = (&high).div_rem(&low);
        high = std::mem::replace(&mut low, rest);
        before.add_mul_assign(&quotient, &factor);
        std::mem::swap(&mut before, &mut factor);
    }
    (factor != 0 && factor.significant_bits() <= target + 1).then_some((low, factor))
}

fn add_entry<K: Field>(row: &mut Vec<(u32, K)>, column: u32, value: &K) {
    match row.iter_mut().find(|(other, _)| *other == column) {
        Some((_, entry)) => entry.add(value),
        None => row.push((column, value.clone())),
    }
}

/// What elimination needs.
trait Field: Clone {
    fn is_zero(&self) -> bool;
    fn add(&mut self, other: &Self);
    fn sub(&mut self, other: &Self);
    fn times(&self, other: &Self) -> Self;
    fn inverse(&self) -> Option<Self>;
}

impl Field for Rational {
    fn is_zero(&self) -> bool {
        *self == 0
    }
    fn add(&mut self, other: &Self) {
        *self += other;
    }
    fn sub(&mut self, other: &Self) {
        *self -= other;
    }
    fn times(&self, other: &Self) -> Self {
        self * other
    }
    fn inverse(&self) -> Option<Self> {
        (*self != 0).then(|| Rational::ONE / self)
    }
}

/// The Mersenne prime 2^61 - 1: reduction is two shifts.
const PRIME: u64 = (1 << 61) - 1;

/// A number modulo [`PRIME`].
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Residue(u64);

impl Residue {
    fn of_natural(value: &Natural) -> Self {
        let rest = value.mod_op(Natural::from(PRIME));
        // Below 2^61, so it fits; the fallback is never taken.
        Self(u64::try_from(&rest).unwrap_or(0))
    }

    fn of_integer(value: &Integer) -> Self {
        let rest = Self::of_natural(value.unsigned_abs_ref());
        if value.sign() == Ordering::Less && rest.0 != 0 { Self(PRIME - rest.0) } else { rest }
    }

    fn of(value: &Rational) -> Option<Self> {
        let numerator = Self::of_natural(value.numerator_ref());
        let quotient = numerator.times(&Self::of_natural(value.denominator_ref()).inverse()?);
        Some(if *value < 0 && quotient.0 != 0 { Self(PRIME - quotient.0) } else { quotient })
    }
}

impl Field for Residue {
    fn is_zero(&self) -> bool {
        self.0 == 0
    }
    fn add(&mut self, other: &Self) {
        let sum = self.0 + other.0;
        self.0 = if sum >= PRIME { sum - PRIME } else { sum };
    }
    fn sub(&mut self, other: &Self) {
        self.0 = if self.0 >= other.0 { self.0 - other.0 } else { self.0 + PRIME - other.0 };
    }
    fn times(&self, other: &Self) -> Self {
        let product = u128::from(self.0) * u128::from(other.0);
        let folded = (product as u64 & PRIME) + (product >> 61) as u64;
        Self(if folded >= PRIME { folded - PRIME } else { folded })
    }
    fn inverse(&self) -> Option<Self> {
        if self.0 == 0 {
            return None;
        }
        // Fermat: a^(p - 2).
        let (mut result, mut base, mut exponent) = (Self(1), *self, PRIME - 2);
        while exponent > 0 {
            if exponent & 1 == 1 {
                result = result.times(&base);
            }
            base = base.times(&base);
            exponent >>= 1;
        }
        Some(result)
    }
}

/// A symmetric factorization: what each eliminated vertex spread over its neighbors.
struct Factor<K> {
    /// In the order of elimination: the vertex, the inverse of its pivot, and for each neighbor left the conductance to it.
    steps: Vec<(u32, K, Vec<(u32, K)>)>,
}

impl<K: Field> Factor<K> {
    /// Eliminates vertex by vertex, least degree first. `None` when a pivot is zero.
    fn new(mut rows: Vec<Vec<(u32, K)>>, mut diagonal: Vec<K>) -> Option<Self> {
        let count = rows.len();
        let mut queue: BinaryHeap<Reverse<(usize, u32)>> =
            rows.iter().enumerate().map(|(vertex, row)| Reverse((row.len(), vertex as u32))).collect();
        let mut done = vec![false; count];
        let mut steps = Vec::with_capacity(count);
        // Where a column stands in the row at hand, plus one.
        let mut place = vec![0u32; count];
        while let Some(Reverse((degree, vertex))) = queue.pop() {
            let pivot = vertex as usize;
            if done[pivot] || rows[pivot].len() != degree {
                continue;
            }
            done[pivot] = true;
            let row = std::mem::take(&mut rows[pivot]);
            let inverse = diagonal[pivot].inverse()?;
            for (nth, (neighbor, value)) in row.iter().enumerate() {
                let this = *neighbor as usize;
                let share = value.times(&inverse);
                diagonal[this].sub(&share.times(value));
                if let Some(at) = rows[this].iter().position(|(other, _)| *other == vertex) {
                    rows[this].swap_remove(at);
                }
                if nth + 1 < row.len() {
                    for (at, (other, _)) in rows[this].iter().enumerate() {
                        place[*other as usize] = at as u32 + 1;
                    }
                    for (other, beyond) in &row[nth + 1..] {
                        let spread = share.times(beyond);
                        match place[*other as usize] {
                            0 => rows[this].push((*other, spread.clone())),
                            at => rows[this][at as usize - 1].1.add(&spread),
                        }
                        // The mirror entry.
                        let mirror = &mut rows[*other as usize];
                        match mirror.iter_mut().find(|(column, _)| *column == *neighbor) {
                            Some((_, entry)) => entry.add(&spread),
                            None => mirror.push((*neighbor, spread)),
                        }
                    }
                    for (other, _) in &rows[this] {
                        place[*other as usize] = 0;
                    }
                }
            }
            for (neighbor, _) in &row {
                queue.push(Reverse((rows[*neighbor as usize].len(), *neighbor)));
            }
            steps.push((vertex, inverse, row));
        }
        Some(Self { steps })
    }

    fn solve(&self, mut right: Vec<K>) -> Vec<K> {
        for (vertex, inverse, row) in &self.steps {
            if right[*vertex as usize].is_zero() {
                continue;
            }
            let share = right[*vertex as usize].times(inverse);
            for (neighbor, value) in row {
                right[*neighbor as usize].add(&share.times(value));
            }
        }
        for (vertex, inverse, row) in self.steps.iter().rev() {
            let mut sum = right[*vertex as usize].clone();
            for (neighbor, value) in row {
                sum.add(&value.times(&right[*neighbor as usize]));
            }
            right[*vertex as usize] = sum.times(inverse);
        }
        right
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::Link;
    use proptest::prelude::*;

    fn network(count: usize, links: &[(u32, u32, u32)], fed: &[i32]) -> Network<Rational> {
        let mut feeds: Vec<Rational> = fed.iter().map(|value| Rational::from(*value)).collect();
        feeds.resize(count, Rational::ZERO);
        feeds[0] = Rational::ZERO;
        let links = links
            .iter()
            .map(|(a, b, resistance)| Link {
                a: *a,
                b: *b,
                resistance: Rational::from(*resistance),
                boost: Rational::ZERO,
            })
            .collect();
        let mut ground = vec![false; count];
        ground[0] = true;
        Network { links, fed: feeds, ground }
    }

    /// A connected random network: a random tree and further links.
    fn random(count: usize, seed: u64) -> Network<Rational> {
        let mut state = seed;
        let mut next = move |below: u64| {
            state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (state >> 33) % below
        };
        let mut links = Vec::new();
        for vertex in 1..count as u32 {
            links.push((vertex, next(u64::from(vertex)) as u32, 1 + next(99) as u32));
            let other = next(count as u64) as u32;
            if other != vertex {
                links.push((vertex, other, 1 + next(99) as u32));
            }
        }
        let fed: Vec<i32> = (0..count).map(|_| next(7) as i32 - 3).collect();
        network(count, &links, &fed)
    }

    /// Mathematics: a system has one solution, however it is found.
    #[test]
    fn lifting_agrees_with_elimination() {
        for (count, seed) in [(3, 1), (10, 2), (40, 3), (60, 4)] {
            let network = random(count, seed);
            let system = System::new(&network);
            assert_eq!(system.lift().expect("the prime suits"), system.eliminate(), "{count} vertices");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        /// Kirchhoff's junction rule (Kirchhoff 1845) at every vertex but the ground.
        #[test]
        fn junction_rule(count in 2usize..30, seed in any::<u64>()) {
            let network = random(count, seed);
            let flow = solve(&network);
            let mut sums = network.fed.clone();
            for (link, current) in network.links.iter().zip(&flow.current) {
                sums[link.a as usize] -= current;
                sums[link.b as usize] += current;
            }
            prop_assert!(sums[1..].iter().all(|sum| *sum == 0));
        }
    }
}
