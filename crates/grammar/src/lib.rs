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

use tree_sitter_language::LanguageFn;

pub use files::{Generated, generated};

#[allow(unsafe_code, reason = "a tree-sitter grammar is a function in C")]
mod compiled {
    unsafe extern "C" {
        pub(super) fn tree_sitter_ohmline() -> *const ();
    }
}

/// The committed tree-sitter grammar, compiled by the build script.
#[allow(unsafe_code, reason = "the function is the generated one, which gives a static table")]
pub fn tree_sitter_language() -> tree_sitter::Language {
    // SAFETY: the function comes from the tree-sitter command and is linked from the same sources.
    unsafe { LanguageFn::from_raw(compiled::tree_sitter_ohmline) }.into()
}
