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
