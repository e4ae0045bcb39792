//! The printed grammar against the parser: `grammar/ohmline.ebnf` is read, and its rules are followed over the tokens of the corpus.
//!
//! The notation is that of the W3C: Extensible Markup Language (XML) 1.0, fifth edition, section 6.

mod corpus;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use ohmline_syntax::lexer::{Token, TokenKind, tokens};
use ohmline_syntax::parse;
use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::words::{AFTER_NUMBER, CONNECTIVES, KINDS, PREFIXES, QUANTITIES, STATEMENTS, UNITS};

#[derive(Clone, PartialEq, Debug)]
enum Rule {
    Literal(String),
    Character,
    Name(String),
    Sequence(Vec<Rule>),
    Choice(Vec<Rule>),
    /// Times that it may stand: from 0 or 1 on, to 1 or any number.
    Repeat {
        inner: Box<Rule>,
        least: usize,
        many: bool,
    },
}

/// A reader of the notation.
struct Reader<'a> {
    rest: &'a str,
}

impl Reader<'_> {
    fn blanks(&mut self) {
        loop {
            self.rest = self.rest.trim_start();
            let Some(comment) = self.rest.strip_prefix("/*") else { return };
            let end = comment.find("*/").expect("a comment is closed");
            self.rest = &comment[end + 2..];
        }
    }

    fn word(&mut self) -> Option<String> {
        let end = self.rest.find(|c: char| !c.is_ascii_alphanumeric()).unwrap_or(self.rest.len());
        (end > 0).then(|| {
            let word = self.rest[..end].to_owned();
            self.rest = &self.rest[end..];
            word
        })
    }

    fn grammar(&mut self) -> BTreeMap<String, Rule> {
        let mut rules = BTreeMap::new();
        self.blanks();
        while let Some(name) = self.word() {
            self.blanks();
            self.rest = self.rest.strip_prefix("::=").unwrap_or_else(|| panic!("`::=` behind {name}"));
            let rule = self.choice();
            assert!(rules.insert(name.clone(), rule).is_none(), "{name} is defined twice");
            self.blanks();
        }
        assert_eq!(self.rest, "", "the grammar is read to its end");
        rules
    }

    fn choice(&mut self) -> Rule {
        let mut all = vec![self.sequence()];
        self.blanks();
        while let Some(rest) = self.rest.strip_prefix('|') {
            self.rest = rest;
            all.push(self.sequence());
            self.blanks();
        }
        if all.len() == 1 { all.remove(0) } else { Rule::Choice(all) }
    }

    fn sequence(&mut self) -> Rule {
        let mut all = Vec::new();
        while let Some(next) = self.item() {
            all.push(next);
        }
        Rule::Sequence(all)
    }

    fn item(&mut self) -> Option<Rule> {
        self.blanks();
        let first = self.rest.chars().next()?;
        let rule = match first {
            '\'' | '"' => {
                let end = self.rest[1..].find(first).expect("a literal is closed") + 1;
                let text = self.rest[1..end].to_owned();
                self.rest = &self.rest[end + 1..];
                Rule::Literal(text)
            }
            '[' => {
                let end = self.rest.find(']').expect("a class is closed");
                self.rest = &self.rest[end + 1..];
                Rule::Character
            }
            '#' => {
                self.rest = &self.rest[1..];
                let code = self.word().expect("a number behind #");
                let code = u32::from_str_radix(code.trim_start_matches('x'), 16).expect("a hexadecimal number");
                Rule::Literal(char::from_u32(code).expect("a character").to_string())
            }
            '(' => {
                self.rest = &self.rest[1..];
                let inner = self.choice();
                self.rest = self.rest.strip_prefix(')').expect("a bracket is closed");
                inner
            }
            c if c.is_ascii_alphabetic() => {
                let before = self.rest;
                let name = self.word()?;
                let mut behind = Reader { rest: self.rest };
                behind.blanks();
                if behind.rest.starts_with("::=") {
                    // The next rule begins.
                    self.rest = before;
                    return None;
                }
                Rule::Name(name)
            }
            _ => return None,
        };
        let (least, many) = match self.rest.chars().next() {
            Some('?') => (0, false),
            Some('*') => (0, true),
            Some('+') => (1, true),
            _ => return Some(rule),
        };
        self.rest = &self.rest[1..];
        Some(Rule::Repeat { inner: Box::new(rule), least, many })
    }
}

