//! Finds, claims and measured values.

mod kit;

use kit::{Kit, q, somewhere};
use malachite::Rational;
use ohmline_circuit::{Claim, Quantity, Reading, Stated, Throw, Unit, Within};
use ohmline_solve::{Cause, Method, Number};

/// A number as written: digits counted from the first that is not zero.
fn stated(text: &str) -> Stated {
    let decimals = text.split_once('.').map_or(0, |(_, after)| after.len());
    let digits = text.trim_start_matches(['-', '0', '.']).chars().filter(char::is_ascii_digit).count();
    let scale = Rational::from(10u64.pow(decimals as u32));
    let whole: Rational = q(&text.replace('.', ""));
    Stated {
        value: whole / &scale,
        last_digit: Some(Rational::from(1) / scale),
        digits: digits.max(1) as u32,
        at: somewhere(),
    }
}

fn expression(text: &str) -> Stated {
    Stated { value: q(text), last_digit: None, digits: 0, at: somewhere() }
}

/// 1 V over 3 ohm, with a dead branch: 1/3 A.
fn third() -> Kit {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "1", "").resistor("R", "a", "g", "3").resistor("Dead", "a", "x", "5");
    kit
}

fn claimed(stated: Stated, within: Option<Within>, of: &str, method: Method) -> Option<bool> {
    let mut kit = third();
    let ask = kit.ask(Quantity::CurrentThrough(kit.circuit.element_names[of]));
    kit.circuit.claims.push(Claim::Value { ask, stated, within });
    kit.solve(method).answers.claims[0].as_ref().expect("a claim about a value").holds
}

/// Rule 11 of the notation: rounding of two or more digits, 2 % for one, expressions exactly, zero, `within`, the sign.
#[test]
fn claims() {
    for method in [Method::Exact, Method::Float] {
        let holds = |text: &str| claimed(stated(text), None, "R", method);
        for good in ["0.33", "0.333", "0.3333", "0.3333333"] {
            assert_eq!(holds(good), Some(true), "{good}");
        }
        for bad in ["0.34", "0.332", "0.3334", "-0.33", "0.3", "0.4", "33"] {
            assert_eq!(holds(bad), Some(false), "{bad}");
        }
        assert_eq!(claimed(expression("1/3"), None, "R", method), Some(true));
        assert_eq!(claimed(expression("333333/1000000"), None, "R", method), Some(false));
        assert_eq!(claimed(stated("0"), None, "Dead", method), Some(true));
        assert_eq!(claimed(stated("0"), None, "R", method), Some(false));
        let percent = |text: &str| Some(Within::Relative(q(text)));
        assert_eq!(claimed(stated("0.34"), percent("1/50"), "R", method), Some(true));
        assert_eq!(claimed(stated("0.34"), percent("1/100"), "R", method), Some(false));
        assert_eq!(claimed(stated("0.3"), Some(Within::Absolute(q("1/20"))), "R", method), Some(true));
        assert_eq!(claimed(stated("-0.3"), Some(Within::Absolute(q("1/20"))), "R", method), Some(false));
    }
    // A single digit allows 2 %: 0.3 for 0.3 x 1.02 and no more.
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "306/1000", "").resistor("R", "a", "g", "1");
    let ask = kit.ask(Quantity::CurrentThrough(kit.circuit.element_names["R"]));
    for text in ["0.3", "0.31"] {
        kit.circuit.claims.push(Claim::Value { ask: ask.clone(), stated: stated(text), within: None });
    }
    let solved = kit.exact();
    assert!(solved.answers.claims.iter().flatten().all(|verdict| verdict.holds == Some(true)));
}

/// Rule 12: a reading agrees within half its last digit, or within what is written.
#[test]
fn readings() {
    let mut kit = third();
    let ask = kit.ask(Quantity::CurrentThrough(kit.circuit.element_names["R"]));
    for (text, within) in [("0.33", None), ("0.34", None), ("0.34", Some(Within::Absolute(q("1/100"))))] {
        kit.circuit.measured.push(Reading { ask: ask.clone(), stated: stated(text), within });
    }
    let solved = kit.exact();
    let agrees: Vec<_> = solved.answers.measured.iter().map(|verdict| verdict.agrees).collect();
    assert_eq!(agrees, [Some(true), Some(false), Some(true)]);
}

