//! What is wrong in the files of settings that count for open documents and are not open themselves: it is shown at the files, since nobody
//! would see it otherwise, and taken back once it is mended, the file is opened, or no open document goes by it any more.

use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_settings::File;
use tower_lsp::lsp_types::{Diagnostic, Url};

use super::{Snapshot, State};

/// What was said last of each file.
#[derive(Default)]
pub(super) struct Said(HashMap<PathBuf, Vec<Diagnostic>>);

impl Said {
    /// The file speaks for itself from now on.
    pub(super) fn forget(&mut self, path: &Path) {
        self.0.remove(path);
    }
}

impl State {
    /// Notes what is to be said, where that is not what was said last.
    pub(super) fn tell_settings(&mut self) {
        let is_open = |path: &PathBuf| self.documents.values().any(|own| own.path.as_ref() == Some(path));
        let mut going_by: Vec<(u64, &(PathBuf, Arc<File>))> = self
            .documents
            .values()
            .filter_map(|own| Some((own.snapshot.as_ref().map_or(0, |(stamp, _)| *stamp), own.settings.as_ref()?)))
            .filter(|(_, (path, file))| !file.analysis.diagnostics.is_empty() && !is_open(path))
            .collect();
        // What was read last counts.
        going_by.sort_by_key(|(stamp, _)| *stamp);
        let now: HashMap<PathBuf, Vec<Diagnostic>> = going_by
            .into_iter()
            .filter_map(|(_, (path, file))| Some((path.clone(), self.shaped(Url::from_file_path(path).ok()?, file))))
            .collect();
        if now == self.said.0 {
            return;
        }
        let gone = self.said.0.keys().filter(|path| !now.contains_key(*path) && !is_open(path));
        let mut tell: Vec<(PathBuf, Vec<Diagnostic>)> = gone.map(|path| (path.clone(), Vec::new())).collect();
        tell.extend(
            now.iter()
                .filter(|(path, found)| self.said.0.get(*path) != Some(found))
                .map(|(path, found)| (path.clone(), found.clone())),
        );
        tell.sort_by(|a, b| a.0.cmp(&b.0));
        self.untold.extend(tell.into_iter().filter_map(|(path, found)| Some((Url::from_file_path(path).ok()?, found))));
        self.said.0 = now;
    }

    fn shaped(&self, uri: Url, file: &File) -> Vec<Diagnostic> {
        let snapshot = Snapshot {
            uri,
            version: None,
            analysis: Arc::new(file.analysis.clone()),
            blocks: Some(Vec::new()),
            around: None,
            open: HashMap::new(),
            names: Default::default(),
            settings: Default::default(),
            tried: Default::default(),
        };
        snapshot.diagnostics(self.editor)
    }
}