fn grammar() -> BTreeMap<String, Rule> {
    let path = corpus::root().join("grammar/ohmline.ebnf");
    let text = std::fs::read_to_string(path).expect("the grammar is there");
    Reader { rest: &text }.grammar()
}

fn walk(rule: &Rule, visit: &mut dyn FnMut(&Rule)) {
    visit(rule);
    match rule {
        Rule::Sequence(all) | Rule::Choice(all) => all.iter().for_each(|inner| walk(inner, visit)),
        Rule::Repeat { inner, .. } => walk(inner, visit),
        Rule::Literal(_) | Rule::Character | Rule::Name(_) => {}
    }
}

/// Categories of Unicode, which no rule can list.
const OUTSIDE: &[&str] = &["L", "M"];

#[test]
fn every_rule_is_defined_and_used() {
    let rules = grammar();
    let mut used = BTreeSet::from(["file".to_owned()]);
    for rule in rules.values() {
        walk(rule, &mut |inner| {
            if let Rule::Name(name) = inner {
                used.insert(name.clone());
            }
        });
    }
    let defined: BTreeSet<String> =
        rules.keys().cloned().chain(OUTSIDE.iter().map(|name| (*name).to_owned())).collect();
    assert_eq!(used, defined);
}

/// The words between quotes, in rules whose name fits.
fn literals(fits: impl Fn(&str) -> bool) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (_, rule) in grammar().iter().filter(|(name, _)| fits(name)) {
        walk(rule, &mut |inner| {
            if let Rule::Literal(text) = inner
                && text.chars().any(char::is_alphabetic)
            {
                found.insert(text.clone());
            }
        });
    }
    found
}

fn set<'a>(words: impl IntoIterator<Item = &'a str>) -> BTreeSet<String> {
    words.into_iter().map(str::to_owned).collect()
}

#[test]
fn the_words_are_those_of_the_language() {
    let words = STATEMENTS.iter().chain(QUANTITIES).chain(CONNECTIVES).chain(AFTER_NUMBER);
    assert_eq!(literals(|name| name.chars().all(|c| c.is_ascii_lowercase())), set(words.copied()));
    assert_eq!(literals(|name| name == "KIND"), set(KINDS.iter().copied()));
    let prefixes = literals(|name| name == "PREFIX");
    let symbols = literals(|name| name == "SYMBOL");
    assert_eq!(prefixes, set(PREFIXES.iter().map(|(prefix, _)| *prefix).chain(["\u{3bc}"])));
    assert_eq!(symbols, set(UNITS.iter().copied().filter(|unit| *unit != "%").chain(["\u{2126}"])));
    // What the grammar calls a unit is one when values are read.
    for symbol in &symbols {
        assert!(ohmline_circuit::quantity::read_unit(symbol).is_ok(), "{symbol}");
        for prefix in &prefixes {
            let both = format!("{prefix}{symbol}");
            assert!(ohmline_circuit::quantity::read_unit(&both).is_ok(), "{both}");
        }
    }
}

/// Every word that the lexer knows is in the inventory, and every word of the inventory is known to the lexer.
#[test]
fn the_inventory_is_that_of_the_lexer() {
    let kind = |word: &str| tokens(word).first().map(|token| token.kind);
    for word in STATEMENTS.iter().chain(QUANTITIES) {
        assert!(kind(word).is_some_and(|kind| kind.is_reserved() && kind != TokenKind::Kind), "{word}");
    }
    assert!(KINDS.iter().all(|word| kind(word) == Some(TokenKind::Kind)));
    for word in CONNECTIVES {
        assert!(
            kind(word).is_some_and(|kind| kind.is_name() && kind != TokenKind::Name && !kind.is_after_number()),
            "{word}"
        );
    }
    assert!(AFTER_NUMBER.iter().all(|word| kind(word).is_some_and(TokenKind::is_after_number)));
    let all = STATEMENTS.len() + QUANTITIES.len() + CONNECTIVES.len() + AFTER_NUMBER.len();
    // From the first word of the lexer's kinds to the last; two of them stand for kinds of element and for names.
    assert_eq!(TokenKind::And as usize - TokenKind::Circuit as usize + 1, all + 2);
}

