//! Byte offsets to the positions of the JSON contract: lines and columns from 1, columns in Unicode scalar values.

use ohmline_circuit::Sources;
use ohmline_syntax::{Encoding, FileId, FileSpan};
use serde::Serialize;

/// A position as outside programs see it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize)]
pub struct Place {
    /// The line, from 1.
    pub line: u32,
    /// The column, from 1, in Unicode scalar values.
    pub column: u32,
}

/// Converts offsets in the files of one analysis.
#[derive(Clone, Copy)]
pub struct Positions<'a> {
    sources: &'a Sources,
}

impl<'a> Positions<'a> {
    /// For these files.
    pub fn new(sources: &'a Sources) -> Self {
        Self { sources }
    }

    /// The name of a file as outputs show it.
    pub fn name(&self, file: FileId) -> &'a str {
        self.sources.files.get(file.0 as usize).map_or("", |source| &source.name)
    }

    /// Where an offset is; past the end counts as the end.
    pub fn place(&self, file: FileId, offset: u32) -> Place {
        let Some(source) = self.sources.files.get(file.0 as usize) else { return Place { line: 1, column: 1 } };
        let at = source.lines.line_col(&source.tree.text, offset, Encoding::Utf32);
        Place { line: at.line + 1, column: at.col + 1 }
    }

    /// Where a stretch starts.
    pub fn start(&self, at: FileSpan) -> Place {
        self.place(at.file, at.span.start)
    }

    /// Where a stretch ends, exclusive.
    pub fn end(&self, at: FileSpan) -> Place {
        self.place(at.file, at.span.end)
    }
}
