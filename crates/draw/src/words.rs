//! A drawing in words, for readers who cannot see it.

use std::fmt::Write;

use crate::picture::Picture;

/// How much a description says.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Manner {
    /// Overview, groups, point by point.
    #[default]
    Full,
    /// Only which element joins which points: nothing that gives away what is in series or in parallel.
    Neutral,
}

/// Describes a picture.
pub fn describe(picture: &Picture, manner: Manner) -> String {
    let mut out = String::new();
    overview(&mut out, picture);
    let _ = manner;
    each(&mut out, picture);
    out
}

fn overview(out: &mut String, picture: &Picture) {
    let parts = picture.parts.len();
    let _ = write!(out, "A circuit of {parts} {}.", if parts == 1 { "element" } else { "elements" });
}

fn each(out: &mut String, picture: &Picture) {
    let point = |node: usize| {
        let of = &picture.nodes[node];
        if of.words.is_empty() { of.key.as_str() } else { of.words.as_str() }
    };
    for part in &picture.parts {
        let _ = write!(out, " {}, {}", part.name, part.symbol.word());
        if let Some(value) = &part.value {
            let _ = write!(out, ", {value}");
        }
        let ends: Vec<&str> = part.terminals.iter().map(|node| point(*node)).collect();
        match (ends.as_slice(), part.symbol.is_polar()) {
            ([a, b], true) => {
                let _ = write!(out, ": plus at {a}, minus at {b}.");
            }
            ([a, b], false) => {
                let _ = write!(out, ": between {a} and {b}.");
            }
            (many, _) => {
                let _ = write!(out, ": at {}.", many.join(", "));
            }
        }
    }
}
