//! The tree-sitter grammar against the parser: one corpus, read by both and compared statement by statement.

mod corpus;

use std::collections::BTreeMap;
use std::fmt::Write as _;

use ohmline_grammar::tree_sitter_language;
use ohmline_syntax::lexer::tokens;
use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::{Tree, parse};
use tree_sitter::{InputEdit, Node, Parser, Point};

/// A statement as either reader sees it: where it begins and ends, and what it is; `None` for one that cannot be read.
#[derive(Clone, PartialEq, Eq, Debug)]
struct Seen {
    start: usize,
    end: usize,
    kind: Option<&'static str>,
}

/// Statements of the tree-sitter grammar.
const STATEMENTS: &[&str] = &[
    "circuit_statement",
    "include_statement",
    "let_statement",
    "declaration",
    "path",
    "reference_statement",
    "find_statement",
    "given_statement",
    "measured_statement",
    "claim_statement",
    "case_statement",
    "part_head",
    "repeat_head",
    "end_statement",
];

/// What the tree-sitter grammar calls a statement that the parser has read.
fn name_of(kind: &StmtKind) -> Option<&'static str> {
    Some(match kind {
        StmtKind::Circuit(_) => "circuit_statement",
        StmtKind::Include(_) => "include_statement",
        StmtKind::Let { .. } => "let_statement",
        StmtKind::Declare(_) => "declaration",
        StmtKind::Path(_) => "path",
        StmtKind::Reference(_) => "reference_statement",
        StmtKind::Find { .. } => "find_statement",
        StmtKind::Given { .. } => "given_statement",
        StmtKind::Measured { .. } => "measured_statement",
        StmtKind::ClaimQuantity { .. } | StmtKind::ClaimRelation { .. } => "claim_statement",
        StmtKind::Case { .. } => "case_statement",
        StmtKind::Part { .. } => "part_head",
        StmtKind::Repeat { .. } => "repeat_head",
        StmtKind::End => "end_statement",
        StmtKind::Error => return None,
    })
}

fn ours(tree: &Tree) -> Vec<Seen> {
    tree.stmts
        .iter()
        .map(|stmt| {
            let range = stmt.range().range();
            Seen { start: range.start, end: range.end, kind: name_of(&stmt.node.kind) }
        })
        .collect()
}

/// What tree-sitter sees, statement by statement; what it could not read is `None`, at its place.
fn theirs(text: &str) -> Vec<Seen> {
    let mut parser = Parser::new();
    parser.set_language(&tree_sitter_language()).expect("the grammar fits the library");
    let tree = parser.parse(text, None).expect("a parser with a language and no limit gives a tree");
    let mut seen = Vec::new();
    statements(tree.root_node(), &mut seen);
    seen
}

fn statements(node: Node<'_>, seen: &mut Vec<Seen>) {
    let mut cursor = node.walk();
    for child in node.children(&mut cursor) {
        match child.kind() {
            "comment" | "doc_comment" | "allow_comment" => {}
            "part_definition" | "repeat_block" => statements(child, seen),
            kind => {
                // Where nothing at all can be read, the pieces stand below the root.
                let whole = STATEMENTS.contains(&kind) && !child.has_error() && !lacks(child);
                let kind = whole.then_some(kind);
                seen.push(Seen { start: child.start_byte(), end: child.end_byte(), kind });
            }
        }
    }
}

/// Whether a line in it ends too early.
fn lacks(node: Node<'_>) -> bool {
    let mut cursor = node.walk();
    node.kind() == "missing" || node.children(&mut cursor).any(lacks)
}

/// Where the readers differ, in words; empty when they agree.
///
/// What the parser reads must be one statement of the same kind at the same place for tree-sitter. What the parser cannot read must not
/// be one whole statement there. (Something whole within it may be: `R1 -- R2 R3 -- R4`.)
fn differences(text: &str) -> Vec<String> {
    let tree = parse(text);
    let theirs = theirs(text);
    let mut found = Vec::new();
    for seen in &ours(&tree) {
        let line = text[..seen.start].lines().count().max(1);
        let shown = &text[seen.start..seen.end];
        match seen.kind {
            Some(kind) if !theirs.contains(seen) => {
                let near: Vec<_> =
                    theirs.iter().filter(|other| other.start < seen.end && other.end > seen.start).collect();
                found.push(format!("line {line}: {shown:?} is a {kind} here, there {near:?}"));
            }
            Some(_) => {}
            None => {
                let whole = |other: &&Seen| other.kind.is_some() && (other.start, other.end) == (seen.start, seen.end);
                if let Some(other) = theirs.iter().find(whole)
                    && !corpus::beyond_grammar(&tree, seen.start)
                {
                    found.push(format!("line {line}: {shown:?} cannot be read here, and is {:?} there", other.kind));
                }
            }
        }
    }
    found
}

