//! What changes on the disk while nobody says so: not every editor tells of files that it has not open.

use std::collections::{HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, SystemTime};

use tower_lsp::lsp_types::Url;

use crate::documents::Core;

/// How long a change on the disk may stay unseen where the editor does not tell of it.
const PAUSE: Duration = Duration::from_secs(1);

/// When a file was written and how long it is; `None` when there is none.
type Stamp = Option<(SystemTime, u64)>;

/// The files that open documents depend on, as they were seen last.
#[derive(Default)]
pub struct Watch(Mutex<HashMap<PathBuf, Stamp>>);

impl Watch {
    fn seen(&self) -> MutexGuard<'_, HashMap<PathBuf, Stamp>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A change of this file is known of.
    pub fn told(&self, path: &Path) {
        if let Some(own) = self.seen().get_mut(path) {
            *own = stamp(path);
        }
    }

    /// Which of these files are not as they were at the last look. `read` tells what a file was like when it was read, if it was.
    fn changed(&self, of: HashSet<PathBuf>, read: impl Fn(&Path) -> Option<Stamp>) -> Vec<PathBuf> {
        // Looking may take long, so it is done before the lock is taken.
        let now: HashMap<PathBuf, Stamp> = of.into_iter().map(|path| (path.clone(), stamp(&path))).collect();
        let mut seen = self.seen();
        let differs = |(path, now): (&PathBuf, &Stamp)| {
            let had = seen.get(path).copied().or_else(|| read(path));
            had.is_some_and(|had| had != *now).then(|| path.clone())
        };
        let changed = now.iter().filter_map(differs).collect();
        *seen = now;
        changed
    }
}

fn stamp(path: &Path) -> Stamp {
    let found = std::fs::metadata(path).ok()?;
    Some((found.modified().unwrap_or(SystemTime::UNIX_EPOCH), found.len()))
}

/// Looks at the disk now and then, until the session is over.
pub fn start(core: Arc<Core>) {
    let look = move || {
        while !core.is_stopped() {
            std::thread::sleep(PAUSE);
            let changed = core.watch.changed(core.depended_on(), |path| core.settings_files.stamp(path));
            if !changed.is_empty() {
                core.disk_changed(changed.iter().filter_map(|path| Url::from_file_path(path).ok()));
            }
        }
    };
    if let Err(error) = std::thread::Builder::new().name("disk".to_owned()).spawn(look) {
        eprintln!("ohmline: cannot start watching files: {error}");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_is_seen_once_and_one_that_was_told_not_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ohmline.toml");
        let of = || HashSet::from([path.clone()]);
        let watch = Watch::default();
        // It was read as missing, and came before the first look.
        std::fs::write(&path, "").unwrap();
        assert_eq!(watch.changed(of(), |_| Some(None)), std::slice::from_ref(&path));
        assert_eq!(watch.changed(of(), |_| None), [] as [PathBuf; 0]);
        std::fs::write(&path, "voice").unwrap();
        assert_eq!(watch.changed(of(), |_| None), std::slice::from_ref(&path));
        std::fs::write(&path, "voice = 3").unwrap();
        watch.told(&path);
        assert_eq!(watch.changed(of(), |_| None), [] as [PathBuf; 0]);
        std::fs::remove_file(&path).unwrap();
        assert_eq!(watch.changed(of(), |_| None), std::slice::from_ref(&path));
    }
}
