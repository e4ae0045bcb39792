//! Byte offsets to the positions of the JSON contract: lines and columns from 1, columns in Unicode scalar values.

use std::cell::OnceCell;

use ohmline_circuit::Sources;
use ohmline_syntax::{FileId, FileSpan};
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
pub struct Positions<'a> {
    sources: &'a Sources,
    /// Line starts of each file, found when first asked for.
    starts: Vec<OnceCell<Vec<usize>>>,
}

impl<'a> Positions<'a> {
    /// For these files.
    pub fn new(sources: &'a Sources) -> Self {
        Self { sources, starts: vec![OnceCell::new(); sources.files.len()] }
    }

    /// The name of a file as outputs show it.
    pub fn name(&self, file: FileId) -> &'a str {
        self.sources.files.get(file.0 as usize).map_or("", |source| &source.name)
    }

    /// Where an offset is; past the end counts as the end.
    pub fn place(&self, file: FileId, offset: u32) -> Place {
        let Some(source) = self.sources.files.get(file.0 as usize) else { return Place { line: 1, column: 1 } };
        let text: &str = &source.tree.text;
        let starts = self.starts[file.0 as usize].get_or_init(|| {
            std::iter::once(0)
                .chain(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(at, _)| at + 1))
                .collect()
        });
        let offset = (offset as usize).min(text.len());
        let line = starts.partition_point(|start| *start <= offset).saturating_sub(1);
        // A character counts once the offset is at or past its end, so that cut characters do no harm.
        let column = text.as_bytes()[starts[line]..offset].iter().filter(|byte| (**byte as i8) >= -0x40).count();
        Place { line: line as u32 + 1, column: column as u32 + 1 }
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
