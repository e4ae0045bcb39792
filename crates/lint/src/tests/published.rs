//! Circuits from textbooks, which are right and must raise no error and no warning, and little else.

use ohmline_syntax::Severity;

use crate::fixture::{check, write};

/// Circuits by source. Values are facts carried over from the named page.
const CIRCUITS: &[(&str, &str)] = &[
    (
        // OpenStax, University Physics Volume 2 (2016), section 10.2, example 10.2.
        "five in series",
        "battery B = 9 V\nresistor R1, R2, R3, R4 = 20 ohm\nresistor R5 = 10 ohm\n\
         B+ -- R1 -- R2 -- R3 -- R4 -- R5 -- B-\nclaim current through B = 0.1 A\nclaim R1, R5 in series\n",
    ),
    (
        // OpenStax, College Physics 2e, section 21.1, example 21.2.
        "three in parallel",
        "battery B = 12 V\nresistor R1 = 1 ohm\nresistor R2 = 6 ohm\nresistor R3 = 13 ohm\n\
         B+ -- ( R1 | R2 | R3 ) -- B-\nclaim R1, R2, R3 in parallel\nfind current through B, R1, R2, R3\n",
    ),
    (
        // OpenStax, College Physics 2e, section 21.1, example 21.3.
        "mixed",
        "battery B = 12 V\nresistor R1 = 1 ohm\nresistor R2 = 6 ohm\nresistor R3 = 13 ohm\n\
         B+ -- R1 -- @a -- R2 -- B-\n@a -- R3 -- B-\nclaim R2, R3 in parallel\nfind voltage across R1\n",
    ),
    (
        // OpenStax, University Physics Volume 2 (2016), section 10.3, two loops.
        "two loops",
        "battery B1 = 24 V\nbattery B2 = 29 V\nresistor R1, R2, R3 = 2 ohm\n\
         B1+ -- R1 -- @top -- R3 -- @bottom -- B1-\nB2+ -- R2 -- @top\nB2- -- @bottom\nfind current through R1, R2, R3\n",
    ),
    (
        // T. R. Kuphaldt, Lessons In Electric Circuits, volume I, chapter 10, branch current method.
        "branch currents",
        "battery B1 = 28 V\nbattery B2 = 7 V\nresistor R1 = 4 ohm\nresistor R2 = 2 ohm\nresistor R3 = 1 ohm\n\
         B1+ -- R1 -- @a -- R2 -- @b -- B1-\n@a -- R3 -- +B2- -- @b\nfind current through R1, R2, R3\n",
    ),
    (
        // T. R. Kuphaldt, Lessons In Electric Circuits, volume I, chapter 10, delta to wye.
        "unbalanced bridge",
        "battery B = 10 V\nresistor RA, RB = 12 ohm\nresistor RC = 18 ohm\nresistor RD = 18 ohm\nresistor RE = 12 ohm\n\
         B+ -- ( RA -- @left -- RD | RC -- @right -- RE ) -- B-\n@left -- RB -- @right\nfind current through RB\n",
    ),
    (
        // T. R. Kuphaldt, Lessons In Electric Circuits, volume I, chapter 8, voltmeter loading.
        "voltmeter loading",
        "battery B = 24 V\nresistor R1, R2 = 250 Mohm\nvoltmeter VM = 10 Mohm\n\
         B+ -- R1 -- @b -- R2 -- B-\n@b -- +VM- -- B-\nclaim voltage across VM = 0.8889 V\n",
    ),
    (
        // T. R. Kuphaldt, Lessons In Electric Circuits, volume I, chapter 8, ammeter in a branch.
        "ammeter in line",
        "battery B = 2 V\nresistor R1 = 3 ohm\nresistor R2 = 1.5 ohm\nammeter A1 = 0.5 ohm\n\
         B+ -- ( R1 -- +A1- | R2 ) -- B-\nfind current through A1\n",
    ),
    (
        // OpenStax, University Physics Volume 2 (2016), section 10.1, terminal voltage.
        "internal resistance",
        "battery B = 12 V, internal 0.1 ohm\nresistor R = 10 ohm\nB+ -- R -- B-\nclaim current through R = 1.188 A\n",
    ),
    (
        // Mathematics: opposite corners of a cube of equal resistors measure 5/6 of one.
        "cube",
        "resistor E1, E2, E3, E4, E5, E6, E7, E8, E9, E10, E11, E12 = 1 ohm\n\
         @a -- E1 -- @b -- E2 -- @c -- E3 -- @g\n@a -- E4 -- @d -- E5 -- @c\n@a -- E6 -- @e -- E7 -- @f -- E8 -- @g\n\
         @b -- E9 -- @f\n@d -- E10 -- @h -- E11 -- @g\n@e -- E12 -- @h\nfind resistance between @a and @g\n\
         claim resistance between @a and @g = (5/6) ohm\n",
    ),
    (
        // T. R. Kuphaldt, Lessons In Electric Circuits, volume I, chapter 10, Norton's theorem (the equivalent drawn).
        "current source",
        "source J = 14 A\nresistor RN = 0.8 ohm\nresistor RL = 2 ohm\nJ+ -- ( RN | RL ) -- J-\nclaim current through RL = 4 A\n",
    ),
    (
        // OpenStax, University Physics Volume 2 (2016), chapter 10, problem 79: a bridge with a switch across.
        "switch in two states",
        "battery B = 12 V\nresistor R1, R2, R3, R4 = 10 ohm\nswitch S1 = open\n\
         B+ -- ( R1 -- @left -- R2 | R3 -- @right -- R4 ) -- B-\n@left -- S1 -- @right\n\
         case \"closed\": S1 = closed\nfind current through S1 in \"closed\"\n",
    ),
    (
        // OpenStax, University Physics Volume 2 (2016), chapter 10, problem 75: capacitors open in steady state.
        "capacitor in steady state",
        "battery B = 12 V\nresistor R1, R2 = 100 ohm\ncapacitor C1 = 10 uF\nB+ -- R1 -- @a -- R2 -- B-\n@a -- C1 -- B-\n\
         claim R1, R2 in series\nfind charge of C1\n",
    ),
    (
        // OpenStax, University Physics Volume 2 (2016), section 8.2, capacitors in series.
        "capacitors in series",
        "capacitor C1 = 1 uF\ncapacitor C2 = 5 uF\ncapacitor C3 = 8 uF\n@a -- C1 -- C2 -- C3 -- @b\n\
         claim capacitance between @a and @b = 0.755 uF\n",
    ),
];

#[test]
fn right_circuits_are_met_with_silence() {
    let mut wrong = String::new();
    let mut remarks = 0;
    for (name, text) in CIRCUITS {
        let found: Vec<_> = check(text).into_iter().filter(|said| said.severity <= Severity::Info).collect();
        remarks += found.len();
        if found.iter().any(|said| said.severity < Severity::Info) {
            wrong += &format!("== {name}\n{}", write(text, &found));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(remarks <= 6, "{remarks} remarks on right circuits");
}
