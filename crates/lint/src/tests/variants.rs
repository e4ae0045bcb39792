//! What a rule finds hangs neither on names nor on the order of statements.

use ohmline_syntax::Severity;

use crate::fixture::{check, write};
use crate::registry::{Group, RULES};

/// Every element and junction under another name: `R1` becomes `Rz1`, `@fork` becomes `@forkz`.
fn renamed(text: &str) -> String {
    let tree = ohmline_syntax::parse(text);
    let mut names: Vec<String> = Vec::new();
    for stmt in &tree.stmts {
        if let ohmline_syntax::tree::StmtKind::Declare(declare) = &stmt.node.kind {
            names.extend(declare.names.iter().map(|name| name.text.to_string()));
        }
    }
    let mut out = String::new();
    let mut rest = text;
    while let Some(start) = rest.find(|c: char| c.is_alphanumeric() || c == '@') {
        let (before, from) = rest.split_at(start);
        let end = from[1..].find(|c: char| !c.is_alphanumeric() && c != '_').map_or(from.len(), |end| end + 1);
        let word = &from[..end];
        out.push_str(before);
        if word.starts_with('@') {
            out.push_str(&format!("{word}z"));
        } else if names.iter().any(|name| name == word) {
            let digits = word.find(|c: char| c.is_ascii_digit()).unwrap_or(word.len());
            out.push_str(&format!("{}z{}", &word[..digits], &word[digits..]));
        } else {
            out.push_str(word);
        }
        rest = &from[end..];
    }
    out + rest
}

/// The statements from the last to the first.
fn reversed(text: &str) -> String {
    text.lines().rev().map(|line| format!("{line}\n")).collect()
}

#[test]
fn examples_are_found_under_other_names_and_in_another_order() {
    let mut wrong = String::new();
    let mut tried = 0;
    for rule in RULES {
        let meta = rule.meta();
        // Style is about names and order; blocks have an order of their own.
        if meta.group == Group::Style || meta.bad.contains("\nend\n") {
            continue;
        }
        for text in [renamed(meta.bad), reversed(meta.bad), reversed(&renamed(meta.bad))] {
            tried += 1;
            let found = check(&text);
            let own = found.iter().any(|said| said.rule == meta.name);
            if !own || found.iter().any(|said| said.rule != meta.name && said.severity <= Severity::Warning) {
                wrong += &format!("== {}\n{text}{}", meta.name, write(&text, &found));
            }
        }
        for text in [renamed(meta.good), reversed(meta.good)] {
            tried += 1;
            let found = check(&text);
            if found.iter().any(|said| said.rule == meta.name || said.severity <= Severity::Warning) {
                wrong += &format!("== good of {}\n{text}{}", meta.name, write(&text, &found));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(tried >= 350, "only {tried}");
}
