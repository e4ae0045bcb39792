//! What later stages leave in the tree for the next time. A statement that an edit does not touch is shared by the old and the new tree,
//! so what was made of it need not be made again.
//!
//! None of it is part of what the tree says: trees that differ only here are equal.

use std::any::Any;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, OnceLock};

/// A number that a later stage may guess from, and must check: it is of an earlier time.
pub struct Hint(AtomicU32);

impl Hint {
    const NONE: u32 = u32::MAX;

    /// The number left last, if there is one.
    pub fn get(&self) -> Option<u32> {
        let number = self.0.load(Ordering::Relaxed);
        (number != Self::NONE).then_some(number)
    }

    /// Leaves a number.
    pub fn set(&self, number: u32) {
        self.0.store(number, Ordering::Relaxed);
    }
}

impl Default for Hint {
    fn default() -> Self {
        Self(AtomicU32::new(Self::NONE))
    }
}

impl std::fmt::Debug for Hint {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Hint")
    }
}

impl Clone for Hint {
    fn clone(&self) -> Self {
        Self(AtomicU32::new(self.0.load(Ordering::Relaxed)))
    }
}

impl PartialEq for Hint {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Eq for Hint {}

/// A value that a later stage made of a statement. It may depend on nothing but the statement, for it is kept as long as that is.
#[derive(Clone, Default)]
pub struct Memo(OnceLock<Arc<dyn Any + Send + Sync>>);

impl Memo {
    /// The value, if one of this type was left.
    pub fn get<T: Any + Send + Sync>(&self) -> Option<&T> {
        self.0.get()?.downcast_ref()
    }

    /// Leaves a value, unless there is one already.
    pub fn set<T: Any + Send + Sync>(&self, value: T) {
        let _ = self.0.set(Arc::new(value));
    }
}

impl std::fmt::Debug for Memo {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Memo")
    }
}

impl PartialEq for Memo {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_is_found_again_and_is_no_part_of_the_tree() {
        let (hint, memo) = (Hint::default(), Memo::default());
        assert_eq!(hint.get(), None);
        hint.set(7);
        assert_eq!((hint.get(), hint.clone().get()), (Some(7), Some(7)));
        assert_eq!(hint, Hint::default());
        assert_eq!(memo.get::<u8>(), None);
        memo.set(3u8);
        memo.set(4u8);
        assert_eq!((memo.get::<u8>(), memo.clone().get::<u8>(), memo.get::<u16>()), (Some(&3), Some(&3), None));
        assert_eq!(memo, Memo::default());
    }
}
