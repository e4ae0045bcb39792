//! The open documents: their texts, kept exactly as the editor has them, and what is known about them.
//!
//! Everything here is under one lock that is held only for copying and splicing, never for analysing.

use std::collections::{HashMap, HashSet};
use std::panic::AssertUnwindSafe;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use ohmline_analysis::Analysis;
use ohmline_syntax::{Encoding, LineCol, LineIndex, Tree};
use tokio::sync::watch;
use tower_lsp::jsonrpc::{Error, ErrorCode, Result as RpcResult};
use tower_lsp::lsp_types::{Diagnostic, Position, TextDocumentContentChangeEvent, Url};

use crate::overlay::OpenFile;
use crate::settings::{From, Settings};

/// An analysis that took no longer than this is made at once after every change, even while changes come fast.
const SWIFT: Duration = Duration::from_millis(30);
/// The longest wait for a pause in typing.
const LONGEST_PAUSE: Duration = Duration::from_millis(250);

/// What the editor can do, as it said.
#[derive(Clone, Copy, Debug)]
pub struct Editor {
    /// What columns count.
    pub encoding: Encoding,
    /// Hover in Markdown.
    pub markdown: bool,
    /// Other places of a diagnostic.
    pub related: bool,
    /// Edits that name the version they are for.
    pub versioned_edits: bool,
    /// Asking for settings.
    pub configuration: bool,
    /// Telling us later that we want to hear of changed settings.
    pub register_configuration: bool,
    /// Telling us later which files to watch.
    pub register_watch: bool,
    /// Asking for inlay hints again.
    pub refresh_hints: bool,
    /// Quick fixes as edits, not as commands.
    pub action_literals: bool,
}

impl Default for Editor {
    fn default() -> Self {
        Self {
            encoding: Encoding::Utf16,
            markdown: false,
            related: false,
            versioned_edits: false,
            configuration: false,
            register_configuration: false,
            register_watch: false,
            refresh_hints: false,
            action_literals: false,
        }
    }
}

/// What a document was found to mean.
pub struct Snapshot {
    /// The document.
    pub uri: Url,
    /// Its version in the editor.
    pub version: i32,
    /// Everything known about it.
    pub analysis: Analysis,
    /// The open documents at that time: the address and version of each path.
    pub open: HashMap<PathBuf, (Url, i32)>,
}

/// An open document.
struct Document {
    version: i32,
    path: Option<PathBuf>,
    text: Arc<String>,
    /// Counts states of this document and of the files it depends on, over all documents.
    stamp: u64,
    /// Not to be believed: a change could not be applied.
    lost: bool,
    changed: Instant,
    /// A request waits: no pause.
    urgent: bool,
    /// The state whose diagnostics are on their way, or are what the editor shows.
    told: Option<u64>,
    /// Changed before its last state was analysed: someone is typing faster than that.
    hurried: bool,
    /// To be analysed since another file changed: the editor cannot know that it shows old values.
    by_another: bool,
    tree: Option<Arc<Tree>>,
    snapshot: Option<(u64, Arc<Snapshot>)>,
    failed: Option<u64>,
    depends: HashSet<PathBuf>,
    took: Duration,
    published: Option<Vec<Diagnostic>>,
    /// The first line that was edited since diagnostics were sent: those from there on may have moved in the editor.
    edited_from: Option<u32>,
}

impl Document {
    fn done(&self) -> bool {
        self.lost || self.failed == Some(self.stamp) || self.snapshot.as_ref().is_some_and(|(of, _)| *of == self.stamp)
    }

    /// When its analysis may begin.
    fn due(&self) -> Instant {
        if self.urgent || !self.hurried || self.took <= SWIFT {
            self.changed
        } else {
            self.changed + self.took.min(LONGEST_PAUSE)
        }
    }
}

#[derive(Default)]
struct State {
    documents: HashMap<Url, Document>,
    closed: Vec<Url>,
    stamp: u64,
    settings: Settings,
    editor: Editor,
}

impl State {
    fn next_stamp(&mut self) -> u64 {
        self.stamp += 1;
        self.stamp
    }

    /// Everything that depends on a file is to be analysed again.
    fn file_changed(&mut self, path: &Path, but: Option<&Url>) {
        for (uri, document) in &mut self.documents {
            if Some(uri) != but && document.depends.contains(path) {
                self.stamp += 1;
                document.stamp = self.stamp;
                document.changed = Instant::now();
                document.by_another = true;
            }
        }
    }
}

/// What the worker is to do next.
pub enum Job {
    /// Analyze a document.
    Analyze(Box<Request>),
    /// A document was closed: nothing is to be said about it any more.
    Clear(Url),
    /// The session is over.
    Stop,
}

