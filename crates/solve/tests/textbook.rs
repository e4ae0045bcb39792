//! Published results and known mathematics.

mod kit;

use kit::{Dice, Kit, is, q};
use malachite::Rational;
use ohmline_circuit::{NodeId, Quantity};
use ohmline_solve::{Method, Number};

/// Resistance between nodes 0 and k of a network of unit resistors.
fn resistance(edges: &[(usize, usize)], from: usize, to: usize) -> Rational {
    let mut kit = Kit::new();
    for (nth, (a, b)) in edges.iter().enumerate() {
        kit.resistor(&format!("R{nth}"), &a.to_string(), &b.to_string(), "1");
    }
    let (a, b) = (kit.node(&from.to_string()), kit.node(&to.to_string()));
    kit.find(Quantity::ResistanceBetween(a, b));
    let solved = kit.exact();
    match &solved.answers.finds[0].value {
        Ok(Number::Exact(value)) => (**value).clone(),
        other => panic!("{other:?}"),
    }
}

fn cube() -> Vec<(usize, usize)> {
    (0..8usize).flat_map(|v| [1, 2, 4].map(|bit| (v, v ^ bit))).filter(|(a, b)| a < b).collect()
}

/// The cube of unit resistors: 5/6 over the body diagonal, 3/4 over a face, 7/12 over an edge (the classic puzzle, e.g. F. J. van
/// Steenwijk, Am. J. Phys. 66, 90 (1998), equivalent resistors of polyhedral structures).
#[test]
fn cube_of_resistors() {
    assert_eq!(resistance(&cube(), 0, 7), q("5/6"));
    assert_eq!(resistance(&cube(), 0, 3), q("3/4"));
    assert_eq!(resistance(&cube(), 0, 1), q("7/12"));
}

/// The complete graph of unit resistors: 2/n between any two vertices (mathematics, by symmetry).
#[test]
fn complete_graphs() {
    for n in 2..9usize {
        let edges: Vec<_> = (0..n).flat_map(|a| (a + 1..n).map(move |b| (a, b))).collect();
        assert_eq!(resistance(&edges, 0, n - 1), Rational::from_unsigneds(2, n));
    }
}

/// A ladder of unit resistors has the ratio of neighboring Fibonacci numbers F(2n)/F(2n-1) seen from its front
/// (mathematics; A. M. Morgan-Voyce, IRE Trans. Circuit Theory 6, 1959).
#[test]
fn ladders_are_fibonacci_ratios() {
    for sections in 1..30usize {
        // Ground is node 0; section k hangs between k and k + 1, then a rung from k + 1 to the ground.
        let edges: Vec<_> = (1..=sections).flat_map(|k| [(k, k + 1), (k + 1, 0)]).collect();
        let (mut a, mut b) = (1u64, 1u64);
        for _ in 0..2 * sections - 1 {
            (a, b) = (b, a + b);
        }
        // Now a = F(2n), b = F(2n + 1): a front resistor in series gives F(2n + 1) / F(2n).
        assert_eq!(resistance(&edges, 1, 0), Rational::from_unsigneds(b, a), "{sections} sections");
    }
}

/// Foster's theorem (R. M. Foster 1949, The average impedance of an electrical network): the sum over all resistors of the
/// resistance between their ends, divided by their own, is the number of nodes less one.
#[test]
fn foster() {
    for seed in 0..12 {
        let mut dice = Dice(seed);
        let nodes = 3 + dice.below(6) as usize;
        let mut links = Vec::new();
        for node in 1..nodes {
            links.push((node, dice.below(node as u64) as usize, 1 + dice.below(20)));
        }
        for _ in 0..nodes {
            let (a, b) = (dice.below(nodes as u64) as usize, dice.below(nodes as u64) as usize);
            if a != b {
                links.push((a, b, 1 + dice.below(20)));
            }
        }
        let mut kit = Kit::new();
        for node in 0..nodes {
            kit.node(&node.to_string());
        }
        for (nth, (a, b, value)) in links.iter().enumerate() {
            kit.resistor(&format!("R{nth}"), &a.to_string(), &b.to_string(), &value.to_string());
            kit.find(Quantity::ResistanceBetween(NodeId(*a as u32), NodeId(*b as u32)));
        }
        let solved = kit.exact();
        let mut sum = Rational::from(0);
        for ((_, _, value), find) in links.iter().zip(&solved.answers.finds) {
            let Ok(Number::Exact(between)) = &find.value else { panic!("{find:?}") };
            sum += &**between / Rational::from(*value);
        }
        assert_eq!(sum, Rational::from(nodes as u64 - 1), "seed {seed}");
    }
}

