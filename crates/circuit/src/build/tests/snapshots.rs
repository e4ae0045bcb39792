//! Compact dumps of whole circuits.

use expect_test::{Expect, expect};

use crate::build_text;

fn check(text: &str, expected: Expect) {
    expected.assert_eq(&build_text(text).dump());
}

#[test]
fn pier_lamps() {
    check(
        "## Pier lamps of the model harbour, fed by one flat battery.
circuit \"Pier lamps\"

battery   B1 = 4.5 V
resistor  R1 = 9 ohm, tolerance 5%, rating 1 W
resistor  R2 = 10 ohm
resistor  R3 = 15 ohm
switch    S1 = closed

B1+ -- S1 -- R1 -- @fork -- R2 -- @join -- B1-
@fork -- R3 -- @join

claim R2, R3 in parallel
claim R1, R2 in series
find  current through R1, R2, R3
case \"night\": S1 = open
find  voltage across S1 in \"night\"
",
        expect![[r#"
            title Pier lamps
            n0 B1+
            n1 between R1 and S1
            n2 @fork
            n3 @join
            B1 battery n0 n3: 9/2
            R1 resistor n1 n2: 9, tolerance 1/20, rating 1
            R2 resistor n2 n3: 10
            R3 resistor n2 n3: 15
            S1 switch n0 n1: closed
            case night: S1 [open]
            find current through R1 [CurrentThrough(ElementId(1))] in 0
            find current through R2 [CurrentThrough(ElementId(2))] in 0
            find current through R3 [CurrentThrough(ElementId(3))] in 0
            find voltage across S1 [VoltageAcross(ElementId(4))] in 1
            claim R2, R3 in parallel in 0
            claim R1, R2 in series in 0
        "#]],
    );
}

#[test]
fn groups_and_plain_wires() {
    check(
        "battery B1 = 6 V, internal 0.5 ohm
resistor R1, R2, R3, R4 = 10 ohm
ammeter A1
B1+ -- ( R1 -- @left  -- R3
       | R2 -- @right -- R4 )
    -- B1-
@left -- +A1- -- @right
@left -- @port
reference @port
find current through A1
find voltage from @left to B1-
",
        expect![[r#"
            n0 B1+
            n1 @left = @port
            n2 B1-
            n3 @right
            B1 battery n0 n2: 6, internal 1/2
            R1 resistor n0 n1: 10
            R2 resistor n0 n3: 10
            R3 resistor n1 n2: 10
            R4 resistor n3 n2: 10
            A1 ammeter n1 n3: ideal
            reference n1
            find current through A1 [CurrentThrough(ElementId(5))] in 0
            find voltage from @left to B1- [VoltageBetween(NodeId(1), NodeId(2))] in 0
        "#]],
    );
}

#[test]
fn every_kind() {
    check(
        "battery B1 = 4.5 V, internal 0.2 ohm, capacity 2 Ah, limit 3 A
source V1 = 5 V, limit 2 A
source I1 = 20 mA
resistor R1 = 4k7, tolerance 5%, rating 0.25 W
resistor R2 = 2 mS
lamp L1 = 5 W at 12 V
lamp L2 = 12 ohm
switch S1 = open
changeover C = b
potentiometer P1 = 1 kohm at 40%, rating 0.5 W
fuse F1 = 2 A, resistance 10 mohm
ammeter A1 = 0.1 ohm, range 1 A
voltmeter M1, range 15 V
capacitor K1 = 47 uF, initial 2 V, rating 16 V
electrolytic E1 = 1 mF
inductor X1 = 10 mH, resistance 3 ohm, initial 1 A
diode D1, D2 = 0.7 V, resistance 1 ohm, limit 1 A
resistor Q = ?
B1+ -- R1 -- R2 -- L1 -- L2 -- S1 -- F1 -- +A1- -- K1 -- -E1+ -- X1 -- +D1- -- -D2+ -- Q -- C.common
C.a -- +V1- -- B1-
C.b -- -I1+ -- B1-
P1.a -- C.a
P1.b -- C.b
P1.wiper -- +M1- -- B1-
find current into P1.wiper
find value of Q
",
        expect![[r#"
            n0 B1+
            n1 between R1 and R2
            n2 between R2 and L1
            n3 between L1 and L2
            n4 between L2 and S1
            n5 between S1 and F1
            n6 A1+
            n7 A1-
            n8 E1-
            n9 E1+
            n10 D1+
            n11 D1-
            n12 D2+
            n13 C.common
            n14 V1+
            n15 B1-
            n16 I1-
            n17 P1.wiper
            B1 battery n0 n15: 9/2, internal 1/5, capacity 7200, limit 3
            V1 source n14 n15: 5 V, limit 2
            I1 source n15 n16: 1/50 A
            R1 resistor n0 n1: 4700, tolerance 1/20, rating 1/4
            R2 resistor n1 n2: 500
            L1 lamp n2 n3: 144/5, rated 5 at 12
            L2 lamp n3 n4: 12
            S1 switch n4 n5: open
            C changeover n13 n14 n16: b
            P1 potentiometer n14 n16 n17: 1000 at 2/5, rating 1/2
            F1 fuse n5 n6: 2, resistance 1/100
            A1 ammeter n6 n7: 1/10, range 1
            M1 voltmeter n17 n15: ideal, range 15
            K1 capacitor n7 n8: 47/1000000, initial 2, rating 16
            E1 electrolytic n9 n8: 1/1000
            X1 inductor n9 n10: 1/100, initial 1, resistance 3
            D1 diode n10 n11: 7/10, resistance 1, limit 1
            D2 diode n12 n11: 7/10, resistance 1, limit 1
            Q resistor n12 n13: ?
            find current into P1.wiper [CurrentInto(ElementId(9), 2)] in 0
            find value of Q [ValueOf(ElementId(18))] in 0
        "#]],
    );
}

#[test]
fn parts() {
    check(
        "let drop = 1.9 V
part lantern(in, out), dropper 33 ohm
  let half = dropper / 2
  resistor Ra, Rb = half
  diode    D1 = drop
  @in -- Ra -- @mid -- Rb -- +D1- -- @out
end
lantern Left
lantern Right, dropper 47 ohm
battery B1 = 4.5 V
B1+ -- ( Left | Right ) -- B1-
find potential at @Left.mid
find current through Left.D1, Right
find voltage across Left
find current into Left.in
case \"bright\": drop = 2.1 V, Left.dropper = 22 ohm
case \"broken\": Right.D1 = open
",
        expect![[r#"
            n0 B1+
            n1 @Left.mid
            n2 Left.D1+
            n3 B1-
            n4 @Right.mid
            n5 Right.D1+
            Left.Ra resistor n0 n1: 33/2
            Left.Rb resistor n1 n2: 33/2
            Left.D1 diode n2 n3: 19/10
            Right.Ra resistor n0 n4: 47/2
            Right.Rb resistor n4 n5: 47/2
            Right.D1 diode n5 n3: 19/10
            B1 battery n0 n3: 9/2
            case bright: Left.Ra [11] Left.Rb [11] Left.D1 [21/10] Right.D1 [21/10]
            case broken: Right.D1 open
            find potential at @Left.mid [PotentialAt(NodeId(1))] in 0
            find current through Left.D1 [CurrentThrough(ElementId(2))] in 0
            find current through Right [CurrentInto(ElementId(3), 0)] in 0
            find voltage across Left [VoltageBetween(NodeId(0), NodeId(3))] in 0
            find current into Left.in [CurrentInto(ElementId(0), 0)] in 0
        "#]],
    );
}

#[test]
fn repeats() {
    check(
        "battery B1 = 10 V
repeat k from 1 to 3
  resistor S{k} = k * 10 ohm
  resistor P{k} = (100 / k) ohm
  @n{k-1} -- S{k} -- @n{k} -- P{k} -- @ground
end
B1+ -- @n0
@ground -- B1-
",
        expect![[r#"
            n0 @n0
            n1 @n1
            n2 @ground
            n3 @n2
            n4 @n3
            B1 battery n0 n2: 10
            S1 resistor n0 n1: 10
            P1 resistor n1 n2: 100
            S2 resistor n1 n3: 20
            P2 resistor n3 n2: 50
            S3 resistor n3 n4: 30
            P3 resistor n4 n2: 100/3
        "#]],
    );
}

#[test]
fn questions() {
    check(
        "battery B1 = 4.5 V
resistor R1, R2 = 9 ohm
capacitor C1 = 1 uF
B1+ -- R1 -- @a -- R2 -- B1-
@a -- C1 -- B1-
claim current through R1 = 0.25 A within 2%
claim voltage across R1 = 2.25 V within 10 mV
claim potential at @a = 4.5 V / 2
claim (R1, R2), C1 in parallel
given current through R2 = 250 mA
measured voltage across R2 = 2.20 V within 1%
find resistance between @a and B1-
find resistance seen by B1
find capacitance between @a and B1-
find power of R1, B1
find charge of C1 after 2 ms
find energy of C1
reference B1-
",
        expect![[r#"
            n0 B1+
            n1 @a
            n2 B1-
            B1 battery n0 n2: 9/2
            R1 resistor n0 n1: 9
            R2 resistor n1 n2: 9
            C1 capacitor n1 n2: 1/1000000
            reference n2
            find resistance between @a and B1- [ResistanceBetween(NodeId(1), NodeId(2))] in 0
            find resistance seen by B1 [ResistanceSeenBy(ElementId(0))] in 0
            find capacitance between @a and B1- [CapacitanceBetween(NodeId(1), NodeId(2))] in 0
            find power of R1 [PowerOf(ElementId(1))] in 0
            find power of B1 [PowerOf(ElementId(0))] in 0
            find charge of C1 after 2 ms [ChargeOf(ElementId(3))] in 0
            find energy of C1 [EnergyOf(ElementId(3))] in 0
            claim current through R1 [CurrentThrough(ElementId(1))] = 1/4 (2 digits) within Relative(1/50) in 0
            claim voltage across R1 [VoltageAcross(ElementId(1))] = 9/4 (3 digits) within Absolute(1/100) in 0
            claim potential at @a [PotentialAt(NodeId(1))] = 9/4 (0 digits) in 0
            claim (R1, R2), C1 in parallel in 0
            given current through R2 = 1/4 in 0
            measured voltage across R2 = 11/5 in 0
        "#]],
    );
}

#[test]
fn cases() {
    check(
        "let supply = 9 V
let twice = 2 * supply
source V1 = twice
battery B1 = supply, internal 1 ohm
potentiometer P1 = 1 kohm at 40%
resistor R1 = twice / 1 A
lamp L2 = 6 ohm
V1+ -- R1 -- P1.a
P1.b -- L2 -- V1-
P1.wiper -- +B1- -- V1-
case \"low\": supply = 3 V
case \"other\": B1.internal = 2 ohm, P1.at = 90%, L2 = open, R1 = 5 ohm
case \"third\": P1 = 2 kohm, supply = 1 V, V1 = supply, R1 = shorted
find current through R1 in \"low\"
",
        expect![[r#"
            n0 V1+
            n1 P1.a
            n2 P1.b
            n3 V1-
            n4 B1+
            V1 source n0 n3: 18 V
            B1 battery n4 n3: 9, internal 1
            P1 potentiometer n1 n2 n4: 1000 at 2/5
            R1 resistor n0 n1: 18
            L2 lamp n2 n3: 6
            case low: V1 [6 V] B1 [3, internal 1] R1 [6]
            case other: B1 [9, internal 2] P1 [1000 at 9/10] R1 [5] L2 open
            case third: V1 [1 V] B1 [1, internal 1] P1 [2000 at 2/5] R1 [2] R1 shorted
            find current through R1 [CurrentThrough(ElementId(3))] in 1
        "#]],
    );
}
