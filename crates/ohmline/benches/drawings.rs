//! Worked solutions with all their drawings, and drawings of large circuits: `cargo xtask bench page`, `cargo xtask bench drawing`.
//!
//! Meant to be reached: a page of 30 elements within 50 ms, a drawing of 500 elements within 1 s.

use std::fmt::Write as _;
use std::path::Path;
use std::sync::Arc;

use divan::{Bencher, black_box};
use ohmline_analysis::{Analysis, FileSystem, Settings, analyze, load};
use ohmline_draw::{Layout, Options, Style, svg};
use ohmline_page::{PageOptions, page};
use ohmline_sketch::{Show, SketchOptions, picture};

fn main() {
    divan::main();
}

struct NoFiles;

impl FileSystem for NoFiles {
    fn read(&self, _path: &Path) -> Result<Arc<str>, String> {
        Err("a bench reads no files".to_owned())
    }

    fn exists(&self, _path: &Path) -> bool {
        false
    }
}

fn analysis(text: &str) -> Analysis {
    let sources = load("bench.ohmline", None, Arc::new(ohmline_syntax::parse(text)), &NoFiles);
    let analysis = analyze(sources, &Settings::default());
    assert!(analysis.diagnostics.iter().all(|found| found.severity > ohmline_syntax::Severity::Warning));
    analysis
}

/// A battery, and resistors as rungs and rails; reduces by series and parallel.
fn ladder(elements: usize) -> String {
    let mut text = String::from("battery B1 = 12 V, internal 0.5 ohm\nB1+ -- @n0\nB1- -- @rail\n");
    for k in 1..=elements / 2 {
        let _ = writeln!(text, "resistor A{k} = {} ohm\nresistor C{k} = {} ohm", 1 + k % 7, 100 + k % 13);
        let _ = writeln!(text, "@n{} -- A{k} -- @n{k} -- C{k} -- @rail", k - 1);
    }
    text
}

/// A square lattice: planar, and nothing in it reduces.
fn lattice(elements: usize) -> String {
    let side = ((elements / 2) as f64).sqrt().ceil() as usize;
    let mut text = format!("battery B1 = 12 V, internal 1 ohm\nB1+ -- @p0x0\nB1- -- @p{0}x{0}\n", side - 1);
    for x in 0..side {
        for y in 0..side {
            if x + 1 < side {
                let _ = writeln!(text, "resistor H{x}x{y} = 2 ohm\n@p{x}x{y} -- H{x}x{y} -- @p{}x{y}", x + 1);
            }
            if y + 1 < side {
                let _ = writeln!(text, "resistor V{x}x{y} = 3 ohm\n@p{x}x{y} -- V{x}x{y} -- @p{x}x{}", y + 1);
            }
        }
    }
    text
}

/// Branches of two in line, all side by side.
fn branches(elements: usize) -> String {
    let mut text = String::from("battery B1 = 12 V, internal 1 ohm\nB1+ -- @a\nB1- -- @b\n");
    for k in 0..elements / 2 {
        let _ = writeln!(text, "resistor R{k} = 2 ohm\nlamp L{k} = 3 ohm\n@a -- R{k} -- L{k} -- @b");
    }
    text
}

fn text(shape: &str, elements: usize) -> String {
    match shape {
        "ladder" => ladder(elements),
        "lattice" => lattice(elements),
        _ => branches(elements),
    }
}

/// From the analysis to the page with every step drawn.
#[divan::bench(args = ["ladder", "lattice", "branches"])]
fn page_of_30_elements(bencher: Bencher, shape: &str) {
    let analysis = analysis(&text(shape, 30));
    bencher.bench_local(|| black_box(page(black_box(&analysis), &PageOptions::default())));
}

/// From the analysis to SVG with solved values.
#[divan::bench(args = [("ladder", 100), ("ladder", 500), ("lattice", 100), ("lattice", 500), ("branches", 100), ("branches", 500)])]
fn drawing(bencher: Bencher, (shape, elements): (&str, usize)) {
    let analysis = analysis(&text(shape, elements));
    let options = SketchOptions { show: Show::Solved, ..SketchOptions::default() };
    bencher.bench_local(|| {
        let picture = picture(black_box(&analysis), &options);
        let layout = Layout::new(&picture, &Options::default());
        black_box(svg(&picture, &layout, &Style::default()))
    });
}