/// One token as the rules see it.
#[derive(Clone, Copy)]
struct Seen<'a> {
    kind: TokenKind,
    text: &'a str,
    /// Whether it touches a word on either side.
    touches: bool,
    /// Whether it is a single dash that touches something on both sides.
    bridges: bool,
}

fn mark(kind: TokenKind, text: &str) -> Seen<'_> {
    Seen { kind, text, touches: false, bridges: false }
}

/// Statements as tokens, each line closed by a newline token.
fn seen<'a>(text: &'a str, line: &[Token], out: &mut Vec<Seen<'a>>) {
    for (index, token) in line.iter().enumerate() {
        let left = token.joined && index > 0 && line[index - 1].kind.is_word();
        let right = line.get(index + 1).is_some_and(|next| next.joined && next.kind.is_word());
        let written = token.text(text);
        let joined = token.joined && line.get(index + 1).is_some_and(|next| next.joined);
        let bridges = joined && written.chars().count() == 1;
        out.push(Seen { kind: token.kind, text: written, touches: left || right, bridges });
    }
    out.push(mark(TokenKind::Newline, "\n"));
}

/// Follows rules over tokens.
struct Follower<'a> {
    rules: &'a BTreeMap<String, Rule>,
    tokens: &'a [Seen<'a>],
}

impl Follower<'_> {
    /// Where a rule can end when it begins at `at`.
    fn ends(&self, rule: &Rule, at: usize) -> BTreeSet<usize> {
        match rule {
            Rule::Literal(text) => self.one(at, |token| is_literal(token, text)),
            Rule::Character => BTreeSet::new(),
            Rule::Name(name) => match terminal(name) {
                Some(fits) => self.one(at, fits),
                None => self.ends(self.rules.get(name).unwrap_or_else(|| panic!("{name} is not defined")), at),
            },
            Rule::Sequence(all) => {
                let mut places = BTreeSet::from([at]);
                for inner in all {
                    places = places.into_iter().flat_map(|place| self.ends(inner, place)).collect();
                }
                places
            }
            Rule::Choice(all) => all.iter().flat_map(|inner| self.ends(inner, at)).collect(),
            Rule::Repeat { inner, least, many } => {
                let mut places = if *least == 0 { BTreeSet::from([at]) } else { BTreeSet::new() };
                let mut fresh: BTreeSet<usize> = self.ends(inner, at);
                while !fresh.is_empty() {
                    let next: BTreeSet<usize> = if *many {
                        fresh.iter().flat_map(|place| self.ends(inner, *place)).collect()
                    } else {
                        BTreeSet::new()
                    };
                    places.extend(fresh);
                    fresh = next.difference(&places).copied().collect();
                }
                places
            }
        }
    }

    fn one(&self, at: usize, fits: impl Fn(&Seen<'_>) -> bool) -> BTreeSet<usize> {
        self.tokens.get(at).filter(|token| fits(token)).map(|_| at + 1).into_iter().collect()
    }
}

fn is_literal(token: &Seen<'_>, text: &str) -> bool {
    match text {
        "--" => {
            token.kind == TokenKind::Wire || (token.kind == TokenKind::WireRun && (!token.touches || token.bridges))
        }
        "-" => token.kind == TokenKind::Minus,
        _ => token.text == text && !matches!(token.kind, TokenKind::Text),
    }
}

