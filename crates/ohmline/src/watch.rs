//! `--watch`: doing it again when a file changes.
//!
//! Folders are watched, not files: editors save by writing a new file and renaming it over the old one, which a watch on
//! the old file would not survive. What counts is whether the contents differ from those last read, so that neither our own
//! reading nor a save without a change starts a run.

use std::collections::{BTreeMap, BTreeSet};
use std::hash::{DefaultHasher, Hasher};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use notify::event::{AccessKind, AccessMode};
use notify::{EventKind, RecommendedWatcher, RecursiveMode, Watcher};
use ohmline_report::Tone;

use crate::Status;
use crate::cli::Format;
use crate::input;
use crate::terminal::Terminal;

/// What one run of a command has to say.
pub struct Round {
    /// For standard error, said first.
    pub said: String,
    /// For standard output.
    pub out: Vec<u8>,
    /// How it ended.
    pub status: Status,
    /// The files it depends on.
    pub read_from: Vec<PathBuf>,
}

impl Default for Round {
    fn default() -> Self {
        Self { said: String::new(), out: Vec::new(), status: Status::Fine, read_from: Vec::new() }
    }
}

impl Round {
    /// Writes everything out.
    pub fn finish(self, terminal: Terminal) -> Status {
        terminal.say(&self.said);
        // A reader that went away has all it wanted; the status is that of the input.
        let _ = terminal.write(&self.out);
        self.status
    }
}

/// The line that [`Terminal::complain`] would write.
pub fn complaint(terminal: Terminal, message: &str) -> String {
    format!("{} {message}\n", terminal.err.tone(Tone::Bad, "ohmline:"))
}

/// Quiet time after a change before it is looked at: editors write in several steps.
const QUIET: Duration = Duration::from_millis(60);
/// Longest wait for that quiet.
const PATIENCE: Duration = Duration::from_millis(600);
/// How long a file that vanished may take to come back before that is reported.
const GRACE: Duration = Duration::from_millis(400);
/// Time between looks when the system offers no notices.
const POLL: Duration = Duration::from_millis(500);
/// Time between looks when it does: network file systems, and folders that are replaced, send none.
const DOUBT: Duration = Duration::from_secs(2);

/// Contents of the files, as far as they tell a change.
type Prints = BTreeMap<PathBuf, Option<u64>>;

fn prints(paths: &BTreeSet<PathBuf>) -> Prints {
    let print = |path: &PathBuf| {
        // What is no regular file is not read for an analysis either, and reading a pipe would wait for its other end.
        let bytes = path.is_file().then(|| std::fs::read(path).ok())??;
        let mut hasher = DefaultHasher::new();
        hasher.write(&bytes);
        Some(hasher.finish())
    };
    paths.iter().map(|path| (path.clone(), print(path))).collect()
}

/// Runs at once and at every change, until standard output has no reader any more.
pub fn watch(files: &[PathBuf], format: Format, terminal: Terminal, mut run: impl FnMut() -> Round) -> Status {
    if files.iter().any(|file| input::is_stdin(file)) {
        terminal.complain("standard input (`-`) cannot be watched; name a file");
        return Status::Unusable;
    }
    let files: Vec<PathBuf> =
        files.iter().map(|file| std::path::absolute(file).unwrap_or_else(|_| file.clone())).collect();
    let (notices, changes) = channel();
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        // Our own reading is noticed too; taking that for a change would never end.
        let written = EventKind::Access(AccessKind::Close(AccessMode::Write));
        if event.is_ok_and(|event| event.kind.is_access() && event.kind != written) {
            return;
        }
        // The receiver lives as long as the process.
        let _ = notices.send(());
    })
    .ok();
    let mut watched: BTreeSet<PathBuf> = BTreeSet::new();
    let mut paths: BTreeSet<PathBuf> = files.iter().cloned().collect();
    loop {
        // Folders are watched and contents noted before the run reads them, so that no change can slip in between.
        if let Some(watcher) = &mut watcher {
            follow(watcher, &paths, &mut watched);
        }
        let before = prints(&paths);
        let round = run();
        paths = files.iter().cloned().chain(round.read_from.iter().cloned()).collect();
        if let Some(watcher) = &mut watcher {
            follow(watcher, &paths, &mut watched);
        }
        let mut known = prints(&paths);
        known.extend(before);
        known.retain(|path, _| paths.contains(path));
        terminal.say(&round.said);
        if terminal.write(&round.out).is_err() {
            return round.status;
        }
        let count = paths.iter().filter(|path| path.exists()).count();
        let them = if count == 1 { "1 file".to_owned() } else { format!("{count} files") };
        terminal.say(&terminal.err.tone(Tone::Faint, &format!("watching {them}; Ctrl+C ends it")));
        terminal.say("\n");
        let changed = wait(&changes, watcher.is_some(), &paths, &known);
        let rule = format!("\n──── {changed} changed ────\n\n");
        match format {
            Format::Text => {
                if terminal.write(terminal.out.tone(Tone::Faint, &rule).as_bytes()).is_err() {
                    return round.status;
                }
            }
            // Standard output stays a sequence of JSON values.
            Format::Json => terminal.say(&rule),
        }
    }
}

/// Watches the folders of the files, each once.
fn follow(watcher: &mut RecommendedWatcher, paths: &BTreeSet<PathBuf>, watched: &mut BTreeSet<PathBuf>) {
    for folder in paths.iter().filter_map(|path| path.parent()) {
        if !watched.contains(folder) && watcher.watch(folder, RecursiveMode::NonRecursive).is_ok() {
            watched.insert(folder.to_owned());
        }
    }
}

/// Blocks until a file differs from what is known of it; says which.
fn wait(changes: &Receiver<()>, notified: bool, paths: &BTreeSet<PathBuf>, known: &Prints) -> String {
    loop {
        if differing(&prints(paths), known).is_none() {
            match changes.recv_timeout(if notified { DOUBT } else { POLL }) {
                Ok(()) => {}
                Err(RecvTimeoutError::Timeout) => continue,
                Err(RecvTimeoutError::Disconnected) => {
                    std::thread::sleep(POLL);
                    continue;
                }
            }
        }
        // What was seen may be half a save: a file is empty for a moment before it is written.
        settle(changes);
        let mut now = prints(paths);
        let since = Instant::now();
        // A file that is being replaced is missing for a moment.
        while since.elapsed() < GRACE
            && now.iter().any(|(path, print)| print.is_none() && known.get(path).is_some_and(Option::is_some))
        {
            std::thread::sleep(QUIET / 2);
            now = prints(paths);
        }
        if let Some(path) = differing(&now, known) {
            return shown(path);
        }
    }
}

/// Waits until no notice has come for a while.
fn settle(changes: &Receiver<()>) {
    let since = Instant::now();
    while since.elapsed() < PATIENCE {
        match changes.recv_timeout(QUIET) {
            Ok(()) => {}
            Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => break,
        }
    }
}

fn differing<'a>(now: &'a Prints, known: &Prints) -> Option<&'a Path> {
    now.iter().find(|(path, print)| known.get(*path) != Some(print)).map(|(path, _)| path.as_path())
}

fn shown(path: &Path) -> String {
    let here = std::env::current_dir().unwrap_or_default();
    path.strip_prefix(&here).unwrap_or(path).display().to_string()
}
