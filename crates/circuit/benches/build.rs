//! Statements to circuit, at 10,000 and 100,000 elements: written out, by repeats, by copies of a part.

use std::fmt::Write as _;
use std::sync::Arc;

use divan::{Bencher, black_box};
use ohmline_circuit::{Source, Sources, build};
use ohmline_syntax::{LineIndex, parse};

fn main() {
    divan::main();
}

const SIZES: &[usize] = &[10_000, 100_000];

fn sources(text: &str) -> Sources {
    let (tree, lines) = (Arc::new(parse(text)), Arc::new(LineIndex::new(text)));
    Sources { files: vec![Source { name: "bench.ohmline".into(), path: None, tree, lines, includes: Vec::new() }] }
}

#[divan::bench(args = SIZES)]
fn written_out(bencher: Bencher, elements: usize) {
    let mut text = String::from("battery B1 = 12 V, internal 1 ohm\nB1+ -- @n0\nB1- -- @rail\n");
    for k in 1..=elements / 2 {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "resistor A{k} = {}.5 ohm, tolerance 5%", 1 + k % 7);
        let _ = writeln!(text, "resistor C{k} = {}k7", 1 + k % 5);
        let _ = writeln!(text, "@n{} -- A{k} -- @n{k} -- C{k} -- @rail", k - 1);
    }
    let sources = sources(&text);
    bencher.bench(|| build(black_box(&sources)));
}

#[divan::bench(args = SIZES)]
fn unnamed_points(bencher: Bencher, elements: usize) {
    let mut text = String::new();
    for k in 0..elements / 4 {
        let _ = writeln!(text, "battery B{k} = {} V", 1 + k % 12);
        let _ = writeln!(text, "resistor R{k} = {} ohm", 10 + k % 90);
        let _ = writeln!(text, "lamp L{k}, M{k} = {} ohm", 5 + k % 20);
        let _ = writeln!(text, "B{k}+ -- R{k} -- ( L{k} | M{k} ) -- B{k}-");
    }
    let sources = sources(&text);
    bencher.bench(|| build(black_box(&sources)));
}

#[divan::bench(args = SIZES)]
fn repeated(bencher: Bencher, elements: usize) {
    let copies = elements / 20;
    let sources = sources(&format!(
        "let unit = 3 ohm\nrepeat a from 1 to 10\nrepeat b from 1 to {copies}\n\
         resistor S{{a}}_{{b}} = unit\nresistor P{{a}}_{{b}} = b * unit\n\
         @n{{a}}_{{b-1}} -- S{{a}}_{{b}} -- @n{{a}}_{{b}} -- P{{a}}_{{b}} -- @g\nend\nend\n"
    ));
    bencher.bench(|| build(black_box(&sources)));
}

#[divan::bench(args = SIZES)]
fn copies_of_a_part(bencher: Bencher, elements: usize) {
    let mut text = String::from(
        "part lantern(in, out), dropper 33 ohm\nresistor R = dropper\ndiode D = 1.9 V\n@in -- R -- @mid -- +D- -- @out\nend\n",
    );
    for k in 0..elements / 2 {
        let _ = writeln!(text, "lantern L{k}, dropper {} ohm\n@p -- L{k} -- @m", 10 + k % 90);
    }
    let sources = sources(&text);
    bencher.bench(|| build(black_box(&sources)));
}
