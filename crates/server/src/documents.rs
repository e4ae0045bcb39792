//! The open documents: their texts, kept exactly as the editor has them, and what is known about them.
//!
//! Everything here is under one lock that is held only for copying and splicing, never for analysing.

mod beside;
mod document;
mod edits;
mod schedule;

use std::collections::{HashMap, HashSet};
use std::panic::AssertUnwindSafe;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, OnceLock, PoisonError};

use ohmline_analysis::Analysis;
use ohmline_analysis::markdown::{Around, is_markdown};
use ohmline_assist::Index;
use ohmline_settings::is_settings;
use ohmline_syntax::{Encoding, Span, Tree, parse, reparse};
use tokio::sync::watch;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result as RpcResult};
use tower_lsp::lsp_types::{
    Diagnostic, DiagnosticSeverity, NumberOrString, Position, SymbolInformation, TextDocumentContentChangeEvent, Url,
};

use crate::closed::{Readers, Workspace};
use crate::editor::Editor;
use crate::features::colors::Sent;
use crate::features::commands::Pages;
use crate::overlay::{DiskTrees, OpenFile};
use crate::proto::Places;
use crate::settings::choice::Choice;
use crate::settings::files::SettingsFiles;
use crate::settings::{From, Settings};
use crate::trial::Tried;
use crate::watch::Watch;
use document::Document;
use edits::apply;

pub use edits::line_col;
pub use schedule::{Job, Outcome, Request};

/// A document as the editor has it now.
pub struct Draft {
    /// Its text.
    pub text: Arc<String>,
    /// Its circuits stand between fences.
    pub markdown: bool,
    /// The tree of an earlier text.
    tree: Option<Arc<Tree>>,
}

impl Draft {
    /// A text that nothing is known of.
    #[cfg(test)]
    pub fn new(text: &str, markdown: bool) -> Self {
        Self { text: Arc::new(text.to_owned()), markdown, tree: None }
    }

    /// The tree of the text, of which what stayed since it was read last is not read again.
    pub fn tree(&self) -> Arc<Tree> {
        match &self.tree {
            Some(tree) if *tree.text == **self.text => tree.clone(),
            Some(tree) => Arc::new(reparse(tree, &self.text)),
            None => Arc::new(parse(&self.text)),
        }
    }
}

/// What a document was found to mean.
pub struct Snapshot {
    /// The document.
    pub uri: Url,
    /// Its version in the editor; `None` when it is not open there.
    pub version: Option<i32>,
    /// Everything known about it.
    pub analysis: Arc<Analysis>,
    /// Of a Markdown document: its circuits, each with the lines between its fences. The analysis of the document itself is then empty. Of a
    /// file of settings: none; the analysis holds what is wrong in it.
    pub blocks: Option<Vec<(Span, Arc<Snapshot>)>>,
    /// Of a circuit in a Markdown document: what it stands in, and the text of the document.
    pub around: Option<(Around, Arc<str>)>,
    /// The open documents at that time: the address and version of each path.
    pub open: HashMap<PathBuf, (Url, i32)>,
    /// Every name in the text, once somebody has asked.
    pub names: OnceLock<Index>,
    /// The settings of the analysis.
    pub settings: Arc<ohmline_analysis::Settings>,
    /// Which fixes are to be offered, of those that somebody has asked for.
    pub tried: Tried,
}

impl Snapshot {
    /// The circuits of the document: itself, or those of a Markdown document.
    pub fn circuits(&self) -> impl Iterator<Item = &Snapshot> {
        let blocks = self.blocks.iter().flatten().map(|(_, block)| &**block);
        self.blocks.is_none().then_some(self).into_iter().chain(blocks)
    }

    /// Which circuit of a Markdown document a line belongs to: the one it stands in, else the last one before it.
    pub fn block_near(&self, line: u32) -> usize {
        // The line of the opening fence is the first of its circuit.
        let line = line.saturating_add(1);
        let lines = self.analysis.sources.files.first().map(|source| &source.lines);
        let offset = lines.map_or(0, |lines| lines.line_start(line).unwrap_or(u32::MAX));
        let before = self.blocks.iter().flatten().take_while(|(span, _)| span.start <= offset).count();
        before.saturating_sub(1)
    }

    /// Everything to be said about the document.
    pub fn diagnostics(&self, editor: Editor) -> Vec<Diagnostic> {
        let own = self.blocks.is_some().then_some(self);
        let of = own.into_iter().chain(self.circuits()).flat_map(|circuit| {
            let places = Places::new(circuit, editor);
            circuit.analysis.diagnostics.iter().map(move |found| places.diagnostic(found))
        });
        of.collect()
    }

