//! Large and awkward circuits: they are solved, rightly, in time that grows with their size.

mod kit;

use kit::{Dice, Kit};
use ohmline_solve::{Cause, Method, Number, Value};

fn number(value: &Value) -> f64 {
    value.known().map(Number::to_f64).expect("determined")
}

/// A ladder of a hundred thousand elements: its front has the resistance of the endless ladder of unit resistors, the golden
/// ratio (mathematics), and even the tiny current far down keeps the ratio from rung to rung, the square of the golden ratio.
#[test]
fn long_ladder() {
    let golden = (1.0 + 5f64.sqrt()) / 2.0;
    let mut kit = Kit::new();
    kit.battery("B", "n0", "g", "1", "");
    for k in 0..50_000 {
        kit.resistor(&format!("R{k}"), &format!("n{k}"), &format!("n{}", k + 1), "1");
        kit.resistor(&format!("Q{k}"), &format!("n{}", k + 1), "g", "1");
    }
    let solved = kit.solve(Method::Auto);
    assert!(!solved.state().exact);
    assert!((1.0 / number(solved.current("B")) - golden).abs() < 1e-14);
    let ratio = number(solved.current("Q200")) / number(solved.current("Q201"));
    assert!((ratio - golden * golden).abs() < 1e-12, "{ratio}");
    let residuals = solved.state().residuals;
    assert!(residuals.junction < 1e-12 && residuals.element < 1e-12 && residuals.power < 1e-12, "{residuals:?}");
}

/// A grid: the laws to 1e-12 of the largest current at each junction, resistances within six powers of ten.
#[test]
fn wide_grid() {
    let mut dice = Dice(7);
    let mut kit = Kit::new();
    let side = 60u64;
    kit.battery("B", "0_0", &format!("{0}_{0}", side - 1), "5", "1/10");
    for y in 0..side {
        for x in 0..side {
            for (name, a, b) in [("H", x + 1, y), ("V", x, y + 1)] {
                if a < side && b < side {
                    let value = 10u64.pow(dice.below(7) as u32).to_string();
                    kit.resistor(&format!("{name}{x}_{y}"), &format!("{x}_{y}"), &format!("{a}_{b}"), &value);
                }
            }
        }
    }
    let residuals = kit.solve(Method::Float).state().residuals;
    assert!(residuals.junction < 1e-12 && residuals.element < 1e-12 && residuals.power < 1e-12, "{residuals:?}");
}

/// Thousands of shorted sources, parallel wires, unknown values and diodes: no work that grows with the square.
#[test]
fn much_that_is_wrong() {
    let mut kit = Kit::new();
    kit.battery("B", "n0", "g", "6", "").resistor("Sound", "n0", "g", "3");
    for k in 0..3_000 {
        let (here, next) = (format!("n{k}"), format!("n{}", k + 1));
        kit.resistor(&format!("R{k}"), &here, &next, "1");
        kit.battery(&format!("C{k}"), &next, &format!("m{k}"), "1", "").switch(
            &format!("S{k}"),
            &next,
            &format!("m{k}"),
            true,
        );
        kit.switch(&format!("P{k}"), &format!("m{k}"), &next, true).resistor(&format!("X{k}"), &next, "g", "?");
    }
    let solved = kit.solve(Method::Auto);
    assert!((number(solved.current("Sound")) - 2.0).abs() < 1e-12);
    assert!(matches!(solved.cause(solved.current("C7")), Cause::VoltageLoop { .. }));
    assert!(matches!(solved.cause(solved.current("X7")), Cause::UnknownValue { .. } | Cause::VoltageLoop { .. }));

    // Strings of 50 diodes and a resistor, 40 of them on one battery: (60 V - 50 x 0.7 V) / 100 ohm each.
    let mut kit = Kit::new();
    kit.battery("B", "top", "g", "60", "");
    for string in 0..40 {
        kit.resistor(&format!("R{string}"), "top", &format!("s{string}_0"), "100");
        for k in 0..50 {
            let to = if k == 49 { "g".into() } else { format!("s{string}_{}", k + 1) };
            kit.diode(&format!("D{string}_{k}"), &format!("s{string}_{k}"), &to, "7/10", "");
        }
    }
    let solved = kit.solve(Method::Auto);
    for string in 0..40 {
        assert!((number(solved.current(&format!("R{string}"))) - 0.25).abs() < 1e-12);
    }
    assert!((number(solved.current("B")) - 10.0).abs() < 1e-11);
}
