//! The files of settings as the server sees them: what is open in the editor over the disk, read once and kept.
//!
//! Typing asks for the settings again with every letter. So what was found on the disk is believed for a moment, and for as long as the
//! file has the same date and length it is not read again; a notice from the editor ends that at once.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant, SystemTime};

use ohmline_analysis::Settings;
use ohmline_settings::{FILE, File, Layer, candidates, in_force};

/// How long it is believed that a file is as it was, where nobody says that it changed.
const BELIEF: Duration = Duration::from_secs(1);
/// Most settings that are kept; a session has one or a few.
const MOST: usize = 64;

/// Every file of settings that was asked for.
#[derive(Default)]
pub struct SettingsFiles {
    kept: Mutex<Kept>,
    /// How often the disk was looked at.
    looks: AtomicUsize,
}

#[derive(Default)]
struct Kept {
    disk: HashMap<PathBuf, OnDisk>,
    open: HashMap<PathBuf, (Arc<String>, Arc<File>)>,
    joined: Vec<Joined>,
}

/// A file on the disk, or that there is none.
struct OnDisk {
    looked: Instant,
    stamp: Option<(SystemTime, u64)>,
    file: Option<Arc<File>>,
}

/// What is in force by a file and an editor.
struct Joined {
    file: Option<Arc<File>>,
    editor: Arc<Layer>,
    settings: Arc<Settings>,
}

/// What holds for a document.
pub struct Found {
    /// The settings.
    pub settings: Arc<Settings>,
    /// The file that they are from, beside the editor.
    pub file: Option<(PathBuf, Arc<File>)>,
    /// Every path that a change of would change them.
    pub asked: Vec<PathBuf>,
}

impl SettingsFiles {
    fn kept(&self) -> MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Somebody says that a file changed on the disk.
    pub fn forget(&self, path: &Path) {
        let mut kept = self.kept();
        kept.disk.remove(path);
        kept.open.remove(path);
    }

    /// What holds for a document at this path, with these texts open in the editor. A document without a path has the editor's settings alone.
    ///
    /// The file counts before the editor, so that everybody who opens it sees the same; the editor fills in what it leaves open.
    pub fn of(
        &self,
        document: Option<&Path>,
        open: &dyn Fn(&Path) -> Option<Arc<String>>,
        editor: &Arc<Layer>,
    ) -> Found {
        let mut kept = self.kept();
        let mut asked = Vec::new();
        let mut file = None;
        for path in document.and_then(Path::parent).into_iter().flat_map(candidates) {
            file = match open(&path) {
                Some(text) => Some(kept.of_text(&path, text)),
                None => self.on_disk(&mut kept, &path),
            };
            asked.push(path);
            if file.is_some() {
                break;
            }
        }
        let own = file.clone().and_then(|file| Some((asked.last()?.clone(), file)));
        Found { settings: kept.join(file, editor), file: own, asked }
    }

    /// What a file was like when it was read, or that there was none; `None` when it was not looked for.
    pub fn stamp(&self, path: &Path) -> Option<Option<(SystemTime, u64)>> {
        self.kept().disk.get(path).map(|own| own.stamp)
    }

    /// Whether there is a file on the disk.
    pub fn exists(&self, path: &Path) -> bool {
        self.on_disk(&mut self.kept(), path).is_some()
    }

    fn on_disk(&self, kept: &mut Kept, path: &Path) -> Option<Arc<File>> {
        if let Some(own) = kept.disk.get(path).filter(|own| own.looked.elapsed() < BELIEF) {
            return own.file.clone();
        }
        self.looks.fetch_add(1, Ordering::Relaxed);
        let stamp =
            std::fs::metadata(path).ok().map(|meta| (meta.modified().unwrap_or(SystemTime::UNIX_EPOCH), meta.len()));
        if let Some(own) = kept.disk.get_mut(path).filter(|own| own.stamp == stamp) {
            own.looked = Instant::now();
            return own.file.clone();
        }
        let file = stamp.is_some().then(|| Arc::new(read(path)));
        kept.disk.insert(path.to_path_buf(), OnDisk { looked: Instant::now(), stamp, file: file.clone() });
        file
    }
}

impl Kept {
    /// A file as it stands in the editor.
    fn of_text(&mut self, path: &Path, text: Arc<String>) -> Arc<File> {
        if let Some((known, file)) = self.open.get(path)
            && (Arc::ptr_eq(known, &text) || *known == text)
        {
            return file.clone();
        }
        let file = Arc::new(File::new(&name(path), Some(path), &text));
        self.open.insert(path.to_path_buf(), (text, file.clone()));
        file
    }

