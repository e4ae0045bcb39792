//! The grammars that editors use, held to the language itself.
//!
//! Purpose: make every list of words that lies in `grammar/` and `editors/` from the one inventory in
//! [`ohmline_syntax::words`], and read texts with the tree-sitter grammar so that tests can compare it with the parser.
//! Boundary: nothing of the product uses this crate.

mod files;
mod inventory;
mod regions;
mod scanner;
mod textmate;

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use tree_sitter_language::LanguageFn;

pub use files::{Generated, generated};

#[allow(unsafe_code, reason = "a tree-sitter grammar is a function in C")]
mod compiled {
    unsafe extern "C" {
        pub(super) fn tree_sitter_ohmline() -> *const ();
    }
}

/// What the committed parser was generated from, where it is kept, and its fingerprint as it should be.
///
/// # Errors
///
/// The rules cannot be read.
pub fn fingerprint(root: &Path) -> Result<Generated> {
    let mut hash = Fnv::default();
    for file in ["grammar/tree-sitter/grammar.js", "grammar/tree-sitter/words.js"] {
        hash.write(&fs::read(root.join(file)).with_context(|| format!("cannot read {file}"))?);
    }
    let text = format!("grammar.js and words.js, by FNV-1a: {:016x}\n", hash.0);
    Ok(Generated { path: "grammar/tree-sitter/src/made-from.txt".to_owned(), text })
}

/// The hash of Fowler, Noll and Vo in its variant 1a: the same everywhere and in every version.
struct Fnv(u64);

impl Default for Fnv {
    fn default() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }
}

impl Fnv {
    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
}

/// The committed tree-sitter grammar, compiled by the build script.
#[allow(unsafe_code, reason = "the function is the generated one, which gives a static table")]
pub fn tree_sitter_language() -> tree_sitter::Language {
    // SAFETY: the function comes from the tree-sitter command and is linked from the same sources.
    unsafe { LanguageFn::from_raw(compiled::tree_sitter_ohmline) }.into()
}

#[cfg(test)]
mod tests {
    use super::Fnv;

    /// Test vectors of the authors' FNV page, from memory: the empty text, `a` and `foobar`.
    #[test]
    fn the_hash_is_fnv_1a() {
        let hash = |text: &str| {
            let mut hash = Fnv::default();
            hash.write(text.as_bytes());
            hash.0
        };
        assert_eq!(hash(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(hash("a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(hash("foobar"), 0x8594_4171_f739_67e8);
    }
}
