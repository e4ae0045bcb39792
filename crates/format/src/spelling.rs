//! One line in one spelling: blanks, units, wires, and how far it is indented.

use std::fmt::Write as _;

use ohmline_syntax::lexer::{Token, TokenKind};
use ohmline_syntax::tree::StmtKind;
use unicode_width::UnicodeWidthStr as _;

use crate::INDENT;
use crate::source::{Line, Source};
use crate::units::{Unit, parted, unit};

/// Blanks that a line begins with when it goes on with the statement above, beyond those of the statement.
const GOES_ON: usize = 4;

/// A line in one spelling, without a comment behind it.
#[derive(Debug, Default)]
pub struct Spelled {
    pub text: String,
    /// Where in it something stands that can be put into a column with others, in order.
    pub cells: Vec<(usize, Cell)>,
}

/// What can be put into a column.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Cell {
    /// The names of a declaration.
    Names,
    /// The `=` before a value.
    Equals,
    /// The option of this number.
    Option(usize),
}

/// The brackets of a path that are open: the columns where they stand.
pub type Open = Vec<usize>;

/// How many columns a text takes.
pub fn width(text: &str) -> usize {
    if text.is_ascii() { text.len() } else { text.width() }
}

/// Spells a line of a statement that was read; `open` are the brackets that lines above it left open.
pub fn spell(source: &Source<'_>, line: &Line, kind: &StmtKind, open: &mut Open) -> Spelled {
    let is_path = matches!(kind, StmtKind::Path(_));
    let is_value = matches!(kind, StmtKind::Declare(_) | StmtKind::Let { .. });
    let mut out = Spelled::default();
    let mut before: Option<TokenKind> = None;
    let (mut commas, mut equals) = (0, false);
    let mut names = match kind {
        StmtKind::Declare(declare) => declare.names.len(),
        _ => 0,
    };
    for (number, token) in source.code(line).enumerate() {
        let unit = if may_be_unit(before, token.kind, is_path) { unit(token.text(source.text)) } else { None };
        if number == 0 {
            let blanks = line.depth * INDENT + if line.first { 0 } else { goes_on(token.kind, line, open) };
            out.text.extend(std::iter::repeat_n(' ', blanks));
        } else if unit.is_some() || is_apart(before, token, is_path) {
            out.text.push(' ');
        }
        if is_value && line.first {
            match token.kind {
                _ if number == 1 && names > 0 => out.cells.push((out.text.len(), Cell::Names)),
                TokenKind::Equals if !equals => {
                    equals = true;
                    names = 0;
                    out.cells.push((out.text.len(), Cell::Equals));
                }
                _ if before == Some(TokenKind::Comma) => {
                    // The commas between names come first.
                    if names > 1 {
                        names -= 1;
                    } else {
                        out.cells.push((out.text.len(), Cell::Option(commas)));
                        commas += 1;
                    }
                }
                _ => {}
            }
        }
        if is_path {
            match token.kind {
                TokenKind::Open => open.push(width(&out.text)),
                TokenKind::Close => drop(open.pop()),
                _ => {}
            }
        }
        write(source.text, token, unit, &mut out.text);
        before = Some(token.kind);
    }
    out
}

/// How far a line goes in that goes on with the statement above: what belongs to a bracket stands below it.
fn goes_on(first: TokenKind, line: &Line, open: &Open) -> usize {
    let Some(bracket) = open.last() else { return GOES_ON };
    let column = match first {
        TokenKind::Bar | TokenKind::Close => *bracket,
        _ => bracket + "( ".len(),
    };
    column.saturating_sub(line.depth * INDENT)
}

/// Whether a blank stands before a token.
fn is_apart(before: Option<TokenKind>, token: &Token, is_path: bool) -> bool {
    match (before, token.kind) {
        (None, _) | (_, TokenKind::Comma | TokenKind::Colon) => false,
        (Some(TokenKind::Comma | TokenKind::Colon), _) => true,
        (Some(TokenKind::Equals), _) | (_, TokenKind::Equals) => true,
        (Some(TokenKind::Wire | TokenKind::WireRun | TokenKind::Bar), _)
        | (_, TokenKind::Wire | TokenKind::WireRun | TokenKind::Bar) => true,
        (Some(TokenKind::Open), _) | (_, TokenKind::Close) => is_path,
        (_, TokenKind::Open) | (Some(TokenKind::Close), _) if is_path => true,
        (Some(TokenKind::Number), TokenKind::Percent) => false,
        _ => !token.joined,
    }
}

/// Whether a word can be the unit of what stands before it: `4 ohm`, `(1/3) A`.
pub const fn may_be_unit(before: Option<TokenKind>, word: TokenKind, is_path: bool) -> bool {
    let behind_value = match before {
        Some(TokenKind::Number) => true,
        Some(TokenKind::Close) => !is_path,
        _ => false,
    };
    behind_value && word.is_word()
}

/// Writes a token in its one spelling, `unit` where it is the unit of what stands before it.
fn write(text: &str, token: &Token, unit: Option<Unit>, out: &mut String) {
    let written = token.text(text);
    // Writing into a string cannot fail.
    let _ = match (token.kind, unit) {
        (_, Some(unit)) => write!(out, "{unit}"),
        (TokenKind::Number, _) => match parted(written) {
            (number, Some(unit)) => write!(out, "{number} {unit}"),
            (number, None) => out.write_str(number),
        },
        (TokenKind::Wire | TokenKind::WireRun, _) => out.write_str("--"),
        (TokenKind::Minus, _) => out.write_str("-"),
        _ => out.write_str(written),
    };
}
