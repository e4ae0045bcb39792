//! How fast a text is read: tokens alone, a whole parse, and a reparse after one character was typed.

use divan::counter::BytesCount;
use divan::{Bencher, black_box};
use ohmline_syntax::lexer::tokens;
use ohmline_syntax::{LineIndex, parse, reparse};

const LINES: &[usize] = &[100, 10_000, 100_000];

fn main() {
    divan::main();
}

/// A quay with lamps: declarations, paths, some questions and comments, about 34 bytes a line.
fn quay(lines: usize) -> String {
    let mut text = String::from("circuit \"Quay\"\nbattery B1 = 12 V, internal 0.5 ohm\n");
    let mut line = 2;
    let mut k = 0;
    while line < lines {
        k += 1;
        text.push_str(&format!("resistor R{k} = {} ohm, tolerance 5%\n", 10 + k % 90));
        text.push_str(&format!("lamp L{k} = 5 W at 12 V   # pier lamp {k}\n"));
        text.push_str(&format!("@n{k} -- R{k} -- @n{} -- L{k} -- B1-\n", k + 1));
        text.push_str(&format!("@n{k} -- ( R{k} | L{k} ) -- @m{k}\n"));
        text.push_str(&format!("find current through R{k}, L{k}\n"));
        line += 5;
    }
    text
}

#[divan::bench(args = LINES)]
fn lex(bencher: Bencher, lines: usize) {
    let text = quay(lines);
    bencher.counter(BytesCount::of_str(&text)).bench(|| tokens(black_box(&text)));
}

#[divan::bench(args = LINES)]
fn full(bencher: Bencher, lines: usize) {
    let text = quay(lines);
    bencher.counter(BytesCount::of_str(&text)).bench(|| parse(black_box(&text)));
}

#[divan::bench(args = LINES)]
fn one_character(bencher: Bencher, lines: usize) {
    let text = quay(lines);
    let old = parse(&text);
    let mut at = text.len() / 2;
    while !text[at..].starts_with('\n') {
        at += 1;
    }
    let edited = format!("{}1{}", &text[..at], &text[at..]);
    bencher.bench(|| reparse(black_box(&old), black_box(&edited)));
}

#[divan::bench(args = LINES)]
fn line_index(bencher: Bencher, lines: usize) {
    let text = quay(lines);
    bencher.counter(BytesCount::of_str(&text)).bench(|| LineIndex::new(black_box(&text)));
}
