//! Sparse solving in double precision.