    /// Every name in the text, and what it means.
    pub fn names(&self) -> &Index {
        self.names.get_or_init(|| Index::new(&self.analysis.sources))
    }
}

/// The open documents that are files: the address, version and text of each path.
pub type OpenFiles = HashMap<PathBuf, (Url, i32, OpenFile)>;

#[derive(Default)]
struct State {
    documents: HashMap<Url, Document>,
    /// What is to be said without an analysis.
    untold: Vec<(Url, Vec<Diagnostic>)>,
    /// What was said of files of settings that are not open.
    said: beside::Said,
    stamp: u64,
    settings: Settings,
    choice: Choice,
    editor: Editor,
}

impl State {
    fn next_stamp(&mut self) -> u64 {
        self.stamp += 1;
        self.stamp
    }

    fn open_files(&self) -> OpenFiles {
        let open = self.documents.iter().filter_map(|(uri, document)| {
            let file = OpenFile { text: document.text.clone(), tree: document.tree.clone() };
            Some((document.path.clone()?, (uri.clone(), document.version, file)))
        });
        open.collect()
    }

    /// Everything that depends on a file is to be analysed again.
    fn file_changed(&mut self, path: &Path, but: Option<&Url>) {
        for (uri, document) in &mut self.documents {
            if Some(uri) != but && document.depends.contains(path) {
                self.stamp += 1;
                document.overtake(self.stamp);
                document.by_another = true;
            }
        }
    }

    /// Every document is to be analysed again.
    fn all_changed(&mut self) {
        for document in self.documents.values_mut() {
            self.stamp += 1;
            document.overtake(self.stamp);
            document.by_another = true;
        }
    }
}

/// The shared state of the server.
pub struct Core {
    state: Mutex<State>,
    work: Condvar,
    progress: watch::Sender<u64>,
    stopped: AtomicBool,
    shutdown: AtomicBool,
    /// The pages that are served of documents.
    pub pages: Pages,
    /// The semantic tokens that were sent last.
    pub colors: Sent,
    /// The folders of the editor, and what is known of the files in them.
    pub workspace: Workspace,
    /// What was read from the disk.
    pub disk: Mutex<DiskTrees>,
    /// The files of settings.
    pub settings_files: SettingsFiles,
    /// What was seen on the disk last.
    pub watch: Watch,
    /// Held while diagnostics are sent, so that those of two states of a document cannot cross on their way out. Taken before the state.
    outgoing: Mutex<()>,
}

impl Default for Core {
    fn default() -> Self {
        Self {
            state: Mutex::default(),
            work: Condvar::new(),
            progress: watch::Sender::new(0),
            stopped: AtomicBool::new(false),
            shutdown: AtomicBool::new(false),
            pages: Pages::default(),
            colors: Sent::default(),
            workspace: Workspace::default(),
            disk: Mutex::default(),
            settings_files: SettingsFiles::default(),
            watch: Watch::default(),
            outgoing: Mutex::new(()),
        }
    }
}

impl Core {
    fn lock(&self) -> MutexGuard<'_, State> {
        // A panic under the lock has already been dealt with where it happened: see `guarded`.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn outgoing(&self) -> MutexGuard<'_, ()> {
        self.outgoing.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Wakes the workers and everyone who waits for an analysis.
    fn wake(&self) {
        self.work.notify_all();
        self.progress.send_modify(|count| *count += 1);
    }

    /// Ends the workers.
    pub fn stop(&self) {
        self.stopped.store(true, Ordering::SeqCst);
        self.wake();
    }

    /// Whether the workers are to end.
    pub fn is_stopped(&self) -> bool {
        self.stopped.load(Ordering::SeqCst)
    }

    /// The files that open documents depend on and that are not open themselves.
    pub fn depended_on(&self) -> HashSet<PathBuf> {
        let state = self.lock();
        let open: HashSet<&PathBuf> = state.documents.values().filter_map(|own| own.path.as_ref()).collect();
        let depended = state.documents.values().flat_map(|own| &own.depends);
        depended.filter(|path| !open.contains(path)).cloned().collect()
    }

    /// Notes that the editor asked for an orderly end.
    pub fn ask_shutdown(&self) {
        self.shutdown.store(true, Ordering::SeqCst);
    }

    /// Whether the editor asked for an orderly end.
    pub fn shutdown_asked(&self) -> bool {
        self.shutdown.load(Ordering::SeqCst)
    }

    /// Notes what the editor can do.
    pub fn set_editor(&self, editor: Editor) {
        self.lock().editor = editor;
    }

