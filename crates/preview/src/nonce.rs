//! Numbers that nobody can guess.

use std::hash::{BuildHasher, Hasher, RandomState};

/// A new one for each page. The keys of `RandomState` come from the system's source of randomness, once a thread, and differ from
/// state to state; SipHash hides them.
pub fn nonce() -> String {
    let part = |salt: u64| {
        let mut hasher = RandomState::new().build_hasher();
        hasher.write_u64(salt);
        hasher.finish()
    };
    format!("{:016x}{:016x}", part(1), part(2))
}

#[cfg(test)]
mod tests {
    use super::nonce;

    #[test]
    fn no_two_are_alike() {
        let many: std::collections::HashSet<String> = (0..100).map(|_| nonce()).collect();
        assert_eq!(many.len(), 100);
    }
}
