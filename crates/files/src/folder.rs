//! The files of a folder that may hold circuits, within bounds.
//!
//! A listing remembers when each folder was changed last, so that asking whether it still holds is far cheaper than making it anew.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Most names that are looked at for one listing: what is beyond is left out, and said to be.
const MOST_NAMES: usize = 100_000;
/// Most files that are listed.
const MOST_FILES: usize = 5_000;
/// Deepest folder that is looked into.
const DEEPEST: usize = 64;

/// How far a folder is looked through.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Depth {
    /// The files in it.
    Itself,
    /// And those in the folders below.
    Below,
}

/// The files of a folder that may hold circuits, in order.
#[derive(Clone, Default, Debug)]
pub struct Listing {
    /// Circuits and Markdown documents.
    pub files: Vec<PathBuf>,
    /// What could not be looked at, in words.
    pub missed: Vec<String>,
    /// The folders that were looked into, and when each was changed.
    folders: Vec<(PathBuf, Option<SystemTime>)>,
}

/// Whether a name is that of a file that may hold circuits.
fn may_hold_circuits(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or("");
    ["ohmline", "md", "markdown"].iter().any(|own| ending.eq_ignore_ascii_case(own))
}

/// When a folder was changed: something came into it or left it.
fn changed(folder: &Path) -> Option<SystemTime> {
    std::fs::metadata(folder).and_then(|found| found.modified()).ok()
}

impl Listing {
    /// Looks through a folder. Hidden folders, installed packages and folders marked as caches (Cache Directory Tagging Specification)
    /// hold nobody's circuits; links to folders may lead round and round.
    pub fn new(root: &Path, depth: Depth) -> Self {
        Self::within(root, depth, MOST_NAMES, MOST_FILES)
    }

    fn within(root: &Path, depth: Depth, most_names: usize, most_files: usize) -> Self {
        let mut listing = Self::default();
        let mut names = 0;
        // The nearest first, so that what is cut is what lies deepest.
        let mut waiting = VecDeque::from([(root.to_path_buf(), 0)]);
        'folders: while let Some((folder, level)) = waiting.pop_front() {
            let stamp = changed(&folder);
            let entries = match std::fs::read_dir(&folder) {
                Ok(entries) => entries,
                Err(error) => {
                    listing.missed.push(format!("{} ({})", folder.display(), crate::reason(&error)));
                    continue;
                }
            };
            listing.folders.push((folder.clone(), stamp));
            let mut paths: Vec<PathBuf> = entries.filter_map(|entry| entry.ok().map(|entry| entry.path())).collect();
            if level > 0 && paths.iter().any(|path| path.file_name().is_some_and(|name| name == "CACHEDIR.TAG")) {
                continue;
            }
            paths.sort();
            for path in paths {
                names += 1;
                if names > most_names || listing.files.len() >= most_files {
                    let why = format!("what is beyond {most_names} names or {most_files} files of {}", root.display());
                    listing.missed.push(why);
                    break 'folders;
                }
                let name = path.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
                if name.starts_with('.') || name == "node_modules" {
                    continue;
                }
                if may_hold_circuits(&path) && path.is_file() {
                    listing.files.push(path);
                    continue;
                }
                let below = depth == Depth::Below && level < DEEPEST;
                if below && std::fs::symlink_metadata(&path).is_ok_and(|found| found.is_dir()) {
                    waiting.push_back((path, level + 1));
                }
            }
        }
        listing
    }

    /// Whether nothing came into its folders, or left them, since it was made.
    pub fn holds(&self) -> bool {
        self.folders.iter().all(|(folder, stamp)| stamp.is_some() && changed(folder) == *stamp)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(listing: &Listing, root: &Path) -> Vec<String> {
        let name = |path: &PathBuf| path.strip_prefix(root).map(|own| own.to_string_lossy().replace('\\', "/"));
        listing.files.iter().filter_map(|path| name(path).ok()).collect()
    }

    fn harbour() -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for file in [
            "pier.ohmline",
            "notes.MD",
            "winch.txt",
            "lights/fog.ohmline",
            "lights/deep/bell.ohmline",
            ".hidden/a.ohmline",
            "node_modules/b.ohmline",
            "built/CACHEDIR.TAG",
            "built/c.ohmline",
        ] {
            let path = folder.path().join(file);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, "").unwrap();
        }
        folder
    }

    #[test]
    fn what_may_hold_circuits_is_listed_and_nothing_else() {
        let folder = harbour();
        let all = Listing::new(folder.path(), Depth::Below);
        assert_eq!(
            names(&all, folder.path()),
            ["notes.MD", "pier.ohmline", "lights/fog.ohmline", "lights/deep/bell.ohmline"]
        );
        assert!(all.missed.is_empty());
        let own = Listing::new(folder.path(), Depth::Itself);
        assert_eq!(names(&own, folder.path()), ["notes.MD", "pier.ohmline"]);
    }

    #[test]
    fn what_is_beyond_the_bounds_is_said_to_be() {
        let folder = harbour();
        let some = Listing::within(folder.path(), Depth::Below, 1000, 3);
        assert_eq!(names(&some, folder.path()).len(), 3);
        assert_eq!(some.missed.len(), 1);
        assert!(Listing::within(folder.path(), Depth::Below, 4, 1000).missed[0].starts_with("what is beyond 4 names"));
    }

    #[test]
    fn a_folder_that_is_not_there_is_missed() {
        let none = Listing::new(Path::new("no/such/harbour"), Depth::Below);
        assert_eq!(none.missed, ["no/such/harbour (there is no such file)"]);
    }

    #[test]
    fn it_holds_until_something_comes_or_goes() {
        let folder = harbour();
        let listing = Listing::new(folder.path(), Depth::Below);
        assert!(listing.holds());
        // Another time than that of the first look, however coarse the clock of the disk is.
        let later = SystemTime::now() + std::time::Duration::from_secs(2);
        std::fs::write(folder.path().join("lights/deep/new.ohmline"), "").unwrap();
        std::fs::File::open(folder.path().join("lights/deep")).unwrap().set_modified(later).unwrap();
        assert!(!listing.holds());
        std::fs::remove_dir_all(folder.path().join("lights")).unwrap();
        assert!(!listing.holds());
    }

    #[cfg(unix)]
    #[test]
    fn links_that_lead_round_are_not_followed() {
        let folder = harbour();
        std::os::unix::fs::symlink(folder.path(), folder.path().join("lights/round")).unwrap();
        assert_eq!(Listing::new(folder.path(), Depth::Below).files.len(), 4);
    }
}
