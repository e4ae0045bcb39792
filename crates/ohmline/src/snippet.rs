//! Diagnostics for people: the headline, the lines it speaks of, and what to do about it.

use std::fmt;

use ariadne::{CharSet, Color, Config, IndexType, Label, LabelAttach, Report, ReportKind, Source};
use ohmline_analysis::AS_DRAWN;
use ohmline_circuit::Sources;
use ohmline_lint::Told;
use ohmline_report::{Paint, Tone, clean, wrap};
use ohmline_syntax::{Diagnostic, Evidence, FileId, FileSpan, Safety, Severity};

/// Columns that notes and help should fit into.
const WIDTH: usize = 100;

/// Most labels shown of one diagnostic beside its own place.
const MOST_LABELS: usize = 40;

/// Most steps shown of one proof; programs get all of them.
const MOST_STEPS: usize = 40;

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
        let character = |offset: usize| {
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
    for c in text.chars() {
        shown.push(match c {
            '\n' | '\r' | '\t' => c,
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
            self.line("only in", &cases(&diagnostic.cases), out);
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

    /// Writes what proves it, one line a step.
    pub fn prove(&self, proof: &Evidence, out: &mut Vec<u8>) {
        let Told { title, lines, conclusion } = Told::new(proof, MOST_STEPS);
        self.line("proof", &format!("{title}\n{}\n{conclusion}", lines.join("\n")), out);
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

    /// The lines of source with their labels: of very many the first, since placing them takes time that grows with the cube of their
    /// number, and nobody reads them.
    fn extracts(&mut self, diagnostic: &Diagnostic, color: Color, out: &mut Vec<u8>) {
        let mut labels = Vec::new();
        let all = std::iter::once((&diagnostic.primary, color, 0))
            .chain(diagnostic.labels.iter().map(|one| (one, Color::Blue, 1)));
        for (label, color, rank) in all.take(1 + MOST_LABELS) {
            if let Some((characters, first, last)) = self.texts.locate(label.at) {
                labels.push((label.at.file, last, rank, characters, first, color, &label.text));
            }
        }
        let Some((primary_file, _, _, primary_at, ..)) = labels.first().cloned() else { return };
        let left_out = diagnostic.labels.len().saturating_sub(MOST_LABELS);
        // In text order within a file; the file of the headline first.
        labels.sort_by_key(|(file, last, rank, characters, ..)| {
            (*file != primary_file, *file, *last, *rank, characters.start)
        });
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
            // The library marks nothing at a label without words.
            let text = if text.is_empty() { "here" } else { text.as_str() };
            placed.push((extract, Label::new((extract, characters)).with_color(color).with_message(clean(text))));
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
        match left_out {
            0 => {}
            1 => self.line("left out", "1 more place", out),
            several => self.line("left out", &format!("{several} more places"), out),
        }
    }
}

/// `the circuit as drawn, cases "night", "storm"`
fn cases(cases: &[String]) -> String {
    let drawn = cases.iter().any(|case| case == AS_DRAWN).then(|| "the circuit as drawn".to_owned());
    let named: Vec<String> =
        cases.iter().filter(|case| *case != AS_DRAWN).map(|case| format!("\"{}\"", clean(case))).collect();
    let named = match named.len() {
        0 => None,
        1 => Some(format!("case {}", named[0])),
        _ => Some(format!("cases {}", named.join(", "))),
    };
    drawn.into_iter().chain(named).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use expect_test::{Expect, expect};
    use ohmline_circuit::Source as File;
    use ohmline_syntax::{LineIndex, Span};
    use proptest::prelude::*;

    use super::*;

    fn sources(files: &[(&str, &str)]) -> Sources {
        let file = |(name, text): &(&str, &str)| File {
            name: (*name).to_owned(),
            path: None,
            tree: Arc::new(ohmline_syntax::parse(&Arc::from(*text))),
            lines: Arc::new(LineIndex::new(text)),
            includes: Vec::new(),
        };
        Sources { files: files.iter().map(file).collect() }
    }

    fn at(file: u32, start: usize, end: usize) -> FileSpan {
        FileSpan::new(FileId(file), Span::new(start as u32, end as u32))
    }

    /// The place of a word in a text.
    fn word(text: &str, word: &str) -> FileSpan {
        let start = text.find(word).expect("the word is in the text");
        at(0, start, start + word.len())
    }

    fn render(files: &[(&str, &str)], diagnostic: &Diagnostic, paint: Paint) -> String {
        let sources = sources(files);
        let mut out = Vec::new();
        Snippets::new(&sources, paint).write(diagnostic, &mut out);
        String::from_utf8(out).expect("written from strings")
    }

    fn check(files: &[(&str, &str)], diagnostic: &Diagnostic, expected: Expect) {
        expected.assert_eq(&render(files, diagnostic, Paint::default()));
    }

    #[test]
    fn labels_notes_help_and_fixes() {
        let text =
            "battery B1 = 4.5 V\n\nB1+ -- R1 -- @fork -- R2 -- B1-\n@fork -- R3 -- B1-\nclaim R1, R2 in series\n";
        let wrong = Diagnostic::new(
            "split-series",
            Severity::Error,
            word(text, "claim R1, R2 in series"),
            "R1 and R2 are not in series: R3 joins between them at @fork",
        )
        .here("claimed here")
        .label(at(0, text.find("@fork").unwrap(), text.find("@fork").unwrap() + 5), "R1 and R2 meet here")
        .label(word(text, "R3"), "the third wire")
        .note("Elements are in series when nothing else that can carry current joins between them, so that one and the same current flows through both")
        .help("Say what is true, such as `claim R2, R3 in parallel`")
        .fix("Take the claim out", Safety::Asks, word(text, "claim R1, R2 in series"), "");
        check(
            &[("pier.ohmline", text)],
            &wrong,
            expect![[r#"
            error: R1 and R2 are not in series: R3 joins between them at @fork [split-series]
               ╭─[ pier.ohmline:5:1 ]
               │
             3 │ B1+ -- R1 -- @fork -- R2 -- B1-
               │              ──┬──
               │                ╰──── R1 and R2 meet here
             4 │ @fork -- R3 -- B1-
               │          ─┬
               │           ╰── the third wire
             5 │ claim R1, R2 in series
               │ ───────────┬──────────
               │            ╰──────────── claimed here
            ───╯
              note: Elements are in series when nothing else that can carry current joins between them, so that
                    one and the same current flows through both
              help: Say what is true, such as `claim R2, R3 in parallel`
              possible fix: Take the claim out
        "#]],
        );
    }

    #[test]
    fn zero_width_end_of_file_and_empty_file() {
        let text = "B1+ --";
        let end = Diagnostic::new("missing-item", Severity::Error, at(0, 6, 6), "Something is missing").here("here");
        check(
            &[("a.ohmline", text)],
            &end,
            expect![[r#"
            error: Something is missing [missing-item]
               ╭─[ a.ohmline:1:7 ]
               │
             1 │ B1+ --
               │       │
               │       ╰─ here
            ───╯
        "#]],
        );
        let end = Diagnostic::new("missing-end", Severity::Error, at(0, 7, 7), "The part is not closed").here("here");
        check(
            &[("a.ohmline", "part x\n")],
            &end,
            expect![[r#"
            error: The part is not closed [missing-end]
               ╭─[ a.ohmline:2:1 ]
               │
             2 │
               │ │
               │ ╰─ here
            ───╯
        "#]],
        );
        let end = Diagnostic::new("empty-file", Severity::Info, at(0, 0, 0), "There is nothing here").here("here");
        check(
            &[("a.ohmline", "")],
            &end,
            expect![[r#"
            info: There is nothing here [empty-file]
               ╭─[ a.ohmline:1:1 ]
               │
             1 │
               │ │
               │ ╰─ here
            ───╯
        "#]],
        );
    }

    #[test]
    fn line_ends_tabs_and_wide_characters() {
        let text = "# 🚢 harbor\r\n\tlamp\tЛ1 = 6 Ω # 灯\r\nB1+ -- Л2 -- B1-\r\n";
        let unknown = Diagnostic::new("unknown-name", Severity::Error, word(text, "Л2"), "There is no element Л2")
            .here("not declared")
            .label(word(text, "Л1"), "this one is")
            .fix("Write `Л1`", Safety::Safe, word(text, "Л2"), "Л1");
        check(
            &[("пирс.ohmline", text)],
            &unknown,
            expect![[r#"
            error: There is no element Л2 [unknown-name]
               ╭─[ пирс.ohmline:3:8 ]
               │
             2 │     lamp   Л1 = 6 Ω # 灯
               │            ─┬
               │             ╰── this one is
             3 │ B1+ -- Л2 -- B1-
               │        ─┬
               │         ╰── not declared
            ───╯
              fix: Write `Л1`
        "#]],
        );
    }

    #[test]
    fn places_in_other_files_and_far_away() {
        let mut main = "include \"kit.ohmline\"\n".to_owned();
        main.push_str(&"# quay\n".repeat(300));
        let here = main.len();
        main.push_str("lantern L1, droper 47 ohm\n");
        // Cyrillic letters before the place: a library that took bytes for characters would point elsewhere, or fail.
        let kit = "# набережная\npart lantern(in, out), dropper 33 ohm\nend\n";
        let place = kit.find("dropper").unwrap();
        let wrong = Diagnostic::new(
            "unknown-option",
            Severity::Error,
            at(0, here + 12, here + 18),
            "A lantern has no `droper`",
        )
        .here("this option")
        .label(at(1, place, place + 7), "it has this one")
        .label(at(0, 8, 21), "from here");
        check(
            &[("main.ohmline", &main), ("kit.ohmline", kit)],
            &wrong,
            expect![[r#"
            error: A lantern has no `droper` [unknown-option]
                 ╭─[ main.ohmline:302:13 ]
                 │
             302 │ lantern L1, droper 47 ohm
                 │             ───┬──
                 │                ╰──── this option
                 │
                 ├─[ main.ohmline:1:9 ]
                 │
               1 │ include "kit.ohmline"
                 │         ──────┬──────
                 │               ╰──────── from here
                 │
                 ├─[ kit.ohmline:2:24 ]
                 │
               2 │ part lantern(in, out), dropper 33 ohm
                 │                        ───┬───
                 │                           ╰───── it has this one
            ─────╯
        "#]],
        );
    }

    #[test]
    fn several_lines_and_cases() {
        let text = "B1+ -- ( R1\n    | R2 )\n    -- B1-\n";
        let wrong = Diagnostic {
            cases: vec![AS_DRAWN.into(), "night".into(), "storm".into()],
            ..Diagnostic::new("shorted-source", Severity::Warning, at(0, 0, text.len() - 1), "B1 is shorted")
                .here("all of this")
        };
        check(
            &[("a.ohmline", text)],
            &wrong,
            expect![[r#"
            warning: B1 is shorted [shorted-source]
               ╭─[ a.ohmline:1:1 ]
               │
             1 │ ╭─▶ B1+ -- ( R1
               ┆ ┆
             3 │ ├─▶     -- B1-
               │ │
               │ ╰──────────────── all of this
            ───╯
              only in: the circuit as drawn, cases "night", "storm"
        "#]],
        );
    }

    #[test]
    fn very_many_places_are_shown_in_part_and_at_once() {
        let names: Vec<String> = (0..1000).map(|k| format!("S{k}")).collect();
        let text = format!("{}\n", names.join(" -- "));
        let mut wrong = Diagnostic::new("shorted-source", Severity::Error, at(0, 0, 2), "All are closed");
        for name in &names {
            wrong = wrong.label(word(&text, name), "closed");
        }
        let said = render(&[("a.ohmline", &text)], &wrong, Paint::default());
        assert!(said.ends_with("  left out: 960 more places\n"), "{said}");
        assert!(said.lines().count() < 120, "{said}");
    }

    #[test]
    fn nothing_steers_the_terminal() {
        let text = "lamp \x1b[31mL1 = 6 ohm\u{2028}still line 1\u{202e}\n";
        let wrong = Diagnostic::new("bad-character", Severity::Error, word(text, "L1"), "Escape \x1b[31m here");
        check(
            &[("a\x1b.ohmline", text)],
            &wrong,
            expect![[r#"
                error: Escape �[31m here [bad-character]
                   ╭─[ a�.ohmline:1:11 ]
                   │
                 1 │ lamp  [31mL1 = 6 ohm still line 1�
                   │           ─┬
                   │            ╰── here
                ───╯
            "#]],
        );
    }

    #[test]
    fn color_only_when_wished() {
        let text = "B1+ -- R1\n";
        let wrong = Diagnostic::new("open-end", Severity::Warning, word(text, "R1"), "R1 leads nowhere").here("open");
        assert!(!render(&[("a.ohmline", text)], &wrong, Paint { on: false }).contains('\x1b'));
        assert!(render(&[("a.ohmline", text)], &wrong, Paint { on: true }).contains("\x1b["));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        /// Whatever the places are, also outside the text and inside characters, there is a report, and always the same.
        #[test]
        fn any_place_in_any_text(text in "(\\PC|\n|\r\n|\t|\r|🚢|Ω|\u{2028}){0,60}", spans in prop::collection::vec((0u32..140, 0u32..140), 1..5)) {
            let spans: Vec<_> = spans.iter().map(|(a, b)| at(0, *a as usize, *b as usize)).collect();
            let mut wrong = Diagnostic::new("any", Severity::Error, spans[0], "Anything").here("here");
            for span in &spans[1..] {
                wrong = wrong.label(*span, "there");
            }
            let files = [("a.ohmline", text.as_str())];
            let once = render(&files, &wrong, Paint::default());
            prop_assert!(once.starts_with("error: Anything [any]\n"));
            prop_assert!(once.contains("here"));
            prop_assert_eq!(once, render(&files, &wrong, Paint::default()));
        }
    }
}
