//! The methods of the protocol, each as thin as can be: read what was asked, hand it on, shape the answer.
//!
//! No handler waits for the editor: whatever asks it something runs in a task of its own.

use std::sync::Arc;

use ohmline_syntax::{Encoding, Span};
use serde_json::json;
use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::*;
use tower_lsp::{Client, LanguageServer};

use crate::documents::Core;
use crate::editor::Editor;
use crate::proto::Places;
use crate::settings::From;
use crate::{actions, completion, formatting, hints, hover, navigation};

/// The language server of one editor.
pub struct Backend {
    core: Arc<Core>,
    client: Client,
}

impl Backend {
    /// A server over this state.
    pub fn new(core: Arc<Core>, client: Client) -> Self {
        Self { core, client }
    }

    /// Writes a line into the editor's log.
    fn log(&self, text: String) {
        let client = self.client.clone();
        tokio::spawn(async move { client.log_message(MessageType::WARNING, text).await });
    }

    /// Asks the editor for the settings, and takes them over when they come.
    fn pull_settings(&self) {
        let (core, client) = (self.core.clone(), self.client.clone());
        tokio::spawn(async move {
            let item = ConfigurationItem { scope_uri: None, section: Some("ohmline".to_owned()) };
            let answer = client.configuration(vec![item]).await;
            if let Some(section) = answer.ok().and_then(|sections| sections.into_iter().next())
                && core.update_settings(&section, From::Ours).1
            {
                refresh(&core, client);
            }
        });
    }
}

/// Lets the editor ask for inlay hints again.
fn refresh(core: &Core, client: Client) {
    if core.editor().refresh_hints {
        tokio::spawn(async move { client.inlay_hint_refresh().await });
    }
}

/// What an editor says about itself.
fn read_capabilities(capabilities: &ClientCapabilities) -> Editor {
    let offered = capabilities.general.as_ref().and_then(|general| general.position_encodings.as_deref());
    let offers = |kind: PositionEncodingKind| offered.is_some_and(|kinds| kinds.contains(&kind));
    let encoding = if offers(PositionEncodingKind::UTF8) {
        Encoding::Utf8
    } else if offers(PositionEncodingKind::UTF16) || !offers(PositionEncodingKind::UTF32) {
        Encoding::Utf16
    } else {
        Encoding::Utf32
    };
    let text = capabilities.text_document.as_ref();
    let workspace = capabilities.workspace.as_ref();
    let dynamic = |found: Option<bool>| found.unwrap_or(false);
    Editor {
        encoding,
        markdown: text
            .and_then(|text| text.hover.as_ref()?.content_format.as_ref()?.first().cloned())
            .is_some_and(|first| first == MarkupKind::Markdown),
        related: dynamic(text.and_then(|text| text.publish_diagnostics.as_ref()?.related_information)),
        versioned_edits: dynamic(workspace.and_then(|workspace| workspace.workspace_edit.as_ref()?.document_changes)),
        configuration: dynamic(workspace.and_then(|workspace| workspace.configuration)),
        register_configuration: dynamic(
            workspace.and_then(|workspace| workspace.did_change_configuration.as_ref()?.dynamic_registration),
        ),
        register_watch: dynamic(
            workspace.and_then(|workspace| workspace.did_change_watched_files.as_ref()?.dynamic_registration),
        ),
        refresh_hints: dynamic(workspace.and_then(|workspace| workspace.inlay_hint.as_ref()?.refresh_support)),
        snippets: dynamic(text.and_then(|text| text.completion.as_ref()?.completion_item.as_ref()?.snippet_support)),
        action_literals: text
            .and_then(|text| text.code_action.as_ref())
            .is_some_and(|action| action.code_action_literal_support.is_some()),
    }
}

