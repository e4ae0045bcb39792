//! Where something stands in the text, in bytes.

/// A stretch of one file, as absolute byte offsets; `end` is exclusive.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Debug)]
pub struct Span {
    /// Offset of the first byte.
    pub start: u32,
    /// Offset just past the last byte.
    pub end: u32,
}

impl Span {
    /// The stretch from `start` up to `end`.
    pub const fn new(start: u32, end: u32) -> Self {
        Self { start, end }
    }

    /// Number of bytes.
    pub const fn len(self) -> u32 {
        self.end - self.start
    }

    /// Whether the stretch holds no byte.
    pub const fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// Whether `offset` lies inside, or just behind the last byte (where a cursor still touches it).
    pub const fn touches(self, offset: u32) -> bool {
        self.start <= offset && offset <= self.end
    }

    /// The smallest stretch that holds both.
    pub fn to(self, other: Span) -> Span {
        Span::new(self.start.min(other.start), self.end.max(other.end))
    }

    /// As a range for slicing text.
    pub const fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// A stretch relative to the start of its statement.
///
/// The tree stores only these, so that a statement can be reused unchanged when text before it grows or
/// shrinks. [`Stmt::span`](crate::tree::Stmt::span) makes them absolute; the two types cannot be mixed up.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Debug)]
pub struct RelSpan {
    /// Offset of the first byte from the start of the statement.
    pub start: u32,
    /// Offset just past the last byte from the start of the statement.
    pub end: u32,
}

impl RelSpan {
    /// The stretch from `start` up to `end`.
    pub const fn new(start: u32, end: u32) -> Self {
        Self { start, end }
    }

    /// The smallest stretch that holds both.
    pub fn to(self, other: RelSpan) -> RelSpan {
        RelSpan::new(self.start.min(other.start), self.end.max(other.end))
    }

    /// Absolute, for a statement that starts at `offset`.
    pub const fn at(self, offset: u32) -> Span {
        Span::new(self.start + offset, self.end + offset)
    }
}

/// A file of the analysis: 0 is the file asked about, the others are what it includes.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Debug)]
pub struct FileId(pub u32);

impl FileId {
    /// The file that the analysis was asked about.
    pub const MAIN: FileId = FileId(0);
}

/// A stretch of a named file.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Debug)]
pub struct FileSpan {
    /// Which file.
    pub file: FileId,
    /// Where in it.
    pub span: Span,
}

impl FileSpan {
    /// A stretch of the given file.
    pub const fn new(file: FileId, span: Span) -> Self {
        Self { file, span }
    }
}
