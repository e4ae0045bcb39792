//! Tests that walk every rule, and circuits that must stay quiet.

mod causes;
mod published;
mod registry;
mod size;
