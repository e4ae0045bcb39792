//! From an argument of the call to an analysis.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_analysis::markdown::{blocks, is_markdown};
use ohmline_analysis::{Analysis, analyze, load, trial};
use ohmline_syntax::Severity;
use ohmline_syntax::tree::StmtKind;

use crate::disk::Disk;
use crate::fault::guard;
use crate::settings::{self, Chooser, Chosen};

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

/// What to do with a file of settings where a circuit is needed.
pub const NO_CIRCUIT: &str =
    "it holds settings, no circuit; `ohmline check` says what is wrong in it, `ohmline settings` what is in force";

/// Why there is no analysis.
pub enum Failure {
    /// The file cannot be read, for this reason.
    Unreadable(String),
    /// The tool failed, and has said so.
    Fault,
}

/// Whether the fixes of an analysis are those to be offered, or all that rules have thought of.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Fixes {
    /// To be offered.
    Tried,
    /// To be offered, for those who see no hints but what is denied.
    TriedWithoutHints,
    /// For those who do not look at them.
    Untried,
    /// For a look at what comes of fixes that were made: each claim that fails is reported by itself.
    Made,
}

/// Whether a file is a Markdown document: each fenced block of circuit in it is a file of its own.
pub fn is_document(file: &Path) -> bool {
    !is_stdin(file) && is_markdown(&file.to_string_lossy())
}

/// Reads and analyzes every circuit of a file, and what each includes: one, or those of a Markdown document. Places in them are
/// places in the document.
/// A file of settings is one without a circuit.
pub fn analyses(file: &Path, settings: &Chooser, fixes: Fixes) -> Result<Vec<Analysis>, Failure> {
    if settings::is_settings(file) {
        let path = std::path::absolute(file).unwrap_or_else(|_| file.to_path_buf());
        return Ok(vec![settings::read(&path, &name(file)).map_err(Failure::Unreadable)?.analysis]);
    }
    if !is_document(file) {
        return Ok(vec![analysis(file, settings, fixes)?]);
    }
    let text = ohmline_files::read_named(file).map_err(Failure::Unreadable)?;
    in_document(file, &text.text, text.oddity, settings, fixes)
}

/// The circuits that a command is about: those of [`analyses`], of which there is at least one, or the one of this number, from 1.
pub fn chosen(file: &Path, number: Option<usize>, settings: &Chooser) -> Result<Vec<Analysis>, Failure> {
    if settings::is_settings(file) {
        return Err(Failure::Unreadable(NO_CIRCUIT.to_owned()));
    }
    let mut all = analyses(file, settings, Fixes::Untried)?;
    if all.is_empty() {
        let why = "there is no circuit in it; a circuit stands in a fenced block marked `ohmline`";
        return Err(Failure::Unreadable(why.to_owned()));
    }
    let Some(number) = number else { return Ok(all) };
    match number.checked_sub(1).filter(|at| *at < all.len()) {
        Some(at) => Ok(vec![all.swap_remove(at)]),
        None if all.len() == 1 => Err(Failure::Unreadable(format!("there is no circuit {number} in it, only one"))),
        None => Err(Failure::Unreadable(format!("there is no circuit {number} in it; there are {}", all.len()))),
    }
}

/// The one circuit that a command is about.
pub fn only(file: &Path, number: Option<usize>, settings: &Chooser) -> Result<Analysis, Failure> {
    let mut all = chosen(file, number, settings)?;
    match (all.len(), all.pop()) {
        (1, Some(one)) => Ok(one),
        (count, _) => Err(Failure::Unreadable(several(count))),
    }
}

/// What to do where one circuit is needed and a document has several.
pub fn several(count: usize) -> String {
    format!("there are {count} circuits in it; choose one with --circuit, from 1 to {count}")
}

/// The line in which a circuit of a document begins, from 1.
pub fn first_line(analysis: &Analysis) -> u32 {
    let first = analysis.sources.files.first().and_then(|source| {
        let stmt = source.tree.stmts.first()?;
        Some(source.lines.line_of(stmt.offset) + 1)
    });
    first.unwrap_or(1)
}

/// The circuits of a Markdown document of this text.
fn in_document(
    file: &Path,
    text: &str,
    oddity: Option<ohmline_files::Oddity>,
    settings: &Chooser,
    fixes: Fixes,
) -> Result<Vec<Analysis>, Failure> {
    let settings = settings.of(file);
    let (name, path) = (name(file), std::path::absolute(file).ok());
    let disk = Disk::default();
    let of = |block: &ohmline_analysis::markdown::Block| {
        let mut analysis = analyzed(&name, path.as_deref(), &block.text, oddity, &disk, &settings, fixes)?;
        block.around.place_fixes(text, &mut analysis.diagnostics);
        Ok(analysis)
    };
    blocks(text).iter().map(of).collect()
}

/// Reads and analyzes a file and what it includes.
fn analysis(file: &Path, settings: &Chooser, fixes: Fixes) -> Result<Analysis, Failure> {
    let name = name(file);
    let disk = Disk::default();
    let (text, path) = if is_stdin(file) {
        (ohmline_files::read_all(std::io::stdin().lock()), None)
    } else {
        (ohmline_files::read_named(file), std::path::absolute(file).ok())
    };
    let text = text.map_err(Failure::Unreadable)?;
    analyzed(&name, path.as_deref(), &text.text, text.oddity, &disk, &settings.of(file), fixes)
}

/// Analyzes a text in the place of a file; of a Markdown document, every circuit of it.
pub fn analyses_of(file: &Path, text: &str, settings: &Chooser, fixes: Fixes) -> Result<Vec<Analysis>, Failure> {
    if is_document(file) {
        return in_document(file, text, None, settings, fixes);
    }
    let path = std::path::absolute(file).ok();
    let own = settings.of(file);
    Ok(vec![analyzed(&name(file), path.as_deref(), text, None, &Disk::default(), &own, fixes)?])
}

fn analyzed(
    name: &str,
    path: Option<&Path>,
    text: &str,
    oddity: Option<ohmline_files::Oddity>,
    disk: &Disk,
    chosen: &Chosen,
    fixes: Fixes,
) -> Result<Analysis, Failure> {
    let settings = &chosen.settings;
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
        let mut analysis = match fixes {
            Fixes::Made => analyze(sources, &trial::without_causes(settings)),
            _ => analyze(sources, settings),
        };
        match fixes {
            Fixes::Tried => trial::settle(&mut analysis, settings, disk, |_| true),
            Fixes::TriedWithoutHints => trial::settle(&mut analysis, settings, disk, |found| {
                found.severity != Severity::Hint || chosen.force.denies(found)
            }),
            Fixes::Untried | Fixes::Made => {}
        }
        let odd = ohmline_files::reports(&analysis.sources, |at, path| match at {
            0 => oddity,
            _ => disk.oddity(path?),
        });
        analysis.diagnostics.splice(0..0, settings.findings.apply(odd));
        analysis
    })
    .ok_or(Failure::Fault)
}

/// The files that several analyses of a file depend on.
pub fn read_from_all(file: &Path, all: &[Analysis]) -> Vec<PathBuf> {
    let own = std::path::absolute(file).ok().filter(|_| !is_stdin(file));
    let mut paths: Vec<PathBuf> = own.into_iter().chain(all.iter().flat_map(read_from)).collect();
    paths.sort();
    paths.dedup();
    paths
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