/// 21 V; 68 ohm, then 120 beside 180 ohm: 0.15 A, 10.2 and 10.8 V, 0.09 and 0.06 A, 3.15 W (Ohm's and Kirchhoff's laws by hand).
#[test]
fn series_and_parallel() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "21", "").resistor("R1", "a", "b", "68");
    kit.resistor("R2", "b", "g", "120").resistor("R3", "b", "g", "180");
    let solved = kit.exact();
    is(solved.current("B"), "3/20");
    is(solved.voltage("R1"), "51/5");
    is(solved.voltage("R2"), "54/5");
    is(solved.current("R2"), "9/100");
    is(solved.current("R3"), "3/50");
    is(solved.power("B"), "63/20");
    is(solved.power("R1"), "153/100");
    is(solved.potential("b"), "54/5");
    is(solved.potential("g"), "0");
    assert_eq!(solved.state().residuals, Default::default());
}

/// A bridge that does not balance: 12 V, arms 8, 24, 30, 20, bridge 20 ohm: potentials 8 and 6 V (by hand, junction rule).
#[test]
fn bridge() {
    let mut kit = Kit::new();
    kit.battery("B", "t", "g", "12", "").resistor("Rtp", "t", "p", "8").resistor("Rtq", "t", "q", "30");
    kit.resistor("Rpg", "p", "g", "20").resistor("Rqg", "q", "g", "20").resistor("Rpq", "p", "q", "20");
    let (t, g) = (kit.node("t"), kit.node("g"));
    kit.find(Quantity::ResistanceBetween(t, g));
    kit.find(Quantity::VoltageBetween(t, g));
    let battery = kit.circuit.element_names["B"];
    kit.find(Quantity::ResistanceSeenBy(battery));
    let solved = kit.exact();
    is(solved.potential("p"), "8");
    is(solved.potential("q"), "6");
    is(solved.current("Rpq"), "1/10");
    is(solved.current("B"), "7/10");
    let finds = &solved.answers.finds;
    // The battery is a short for the question between its own terminals: emf 0 V, no internal resistance.
    assert_eq!(finds[0].value, Ok(Number::exact(q("0"))));
    assert_eq!(finds[1].value, Ok(Number::exact(q("12"))));
    assert_eq!(finds[2].value, Ok(Number::exact(q("120/7"))));
}

/// Two cells with internal resistance on one load, one of them being charged: 0.35, -0.20, 0.15 A (by hand, Kirchhoff's laws).
#[test]
fn two_cells() {
    for method in [Method::Exact, Method::Float] {
        let mut kit = Kit::new();
        kit.battery("B1", "x", "g", "16", "20").battery("B2", "x", "g", "3", "30").resistor("R", "x", "g", "60");
        let solved = kit.solve(method);
        if method == Method::Exact {
            is(solved.current("B1"), "7/20");
            is(solved.current("B2"), "-1/5");
            is(solved.current("R"), "3/20");
            is(solved.power("B2"), "-9/5");
            is(solved.voltage("B1"), "9");
        } else {
            let current = solved.current("B2").known().expect("known").to_f64();
            assert!((current + 0.2).abs() < 1e-15);
        }
    }
}
