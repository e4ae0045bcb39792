//! The lists that editors need, from the one inventory of words.

use ohmline_syntax::words::{
    AFTER_NUMBER, CONNECTIVES, KINDS, PREFIXES, QUANTITIES, STATEMENTS, STATES, UNITS, options_of,
};

/// A list of words with the name it has in the generated files.
pub struct List {
    /// Its name, in lower case.
    pub name: &'static str,
    /// Its words, in the order of the inventory.
    pub words: Vec<&'static str>,
}

/// Words that join the parts of questions, claims and values.
pub fn connectives() -> Vec<&'static str> {
    CONNECTIVES.iter().chain(AFTER_NUMBER).copied().collect()
}

/// The names of all options of all kinds, each once.
pub fn options() -> Vec<&'static str> {
    let mut names = Vec::new();
    for option in KINDS.iter().flat_map(|kind| options_of(kind)) {
        if !names.contains(&option.name) {
            names.push(option.name);
        }
    }
    names
}

/// Prefixes, each spelling once, the micro sign in both its code points.
pub fn prefixes() -> Vec<&'static str> {
    PREFIXES.iter().map(|(prefix, _)| *prefix).chain(["\u{3bc}"]).collect()
}

/// Unit symbols, the ohm sign in both its code points.
pub fn units() -> Vec<&'static str> {
    UNITS.iter().copied().chain(["\u{2126}"]).collect()
}

/// All lists of words, units and prefixes apart.
pub fn lists() -> Vec<List> {
    vec![
        List { name: "statements", words: STATEMENTS.to_vec() },
        List { name: "kinds", words: KINDS.to_vec() },
        List { name: "quantities", words: QUANTITIES.to_vec() },
        List { name: "connectives", words: connectives() },
        List { name: "states", words: STATES.to_vec() },
        List { name: "options", words: options() },
    ]
}

/// A pattern for a unit with its prefix, `%` apart: in it, longer symbols stand before their own beginnings.
pub fn unit_pattern() -> String {
    let mut symbols: Vec<&str> = units().into_iter().filter(|unit| *unit != "%").collect();
    symbols.sort_by_key(|unit| std::cmp::Reverse(unit.len()));
    format!("[{}]?(?:{})", prefixes().concat(), symbols.join("|"))
}
