//! Analysis to pages: tables, JSON, worked solutions.
//!
//! Purpose: everything that is read, by people or programs.
//! Boundary: views only. Nothing here solves, judges or words a diagnostic.
//! Invariants: numbers are rounded only here, and only for display; JSON follows the published contract (`schema` 1).
