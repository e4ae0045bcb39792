//! Help while an `ohmline.toml` is written.

use ohmline_settings::assist::{about, offers};
use ohmline_syntax::{LineIndex, Span};
use tower_lsp::lsp_types::{
    CompletionItem, CompletionItemKind, CompletionResponse, CompletionTextEdit, Documentation, Hover, HoverContents,
    MarkupContent, MarkupKind, Position, Range, TextEdit,
};

use crate::documents::line_col;
use crate::editor::Editor;

/// A file of settings as the editor has it.
struct Page<'a> {
    text: &'a str,
    lines: LineIndex,
    editor: Editor,
}

impl<'a> Page<'a> {
    fn new(text: &'a str, editor: Editor) -> Self {
        Self { text, lines: LineIndex::new(text), editor }
    }

    fn offset(&self, at: Position) -> u32 {
        self.lines.offset(self.text, line_col(at), self.editor.encoding)
    }

    fn range(&self, span: Span) -> Range {
        let at = |offset| {
            let at = self.lines.line_col(self.text, offset, self.editor.encoding);
            Position::new(at.line, at.col)
        };
        Range::new(at(span.start), at(span.end))
    }
}

fn markup(editor: Editor, text: String) -> MarkupContent {
    match editor.markdown {
        true => MarkupContent { kind: MarkupKind::Markdown, value: text },
        false => MarkupContent { kind: MarkupKind::PlainText, value: text.replace(['`', '*'], "") },
    }
}

/// What can be written at a position.
pub fn completion(text: &str, editor: Editor, at: Position) -> CompletionResponse {
    let page = Page::new(text, editor);
    let items = offers(text, page.offset(at)).into_iter().enumerate().map(|(number, offer)| CompletionItem {
        label: offer.word.clone(),
        kind: Some(CompletionItemKind::PROPERTY),
        detail: (!offer.detail.is_empty()).then_some(offer.detail),
        documentation: (!offer.about.is_empty()).then(|| Documentation::MarkupContent(markup(editor, offer.about))),
        sort_text: Some(format!("{number:03}")),
        filter_text: Some(offer.word),
        text_edit: Some(CompletionTextEdit::Edit(TextEdit { range: page.range(offer.at), new_text: offer.text })),
        ..CompletionItem::default()
    });
    CompletionResponse::Array(items.collect())
}

/// What stands at a position.
pub fn hover(text: &str, editor: Editor, at: Position) -> Option<Hover> {
    let page = Page::new(text, editor);
    let (span, said) = about(text, page.offset(at))?;
    Some(Hover { contents: HoverContents::Markup(markup(editor, said)), range: Some(page.range(span)) })
}
