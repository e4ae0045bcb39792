//! Diagnostics for people: the headline, the lines it speaks of, and what to do about it.

use std::fmt;

use ariadne::{CharSet, Color, Config, IndexType, Label, LabelAttach, Report, ReportKind, Source};
use ohmline_circuit::Sources;
use ohmline_report::{Paint, Tone, clean, wrap};
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Safety, Severity};

/// Columns that notes and help should fit into.
const WIDTH: usize = 100;

/// Lines between two labels from which on they are shown as two extracts.
const FAR: usize = 200;

/// An extract of a file: labels that are far apart in one file are shown in several.
type Extract = (u32, u32);

/// A place in an extract, in characters.
type Place = (Extract, std::ops::Range<usize>);

/// Renders the diagnostics of one analysis.
pub struct Snippets<'a> {
    texts: Texts<'a>,
    paint: Paint,
}

/// The texts, prepared when first shown.
struct Texts<'a> {
    sources: &'a Sources,
    prepared: Vec<Option<Source<String>>>,
}

impl Texts<'_> {
    fn get(&mut self, file: u32) -> Option<&Source<String>> {
        let source = self.sources.files.get(file as usize)?;
        let slot = self.prepared.get_mut(file as usize)?;
        Some(slot.get_or_insert_with(|| Source::from(printable(&source.tree.text))))
    }

    /// The characters of a stretch, and the lines of its first and last character; whatever the offsets are, the result lies in the text.
    fn locate(&mut self, at: FileSpan) -> Option<(std::ops::Range<usize>, usize, usize)> {
        // Offsets count in the file itself: what was appended for printing is not its text.
        let length = self.sources.files.get(at.file.0 as usize)?.tree.text.len();
        let source = self.get(at.file.0)?;
        let mut character = |offset: usize| {
            let (line, number, column) = source.get_byte_line(offset.min(length))?;
            let text = source.get_line_text(line)?;
            let mut column = column.min(text.len());
            while !text.is_char_boundary(column) {
                column -= 1;
            }
            Some((line.offset() + text[..column].chars().count(), number))
        };
        let (start, first) = character(at.span.start as usize)?;
        let (end, _) = character(at.span.end.max(at.span.start) as usize)?;
        let last = source.get_offset_line(end.saturating_sub(1).max(start)).map_or(first, |(_, line, _)| line);
        Some((start..end.max(start), first, last))
    }
}

impl ariadne::Cache<Extract> for &mut Texts<'_> {
    type Storage = String;

    fn fetch(&mut self, id: &Extract) -> Result<&Source<String>, impl fmt::Debug> {
        self.get(id.0).ok_or("no such file")
    }

    fn display<'a>(&self, id: &'a Extract) -> Option<impl fmt::Display + 'a> {
        self.sources.files.get(id.0 as usize).map(|source| clean(&source.name))
    }
}

/// The text with the same lengths in bytes, but without characters that would break a line elsewhere than the language does, steer the
/// terminal, or turn the direction of writing; and with a blank at the end, so that the end of the text can be pointed at.
fn printable(text: &str) -> String {
    let mut shown = String::with_capacity(text.len() + 1);
    let mut characters = text.chars().peekable();
    while let Some(c) = characters.next() {
        shown.push(match c {
            '\n' | '\t' => c,
            '\r' if characters.peek() == Some(&'\n') => c,
            c if c.is_ascii_control() => ' ',
            '\u{80}'..='\u{9f}' => '\u{a0}',
            '\u{2028}' | '\u{2029}' => '\u{2003}',
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
            c => c,
        });
    }
    debug_assert_eq!(shown.len(), text.len());
    shown.push(' ');
    shown
}

impl<'a> Snippets<'a> {
    /// For the files of an analysis.
    pub fn new(sources: &'a Sources, paint: Paint) -> Self {
        let prepared = sources.files.iter().map(|_| None).collect();
        Self { texts: Texts { sources, prepared }, paint }
    }

