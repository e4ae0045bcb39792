//! What can be written next.
//!
//! The text is being typed, so the line at hand is mostly one that cannot be read: this goes by its tokens up to the cursor, and by
//! what the rest of the text declares.

mod allowing;
mod around;
mod context;
mod few;
mod values;
mod wiring;
mod words;

use ohmline_analysis::Analysis;
use ohmline_circuit::quantity::Style;
use ohmline_report::Shower;
use ohmline_syntax::lexer::{Token, TokenKind, tokens};
use ohmline_syntax::{FileId, Span};

use crate::occurrences::{Index, Scope};

/// What an item is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ItemKind {
    /// A word of the notation.
    Keyword,
    /// A kind of element.
    Kind,
    /// A part.
    Part,
    /// An element, or a copy of a part.
    Element,
    /// A junction.
    Junction,
    /// A terminal or a port.
    Terminal,
    /// An option or a parameter.
    Option,
    /// A `let`.
    Value,
    /// A unit.
    Unit,
    /// A number.
    Number,
    /// A case.
    Case,
    /// A file.
    File,
    /// A state such as `open`.
    State,
    /// A rule, in a comment that allows it.
    Rule,
}

/// Something that can be written at the cursor.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Item {
    /// What is shown.
    pub label: String,
    /// What it is.
    pub kind: ItemKind,
    /// What stands beside it.
    pub detail: String,
    /// What it means, as Markdown.
    pub doc: String,
    /// What is written.
    pub insert: String,
    /// What is written where places to fill in can be marked: `${1:NAME}`.
    pub snippet: Option<String>,
    /// What it replaces: the word being typed.
    pub replace: Span,
    /// Order among others: the least first.
    pub rank: u8,
}

/// What can be written at a place.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Offer {
    /// Each thing that is offered.
    pub items: Vec<Item>,
    /// Whether that is all; else more may come up when more is typed.
    pub whole: bool,
}

/// The line at hand, up to the cursor.
pub(crate) struct Line<'a> {
    pub analysis: &'a Analysis,
    pub index: &'a Index,
    pub scope: Scope,
    pub text: &'a str,
    /// Tokens before the word being typed, blanks and comments left out.
    pub before: Vec<Token>,
    /// The word being typed.
    pub word: Span,
    /// Files beside the document, for `include`.
    pub files: &'a [String],
    pub items: Vec<Item>,
    /// Nothing was left out.
    pub whole: bool,
    /// Shows solved values: made once, since for floating answers it looks through all of them.
    pub shower: Option<Shower>,
}

impl<'a> Line<'a> {
    pub fn text_of(&self, token: &Token) -> &'a str {
        token.text(self.text)
    }

    pub fn add(&mut self, item: Item) {
        self.items.push(item);
    }

    pub fn item(&self, label: &str, kind: ItemKind, rank: u8) -> Item {
        Item {
            label: label.to_owned(),
            kind,
            detail: String::new(),
            doc: String::new(),
            insert: label.to_owned(),
            snippet: None,
            replace: self.word,
            rank,
        }
    }

    pub fn typed(&self) -> &'a str {
        self.text.get(self.word.range()).unwrap_or("")
    }
}

/// What can be written at an offset of the document; `files` are those that an `include` could name.
pub fn complete(analysis: &Analysis, index: &Index, offset: u32, files: &[String]) -> Offer {
    let tree = &analysis.sources.file(FileId::MAIN).tree;
    let text: &str = &tree.text;
    let offset = (offset as usize).min(text.len());
    let Some(head) = text.get(..offset) else { return Offer::default() };
    let start = line_start(text, offset);
    let own = &head[start..];
    let shift = |token: Token| Token { start: token.start + start as u32, ..token };
    let mut before: Vec<Token> =
        tokens(own).into_iter().filter(|token| token.kind != TokenKind::Blank).map(shift).collect();
    let is_comment = |token: &Token| matches!(token.kind, TokenKind::Comment | TokenKind::Doc);
    if let Some(comment) = before.last().filter(|last| is_comment(last)) {
        return Offer { items: allowing::in_comment(analysis, *comment), whole: true };
    }
    before.retain(|token| !is_comment(token) && token.kind != TokenKind::Newline);
    let end = offset as u32;
    let mut word = Span::new(end, end);
    if let Some(last) = before.last().copied().filter(|last| last.end() == end) {
        let is_word = last.kind.is_word()
            || matches!(
                last.kind,
                TokenKind::Junction
                    | TokenKind::LooseMark
                    | TokenKind::UnclosedText
                    | TokenKind::Number
                    | TokenKind::Unknown
            );
        if is_word {
            word = last.span();
            before.pop();
        }
    }
    let number = tree.stmts.partition_point(|stmt| stmt.offset < start as u32 + 1) as u32;
    let part = tree
        .blocks
        .iter()
        .filter(|block| block.head < number && number <= block.close)
        .filter(|block| {
            matches!(tree.stmts[block.head as usize].node.kind, ohmline_syntax::tree::StmtKind::Part { .. })
        })
        .map(|block| block.head)
        .next_back();
    let scope = Scope { file: FileId::MAIN, part };
    let shower = analysis.answers.states.first().map(|answers| Shower::new(Style::Digits(3), answers));
    let mut line = Line { analysis, index, scope, text, before, word, files, items: Vec::new(), whole: true, shower };
    context::fill(&mut line);
    let mut items = line.items;
    let mut seen = std::collections::HashSet::new();
    items.retain(|item| seen.insert((item.label.clone(), item.kind as u8)));
    Offer { items, whole: line.whole }
}

/// Where the statement begins that an offset is in: on its line, or further up where lines only go on with it.
fn line_start(text: &str, offset: usize) -> usize {
    let first = |at: usize| text[..at].rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let mut start = first(offset);
    while start > 0 {
        let line = text[start..].trim_start_matches([' ', '\t']);
        if !line.starts_with("--") && !line.starts_with(['|', ',', ')']) {
            break;
        }
        let above = text[..start].strip_suffix('\n').unwrap_or(&text[..start]);
        start = first(above.strip_suffix('\r').unwrap_or(above).len());
    }
    start
}

#[cfg(test)]
mod tests;
