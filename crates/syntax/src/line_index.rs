//! Byte offsets to lines and columns and back, in the three encodings that editors count in.
//!
//! A line ends with LF, CRLF or a lone CR, as the Language Server Protocol 3.17 (section "Text Documents") has it; other
//! separators of Unicode, such as U+2028, are characters like all others.

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

impl Encoding {
    /// How many units a character takes.
    const fn units(self, character: char) -> u32 {
        match self {
            Encoding::Utf8 => character.len_utf8() as u32,
            Encoding::Utf16 => character.len_utf16() as u32,
            Encoding::Utf32 => 1,
        }
    }
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
///
/// It holds no text: callers pass the same text that it was made from. With another text the answers are of no
/// use, but nothing panics.
#[derive(Clone, Debug)]
pub struct LineIndex {
    starts: Vec<u32>,
}

impl LineIndex {
    /// Finds the lines of a text.
    pub fn new(text: &str) -> Self {
        let bytes = text.as_bytes();
        let mut starts = vec![0];
        starts.extend(
            memchr::memchr2_iter(b'\n', b'\r', bytes)
                .filter(|&at| bytes[at] == b'\n' || bytes.get(at + 1) != Some(&b'\n'))
                .map(|at| at as u32 + 1),
        );
        Self { starts }
    }

    /// Number of lines; a text that ends with a line end has an empty last line, and an empty text has one line.
    pub fn line_count(&self) -> u32 {
        self.starts.len() as u32
    }

    /// Offset of the first byte of a line; `None` past the last line.
    pub fn line_start(&self, line: u32) -> Option<u32> {
        self.starts.get(line as usize).copied()
    }

    /// The line in which an offset stands; an offset past the end stands in the last line.
    pub fn line_of(&self, offset: u32) -> u32 {
        // The first start is 0, so at least one start is not greater than any offset.
        self.starts.partition_point(|&start| start <= offset).saturating_sub(1) as u32
    }

    /// The byte offset of a position.
    ///
    /// Clamps: a line past the end is the end of the text, a column past the end of its line is that end before the
    /// line's newline, and a column inside a character is the start of that character.
    pub fn offset(&self, text: &str, at: LineCol, encoding: Encoding) -> u32 {
        let Some(start) = self.line_start(at.line) else { return text.len() as u32 };
        let line = self.line_text(text, at.line);
        if line.is_ascii() {
            return start + at.col.min(line.len() as u32);
        }
        let mut col = 0;
        for (byte, character) in line.char_indices() {
            col += encoding.units(character);
            if col > at.col {
                return start + byte as u32;
            }
        }
        start + line.len() as u32
    }

    /// The position of a byte offset.
    ///
    /// Clamps: an offset past the end is the end, one inside a character is that character's start, and one between
    /// the CR and the LF of a line end is the end of that line.
    pub fn line_col(&self, text: &str, offset: u32, encoding: Encoding) -> LineCol {
        let offset = text.floor_char_boundary(offset as usize) as u32;
        let line = self.line_of(offset);
        let start = self.starts[line as usize];
        let body = self.line_text(text, line);
        let wanted = body.floor_char_boundary((offset - start) as usize);
        let before = &body[..wanted];
        let col = match encoding {
            Encoding::Utf8 => wanted as u32,
            _ if before.is_ascii() => wanted as u32,
            _ => before.chars().map(|character| encoding.units(character)).sum(),
        };
        LineCol { line, col }
    }

    /// The text of a line without its newline.
    fn line_text<'t>(&self, text: &'t str, line: u32) -> &'t str {
        let start = self.starts.get(line as usize).map_or(text.len(), |&start| start as usize);
        let end = self.starts.get(line as usize + 1).map_or(text.len(), |&end| end as usize);
        let body = text.get(start..end).unwrap_or("");
        if line as usize + 1 == self.starts.len() {
            return body;
        }
        body.strip_suffix("\r\n").or_else(|| body.strip_suffix(['\n', '\r'])).unwrap_or(body)
    }
}
