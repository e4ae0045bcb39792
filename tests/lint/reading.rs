//! Reads the marked circuits: Markdown pages with one fenced `ohmline` block a circuit.
//!
//! A heading names the circuit, a sentence says what its writer did. In the block, marks stand below the line they speak of and are taken out
//! before the circuit is checked:
//!
//! - `#^ warning open-end @pier says "R1"`: a finding of this severity and rule, whose place is this text in the line above; its message or one
//!   of its notes holds the words. The text of the place stands in backquotes. `(2)` behind it means its second occurrence in the line; `in
//!   "night"` names the cases in which it is so.
//! - `#~ open-end R1`: another place of the same finding, its text in backquotes too. With several findings of one rule, `open-end 2` is the
//!   second one marked.

use std::fs;
use std::path::{Path, PathBuf};

use ohmline_syntax::Severity;

/// A circuit of the corpus.
pub struct Marked {
    /// File and heading.
    pub name: String,
    /// Without the marks.
    pub text: String,
    /// What is to be found.
    pub expected: Vec<Expected>,
}

/// A finding as it is marked.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Expected {
    /// Start and end of its place.
    pub at: (u32, u32),
    /// How bad it is.
    pub severity: Severity,
    /// Its rule.
    pub rule: String,
    /// Its other places, in order of the text.
    pub labels: Vec<(u32, u32)>,
    /// The cases in which it is so.
    pub cases: Vec<String>,
    /// What its message or one of its notes holds.
    pub says: Vec<String>,
}

/// The folder of the corpus.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/lint")
}

/// Every circuit of a part of the corpus, `faulty` or `sound`.
pub fn circuits(part: &str) -> Vec<Marked> {
    let mut pages: Vec<PathBuf> = fs::read_dir(folder().join(part))
        .expect("the corpus is part of the project")
        .map(|entry| entry.expect("a folder can be listed").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "md"))
        .collect();
    pages.sort();
    pages.iter().flat_map(|page| read(page)).collect()
}

fn read(page: &Path) -> Vec<Marked> {
    let text = fs::read_to_string(page).expect("a page of the corpus is readable");
    let stem = page.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let mut all = Vec::new();
    let mut heading = String::new();
    let mut told = false;
    let mut block: Option<Vec<&str>> = None;
    for line in text.lines() {
        match &mut block {
            None if line == "```ohmline" => block = Some(Vec::new()),
            None => {
                if let Some(title) = line.strip_prefix("## ") {
                    (heading, told) = (title.to_owned(), false);
                } else {
                    told |= !line.trim().is_empty();
                }
            }
            Some(_) if line == "```" => {
                assert!(
                    !heading.is_empty() && told,
                    "{stem}: a circuit without heading or sentence behind {heading:?}"
                );
                let name = format!("{stem}: {heading}");
                all.push(marked(&name, &block.take().unwrap_or_default()));
                heading.clear();
            }
            Some(lines) => lines.push(line),
        }
    }
    assert!(block.is_none(), "{stem}: the last block is not closed");
    all
}

fn marked(name: &str, lines: &[&str]) -> Marked {
    let mut circuit = Marked { name: name.to_owned(), text: String::new(), expected: Vec::new() };
    let mut above = (0, "");
    let mut labels = Vec::new();
    for line in lines {
        if let Some(mark) = line.trim_start().strip_prefix("#^ ") {
            let finding = finding(mark, above).unwrap_or_else(|why| panic!("{name}: {why} in {line}"));
            circuit.expected.push(finding);
        } else if let Some(mark) = line.trim_start().strip_prefix("#~ ") {
            labels.push((*line, mark, above.0, above.1));
        } else {
            above = (circuit.text.len(), line);
            circuit.text += line;
            circuit.text.push('\n');
        }
    }
    // A label may stand before its finding.
    for (line, mark, start, above) in labels {
        label(mark, (start, above), &mut circuit.expected).unwrap_or_else(|why| panic!("{name}: {why} in {line}"));
    }
    for finding in &mut circuit.expected {
        finding.labels.sort_unstable();
    }
    circuit.expected.sort();
    circuit
}

/// The words before the text of the place, where it stands, and what follows.
fn place<'m>(mark: &'m str, (start, line): (usize, &str)) -> Result<(&'m str, (u32, u32), &'m str), String> {
    let (before, rest) = mark.split_once('`').ok_or("no text in backquotes")?;
    let (text, mut rest) = rest.split_once('`').ok_or("the backquote is not closed")?;
    let mut which = 1;
    if let Some((number, behind)) = rest.strip_prefix(" (").and_then(|rest| rest.split_once(')')) {
        which = number.parse().map_err(|_| "no number in brackets")?;
        rest = behind;
    }
    let (column, _) = line.match_indices(text).nth(which - 1).ok_or(format!("`{text}` is not in the line above"))?;
    let from = (start + column) as u32;
    Ok((before.trim(), (from, from + text.len() as u32), rest))
}

fn finding(mark: &str, above: (usize, &str)) -> Result<Expected, String> {
    let (words, at, rest) = place(mark, above)?;
    let (severity, rule) = words.split_once(' ').ok_or("no severity and rule")?;
    let severity = [Severity::Error, Severity::Warning, Severity::Info, Severity::Hint]
        .into_iter()
        .find(|known| known.word() == severity)
        .ok_or(format!("`{severity}` is no severity"))?;
    let mut expected =
        Expected { at, severity, rule: rule.to_owned(), labels: Vec::new(), cases: Vec::new(), says: Vec::new() };
    let mut pieces = rest.split('"');
    let mut list = 0;
    while let Some(words) = pieces.next() {
        list = match words.trim() {
            "in" => 1,
            "says" => 2,
            "" => list,
            other => return Err(format!("`{other}` means nothing")),
        };
        let Some(text) = pieces.next() else { break };
        match list {
            1 => expected.cases.push(text.to_owned()),
            2 => expected.says.push(text.to_owned()),
            _ => return Err(format!("\"{text}\" stands behind neither `in` nor `says`")),
        }
    }
    Ok(expected)
}

fn label(mark: &str, above: (usize, &str), expected: &mut [Expected]) -> Result<(), String> {
    let (words, at, rest) = place(mark, above)?;
    if !rest.trim().is_empty() {
        return Err(format!("`{rest}` means nothing"));
    }
    let (rule, which) = match words.split_once(' ') {
        Some((rule, number)) => (rule, number.parse::<usize>().map_err(|_| "no number behind the rule")?),
        None => (words, 1),
    };
    let finding = expected.iter_mut().filter(|one| one.rule == rule).nth(which - 1);
    finding.ok_or(format!("no finding `{rule}` {which} is marked"))?.labels.push(at);
    Ok(())
}