    /// What the editor can do.
    pub fn editor(&self) -> Editor {
        self.lock().editor
    }

    /// The settings in force.
    pub fn settings(&self) -> Settings {
        self.lock().settings
    }

    /// Changes the settings. Returns whether the message held any of ours, and whether that changed hints.
    pub fn update_settings(&self, value: &serde_json::Value, from: From) -> (bool, bool) {
        let mut state = self.lock();
        let (hints, layer) = (state.settings, state.choice.layer.clone());
        let of_hints = state.settings.update(value, from);
        let (of_findings, _) = state.choice.update(value, from);
        let changed = hints != state.settings;
        if *layer != *state.choice.layer {
            state.all_changed();
        }
        drop(state);
        self.wake();
        (of_hints || of_findings, changed)
    }

    /// What is wrong with the editor's settings, in words, once.
    pub fn take_wrong_settings(&self) -> Vec<String> {
        std::mem::take(&mut self.lock().choice.wrong)
    }

    /// The text of a file of settings as the editor has it now; `None` when it is none, or not open.
    pub fn settings_text(&self, uri: &Url) -> Option<Arc<String>> {
        let of_settings = is_settings(Path::new(uri.path())).then(|| self.lock());
        Some(of_settings?.documents.get(uri).filter(|document| !document.lost)?.text.clone())
    }

    /// A document as the editor has it now; `None` when it is not open, not known any more, or holds no circuit.
    pub fn text(&self, uri: &Url) -> Option<Draft> {
        let state = self.lock();
        let document =
            state.documents.get(uri).filter(|document| !document.lost && !is_settings(Path::new(uri.path())))?;
        let Document { text, markdown, tree, .. } = document;
        Some(Draft { text: text.clone(), markdown: *markdown, tree: tree.clone() })
    }

    /// The text of a line of a document up to a position, as the editor has it now.
    pub fn line_before(&self, uri: &Url, at: Position) -> Option<String> {
        let state = self.lock();
        let document = state.documents.get(uri).filter(|document| !document.lost)?;
        edits::line_before(&document.text, at, state.editor.encoding).map(str::to_owned)
    }

    /// What is known of every open document, be it of an earlier text.
    pub fn snapshots(&self) -> Vec<Arc<Snapshot>> {
        let state = self.lock();
        state
            .documents
            .values()
            .filter_map(|document| Some(&document.snapshot.as_ref()?.1))
            .flat_map(|snapshot| match &snapshot.blocks {
                None => vec![snapshot.clone()],
                Some(blocks) => blocks.iter().map(|(_, block)| block.clone()).collect(),
            })
            .collect()
    }

    /// Waits for the analyses of all open circuits as they are now.
    pub async fn settled(&self) -> RpcResult<Vec<Arc<Snapshot>>> {
        let open: Vec<Url> = self.lock().documents.keys().cloned().collect();
        for uri in &open {
            self.snapshot(uri).await?;
        }
        Ok(self.snapshots())
    }

    /// The circuits that include a file and are not open. Reads from the disk.
    pub fn readers(&self, home: &Path) -> Readers {
        let open = self.lock().open_files();
        self.workspace.readers(home, open, &self.disk, &self.settings_files)
    }

    /// What the circuits in the folders of the editor declare that are not open. Reads from the disk.
    pub fn declared_elsewhere(&self) -> Vec<SymbolInformation> {
        let (open, editor) = {
            let state = self.lock();
            (state.open_files(), state.editor)
        };
        self.workspace.declared(&open, editor)
    }

    /// A document was opened. Whether it is Markdown shows in its address.
    pub fn open(&self, uri: Url, version: i32, text: String) {
        let markdown = is_markdown(uri.path());
        self.open_as(uri, version, text, markdown);
    }

    /// A document was opened; `markdown` says that its circuits stand between fences.
    pub fn open_as(&self, uri: Url, version: i32, text: String, markdown: bool) {
        let mut state = self.lock();
        let stamp = state.next_stamp();
        let path = file_path(&uri);
        if let Some(path) = &path {
            state.file_changed(path, Some(&uri));
            state.said.forget(path);
        }
        state.untold.retain(|(other, _)| *other != uri);
        let mut document = Document::new(path, version, text, stamp);
        document.markdown = markdown;
        if let Some(old) = state.documents.insert(uri, document) {
            old.stop();
        }
        drop(state);
        self.wake();
    }

