//! Text to tree: the lexer, the parser, spans, positions and the diagnostic model.
//!
//! Purpose: turn the text of one file into a [`Tree`] of statements, whatever the text is.
//! Boundary: this crate knows no electricity. It does not know what a resistor is, which options a
//! kind takes, or whether a name is defined; it knows what a statement looks like.
//! Invariants:
//! - [`parse`] never fails and never panics: a statement that cannot be read becomes
//!   [`StmtKind::Error`](tree::StmtKind::Error) with exactly one problem, and its neighbours do not notice.
//! - Tokens are lossless: the lengths of all tokens of a text add up to its length.
//! - [`reparse`] gives the same tree as [`parse`] of the new text.
//! - Inside, every position is a byte offset; [`LineIndex`] converts at the edge.

pub mod diagnostic;
pub mod evidence;
pub mod lexer;
pub mod line_index;
pub mod memo;
mod parser;
pub mod span;
pub mod tree;
pub mod words;

pub use diagnostic::{Diagnostic, Edit, Fix, Label, Safety, Severity};
pub use evidence::{Basis, Evidence, EvidenceKind, EvidenceSide, EvidenceStep, Proof};
pub use line_index::{Encoding, LineCol, LineIndex};
pub use parser::{parse, reparse};
pub use span::{FileId, FileSpan, RelSpan, Span};
pub use tree::Tree;
