//! Circuits solved by nodal analysis over a prime field: what is so for random elements of the field is so for all values, but for a chance of
//! about the degree of the polynomial over the prime (J. Schwartz, Fast probabilistic algorithms for verification of polynomial identities,
//! Journal of the ACM 27, 1980). It knows nothing of series, parallel, pieces or loops.

/// The Mersenne prime 2^61 - 1.
const PRIME: u64 = (1 << 61) - 1;

fn add(a: u64, b: u64) -> u64 {
    (a + b) % PRIME
}

fn neg(a: u64) -> u64 {
    (PRIME - a) % PRIME
}

fn mul(a: u64, b: u64) -> u64 {
    (u128::from(a) * u128::from(b) % u128::from(PRIME)) as u64
}

/// By Fermat's little theorem.
fn inverse(a: u64) -> u64 {
    let (mut power, mut base, mut left) = (1, a, PRIME - 2);
    while left > 0 {
        if left & 1 == 1 {
            power = mul(power, base);
        }
        base = mul(base, base);
        left >>= 1;
    }
    power
}

/// A small generator, the same numbers in every run (a linear congruential one of D. Knuth's MMIX).
pub struct Random(pub u64);

impl Random {
    /// A number below this.
    pub fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (self.0 >> 33) % bound
    }

    /// An element of the field, not zero.
    fn element(&mut self) -> u64 {
        ((self.below(1 << 30) << 30) | self.below(1 << 30)) % (PRIME - 1) + 1
    }
}

/// What a branch is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Branch {
    /// A voltage with a resistance in line, both of any size.
    Battery,
    /// A voltage of any size.
    Ideal,
    /// A resistance of any size.
    Resistor,
    /// No resistance.
    Short,
    /// No way.
    Gap,
}

/// The current and the voltage of each branch from its first to its second node, for random values; `None` where they have no single values.
pub fn solve(nodes: usize, branches: &[(Branch, usize, usize)], random: &mut Random) -> Option<Vec<(u64, u64)>> {
    // Unknown: the potential of each node, and the current of each branch. Branch by branch: its law; node by node: Kirchhoff's current law.
    let size = nodes + branches.len();
    let mut rows: Vec<Vec<u64>> = Vec::new();
    for (at, &(branch, from, to)) in branches.iter().enumerate() {
        let mut row = vec![0; size + 1];
        let current = nodes + at;
        if branch == Branch::Gap {
            row[current] = 1;
        } else {
            row[from] = add(row[from], 1);
            row[to] = add(row[to], PRIME - 1);
            if matches!(branch, Branch::Battery | Branch::Resistor) {
                row[current] = neg(random.element());
            }
            if matches!(branch, Branch::Battery | Branch::Ideal) {
                row[size] = random.element();
            }
        }
        rows.push(row);
    }
    for node in 0..nodes {
        let mut row = vec![0; size + 1];
        for (at, &(_, from, to)) in branches.iter().enumerate() {
            if from == node {
                row[nodes + at] = add(row[nodes + at], 1);
            }
            if to == node {
                row[nodes + at] = add(row[nodes + at], PRIME - 1);
            }
        }
        rows.push(row);
    }
    // A piece has a point of 0 V: its first node that no earlier one reaches.
    let mut piece: Vec<usize> = (0..nodes).collect();
    for _ in 0..nodes {
        for &(branch, from, to) in branches.iter().filter(|one| one.0 != Branch::Gap) {
            debug_assert!(branch != Branch::Gap);
            let least = piece[from].min(piece[to]);
            (piece[from], piece[to]) = (least, least);
        }
    }
    for node in (0..nodes).filter(|node| piece[*node] == *node) {
        let mut row = vec![0; size + 1];
        row[node] = 1;
        rows.push(row);
    }
    let values = eliminate(rows, size)?;
    Some(
        branches
            .iter()
            .enumerate()
            .map(|(at, &(_, from, to))| (values[nodes + at], add(values[from], neg(values[to]))))
            .collect(),
    )
}

/// Gauss and Jordan; `None` without a single solution.
fn eliminate(mut rows: Vec<Vec<u64>>, size: usize) -> Option<Vec<u64>> {
    for column in 0..size {
        let pivot = (column..rows.len()).find(|row| rows[*row][column] != 0)?;
        rows.swap(column, pivot);
        let scale = inverse(rows[column][column]);
        for value in &mut rows[column] {
            *value = mul(*value, scale);
        }
        let lead = rows[column].clone();
        for (at, row) in rows.iter_mut().enumerate() {
            let factor = neg(row[column]);
            if at != column && factor != 0 {
                for (value, above) in row.iter_mut().zip(&lead) {
                    *value = add(*value, mul(factor, *above));
                }
            }
        }
    }
    // What is left over must say nothing; else the laws contradict each other.
    rows[size..].iter().all(|row| row[size] == 0).then(|| rows[..size].iter().map(|row| row[size]).collect())
}

/// Whether two numbers are of one size: equal, or opposite.
pub fn same_size(a: u64, b: u64) -> bool {
    a == b || a == neg(b)
}
