//! Byte offsets to lines and columns and back, in the three encodings that editors count in.

/// What a column counts.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Encoding {
    /// Bytes.
    Utf8,
    /// UTF-16 code units.
    Utf16,
    /// Unicode scalar values.
    Utf32,
}

/// A line and a column, both from 0.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct LineCol {
    /// The line, from 0.
    pub line: u32,
    /// The column, from 0, in units of the encoding.
    pub col: u32,
}

/// The line starts of a text.
#[derive(Clone, Debug)]
pub struct LineIndex {
    starts: Vec<u32>,
}

impl LineIndex {
    /// Finds the lines of a text.
    pub fn new(text: &str) -> Self {
        let mut starts = vec![0];
        starts.extend(memchr::memchr_iter(b'\n', text.as_bytes()).map(|at| at as u32 + 1));
        Self { starts }
    }
}
