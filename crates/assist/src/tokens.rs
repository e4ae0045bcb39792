//! What each word of a text is, for coloring: by its meaning where it has one, else by its form.

use ohmline_analysis::Analysis;
use ohmline_lint::allow::comment::{WORD, comment_at};
use ohmline_syntax::lexer::{Token, TokenKind, tokens};
use ohmline_syntax::words::STATES;
use ohmline_syntax::{FileId, Span, Tree};

use crate::occurrences::{Index, Occurrence, Role, SymbolKind};

/// What a stretch of text is.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[allow(missing_docs)]
pub enum Sort {
    Comment,
    /// The name of a rule, in a comment that allows it.
    Rule,
    Keyword,
    /// A built-in kind of element.
    Kind,
    Part,
    Element,
    Junction,
    Port,
    /// A parameter or a counting name.
    Parameter,
    Value,
    /// An option, a terminal.
    Field,
    /// `current`, `voltage` and the like.
    Quantity,
    /// `open`, `closed`, `shorted`, a throw.
    State,
    Number,
    Text,
    /// A wire and other signs.
    Sign,
}

/// A stretch of text and what it is. Never empty, never over a line end.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Colored {
    /// Where.
    pub span: Span,
    /// What it is.
    pub sort: Sort,
    /// Whether it is declared here.
    pub declares: bool,
    /// Whether it is a `##` comment.
    pub documents: bool,
}

/// Every stretch that touches a range, in order, none over another.
pub fn colored(analysis: &Analysis, index: &Index, range: Span) -> Vec<Colored> {
    let Some(source) = analysis.sources.files.first() else { return Vec::new() };
    let text = &*source.tree.text;
    // No token goes over a line end, so only the lines asked about are read. A line that goes on from one above begins with a sign,
    // behind which words are taken as they are there.
    let start = text.floor_char_boundary(range.start as usize);
    let start = text[..start].rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let end = text.floor_char_boundary(range.end as usize);
    let end = text[end..].find(['\n', '\r']).map_or(text.len(), |at| end + at);
    let all = index.in_file(FileId::MAIN);
    let first = all.partition_point(|own| own.at.span.start < start as u32);
    let mut names = all[first..].iter().peekable();
    let mut out = Vec::new();
    let mut before = Before::default();
    for mut token in tokens(text.get(start..end.max(start)).unwrap_or("")) {
        token.start += start as u32;
        let span = token.span();
        while names.next_if(|own| own.at.span.start < span.start).is_some() {}
        if token.kind.is_trivia() && !matches!(token.kind, TokenKind::Comment | TokenKind::Doc) {
            if token.kind == TokenKind::Newline {
                before.newline = true;
            }
            continue;
        }
        let mut inside = Vec::new();
        while let Some(own) = names.next_if(|own| own.at.span.start < span.end) {
            inside.push(own);
        }
        if span.end >= range.start && span.start <= range.end {
            if token.kind == TokenKind::Comment && token.text(text).contains(WORD) {
                comment_colors(&source.tree, span, &mut out);
            } else {
                token_colors(text, token, &inside, index, before, &mut out);
            }
        }
        before.see(token);
    }
    out
}

/// What stands before a token.
#[derive(Clone, Copy, Default)]
struct Before {
    kind: Option<TokenKind>,
    newline: bool,
}

impl Before {
    fn see(&mut self, token: Token) {
        if !matches!(token.kind, TokenKind::Comment | TokenKind::Doc) {
            *self = Before { kind: Some(token.kind), newline: false };
        }
    }
}

/// A comment, in which the word that allows something and the names of the rules stand out.
fn comment_colors(tree: &Tree, span: Span, out: &mut Vec<Colored>) {
    let mut from = span.start;
    let mut add = |to: u32, sort: Sort| {
        if to > from {
            out.push(Colored { span: Span::new(from, to), sort, declares: false, documents: false });
        }
        from = to;
    };
    if let Some(allow) = comment_at(tree, span.start)
        && let Some(word) = tree.slice(span).find(WORD).map(|at| span.start + at as u32)
    {
        add(word, Sort::Comment);
        add(word + WORD.len() as u32, Sort::Keyword);
        for rule in allow.rules {
            add(rule.start, Sort::Comment);
            add(rule.end, Sort::Rule);
        }
    }
    add(span.end, Sort::Comment);
}

