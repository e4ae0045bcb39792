//! The language server: documents, scheduling, and the shapes of the Language Server Protocol.
//!
//! Purpose: bring the analysis into editors.
//! Boundary: no electricity of its own; tower-lsp and its types stay inside this crate.
//! Invariants: no handler awaits the client; diagnostics are sent for exactly the version they were made from; the
//! server goes on after any input.