#[tower_lsp::async_trait]
impl LanguageServer for Backend {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let editor = read_capabilities(&params.capabilities);
        self.core.set_editor(editor);
        if let Some(options) = &params.initialization_options {
            self.core.update_settings(options, From::Ours);
        }
        let encoding = match editor.encoding {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
            Encoding::Utf32 => PositionEncodingKind::UTF32,
        };
        let sync = TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            ..TextDocumentSyncOptions::default()
        };
        let fixes = CodeActionOptions {
            code_action_kinds: Some(vec![CodeActionKind::QUICKFIX]),
            ..CodeActionOptions::default()
        };
        Ok(InitializeResult {
            capabilities: ServerCapabilities {
                position_encoding: Some(encoding),
                text_document_sync: Some(TextDocumentSyncCapability::Options(sync)),
                hover_provider: Some(HoverProviderCapability::Simple(true)),
                inlay_hint_provider: Some(OneOf::Left(true)),
                completion_provider: Some(CompletionOptions {
                    trigger_characters: Some(["@", ".", "\"", "+", "-"].map(str::to_owned).to_vec()),
                    resolve_provider: Some(false),
                    ..CompletionOptions::default()
                }),
                definition_provider: Some(OneOf::Left(true)),
                references_provider: Some(OneOf::Left(true)),
                document_highlight_provider: Some(OneOf::Left(true)),
                rename_provider: Some(OneOf::Right(RenameOptions {
                    prepare_provider: Some(true),
                    work_done_progress_options: WorkDoneProgressOptions::default(),
                })),
                document_symbol_provider: Some(OneOf::Left(true)),
                workspace_symbol_provider: Some(OneOf::Left(true)),
                folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
                selection_range_provider: Some(SelectionRangeProviderCapability::Simple(true)),
                document_link_provider: Some(DocumentLinkOptions {
                    resolve_provider: Some(false),
                    work_done_progress_options: WorkDoneProgressOptions::default(),
                }),
                document_formatting_provider: Some(OneOf::Left(true)),
                document_range_formatting_provider: Some(OneOf::Left(true)),
                document_on_type_formatting_provider: Some(DocumentOnTypeFormattingOptions {
                    first_trigger_character: "\n".to_owned(),
                    more_trigger_character: None,
                }),
                code_action_provider: editor.action_literals.then_some(CodeActionProviderCapability::Options(fixes)),
                ..ServerCapabilities::default()
            },
            server_info: Some(ServerInfo {
                name: "ohmline".to_owned(),
                version: Some(env!("CARGO_PKG_VERSION").to_owned()),
            }),
        })
    }

    async fn initialized(&self, _: InitializedParams) {
        let editor = self.core.editor();
        if editor.configuration {
            self.pull_settings();
        }
        let mut wanted = Vec::new();
        if editor.register_configuration {
            wanted.push(Registration {
                id: "settings".to_owned(),
                method: "workspace/didChangeConfiguration".to_owned(),
                register_options: Some(json!({ "section": "ohmline" })),
            });
        }
        if editor.register_watch {
            wanted.push(Registration {
                id: "files".to_owned(),
                method: "workspace/didChangeWatchedFiles".to_owned(),
                register_options: Some(json!({ "watchers": [
                    { "globPattern": "**/*.ohmline" }, { "globPattern": "**/ohmline.toml" } ] })),
            });
        }
        if !wanted.is_empty() {
            let client = self.client.clone();
            tokio::spawn(async move { client.register_capability(wanted).await });
        }
    }

    async fn shutdown(&self) -> Result<()> {
        self.core.ask_shutdown();
        Ok(())
    }

    async fn did_open(&self, params: DidOpenTextDocumentParams) {
        let document = params.text_document;
        self.core.open(document.uri, document.version, document.text);
    }

    async fn did_change(&self, params: DidChangeTextDocumentParams) {
        let document = params.text_document;
        if let Err(complaint) = self.core.change(&document.uri, document.version, params.content_changes) {
            self.log(format!("{} version {}: {complaint}", document.uri, document.version));
        }
    }

    async fn did_close(&self, params: DidCloseTextDocumentParams) {
        self.core.close(&params.text_document.uri);
    }

    async fn did_change_configuration(&self, params: DidChangeConfigurationParams) {
        let (known, changed) = self.core.update_settings(&params.settings, From::Everyone);
        if changed {
            refresh(&self.core, self.client.clone());
        } else if !known && self.core.editor().configuration {
            self.pull_settings();
        }
    }

    async fn did_change_watched_files(&self, params: DidChangeWatchedFilesParams) {
        self.core.disk_changed(params.changes.into_iter().map(|change| change.uri));
    }

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let at = params.text_document_position_params;
        let Some(snapshot) = self.core.snapshot(&at.text_document.uri).await? else { return Ok(None) };
        let places = Places::new(&snapshot, self.core.editor());
        let found = hover::hover(&snapshot.analysis, places.offset(at.position));
        Ok(found.map(|found| places.hover(&found)))
    }

    async fn inlay_hint(&self, params: InlayHintParams) -> Result<Option<Vec<InlayHint>>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        let settings = self.core.settings();
        if !settings.hints {
            return Ok(Some(Vec::new()));
        }
        let places = Places::new(&snapshot, self.core.editor());
        let range = Span::new(places.offset(params.range.start), places.offset(params.range.end));
        let found = hints::hints(&snapshot.analysis, range, settings.path_hints);
        Ok(Some(found.iter().map(|hint| places.hint(hint)).collect()))
    }

    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        let at = params.text_document_position;
        let Some(snapshot) = self.core.snapshot(&at.text_document.uri).await? else { return Ok(None) };
        Ok(Some(completion::completion(&snapshot, self.core.editor(), at.position)))
    }

    async fn goto_definition(&self, params: GotoDefinitionParams) -> Result<Option<GotoDefinitionResponse>> {
        let at = params.text_document_position_params;
        let Some(snapshot) = self.core.snapshot(&at.text_document.uri).await? else { return Ok(None) };
        let found = navigation::definition(&snapshot, self.core.editor(), at.position);
        Ok(found.map(GotoDefinitionResponse::Scalar))
    }

    async fn references(&self, params: ReferenceParams) -> Result<Option<Vec<Location>>> {
        let at = params.text_document_position;
        let Some(snapshot) = self.core.snapshot(&at.text_document.uri).await? else { return Ok(None) };
        let declaration = params.context.include_declaration;
        Ok(Some(navigation::references(&snapshot, self.core.editor(), at.position, declaration)))
    }

    async fn document_highlight(&self, params: DocumentHighlightParams) -> Result<Option<Vec<DocumentHighlight>>> {
        let at = params.text_document_position_params;
        let Some(snapshot) = self.core.snapshot(&at.text_document.uri).await? else { return Ok(None) };
        Ok(Some(navigation::highlights(&snapshot, self.core.editor(), at.position)))
    }

    async fn prepare_rename(&self, at: TextDocumentPositionParams) -> Result<Option<PrepareRenameResponse>> {
        let Some(snapshot) = self.core.snapshot(&at.text_document.uri).await? else { return Ok(None) };
        navigation::prepare_rename(&snapshot, self.core.editor(), at.position)
    }

    async fn rename(&self, params: RenameParams) -> Result<Option<WorkspaceEdit>> {
        let at = params.text_document_position;
        let Some(snapshot) = self.core.snapshot(&at.text_document.uri).await? else { return Ok(None) };
        navigation::rename(&snapshot, self.core.editor(), at.position, &params.new_name)
    }

    async fn document_symbol(&self, params: DocumentSymbolParams) -> Result<Option<DocumentSymbolResponse>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        Ok(Some(DocumentSymbolResponse::Nested(navigation::symbols(&snapshot, self.core.editor()))))
    }

    async fn symbol(&self, params: WorkspaceSymbolParams) -> Result<Option<Vec<SymbolInformation>>> {
        Ok(Some(navigation::workspace_symbols(&self.core.snapshots(), self.core.editor(), &params.query)))
    }

    async fn folding_range(&self, params: FoldingRangeParams) -> Result<Option<Vec<FoldingRange>>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        Ok(Some(navigation::folding(&snapshot)))
    }

    async fn selection_range(&self, params: SelectionRangeParams) -> Result<Option<Vec<SelectionRange>>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        Ok(Some(navigation::selections(&snapshot, self.core.editor(), &params.positions)))
    }

    async fn document_link(&self, params: DocumentLinkParams) -> Result<Option<Vec<DocumentLink>>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        Ok(Some(navigation::document_links(&snapshot, self.core.editor())))
    }

    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let Some(text) = self.core.text(&params.text_document.uri) else { return Ok(None) };
        Ok(Some(formatting::whole(&text, self.core.editor().encoding)))
    }

    async fn range_formatting(&self, params: DocumentRangeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let Some(text) = self.core.text(&params.text_document.uri) else { return Ok(None) };
        Ok(Some(formatting::lines(&text, params.range, self.core.editor().encoding)))
    }

    async fn on_type_formatting(&self, params: DocumentOnTypeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let at = params.text_document_position;
        let Some(text) = self.core.text(&at.text_document.uri) else { return Ok(None) };
        Ok(Some(formatting::on_newline(&text, at.position, self.core.editor().encoding)))
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let quick = CodeActionKind::QUICKFIX;
        if params.context.only.is_some_and(|only| !only.contains(&quick) && !only.contains(&CodeActionKind::EMPTY)) {
            return Ok(Some(Vec::new()));
        }
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        let editor = self.core.editor();
        let places = Places::new(&snapshot, editor);
        let wanted = Span::new(places.offset(params.range.start), places.offset(params.range.end));
        Ok(Some(actions::quick_fixes(&snapshot, editor, wanted)))
    }
}
