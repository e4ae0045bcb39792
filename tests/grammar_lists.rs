//! The generated files of the grammars and the editors are what the inventory of words makes them.

mod corpus;

use std::fs;

use ohmline_syntax::words::{AFTER_NUMBER, CONNECTIVES, QUANTITIES, STATEMENTS};
use serde_json::Value;

#[test]
fn every_generated_file_is_up_to_date() {
    let root = corpus::root();
    let mut stale = Vec::new();
    for file in ohmline_grammar::generated(&root).expect("the files with lists are there") {
        if fs::read_to_string(root.join(&file.path)).ok().as_deref() != Some(file.text.as_str()) {
            stale.push(file.path);
        }
    }
    assert!(stale.is_empty(), "`cargo xtask grammar` writes these anew: {stale:?}");
}

#[test]
fn the_parser_was_generated_from_the_rules_as_they_are() {
    let root = corpus::root();
    let mark = ohmline_grammar::fingerprint(&root).expect("the rules are there");
    let noted = fs::read_to_string(root.join(&mark.path)).unwrap_or_default();
    assert_eq!(noted, mark.text, "`cargo xtask grammar` generates the parser anew");
}

/// The tables of the committed parser were made from the committed rules: the same keywords in the same order.
#[test]
fn the_compiled_grammar_has_the_words_of_the_inventory() {
    let path = corpus::root().join("grammar/tree-sitter/src/grammar.json");
    let grammar: Value =
        serde_json::from_str(&fs::read_to_string(path).expect("grammar.json is there")).expect("it is JSON");
    let externals = grammar["externals"].as_array().expect("tokens of the scanner are listed");
    let keywords: Vec<&str> = externals
        .iter()
        .filter(|token| token["type"] == "STRING")
        .filter_map(|token| token["value"].as_str())
        .collect();
    let words: Vec<&str> =
        STATEMENTS.iter().chain(QUANTITIES).chain(CONNECTIVES).chain(AFTER_NUMBER).copied().collect();
    assert_eq!(keywords, words);

    let language = ohmline_grammar::tree_sitter_language();
    for word in words {
        assert_ne!(language.id_for_node_kind(word, false), 0, "{word} is no token of the parser");
    }
    for rule in grammar["rules"].as_object().expect("rules have names").keys().filter(|rule| !rule.starts_with('_')) {
        assert_ne!(language.id_for_node_kind(rule, true), 0, "{rule} is no node of the parser");
    }
    // Neovim 0.7 reads tables of version 13 and 14 only.
    assert_eq!(language.abi_version(), 14);
}

/// A query names only nodes, fields and tokens that there are.
#[test]
fn the_queries_fit_the_grammar() {
    let language = ohmline_grammar::tree_sitter_language();
    let mut count = 0;
    for path in corpus::files("grammar", "scm").into_iter().chain(corpus::files("editors", "scm")) {
        let text = fs::read_to_string(&path).expect("a query can be read");
        if let Err(error) = tree_sitter::Query::new(&language, &text) {
            panic!("{}: {error}", path.display());
        }
        count += 1;
    }
    assert!(count >= 10, "only {count} queries");
}

/// A snippet as it stands when it is inserted: each place with its default or the first of its choices.
fn expanded(body: &str) -> String {
    let mut out = String::new();
    let mut values = std::collections::BTreeMap::new();
    expand(&mut body.chars().peekable(), false, &mut values, &mut out);
    out
}

fn expand(
    rest: &mut std::iter::Peekable<std::str::Chars<'_>>,
    inside: bool,
    values: &mut std::collections::BTreeMap<String, String>,
    out: &mut String,
) {
    let number = |rest: &mut std::iter::Peekable<std::str::Chars<'_>>| {
        std::iter::from_fn(|| rest.next_if(char::is_ascii_digit)).collect::<String>()
    };
    while let Some(c) = rest.next() {
        match c {
            '}' if inside => return,
            '$' if rest.peek() == Some(&'{') => {
                rest.next();
                let place = number(rest);
                let mut value = String::new();
                match rest.next() {
                    Some(':') => expand(rest, true, values, &mut value),
                    Some('|') => {
                        let all: String = rest.by_ref().take_while(|c| *c != '|').collect();
                        rest.next();
                        value = all.split(',').next().unwrap_or_default().to_owned();
                    }
                    other => assert_eq!(other, Some('}'), "a place is closed"),
                }
                out.push_str(&value);
                values.insert(place, value);
            }
            '$' => {
                let place = number(rest);
                out.push_str(values.get(&place).map_or("", String::as_str));
            }
            c => out.push(c),
        }
    }
}

/// What a snippet inserts can be read as it stands.
#[test]
fn the_snippets_are_statements() {
    let path = corpus::root().join("editors/vscode/snippets/ohmline.json");
    let snippets: Value = serde_json::from_str(&fs::read_to_string(path).expect("snippets are there")).expect("JSON");
    for (name, snippet) in snippets.as_object().expect("snippets have names") {
        let body = match &snippet["body"] {
            Value::Array(lines) => lines.iter().filter_map(Value::as_str).collect::<Vec<_>>().join("\n"),
            line => line.as_str().expect("a line").to_owned(),
        };
        let mut text = expanded(&body);
        if name == "Parallel group" {
            // An item of a path, not a whole one.
            text = format!("B1+ -- {text} -- B1-");
        }
        let tree = ohmline_syntax::parse(&text);
        assert!(!tree.stmts.is_empty(), "{name} inserts nothing");
        for stmt in &tree.stmts {
            assert_eq!(stmt.node.problems, [], "{name}: {text}");
        }
        assert_eq!(tree.block_problems, [], "{name}: {text}");
    }
}
