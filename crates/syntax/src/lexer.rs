//! Text to tokens, lossless: every byte of the text belongs to exactly one token.
//!
//! The lexer knows neither lines nor statements. It never fails: what belongs to nothing becomes a token of kind
//! [`TokenKind::Unknown`]. It emits `+` and `-` singly; only the parser joins a sign to the name it touches, so that
//! `supply-3 V` stays a subtraction.

use logos::Logos;

use crate::span::Span;

/// A piece of text: what it is and where it stands.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Token {
    /// Offset of its first byte.
    pub start: u32,
    /// Its number of bytes.
    pub len: u32,
    /// What it is.
    pub kind: TokenKind,
    /// Whether it touches the token before it, with no blank, comment or line end between.
    pub joined: bool,
}

impl Token {
    /// Offset just past its last byte.
    pub const fn end(self) -> u32 {
        self.start + self.len
    }

    /// Where it stands.
    pub const fn span(self) -> Span {
        Span::new(self.start, self.start + self.len)
    }

    /// Its text.
    pub fn text(self, source: &str) -> &str {
        source.get(self.span().range()).unwrap_or("")
    }
}

/// The kinds of token.
///
/// Words come last, in an order that [`TokenKind::is_word`] and its companions rely on.
#[derive(Logos, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
#[logos(subpattern hole = r"\{\p{L}[\p{L}0-9]*([+\-\u{2212}][0-9]+)?\}")]
#[logos(subpattern rest = r"([\p{L}\p{M}0-9_]|(?&hole))")]
#[repr(u8)]
pub enum TokenKind {
    /// Blanks, tabs, no-break and typographic spaces, a byte order mark.
    #[regex(r"[ \t\u{B}\u{C}\u{A0}\u{1680}\u{2000}-\u{200A}\u{202F}\u{205F}\u{3000}\u{FEFF}]+")]
    Blank,
    /// `# ...` to the end of the line.
    #[regex(r"#[^\r\n]*", priority = 3, allow_greedy = true)]
    Comment,
    /// `## ...` to the end of the line: documents the statement right below.
    #[regex(r"##[^\r\n]*", priority = 4, allow_greedy = true)]
    Doc,
    /// The end of a line: LF, CRLF or CR.
    #[regex(r"\r\n|\n|\r")]
    Newline,

    /// `--`
    #[regex(r"[\-\u{2212}][\-\u{2212}]", priority = 10)]
    Wire,
    /// Three or more hyphens, or typographic dashes: a wire only where it touches no name.
    #[regex(r"[\-\u{2212}][\-\u{2212}][\-\u{2212}]+|[\u{2010}-\u{2015}\u{2500}\u{2501}]+", priority = 10)]
    WireRun,
    /// `+`
    #[token("+")]
    Plus,
    /// `-`
    #[regex(r"[\-\u{2212}]", priority = 2)]
    Minus,
    /// `*`
    #[token("*")]
    Star,
    /// `/`
    #[token("/")]
    Slash,
    /// `=`
    #[token("=")]
    Equals,
    /// `,`
    #[token(",")]
    Comma,
    /// `:`
    #[token(":")]
    Colon,
    /// `.`
    #[token(".")]
    Dot,
    /// `|`
    #[token("|")]
    Bar,
    /// `(`
    #[token("(")]
    Open,
    /// `)`
    #[token(")")]
    Close,
    /// `?`
    #[token("?")]
    Question,
    /// `%`
    #[token("%")]
    Percent,
    /// `4.5`, `1.2e3`, `12kohm`, `4k7`: the letters that touch a number belong to it.
    #[regex(r"[0-9]+(\.[0-9]+)?([eE][+\-\u{2212}]?[0-9]+)?(\p{L}+[0-9]*)?")]
    Number,
    /// `"..."` on one line.
    #[regex(r#""[^"\r\n]*""#)]
    Text,
    /// `@fork`, `@7`, `@Left.mid`
    #[regex(r"@(?&rest)+(\.(?&rest)+)*")]
    Junction,

    /// A `"` that nothing closes on its line.
    #[regex(r#""[^"\r\n]*"#)]
    UnclosedText,
    /// Text between typographic quotes.
    #[regex(r#"[\u{201C}\u{201D}\u{201E}][^"\u{201C}\u{201D}\u{201E}\r\n]*[\u{201C}\u{201D}]"#)]
    CurlyText,
    /// `{ } [ ] ;`: signs of other languages.
    #[regex(r"[\{\}\[\];]")]
    Foreign,
    /// An `@` without a name.
    #[token("@")]
    LooseMark,
    /// A character that has no meaning here.
    Unknown,

