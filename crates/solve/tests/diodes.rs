//! Diodes: the state that fits.

mod kit;

use kit::{Kit, is};
use ohmline_solve::{Cause, DiodeState, Method};

/// 5 V over 100 ohm and a drop of 0.7 V: 43 mA; turned round, nothing (textbook constant-drop model).
#[test]
fn one_diode() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "5", "").resistor("R", "a", "b", "100").diode("D", "b", "g", "7/10", "");
    let solved = kit.exact();
    is(solved.current("D"), "43/1000");
    is(solved.voltage("D"), "7/10");
    is(solved.power("D"), "301/10000");
    assert_eq!(solved.state().diodes[0].1, DiodeState::Conducting);
    assert!(solved.state().diodes_unique);

    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "5", "").resistor("R", "a", "b", "100").diode("D", "g", "b", "7/10", "");
    let solved = kit.exact();
    is(solved.current("D"), "0");
    is(solved.voltage("D"), "-5");
    assert_eq!(solved.state().diodes[0].1, DiodeState::Blocking);
}

/// A bridge rectifier: two conduct, two block, the load gets 12 - 2 x 0.7 V (textbook).
#[test]
fn bridge_rectifier() {
    for (emf, conducting) in [("12", "10.6"), ("-12", "10.6")] {
        let mut kit = Kit::new();
        kit.battery("B", "a", "b", emf, "");
        kit.diode("D1", "a", "p", "7/10", "").diode("D2", "b", "p", "7/10", "");
        kit.diode("D3", "m", "a", "7/10", "").diode("D4", "m", "b", "7/10", "").resistor("R", "p", "m", "53");
        let solved = kit.exact();
        is(solved.voltage("R"), &conducting.replace("10.6", "53/5"));
        is(solved.current("R"), "1/5");
        assert_eq!(solved.state().residuals, Default::default());
        let on = solved.state().diodes.iter().filter(|(_, state)| *state == DiodeState::Conducting).count();
        assert_eq!(on, 2);
    }
}

/// Below the drops all four block: no current, and the load floats.
#[test]
fn bridge_rectifier_below_the_drop() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "b", "1", "");
    kit.diode("D1", "a", "p", "7/10", "").diode("D2", "b", "p", "7/10", "");
    kit.diode("D3", "m", "a", "7/10", "").diode("D4", "m", "b", "7/10", "").resistor("R", "p", "m", "53");
    let solved = kit.exact();
    is(solved.current("R"), "0");
    is(solved.voltage("R"), "0");
    assert!(solved.state().diodes_unique);
    assert!(matches!(solved.cause(solved.potential("p")), Cause::Floating { .. }));
}

/// An ideal source straight across a diode: no state fits.
#[test]
fn no_state() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "5", "").diode("D", "a", "g", "7/10", "").resistor("R", "a", "g", "100");
    kit.battery("C", "x", "g", "5", "").resistor("Q", "x", "g", "100");
    let solved = kit.exact();
    assert!(matches!(solved.cause(solved.current("D")), Cause::NoDiodeState { diodes } if diodes.len() == 1));
    is(solved.current("Q"), "1/20");
    assert!(solved.state().diodes.is_empty());
}

/// Two equal diodes side by side share the current nobody knows how.
#[test]
fn equal_diodes_side_by_side() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "5", "").resistor("R", "a", "b", "100");
    kit.diode("D1", "b", "g", "7/10", "").diode("D2", "b", "g", "7/10", "");
    let solved = kit.exact();
    is(solved.current("R"), "43/1000");
    assert!(matches!(solved.cause(solved.current("D1")), Cause::ZeroLoop { .. }));
    // With resistances they share evenly.
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "5", "").resistor("R", "a", "b", "95");
    kit.diode("D1", "b", "g", "7/10", "10").diode("D2", "b", "g", "7/10", "10");
    let solved = kit.exact();
    is(solved.current("D1"), "43/2000");
}

/// A capacitor behind a diode charges to the source less the drop, and keeps a higher charge (peak detector, textbook).
#[test]
fn peak_detector() {
    for (initial, voltage) in [("", "43/10"), ("9", "9"), ("2", "43/10")] {
        let mut kit = Kit::new();
        kit.battery("B", "a", "g", "5", "").diode("D", "a", "b", "7/10", "");
        kit.capacitor("C", "b", "g", "1/1000000", initial);
        let solved = kit.exact();
        is(solved.voltage("C"), voltage);
    }
}

/// A string of twenty diodes, more than could be tried one by one: 30 V - 20 x 0.7 V over 160 ohm.
#[test]
fn long_string() {
    for method in [Method::Exact, Method::Float] {
        let mut kit = Kit::new();
        kit.battery("B", "n0", "g", "30", "");
        for nth in 0..20 {
            kit.diode(&format!("D{nth}"), &format!("n{nth}"), &format!("n{}", nth + 1), "7/10", "");
        }
        kit.resistor("R", "n20", "g", "160");
        let solved = kit.solve(method);
        let current = solved.current("R").known().expect("known").to_f64();
        assert!((current - 0.1).abs() < 1e-12, "{current}");
    }
}
