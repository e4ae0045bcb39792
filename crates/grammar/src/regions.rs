//! Lists inside files that are otherwise written by hand: the lines between `BEGIN WORDS` and `END WORDS` are generated, and where the
//! pattern of a unit must stand elsewhere, those between `BEGIN UNIT` and `END UNIT`.

use anyhow::{Result, bail};

use crate::inventory::{List, lists, prefixes, unit_pattern, units};

/// How a file writes its lists.
#[derive(Clone, Copy)]
pub enum Style {
    /// Vim's `syntax keyword`.
    Vim,
    /// Constants of Emacs Lisp.
    Elisp,
    /// Options of Kakoune that hold alternatives of a pattern.
    Kakoune,
    /// Variables of a `.sublime-syntax` file.
    Sublime,
    /// Lists of a KSyntaxHighlighting definition.
    Kate,
    /// Rules of the W3C notation.
    Ebnf,
}

/// A text with its generated lines written anew.
pub fn fill(text: &str, style: Style) -> Result<String> {
    let text = replace(text, "WORDS", &lines(style))?;
    match style {
        Style::Kate => replace(&text, "UNIT", &format!("  <!ENTITY unit \"{}\">\n", unit_pattern())),
        _ => Ok(text),
    }
}

/// A text with other lines between those that hold `BEGIN NAME` and `END NAME`.
fn replace(text: &str, name: &str, lines: &str) -> Result<String> {
    let (Some(begin), Some(end)) = (text.find(&format!("BEGIN {name}")), text.find(&format!("END {name}"))) else {
        bail!("the file has no lines `BEGIN {name}` and `END {name}`");
    };
    let Some(from) = text[begin..].find('\n').map(|at| begin + at + 1) else { bail!("nothing follows `BEGIN {name}`") };
    let to = text[..end].rfind('\n').map_or(0, |at| at + 1);
    if to < from {
        bail!("`END {name}` stands before `BEGIN {name}`");
    }
    Ok(format!("{}{lines}{}", &text[..from], &text[to..]))
}

fn lines(style: Style) -> String {
    let mut all: Vec<String> = lists().iter().map(|list| line(style, list)).collect();
    all.push(unit_line(style));
    all.concat()
}

fn line(style: Style, list: &List) -> String {
    let List { name, words } = list;
    let quoted = |mark: &str, between: &str| {
        words.iter().map(|word| format!("{mark}{word}{mark}")).collect::<Vec<_>>().join(between)
    };
    match style {
        Style::Vim => {
            let (first, rest) = name.split_at(1);
            format!("let s:{first}{rest} = '{}'\n", words.join(" "))
        }
        Style::Elisp => format!("(defconst ohmline--{name}\n  '({}))\n", quoted("\"", " ")),
        Style::Kakoune => format!("declare-option -hidden str ohmline_{name} '{}'\n", words.join("|")),
        Style::Sublime => format!("  {name}: '(?:{})'\n", words.join("|")),
        Style::Kate => {
            let items: String = words.iter().map(|word| format!("      <item>{word}</item>\n")).collect();
            format!("    <list name=\"{name}\">\n{items}    </list>\n")
        }
        Style::Ebnf if *name == "kinds" => wrapped("KIND     ", &quoted("'", " | ")),
        Style::Ebnf => String::new(),
    }
}

fn unit_line(style: Style) -> String {
    let pattern = unit_pattern();
    match style {
        Style::Vim => {
            format!("let s:unit = '{}'\n", pattern.replace("(?:", "\\%(").replace('|', "\\|").replace(')', "\\)"))
        }
        Style::Elisp => format!(
            "(defconst ohmline--unit\n  \"{}\")\n",
            pattern.replace("(?:", "\\\\(?:").replace('|', "\\\\|").replace(')', "\\\\)")
        ),
        Style::Kakoune => format!("declare-option -hidden str ohmline_unit '{pattern}'\n"),
        Style::Sublime => format!("  unit: '{pattern}'\n"),
        // It stands at the head of the file.
        Style::Kate => String::new(),
        Style::Ebnf => {
            let symbols = |words: Vec<&str>| words.iter().map(|word| symbol(word)).collect::<Vec<_>>().join(" | ");
            wrapped("UNIT     ", "PREFIX? SYMBOL")
                + &wrapped("PREFIX   ", &symbols(prefixes()))
                + &wrapped("SYMBOL   ", &symbols(units()))
        }
    }
}

/// A symbol as the W3C notation writes it: by its number when it is outside of ASCII.
fn symbol(word: &str) -> String {
    match word.chars().next() {
        Some(c) if !c.is_ascii() => format!("#x{:X}", u32::from(c)),
        _ => format!("'{word}'"),
    }
}

/// A rule of which no line is longer than a page is wide; alternatives go on below each other.
fn wrapped(name: &str, body: &str) -> String {
    const WIDTH: usize = 110;
    let mut text = format!("{name} ::= ");
    let mut width = text.len();
    for (index, alternative) in body.split(" | ").enumerate() {
        if index > 0 {
            let lead = if width + alternative.len() + 3 > WIDTH {
                width = 12;
                "\n            | "
            } else {
                " | "
            };
            text.push_str(lead);
        }
        text.push_str(alternative);
        width += alternative.len() + 3;
    }
    text + "\n"
}
