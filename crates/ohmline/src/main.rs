//! The `ohmline` command.
fn main() {}
