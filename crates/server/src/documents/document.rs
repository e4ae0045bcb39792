//! One open document, and when its analysis may begin.

use std::collections::HashSet;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use ohmline_settings::File;
use ohmline_syntax::Tree;
use tower_lsp::lsp_types::Diagnostic;

use super::Snapshot;

/// An analysis that took no longer than this is made at once after every change, even while changes come fast.
const SWIFT: Duration = Duration::from_millis(30);
/// The longest wait for a pause in typing.
const LONGEST_PAUSE: Duration = Duration::from_millis(250);
/// Documents whose analysis takes longer than this wait for each other, so that a quick one always finds someone free.
const SLOW: Duration = Duration::from_millis(300);

/// An open document.
pub(super) struct Document {
    pub version: i32,
    pub path: Option<PathBuf>,
    /// Its circuits stand between fences.
    pub markdown: bool,
    /// The editor asks for its diagnostics.
    pub pulled: bool,
    pub text: Arc<String>,
    /// Counts states of this document and of the files it depends on, over all documents.
    pub stamp: u64,
    /// Not to be believed: a change could not be applied.
    pub lost: bool,
    pub changed: Instant,
    /// A request waits: no pause.
    pub urgent: bool,
    /// The state whose diagnostics are on their way, or are what the editor shows.
    pub told: Option<u64>,
    /// Changed before its last state was analysed: someone is typing faster than that.
    pub hurried: bool,
    /// To be analysed since another file changed: the editor cannot know that it shows old values.
    pub by_another: bool,
    pub tree: Option<Arc<Tree>>,
    pub snapshot: Option<(u64, Arc<Snapshot>)>,
    pub failed: Option<u64>,
    pub depends: HashSet<PathBuf>,
    /// The file of settings that it goes by.
    pub settings: Option<(PathBuf, Arc<File>)>,
    pub took: Duration,
    pub published: Option<Vec<Diagnostic>>,
    /// The first line that was edited since diagnostics were sent: those from there on may have moved in the editor.
    pub edited_from: Option<u32>,
    /// The state that is being analysed, and how to stop that.
    pub running: Option<(u64, Arc<AtomicBool>)>,
}

impl Document {
    /// A document as it was opened.
    pub fn new(path: Option<PathBuf>, version: i32, text: String, stamp: u64) -> Self {
        Self {
            version,
            path,
            markdown: false,
            pulled: false,
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
            settings: None,
            took: Duration::ZERO,
            published: None,
            edited_from: Some(0),
            running: None,
        }
    }

    /// It is another state of the document from now on: whoever analyses the last one may stop.
    pub fn overtake(&mut self, stamp: u64) {
        self.stamp = stamp;
        self.changed = Instant::now();
        self.stop();
    }

    /// Tells whoever analyses it to stop.
    pub fn stop(&self) {
        if let Some((_, stop)) = &self.running {
            stop.store(true, Ordering::Relaxed);
        }
    }

    /// Whether its analysis takes so long that only one such may run at a time.
    pub fn is_slow(&self) -> bool {
        self.took >= SLOW
    }

    /// Whether everything is known about it.
    pub fn done(&self) -> bool {
        self.lost || self.failed == Some(self.stamp) || self.snapshot.as_ref().is_some_and(|(of, _)| *of == self.stamp)
    }

    /// When its analysis may begin.
    pub fn due(&self) -> Instant {
        if self.urgent || !self.hurried || self.took <= SWIFT {
            self.changed
        } else {
            self.changed + self.took.min(LONGEST_PAUSE)
        }
    }
}
