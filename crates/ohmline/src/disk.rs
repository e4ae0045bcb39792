//! The disk as the command sees it.

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_analysis::FileSystem;
use ohmline_files::Oddity;

/// The disk, remembering which files were no plain UTF-8.
#[derive(Default)]
pub struct Disk {
    odd: RefCell<Vec<(PathBuf, Oddity)>>,
}

impl FileSystem for Disk {
    fn read(&self, path: &Path) -> Result<Arc<str>, String> {
        let text = ohmline_files::read(path)?;
        if let Some(oddity) = text.oddity {
            self.odd.borrow_mut().push((path.to_path_buf(), oddity));
        }
        Ok(text.text)
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }

    fn real_path(&self, path: &Path) -> PathBuf {
        ohmline_files::real_path(path)
    }
}

impl Disk {
    /// What was odd about a file read before.
    pub fn oddity(&self, path: &Path) -> Option<Oddity> {
        self.odd.borrow().iter().find(|(other, _)| other == path).map(|(_, oddity)| *oddity)
    }
}
