//! Broken input: nothing panics, nothing hangs, and a wrong line never takes a right one with it.

mod harness;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use harness::{Random, samples};
use ohmline_analysis::{Analysis, FileSystem, Settings, analyze, load};
use ohmline_syntax::tree::{Stmt, StmtKind};
use ohmline_syntax::{Tree, parse, reparse};

/// A disk without files: includes are reported, not followed.
struct NoFiles;

impl FileSystem for NoFiles {
    fn read(&self, _path: &Path) -> Result<Arc<str>, String> {
        Err("there is no such file".to_owned())
    }

    fn exists(&self, _path: &Path) -> bool {
        false
    }
}

fn analysis(text: &str) -> Analysis {
    let tree = Arc::new(parse(text));
    analyze(load("broken.ohmline", None, tree, &NoFiles), &Settings::default())
}

/// Analyses a text; a panic is reported with the text that caused it.
fn survives(text: &str, what: &str) -> Analysis {
    let start = Instant::now();
    let result = catch_unwind(AssertUnwindSafe(|| analysis(text)));
    let Ok(found) = result else { panic!("{what}: this text causes a panic:\n{text}") };
    assert!(start.elapsed() < Duration::from_secs(20), "{what}: this text takes {:?}:\n{text}", start.elapsed());
    for diagnostic in &found.diagnostics {
        let labels = diagnostic.labels.iter().map(|label| label.at);
        let edits = diagnostic.fixes.iter().flat_map(|fix| fix.edits.iter().map(|edit| edit.at));
        for at in std::iter::once(diagnostic.primary.at).chain(labels).chain(edits) {
            assert!(
                found.sources.file(at.file).tree.text.get(at.span.range()).is_some(),
                "{what}: `{}` points outside the text or into a character:\n{text}",
                diagnostic.message
            );
        }
        for fix in &diagnostic.fixes {
            let in_order = fix.edits.is_sorted_by(|a, b| a.at.file != b.at.file || a.at.span.end <= b.at.span.start);
            assert!(in_order, "{what}: the edits of `{}` overlap:\n{text}", fix.title);
        }
        assert!(!diagnostic.message.contains('\n'), "{what}: a headline of two lines: {}", diagnostic.message);
    }
    found
}

/// The names declared in a text, in order.
fn declared(tree: &Tree) -> Vec<String> {
    let mut names = Vec::new();
    for stmt in &tree.stmts {
        if let StmtKind::Declare(declare) = &stmt.node.kind {
            names.extend(declare.names.iter().map(|name| name.text.to_string()));
        }
    }
    names
}

/// Every statement that was understood, wherever it stands, sorted: of places only those inside the statement are told. Heads and ends
/// of blocks are left out, since what they are depends on each other.
fn statements(tree: &Tree) -> Vec<String> {
    let told = |stmt: &Stmt| match &stmt.node.kind {
        StmtKind::Error | StmtKind::Part { .. } | StmtKind::Repeat { .. } | StmtKind::End => None,
        kind => Some(format!("{kind:?}")),
    };
    let mut all: Vec<String> = tree.stmts.iter().filter_map(told).collect();
    all.sort();
    all
}

/// What of the first list is not in the second, each as often as it is missing; both are sorted.
fn missing(wanted: &[String], found: &[String]) -> Vec<String> {
    let mut rest = found.iter().peekable();
    let mut missing = Vec::new();
    for one in wanted {
        while rest.next_if(|other| *other < one).is_some() {}
        if rest.next_if(|other| *other == one).is_none() {
            missing.push(one.clone());
        }
    }
    missing
}

fn texts() -> Vec<(String, String)> {
    samples()
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).expect("samples are readable");
            (path.file_name().expect("a sample has a name").to_string_lossy().into_owned(), text)
        })
        .collect()
}

/// A file as it is while someone types it from top to bottom.
#[test]
fn every_prefix_of_every_sample_is_read_as_far_as_it_goes() {
    for (name, text) in texts() {
        let whole = parse(&text);
        let mut ends: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
        ends.push(text.len());
        for end in ends {
            let prefix = &text[..end];
            // Statements that end before the line with the cut stand as they will stand.
            let line = prefix.rfind('\n').map_or(0, |at| at + 1);
            let complete = whole.stmts.iter().take_while(|stmt| (stmt.range().end as usize) < line).count();
            // The last of them may still be waiting for a line that goes on.
            let complete = complete.saturating_sub(1);
            let tree = parse(prefix);
            assert!(tree.stmts.len() >= complete, "{name} up to byte {end}: only {} statements", tree.stmts.len());
            for (old, new) in whole.stmts[..complete].iter().zip(&tree.stmts) {
                assert_eq!(old.offset, new.offset, "{name} up to byte {end}");
                assert_eq!(old.node.kind, new.node.kind, "{name} up to byte {end}");
            }
        }
    }
}