    /// `circuit`
    #[token("circuit")]
    Circuit,
    /// `include`
    #[token("include")]
    Include,
    /// `let`
    #[token("let")]
    Let,
    /// `reference`
    #[token("reference")]
    Reference,
    /// `claim`
    #[token("claim")]
    Claim,
    /// `find`
    #[token("find")]
    Find,
    /// `given`
    #[token("given")]
    Given,
    /// `measured`
    #[token("measured")]
    Measured,
    /// `case`
    #[token("case")]
    Case,
    /// `part`
    #[token("part")]
    Part,
    /// `repeat`
    #[token("repeat")]
    Repeat,
    /// `end`
    #[token("end")]
    End,
    /// A built-in kind of element.
    #[token("battery")]
    #[token("source")]
    #[token("resistor")]
    #[token("lamp")]
    #[token("switch")]
    #[token("changeover")]
    #[token("potentiometer")]
    #[token("fuse")]
    #[token("ammeter")]
    #[token("voltmeter")]
    #[token("capacitor")]
    #[token("electrolytic")]
    #[token("inductor")]
    #[token("diode")]
    Kind,
    /// `current`
    #[token("current")]
    Current,
    /// `voltage`
    #[token("voltage")]
    Voltage,
    /// `potential`
    #[token("potential")]
    Potential,
    /// `resistance`
    #[token("resistance")]
    Resistance,
    /// `capacitance`
    #[token("capacitance")]
    Capacitance,
    /// `power`
    #[token("power")]
    Power,
    /// `charge`
    #[token("charge")]
    Charge,
    /// `energy`
    #[token("energy")]
    Energy,
    /// `value`
    #[token("value")]
    Value,

    /// Any other name.
    #[regex(r"\p{L}(?&rest)*", priority = 1)]
    Name,
    /// `through`
    #[token("through")]
    Through,
    /// `into`
    #[token("into")]
    Into,
    /// `across`
    #[token("across")]
    Across,
    /// `between`
    #[token("between")]
    Between,
    /// `seen`
    #[token("seen")]
    Seen,
    /// `by`
    #[token("by")]
    By,
    /// `of`
    #[token("of")]
    Of,
    /// `series`
    #[token("series")]
    Series,
    /// `parallel`
    #[token("parallel")]
    Parallel,
    /// `at`
    #[token("at")]
    At,
    /// `within`
    #[token("within")]
    Within,
    /// `after`
    #[token("after")]
    After,
    /// `in`
    #[token("in")]
    In,
    /// `to`
    #[token("to")]
    To,
    /// `from`
    #[token("from")]
    From,
    /// `and`
    #[token("and")]
    And,
}

impl TokenKind {
    /// Whether the parser never sees it.
    pub const fn is_trivia(self) -> bool {
        (self as u8) <= TokenKind::Newline as u8
    }

    /// Whether it is a word: a name, reserved or not.
    pub const fn is_word(self) -> bool {
        (self as u8) >= TokenKind::Circuit as u8
    }

    /// Whether it is a word that no element may be named by.
    pub const fn is_reserved(self) -> bool {
        self.is_word() && (self as u8) < TokenKind::Name as u8
    }

    /// Whether it is a word that may name an element.
    pub const fn is_name(self) -> bool {
        (self as u8) >= TokenKind::Name as u8
    }

    /// Whether it begins a statement and is not a kind.
    pub const fn is_statement(self) -> bool {
        self.is_word() && (self as u8) <= TokenKind::End as u8
    }

    /// Whether it begins a quantity.
    pub const fn is_quantity(self) -> bool {
        (self as u8) >= TokenKind::Current as u8 && (self as u8) <= TokenKind::Value as u8
    }

    /// Whether it is a word that a number is not measured in.
    pub const fn is_after_number(self) -> bool {
        (self as u8) >= TokenKind::At as u8
    }

    /// Whether a line that begins with it goes on with the statement of the line right above.
    pub const fn continues(self) -> bool {
        matches!(self, TokenKind::Wire | TokenKind::WireRun | TokenKind::Bar | TokenKind::Comma | TokenKind::Close)
    }

    /// Whether something must follow it in its statement, so that it never stands last.
    pub const fn hangs(self) -> bool {
        matches!(self, TokenKind::Wire | TokenKind::WireRun | TokenKind::Bar | TokenKind::Open | TokenKind::Comma)
    }

    /// Whether no statement can hold it.
    pub const fn is_bad(self) -> bool {
        (self as u8) >= TokenKind::UnclosedText as u8 && (self as u8) <= TokenKind::Unknown as u8
    }
}

/// The tokens of a text, in order, without a gap: their lengths add up to the length of the text.
pub fn tokens(text: &str) -> Vec<Token> {
    Scanner::new(text, 0).collect()
}

/// Yields the tokens of a text from some offset on.
pub(crate) struct Scanner<'a> {
    lexer: logos::Lexer<'a, TokenKind>,
    base: u32,
    joined: bool,
}

impl<'a> Scanner<'a> {
    /// Starts at a byte offset, which must be where a token starts (else it moves to the end of the text).
    pub(crate) fn new(text: &'a str, from: u32) -> Self {
        Self { lexer: TokenKind::lexer(text.get(from as usize..).unwrap_or("")), base: from, joined: false }
    }
}

impl Iterator for Scanner<'_> {
    type Item = Token;

    #[inline]
    fn next(&mut self) -> Option<Token> {
        let kind = self.lexer.next()?.unwrap_or(TokenKind::Unknown);
        let span = self.lexer.span();
        let token = Token {
            start: self.base + span.start as u32,
            len: (span.end - span.start) as u32,
            kind,
            joined: self.joined && !kind.is_trivia(),
        };
        self.joined = !kind.is_trivia();
        Some(token)
    }
}
