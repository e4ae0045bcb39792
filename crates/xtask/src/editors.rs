//! The real editors that the tests drive.

use crate::packages;

/// Whether Neovim is there, or could be installed.
pub fn set_up() -> bool {
    packages::ensure("nvim", &["neovim"])
}