#[test]
fn every_sample_is_read_whole() {
    for (name, text) in texts() {
        for stmt in &parse(&text).stmts {
            assert_eq!(stmt.node.problems, [], "{name}: {}", &text[stmt.range().range()]);
        }
    }
}

/// Reading only what changed gives what reading everything gives, letter by letter.
#[test]
fn typing_a_sample_gives_the_same_tree_as_reading_it() {
    for (name, text) in texts() {
        let mut tree = parse("");
        for (at, letter) in text.char_indices() {
            let prefix = &text[..at + letter.len_utf8()];
            tree = reparse(&tree, prefix);
            let fresh = parse(prefix);
            let same = tree.stmts.len() == fresh.stmts.len()
                && tree.stmts.iter().zip(&fresh.stmts).all(|(a, b)| a.offset == b.offset && a.node == b.node)
                && tree.blocks == fresh.blocks;
            assert!(same, "{name} up to byte {at}");
        }
    }
}

/// The same, through every stage. The stages after the parser are dear, so only at the ends of lines, in their middle, and at blanks.
#[test]
fn every_stage_survives_a_file_being_typed() {
    for (name, text) in texts() {
        let mut last = '\n';
        for (at, letter) in text.char_indices() {
            if letter == '\n' || last == ' ' || at % 7 == 0 {
                survives(&text[..at], &format!("{name} up to byte {at}"));
            }
            last = letter;
        }
        let whole = survives(&text, &name);
        assert_eq!(whole.sources.files[0].tree.text.as_ref(), text, "{name}: the text is kept");
    }
}

#[test]
fn a_missing_line_takes_only_itself_away() {
    for (name, text) in texts() {
        let lines: Vec<&str> = text.lines().collect();
        let all = declared(&parse(&text));
        for missing in 0..lines.len() {
            let rest: Vec<&str> =
                lines.iter().enumerate().filter(|(index, _)| *index != missing).map(|(_, line)| *line).collect();
            let rest = rest.join("\n");
            let gone = declared(&parse(lines[missing]));
            let found = survives(&rest, &format!("{name} without line {}", missing + 1));
            let tree = &found.sources.files[0].tree;
            let mut left = all.clone();
            for name in gone {
                let at =
                    left.iter().position(|other| *other == name).expect("what the line declares is declared in all");
                left.remove(at);
            }
            let (mut now, mut left) = (declared(tree), left);
            now.sort();
            left.sort();
            assert_eq!(now, left, "{name} without line {}", missing + 1);
        }
    }
}

/// Whether neither this line nor the next goes on with a statement begun above it.
fn stands_alone(lines: &[&str], index: usize) -> bool {
    let goes_on = |line: &&str| ["--", "|", ",", ")"].iter().any(|start| line.trim_start().starts_with(start));
    !lines[index..].iter().take(2).any(goes_on)
}

#[test]
fn swapped_lines_declare_the_same_elements() {
    let mut random = Random::new(7);
    for (name, text) in texts() {
        let lines: Vec<&str> = text.lines().collect();
        let mut all = declared(&parse(&text));
        all.sort();
        let read = statements(&parse(&text));
        for _ in 0..40 {
            let (a, b) = (random.below(lines.len()), random.below(lines.len()));
            if !stands_alone(&lines, a) || !stands_alone(&lines, b) {
                continue;
            }
            let mut swapped = lines.clone();
            swapped.swap(a, b);
            let what = format!("{name} with lines {} and {} swapped", a + 1, b + 1);
            let found = survives(&swapped.join("\n"), &what);
            let mut now = declared(&found.sources.files[0].tree);
            now.sort();
            assert_eq!(now, all, "{what}");
            assert_eq!(statements(&found.sources.files[0].tree), read, "{what}");
        }
    }
}

