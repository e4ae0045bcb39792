//! One file a feature: what was found gets the shapes of the protocol.

pub mod colors;
pub mod commands;
pub mod lenses;
pub mod pull;
pub mod settings_file;
pub mod signature;
