//! Whether lines mean the same after they were spelled anew.

use std::borrow::Cow;
use std::ops::Range;

use ohmline_syntax::lexer::{Token, TokenKind, tokens};
use ohmline_syntax::parse;
use ohmline_syntax::tree::Stmt;

use crate::source::Source;
use crate::spelling::may_be_unit;
use crate::units::{parted, unit};

/// The lines of every statement that would not mean the same: whose tokens differ in more than their spelling, or that would be read
/// otherwise.
pub fn changed(source: &Source<'_>, window: Range<usize>, wanted: &[String]) -> Vec<usize> {
    let old = |line: usize| &source.text[source.lines[line].span.range()];
    if window.clone().zip(wanted).all(|(line, new)| old(line) == new) {
        return Vec::new();
    }
    // All at once, which is what nearly always is needed; and if that fails, one by one.
    let lines: Vec<&str> = window.clone().map(old).collect();
    if is_same(&lines.join("\n"), &wanted.join("\n")) {
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

/// Whether two texts are the same but for blanks and the spelling of units and wires.
fn is_same(old: &str, new: &str) -> bool {
    if !Spoken::new(old).eq(Spoken::new(new)) {
        return false;
    }
    let (old, new) = (parse(old), parse(new));
    let same = |a: &Stmt, b: &Stmt| {
        let wrong = |stmt: &Stmt| stmt.node.problems.iter().filter(|problem| problem.rule != "long-wire").count();
        std::mem::discriminant(&a.node.kind) == std::mem::discriminant(&b.node.kind) && wrong(a) == wrong(b)
    };
    old.stmts.len() == new.stmts.len() && old.stmts.iter().zip(&new.stmts).all(|(a, b)| same(a, b))
}

/// The tokens of a text that are no blanks, each in one spelling.
struct Spoken<'a> {
    text: &'a str,
    tokens: std::vec::IntoIter<Token>,
    before: Option<TokenKind>,
    /// The unit of the number that was given out last.
    unit: Option<String>,
}

impl<'a> Spoken<'a> {
    fn new(text: &'a str) -> Self {
        Self { text, tokens: tokens(text).into_iter(), before: None, unit: None }
    }
}

impl<'a> Iterator for Spoken<'a> {
    type Item = Cow<'a, str>;

    fn next(&mut self) -> Option<Self::Item> {
        if let Some(unit) = self.unit.take() {
            return Some(Cow::Owned(unit));
        }
        let token = self.tokens.find(|token| token.kind != TokenKind::Blank)?;
        let text = self.text.get(token.span().range()).unwrap_or("");
        let before = self.before.replace(token.kind);
        Some(match token.kind {
            TokenKind::Number => {
                let (number, unit) = parted(text);
                self.unit = unit.map(|unit| unit.to_string());
                Cow::Borrowed(number)
            }
            TokenKind::Wire | TokenKind::WireRun => Cow::Borrowed("--"),
            TokenKind::Minus => Cow::Borrowed("-"),
            TokenKind::Comment | TokenKind::Doc => Cow::Borrowed(text.trim_end()),
            kind if may_be_unit(before, kind, false) => {
                unit(text).map_or(Cow::Borrowed(text), |unit| Cow::Owned(unit.to_string()))
            }
            _ => Cow::Borrowed(text),
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
        let source = Source::new(text);
        let damaged = ["lamp L1 = 6 ohm", "@a -- L1", "  -- @c", "lamp L2 = 6 ohm"].map(str::to_owned);
        assert_eq!(changed(&source, 0..4, &damaged), [1, 2]);
        let sound = ["lamp L1 = 6 ohm", "@a -- L1", "  -- @b", "lamp L2 = 6 ohm"].map(str::to_owned);
        assert_eq!(changed(&source, 0..4, &sound), [0usize; 0]);
        assert!(matches!(source.tree.stmts[1].node.kind, StmtKind::Path(_)));
    }
}
