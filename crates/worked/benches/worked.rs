//! Times of a worked solution, and of the linear reduction of large networks.

use divan::{Bencher, black_box};
use ohmline_circuit::{StateId, Topology, build_text};
use ohmline_worked::{Ends, Method, equivalent, solve};

fn main() {
    divan::main();
}

/// A ladder of thirty resistors, with all steps and stages.
#[divan::bench]
fn thirty_elements(bencher: Bencher) {
    let mut text = String::from("battery B1 = 12 V, internal 0.5 ohm\nB1+ -- @n0\nB1- -- @rail\n");
    for k in 1..=15 {
        text.push_str(&format!("resistor A{k} = {} ohm\nresistor C{k} = {} ohm\n", 1 + k % 7, 100 + 13 * k));
        text.push_str(&format!("@n{} -- A{k} -- @n{k} -- C{k} -- @rail\n", k - 1));
    }
    let circuit = build_text(&text);
    let answers = ohmline_solve::solve(&circuit, ohmline_solve::Method::Exact);
    let topology = Topology::new(&circuit, StateId::DRAWN);
    bencher.bench_local(|| {
        black_box(solve(black_box(&circuit), StateId::DRAWN, &topology, &answers.states[0], Method::Auto))
    });
}

/// Linear time: a tenfold network takes ten times as long.
#[divan::bench(args = [10_000, 100_000, 1_000_000])]
fn ladder(bencher: Bencher, resistances: u32) {
    let list: Vec<Ends> = (0..resistances / 2)
        .flat_map(|k| {
            [Ends { from: k + 1, to: k + 2, ohms: 1.0 + f64::from(k % 7) }, Ends { from: k + 2, to: 0, ohms: 100.0 }]
        })
        .collect();
    bencher.bench_local(|| black_box(equivalent(resistances as usize / 2 + 2, black_box(&list), 1, 0)));
}

/// Everything side by side between two rails.
#[divan::bench(args = [10_000, 100_000, 1_000_000])]
fn rails(bencher: Bencher, resistances: u32) {
    let list: Vec<Ends> = (0..resistances / 2)
        .flat_map(|k| [Ends { from: 0, to: k + 2, ohms: 1.0 }, Ends { from: k + 2, to: 1, ohms: 2.0 }])
        .collect();
    bencher.bench_local(|| black_box(equivalent(resistances as usize / 2 + 2, black_box(&list), 0, 1)));
}
