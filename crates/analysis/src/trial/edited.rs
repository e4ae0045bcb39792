//! The sources with edits made.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_circuit::{FileSystem, Source, Sources};
use ohmline_syntax::{Edit, FileId, Tree, reparse};

use crate::load;
use crate::markdown::Around;

/// The sources with edits made, in any order; `None` where two of them overlap or lie out of bounds.
///
/// What a file includes is looked up anew: among the files that are known, else in `files`.
pub fn edited(
    sources: &Sources,
    edits: &[&Edit],
    files: &dyn FileSystem,
    around: Option<(&Around, &str)>,
) -> Option<Sources> {
    let mut trees: Vec<Arc<Tree>> = sources.files.iter().map(|source| source.tree.clone()).collect();
    for (number, tree) in trees.iter_mut().enumerate() {
        let file = FileId(number as u32);
        let mut own: Vec<&Edit> = edits.iter().copied().filter(|edit| edit.at.file == file).collect();
        if own.is_empty() {
            continue;
        }
        own.sort_by_key(|edit| (edit.at.span.start, edit.at.span.end));
        let text = match around {
            Some((around, document)) if file == FileId::MAIN => {
                around.read_again(&tree.text, document, &spliced(document, &own)?)
            }
            _ => spliced(&tree.text, &own)?,
        };
        *tree = Arc::new(reparse(tree, &text));
    }
    let main = sources.files.first()?;
    let known = Known { sources: &sources.files, trees: &trees, files };
    let mut sources = load(&main.name, main.path.as_deref(), trees[0].clone(), &known);
    // They keep the names that people know them by.
    for source in &mut sources.files {
        let old = known.sources.iter().find(|old| old.path.is_some() && old.path == source.path);
        source.name.clone_from(old.map_or(&source.name.clone(), |old| &old.name));
    }
    Some(sources)
}

/// A text with edits made, which come in order.
fn spliced(text: &str, edits: &[&Edit]) -> Option<String> {
    let mut out = String::with_capacity(text.len());
    let mut from = 0;
    for edit in edits {
        let range = edit.at.span.range();
        out.push_str(text.get(from..range.start)?);
        out.push_str(&edit.text);
        from = range.end;
    }
    out.push_str(text.get(from..)?);
    Some(out)
}

/// The files of an analysis, as edited, over all others.
struct Known<'a> {
    sources: &'a [Source],
    trees: &'a [Arc<Tree>],
    files: &'a dyn FileSystem,
}

impl Known<'_> {
    fn find(&self, path: &Path) -> Option<&Arc<Tree>> {
        let at = self.sources.iter().position(|source| source.path.as_deref() == Some(path))?;
        self.trees.get(at)
    }
}

impl FileSystem for Known<'_> {
    fn read(&self, path: &Path) -> Result<Arc<str>, String> {
        self.find(path).map_or_else(|| self.files.read(path), |tree| Ok(tree.text.clone()))
    }

    fn tree(&self, path: &Path) -> Result<Arc<Tree>, String> {
        self.find(path).map_or_else(|| self.files.tree(path), |tree| Ok(tree.clone()))
    }

    fn exists(&self, path: &Path) -> bool {
        self.files.exists(path)
    }

    fn real_path(&self, path: &Path) -> PathBuf {
        self.files.real_path(path)
    }
}
