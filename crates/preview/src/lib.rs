//! The live page of a circuit, served on loopback.
