//! Whatever the text is: no panic, no byte lost, neighbors still read, and a reparse equals a parse.

use ohmline_syntax::lexer::tokens;
use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::{FileId, Tree, parse, reparse};
use proptest::prelude::*;

const RICH: &str = include_str!("rich.ohmline");

/// A linear congruential generator, with the constants of Knuth's MMIX (The Art of Computer Programming, vol. 2,
/// section 3.3.4, table 1), so that every run tests the same texts.
struct Random(u64);

impl Random {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % limit.max(1)
    }
}

/// Everything that must hold of the tree of any text.
fn check(text: &str) -> Tree {
    let mut at = 0;
    for token in tokens(text) {
        assert_eq!(token.start, at, "{text:?}");
        assert!(token.len > 0 && text.get(token.span().range()).is_some(), "{text:?}");
        at = token.end();
    }
    assert_eq!(at as usize, text.len(), "{text:?}");
    let tree = parse(text);
    let mut end = 0;
    for stmt in &tree.stmts {
        assert!(stmt.offset >= end && stmt.node.len > 0, "{text:?}");
        end = stmt.range().end;
        assert!(text.get(stmt.range().range()).is_some(), "{text:?}");
        let errors = stmt.node.problems.len();
        assert!(stmt.node.kind != StmtKind::Error || errors == 1, "{text:?}: {:?}", stmt.node);
    }
    for block in &tree.blocks {
        assert!(block.head < block.close && block.close as usize <= tree.stmts.len(), "{text:?}");
        if let Some(parent) = block.parent {
            let parent = tree.blocks[parent as usize];
            assert!(parent.head < block.head && block.close <= parent.close, "{text:?}");
        }
    }
    for diagnostic in tree.diagnostics(FileId::MAIN) {
        let places = std::iter::once(diagnostic.primary.at)
            .chain(diagnostic.fixes.iter().flat_map(|fix| fix.edits.iter().map(|edit| edit.at)));
        for place in places {
            assert!(text.get(place.span.range()).is_some(), "{text:?}: {diagnostic:?}");
        }
        for fix in &diagnostic.fixes {
            assert!(fix.edits.windows(2).all(|pair| pair[0].at.span.end <= pair[1].at.span.start), "{diagnostic:?}");
        }
    }
    tree
}

fn assert_same(one: &Tree, other: &Tree) {
    assert_eq!(one.text, other.text);
    let flat = |tree: &Tree| tree.stmts.iter().map(|stmt| (stmt.offset, (*stmt.node).clone())).collect::<Vec<_>>();
    assert_eq!(flat(one), flat(other), "{:?}", one.text);
    assert_eq!(one.blocks, other.blocks, "{:?}", one.text);
    assert_eq!(one.block_problems, other.block_problems, "{:?}", one.text);
}

/// Bits of text that change what lines and tokens are.
const SPLINTERS: &[&str] = &[
    "\n",
    "\r\n",
    "\r",
    "--",
    "-",
    "---",
    "—",
    "(",
    ")",
    "|",
    ",",
    "#",
    "##",
    "\"",
    "=",
    "@",
    "{k}",
    "end\n",
    "part x(a, b)\n",
    "repeat k from 1 to 2\n",
    " ",
    "\u{A0}",
    "\u{2028}",
    "Ω",
    "\u{2126}",
    "µ",
    "e\u{301}",
    "🚢",
    "R1",
    "4,5",
    "?",
    ";",
    "\u{FEFF}",
    "\u{2212}",
];

fn mutated(random: &mut Random, text: &mut String) {
    let place = |random: &mut Random, text: &str| text.floor_char_boundary(random.below(text.len() + 1));
    let at = place(random, text);
    match random.below(4) {
        0 => text.insert_str(at, SPLINTERS[random.below(SPLINTERS.len())]),
        1 => {
            let end = text.floor_char_boundary((at + random.below(12)).min(text.len())).max(at);
            text.replace_range(at..end, "");
        }
        2 => {
            let end = text.floor_char_boundary((at + random.below(80)).min(text.len())).max(at);
            let piece = text[at..end].to_owned();
            let to = place(random, text);
            text.insert_str(to, &piece);
        }
        _ => {
            let end = text.floor_char_boundary((at + random.below(6)).min(text.len())).max(at);
            text.replace_range(at..end, SPLINTERS[random.below(SPLINTERS.len())]);
        }
    }
}

#[test]
fn every_prefix_is_read() {
    let whole = parse(RICH);
    for end in (0..=RICH.len()).filter(|&end| RICH.is_char_boundary(end)) {
        let tree = check(&RICH[..end]);
        // All statements stand as they do in the whole text, but the last, and the one that half a `--` below it
        // does not go on yet.
        let sure = tree.stmts.len().saturating_sub(2);
        for (one, other) in tree.stmts[..sure].iter().zip(&whole.stmts) {
            assert_eq!((one.offset, &one.node.kind), (other.offset, &other.node.kind));
        }
    }
}

