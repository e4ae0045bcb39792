//! One line: what stands in it, and how it is spelled.

use ohmline_syntax::Span;
use ohmline_syntax::lexer::{Token, TokenKind, tokens};
use ohmline_syntax::parse;
use ohmline_syntax::tree::StmtKind;

use crate::INDENT;
use crate::units::{Spelled, spell_number, spell_unit};

/// A line of the text.
pub struct Line<'a> {
    /// Without its end.
    pub span: Span,
    tokens: Vec<Token>,
    /// The statement that is this line, if it is one that can be read.
    pub stmt: Option<&'a StmtKind>,
    /// How many statements stand in it.
    pub stmts: u32,
    /// Where the statement begins.
    pub offset: u32,
    /// Whether a statement goes on from or into another line.
    pub goes_on: bool,
    /// Blocks around it.
    pub depth: usize,
}

impl<'a> Line<'a> {
    pub fn new(span: Span, tokens: Vec<Token>) -> Self {
        Self { span, tokens, stmt: None, stmts: 0, offset: 0, goes_on: false, depth: 0 }
    }

    fn words(&self) -> impl Iterator<Item = &Token> {
        self.tokens.iter().filter(|token| token.kind != TokenKind::Blank)
    }

    /// Whether it holds a comment and nothing else.
    pub fn is_comment(&self) -> bool {
        let mut words = self.words();
        words.next().is_some_and(|token| matches!(token.kind, TokenKind::Comment | TokenKind::Doc))
    }

    /// Whether it is left as it is, but for blanks at its end.
    pub fn is_kept(&self) -> bool {
        self.stmt.is_none() && !self.is_comment()
    }

    /// The comment behind its statement.
    pub fn comment_behind(&self) -> Option<&Token> {
        let last = self.tokens.last()?;
        (matches!(last.kind, TokenKind::Comment | TokenKind::Doc) && !self.is_comment()).then_some(last)
    }

    /// The word that begins a declaration.
    pub fn kind(&self) -> Option<&'a str> {
        match self.stmt? {
            StmtKind::Declare(declare) => Some(&declare.kind.text),
            _ => None,
        }
    }

    /// How it is spelled, without a comment behind it; `width` is that of the column of kinds.
    pub fn spelled(&self, text: &str, width: usize) -> String {
        let old = &text[self.span.range()];
        let indent = " ".repeat(self.depth * INDENT);
        if self.is_comment() {
            // A comment among the lines of a statement belongs to their layout.
            return if self.goes_on { old.trim_end().to_owned() } else { format!("{indent}{}", old.trim()) };
        }
        let Some(stmt) = self.stmt else { return self.without_end_blanks(old) };
        let spelled = self.spell(text, stmt, width);
        let new = format!("{indent}{spelled}");
        if keeps(&old[..self.code_end() as usize], &new) { new } else { self.without_end_blanks(old) }
    }

    /// Blanks at the end go, unless the line is nothing else than something unreadable that may hold them in quotes.
    fn without_end_blanks(&self, old: &str) -> String {
        match self.tokens.last() {
            Some(last) if last.kind == TokenKind::Blank => old[..(last.start - self.span.start) as usize].to_owned(),
            Some(last) if matches!(last.kind, TokenKind::Comment | TokenKind::Doc) => old.trim_end().to_owned(),
            _ => old.to_owned(),
        }
    }

    /// Bytes of the line up to the comment behind its statement.
    fn code_end(&self) -> u32 {
        self.comment_behind().map_or(self.span.end, |comment| comment.start) - self.span.start
    }

    fn spell(&self, text: &str, stmt: &StmtKind, width: usize) -> String {
        let is_path = matches!(stmt, StmtKind::Path(_));
        let mut out = String::new();
        let mut before: Option<TokenKind> = None;
        // Whether a word that comes next is the unit of a number.
        let mut after_number = false;
        let code: Vec<&Token> =
            self.words().filter(|token| !matches!(token.kind, TokenKind::Comment | TokenKind::Doc)).collect();
        for (number, token) in code.iter().enumerate() {
            let written = token.text(text);
            let (spelled, joined): (String, bool) = match token.kind {
                TokenKind::Number => match spell_number(written) {
                    Spelled::Whole(number) => (number, token.joined),
                    Spelled::Parted(number, unit) => (format!("{number} {unit}"), token.joined),
                },
                TokenKind::Percent if after_number => ("%".to_owned(), true),
                // `(1/3) A`
                _ if !is_path && before == Some(TokenKind::Close) && token.kind.is_word() => {
                    match spell_unit(written) {
                        Some(unit) => (unit, false),
                        None => (written.to_owned(), token.joined),
                    }
                }
                _ if after_number && token.kind.is_word() => match spell_unit(written) {
                    Some(unit) => (unit, false),
                    None => (written.to_owned(), token.joined),
                },
                _ => (written.to_owned(), token.joined),
            };
            let apart = match (before, token.kind) {
                (None, _) => false,
                (_, TokenKind::Comma | TokenKind::Colon) => false,
                (Some(TokenKind::Comma | TokenKind::Colon), _) => true,
                (Some(TokenKind::Equals), _) | (_, TokenKind::Equals) => true,
                (Some(TokenKind::Wire | TokenKind::Bar), _) | (_, TokenKind::Wire | TokenKind::Bar) => true,
                (Some(TokenKind::Open), _) | (_, TokenKind::Close) => is_path,
                (_, TokenKind::Open) | (Some(TokenKind::Close), _) if is_path => true,
                _ => !joined,
            };
            if apart {
                out.push(' ');
            }
            out.push_str(&spelled);
            after_number = token.kind == TokenKind::Number;
            before = Some(token.kind);
            // The column of kinds.
            if number == 0 && matches!(stmt, StmtKind::Declare(_)) {
                let pad = width.saturating_sub(spelled.chars().count());
                out.extend(std::iter::repeat_n(' ', pad));
            }
        }
        out
    }
}

/// Whether a line means the same after it was spelled anew: the same tokens but for the spelling of units, and no new problem.
fn keeps(old: &str, new: &str) -> bool {
    skeleton(old) == skeleton(new) && parse(new).problems().count() == parse(old).problems().count()
}

/// The tokens of a line without blanks, units in one spelling.
fn skeleton(line: &str) -> Vec<String> {
    let mut out = Vec::new();
    let mut after_number = false;
    for token in tokens(line).into_iter().filter(|token| token.kind != TokenKind::Blank) {
        let text = token.text(line);
        match token.kind {
            TokenKind::Number => match spell_number(text) {
                Spelled::Whole(number) => out.push(number),
                Spelled::Parted(number, unit) => out.extend([number, unit]),
            },
            kind if after_number && kind.is_word() => out.push(spell_unit(text).unwrap_or_else(|| text.to_owned())),
            _ => out.push(text.to_owned()),
        }
        after_number = matches!(token.kind, TokenKind::Number | TokenKind::Close);
    }
    out
}
