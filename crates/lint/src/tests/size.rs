//! Time grows with the circuit and no faster.

use std::fmt::Write as _;
use std::time::Instant;

use crate::Facts;
use crate::fixture::Analyzed;
use crate::registry::RULES;

/// A ladder of this many rungs, two resistors each, as plain text.
fn ladder(rungs: usize) -> String {
    let mut text = String::from("battery B1 = 12 V\nB1+ -- @n0\n");
    for rung in 0..rungs {
        let next = rung + 1;
        writeln!(text, "resistor R{rung}, P{rung} = 10 ohm\n@n{rung} -- R{rung} -- @n{next} -- P{rung} -- B1-")
            .expect("a string takes everything");
    }
    text
}

#[test]
#[ignore = "a measurement: run with --release -- --ignored --nocapture"]
fn a_hundred_thousand_elements() {
    for rungs in [500, 5_000, 50_000] {
        let analyzed = Analyzed::new(&ladder(rungs));
        let context = analyzed.context();
        let facts = Facts::new(context);
        let mut times = Vec::new();
        for rule in RULES {
            let start = Instant::now();
            let mut found = Vec::new();
            rule.check(&facts, &mut found);
            times.push((start.elapsed(), rule.meta().name, found.len()));
        }
        let start = Instant::now();
        let found = crate::check(&context);
        let whole = start.elapsed();
        times.sort();
        let slowest: Vec<_> = times.iter().rev().take(4).collect();
        eprintln!("{} elements: {whole:?} for {} findings; slowest {slowest:?}", 2 * rungs + 1, found.len());
    }
}

#[test]
fn ten_thousand_elements_stay_quiet_and_quick() {
    let analyzed = Analyzed::new(&ladder(5_000));
    let start = Instant::now();
    let found = crate::check(&analyzed.context());
    // Generous, for a slow machine without optimization: a quadratic rule takes far longer.
    assert!(start.elapsed().as_secs() < 5, "{:?}", start.elapsed());
    assert!(found.iter().all(|said| said.severity == ohmline_syntax::Severity::Hint));
    assert!(found.len() <= 200, "{}", found.len());
}