/// Rule 10: sources to zero, current sources and capacitors open, internal resistances and meters as they are.
#[test]
fn resistance_between() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "9", "2").resistor("R1", "a", "b", "4").resistor("R2", "b", "g", "6");
    kit.drive("I", "b", "g", "3").capacitor("C", "b", "g", "1/1000", "").voltmeter("V", "b", "g", "12");
    kit.changeover("S", "b", "c", "d", Throw::B).resistor("R3", "d", "e", "1").diode("D", "x", "y", "1", "");
    let [b, g, c, d, x, y] = ["b", "g", "c", "d", "x", "y"].map(|name| kit.node(name));
    let battery = kit.circuit.element_names["B"];
    kit.find(Quantity::ResistanceBetween(b, g));
    kit.find(Quantity::ResistanceSeenBy(battery));
    kit.find(Quantity::ResistanceBetween(d, b));
    kit.find(Quantity::ResistanceBetween(c, b));
    kit.find(Quantity::ResistanceBetween(x, y));
    kit.find(Quantity::ResistanceBetween(b, b));
    let solved = kit.exact();
    let finds: Vec<_> = solved.answers.finds.iter().map(|find| find.value.clone()).collect();
    // 6 beside 6 beside 12: 12/5.
    assert_eq!(finds[0], Ok(Number::exact(q("12/5"))));
    // 4, then 6 beside 12.
    assert_eq!(finds[1], Ok(Number::exact(q("8"))));
    assert_eq!(finds[2], Ok(Number::exact(q("0"))));
    assert!(matches!(finds[3], Err(Cause::Between { diode: false, .. })));
    assert!(matches!(finds[4], Err(Cause::Between { diode: true, .. })));
    assert_eq!(finds[5], Ok(Number::exact(q("0"))));
}

/// Capacitors of 2 and 3 uF in series, 4 uF beside them: 6/5 + 4 uF (textbook rules); the battery that charges them is left out.
#[test]
fn capacitance_between() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "9", "").capacitor("C1", "a", "b", "2", "").capacitor("C2", "b", "g", "3", "");
    kit.capacitor("C3", "a", "g", "4", "").resistor("R", "x", "y", "1");
    let [a, g, x, y] = ["a", "g", "x", "y"].map(|name| kit.node(name));
    kit.find(Quantity::CapacitanceBetween(a, g));
    kit.find(Quantity::CapacitanceBetween(x, y));
    let solved = kit.exact();
    assert_eq!(solved.answers.finds[0].value, Ok(Number::exact(q("26/5"))));
    assert_eq!(solved.answers.finds[0].unit, Unit::Farad);
    assert!(matches!(solved.answers.finds[1].value, Err(Cause::NoMeaning { .. })));
}

/// Sources at rest are wires: between `a` and `m` all three capacitors stand side by side, 1 + 2 + 3. The battery that joins the two
/// points asked about is taken out, and no other: 1 in series with 2 + 3, and 6 beside it through the second battery (textbook rules).
#[test]
fn capacitance_beside_sources() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "9", "").capacitor("C1", "a", "m", "1", "").capacitor("C2", "m", "g", "2", "");
    kit.capacitor("C3", "m", "g", "3", "").battery("E", "p", "g", "6", "").capacitor("C4", "a", "p", "6", "");
    let [a, g, m] = ["a", "g", "m"].map(|name| kit.node(name));
    kit.find(Quantity::CapacitanceBetween(a, m));
    kit.find(Quantity::CapacitanceBetween(a, g));
    let solved = kit.exact();
    assert_eq!(solved.answers.finds[0].value, Ok(Number::exact(q("6"))));
    assert_eq!(solved.answers.finds[1].value, Ok(Number::exact(q("41/6"))));
}

/// The other quantities, and `after`, which asks for more than a steady state.
#[test]
fn quantities() {
    let mut kit = Kit::new();
    kit.battery("B", "a", "g", "6", "").resistor("R", "a", "b", "3").inductor("L", "b", "g", "1/2", "");
    kit.resistor("X", "a", "g", "?").pot("P", "a", "g", "w", "10", "1/2");
    let of = |kit: &Kit, name: &str| kit.circuit.element_names[name];
    let (a, b) = (kit.node("a"), kit.node("b"));
    let asked = [
        Quantity::EnergyOf(of(&kit, "L")),
        Quantity::PowerOf(of(&kit, "R")),
        Quantity::VoltageBetween(b, a),
        Quantity::PotentialAt(a),
        Quantity::ValueOf(of(&kit, "R")),
        Quantity::ValueOf(of(&kit, "X")),
        Quantity::CurrentInto(of(&kit, "P"), 1),
        Quantity::CurrentThrough(of(&kit, "P")),
        Quantity::ChargeOf(of(&kit, "R")),
        Quantity::CurrentThrough(of(&kit, "B")),
    ];
    for quantity in asked {
        kit.find(quantity);
    }
    let mut later = kit.ask(Quantity::PotentialAt(a));
    later.after = Some(q("1/1000"));
    kit.circuit.finds.push(later);
    let x = of(&kit, "X");
    let solved = kit.exact();
    let finds: Vec<_> = solved.answers.finds.iter().map(|find| find.value.clone()).collect();
    for (find, value) in finds.iter().zip(["1", "12", "-6", "6", "3"]) {
        assert_eq!(*find, Ok(Number::exact(q(value))));
    }
    assert_eq!(finds[5], Err(Cause::UnknownValue { element: x }));
    assert_eq!(finds[6], Ok(Number::exact(q("-3/5"))));
    assert!(matches!(finds[7], Err(Cause::NoMeaning { .. })));
    assert!(matches!(finds[8], Err(Cause::NoMeaning { .. })));
    assert_eq!(finds[9], Err(Cause::UnknownValue { element: x }));
    assert_eq!(finds[10], Err(Cause::NotSteady));
}