    /// A document was changed: the changes are applied one after the other. Returns what there is to complain about.
    pub fn change(
        &self,
        uri: &Url,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
    ) -> Result<(), &'static str> {
        self.change_by(uri, version, |document, encoding| {
            for change in changes {
                if change.range.is_none() {
                    document.lost = false;
                } else if document.lost {
                    continue;
                }
                let from = change.range.map_or(0, |range| range.start.line.min(range.end.line));
                document.edited_from = Some(document.edited_from.map_or(from, |had| had.min(from)));
                apply(Arc::make_mut(&mut document.text), &change, encoding);
            }
        })
    }

    fn change_by(
        &self,
        uri: &Url,
        version: i32,
        change: impl FnOnce(&mut Document, Encoding),
    ) -> Result<(), &'static str> {
        let mut state = self.lock();
        let encoding = state.editor.encoding;
        let stamp = state.next_stamp();
        let Some(document) = state.documents.get_mut(uri) else {
            return Err("a change of a document that is not open");
        };
        document.hurried = !document.done() && document.told != Some(document.stamp);
        document.version = version;
        document.overtake(stamp);
        document.urgent = false;
        let outcome = guarded(document, |document| change(document, encoding));
        let path = document.path.clone();
        if outcome.is_err() {
            // What was shown speaks of a text that nobody knows any more.
            document.published = None;
            state.untold.push((uri.clone(), vec![lost()]));
        }
        if let Some(path) = path {
            state.file_changed(&path, Some(uri));
        }
        drop(state);
        self.wake();
        outcome
    }

    /// A document was closed.
    pub fn close(&self, uri: &Url) {
        let mut state = self.lock();
        if let Some(document) = state.documents.remove(uri) {
            document.stop();
            state.untold.push((uri.clone(), Vec::new()));
            if let Some(path) = document.path {
                self.settings_files.forget(&path);
                state.file_changed(&path, None);
            }
            state.tell_settings();
        }
        drop(state);
        self.pages.close(uri);
        self.colors.forget(uri);
        self.wake();
    }

    /// Files changed on the disk. What is open is not read from there.
    pub fn disk_changed(&self, uris: impl Iterator<Item = Url>) {
        let mut state = self.lock();
        for uri in uris {
            let Some(path) = file_path(&uri) else { continue };
            self.workspace.file_changed(&path);
            self.watch.told(&path);
            if !state.documents.contains_key(&uri) {
                self.settings_files.forget(&path);
                state.file_changed(&path, None);
            }
        }
        drop(state);
        self.wake();
    }

    /// The editor asks for the diagnostics of a document: from now on they are not sent to it by themselves, where it said that it
    /// asks for them. What has been sent is taken back.
    pub fn pulled(&self, uri: &Url) {
        let mut state = self.lock();
        if !state.editor.pull {
            return;
        }
        let Some(document) = state.documents.get_mut(uri) else { return };
        let sent = document.published.as_ref().is_some_and(|list| !list.is_empty());
        if std::mem::replace(&mut document.pulled, true) || !sent {
            return;
        }
        state.untold.push((uri.clone(), Vec::new()));
        drop(state);
        self.wake();
    }

    /// What is shown of a document that there is no analysis of.
    pub fn shown(&self, uri: &Url) -> Vec<Diagnostic> {
        let state = self.lock();
        match state.documents.get(uri) {
            Some(document) if document.lost => vec![lost()],
            Some(document) => document.published.clone().unwrap_or_default(),
            None => Vec::new(),
        }
    }

    /// Waits for the analysis of the circuit at a place of a document: of a Markdown document the one whose lines it stands in.
    pub async fn snapshot_at(&self, uri: &Url, at: Position) -> RpcResult<Option<Arc<Snapshot>>> {
        let Some(snapshot) = self.snapshot(uri).await? else { return Ok(None) };
        let offset = Places::new(&snapshot, self.editor()).offset(at);
        Ok(circuit_at(&snapshot, offset))
    }

    /// Waits for the analysis of a document as it is now.
    ///
    /// The first poll decides which state that is. When the text changes before its analysis is there, the answer is that the content was
    /// modified, so that the editor asks again; dropping the future gives up. `None`: the document is not open, or there is nothing
    /// to be known about it.
    pub async fn snapshot(&self, uri: &Url) -> RpcResult<Option<Arc<Snapshot>>> {
        let mut progress = self.progress.subscribe();
        let asked = {
            let mut state = self.lock();
            let Some(document) = state.documents.get_mut(uri) else { return Ok(None) };
            if !document.done() && !document.urgent {
                document.urgent = true;
                self.work.notify_all();
            }
            document.stamp
        };
        // What follows runs beside the reading of messages.
        tokio::task::yield_now().await;
        loop {
            progress.borrow_and_update();
            {
                let state = self.lock();
                let Some(document) = state.documents.get(uri) else { return Err(modified()) };
                if document.stamp != asked {
                    return Err(modified());
                }
                if document.done() {
                    return Ok(document
                        .snapshot
                        .as_ref()
                        .filter(|(of, _)| *of == asked)
                        .map(|(_, found)| found.clone()));
                }
            }
            if progress.changed().await.is_err() {
                return Err(modified());
            }
        }
    }
}

