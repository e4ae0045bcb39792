//! Drawings on paper: the embedded font that they are set in.

/// Inter Regular (a subset), under the SIL Open Font License 1.1; see `fonts/LICENSE.txt`.
pub const REGULAR: &[u8] = include_bytes!("../fonts/Inter-Regular.otf");
/// Inter Semi Bold (a subset), under the same license.
pub const SEMI_BOLD: &[u8] = include_bytes!("../fonts/Inter-SemiBold.otf");
