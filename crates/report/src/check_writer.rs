//! What every form of a check's result has in common: it is written file by file, so that thousands of files need the memory of a few.

use ohmline_analysis::Analysis;
use ohmline_syntax::Diagnostic;
use serde::Serialize;

use crate::tally::Tally;

/// One file of a call, analyzed, with the diagnostics to be shown of it.
pub struct Checked<'a> {
    /// The analysis.
    pub analysis: &'a Analysis,
    /// Which of its diagnostics are shown: those in a file that several others include are shown once.
    pub shown: Vec<&'a Diagnostic>,
    /// Which of those that the author allows are told of.
    pub allowed: Vec<&'a Diagnostic>,
    /// Which are known from a baseline.
    pub known: Vec<&'a Diagnostic>,
    /// Which of those shown end the check with status 1 because they are denied.
    pub denied: Vec<&'a Diagnostic>,
}

/// A file of a call that cannot be read.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Unreadable {
    /// As given in the call.
    pub file: String,
    /// Why, in words.
    pub why: String,
}

/// A form in which the result of a check is written.
pub trait CheckWriter: Sync {
    /// Writes what comes before all files.
    fn begin(&mut self, out: &mut Vec<u8>);
    /// What takes long to write of a file and needs no other: asked for from several threads, and handed to [`CheckWriter::add`].
    fn prepare(&self, _file: &Checked<'_>) -> Vec<u8> {
        Vec::new()
    }
    /// Writes what is said of a file, or keeps it for the end. Files come in their order.
    fn add(&mut self, file: &Checked<'_>, prepared: &[u8], out: &mut Vec<u8>);
    /// Writes what comes after all files.
    fn end(&mut self, unreadable: &[Unreadable], tally: &Tally, out: &mut Vec<u8>);
}