/// Lines that are wrong in ways that people and clipboards are wrong.
const JUNK: &[&str] = &[
    "B1+ --",
    "-- B1-",
    "(",
    "( R1 | R2",
    ")",
    "R1 -- -- R2",
    "resistor",
    "resistor R9 =",
    "resistor R9 = 4,7 ohm",
    "resistor 9R = 1 ohm",
    "resistor R9 = (1 ohm",
    "claim",
    "claim R1 in",
    "claim current through = 3 A",
    "case night: S1 = open",
    "case \"night\" S1 = open",
    "\"",
    "circuit \"no end",
    "@",
    "@@",
    "R1 R2 -- @a",
    "B1+ --- R1 —— B1-",
    "find current",
    "repeat k from 1",
    "{k}",
    "[R1; R2]",
    "\u{feff}\u{202e}\u{0}",
    "🔋 -- 💡",
    "let x = 1 / 0",
    "resistor R9 = 1e999999999 ohm",
    "((((((((((((((((((((((((((((((((((((((((",
    "+-+-+-+-+-+-",
];

#[test]
fn a_wrong_line_spoils_no_other() {
    for (name, text) in texts() {
        let lines: Vec<&str> = text.lines().collect();
        let whole = parse(&text);
        let all = declared(&whole);
        for (index, junk) in JUNK.iter().enumerate() {
            // Between statements, where no line goes on: a blank or documented line, or the end.
            let at = (index * 5 + 1) % (lines.len() + 1);
            let at = (at..=lines.len()).find(|&at| at == lines.len() || lines[at].trim().is_empty());
            let at = at.unwrap_or(lines.len());
            let mut broken: Vec<&str> = lines.clone();
            // A blank line ends the statement above even when the junk looks as if it went on.
            broken.splice(at..at, ["", junk]);
            let what = format!("{name} with `{junk}` as line {}", at + 2);
            let found = survives(&broken.join("\n"), &what);
            let now = declared(&found.sources.files[0].tree);
            assert!(all.iter().all(|name| now.contains(name)), "{what}");
            let gone = missing(&statements(&whole), &statements(&found.sources.files[0].tree));
            assert_eq!(gone, Vec::<String>::new(), "{what}");
        }
    }
}

#[test]
fn random_bytes_in_a_sample_are_survived() {
    let mut random = Random::new(11);
    for (name, text) in texts() {
        for round in 0..60 {
            let mut bytes = text.clone().into_bytes();
            for _ in 0..=random.below(6) {
                let at = random.below(bytes.len());
                match random.below(4) {
                    0 => bytes[at] = (random.bits() >> 40) as u8,
                    1 => bytes[at] = *random.pick(b"\n\t\0 +-@#(),|=\"{}.?%"),
                    2 => {
                        let until = (at + random.below(40)).min(bytes.len());
                        bytes.drain(at..until);
                    }
                    _ => {
                        let until = (at + random.below(80)).min(bytes.len());
                        let piece = bytes[at..until].to_vec();
                        let to = random.below(bytes.len());
                        bytes.splice(to..to, piece);
                    }
                }
                if bytes.is_empty() {
                    break;
                }
            }
            // The edge reads files lossily; so does this test.
            let broken = String::from_utf8_lossy(&bytes).into_owned();
            survives(&broken, &format!("{name}, round {round}"));
        }
    }
}

#[test]
fn random_tokens_are_survived() {
    let words = [
        "battery",
        "resistor",
        "source",
        "switch",
        "diode",
        "potentiometer",
        "B1",
        "R1",
        "S1",
        "D1",
        "+",
        "-",
        "--",
        "@a",
        "@b",
        "(",
        ")",
        "|",
        ",",
        "=",
        ":",
        "4.5 V",
        "9 ohm",
        "0 ohm",
        "1 A",
        "open",
        "closed",
        "claim",
        "find",
        "case",
        "\"n\"",
        "in",
        "series",
        "parallel",
        "current through",
        "voltage across",
        "part",
        "end",
        "repeat",
        "from",
        "to",
        "{k}",
        "at",
        "40%",
        "?",
        "\n",
        "\n",
        "\n",
        "let",
        "include",
        "given",
        "measured",
        "within",
        "after",
        ".",
        "R1.a",
        "B1+",
        "-B1+",
        "shorted",
        "internal",
    ];
    let mut random = Random::new(13);
    for round in 0..1500 {
        let mut text = String::new();
        for _ in 0..random.below(60) {
            let word: &str = random.pick::<&str>(&words);
            text.push_str(word);
            if random.below(5) > 0 {
                text.push(' ');
            }
        }
        survives(&text, &format!("round {round}"));
    }
}
