//! The open documents over the disk.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use ohmline_analysis::FileSystem;
use ohmline_syntax::Tree;

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
pub struct DiskTrees(HashMap<PathBuf, (SystemTime, u64, Arc<Tree>)>);

/// A view of the files for one analysis. It notes every path that was asked for, found or not: the analysis depends on
/// all of them.
pub struct Overlay<'a> {
    open: HashMap<PathBuf, OpenFile>,
    disk: &'a Mutex<DiskTrees>,
    asked: Mutex<Vec<PathBuf>>,
}

impl<'a> Overlay<'a> {
    /// A view of these documents over the disk.
    pub fn new(open: HashMap<PathBuf, OpenFile>, disk: &'a Mutex<DiskTrees>) -> Self {
        Self { open, disk, asked: Mutex::new(Vec::new()) }
    }

    /// Every file that was asked for.
    pub fn asked(self) -> Vec<PathBuf> {
        self.asked.into_inner().unwrap_or_else(PoisonError::into_inner)
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
            None => read_lossily(path),
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
        let mut disk = self.disk.lock().unwrap_or_else(PoisonError::into_inner);
        if let (Some((modified, len)), Some((had_modified, had_len, tree))) = (stamp, disk.0.get(path))
            && modified == *had_modified
            && len == *had_len
        {
            return Ok(tree.clone());
        }
        let tree = Arc::new(ohmline_syntax::parse(&read_lossily(path)?));
        if let Some((modified, len)) = stamp {
            disk.0.insert(path.to_path_buf(), (modified, len, tree.clone()));
        }
        Ok(tree)
    }

    fn exists(&self, path: &Path) -> bool {
        self.open.contains_key(path) || path.exists()
    }
}

fn read_lossily(path: &Path) -> Result<Arc<str>, String> {
    let bytes = std::fs::read(path).map_err(|error| error.to_string())?;
    Ok(String::from_utf8_lossy(&bytes).into())
}
