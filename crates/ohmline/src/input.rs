//! From an argument of the call to an analysis.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_analysis::markdown::{blocks, is_markdown};
use ohmline_analysis::{Analysis, Settings, analyze, load};
use ohmline_syntax::tree::StmtKind;

use crate::disk::Disk;
use crate::fault::guard;

/// What outputs call standard input.
const STDIN: &str = "<stdin>";

/// Whether an argument means standard input.
pub fn is_stdin(file: &Path) -> bool {
    file.as_os_str() == "-"
}

/// What outputs call an argument.
pub fn name(file: &Path) -> String {
    if is_stdin(file) { STDIN.to_owned() } else { file.display().to_string() }
}

/// Why there is no analysis.
pub enum Failure {
    /// The file cannot be read, for this reason.
    Unreadable(String),
    /// The tool failed, and has said so.
    Fault,
}

/// Whether a file is a Markdown document: each fenced block of circuit in it is a file of its own.
pub fn is_document(file: &Path) -> bool {
    !is_stdin(file) && is_markdown(&file.to_string_lossy())
}

/// Why a document is not taken where one circuit is meant.
fn several() -> Failure {
    Failure::Unreadable("it is a Markdown document; `ohmline check` reads the circuits in it".to_owned())
}

/// Reads and analyzes every circuit of a file, and what each includes: one, or those of a Markdown document. Places in them are
/// places in the document.
pub fn analyses(file: &Path) -> Result<Vec<Analysis>, Failure> {
    if !is_document(file) {
        return Ok(vec![analysis(file)?]);
    }
    let text = ohmline_files::read_named(file).map_err(Failure::Unreadable)?;
    let (name, path) = (name(file), std::path::absolute(file).ok());
    let disk = Disk::default();
    let of = |text: &str, oddity| analyzed(&name, path.as_deref(), text, oddity, &disk);
    blocks(&text.text).iter().map(|block| of(&block.text, text.oddity)).collect()
}

/// Reads and analyzes a file and what it includes.
pub fn analysis(file: &Path) -> Result<Analysis, Failure> {
    if is_document(file) {
        return Err(several());
    }
    let name = name(file);
    let disk = Disk::default();
    let (text, path) = if is_stdin(file) {
        (ohmline_files::read_all(std::io::stdin().lock()), None)
    } else {
        (ohmline_files::read_named(file), std::path::absolute(file).ok())
    };
    let text = text.map_err(Failure::Unreadable)?;
    analyzed(&name, path.as_deref(), &text.text, text.oddity, &disk)
}

/// Analyzes a text in the place of a file.
pub fn analysis_of(file: &Path, text: &str) -> Result<Analysis, Failure> {
    if is_document(file) {
        return Err(several());
    }
    analyzed(&name(file), std::path::absolute(file).ok().as_deref(), text, None, &Disk::default())
}

fn analyzed(
    name: &str,
    path: Option<&Path>,
    text: &str,
    oddity: Option<ohmline_files::Oddity>,
    disk: &Disk,
) -> Result<Analysis, Failure> {
    guard(name, || {
        let tree = Arc::new(ohmline_syntax::parse(text));
        let mut sources = load(name, path, tree, disk);
        let here = std::env::current_dir().unwrap_or_default();
        for source in sources.files.iter_mut().skip(1) {
            // People look for an included file from where they stand, as for the file of the call.
            if let Some(path) = &source.path {
                source.name = path.strip_prefix(&here).unwrap_or(path).display().to_string();
            }
        }
        let mut analysis = analyze(sources, &Settings::default());
        let odd = ohmline_files::reports(&analysis.sources, |at, path| match at {
            0 => oddity,
            _ => disk.oddity(path?),
        });
        analysis.diagnostics.splice(0..0, odd);
        analysis
    })
    .ok_or(Failure::Fault)
}

/// Every file that a change of would change the analysis: those read, and those named in an `include` that could not be.
pub fn read_from(analysis: &Analysis) -> Vec<PathBuf> {
    let mut paths = Vec::new();
    for source in &analysis.sources.files {
        let Some(path) = &source.path else { continue };
        for (stmt, _) in &source.includes {
            if let (Some(StmtKind::Include(text)), Some(folder)) =
                (source.tree.stmts.get(*stmt as usize).map(|stmt| &stmt.node.kind), path.parent())
            {
                paths.push(folder.join(text.text.as_str()));
            }
        }
        paths.push(path.clone());
    }
    paths.sort();
    paths.dedup();
    paths
}
