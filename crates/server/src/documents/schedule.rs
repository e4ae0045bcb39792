//! What is analysed next, and what becomes of the outcome.

use std::collections::HashSet;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, PoisonError};
use std::time::{Duration, Instant};

use ohmline_settings::{File, Layer};
use ohmline_syntax::Tree;
use tower_lsp::lsp_types::{Diagnostic, Url};

use super::document::Document;
use super::{Core, OpenFiles, Snapshot};
use crate::editor::Editor;

/// What the worker is to do next.
pub enum Job {
    /// Analyze a document.
    Analyze(Box<Request>),
    /// Say what is to be said without an analysis: see [`Core::tell`].
    Tell,
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
    /// Its circuits stand between fences.
    pub markdown: bool,
    /// The tree of an earlier text.
    pub tree: Option<Arc<Tree>>,
    /// Its version in the editor.
    pub version: i32,
    /// The state that is analysed.
    pub stamp: u64,
    /// All open documents that are files.
    pub open: OpenFiles,
    /// What the editor's settings say of findings.
    pub choice: Arc<Layer>,
    /// Whether it is analysed since another file changed.
    pub by_another: bool,
    /// What the editor can do.
    pub editor: Editor,
    /// Set once nobody waits for the outcome any more.
    pub stop: Arc<AtomicBool>,
}

/// What an analysis found.
pub struct Outcome {
    /// The analysis, unless it failed or was stopped.
    pub snapshot: Option<Arc<Snapshot>>,
    /// The tree, to be reused.
    pub tree: Option<Arc<Tree>>,
    /// What is to be shown.
    pub diagnostics: Vec<Diagnostic>,
    /// The files it looked at or looked for, if it came to that.
    pub depends: Option<HashSet<PathBuf>>,
    /// The file of settings that it goes by.
    pub settings: Option<(PathBuf, Arc<File>)>,
    /// How long it took.
    pub took: Duration,
}

impl Core {
    /// Waits until there is something to do.
    pub fn next_job(&self) -> Job {
        let mut state = self.lock();
        loop {
            if self.stopped.load(Ordering::SeqCst) {
                return Job::Stop;
            }
            if !state.untold.is_empty() {
                return Job::Tell;
            }
            let now = Instant::now();
            let busy = state.documents.values().any(|document| document.running.is_some() && document.is_slow());
            let waiting = state.documents.iter_mut().filter(|(_, document)| {
                !document.done() && document.running.is_none() && !(busy && document.is_slow())
            });
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
            let stop = Arc::new(AtomicBool::new(false));
            document.running = Some((document.stamp, stop.clone()));
            let uri = uri.clone();
            let open = state.open_files();
            let document = &state.documents[&uri];
            return Job::Analyze(Box::new(Request {
                path: document.path.clone(),
                text: document.text.clone(),
                markdown: document.markdown,
                tree: document.tree.clone(),
                version: document.version,
                stamp: document.stamp,
                by_another: document.by_another,
                choice: state.choice.layer.clone(),
                editor: state.editor,
                uri,
                open,
                stop,
            }));
        }
    }

    /// Sends what there is to be said about documents without an analysis: nothing about those closed, and of those that cannot be
    /// believed that they cannot.
    pub fn tell(&self, mut send: impl FnMut(Url, Vec<Diagnostic>)) {
        let _order = self.outgoing();
        let untold = std::mem::take(&mut self.lock().untold);
        for (uri, diagnostics) in untold {
            send(uri, diagnostics);
        }
    }

    /// Sends what an analysis found, if that is still to be sent. Whatever is sent of one document goes out in the order in which
    /// it was decided on, however many analyse.
    pub fn publish(&self, request: &Request, found: &[Diagnostic], send: impl FnOnce(Vec<Diagnostic>)) {
        let _order = self.outgoing();
        if let Some(found) = self.to_send(request, found) {
            send(found);
        }
    }

    /// Compares what the worker found with what the editor shows. Returns the diagnostics to send, if they are for the text as it is
    /// now and differ; or may have moved in the editor since they were sent.
    fn to_send(&self, request: &Request, found: &[Diagnostic]) -> Option<Vec<Diagnostic>> {
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
        (!document.pulled).then(|| found.to_vec())
    }