    /// Writes one diagnostic.
    pub fn write(&mut self, diagnostic: &Diagnostic, out: &mut Vec<u8>) {
        let (tone, color) = match diagnostic.severity {
            Severity::Error => (Tone::Bad, Color::Red),
            Severity::Warning => (Tone::Doubt, Color::Yellow),
            Severity::Info => (Tone::Note, Color::Cyan),
            Severity::Hint => (Tone::Note, Color::Green),
        };
        let headline = format!(
            "{} {} {}\n",
            self.paint.tone(tone, &format!("{}:", diagnostic.severity.word())),
            self.paint.tone(Tone::Strong, &clean(&diagnostic.message)),
            self.paint.tone(Tone::Faint, &format!("[{}]", diagnostic.rule)),
        );
        out.extend_from_slice(headline.as_bytes());
        self.extracts(diagnostic, color, out);
        if !diagnostic.cases.is_empty() {
            let cases: Vec<String> = diagnostic.cases.iter().map(|case| format!("\"{}\"", clean(case))).collect();
            let word = if cases.len() == 1 { "case" } else { "cases" };
            self.line("only in", &format!("{word} {}", cases.join(", ")), out);
        }
        diagnostic.notes.iter().for_each(|note| self.line("note", note, out));
        diagnostic.help.iter().for_each(|help| self.line("help", help, out));
        for fix in &diagnostic.fixes {
            // What only the author can decide is offered, not urged.
            let word = match fix.safety {
                Safety::Safe => "fix",
                Safety::Asks => "possible fix",
            };
            self.line(word, &fix.title, out);
        }
    }

    fn line(&self, word: &str, text: &str, out: &mut Vec<u8>) {
        let indent = word.len() + 4;
        for (at, line) in text.lines().flat_map(|line| wrap(&clean(line), WIDTH - indent)).enumerate() {
            let start = if at == 0 {
                format!("  {} ", self.paint.tone(Tone::Note, &format!("{word}:")))
            } else {
                " ".repeat(indent)
            };
            out.extend_from_slice(format!("{start}{line}\n").as_bytes());
        }
    }

    /// The lines of source with their labels.
    fn extracts(&mut self, diagnostic: &Diagnostic, color: Color, out: &mut Vec<u8>) {
        let mut labels = Vec::new();
        let all = std::iter::once((&diagnostic.primary, color, 0)).chain(diagnostic.labels.iter().map(|one| (one, Color::Blue, 1)));
        for (label, color, rank) in all {
            if let Some((characters, first, last)) = self.texts.locate(label.at) {
                labels.push((label.at.file, last, rank, characters, first, color, &label.text));
            }
        }
        let Some((primary_file, _, _, primary_at, ..)) = labels.first().cloned() else { return };
        // In text order within a file; the file of the headline first.
        labels.sort_by_key(|(file, last, rank, characters, ..)| (*file != primary_file, *file, *last, *rank, characters.start));
        let mut placed: Vec<(Extract, Label<Place>)> = Vec::new();
        let mut primary = ((primary_file.0, 0), primary_at.clone());
        let mut earlier: Option<(FileId, usize, u32)> = None;
        for (file, last, rank, characters, first, color, text) in labels {
            let part = match earlier {
                Some((other, line, part)) if other == file => part + u32::from(first > line + FAR),
                _ => 0,
            };
            earlier = Some((file, last, part));
            let extract = (file.0, part);
            if rank == 0 {
                primary.0 = extract;
            }
            let mut label = Label::new((extract, characters)).with_color(color);
            if !text.is_empty() {
                label = label.with_message(clean(text));
            }
            placed.push((extract, label));
        }
        // The extract with the headline's place comes first.
        placed.sort_by_key(|(extract, _)| *extract != primary.0);
        let config = Config::new()
            // Offsets are converted here: with byte offsets the library takes those of a second file for characters.
            .with_index_type(IndexType::Char)
            .with_char_set(CharSet::Unicode)
            .with_label_attach(LabelAttach::Middle)
            .with_color(self.paint.on)
            .with_tab_width(4);
        let mut report = Report::build(ReportKind::Error, primary).with_config(config);
        for (order, (_, label)) in placed.into_iter().enumerate() {
            report.add_label(label.with_order(order as i32));
        }
        let mut drawn = Vec::new();
        if report.finish().write(&mut self.texts, &mut drawn).is_err() {
            return;
        }
        // The first line is the library's own headline.
        let drawn = String::from_utf8_lossy(&drawn);
        for line in drawn.lines().skip(1) {
            out.extend_from_slice(line.trim_end().as_bytes());
            out.push(b'\n');
        }
    }
}