/// The circuit at a place of a document: of a Markdown document the one whose lines it stands in.
pub fn circuit_at(snapshot: &Arc<Snapshot>, offset: u32) -> Option<Arc<Snapshot>> {
    let Some(blocks) = &snapshot.blocks else { return Some(snapshot.clone()) };
    let end = snapshot.analysis.sources.files.first().map_or(0, |source| source.tree.text.len() as u32);
    // A block that nothing closes yet goes on to the end of the document, which is where people type.
    let here = |span: &Span| span.start <= offset && (offset < span.end || offset == end && span.end == end);
    blocks.iter().find(|(span, _)| here(span)).map(|(_, block)| block.clone())
}

/// What is shown of a document that is not believed.
fn lost() -> Diagnostic {
    fault(
        "Ohmline lost track of this text, and the fault is not yours: nothing is known about it for now\n\
         Close the file and open it again",
    )
}

/// A fault of this program, shown at the start of a document.
pub fn fault(message: &str) -> Diagnostic {
    Diagnostic {
        severity: Some(DiagnosticSeverity::ERROR),
        code: Some(NumberOrString::String("internal-fault".to_owned())),
        source: Some("ohmline".to_owned()),
        message: message.to_owned(),
        ..Diagnostic::default()
    }
}

fn modified() -> Error {
    Error::new(ErrorCode::ContentModified)
}

/// The path of a document that is a file.
pub fn file_path(uri: &Url) -> Option<PathBuf> {
    (uri.scheme() == "file").then(|| uri.to_file_path().ok()).flatten()
}

/// Changes a document. Should that panic, the document is not believed until its whole text is sent again.
fn guarded(document: &mut Document, change: impl FnOnce(&mut Document)) -> Result<(), &'static str> {
    std::panic::catch_unwind(AssertUnwindSafe(|| change(document))).map_err(|_| {
        document.lost = true;
        document.tree = None;
        document.snapshot = None;
        "a change could not be applied; the document is ignored until its whole text is sent again"
    })
}

#[cfg(test)]
mod tests {
    use tower_lsp::lsp_types::{Position, Range};

    use super::*;

    fn change(range: Option<[u32; 4]>, text: &str) -> TextDocumentContentChangeEvent {
        let range = range.map(|[a, b, c, d]| Range::new(Position::new(a, b), Position::new(c, d)));
        TextDocumentContentChangeEvent { range, range_length: None, text: text.to_owned() }
    }

    #[test]
    fn a_panic_in_a_change_drops_the_document_until_its_text_is_sent() {
        let core = Core::default();
        let uri = Url::parse("untitled:a").unwrap();
        core.open(uri.clone(), 1, "one".to_owned());
        {
            let mut state = core.lock();
            let document = state.documents.get_mut(&uri).unwrap();
            assert!(guarded(document, |_| panic!("in the middle")).is_err());
        }
        let text = || core.lock().documents[&uri].text.as_str().to_owned();
        assert!(core.lock().documents[&uri].done());
        core.change(&uri, 2, vec![change(Some([0, 0, 0, 0]), "x")]).unwrap();
        assert_eq!(text(), "one");
        core.change(&uri, 3, vec![change(None, "two"), change(Some([0, 3, 0, 3]), "!")]).unwrap();
        assert_eq!(text(), "two!");
        assert!(!core.lock().documents[&uri].done());
    }

    #[test]
    fn of_a_lost_document_that_is_shown_and_nothing_else() {
        let core = Core::default();
        let uri = Url::parse("untitled:a").unwrap();
        core.open(uri.clone(), 1, "one".to_owned());
        let outcome = core.change_by(&uri, 2, |_, _| panic!("in the middle"));
        assert!(outcome.is_err());
        let mut told = Vec::new();
        core.tell(|uri, found| told.push((uri, found)));
        assert_eq!(told, [(uri.clone(), vec![lost()])]);
        core.change(&uri, 3, vec![change(None, "two")]).unwrap();
        assert!(core.lock().documents[&uri].published.is_none() && !core.lock().documents[&uri].done());
    }

    #[test]
    fn a_change_of_what_is_not_open_is_refused() {
        let core = Core::default();
        assert!(core.change(&Url::parse("untitled:a").unwrap(), 1, vec![change(None, "x")]).is_err());
    }
}