/// A document to analyze.
pub struct Request {
    /// The document.
    pub uri: Url,
    /// Where it is, if on disk.
    pub path: Option<PathBuf>,
    /// Its text.
    pub text: Arc<String>,
    /// The tree of an earlier text.
    pub tree: Option<Arc<Tree>>,
    /// Its version in the editor.
    pub version: i32,
    /// The state that is analysed.
    pub stamp: u64,
    /// All open documents that are files.
    pub open: HashMap<PathBuf, (Url, i32, OpenFile)>,
    /// Whether it is analysed since another file changed.
    pub by_another: bool,
    /// What the editor can do.
    pub editor: Editor,
}

/// The shared state of the server.
pub struct Core {
    state: Mutex<State>,
    work: Condvar,
    progress: watch::Sender<u64>,
    stopped: AtomicBool,
    shutdown: AtomicBool,
}

impl Default for Core {
    fn default() -> Self {
        Self {
            state: Mutex::default(),
            work: Condvar::new(),
            progress: watch::Sender::new(0),
            stopped: AtomicBool::new(false),
            shutdown: AtomicBool::new(false),
        }
    }
}

impl Core {
    fn lock(&self) -> MutexGuard<'_, State> {
        // A panic under the lock has already been dealt with where it happened: see `guarded`.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Wakes the worker and everyone who waits for an analysis.
    fn wake(&self) {
        self.work.notify_all();
        self.progress.send_modify(|count| *count += 1);
    }

    /// Ends the worker.
    pub fn stop(&self) {
        self.stopped.store(true, Ordering::SeqCst);
        self.wake();
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

    /// Changes the settings. Returns whether the message held any of ours, and whether that changed anything.
    pub fn update_settings(&self, value: &serde_json::Value, from: From) -> (bool, bool) {
        let mut state = self.lock();
        let before = state.settings;
        let known = state.settings.update(value, from);
        (known, before != state.settings)
    }

    /// A document was opened.
    pub fn open(&self, uri: Url, version: i32, text: String) {
        let mut state = self.lock();
        let stamp = state.next_stamp();
        let path = file_path(&uri);
        if let Some(path) = &path {
            state.file_changed(path, Some(&uri));
        }
        let document = Document {
            version,
            path,
            text: Arc::new(text),
            stamp,
            lost: false,
            changed: Instant::now(),
            urgent: false,
            told: None,
            hurried: false,
            by_another: false,
            tree: None,
            snapshot: None,
            failed: None,
            depends: HashSet::new(),
            took: Duration::ZERO,
            published: None,
            edited_from: Some(0),
        };
        state.documents.insert(uri, document);
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
        let mut state = self.lock();
        let encoding = state.editor.encoding;
        let stamp = state.next_stamp();
        let Some(document) = state.documents.get_mut(uri) else {
            return Err("a change of a document that is not open");
        };
        document.hurried = !document.done() && document.told != Some(document.stamp);
        document.version = version;
        document.changed = Instant::now();
        document.stamp = stamp;
        document.urgent = false;
        let outcome = guarded(document, |document| {
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
        });
        let path = document.path.clone();
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
            state.closed.push(uri.clone());
            if let Some(path) = document.path {
                state.file_changed(&path, None);
            }
        }
        drop(state);
        self.wake();
    }

    /// Files changed on the disk. What is open is not read from there.
    pub fn disk_changed(&self, uris: impl Iterator<Item = Url>) {
        let mut state = self.lock();
        for uri in uris {
            if !state.documents.contains_key(&uri)
                && let Some(path) = file_path(&uri)
            {
                state.file_changed(&path, None);
            }
        }
        drop(state);
        self.wake();
    }

    /// Waits until there is something to do.
    pub fn next_job(&self) -> Job {
        let mut state = self.lock();
        loop {
            if self.stopped.load(Ordering::SeqCst) {
                return Job::Stop;
            }
            if !state.closed.is_empty() {
                return Job::Clear(state.closed.remove(0));
            }
            let now = Instant::now();
            let waiting = state.documents.iter().filter(|(_, document)| !document.done());
            // What is due; the last changed first, since someone is looking at it.
            let Some((uri, document)) = waiting.min_by_key(|(_, document)| {
                let wait = document.due().saturating_duration_since(now);
                (wait, std::cmp::Reverse(document.stamp))
            }) else {
                state = self.work.wait(state).unwrap_or_else(PoisonError::into_inner);
                continue;
            };
            let wait = document.due().saturating_duration_since(now);
            if !wait.is_zero() {
                state = self.work.wait_timeout(state, wait).unwrap_or_else(PoisonError::into_inner).0;
                continue;
            }
            let open = state.documents.iter().filter_map(|(uri, document)| {
                let file = OpenFile { text: document.text.clone(), tree: document.tree.clone() };
                Some((document.path.clone()?, (uri.clone(), document.version, file)))
            });
            return Job::Analyze(Box::new(Request {
                uri: uri.clone(),
                path: document.path.clone(),
                text: document.text.clone(),
                tree: document.tree.clone(),
                version: document.version,
                stamp: document.stamp,
                open: open.collect(),
                by_another: document.by_another,
                editor: state.editor,
            }));
        }
    }

