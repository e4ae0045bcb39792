//! Which files are generated, wholly or in part.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};

use crate::regions::{Style, fill};
use crate::{scanner, textmate};

/// A file as it should be.
#[derive(Debug)]
pub struct Generated {
    /// Where, from the root of the project.
    pub path: String,
    /// Its whole text.
    pub text: String,
}

/// Files with generated lines inside.
const PARTLY: &[(&str, Style)] = &[
    ("grammar/ohmline.ebnf", Style::Ebnf),
    ("editors/nvim/syntax/ohmline.vim", Style::Vim),
    ("editors/emacs/ohmline-mode.el", Style::Elisp),
    ("editors/kakoune/ohmline.kak", Style::Kakoune),
    ("editors/sublime/Ohmline.sublime-syntax", Style::Sublime),
    ("editors/kate/ohmline.xml", Style::Kate),
];

/// Queries for tree-sitter that editors take as they are.
const QUERIES: &[(&str, &[&str])] = &[
    ("editors/nvim/queries/ohmline", &["highlights", "folds", "indents", "locals", "injections"]),
    ("editors/zed/languages/ohmline", &["highlights", "injections"]),
    ("editors/helix/queries/ohmline", &["highlights", "locals", "injections"]),
];

/// Every generated file of the project, as it should be; the parts written by hand are read from under `root`.
///
/// # Errors
///
/// A file that should be there and cannot be read, or has no place for its lists.
pub fn generated(root: &Path) -> Result<Vec<Generated>> {
    let read = |path: &str| fs::read_to_string(root.join(path)).with_context(|| format!("cannot read {path}"));
    let mut files = Vec::new();
    let mut add = |path: &str, text: String| files.push(Generated { path: path.to_owned(), text });
    add("grammar/tree-sitter/words.js", scanner::words_js());
    add("grammar/tree-sitter/src/words.h", scanner::words_h());
    let textmate = textmate::grammar();
    add("grammar/textmate/ohmline.tmLanguage.json", textmate.clone());
    add("editors/vscode/syntaxes/ohmline.tmLanguage.json", textmate);
    add("editors/vscode/syntaxes/markdown-ohmline.tmLanguage.json", textmate::injection());
    for (path, style) in PARTLY {
        add(path, fill(&read(path)?, *style).with_context(|| (*path).to_owned())?);
    }
    for (folder, names) in QUERIES {
        for name in *names {
            let text = read(&format!("grammar/tree-sitter/queries/{name}.scm"))?;
            let note = format!("; Copied from grammar/tree-sitter/queries/{name}.scm by `cargo xtask grammar`.\n\n");
            add(&format!("{folder}/{name}.scm"), note + &text);
        }
    }
    Ok(files)
}
