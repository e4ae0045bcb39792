//! What has no single answer, and why; and that the rest is solved.

mod kit;

use kit::{Kit, is};
use ohmline_circuit::{Fault, Params, Throw};
use ohmline_solve::{Cause, Method};

/// Two ideal ammeters side by side: the share is free, the sum is not (common practice, no source).
#[test]
fn ammeters_side_by_side() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "6", "").ammeter("A1", "a", "b", "").ammeter("A2", "a", "b", "");
    kit.resistor("R", "b", "g", "3");
    let solved = kit.exact();
    is(solved.current("R"), "2");
    is(solved.current("B"), "2");
    is(solved.voltage("A1"), "0");
    is(solved.power("A1"), "0");
    for meter in ["A1", "A2"] {
        match solved.cause(solved.current(meter)) {
            Cause::ZeroLoop { elements } => assert_eq!(elements.len(), 2),
            other => panic!("{other:?}"),
        }
    }
}

/// A shorted ideal source is a contradiction; another circuit beside it is solved.
#[test]
fn shorted_source() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "6", "").switch("S", "a", "g", true).resistor("R", "a", "g", "3");
    kit.battery("C", "x", "y", "9", "").resistor("Q", "x", "y", "3");
    let solved = kit.exact();
    for value in [solved.current("B"), solved.current("S"), solved.current("R"), solved.voltage("R"), solved.power("B")]
    {
        match solved.cause(value) {
            Cause::VoltageLoop { elements, excess } => {
                assert_eq!(elements.len(), 2);
                assert_eq!(*excess, kit::q("6"));
            }
            other => panic!("{other:?}"),
        }
    }
    is(solved.current("Q"), "3");
    assert_eq!(solved.state().causes.len(), 1);
}

/// With internal resistance a short is solved: 6 V over 0.5 ohm.
#[test]
fn shorted_real_source() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "6", "1/2").switch("S", "a", "g", true).resistor("R", "a", "g", "3");
    let solved = kit.exact();
    is(solved.current("S"), "12");
    is(solved.current("R"), "0");
    is(solved.voltage("B"), "0");
}

/// A current source into a dead end contradicts itself; the rest goes on without it.
#[test]
fn current_into_a_dead_end() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "6", "").resistor("R", "a", "g", "3").drive("I", "x", "a", "2");
    let solved = kit.exact();
    is(solved.current("R"), "2");
    is(solved.current("B"), "2");
    match solved.cause(solved.current("I")) {
        Cause::CurrentCut { sources, at, excess } => {
            assert_eq!(sources.len(), 1);
            assert_eq!(*at, solved.circuit.junction_names["x"]);
            assert_eq!(*excess, kit::q("2"));
        }
        other => panic!("{other:?}"),
    }
}

/// Two different ideal currents in series contradict each other, and spoil what they flow through.
#[test]
fn currents_in_series() {
    let mut kit = Kit::new();
    kit.drive("I1", "m", "g", "1").drive("I2", "a", "m", "2").resistor("R", "a", "g", "3");
    kit.battery("B", "a", "h", "6", "").resistor("Q", "h", "a", "2");
    let solved = kit.exact();
    assert!(matches!(solved.cause(solved.current("I1")), Cause::CurrentCut { sources, .. } if sources.len() == 2));
    assert!(matches!(solved.cause(solved.current("R")), Cause::CurrentCut { .. }));
    is(solved.current("Q"), "-3");
}

/// A part behind open switches has currents, voltages, but no potential above the reference.
#[test]
fn floating_part() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "6", "").resistor("R", "a", "g", "3").switch("S", "a", "x", false);
    kit.battery("C", "x", "y", "9", "").resistor("Q", "x", "y", "3");
    let solved = kit.exact();
    is(solved.current("Q"), "3");
    is(solved.voltage("Q"), "9");
    is(solved.current("S"), "0");
    is(solved.power("S"), "0");
    assert!(matches!(solved.cause(solved.potential("x")), Cause::Floating { .. }));
    assert!(matches!(solved.cause(solved.voltage("S")), Cause::Floating { .. }));
}

/// An open switch has the voltage between the points it would join.
#[test]
fn open_switch_has_the_voltage() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "6", "").resistor("R", "a", "b", "3").switch("S", "b", "g", false);
    let solved = kit.exact();
    is(solved.voltage("S"), "6");
    is(solved.voltage("R"), "0");
}

/// An unknown resistance spoils what depends on it only.
#[test]
fn unknown_value() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "6", "").resistor("R", "a", "b", "3").resistor("X", "b", "g", "?");
    kit.resistor("Q", "a", "g", "2");
    let solved = kit.exact();
    is(solved.current("Q"), "3");
    is(solved.potential("a"), "6");
    let x = solved.circuit.element_names["X"];
    assert_eq!(*solved.cause(solved.current("R")), Cause::UnknownValue { element: x });
    assert_eq!(*solved.cause(solved.current("B")), Cause::UnknownValue { element: x });
}

/// An asked ideal voltage between points whose voltage is fixed has that voltage.
#[test]
fn unknown_voltage_that_is_fixed() {
    let mut kit = Kit::new();
    kit.battery("V", "a", "g", "?", "").battery("B", "a", "g", "6", "").resistor("R", "a", "g", "3");
    let solved = kit.exact();
    is(solved.voltage("V"), "6");
    is(solved.current("R"), "2");
    assert!(matches!(solved.cause(solved.current("V")), Cause::UnknownValue { .. }));
}