fn token_colors(
    text: &str,
    token: Token,
    inside: &[&Occurrence],
    index: &Index,
    before: Before,
    out: &mut Vec<Colored>,
) {
    let span = token.span();
    let plain = |sort: Sort| Colored { span, sort, declares: false, documents: false };
    match token.kind {
        TokenKind::Comment => out.push(plain(Sort::Comment)),
        TokenKind::Doc => out.push(Colored { documents: true, ..plain(Sort::Comment) }),
        // The name of a case is text to the reader, whatever it means.
        TokenKind::Text | TokenKind::CurlyText | TokenKind::UnclosedText => out.push(plain(Sort::Text)),
        TokenKind::Number | TokenKind::Percent | TokenKind::Question => out.push(plain(Sort::Number)),
        TokenKind::Wire
        | TokenKind::WireRun
        | TokenKind::Plus
        | TokenKind::Minus
        | TokenKind::Star
        | TokenKind::Slash
        | TokenKind::Equals
        | TokenKind::Bar => out.push(plain(Sort::Sign)),
        TokenKind::Junction => junction(span, inside, index, out),
        kind if kind.is_word() => {
            if let Some(own) = inside.first() {
                out.push(named(own, index, span));
            } else if let Some(sort) = word(text, token, before) {
                out.push(plain(sort));
            }
        }
        _ => {}
    }
}

/// A name by what it means; the holes in it are part of it.
fn named(own: &Occurrence, index: &Index, span: Span) -> Colored {
    let sort = match (own.role, index.symbol(own.symbol).kind) {
        (Role::Field, _) => Sort::Field,
        (_, SymbolKind::Element | SymbolKind::Instance | SymbolKind::Undeclared) => Sort::Element,
        (_, SymbolKind::Value) => Sort::Value,
        (_, SymbolKind::Parameter | SymbolKind::Counter) => Sort::Parameter,
        (_, SymbolKind::Port) => Sort::Port,
        (_, SymbolKind::Part) => Sort::Part,
        (_, SymbolKind::Junction) => Sort::Junction,
        (_, SymbolKind::Case) => Sort::Text,
    };
    let declares = own.role == Role::Definition;
    Colored { span, sort, declares, documents: false }
}

/// `@Left.mid`: the mark belongs to the junction, the names before a dot are what they are.
fn junction(span: Span, inside: &[&Occurrence], index: &Index, out: &mut Vec<Colored>) {
    let mut from = span.start;
    for own in inside {
        if index.symbol(own.symbol).kind == SymbolKind::Counter || own.at.span.end <= from {
            continue;
        }
        let start = if from == span.start { from } else { own.at.span.start };
        out.push(named(own, index, Span::new(start, own.at.span.end)));
        from = own.at.span.end;
    }
    if from == span.start {
        out.push(Colored { span, sort: Sort::Junction, declares: false, documents: false });
    }
}

/// A word that names nothing, by where it stands.
fn word(text: &str, token: Token, before: Before) -> Option<Sort> {
    let first = before.kind.is_none() || before.newline;
    let behind_number =
        matches!(before.kind, Some(TokenKind::Number | TokenKind::Percent | TokenKind::Close | TokenKind::Question));
    match token.kind {
        TokenKind::Kind => Some(Sort::Kind),
        kind if kind.is_statement() && first => Some(Sort::Keyword),
        _ if before.kind == Some(TokenKind::Comma) && !first => Some(Sort::Field),
        kind if kind.is_quantity() => Some(Sort::Quantity),
        _ if before.kind == Some(TokenKind::Dot) => Some(Sort::Field),
        _ if STATES.contains(&token.text(text)) => Some(Sort::State),
        _ if before.kind == Some(TokenKind::Equals) => Some(Sort::State),
        TokenKind::Name if behind_number => Some(Sort::Number),
        TokenKind::Name => None,
        // Every other word joins the parts of a statement.
        kind if kind.is_name() => Some(Sort::Keyword),
        _ => None,
    }
}
