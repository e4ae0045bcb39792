//! From statements to a circuit.

use crate::model::Circuit;
use crate::sources::Sources;

/// Builds the circuit of the first file. Never fails: what cannot be understood is in
/// [`Circuit::diagnostics`].
pub fn build(_sources: &Sources) -> Circuit {
    Circuit::default()
}
