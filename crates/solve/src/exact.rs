//! Exact solving with rationals.
