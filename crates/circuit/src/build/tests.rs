//! What the builder makes of texts: snapshots, one row a rule, copies against hand-written circuits.

mod again;
mod copies;
mod offers;
mod rules;
mod snapshots;
