//! The methods of the protocol, each as thin as can be: read what was asked, hand it on, shape the answer.
//!
//! No handler waits for the editor: whatever asks it something runs in a task of its own.

use std::sync::Arc;

use ohmline_syntax::{Encoding, Span};
use serde_json::json;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::*;
use tower_lsp::{Client, LanguageServer};

use crate::documents::{Core, Snapshot, file_path};
use crate::editor::Editor;
use crate::features::{colors, commands, lenses, pull, settings_file, signature};
use crate::proto::Places;
use crate::settings::From;
use crate::written::{at_once, by_itself};
use crate::{actions, closed, completion, formatting, hints, hover, navigation};

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

    /// The other circuits that may speak of the name at a place, be they open or not, and what could not be looked at, in words.
    async fn others(&self, snapshot: &Arc<Snapshot>, at: Position) -> Result<(Vec<Arc<Snapshot>>, Vec<String>)> {
        let mut others = self.core.settled().await?;
        let offset = Places::new(snapshot, self.core.editor()).offset(at);
        let Some(home) = closed::shared_home(snapshot, offset) else { return Ok((others, Vec::new())) };
        let core = self.core.clone();
        let read = tokio::task::spawn_blocking(move || core.readers(&home));
        let readers = read.await.map_err(|_| Error::internal_error())?;
        others.extend(readers.snapshots);
        Ok((others, readers.missed))
    }

    /// Asks the editor for the settings, and takes them over when they come.
    fn pull_settings(&self) {
        let (core, client) = (self.core.clone(), self.client.clone());
        tokio::spawn(async move {
            let item = ConfigurationItem { scope_uri: None, section: Some("ohmline".to_owned()) };
            let answer = client.configuration(vec![item]).await;
            if let Some(section) = answer.ok().and_then(|sections| sections.into_iter().next()) {
                if core.update_settings(&section, From::Ours).1 {
                    refresh(&core, client.clone());
                }
                for line in core.take_wrong_settings() {
                    client.log_message(MessageType::WARNING, line).await;
                }
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

/// How long the editor may take to open an address.
const SHOWING: std::time::Duration = std::time::Duration::from_secs(10);

/// Opens an address, or tells the user what it is. Nobody waits for it.
fn show(client: Client, editor: Editor, address: String) {
    tokio::spawn(async move {
        if editor.show_document
            && let Ok(uri) = Url::parse(&address)
        {
            let params = ShowDocumentParams { uri, external: Some(true), take_focus: Some(true), selection: None };
            if let Ok(Ok(true)) = tokio::time::timeout(SHOWING, client.show_document(params)).await {
                return;
            }
        }
        client.show_message(MessageType::INFO, format!("The page is at {address}")).await;
    });
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
    let window = capabilities.window.as_ref();
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
        refresh_lenses: dynamic(workspace.and_then(|workspace| workspace.code_lens.as_ref()?.refresh_support)),
        refresh_colors: dynamic(workspace.and_then(|workspace| workspace.semantic_tokens.as_ref()?.refresh_support)),
        // One that could not be told to ask again would keep what another file made stale.
        pull: text.is_some_and(|text| text.diagnostic.is_some())
            && dynamic(workspace.and_then(|workspace| workspace.diagnostic.as_ref()?.refresh_support)),
        progress: dynamic(window.and_then(|window| window.work_done_progress)),
        show_document: window.is_some_and(|window| window.show_document.as_ref().is_some_and(|show| show.support)),
        label_offsets: dynamic(text.and_then(|text| {
            let information = text.signature_help.as_ref()?.signature_information.as_ref()?;
            information.parameter_information.as_ref()?.label_offset_support
        })),
        refresh_hints: dynamic(workspace.and_then(|workspace| workspace.inlay_hint.as_ref()?.refresh_support)),
        snippets: dynamic(text.and_then(|text| text.completion.as_ref()?.completion_item.as_ref()?.snippet_support)),
        action_literals: text
            .and_then(|text| text.code_action.as_ref())
            .is_some_and(|action| action.code_action_literal_support.is_some()),
        resolves_edits: text.and_then(|text| text.code_action.as_ref()).is_some_and(|action| {
            let later =
                action.resolve_support.as_ref().is_some_and(|own| own.properties.iter().any(|own| own == "edit"));
            later && action.data_support == Some(true)
        }),
    }
}

#[tower_lsp::async_trait]
impl LanguageServer for Backend {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let editor = read_capabilities(&params.capabilities);
        self.core.set_editor(editor);
        let folders = params.workspace_folders.into_iter().flatten().map(|folder| folder.uri);
        #[allow(deprecated, reason = "editors without workspace folders name their folder so")]
        let folders: Vec<_> = folders.chain(params.root_uri).filter_map(|uri| file_path(&uri)).collect();
        self.core.workspace.change_folders(folders.into_iter(), std::iter::empty());
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
            code_action_kinds: Some(actions::KINDS.to_vec()),
            resolve_provider: Some(editor.resolves_edits),
            ..CodeActionOptions::default()
        };
        Ok(InitializeResult {
            capabilities: ServerCapabilities {
                position_encoding: Some(encoding),
                text_document_sync: Some(TextDocumentSyncCapability::Options(sync)),
                hover_provider: Some(HoverProviderCapability::Simple(true)),
                inlay_hint_provider: Some(OneOf::Left(true)),
                completion_provider: Some(CompletionOptions {
                    trigger_characters: Some(["@", ".", "\"", "+", "-", " "].map(str::to_owned).to_vec()),
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
                signature_help_provider: Some(signature::options()),
                semantic_tokens_provider: Some(colors::options().into()),
                code_lens_provider: Some(CodeLensOptions { resolve_provider: Some(false) }),
                execute_command_provider: Some(ExecuteCommandOptions {
                    commands: commands::ALL.iter().map(|name| (*name).to_owned()).collect(),
                    work_done_progress_options: WorkDoneProgressOptions::default(),
                }),
                diagnostic_provider: editor.pull.then(pull::options),
                workspace: Some(WorkspaceServerCapabilities {
                    workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                        supported: Some(true),
                        change_notifications: Some(OneOf::Left(true)),
                    }),
                    file_operations: None,
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
        self.core.take_wrong_settings().into_iter().for_each(|line| self.log(line));
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
                    { "globPattern": "**/*.ohmline" }, { "globPattern": "**/ohmline.toml" },
                    { "globPattern": "**/*.md" }, { "globPattern": "**/*.markdown" } ] })),
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
        if document.language_id.eq_ignore_ascii_case("markdown") {
            self.core.open_as(document.uri, document.version, document.text, true);
        } else {
            self.core.open(document.uri, document.version, document.text);
        }
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
        self.core.take_wrong_settings().into_iter().for_each(|line| self.log(line));
        if changed {
            refresh(&self.core, self.client.clone());
        } else if !known && self.core.editor().configuration {
            self.pull_settings();
        }
    }

    async fn did_change_workspace_folders(&self, params: DidChangeWorkspaceFoldersParams) {
        let paths = |folders: Vec<WorkspaceFolder>| folders.into_iter().filter_map(|folder| file_path(&folder.uri));
        self.core.workspace.change_folders(paths(params.event.added), paths(params.event.removed));
    }

    async fn did_change_watched_files(&self, params: DidChangeWatchedFilesParams) {
        self.core.disk_changed(params.changes.into_iter().map(|change| change.uri));
    }

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let at = params.text_document_position_params;
        if let Some(text) = self.core.settings_text(&at.text_document.uri) {
            // Whoever asks has then been told what is wrong in it.
            self.core.snapshot(&at.text_document.uri).await?;
            return Ok(settings_file::hover(&text, self.core.editor(), at.position));
        }
        let Some(snapshot) = self.core.snapshot_at(&at.text_document.uri, at.position).await? else { return Ok(None) };
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
        let editor = self.core.editor();
        let mut out = Vec::new();
        for circuit in snapshot.circuits() {
            let places = Places::new(circuit, editor);
            let range = Span::new(places.offset(params.range.start), places.offset(params.range.end));
            let found = hints::hints(&circuit.analysis, range, settings.path_hints);
            out.extend(found.iter().map(|hint| places.hint(hint)));
        }
        Ok(at_once(Some(out)))
    }

    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        let at = params.text_document_position;
        let uri = &at.text_document.uri;
        let blank = params.context.is_some_and(|context| context.trigger_character.as_deref() == Some(" "));
        if blank && !self.core.line_before(uri, at.position).is_some_and(|line| completion::is_called_for(&line)) {
            return Ok(None);
        }
        if let Some(text) = self.core.settings_text(uri) {
            return Ok(Some(settings_file::completion(&text, self.core.editor(), at.position)));
        }
        // Editors ask at the first letter of a word and then only narrow down what they got: whoever types faster than the analysis
        // would be offered nothing. So what is typed behind the place does not end the search.
        let before = self.core.line_before(uri, at.position);
        let mut typed_on = false;
        let snapshot = loop {
            match self.core.snapshot_at(uri, at.position).await {
                Err(error) if error.code == ErrorCode::ContentModified => {
                    if before.is_none() || self.core.line_before(uri, at.position) != before {
                        return Err(error);
                    }
                    typed_on = true;
                }
                found => break found?,
            }
        };
        let Some(snapshot) = snapshot else { return Ok(None) };
        let mut found = completion::completion(&snapshot, self.core.editor(), at.position);
        if typed_on {
            completion::end_at(&mut found, at.position);
        }
        Ok(at_once(Some(found)))
    }

    async fn goto_definition(&self, params: GotoDefinitionParams) -> Result<Option<GotoDefinitionResponse>> {
        let at = params.text_document_position_params;
        let Some(snapshot) = self.core.snapshot_at(&at.text_document.uri, at.position).await? else { return Ok(None) };
        let found = navigation::definition(&snapshot, self.core.editor(), at.position);
        Ok(found.map(GotoDefinitionResponse::Scalar))
    }

    async fn references(&self, params: ReferenceParams) -> Result<Option<Vec<Location>>> {
        let at = params.text_document_position;
        let Some(snapshot) = self.core.snapshot_at(&at.text_document.uri, at.position).await? else { return Ok(None) };
        let (others, missed) = self.others(&snapshot, at.position).await?;
        if !missed.is_empty() {
            self.log(format!("Not looked through for references: {}", missed.join("; ")));
        }
        let declaration = params.context.include_declaration;
        Ok(at_once(Some(navigation::references(&snapshot, &others, self.core.editor(), at.position, declaration))))
    }

    async fn document_highlight(&self, params: DocumentHighlightParams) -> Result<Option<Vec<DocumentHighlight>>> {
        let at = params.text_document_position_params;
        let Some(snapshot) = self.core.snapshot_at(&at.text_document.uri, at.position).await? else { return Ok(None) };
        Ok(at_once(Some(navigation::highlights(&snapshot, self.core.editor(), at.position))))
    }

    async fn prepare_rename(&self, at: TextDocumentPositionParams) -> Result<Option<PrepareRenameResponse>> {
        let Some(snapshot) = self.core.snapshot_at(&at.text_document.uri, at.position).await? else { return Ok(None) };
        navigation::prepare_rename(&snapshot, self.core.editor(), at.position)
    }

    async fn rename(&self, params: RenameParams) -> Result<Option<WorkspaceEdit>> {
        let at = params.text_document_position;
        let Some(snapshot) = self.core.snapshot_at(&at.text_document.uri, at.position).await? else { return Ok(None) };
        let (others, missed) = self.others(&snapshot, at.position).await?;
        let editor = self.core.editor();
        let found = navigation::rename(&snapshot, &others, editor, at.position, &params.new_name)?;
        if !missed.is_empty() {
            let (client, all) = (self.client.clone(), missed.join("; "));
            let text = format!("The old name may still stand in files that were not looked through: {all}");
            tokio::spawn(async move { client.show_message(MessageType::WARNING, text).await });
        }
        Ok(at_once(found))
    }

    async fn document_symbol(&self, params: DocumentSymbolParams) -> Result<Option<DocumentSymbolResponse>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        let editor = self.core.editor();
        let all = snapshot.circuits().flat_map(|circuit| navigation::symbols(circuit, editor)).collect();
        Ok(at_once(Some(DocumentSymbolResponse::Nested(all))))
    }

    async fn symbol(&self, params: WorkspaceSymbolParams) -> Result<Option<Vec<SymbolInformation>>> {
        let (core, editor) = (self.core.clone(), self.core.editor());
        let open = self.core.snapshots();
        let find = move || {
            let mut declared: Vec<_> = open.iter().flat_map(|circuit| navigation::declared(circuit, editor)).collect();
            declared.extend(core.declared_elsewhere());
            navigation::workspace_symbols(declared, &params.query)
        };
        tokio::task::spawn_blocking(find).await.map(Some).map_err(|_| Error::internal_error())
    }

    async fn folding_range(&self, params: FoldingRangeParams) -> Result<Option<Vec<FoldingRange>>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        Ok(at_once(Some(snapshot.circuits().flat_map(navigation::folding).collect())))
    }

    async fn selection_range(&self, params: SelectionRangeParams) -> Result<Option<Vec<SelectionRange>>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        Ok(Some(navigation::selections(&snapshot, self.core.editor(), &params.positions)))
    }

    async fn document_link(&self, params: DocumentLinkParams) -> Result<Option<Vec<DocumentLink>>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        let editor = self.core.editor();
        Ok(Some(snapshot.circuits().flat_map(|circuit| navigation::document_links(circuit, editor)).collect()))
    }

    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let Some(draft) = self.core.text(&params.text_document.uri) else { return Ok(None) };
        Ok(at_once(Some(formatting::whole(&draft, self.core.editor().encoding))))
    }

    async fn range_formatting(&self, params: DocumentRangeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let Some(draft) = self.core.text(&params.text_document.uri) else { return Ok(None) };
        Ok(at_once(Some(formatting::lines(&draft, params.range, self.core.editor().encoding))))
    }

    async fn on_type_formatting(&self, params: DocumentOnTypeFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        let at = params.text_document_position;
        let Some(draft) = self.core.text(&at.text_document.uri) else { return Ok(None) };
        Ok(Some(formatting::on_newline(&draft, at.position, self.core.editor().encoding)))
    }

    async fn signature_help(&self, params: SignatureHelpParams) -> Result<Option<SignatureHelp>> {
        let at = params.text_document_position_params;
        let Some(snapshot) = self.core.snapshot_at(&at.text_document.uri, at.position).await? else { return Ok(None) };
        Ok(signature::help(&snapshot, self.core.editor(), at.position))
    }

    async fn semantic_tokens_full(&self, params: SemanticTokensParams) -> Result<Option<SemanticTokensResult>> {
        let uri = params.text_document.uri;
        let Some(snapshot) = self.core.snapshot(&uri).await? else { return Ok(None) };
        let data = colors::tokens(&snapshot, self.core.editor(), None);
        Ok(by_itself(self.core.colors.full(&uri, data), |tokens| Some(SemanticTokensResult::Tokens(tokens))))
    }

    async fn semantic_tokens_full_delta(
        &self,
        params: SemanticTokensDeltaParams,
    ) -> Result<Option<SemanticTokensFullDeltaResult>> {
        let uri = params.text_document.uri;
        let Some(snapshot) = self.core.snapshot(&uri).await? else { return Ok(None) };
        let data = colors::tokens(&snapshot, self.core.editor(), None);
        Ok(at_once(Some(self.core.colors.delta(&uri, &params.previous_result_id, data))))
    }

    async fn semantic_tokens_range(
        &self,
        params: SemanticTokensRangeParams,
    ) -> Result<Option<SemanticTokensRangeResult>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        let editor = self.core.editor();
        let places = Places::new(&snapshot, editor);
        let range = Span::new(places.offset(params.range.start), places.offset(params.range.end));
        let data = colors::tokens(&snapshot, editor, Some(range));
        Ok(at_once(Some(SemanticTokensRangeResult::Tokens(SemanticTokens { result_id: None, data }))))
    }

    async fn code_lens(&self, params: CodeLensParams) -> Result<Option<Vec<CodeLens>>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        Ok(at_once(Some(lenses::all(&snapshot, self.core.editor()))))
    }

    async fn execute_command(&self, params: ExecuteCommandParams) -> Result<Option<serde_json::Value>> {
        let refuse = |why: String| Error { code: ErrorCode::InvalidParams, message: why.into(), data: None };
        if !commands::ALL.contains(&params.command.as_str()) {
            return Err(refuse(format!("There is no command `{}`", params.command)));
        }
        let wanted = commands::Wanted::read(&params.arguments)
            .ok_or_else(|| refuse("The command needs the address of a document".to_owned()))?;
        let Some(snapshot) = self.core.snapshot(&wanted.uri).await? else {
            return Err(refuse("This document is not open, or nothing is known about it".to_owned()));
        };
        if params.command == commands::READ {
            return commands::read(&wanted, &snapshot).map(Some).map_err(refuse);
        }
        let address = self.core.pages.open(&params.command, &wanted, &snapshot).map_err(refuse)?;
        show(self.client.clone(), self.core.editor(), address.clone());
        Ok(Some(commands::answer(&address)))
    }

    async fn diagnostic(&self, params: DocumentDiagnosticParams) -> Result<DocumentDiagnosticReportResult> {
        let uri = params.text_document.uri;
        self.core.pulled(&uri);
        let snapshot = self.core.snapshot(&uri).await.map_err(pull::overtaken)?;
        let found = match snapshot {
            Some(snapshot) => snapshot.diagnostics(self.core.editor()),
            None => self.core.shown(&uri),
        };
        Ok(pull::report(found, params.previous_result_id.as_deref()))
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let Some(snapshot) = self.core.snapshot(&params.text_document.uri).await? else { return Ok(None) };
        let editor = self.core.editor();
        let places = Places::new(&snapshot, editor);
        let (start, end) = (places.offset(params.range.start), places.offset(params.range.end));
        let selection = Span::new(start.min(end), end.max(start));
        let found = actions::offered(&snapshot, editor, selection, params.context.only.as_deref());
        let shown = |action| match editor.resolves_edits {
            true => actions::without_edit(&snapshot, selection, action),
            false => action,
        };
        Ok(at_once(Some(found.into_iter().map(shown).map(CodeActionOrCommand::CodeAction).collect())))
    }

    async fn code_action_resolve(&self, action: CodeAction) -> Result<CodeAction> {
        let refuse = |why: &str| Error { code: ErrorCode::InvalidParams, message: why.to_owned().into(), data: None };
        if action.edit.is_some() {
            return Ok(action);
        }
        let from = actions::Origin::read(&action).ok_or_else(|| refuse("This is no action of this server"))?;
        let Some(snapshot) = self.core.snapshot(&from.uri).await? else {
            return Err(refuse("This document is not open, or nothing is known about it"));
        };
        if snapshot.version != from.version {
            return Err(Error::new(ErrorCode::ContentModified));
        }
        actions::with_edit(&snapshot, self.core.editor(), &from, action)
            .ok_or_else(|| refuse("This cannot be done any more"))
    }
}
