//! Tests that walk every rule, and circuits that must stay quiet.

mod causes;
mod idle;
mod published;
mod registry;
mod size;
mod variants;
