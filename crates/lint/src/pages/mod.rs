//! What everyone may know about the rules that the parser, the builder and whoever reads the files report: why they matter, an example, its mending. They
//! report while they read, so their checks stand there; what there is to say about them stands here, with all other rules.

mod allowing;
mod names;
mod questions;
mod settings;
mod values;
mod wiring;
mod writing;

use crate::registry::Group;

/// When a rule of reading may be ignored.
const NEVER: &str = "Never: what cannot be read is left out of the circuit";

/// What there is to say about a rule besides its name, severity and summary.
#[derive(Clone, Copy, Debug)]
pub struct Page {
    /// The rule.
    pub name: &'static str,
    /// What it is about.
    pub group: Group,
    /// Why it matters.
    pub why: &'static str,
    /// A file that fires exactly this rule; empty where no single short file can.
    pub bad: &'static str,
    /// The same file, mended.
    pub good: &'static str,
    /// When it is right to ignore it.
    pub ignore_when: &'static str,
    /// What its fix does.
    pub fix: &'static str,
}

/// The page of a rule.
pub fn page(name: &str) -> Option<&'static Page> {
    let all = [
        writing::PAGES,
        names::PAGES,
        wiring::PAGES,
        values::PAGES,
        questions::PAGES,
        allowing::PAGES,
        settings::PAGES,
    ];
    all.into_iter().flatten().find(|page| page.name == name)
}
