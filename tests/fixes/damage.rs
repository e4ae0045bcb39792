//! Published circuits with mistakes in them.

use ohmline_analysis::{Analysis, FileSystem, Settings, analyze, load};
use ohmline_syntax::lexer::{TokenKind, tokens};
use ohmline_syntax::{Diagnostic, Severity, parse};

use std::path::Path;
use std::sync::Arc;

use crate::case::Case;
use crate::harness::Random;

/// The files of a folder.
pub struct Folder;

impl FileSystem for Folder {
    fn read(&self, path: &Path) -> Result<Arc<str>, String> {
        std::fs::read_to_string(path).map(Into::into).map_err(|error| error.to_string())
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }
}

/// What is found in a text, with every fix that a rule has thought of.
pub fn analysis(path: Option<&Path>, text: &str) -> Analysis {
    analyze(load("text.ohmline", path, Arc::new(parse(text)), &Folder), &Settings::default())
}

/// The errors of an analysis.
pub fn errors(found: &Analysis) -> Vec<&Diagnostic> {
    found.diagnostics.iter().filter(|own| own.severity == Severity::Error).collect()
}

/// Words that are mistaken for one another, and signs for others.
const SWAPS: &[(&str, &str)] = &[
    ("ohm", "V"),
    ("ohm", "Ohm"),
    ("ohm", "\u{3a9}hm"),
    (" V", " A"),
    ("--", "\u{2013}"),
    ("--", "\u{2014}"),
    ("--", "-"),
    ("--", "---"),
    (" -- ", "--"),
    ("=", ":"),
    ("=", "=="),
    (" = ", " "),
    ("@", ""),
    ("@n", "n"),
    ("\"", "\u{201c}"),
    ("\"", ""),
    ("resistor", "Resistor"),
    ("resistor", "resitor"),
    ("battery", "batery"),
    ("ammeter", "amperemeter"),
    ("lamp", "bulb"),
    ("+", ""),
    ("-", "\u{2212}"),
    (".", ","),
    (", ", " "),
    (", internal", ", inner"),
    ("internal", "intenal"),
    ("1", "l"),
    ("0", "O"),
    ("circuit", "title"),
    ("\n", "\n\n"),
    ("\n", ",\n"),
    ("\n", ";\n"),
];

/// A text with one mistake in it.
fn damaged(text: &str, random: &mut Random) -> String {
    let own: Vec<_> = tokens(text)
        .into_iter()
        .filter(|token| !token.kind.is_trivia() && !matches!(token.kind, TokenKind::Text | TokenKind::Comment))
        .collect();
    let (one, other) = (random.pick(&own).span().range(), random.pick(&own).span().range());
    let with =
        |range: std::ops::Range<usize>, new: &str| format!("{}{new}{}", &text[..range.start], &text[range.end..]);
    match random.below(8) {
        0 => with(one, ""),
        1 => {
            let word = text[one.clone()].to_owned();
            with(one, &format!("{word} {word}"))
        }
        2 => with(one, &text[other]),
        3 => {
            // Two letters change places.
            let mut letters: Vec<char> = text[one.clone()].chars().collect();
            if letters.len() > 1 {
                let at = random.below(letters.len() - 1);
                letters.swap(at, at + 1);
            }
            with(one, &letters.into_iter().collect::<String>())
        }
        4 => {
            let mut lines: Vec<&str> = text.lines().collect();
            let from = random.below(lines.len());
            let line = lines.remove(from);
            if random.below(2) == 0 {
                lines.insert(random.below(lines.len() + 1), line);
            }
            lines.join("\n") + "\n"
        }
        _ => {
            let (from, to) = *random.pick(SWAPS);
            let places: Vec<usize> = text.match_indices(from).map(|(at, _)| at).collect();
            match places.is_empty() {
                true => with(one, ""),
                false => {
                    let at = *random.pick(&places);
                    with(at..at + from.len(), to)
                }
            }
        }
    }
}

/// A published circuit with a claim that holds; `None` where it has errors of its own, or is so large that trying takes long: there a
/// mistake is no other than in a small one.
pub fn sound(case: &Case) -> Option<String> {
    let last = case.elements.iter().rfind(|part| part.kind != "wire")?;
    let asked = format!("{}find current through {}\n", case.text(), last.name);
    let found = analysis(None, &asked);
    let value = found.answers.finds.first().and_then(|find| find.value.as_ref().ok()).map(|value| value.to_f64());
    let text = match value {
        Some(value) if value != 0.0 => {
            format!("{asked}claim current through {} = {:.9} A within 1%\n", last.name, value)
        }
        _ => asked,
    };
    (errors(&analysis(None, &text)).is_empty() && text.len() < 3000).then_some(text)
}

/// A published circuit with mistakes in it: one, two, or several slips in one line.
pub fn worse(text: &str, number: usize, random: &mut Random) -> String {
    match number % 4 {
        0 => damaged(&damaged(text, random), random),
        1 => {
            let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
            let at = random.below(lines.len());
            for _ in 0..3 {
                let (from, to) = *random.pick(SWAPS);
                lines[at] = if from == "\n" { lines[at].clone() } else { lines[at].replacen(from, to, 1) };
            }
            lines.join("\n") + "\n"
        }
        _ => damaged(text, random),
    }
}
