//! Linear systems over the rationals.

use malachite::Rational;

/// Solves `matrix` x = `right` by elimination; `None` where the solution is not unique.
pub(crate) fn solve(mut matrix: Vec<Vec<Rational>>, mut right: Vec<Rational>) -> Option<Vec<Rational>> {
    let size = right.len();
    for column in 0..size {
        let pivot = (column..size).find(|&row| matrix[row][column] != 0)?;
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        for row in 0..size {
            if row == column || matrix[row][column] == 0 {
                continue;
            }
            let factor = &matrix[row][column] / &matrix[column][column];
            let pivot = matrix[column].clone();
            for (entry, above) in matrix[row].iter_mut().zip(&pivot).skip(column) {
                *entry -= &factor * above;
            }
            let less = &factor * &right[column];
            right[row] -= less;
        }
    }
    Some((0..size).map(|row| &right[row] / &matrix[row][row]).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_unknowns() {
        let of = Rational::from;
        // x + 2 y = 8, 3 x - y = 3: x = 2, y = 3.
        let found = solve(vec![vec![of(1), of(2)], vec![of(3), of(-1)]], vec![of(8), of(3)]);
        assert_eq!(found, Some(vec![of(2), of(3)]));
        assert_eq!(solve(vec![vec![of(1), of(2)], vec![of(2), of(4)]], vec![of(8), of(3)]), None);
    }
}