    /// Compares what the worker found with what the editor shows. Returns the diagnostics to send, if they are for the text as it is
    /// now and differ; or may have moved in the editor since they were sent.
    pub fn to_send(&self, request: &Request, found: &[Diagnostic]) -> Option<Vec<Diagnostic>> {
        let mut state = self.lock();
        let document = state.documents.get_mut(&request.uri).filter(|document| document.stamp == request.stamp)?;
        document.told = Some(request.stamp);
        let edited_from = document.edited_from.take();
        let in_place = |diagnostic: &Diagnostic| edited_from.is_none_or(|line| diagnostic.range.end.line < line);
        let shown = document.published.as_ref();
        if shown.is_some_and(|shown| *shown == found && shown.iter().all(in_place)) {
            return None;
        }
        document.published = Some(found.to_vec());
        Some(found.to_vec())
    }

    /// Takes over what the worker found, once its diagnostics are on their way: answers to requests come after them.
    #[must_use = "the snapshot that nobody needs any more is large: drop it where nobody waits"]
    pub fn finish(&self, request: &Request, outcome: Outcome) -> Option<Arc<Snapshot>> {
        let mut state = self.lock();
        let Some(document) = state.documents.get_mut(&request.uri) else { return outcome.snapshot };
        document.took = outcome.took;
        document.depends = outcome.depends;
        if let Some(tree) = outcome.tree {
            document.tree = Some(tree);
        }
        if document.stamp != request.stamp {
            return outcome.snapshot;
        }
        document.urgent = false;
        document.by_another = false;
        if outcome.snapshot.is_none() {
            document.failed = Some(request.stamp);
        }
        let new = outcome.snapshot.map(|snapshot| (request.stamp, snapshot));
        let old = std::mem::replace(&mut document.snapshot, new);
        drop(state);
        self.progress.send_modify(|count| *count += 1);
        old.map(|(_, snapshot)| snapshot)
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

/// What an analysis found.
pub struct Outcome {
    /// The analysis, unless it failed.
    pub snapshot: Option<Arc<Snapshot>>,
    /// The tree, to be reused.
    pub tree: Option<Arc<Tree>>,
    /// What is to be shown.
    pub diagnostics: Vec<Diagnostic>,
    /// The files it looked at or looked for.
    pub depends: HashSet<PathBuf>,
    /// How long it took.
    pub took: Duration,
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

/// Applies one change. A range that is out of bounds or the wrong way round is brought into bounds.
fn apply(text: &mut String, change: &TextDocumentContentChangeEvent, encoding: Encoding) {
    match change.range {
        None => change.text.clone_into(text),
        Some(range) => {
            let lines = LineIndex::new(text);
            let at = |position: Position| lines.offset(text, line_col(position), encoding) as usize;
            let (start, end) = (at(range.start), at(range.end));
            text.replace_range(start.min(end)..start.max(end), &change.text);
        }
    }
}

/// A position of the protocol as a line and column.
pub fn line_col(position: Position) -> LineCol {
    LineCol { line: position.line, col: position.character }
}

#[cfg(test)]
mod tests {
    use tower_lsp::lsp_types::Range;

    use super::*;

    fn change(range: Option<[u32; 4]>, text: &str) -> TextDocumentContentChangeEvent {
        let range = range.map(|[a, b, c, d]| Range::new(Position::new(a, b), Position::new(c, d)));
        TextDocumentContentChangeEvent { range, range_length: None, text: text.to_owned() }
    }

    fn applied(text: &str, encoding: Encoding, range: [u32; 4], by: &str) -> String {
        let mut text = text.to_owned();
        apply(&mut text, &change(Some(range), by), encoding);
        text
    }

    // Language Server Protocol 3.17, "Text Documents": in UTF-16 the letter of U+10400 takes two columns.
    #[test]
    fn columns_count_in_the_chosen_encoding() {
        assert_eq!(applied("a\u{10400}b", Encoding::Utf16, [0, 3, 0, 3], "-"), "a\u{10400}-b");
        assert_eq!(applied("a\u{10400}b", Encoding::Utf8, [0, 5, 0, 5], "-"), "a\u{10400}-b");
        assert_eq!(applied("a\u{10400}b", Encoding::Utf32, [0, 2, 0, 2], "-"), "a\u{10400}-b");
    }

    #[test]
    fn impossible_ranges_are_brought_into_bounds() {
        assert_eq!(applied("ab\ncd", Encoding::Utf16, [9, 9, 12, 0], "!"), "ab\ncd!");
        assert_eq!(applied("ab\ncd", Encoding::Utf16, [0, 99, 0, 99], "!"), "ab!\ncd");
        assert_eq!(applied("ab\ncd", Encoding::Utf16, [1, 1, 0, 1], ""), "ad");
        assert_eq!(applied("ab\r\ncd", Encoding::Utf16, [0, 99, 0, 99], "!"), "ab!\r\ncd");
        // In the middle of a character: its start.
        assert_eq!(applied("\u{10400}", Encoding::Utf16, [0, 1, 0, 1], "-"), "-\u{10400}");
        assert_eq!(applied("Ω", Encoding::Utf8, [0, 1, 0, 9], "-"), "-");
        assert_eq!(applied("x", Encoding::Utf16, [u32::MAX, u32::MAX, u32::MAX, u32::MAX], "y"), "xy");
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
    fn a_change_of_what_is_not_open_is_refused() {
        let core = Core::default();
        assert!(core.change(&Url::parse("untitled:a").unwrap(), 1, vec![change(None, "x")]).is_err());
    }

    #[test]
    fn an_unchanged_list_is_not_sent_again_unless_it_may_have_moved() {
        let core = Core::default();
        let uri = Url::parse("untitled:a").unwrap();
        core.open(uri.clone(), 1, "one\ntwo\n".to_owned());
        let found = vec![Diagnostic::new_simple(Range::new(Position::new(0, 0), Position::new(0, 3)), "x".to_owned())];
        let analyse = || {
            let Job::Analyze(request) = core.next_job() else { panic!("nothing to analyse") };
            let outcome = Outcome {
                snapshot: None,
                tree: None,
                diagnostics: Vec::new(),
                depends: HashSet::new(),
                took: Duration::ZERO,
            };
            let sent = core.to_send(&request, &found);
            let _ = core.finish(&request, outcome);
            sent
        };
        assert_eq!(analyse(), Some(found.clone()));
        core.change(&uri, 2, vec![change(Some([1, 0, 1, 0]), "x")]).unwrap();
        assert_eq!(analyse(), None);
        core.change(&uri, 3, vec![change(Some([0, 1, 0, 1]), "x")]).unwrap();
        assert_eq!(analyse(), Some(found.clone()));
    }

    #[test]
    fn only_fast_typing_over_a_slow_analysis_waits_for_a_pause() {
        let core = Core::default();
        let uri = Url::parse("untitled:a").unwrap();
        core.open(uri.clone(), 1, String::new());
        let analysed = |took| {
            let Job::Analyze(request) = core.next_job() else { panic!("nothing to analyse") };
            let outcome =
                Outcome { snapshot: None, tree: None, diagnostics: Vec::new(), depends: HashSet::new(), took };
            let _ = core.finish(&request, outcome);
        };
        let waits = || {
            let state = core.lock();
            let document = &state.documents[&uri];
            document.due().duration_since(document.changed)
        };
        let slow = Duration::from_millis(100);
        analysed(slow);
        core.change(&uri, 2, vec![change(None, "x")]).unwrap();
        assert_eq!(waits(), Duration::ZERO);
        core.change(&uri, 3, vec![change(None, "xy")]).unwrap();
        assert_eq!(waits(), slow);
        // An editor that is quick to answer diagnostics with a change is not typing over them.
        core.lock().documents.get_mut(&uri).unwrap().urgent = true;
        let Job::Analyze(request) = core.next_job() else { panic!("nothing to analyse") };
        core.to_send(&request, &[]);
        core.change(&uri, 4, vec![change(None, "x")]).unwrap();
        assert_eq!(waits(), Duration::ZERO);
        analysed(Duration::from_millis(5));
        core.change(&uri, 5, vec![change(None, "x")]).unwrap();
        core.change(&uri, 6, vec![change(None, "xy")]).unwrap();
        assert_eq!(waits(), Duration::ZERO);
    }

    #[test]
    fn what_was_overtaken_is_not_sent() {
        let core = Core::default();
        let uri = Url::parse("untitled:a").unwrap();
        core.open(uri.clone(), 1, String::new());
        let Job::Analyze(request) = core.next_job() else { panic!("nothing to analyse") };
        core.change(&uri, 2, vec![change(None, "x")]).unwrap();
        assert_eq!(core.to_send(&request, &[]), None);
        let Job::Analyze(request) = core.next_job() else { panic!("nothing to analyse") };
        assert_eq!(request.version, 2);
    }
}