    fn join(&mut self, file: Option<Arc<File>>, editor: &Arc<Layer>) -> Arc<Settings> {
        let same = |own: &&Joined| {
            let files = match (&own.file, &file) {
                (Some(own), Some(file)) => Arc::ptr_eq(own, file),
                (own, file) => own.is_none() && file.is_none(),
            };
            files && Arc::ptr_eq(&own.editor, editor)
        };
        if let Some(own) = self.joined.iter().find(same) {
            return own.settings.clone();
        }
        let layers: Vec<&Layer> = std::iter::once(&**editor).chain(file.as_ref().map(|file| &file.layer)).collect();
        let settings = Arc::new(Settings { findings: in_force(&layers).findings, ..Settings::default() });
        if self.joined.len() >= MOST {
            self.joined.clear();
        }
        self.joined.push(Joined { file, editor: editor.clone(), settings: settings.clone() });
        settings
    }
}

/// What people call a file of settings.
fn name(path: &Path) -> String {
    path.file_name().map_or_else(|| FILE.to_owned(), |name| name.to_string_lossy().into_owned())
}

fn read(path: &Path) -> File {
    match ohmline_files::read(path) {
        Ok(text) => File::new(&name(path), Some(path), &text.text),
        Err(why) => File::unreadable(&name(path), Some(path), &why),
    }
}

#[cfg(test)]
mod tests {
    use ohmline_lint::{Level, Voice};

    use super::*;

    fn nothing(_: &Path) -> Option<Arc<String>> {
        None
    }

    fn written(folder: &Path, text: &str) -> PathBuf {
        let path = folder.join(FILE);
        std::fs::write(&path, text).unwrap();
        path
    }

    #[test]
    fn typing_looks_at_the_disk_no_more_than_once_in_a_while() {
        let folder = tempfile::tempdir().unwrap();
        let inner = folder.path().join("inner");
        std::fs::create_dir(&inner).unwrap();
        written(folder.path(), "voice = \"learner\"\n");
        let (files, editor) = (SettingsFiles::default(), Arc::<Layer>::default());
        let document = inner.join("pier.ohmline");
        let begun = Instant::now();
        let mut count = 0;
        while count < 1000 {
            let found = files.of(Some(&document), &nothing, &editor);
            assert_eq!((found.settings.findings.voice, found.asked.len()), (Voice::Learner, 2));
            count += 1;
        }
        // Two places, each once in a moment.
        let moments = begun.elapsed().as_secs() as usize + 1;
        let looks = files.looks.load(Ordering::Relaxed);
        assert!(looks <= 2 * moments, "{looks} looks in {moments} moments");
        // The joined settings are kept too.
        let one = files.of(Some(&document), &nothing, &editor).settings;
        assert!(Arc::ptr_eq(&one, &files.of(Some(&document), &nothing, &editor).settings));
    }

    #[test]
    fn a_notice_ends_the_belief_and_a_removed_file_counts_no_more() {
        let folder = tempfile::tempdir().unwrap();
        let path = written(folder.path(), "voice = \"learner\"\n");
        let (files, editor) = (SettingsFiles::default(), Arc::<Layer>::default());
        let document = folder.path().join("pier.ohmline");
        let voice = || files.of(Some(&document), &nothing, &editor).settings.findings.voice;
        assert_eq!(voice(), Voice::Learner);
        std::fs::remove_file(&path).unwrap();
        files.forget(&path);
        assert_eq!(voice(), Voice::Author);
        written(folder.path(), "voice = \"learner\"\n");
        assert_eq!(voice(), Voice::Author);
        files.forget(&path);
        assert_eq!(voice(), Voice::Learner);
    }

    #[test]
    fn the_text_in_the_editor_counts_before_the_disk_and_the_file_before_the_editor() {
        let folder = tempfile::tempdir().unwrap();
        let path = written(folder.path(), "voice = \"learner\"\n");
        let files = SettingsFiles::default();
        let value = serde_json::json!({"voice": "learner", "levels": {"style": "off", "name-gap": "error"}});
        let mut choice = crate::settings::choice::Choice::default();
        choice.update(&value, crate::settings::From::Ours);
        let text = Arc::new("voice = \"author\"\nlevels.name-gap = \"hint\"\n".to_owned());
        let open = |asked: &Path| (asked == path).then(|| text.clone());
        let found = files.of(Some(&folder.path().join("pier.ohmline")), &open, &choice.layer).settings;
        assert_eq!(found.findings.voice, Voice::Author);
        assert_eq!(found.findings.levels.of("twin-names"), Some(Level::Off));
        assert_eq!(found.findings.levels.of("name-gap").map(Level::word), Some("hint"));
        // Without a place on the disk, the editor alone counts.
        let untitled = files.of(None, &open, &choice.layer);
        assert_eq!((untitled.settings.findings.voice, untitled.asked.len()), (Voice::Learner, 0));
    }
}
