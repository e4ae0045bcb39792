//! Where the places of a text are after edits.

use ohmline_syntax::{Edit, FileId, FileSpan, Span};

/// Edits, in order, each with where its text is then.
pub struct Moves(Vec<Move>);

struct Move {
    file: FileId,
    old: Span,
    new: Span,
    /// Nothing but blanks stood there.
    puts_in: bool,
}

impl Moves {
    /// Edits in any order that do not overlap.
    pub fn new(edits: &[&Edit], is_blank: impl Fn(FileSpan) -> bool) -> Self {
        let mut edits = edits.to_vec();
        edits.sort_by_key(|edit| (edit.at.file, edit.at.span.start, edit.at.span.end));
        let mut moves: Vec<Move> = Vec::with_capacity(edits.len());
        for edit in edits {
            let (file, old) = (edit.at.file, edit.at.span);
            let before = moves.last().filter(|before| before.file == file);
            let start =
                old.start - before.map_or(0, |before| before.old.end) + before.map_or(0, |before| before.new.end);
            let new = Span::new(start, start + edit.text.len() as u32);
            moves.push(Move { file, old, new, puts_in: is_blank(edit.at) });
        }
        Self(moves)
    }

    /// Where a place of a file is after the edits: a stretch, since it may have been replaced or something put right there.
    pub fn of(&self, file: FileId, place: u32) -> Span {
        let is_before = |own: &Move| {
            (own.file, own.old.end) < (file, place) || own.file == file && own.old.end == place && own.old.start < place
        };
        let first = self.0.partition_point(is_before);
        let before = self.0[..first].last().filter(|before| before.file == file);
        let plain = place - before.map_or(0, |before| before.old.end) + before.map_or(0, |before| before.new.end);
        let here = self.0[first..].iter().take_while(|own| own.file == file && own.old.start <= place);
        here.fold(None, |span: Option<Span>, own| Some(span.map_or(own.new, |span| span.to(own.new))))
            .unwrap_or(Span::new(plain, plain))
    }

    /// Whether all of a stretch of the edited text was written by one edit.
    pub fn has_written(&self, at: FileSpan) -> bool {
        let of = |own: &&Move| own.file == at.file && !own.new.is_empty();
        self.0.iter().filter(of).any(|own| own.new.start <= at.span.start && at.span.end <= own.new.end)
    }

    /// Whether an edit wrote in a stretch of the edited text or next to it, with nothing but blanks between, or took something out there. Where `only_put_in`, edits that replace something do not count.
    pub fn has_touched(&self, at: FileSpan, text: &str, only_put_in: bool) -> bool {
        let of = |own: &&Move| own.file == at.file && (own.puts_in || !only_put_in);
        let blanks = [' ', '\t'];
        self.0.iter().filter(of).any(|own| {
            let before = text.get(..own.new.start as usize).unwrap_or(text).trim_end_matches(blanks).len() as u32;
            let rest = text.get(own.new.end as usize..).unwrap_or("");
            let behind = own.new.end + (rest.len() - rest.trim_start_matches(blanks).len()) as u32;
            before <= at.span.end && at.span.start <= behind
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edit(start: u32, end: u32, text: &str) -> Edit {
        Edit { at: FileSpan::new(FileId::MAIN, Span::new(start, end)), text: text.to_owned() }
    }

    #[test]
    fn places_move_with_what_is_before_them() {
        // `ab cd ef` to `ab-- xyz efgh`.
        let (insert, replace, at_end) = (edit(2, 2, "--"), edit(3, 5, "xyz"), edit(8, 8, "gh"));
        let moves = Moves::new(&[&at_end, &replace, &insert], |_| false);
        let of = |place| (moves.of(FileId::MAIN, place).start, moves.of(FileId::MAIN, place).end);
        assert_eq!([of(0), of(1)], [(0, 0), (1, 1)]);
        // Right where something is put in: before it or behind it.
        assert_eq!(of(2), (2, 4));
        // What is replaced is anywhere in what stands there now.
        assert_eq!([of(3), of(4)], [(5, 8), (5, 8)]);
        assert_eq!([of(5), of(6), of(8)], [(8, 8), (9, 9), (11, 13)]);
        assert_eq!(Moves::new(&[&insert], |_| true).of(FileId(1), 7), Span::new(7, 7));
    }
}