/// Capacitors: two in series between fixed points share the voltage inversely (textbook: equal charges).
#[test]
fn capacitors_in_series() {
    for method in [Method::Exact, Method::Float] {
        let mut kit = Kit::new();
        kit.battery("B", "a", "g", "9", "").capacitor("C1", "a", "m", "1/1000000", "");
        kit.capacitor("C2", "m", "g", "2/1000000", "");
        let solved = kit.solve(method);
        if method == Method::Exact {
            is(solved.voltage("C1"), "6");
            is(solved.voltage("C2"), "3");
            is(solved.element("C1").charge.as_ref().expect("charge"), "6/1000000");
            is(solved.element("C2").energy.as_ref().expect("energy"), "9/1000000");
            is(solved.current("C1"), "0");
            is(solved.potential("m"), "3");
        } else {
            assert!((solved.voltage("C1").known().expect("known").to_f64() - 6.0).abs() < 1e-12);
        }
    }
}

/// A case that cuts a capacitor off leaves it its charge; one that connects two shares it (balance of charge).
#[test]
fn capacitor_keeps_its_charge() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "9", "").changeover("S", "c", "a", "d", Throw::A);
    kit.capacitor("C1", "c", "g", "1/1000", "").capacitor("C2", "d", "g", "2/1000", "");
    let off = kit.case("off", &[], &[("S", Fault::Open)]);
    let over = kit.case("over", &[("S", Params::Changeover { throw: Some(Throw::B) })], &[]);
    let mut solved = kit.exact();
    is(solved.voltage("C1"), "9");
    is(solved.voltage("C2"), "0");
    solved.state = off;
    is(solved.voltage("C1"), "9");
    solved.state = over;
    is(solved.voltage("C1"), "3");
    is(solved.voltage("C2"), "3");
    is(solved.potential("c"), "3");
}

/// Potentiometer and changeover: currents into each terminal.
#[test]
fn terminals() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "10", "").pot("P", "a", "g", "w", "100", "2/5").resistor("R", "w", "g", "60");
    let solved = kit.exact();
    // 40 ohm above, 60 beside 60 below: 10 / 70 A.
    let pot = solved.element("P");
    assert_eq!((&pot.current, &pot.voltage), (&None, &None));
    is(&pot.into[0], "1/7");
    is(&pot.into[1], "-1/14");
    is(&pot.into[2], "-1/14");
    // 40 (1/7)^2 + 60 (1/14)^2
    is(solved.power("P"), "55/49");
    assert_eq!(solved.state().residuals, Default::default());
}

/// Elements left unconnected, pieces without sources, no elements at all: nothing panics.
#[test]
fn odd_circuits() {
    let mut kit = Kit::new();
    let solved = kit.exact();
    assert!(solved.state().elements.is_empty());
    let mut kit = Kit::new();
    kit.node("lonely");
    kit.resistor("R", "a", "b", "5").resistor("Loop", "c", "c", "5").battery("Self", "d", "d", "5", "");
    kit.drive("Round", "e", "e", "1").resistor("Zero", "f", "h", "-3");
    let solved = kit.exact();
    is(solved.current("R"), "0");
    is(solved.current("Loop"), "0");
    assert!(matches!(solved.cause(solved.current("Self")), Cause::VoltageLoop { .. }));
    is(solved.current("Round"), "1");
    assert!(matches!(solved.cause(solved.potential("lonely")), Cause::Floating { .. }));
}

/// A wire across a load takes the whole current (0 V across it, so by Ohm's law nothing through it); one across a cell
/// lets its internal resistance alone limit the current: 6 V over 0.5 ohm (Kirchhoff's laws).
#[test]
fn what_a_case_bridges_keeps_its_own_law() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "6", "1/2").resistor("R1", "a", "m", "3").resistor("R2", "m", "g", "5/2");
    let bridged = kit.case("bridged", &[], &[("R2", Fault::Shorted)]);
    let slip = kit.case("slip", &[], &[("B", Fault::Shorted)]);
    let mut solved = kit.exact();
    solved.state = bridged;
    is(solved.current("R2"), "0");
    is(solved.power("R2"), "0");
    is(solved.current("R1"), "12/7");
    is(solved.current("B"), "12/7");
    assert_eq!(solved.state().residuals, Default::default());
    solved.state = slip;
    is(solved.current("B"), "12");
    is(solved.voltage("B"), "0");
    is(solved.power("B"), "0");
    is(solved.current("R1"), "0");
    assert_eq!(solved.state().residuals, Default::default());
}

/// A capacitor fed by nothing but a current source never comes to rest (Q = I t), so nothing tells its voltage.
#[test]
fn a_capacitor_charged_for_ever() {
    let mut kit = Kit::new();
    kit.drive("I", "a", "g", "1/1000").capacitor("C", "a", "g", "1/1000000", "");
    kit.battery("B", "x", "g", "6", "").resistor("R", "x", "g", "3");
    let solved = kit.exact();
    for value in [
        solved.voltage("I"),
        solved.voltage("C"),
        solved.element("C").charge.as_ref().expect("a capacitor"),
        solved.potential("a"),
    ] {
        assert!(matches!(solved.cause(value), Cause::CurrentCut { .. }));
    }
    is(solved.current("C"), "0");
    is(solved.current("R"), "2");
}