fn agree(texts: impl IntoIterator<Item = (String, String)>) {
    let mut said = String::new();
    let mut count = 0;
    for (name, text) in texts {
        for found in differences(&text) {
            count += 1;
            if count <= 40 {
                let _ = writeln!(said, "{name}, {found}");
            }
        }
    }
    assert!(count == 0, "{count} differences:\n{said}");
}

#[test]
fn the_grammars_agree_on_the_corpus() {
    let texts = corpus::texts();
    assert!(texts.len() > 100, "only {} texts", texts.len());
    agree(texts);
}

/// The corpus has every kind of statement, and every one also broken.
#[test]
fn the_corpus_is_wide() {
    let mut read: BTreeMap<&str, usize> = BTreeMap::new();
    let mut broken: BTreeMap<String, usize> = BTreeMap::new();
    for (_, text) in corpus::texts() {
        for seen in ours(&parse(&text)) {
            match seen.kind {
                Some(kind) => *read.entry(kind).or_default() += 1,
                None => {
                    let word = tokens(&text[seen.start..]).first().map(|token| format!("{:?}", token.kind));
                    *broken.entry(word.unwrap_or_default()).or_default() += 1;
                }
            }
        }
    }
    for kind in STATEMENTS {
        assert!(read.get(kind).is_some_and(|count| *count >= 2), "{kind}: {:?}", read.get(kind));
    }
    for word in [
        "Circuit",
        "Include",
        "Let",
        "Kind",
        "Name",
        "Junction",
        "Open",
        "Reference",
        "Find",
        "Given",
        "Measured",
        "Claim",
        "Case",
        "Part",
        "Repeat",
        "End",
    ] {
        assert!(broken.contains_key(word), "no broken statement begins with {word}: {broken:?}");
    }
}

/// Every statement of the corpus, alone, with each of its tokens left out, doubled, and with everything behind it cut off.
#[test]
fn the_grammars_agree_on_statements_with_a_token_lost_or_doubled() {
    let texts = corpus::changed_statements();
    assert!(texts.len() > 3_000, "only {} texts", texts.len());
    agree(texts);
}

/// One wrong line never takes a right one with it: every text of the corpus with one of its statements cut short.
#[test]
fn the_grammars_agree_on_texts_with_one_statement_cut_short() {
    let mut texts = Vec::new();
    for (name, text) in corpus::texts() {
        for stmt in &parse(&text).stmts {
            let range = stmt.range().range();
            let inner: Vec<_> =
                tokens(&text[range.clone()]).into_iter().filter(|token| !token.kind.is_trivia()).collect();
            let Some(middle) = inner.get(inner.len() / 2) else { continue };
            let cut = range.start + middle.start as usize;
            texts.push((name.clone(), format!("{}{}", &text[..cut], &text[range.end..])));
        }
    }
    assert!(texts.len() > 1_000, "only {} texts", texts.len());
    agree(texts);
}

/// Single statements of pieces thrown together.
#[test]
fn the_grammars_agree_on_nonsense() {
    let alone = |text: &str| parse(text).stmts.len() == 1;
    let texts: Vec<_> = corpus::soups(20_000).into_iter().filter(|(_, text)| alone(text)).collect();
    let right = texts.iter().filter(|(_, text)| parse(text).stmts[0].node.kind != StmtKind::Error).count();
    assert!(texts.len() > 10_000 && right > 200, "{} texts, {right} of them right", texts.len());
    agree(texts);
}

/// Reading anew only what changed gives what reading everything gives: the scanner keeps nothing in mind.
#[test]
fn a_changed_text_is_read_as_a_fresh_one() {
    let mut parser = Parser::new();
    parser.set_language(&tree_sitter_language()).expect("the grammar fits the library");
    let mut count = 0;
    for (name, text) in corpus::texts() {
        if parse(&text).stmts.iter().any(|stmt| stmt.node.kind == StmtKind::Error) {
            continue;
        }
        for (row, (at, line)) in text
            .match_indices('\n')
            .map(|(at, _)| at)
            .scan(0, |from, at| {
                let line = (*from, &text[*from..at]);
                *from = at + 1;
                Some(line)
            })
            .enumerate()
        {
            // Without the line, then with it again.
            let without = format!("{}{}", &text[..at], &text[at + line.len()..]);
            let mut tree = parser.parse(&without, None).expect("there is a language and no limit");
            let end = at + line.len();
            tree.edit(&InputEdit {
                start_byte: at,
                old_end_byte: at,
                new_end_byte: end,
                start_position: Point::new(row, 0),
                old_end_position: Point::new(row, 0),
                new_end_position: Point::new(row, line.len()),
            });
            let again = parser.parse(&text, Some(&tree)).expect("there is a language and no limit");
            let fresh = parser.parse(&text, None).expect("there is a language and no limit");
            assert_eq!(again.root_node().to_sexp(), fresh.root_node().to_sexp(), "{name}, line {}", row + 1);
            count += 1;
        }
    }
    assert!(count > 800, "only {count} lines");
}
