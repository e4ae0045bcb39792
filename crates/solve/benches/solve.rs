//! Times of a whole solve: net, equations, answers of every element, residuals.

#[path = "../tests/kit/mod.rs"]
mod kit;

use divan::{Bencher, black_box};
use kit::{Dice, Kit};
use ohmline_solve::{Method, solve};

fn main() {
    divan::main();
}

fn bench(bencher: Bencher, mut kit: Kit, method: Method) {
    kit.finish();
    bencher.bench_local(|| black_box(solve(black_box(&kit.circuit), method)));
}

/// A ladder: rungs to the ground.
fn ladder(sections: usize) -> Kit {
    let mut kit = Kit::new();
    kit.battery("B", "0", "g", "12", "1/2");
    for k in 0..sections {
        kit.resistor(&format!("R{k}"), &k.to_string(), &(k + 1).to_string(), &(1 + k % 7).to_string());
        kit.resistor(&format!("Q{k}"), &(k + 1).to_string(), "g", &(100 + k % 11).to_string());
    }
    kit
}

fn grid(side: usize) -> Kit {
    let mut kit = Kit::new();
    let at = |x: usize, y: usize| (y * side + x).to_string();
    kit.battery("B", &at(0, 0), &at(side - 1, side - 1), "12", "1/2");
    for y in 0..side {
        for x in 0..side {
            if x + 1 < side {
                kit.resistor(&format!("H{x}_{y}"), &at(x, y), &at(x + 1, y), &(1 + (x + y) % 9).to_string());
            }
            if y + 1 < side {
                kit.resistor(&format!("V{x}_{y}"), &at(x, y), &at(x, y + 1), &(1 + (x * y) % 9).to_string());
            }
        }
    }
    kit
}

/// A random network with two resistors a node.
fn random(nodes: u64) -> Kit {
    let mut kit = Kit::new();
    let mut dice = Dice(nodes);
    kit.battery("B", "0", &(nodes - 1).to_string(), "12", "1/2");
    for node in 1..nodes {
        let (one, two) = (dice.below(node), dice.below(nodes));
        kit.resistor(&format!("R{node}"), &node.to_string(), &one.to_string(), &(1 + dice.below(99)).to_string());
        if two != node {
            kit.resistor(&format!("Q{node}"), &node.to_string(), &two.to_string(), &(1 + dice.below(99)).to_string());
        }
    }
    kit
}

#[divan::bench(args = [15])]
fn exact_ladder(bencher: Bencher, sections: usize) {
    bench(bencher, ladder(sections), Method::Exact);
}

#[divan::bench(args = [15, 50, 100, 200])]
fn exact_random(bencher: Bencher, nodes: u64) {
    bench(bencher, random(nodes), Method::Exact);
}

#[divan::bench(args = [15, 500, 5_000, 50_000], sample_count = 20)]
fn float_ladder(bencher: Bencher, sections: usize) {
    bench(bencher, ladder(sections), Method::Float);
}

#[divan::bench(args = [10, 100, 224], sample_count = 20)]
fn float_grid(bencher: Bencher, side: usize) {
    bench(bencher, grid(side), Method::Float);
}