    /// Takes over what the worker found, once its diagnostics are on their way: answers to requests come after them.
    #[must_use = "the snapshot that nobody needs any more is large: drop it where nobody waits"]
    pub fn finish(&self, request: &Request, outcome: Outcome) -> Option<Arc<Snapshot>> {
        let mut state = self.lock();
        let stopped = request.stop.load(Ordering::Relaxed);
        let running = |document: &&mut Document| document.running.as_ref().is_some_and(|(of, _)| *of == request.stamp);
        let Some(document) = state.documents.get_mut(&request.uri).filter(running) else { return outcome.snapshot };
        document.running = None;
        // Of an analysis that was stopped it is known only how long it would have taken at least.
        document.took = if stopped { document.took.max(outcome.took) } else { outcome.took };
        if let Some(depends) = outcome.depends {
            document.depends = depends;
        }
        if let Some(tree) = outcome.tree {
            document.tree = Some(tree);
        }
        if document.stamp != request.stamp {
            drop(state);
            self.wake();
            return outcome.snapshot;
        }
        document.urgent = false;
        document.by_another = false;
        document.settings = outcome.settings;
        if outcome.snapshot.is_none() {
            document.failed = Some(request.stamp);
        }
        let new = outcome.snapshot.map(|snapshot| (request.stamp, snapshot));
        let old = std::mem::replace(&mut document.snapshot, new);
        state.tell_settings();
        drop(state);
        self.wake();
        old.map(|(_, snapshot)| snapshot)
    }
}

#[cfg(test)]
mod tests {
    use tower_lsp::lsp_types::{Position, Range, TextDocumentContentChangeEvent};

    use super::*;

    fn change(range: Option<[u32; 4]>, text: &str) -> TextDocumentContentChangeEvent {
        let range = range.map(|[a, b, c, d]| Range::new(Position::new(a, b), Position::new(c, d)));
        TextDocumentContentChangeEvent { range, range_length: None, text: text.to_owned() }
    }

    fn nothing(took: Duration) -> Outcome {
        Outcome { snapshot: None, tree: None, diagnostics: Vec::new(), depends: None, settings: None, took }
    }

    fn request(core: &Core) -> Box<Request> {
        let Job::Analyze(request) = core.next_job() else { panic!("nothing to analyse") };
        request
    }

    #[test]
    fn one_slow_document_at_a_time_and_quick_ones_beside_it() {
        let core = Core::default();
        let name = |name: &str| Url::parse(&format!("untitled:{name}")).unwrap();
        for slow in ["a", "b"] {
            core.open(name(slow), 1, String::new());
            let request = request(&core);
            let _ = core.finish(&request, nothing(Duration::from_secs(9)));
            core.change(&name(slow), 2, vec![change(None, "x")]).unwrap();
        }
        let first = request(&core);
        core.open(name("quick"), 1, String::new());
        let quick = request(&core);
        assert_eq!(quick.uri, name("quick"));
        let _ = core.finish(&quick, nothing(Duration::ZERO));
        // The other slow one waits for the first.
        assert!(core.lock().documents.values().filter(|document| document.running.is_some()).count() == 1);
        let _ = core.finish(&first, nothing(Duration::from_secs(9)));
        let second = request(&core);
        assert_ne!(second.uri, first.uri);
    }

    #[test]
    fn closing_stops_an_analysis_and_is_told_unless_opened_again() {
        let core = Core::default();
        let uri = Url::parse("untitled:a").unwrap();
        core.open(uri.clone(), 1, String::new());
        let running = request(&core);
        core.close(&uri);
        assert!(running.stop.load(Ordering::Relaxed));
        assert!(matches!(core.next_job(), Job::Tell));
        core.open(uri.clone(), 2, String::new());
        let mut told = Vec::new();
        core.tell(|uri, _| told.push(uri));
        assert_eq!(told, []);
        let _ = core.finish(&running, nothing(Duration::ZERO));
        core.close(&uri);
        core.tell(|uri, found| told.push(found.is_empty().then_some(uri).unwrap()));
        assert_eq!(told, [uri]);
    }

    #[test]
    fn an_unchanged_list_is_not_sent_again_unless_it_may_have_moved() {
        let core = Core::default();
        let uri = Url::parse("untitled:a").unwrap();
        core.open(uri.clone(), 1, "one\ntwo\n".to_owned());
        let found = vec![Diagnostic::new_simple(Range::new(Position::new(0, 0), Position::new(0, 3)), "x".to_owned())];
        let analyse = || {
            let Job::Analyze(request) = core.next_job() else { panic!("nothing to analyse") };
            let sent = core.to_send(&request, &found);
            let _ = core.finish(&request, nothing(Duration::ZERO));
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
            let _ = core.finish(&request, nothing(took));
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
        let _ = core.finish(&request, nothing(slow));
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
        assert!(!request.stop.load(Ordering::Relaxed));
        core.change(&uri, 2, vec![change(None, "x")]).unwrap();
        assert!(request.stop.load(Ordering::Relaxed));
        assert_eq!(core.to_send(&request, &[]), None);
        let _ = core.finish(&request, nothing(Duration::ZERO));
        let Job::Analyze(request) = core.next_job() else { panic!("nothing to analyse") };
        assert_eq!(request.version, 2);
    }
}
