//! The file of settings: which one counts, and the analysis that shows what is wrong in it.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_analysis::load::WORKSPACE_FILE;
use ohmline_analysis::{Analysis, Settings, Source, Sources, analyze};
use ohmline_syntax::{Diagnostic, FileId, FileSpan, LineIndex, Severity, Span, Tree};

use crate::force::in_force;
use crate::layer::Layer;
use crate::read::read;

/// The name of the file.
pub const FILE: &str = WORKSPACE_FILE;

/// Whether a path is that of a file of settings.
pub fn is_settings(path: &Path) -> bool {
    path.file_name().is_some_and(|name| name == FILE)
}

/// Where the file of settings of a folder may be, nearest first: in the folder, and in each above it. The first that is there counts,
/// and it alone.
pub fn candidates(folder: &Path) -> impl Iterator<Item = PathBuf> + '_ {
    folder.ancestors().map(|folder| folder.join(FILE))
}

/// A file of settings, read.
#[derive(Clone, Debug)]
pub struct File {
    /// What it says.
    pub layer: Layer,
    /// An analysis without a circuit, for those who show what is wrong: the file is its only source, and its diagnostics are those of the file.
    pub analysis: Analysis,
}

impl File {
    /// Reads the text of a file.
    pub fn new(name: &str, path: Option<&Path>, text: &str) -> Self {
        let read = read(text);
        let mut file = Self { analysis: bare(name, path, text), layer: read.layer };
        file.analysis.diagnostics = in_force(&[&file.layer]).findings.apply(read.problems);
        file
    }

    /// A file that cannot be read; it says nothing.
    pub fn unreadable(name: &str, path: Option<&Path>, why: &str) -> Self {
        let mut file = Self { analysis: bare(name, path, ""), layer: Layer::default() };
        let place = FileSpan::new(FileId::MAIN, Span::new(0, 0));
        let found =
            Diagnostic::new("unreadable-settings", Severity::Error, place, format!("{name} cannot be read: {why}"))
                .note("No setting of it is in force")
                .help("Put a file there that can be read, or take it away");
        file.analysis.diagnostics = vec![found];
        file
    }

    /// The line of a place in it, from 1.
    pub fn line(&self, at: Span) -> u32 {
        self.analysis.sources.files.first().map_or(0, |source| source.lines.line_of(at.start)) + 1
    }
}

/// An analysis without a circuit.
fn bare(name: &str, path: Option<&Path>, text: &str) -> Analysis {
    let tree = Tree { text: text.into(), stmts: Vec::new(), blocks: Vec::new(), block_problems: Vec::new() };
    let lines = Arc::new(LineIndex::new(text));
    let path = path.map(Path::to_path_buf);
    let source = Source { name: name.to_owned(), path, tree: Arc::new(tree), lines, includes: Vec::new() };
    let mut analysis = analyze(Sources { files: vec![source] }, &Settings::default());
    analysis.diagnostics.clear();
    analysis
}