#[test]
fn without_any_line_the_others_are_read() {
    let lines: Vec<&str> = RICH.lines().collect();
    for without in 0..lines.len() {
        let text: String =
            lines.iter().enumerate().filter(|(at, _)| *at != without).map(|(_, line)| format!("{line}\n")).collect();
        let tree = check(&text);
        let errors = tree.stmts.iter().filter(|stmt| stmt.node.kind == StmtKind::Error).count();
        // A line that goes on with another cannot be read alone; no other line may suffer.
        assert!(errors <= 2, "without {:?}: {errors} errors", lines[without]);
    }
}

#[test]
fn with_any_two_lines_swapped_the_others_are_read() {
    let lines: Vec<&str> = RICH.lines().collect();
    let mut random = Random(7);
    for _ in 0..200 {
        let mut swapped = lines.clone();
        let (one, other) = (random.below(lines.len()), random.below(lines.len()));
        swapped.swap(one, other);
        let tree = check(&swapped.join("\n"));
        let errors = tree.stmts.iter().filter(|stmt| stmt.node.kind == StmtKind::Error).count();
        assert!(errors <= 6, "{:?} and {:?}: {errors} errors", lines[one], lines[other]);
    }
}

#[test]
fn random_bytes_are_read() {
    let mut random = Random(1);
    for _ in 0..300 {
        let bytes: Vec<u8> = (0..random.below(200)).map(|_| random.below(256) as u8).collect();
        check(&String::from_utf8_lossy(&bytes));
        let splinters: String = (0..random.below(60)).map(|_| SPLINTERS[random.below(SPLINTERS.len())]).collect();
        check(&splinters);
    }
}

#[test]
fn mutated_texts_are_read_and_reread() {
    let mut random = Random(2);
    for _ in 0..40 {
        let mut text = RICH.to_owned();
        let mut tree = parse(&text);
        for _ in 0..12 {
            mutated(&mut random, &mut text);
            tree = reparse(&tree, &text);
            assert_same(&tree, &check(&text));
        }
    }
}

#[test]
fn a_reparse_shares_what_was_not_touched() {
    let old = parse(RICH);
    let new = reparse(&old, &RICH.replace("resistor  R1 = 9 ohm", "resistor  R1 = 99 ohm"));
    let shared =
        new.stmts.iter().filter(|stmt| old.stmts.iter().any(|was| std::sync::Arc::ptr_eq(&was.node, &stmt.node)));
    assert!(shared.count() + 4 >= old.stmts.len());
}

#[test]
fn deep_and_long_texts_are_refused_in_time() {
    for text in [
        "(".repeat(100_000),
        format!("let x = {}1", "-".repeat(100_001)),
        format!("let x = {}1", "- ".repeat(100_000)),
        format!("let x = 1{}", " + 1".repeat(100_000)),
        format!("let x = {}1{}", "(".repeat(60), ")".repeat(60)),
        format!("@a{}", " -- R1".repeat(100_000)),
        format!("@a -- {}R1{} -- @b", "( R2 | ".repeat(60), " )".repeat(60)),
        format!("claim {}1", "(".repeat(100_000)),
        "end\n".repeat(10_000),
        "repeat k from 1 to 2\n".repeat(2_000),
    ] {
        check(&text);
    }
}

#[test]
fn all_line_ends_mean_the_same() {
    let kinds = |text: &str| parse(text).stmts.iter().map(|stmt| stmt.node.problems.len()).collect::<Vec<_>>();
    assert_eq!(kinds(RICH), kinds(&RICH.replace('\n', "\r\n")));
    assert_eq!(kinds(RICH), kinds(&RICH.replace('\n', "\r")));
    assert_eq!(kinds(RICH), kinds(&format!("\u{FEFF}{RICH}")));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn any_edit_gives_the_tree_of_a_full_parse(from in 0..RICH.len(), len in 0usize..60, pick in 0..SPLINTERS.len(), twice in any::<bool>()) {
        let from = RICH.floor_char_boundary(from);
        let to = RICH.ceil_char_boundary((from + len).min(RICH.len()));
        let mut text = RICH.to_owned();
        text.replace_range(from..to, &SPLINTERS[pick].repeat(1 + usize::from(twice)));
        let old = parse(RICH);
        let new = reparse(&old, &text);
        assert_same(&new, &parse(&text));
        assert_same(&reparse(&new, RICH), &old);
    }

    #[test]
    fn any_text_is_read(text in "\\PC{0,80}") {
        check(&text);
    }
}
