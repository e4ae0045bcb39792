//! The open documents over the disk.

use std::collections::{HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::SystemTime;

use ohmline_analysis::{FileSystem, Settings};
use ohmline_files::Oddity;
use ohmline_settings::{File, Layer};
use ohmline_syntax::Tree;

use crate::settings::files::SettingsFiles;

/// An open document, as the analysis of another one sees it.
#[derive(Clone)]
pub struct OpenFile {
    /// Its text.
    pub text: Arc<String>,
    /// The tree of its last analysis; of an earlier text, perhaps.
    pub tree: Option<Arc<Tree>>,
}

/// Trees of files on the disk, kept from one analysis to the next.
#[derive(Default)]
pub struct DiskTrees(HashMap<PathBuf, Kept>);

/// A file as it was read: when it was written and how long it is, and what was found in it.
struct Kept {
    stamp: (SystemTime, u64),
    tree: Arc<Tree>,
    oddity: Option<Oddity>,
}

/// A view of the files for one analysis. It notes every path that was asked for, found or not: the analysis depends on
/// all of them.
pub struct Overlay<'a> {
    open: HashMap<PathBuf, OpenFile>,
    disk: &'a Mutex<DiskTrees>,
    settings: &'a SettingsFiles,
    asked: Mutex<Vec<PathBuf>>,
    settings_file: Mutex<Option<(PathBuf, Arc<File>)>>,
    odd: Mutex<Vec<(PathBuf, Oddity)>>,
}

impl<'a> Overlay<'a> {
    /// A view of these documents over the disk.
    pub fn new(open: HashMap<PathBuf, OpenFile>, disk: &'a Mutex<DiskTrees>, settings: &'a SettingsFiles) -> Self {
        Self { open, disk, settings, asked: Mutex::default(), settings_file: Mutex::default(), odd: Mutex::default() }
    }

    /// The settings of a document at this path.
    pub fn settings(&self, document: Option<&Path>, editor: &Arc<Layer>) -> Arc<Settings> {
        let open = |path: &Path| self.open.get(path).map(|file| file.text.clone());
        let found = self.settings.of(document, &open, editor);
        self.asked.lock().unwrap_or_else(PoisonError::into_inner).extend(found.asked);
        *self.settings_file.lock().unwrap_or_else(PoisonError::into_inner) = found.file;
        found.settings
    }

    /// The file of settings that counted when settings were asked for last.
    pub fn settings_file(&self) -> Option<(PathBuf, Arc<File>)> {
        self.settings_file.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Every file that was asked for.
    pub fn asked(&self) -> HashSet<PathBuf> {
        self.asked.lock().unwrap_or_else(PoisonError::into_inner).iter().cloned().collect()
    }

    /// What was odd about a file read from the disk.
    pub fn oddity(&self, path: &Path) -> Option<Oddity> {
        let odd = self.odd.lock().unwrap_or_else(PoisonError::into_inner);
        odd.iter().find(|(other, _)| other == path).map(|(_, oddity)| *oddity)
    }

    fn note_oddity(&self, path: &Path, oddity: Option<Oddity>) {
        let mut odd = self.odd.lock().unwrap_or_else(PoisonError::into_inner);
        odd.extend(oddity.map(|oddity| (path.to_path_buf(), oddity)));
    }

    /// Held for looking and putting only, never for reading.
    fn disk(&self) -> MutexGuard<'_, DiskTrees> {
        self.disk.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn note(&self, path: &Path) -> Option<&OpenFile> {
        let mut asked = self.asked.lock().unwrap_or_else(PoisonError::into_inner);
        asked.push(path.to_path_buf());
        // The same file may be open under another spelling: by way of a link, say.
        let other = std::fs::canonicalize(path).ok().filter(|other| other != path);
        asked.extend(other.clone());
        self.open.get(path).or_else(|| self.open.get(&other?))
    }
}

impl FileSystem for Overlay<'_> {
    fn read(&self, path: &Path) -> Result<Arc<str>, String> {
        match self.note(path) {
            Some(file) => Ok(file.text.as_str().into()),
            None => ohmline_files::read(path).map(|found| found.text),
        }
    }

    fn tree(&self, path: &Path) -> Result<Arc<Tree>, String> {
        if let Some(file) = self.note(path) {
            return Ok(match &file.tree {
                Some(tree) if *tree.text == **file.text => tree.clone(),
                Some(tree) => Arc::new(ohmline_syntax::reparse(tree, &file.text)),
                None => Arc::new(ohmline_syntax::parse(&file.text)),
            });
        }
        let stamp = std::fs::metadata(path).ok().and_then(|meta| Some((meta.modified().ok()?, meta.len())));
        if let Some(kept) = self.disk().0.get(path).filter(|kept| Some(kept.stamp) == stamp) {
            self.note_oddity(path, kept.oddity);
            return Ok(kept.tree.clone());
        }
        let found = ohmline_files::read(path)?;
        self.note_oddity(path, found.oddity);
        let tree = Arc::new(ohmline_syntax::parse(&found.text));
        if let Some(stamp) = stamp {
            self.disk().0.insert(path.to_path_buf(), Kept { stamp, tree: tree.clone(), oddity: found.oddity });
        }
        Ok(tree)
    }

    fn exists(&self, path: &Path) -> bool {
        // It is asked for files of settings alone, with every analysis.
        self.open.contains_key(path) || self.settings.exists(path)
    }

    fn real_path(&self, path: &Path) -> PathBuf {
        ohmline_files::real_path(path)
    }
}
