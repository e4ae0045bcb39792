//! Our positions, diagnostics, hovers and hints in the shapes of the protocol. The only place where they are converted.

use ohmline_circuit::Source;
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Severity, Span};
use tower_lsp::lsp_types::{self as lsp, Position, Range, Url};

use crate::documents::{Snapshot, line_col};
use crate::editor::Editor;
use crate::hints::Hint;
use crate::hover::Hover;
use crate::positions::Positions;

/// Converts places of one analysis for one editor.
pub struct Places<'a> {
    snapshot: &'a Snapshot,
    editor: Editor,
    /// Those of the document itself.
    positions: Option<Positions<'a>>,
}

impl<'a> Places<'a> {
    /// For this analysis and editor.
    pub fn new(snapshot: &'a Snapshot, editor: Editor) -> Self {
        let main = snapshot.analysis.sources.files.first();
        let positions = main.map(|source| Positions::new(&source.tree.text, &source.lines, editor.encoding));
        Self { snapshot, editor, positions }
    }

    /// What a new line begins with, where the document is a circuit in a quote of a Markdown document.
    pub fn quote(&self) -> Option<&'a str> {
        self.snapshot.around.as_ref().map(|(around, _)| around.lead.as_str()).filter(|lead| lead.contains('>'))
    }

    fn source(&self, file: FileId) -> Option<&'a Source> {
        self.snapshot.analysis.sources.files.get(file.0 as usize)
    }

    /// A stretch of the document itself.
    pub fn range(&self, span: Span) -> Range {
        self.range_in(FileId::MAIN, span).unwrap_or_default()
    }

    /// A stretch of any file.
    fn range_in(&self, file: FileId, span: Span) -> Option<Range> {
        let range = |own: &Positions<'_>| Range::new(own.position(span.start), own.position(span.end));
        if file == FileId::MAIN {
            return self.positions.as_ref().map(range);
        }
        let source = self.source(file)?;
        Some(range(&Positions::new(&source.tree.text, &source.lines, self.editor.encoding)))
    }

    /// A position of the document itself, as a byte offset.
    pub fn offset(&self, position: Position) -> u32 {
        self.source(FileId::MAIN)
            .map_or(0, |source| source.lines.offset(&source.tree.text, line_col(position), self.editor.encoding))
    }

    /// The address of a file, and its version if it is open.
    pub fn address(&self, file: FileId) -> Option<(Url, Option<i32>)> {
        if file == FileId::MAIN {
            return Some((self.snapshot.uri.clone(), self.snapshot.version));
        }
        let path = self.source(file)?.path.as_ref()?;
        match self.snapshot.open.get(path) {
            Some((uri, version)) => Some((uri.clone(), Some(*version))),
            None => Some((Url::from_file_path(path).ok()?, None)),
        }
    }

    /// A stretch of any file.
    pub fn location(&self, at: FileSpan) -> Option<lsp::Location> {
        Some(lsp::Location::new(self.address(at.file)?.0, self.range_in(at.file, at.span)?))
    }

    /// A replacement in any file.
    pub fn edit(&self, edit: &ohmline_syntax::Edit) -> Option<lsp::TextEdit> {
        Some(lsp::TextEdit::new(self.range_in(edit.at.file, edit.at.span)?, edit.text.clone()))
    }

    /// Where in the document itself something is shown that stands in any file: what stands in an included file, at the `include`
    /// that brings it in.
    pub fn shown_at(&self, at: FileSpan) -> Span {
        if at.file == FileId::MAIN {
            return at.span;
        }
        let Some(main) = self.source(FileId::MAIN) else { return Span::default() };
        let include = main
            .includes
            .iter()
            .find(|(_, found)| found.as_ref().is_ok_and(|file| *file == at.file || self.leads_to(*file, at.file)));
        include.and_then(|(index, _)| main.tree.stmts.get(*index as usize)).map_or(Span::new(0, 0), |stmt| stmt.range())
    }

    /// Whether a file includes another, by whatever way. Includes form no cycle: an include that would close one is an error.
    fn leads_to(&self, from: FileId, to: FileId) -> bool {
        self.source(from).is_some_and(|source| {
            let mut files = source.includes.iter().filter_map(|(_, found)| found.as_ref().ok());
            files.any(|file| *file == to || self.leads_to(*file, to))
        })
    }

    /// A diagnostic.
    pub fn diagnostic(&self, found: &Diagnostic) -> lsp::Diagnostic {
        let mut message = found.message.clone();
        let mut related = Vec::new();
        let away = found.primary.at.file != FileId::MAIN;
        if away || !found.primary.text.is_empty() {
            related.push(&found.primary);
        }
        related.extend(&found.labels);
        let mut places = Vec::new();
        for label in related {
            let Some(location) = self.location(label.at) else { continue };
            let text = if label.text.is_empty() { "here".to_owned() } else { label.text.clone() };
            if self.editor.related {
                places.push(lsp::DiagnosticRelatedInformation { location, message: text });
            } else {
                let name = self.source(label.at.file).filter(|_| label.at.file != FileId::MAIN);
                let of = name.map(|source| format!("{}, ", source.name)).unwrap_or_default();
                message.push_str(&format!("\n{of}line {}: {text}", location.range.start.line + 1));
            }
        }
        if !found.cases.is_empty() {
            let name =
                |name: &String| if name == ohmline_lint::AS_DRAWN { name.clone() } else { format!("in \"{name}\"") };
            let names: Vec<_> = found.cases.iter().map(name).collect();
            message.push_str(&format!("\nOnly {}", names.join(", ")));
        }
        for line in found.notes.iter().chain(&found.help) {
            message.push('\n');
            message.push_str(line);
        }
        lsp::Diagnostic {
            range: self.range(self.shown_at(found.primary.at)),
            severity: Some(match found.severity {
                Severity::Error => lsp::DiagnosticSeverity::ERROR,
                Severity::Warning => lsp::DiagnosticSeverity::WARNING,
                Severity::Info => lsp::DiagnosticSeverity::INFORMATION,
                Severity::Hint => lsp::DiagnosticSeverity::HINT,
            }),
            code: Some(lsp::NumberOrString::String(found.rule.to_owned())),
            source: Some("ohmline".to_owned()),
            message,
            related_information: (!places.is_empty()).then_some(places),
            ..lsp::Diagnostic::default()
        }
    }

    /// A hover.
    pub fn hover(&self, hover: &Hover) -> lsp::Hover {
        let (kind, value) = if self.editor.markdown {
            (lsp::MarkupKind::Markdown, hover.markdown())
        } else {
            (lsp::MarkupKind::PlainText, hover.plain())
        };
        lsp::Hover {
            contents: lsp::HoverContents::Markup(lsp::MarkupContent { kind, value }),
            range: Some(self.range(hover.span)),
        }
    }

    /// An inlay hint.
    pub fn hint(&self, hint: &Hint) -> lsp::InlayHint {
        lsp::InlayHint {
            position: self.range(Span::new(hint.at, hint.at)).start,
            label: lsp::InlayHintLabel::String(hint.text.clone()),
            kind: None,
            text_edits: None,
            tooltip: hint.tooltip.clone().map(lsp::InlayHintTooltip::String),
            padding_left: Some(true),
            padding_right: None,
            data: None,
        }
    }
}
