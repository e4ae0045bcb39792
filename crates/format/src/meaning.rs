//! Whether lines mean the same after they were spelled anew.

use std::ops::Range;

use ohmline_syntax::lexer::{Token, TokenKind, tokens};
use ohmline_syntax::parse;
use ohmline_syntax::tree::Stmt;

use crate::source::Source;
use crate::spelling::may_be_unit;
use crate::units::{Unit, parted, unit};

/// The lines of every statement that would not mean the same: whose tokens differ in more than their spelling, or that would be read
/// otherwise.
pub fn changed(source: &Source<'_>, window: Range<usize>, wanted: &[String]) -> Vec<usize> {
    let lines: Vec<&str> = window.clone().map(|line| &source.text[source.lines[line].span.range()]).collect();
    if lines.iter().zip(wanted).all(|(old, new)| old == new) {
        return Vec::new();
    }
    // All at once, which is what nearly always is needed; and if that fails, one by one.
    if speak_the_same(source, window.clone(), &lines, wanted) && are_read_the_same(source, window.clone(), wanted) {
        return Vec::new();
    }
    let mut bad = Vec::new();
    let mut number = window.start;
    while number < window.end {
        let from = number;
        let stmt = source.lines[from].stmt;
        number += 1;
        while stmt.is_some() && number < window.end && source.lines[number].stmt == stmt {
            number += 1;
        }
        let own = from - window.start..number - window.start;
        if !is_same(&lines[own.clone()].join("\n"), &wanted[own].join("\n")) {
            bad.extend(from..number);
        }
    }
    if bad.is_empty() { window.collect() } else { bad }
}

/// Whether each line has the same tokens as before. No token goes over a line end, so only the lines that differ are looked at.
fn speak_the_same(source: &Source<'_>, window: Range<usize>, lines: &[&str], wanted: &[String]) -> bool {
    window.zip(lines.iter().zip(wanted)).filter(|(_, (old, new))| *old != new).all(|(line, (_, new))| {
        let tokens = source.words(&source.lines[line]).copied();
        Spoken::of(source.text, tokens).eq(Spoken::new(new))
    })
}

/// Whether lines are read as the statements that stood there.
fn are_read_the_same(source: &Source<'_>, window: Range<usize>, wanted: &[String]) -> bool {
    let mut numbers = source.lines[window].iter().filter_map(|line| line.stmt);
    let first = numbers.next();
    let last = numbers.next_back().or(first);
    let old = match (first, last) {
        (Some(first), Some(last)) => &source.tree.stmts[first as usize..=last as usize],
        _ => &[],
    };
    read_the_same(old, &parse(&wanted.join("\n")).stmts)
}

/// Whether two texts are the same but for blanks and the spelling of units and wires.
fn is_same(old: &str, new: &str) -> bool {
    Spoken::new(old).eq(Spoken::new(new)) && read_the_same(&parse(old).stmts, &parse(new).stmts)
}

fn read_the_same(old: &[Stmt], new: &[Stmt]) -> bool {
    let same = |a: &Stmt, b: &Stmt| {
        let wrong = |stmt: &Stmt| stmt.node.problems.iter().filter(|problem| problem.rule != "long-wire").count();
        std::mem::discriminant(&a.node.kind) == std::mem::discriminant(&b.node.kind) && wrong(a) == wrong(b)
    };
    old.len() == new.len() && old.iter().zip(new).all(|(a, b)| same(a, b))
}

/// A token in one spelling.
#[derive(PartialEq, Eq)]
enum Said<'a> {
    Word(&'a str),
    Unit(Unit),
}

/// The tokens of a text that are no blanks, each in one spelling.
struct Spoken<'a, Tokens> {
    text: &'a str,
    tokens: Tokens,
    before: Option<TokenKind>,
    /// The unit of the number that was given out last.
    unit: Option<Unit>,
}

impl<'a> Spoken<'a, std::vec::IntoIter<Token>> {
    fn new(text: &'a str) -> Self {
        Self::of(text, tokens(text).into_iter())
    }
}

impl<'a, Tokens> Spoken<'a, Tokens> {
    fn of(text: &'a str, tokens: Tokens) -> Self {
        Self { text, tokens, before: None, unit: None }
    }
}

impl<'a, Tokens: Iterator<Item = Token>> Iterator for Spoken<'a, Tokens> {
    type Item = Said<'a>;

    fn next(&mut self) -> Option<Self::Item> {
        if let Some(unit) = self.unit.take() {
            return Some(Said::Unit(unit));
        }
        let token = self.tokens.find(|token| token.kind != TokenKind::Blank)?;
        let text = self.text.get(token.span().range()).unwrap_or("");
        let before = self.before.replace(token.kind);
        Some(match token.kind {
            TokenKind::Number => {
                let (number, unit) = parted(text);
                self.unit = unit;
                Said::Word(number)
            }
            TokenKind::Wire | TokenKind::WireRun => Said::Word("--"),
            TokenKind::Minus => Said::Word("-"),
            TokenKind::Comment | TokenKind::Doc => Said::Word(text.trim_end()),
            kind if may_be_unit(before, kind, false) => unit(text).map_or(Said::Word(text), Said::Unit),
            _ => Said::Word(text),
        })
    }
}

#[cfg(test)]
mod tests {
    use ohmline_syntax::tree::StmtKind;

    use super::*;

    #[test]
    fn what_means_the_same() {
        assert!(is_same("lamp L1=6Ω", "lamp L1 = 6 ohm"));
        assert!(is_same("@a --- L1 \u{2014} @b", "@a -- L1 -- @b"));
        // Where a dash touches a name, the line cannot be read.
        assert!(!is_same("@a---L1", "@a -- L1"));
        assert!(!is_same("lamp L1 = 6 ohm", "lamp L1 = 6 kohm"));
        assert!(!is_same("-B1+ -- R1", "+B1- -- R1"));
        assert!(!is_same("lamp L1 = 6 ohm # lit", "lamp L1 = 6 ohm"));
        assert!(!is_same("lamp L1 = 6 ohm\n@a -- L1", "lamp L1 = 6 ohm @a -- L1"));
    }

    #[test]
    fn only_the_damaged_statement_is_named() {
        let text = "lamp L1=6 ohm\n@a -- L1\n  -- @b\nlamp L2=6 ohm\n";
        let tree = parse(text);
        let source = Source::new(&tree);
        let damaged = ["lamp L1 = 6 ohm", "@a -- L1", "  -- @c", "lamp L2 = 6 ohm"].map(str::to_owned);
        assert_eq!(changed(&source, 0..4, &damaged), [1, 2]);
        let sound = ["lamp L1 = 6 ohm", "@a -- L1", "  -- @b", "lamp L2 = 6 ohm"].map(str::to_owned);
        assert_eq!(changed(&source, 0..4, &sound), [0usize; 0]);
        assert!(matches!(source.tree.stmts[1].node.kind, StmtKind::Path(_)));
    }
}
