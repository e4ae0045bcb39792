//! Tokens to logical lines: which tokens make up one statement.
//!
//! A statement ends with its line. It goes on only when the very next line begins with `--`, `|`, `,` or `)`; a
//! blank line or one with nothing but a comment always ends it.

use crate::lexer::{Scanner, Token, TokenKind};

/// About this many tokens are gathered before they are parsed, so that large texts stay in the cache.
const BATCH: usize = 8192;

/// The tokens of some statements, without blanks and comments.
#[derive(Default)]
pub(super) struct Batch {
    pub(super) tokens: Vec<Token>,
    pub(super) lines: Vec<Line>,
}

/// One logical line.
#[derive(Clone, Copy, Default, Debug)]
pub(super) struct Line {
    /// Index of its first token in the batch.
    pub(super) from: u32,
    /// Index just past its last token.
    pub(super) to: u32,
    /// Whether it holds a token that no statement can hold.
    pub(super) bad: bool,
    /// Whether it holds a wire of unusual length or form.
    pub(super) run: bool,
    /// How deep its brackets go.
    pub(super) depth: u32,
    /// Whether it was torn at the end of a line: what should begin the next line stands last on this one.
    pub(super) torn: bool,
}

/// Gathers logical lines from tokens.
pub(super) struct Lines<'a> {
    text: &'a str,
    scanner: Scanner<'a>,
    /// The first token of the next statement, once it was read.
    held: Option<Token>,
}

impl<'a> Lines<'a> {
    /// Starts at a byte offset where a statement starts.
    pub(super) fn new(text: &'a str, from: u32) -> Self {
        Self { text, scanner: Scanner::new(text, from), held: None }
    }

    /// Fills a batch anew. `true` when there is more to come; `false` at the end of the text, or when `stop` says of
    /// the offset of a statement that it and all behind it need not be read.
    pub(super) fn fill(&mut self, batch: &mut Batch, mut stop: impl FnMut(u32) -> bool) -> bool {
        batch.tokens.clear();
        batch.lines.clear();
        let mut line = Line::default();
        let mut level = 0u32;
        // A line has ended and only the next line can tell whether the statement has, too.
        let mut pending = false;
        let mut next = self.held.take();
        loop {
            let Some(token) = next.take().or_else(|| self.scanner.next()) else {
                batch.close(line);
                return false;
            };
            match token.kind {
                TokenKind::Blank => {}
                TokenKind::Newline if pending => {
                    batch.close(line);
                    line = batch.open();
                    pending = false;
                }
                TokenKind::Comment | TokenKind::Doc if pending => {
                    batch.close(line);
                    line = batch.open();
                    pending = false;
                }
                TokenKind::Comment | TokenKind::Doc => {}
                TokenKind::Newline => pending = batch.tokens.len() as u32 > line.from,
                kind => {
                    if pending && !kind.continues() && !(kind == TokenKind::Equals && batch.lacks_value(line)) {
                        if batch.hangs(line).is_some_and(|hanging| is_rest(self.text, token.start, hanging)) {
                            line.torn = true;
                        } else {
                            batch.close(line);
                            line = batch.open();
                        }
                    }
                    pending = false;
                    if batch.tokens.len() as u32 == line.from {
                        if stop(token.start) {
                            return false;
                        }
                        if batch.tokens.len() >= BATCH {
                            self.held = Some(token);
                            return true;
                        }
                        level = 0;
                    }
                    line.bad |= kind.is_bad();
                    line.run |= kind == TokenKind::WireRun;
                    if kind == TokenKind::Open {
                        level += 1;
                        line.depth = line.depth.max(level);
                    } else if kind == TokenKind::Close {
                        level = level.saturating_sub(1);
                    }
                    batch.tokens.push(token);
                }
            }
        }
    }
}

/// Whether the line at an offset is no statement of its own but the rest of one that was torn behind a token: a lone item, a
/// line that is torn as well, or one with the bracket that closes a group.
///
/// It looks no further than the next statement, so that [`reparse`](crate::reparse) sees whatever can change the answer.
fn is_rest(text: &str, from: u32, hanging: TokenKind) -> bool {
    /// A longer line is taken for a statement.
    const MOST: usize = 256;
    let mut level = 0i32;
    let (mut closes, mut wire, mut first, mut ended) = (false, false, true, false);
    let mut last: Option<Token> = None;
    for token in Scanner::new(text, from).take(MOST) {
        match token.kind {
            TokenKind::Blank | TokenKind::Comment | TokenKind::Doc => continue,
            TokenKind::Newline if ended => break,
            TokenKind::Newline => {
                ended = true;
                continue;
            }
            kind if ended && !kind.continues() => break,
            _ => {}
        }
        ended = false;
        let begins = token.kind.is_name()
            || matches!(token.kind, TokenKind::Junction | TokenKind::Open | TokenKind::Plus | TokenKind::Minus);
        let two_words = token.kind.is_word() && last.is_some_and(|last| last.kind.is_word());
        if first && !begins || two_words || token.kind == TokenKind::Equals && hanging != TokenKind::Comma {
            return false;
        }
        first = false;
        match token.kind {
            TokenKind::Open => level += 1,
            TokenKind::Close => level -= 1,
            TokenKind::Wire | TokenKind::WireRun if level == 0 => wire = true,
            _ => {}
        }
        closes |= level < 0;
        last = Some(token);
    }
    closes || !wire || (hanging != TokenKind::Comma && last.is_some_and(|last| last.kind.hangs()))
}

impl Batch {
    /// The last token of a line, if something must follow it.
    fn hangs(&self, line: Line) -> Option<TokenKind> {
        let last = self.tokens.get(line.from as usize..)?.last()?.kind;
        last.hangs().then_some(last)
    }

    /// Whether a line is the beginning of a declaration that `=` may follow: then an `=` on the next line is its own,
    /// which is reported.
    fn lacks_value(&self, line: Line) -> bool {
        match self.tokens.get(line.from as usize..).unwrap_or_default() {
            [first, second, rest @ ..] => {
                (matches!(first.kind, TokenKind::Kind | TokenKind::Let) || first.kind.is_name())
                    && second.kind.is_name()
                    && rest.iter().all(|token| token.kind.is_name() || token.kind == TokenKind::Comma)
            }
            _ => false,
        }
    }

    /// Begins a line behind the last token.
    fn open(&self) -> Line {
        Line { from: self.tokens.len() as u32, ..Line::default() }
    }

    /// Ends a line; one without tokens is none.
    fn close(&mut self, line: Line) {
        let to = self.tokens.len() as u32;
        if to > line.from {
            self.lines.push(Line { to, ..line });
        }
    }
}
