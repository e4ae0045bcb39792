//! The files of one analysis: the file asked about and everything it includes.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_syntax::{FileId, LineIndex, Tree};

/// One file, read.
#[derive(Clone, Debug)]
pub struct Source {
    /// The name shown to people and used in outputs: as given in the call, or relative to the including file.
    pub name: String,
    /// Where it is, when it is on disk (or open in an editor).
    pub path: Option<PathBuf>,
    /// Its statements; the text is inside.
    pub tree: Arc<Tree>,
    /// Its lines.
    pub lines: Arc<LineIndex>,
    /// For each `include` statement of this file (by statement index): what it brings in.
    pub includes: Vec<(u32, Result<FileId, IncludeError>)>,
}

/// Why an `include` brings in nothing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum IncludeError {
    /// The file cannot be read; the reason in words.
    Unreadable(String),
    /// It leads back to a file that is including it: the names along the way.
    Cycle(Vec<String>),
    /// It lies outside the workspace.
    Outside,
    /// The analysis has no folder to look in (standard input without a path, an unsaved buffer).
    NoFolder,
}

/// The way to files, given by the edge: the disk in the terminal, the open editors over the disk in the server.
pub trait FileSystem {
    /// The text of a file, read lossily, or why it cannot be read.
    fn read(&self, path: &Path) -> Result<Arc<str>, String>;
    /// The tree of a file; an edge that keeps trees may hand out one it has.
    fn tree(&self, path: &Path) -> Result<Arc<Tree>, String> {
        Ok(Arc::new(ohmline_syntax::parse(&self.read(path)?)))
    }
    /// Whether a file exists (asked for `ohmline.toml` upward from a file, which marks the workspace).
    fn exists(&self, path: &Path) -> bool;
    /// Where a path leads once every symbolic link on the way is followed; the path itself where nothing is known about that.
    fn real_path(&self, path: &Path) -> PathBuf {
        path.to_path_buf()
    }
}

/// All files of one analysis; index = [`FileId`].
#[derive(Clone, Debug)]
pub struct Sources {
    /// The files; the first is the one asked about.
    pub files: Vec<Source>,
}

impl Sources {
    /// The file with this id.
    pub fn file(&self, id: FileId) -> &Source {
        &self.files[id.0 as usize]
    }
}
