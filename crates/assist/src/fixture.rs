//! Texts with marks in them, for tests: `<|>` is the cursor.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_analysis::{Analysis, FileSystem, Settings, analyze, load};

/// Files that exist only here.
#[derive(Default)]
pub struct Files(pub BTreeMap<PathBuf, String>);

impl FileSystem for Files {
    fn read(&self, path: &Path) -> Result<Arc<str>, String> {
        self.0.get(path).map(|text| Arc::from(text.as_str())).ok_or_else(|| "there is no such file".to_owned())
    }

    fn exists(&self, path: &Path) -> bool {
        self.0.contains_key(path)
    }
}

/// The analysis of a text, with other files beside it, and the offset of the cursor in it.
pub fn marked(text: &str, others: &[(&str, &str)]) -> (Analysis, u32) {
    let cursor = text.find("<|>").map_or(0, |at| at as u32);
    let plain = text.replacen("<|>", "", 1);
    (analysis(&plain, others), cursor)
}

/// The analysis of a text, with other files beside it.
pub fn analysis(text: &str, others: &[(&str, &str)]) -> Analysis {
    let mut files = Files::default();
    for (name, text) in others {
        files.0.insert(Path::new("/harbour").join(name), (*text).to_owned());
    }
    let tree = Arc::new(ohmline_syntax::parse(text));
    let sources = load("pier.ohmline", Some(Path::new("/harbour/pier.ohmline")), tree, &files);
    analyze(sources, &Settings::default())
}
