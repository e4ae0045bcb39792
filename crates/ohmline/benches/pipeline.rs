//! Every stage from text to diagnostics, at 100, 10,000 and 100,000 elements, for three shapes of circuit.
//!
//! `cargo xtask bench` runs all; `cargo xtask bench analyze` those whose name contains `analyze`. A *ladder* is long and thin, a *grid* is
//! what sparse solving finds hard, *loops* are many small circuits in one file.

mod shapes;

use std::path::Path;
use std::sync::Arc;

use divan::{Bencher, black_box};
use ohmline_analysis::{FileSystem, Settings, Sources, analyze, load};
use ohmline_circuit::{Circuit, Topology, build};
use ohmline_solve::Method;
use ohmline_syntax::{Tree, parse, reparse};
use shapes::text;

fn main() {
    divan::main();
}

const SHAPES: &[(&str, usize)] = &[
    ("ladder", 100),
    ("ladder", 10_000),
    ("ladder", 100_000),
    ("grid", 100),
    ("grid", 10_000),
    ("grid", 100_000),
    ("loops", 100),
    ("loops", 10_000),
    ("loops", 100_000),
];

struct NoFiles;

impl FileSystem for NoFiles {
    fn read(&self, _path: &Path) -> Result<Arc<str>, String> {
        Err("there is no such file".to_owned())
    }

    fn exists(&self, _path: &Path) -> bool {
        false
    }
}

fn sources(tree: &Arc<Tree>) -> Sources {
    load("bench.ohmline", None, Arc::clone(tree), &NoFiles)
}

fn topologies(circuit: &Circuit) -> Vec<Topology> {
    circuit.state_ids().map(|state| Topology::new(circuit, state)).collect()
}

#[divan::bench(args = SHAPES)]
fn parse_text(bencher: Bencher, (shape, elements): (&str, usize)) {
    let text = text(shape, elements);
    bencher.counter(divan::counter::BytesCount::of_str(&text)).bench(|| parse(black_box(&text)));
}

#[divan::bench(args = SHAPES)]
fn build_circuit(bencher: Bencher, (shape, elements): (&str, usize)) {
    let sources = sources(&Arc::new(parse(&text(shape, elements))));
    bencher.bench(|| build(black_box(&sources)));
}

#[divan::bench(args = SHAPES)]
fn look_at_topology(bencher: Bencher, (shape, elements): (&str, usize)) {
    let circuit = build(&sources(&Arc::new(parse(&text(shape, elements)))));
    bencher.bench(|| topologies(black_box(&circuit)));
}

#[divan::bench(args = SHAPES)]
fn solve(bencher: Bencher, (shape, elements): (&str, usize)) {
    let circuit = build(&sources(&Arc::new(parse(&text(shape, elements)))));
    bencher.bench(|| ohmline_solve::solve(black_box(&circuit), Method::Auto));
}

/// From text to diagnostics, cold: what `ohmline check` does for one file.
#[divan::bench(args = SHAPES)]
fn analyze_cold(bencher: Bencher, (shape, elements): (&str, usize)) {
    let text = text(shape, elements);
    bencher.bench(|| {
        let tree = Arc::new(parse(black_box(&text)));
        analyze(sources(&tree), &Settings::default())
    });
}

/// One digit of one value in the middle of the file is typed: from the new text to its diagnostics.
#[divan::bench(args = SHAPES)]
fn edit_to_diagnostics(bencher: Bencher, (shape, elements): (&str, usize)) {
    let old = text(shape, elements);
    let middle = old.len() / 2;
    let at = middle + old[middle..].find(" ohm").unwrap_or(0);
    let new = format!("{}7{}", &old[..at], &old[at..]);
    let tree = parse(&old);
    bencher.bench(|| {
        let tree = Arc::new(reparse(black_box(&tree), &new));
        analyze(sources(&tree), &Settings::default()).diagnostics.len()
    });
}

/// As many comments that allow a rule as there are findings of it; the time has to grow as their number does.
#[divan::bench(args = [2_000, 20_000])]
fn allow_many(bencher: Bencher, count: usize) {
    let element = |number| {
        format!("resistor R{number} = 1 ohm\n@pier -- R{number} -- @end{number}  # allow open-end: for next year\n")
    };
    let text: String = (0..count).map(element).collect();
    let tree = Arc::new(parse(&text));
    bencher.bench(|| analyze(sources(&tree), &Settings::default()));
}
