//! How the unknowns of a large network are ordered, kept for the next network of the same shape.
//!
//! To find an order with few new entries takes as long as to factorize, and depends on the shape alone, which most edits leave as it is.

use std::sync::{Arc, Mutex};

use faer::Side;
use faer::sparse::SymbolicSparseColMatRef;
use faer::sparse::linalg::cholesky::{SymbolicCholesky, SymmetricOrdering, factorize_symbolic_cholesky};

/// Shapes that are kept: what is edited, before and after an edit, of two documents.
const KEPT: usize = 4;
/// Entries of the largest shape that is kept.
const LARGEST: usize = 2_000_000;

struct Shape {
    pointers: Vec<u32>,
    rows: Vec<u32>,
    order: Arc<SymbolicCholesky<u32>>,
}

/// The shapes met last, the newest first.
type Recent = Mutex<Vec<Shape>>;

static RECENT: Recent = Mutex::new(Vec::new());

/// The order for a matrix of which these are the columns and rows of the lower triangle; `None` without memory.
pub(crate) fn order(pointers: &[u32], rows: &[u32]) -> Option<Arc<SymbolicCholesky<u32>>> {
    order_or_recall(&RECENT, pointers, rows)
}

fn order_or_recall(recent: &Recent, pointers: &[u32], rows: &[u32]) -> Option<Arc<SymbolicCholesky<u32>>> {
    if let Ok(mut recent) = recent.lock()
        && let Some(at) = recent.iter().position(|shape| shape.pointers == pointers && shape.rows == rows)
    {
        recent[..=at].rotate_right(1);
        return Some(recent[0].order.clone());
    }
    let count = pointers.len().saturating_sub(1);
    let matrix = SymbolicSparseColMatRef::new_checked(count, count, pointers, None, rows);
    let order = factorize_symbolic_cholesky(matrix, Side::Lower, SymmetricOrdering::Amd, Default::default()).ok()?;
    let order = Arc::new(order);
    if rows.len() <= LARGEST
        && let Ok(mut recent) = recent.lock()
    {
        recent.insert(0, Shape { pointers: pointers.to_vec(), rows: rows.to_vec(), order: order.clone() });
        recent.truncate(KEPT);
    }
    Some(order)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The lower triangle of a chain of points: columns and rows.
    fn chain(count: u32) -> (Vec<u32>, Vec<u32>) {
        let rows = (0..count).flat_map(|at| [at, at + 1]).filter(|row| *row < count).collect();
        ((0..=count).map(|at| (2 * at).min(2 * count - 1)).collect(), rows)
    }

    #[test]
    fn the_last_few_shapes_are_recalled() {
        let recent = Recent::default();
        let of = |count: u32| {
            let (pointers, rows) = chain(count);
            order_or_recall(&recent, &pointers, &rows).expect("it is small")
        };
        let first = of(100);
        assert_eq!(first.nrows(), 100);
        for count in 101..100 + KEPT as u32 {
            assert_eq!(of(count).nrows(), count as usize);
        }
        assert!(Arc::ptr_eq(&first, &of(100)));
        for count in 200..200 + KEPT as u32 {
            of(count);
        }
        assert!(!Arc::ptr_eq(&first, &of(100)));
    }
}
