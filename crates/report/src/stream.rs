//! JSON written piece by piece: what is said of a file is written before the next file is read.

use std::io::Write;

use serde::Serialize;

/// A list in a pretty-printed document, of which each entry is written as it comes.
pub(crate) struct StreamedList {
    /// How deep its entries are indented, in steps.
    depth: usize,
    any: bool,
}

impl StreamedList {
    /// A list with entries at this depth.
    pub fn new(depth: usize) -> Self {
        Self { depth, any: false }
    }

    /// Whether nothing was written yet.
    pub fn is_empty(&self) -> bool {
        !self.any
    }

    /// Writes one entry.
    pub fn push(&mut self, out: &mut Vec<u8>, entry: &impl Serialize) {
        out.extend_from_slice(if self.any { b",\n" } else { b"[\n" });
        self.any = true;
        indent(out, self.depth);
        write_value(out, entry, self.depth);
    }

    /// Writes what ends the list.
    pub fn close(&self, out: &mut Vec<u8>) {
        if self.any {
            out.push(b'\n');
            indent(out, self.depth.saturating_sub(1));
            out.push(b']');
        } else {
            out.extend_from_slice(b"[]");
        }
    }
}

/// Writes a value of which the lines after the first are indented by this many steps.
pub(crate) fn write_value(out: &mut Vec<u8>, value: &impl Serialize, depth: usize) {
    let mut text = Vec::new();
    // Into memory, and every map of ours has texts for keys: this cannot fail.
    let _ = serde_json::to_writer_pretty(&mut text, value);
    // A newline within a text is escaped, so those left are of the layout.
    let mut lines = text.split(|byte| *byte == b'\n');
    out.extend_from_slice(lines.next().unwrap_or_default());
    for line in lines {
        out.push(b'\n');
        indent(out, depth);
        out.extend_from_slice(line);
    }
}

/// Writes the name of a member at this depth.
pub(crate) fn write_name(out: &mut Vec<u8>, name: &str, depth: usize) {
    indent(out, depth);
    // Into memory: this cannot fail.
    let _ = write!(out, "\"{name}\": ");
}

fn indent(out: &mut Vec<u8>, depth: usize) {
    for _ in 0..depth {
        out.extend_from_slice(b"  ");
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn what_is_written_by_pieces_is_the_whole() {
        for count in 0..4 {
            let entries: Vec<_> =
                (0..count).map(|at| json!({ "at": at, "of": [1, "two\nlines"], "none": [] })).collect();
            let mut out = b"{\n".to_vec();
            write_name(&mut out, "entries", 1);
            let mut list = StreamedList::new(2);
            for entry in &entries {
                list.push(&mut out, entry);
            }
            list.close(&mut out);
            out.extend_from_slice(b"\n}");
            let whole = serde_json::to_string_pretty(&json!({ "entries": entries })).expect("plain values");
            assert_eq!(String::from_utf8(out).expect("JSON is UTF-8"), whole);
        }
    }
}
