//! Symmetries of a network: exchanges of its points that leave every resistance where one of the same size was.

use malachite::Rational;
use rustc_hash::FxHashMap;

/// A network to be searched for symmetries.
pub(crate) struct Symmetry {
    points: Vec<usize>,
    /// Resistances between each pair of points, sorted.
    between: FxHashMap<(usize, usize), Vec<Rational>>,
    degree: FxHashMap<usize, usize>,
}

/// Steps of a search; a network that needs more is taken to have no symmetry that people would see.
const PATIENCE: usize = 20_000;

impl Symmetry {
    pub fn new(points: &[usize], edges: &[(usize, usize, Rational)]) -> Self {
        let mut between: FxHashMap<(usize, usize), Vec<Rational>> = FxHashMap::default();
        let mut degree: FxHashMap<usize, usize> = FxHashMap::default();
        for (from, to, ohms) in edges {
            between.entry((*from, *to)).or_default().push(ohms.clone());
            between.entry((*to, *from)).or_default().push(ohms.clone());
            *degree.entry(*from).or_default() += 1;
            *degree.entry(*to).or_default() += 1;
        }
        between.values_mut().for_each(|list| list.sort());
        Self { points: points.to_vec(), between, degree }
    }

    /// Whether a symmetry sends each of these points to its partner.
    pub fn exists(&self, given: &[(usize, usize)]) -> bool {
        let mut image: Vec<(usize, usize)> = Vec::new();
        for &(point, to) in given {
            if !self.fits(&image, point, to) {
                return false;
            }
            image.push((point, to));
        }
        let mut patience = PATIENCE;
        self.extend(&mut image, &mut patience)
    }

    fn fits(&self, image: &[(usize, usize)], point: usize, to: usize) -> bool {
        self.degree.get(&point) == self.degree.get(&to)
            && image.iter().all(|&(other, other_to)| {
                other_to != to && self.between.get(&(point, other)) == self.between.get(&(to, other_to))
            })
    }

    fn extend(&self, image: &mut Vec<(usize, usize)>, patience: &mut usize) -> bool {
        // Next a point with a neighbor whose image is known, so that wrong turns end soon.
        let open = || self.points.iter().copied().filter(|point| !image.iter().any(|(known, _)| known == point));
        let joined = |point: &usize| image.iter().any(|(known, _)| self.between.contains_key(&(*point, *known)));
        let Some(point) = open().find(joined).or_else(|| open().next()) else { return true };
        for &to in &self.points {
            if *patience == 0 {
                return false;
            }
            *patience -= 1;
            if self.fits(image, point, to) {
                image.push((point, to));
                if self.extend(image, patience) {
                    return true;
                }
                image.pop();
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_with_one_odd_side() {
        let ohm = |value: i32| Rational::from(value);
        let square = [(0, 1, ohm(1)), (1, 2, ohm(1)), (0, 3, ohm(1)), (3, 2, ohm(1))];
        let even = Symmetry::new(&[0, 1, 2, 3], &square);
        assert!(even.exists(&[(0, 0), (2, 2), (1, 3)]));
        let mut odd = square;
        odd[0].2 = ohm(2);
        assert!(!Symmetry::new(&[0, 1, 2, 3], &odd).exists(&[(0, 0), (2, 2), (1, 3)]));
    }
}