/// What a rule in capitals stands for, where it is a token.
fn terminal(name: &str) -> Option<fn(&Seen<'_>) -> bool> {
    Some(match name {
        "NL" => |token| token.kind == TokenKind::Newline,
        "TEXT" => |token| token.kind == TokenKind::Text,
        "WORD" => |token| token.kind.is_word(),
        "NAME" => |token| token.kind.is_name(),
        "KIND" => |token| token.kind == TokenKind::Kind,
        "NUMBER" => |token| token.kind == TokenKind::Number,
        "JUNCTION" => |token| token.kind == TokenKind::Junction,
        "SIGN" => |token| matches!(token.kind, TokenKind::Plus | TokenKind::Minus) && token.touches,
        // Any word is read as a unit; whether it is one is a question of its value.
        "UNIT" => |token| token.kind == TokenKind::Percent || (token.kind.is_word() && !token.kind.is_after_number()),
        _ => return None,
    })
}

/// Whether the rules read the statements of a text, all in all.
fn is_read(rules: &BTreeMap<String, Rule>, tokens: &[Seen<'_>]) -> bool {
    let follower = Follower { rules, tokens };
    follower.ends(&Rule::Name("file".to_owned()), 0).contains(&tokens.len())
}

/// The tokens of a statement, blanks and comments left out, and `end` behind the head of a block.
fn statement<'a>(text: &'a str, kind: &StmtKind) -> Vec<Seen<'a>> {
    let line: Vec<Token> = tokens(text).into_iter().filter(|token| !token.kind.is_trivia()).collect();
    let mut out = Vec::new();
    seen(text, &line, &mut out);
    let head = matches!(line.first().map(|token| token.kind), Some(TokenKind::Part | TokenKind::Repeat));
    if head || matches!(kind, StmtKind::Part { .. } | StmtKind::Repeat { .. }) {
        out.push(mark(TokenKind::End, "end"));
        out.push(mark(TokenKind::Newline, "\n"));
    }
    out
}

/// Each statement of some texts, by the parser and by the rules.
fn compare(texts: impl IntoIterator<Item = (String, String)>) -> usize {
    let rules = grammar();
    let mut compared = 0;
    let mut said = String::new();
    for (name, text) in texts {
        let tree = parse(&text);
        for stmt in &tree.stmts {
            let one = &text[stmt.range().range()];
            let ours = stmt.node.kind != StmtKind::Error;
            // `end` closes a block and is no statement of its own in the rules.
            if stmt.node.kind == StmtKind::End
                || one.len() > 2000
                || corpus::beyond_grammar(&tree, stmt.offset as usize)
            {
                continue;
            }
            // A `=` on a line of its own is read with a remark; the rules see one line.
            compared += 1;
            if ours != is_read(&rules, &statement(one, &stmt.node.kind)) {
                let _ = writeln!(said, "{name}: {one:?} is {} by the parser", if ours { "read" } else { "refused" });
            }
        }
    }
    assert!(said.is_empty(), "the rules and the parser differ:\n{said}");
    compared
}

#[test]
fn the_rules_read_what_the_parser_reads() {
    let compared = compare(corpus::texts());
    assert!(compared > 1_000, "only {compared} statements");
}

#[test]
fn the_rules_refuse_what_the_parser_refuses() {
    let compared = compare(corpus::changed_statements());
    assert!(compared > 3_000, "only {compared} statements");
}

/// Whole files, blocks included.
#[test]
fn the_rules_read_every_sample_as_one_file() {
    let rules = grammar();
    let mut count = 0;
    for (name, text) in corpus::texts() {
        let tree = parse(&text);
        if tree.stmts.iter().any(|stmt| stmt.node.kind == StmtKind::Error) || !tree.block_problems.is_empty() {
            continue;
        }
        let mut all = Vec::new();
        for stmt in &tree.stmts {
            let line: Vec<Token> =
                tokens(&text[stmt.range().range()]).into_iter().filter(|token| !token.kind.is_trivia()).collect();
            seen(&text[stmt.range().range()], &line, &mut all);
        }
        assert!(is_read(&rules, &all), "{name}");
        count += 1;
    }
    assert!(count > 100, "only {count} files");
}

#[test]
fn the_rules_refuse_nonsense_as_the_parser_does() {
    let compared = compare(corpus::soups(20_000));
    assert!(compared > 10_000, "only {compared} statements");
}
