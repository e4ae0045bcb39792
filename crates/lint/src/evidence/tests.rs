//! What proofs read like. That they are true is tested from outside, by the definitions alone (`tests/evidence.rs`).

use expect_test::{Expect, expect};

use crate::fixture::Analyzed;

/// Compares the proof of the first finding of a rule.
fn proves(rule: &str, text: &str, expected: Expect) {
    let analyzed = Analyzed::new(text);
    let context = analyzed.context();
    let found = crate::check(&context);
    let said = found.iter().find(|said| said.rule == rule).expect("it is found");
    let proof = super::evidence(&context, said).expect("it is proved");
    let mut out =
        format!("{}{}\n", proof.kind.word(), proof.case.map(|case| format!(" in {case}")).unwrap_or_default());
    for step in &proof.steps {
        let at = text.get(step.at.span.range()).unwrap_or("?");
        let (element, point) = (step.element.as_deref().unwrap_or("-"), step.point.as_deref().unwrap_or("-"));
        out += &format!("  {} [{element}, {point}, `{at}`]\n", step.text);
    }
    for side in &proof.sides {
        out += &format!("  side: {} [{}]\n", side.elements.join(" "), side.points.join(" "));
    }
    out += &format!("  so: {}\n", proof.conclusion);
    expected.assert_eq(&out);
}

#[test]
fn a_shorted_source() {
    proves(
        "shorted-source",
        "battery B1 = 6 V, internal 0.2 ohm\n\
         lamp L1 = 12 ohm\n\
         switch S1 = open\n\
         fuse F1 = 2 A\n\
         B1+ -- S1 -- F1 -- @quay\n\
         B1- -- @quay\n\
         B1+ -- L1 -- B1-\n\
         case \"night\": S1 = closed\n",
        expect![[r#"
            loop in night
              From B1+ through S1 (closed) to the point between S1 and F1 [S1, between S1 and F1, `S1`]
              On through F1 to B1- [F1, @quay, `F1`]
              Back through B1 (6.00 V up) to B1+ [B1, B1+, `B1+`]
              so: There is no resistance on the way but inside B1
        "#]],
    );
    proves(
        "shorted-source",
        "battery B1 = 6 V\nlamp L1 = 12 ohm\nB1+ -- L1 -- B1-\nB1+ -- B1-\n",
        expect![[r#"
            loop
              From B1+ along plain wires to B1-: they are one point [-, B1+, `B1+ -- B1-`]
              Back through B1 (6.00 V up) to B1+ [B1, B1+, `B1+`]
              so: There is no resistance on the way
        "#]],
    );
    proves(
        "shorted-source",
        "battery B1 = 6 V, internal 0.2 ohm\nlamp L1 = 12 ohm\nB1+ -- L1 -- B1-\ncase \"slip\": B1 = shorted\n",
        expect![[r#"
            loop in slip
              From B1+ along the wire of the case to B1- [-, B1-, `"slip"`]
              Back through B1 (6.00 V up) to B1+ [B1, B1+, `B1+`]
              so: There is no resistance on the way but inside B1
        "#]],
    );
    proves(
        "shorted-source",
        "battery B1, B2 = 1.5 V, internal 0.5 ohm\nswitch S1 = closed\nB1+ -- -B2+ -- S1 -- B1-\n",
        expect![[r#"
            loop
              From B1- through S1 (closed) to B2+ [S1, B2+, `S1`]
              On through B2 (1.50 V down) to B1+ [B2, B1+, `-B2+`]
              Back through B1 (1.50 V down) to B1- [B1, B1-, `B1+`]
              so: There is no resistance on the way but inside B1 and B2
        "#]],
    );
}

#[test]
fn sources_that_contradict_each_other() {
    proves(
        "source-conflict",
        "source E1 = 6 V\nsource E2 = 9 V\nresistor R1 = 12 ohm\nammeter A1\n\
         E1+ -- @top -- R1 -- @bottom -- E1-\n@top -- +A1- -- +E2- -- @bottom\n",
        expect![[r#"
            loop
              From E2+ through E2 (9.00 V down) to @bottom [E2, @bottom, `+E2-`]
              On through E1 (6.00 V up) to @top [E1, @top, `E1+`]
              Back through A1 to E2+ [A1, E2+, `+A1-`]
              so: There is no resistance on the way
        "#]],
    );
    proves(
        "source-conflict",
        "source J1 = 2 A\nresistor R1 = 12 ohm\nswitch S1 = open\nvoltmeter V1\nJ1+ -- S1 -- R1 -- J1-\nJ1+ -- +V1- -- J1-\n",
        expect![[r#"
            cut
              J1 crosses, from J1+ to J1- [J1, J1+, `J1+`]
              S1 crosses, from J1+ to the point between R1 and S1: open [S1, J1+, `S1`]
              V1 crosses, from J1+ to J1-: an ideal voltmeter, which carries nothing [V1, J1+, `+V1-`]
              side:  [J1+]
              side: R1 [between R1 and S1 J1-]
              so: What J1 drives across has no way back
        "#]],
    );
}

#[test]
fn what_is_not_in_series() {
    proves(
        "split-series",
        "battery B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 10 ohm\nresistor R3 = 15 ohm\n\
         B1+ -- R1 -- @fork -- R2 -- @join -- B1-\n@fork -- R3 -- @join\nclaim R1, R2 in series\n",
        expect![[r#"
            loop
              From @fork through R3 to @join [R3, @join, `R3`]
              On through B1 to B1+ [B1, B1+, `B1+`]
              Back through R1 to @fork [R1, @fork, `R1`]
              so: This closed path leaves out R2: what passes R1 need not pass R2
        "#]],
    );
}

#[test]
fn what_is_in_series_or_parallel() {
    proves(
        "hidden-series",
        "battery B1 = 6 V\nvoltmeter V1\n\
         resistor R1, R2, R3, R4 = 12 ohm\nresistor R5, R6, R7, R8 = 24 ohm\n\
         B1+ -- ( R5 | R6 ) -- R1 -- @bow\n@bow -- ( R2 | R3 ) -- @stern\n@stern -- R4 -- ( R7 | R8 ) -- B1-\n\
         @bow -- +V1- -- B1-\n",
        expect![[r#"
            cut
              R1 crosses, from @bow to the point between R1, R5 and R6 [R1, @bow, `R1`]
              R4 crosses, from @stern to the point between R4, R7 and R8 [R4, @stern, `R4`]
              V1 crosses, from @bow to B1-: an ideal voltmeter, which carries nothing [V1, @bow, `+V1-`]
              side: R2 R3 [@bow @stern]
              side: B1 R5 R6 R7 R8 [between R1, R5 and R6 between R4, R7 and R8 B1-]
              so: Nothing else that carries current crosses, so what passes R1 has to pass R4
        "#]],
    );
    proves(
        "claim-holds",
        "battery B1 = 6 V\nresistor R1, R2, R3 = 12 ohm\nswitch S1 = closed\n\
         B1+ -- R1 -- @bow -- R2 -- @stern -- B1-\n@bow -- S1 -- @mast -- R3 -- @stern\nclaim R2, R3 in parallel\n",
        expect![[r#"
            points
              One end of R2 is at @bow [R2, @bow, `R2`]
              The other end of R2 is at @stern [R2, @stern, `R2`]
              One end of R3 is at @mast [R3, @mast, `R3`]
              The other end of R3 is at @stern [R3, @stern, `R3`]
              S1 (closed) joins @bow and @mast without resistance [S1, @mast, `S1`]
              so: Both run between the same two points
        "#]],
    );
    proves(
        "half-parallel",
        "battery B1 = 6 V\nresistor R1, R2, R3, R4, R5 = 12 ohm\nB1+ -- @top\n@top -- R1 -- @left\n@top -- R2 -- @right\n\
         @left -- R3 -- B1-\n@right -- R4 -- B1-\n@left -- R5 -- @right\nclaim R1, R2 in parallel\n",
        expect![[r#"
            points
              One end of R1 is at @top [R1, @top, `R1`]
              The other end of R1 is at @left [R1, @left, `R1`]
              One end of R2 is at @top [R2, @top, `R2`]
              The other end of R2 is at @right [R2, @right, `R2`]
              so: They share @top, but @left and @right are two points, which nothing without resistance joins
        "#]],
    );
}

#[test]
fn what_carries_nothing() {
    proves(
        "dead-branch",
        "battery B1, B2 = 6 V\nresistor R1, R2, R5 = 12 ohm\n\
         B1+ -- @red -- R1 -- B1-\nB2+ -- @green -- R2 -- B2-\n@red -- R5 -- @green\n",
        expect![[r#"
            cut
              R5 crosses, from @red to @green [R5, @red, `R5`]
              side: B1 R1 [@red]
              side: B2 R2 [@green]
              so: Nothing else crosses, so no current could come back: R5 carries none
        "#]],
    );
    proves(
        "voltmeter-in-line",
        "battery B1 = 6 V\nlamp L1 = 12 ohm\nvoltmeter V1\nB1+ -- L1 -- +V1- -- B1-\n",
        expect![[r#"
            cut
              L1 crosses, from V1+ to B1+ [L1, V1+, `L1`]
              V1 crosses, from V1+ to B1-: an ideal voltmeter, which carries nothing [V1, V1+, `+V1-`]
              side:  [V1+]
              side: B1 [B1+ B1-]
              so: Nothing else that crosses lets current pass, so no current could come back: L1 carries none
        "#]],
    );
    proves(
        "undriven-loop",
        "battery B1 = 6 V\nresistor R1 = 12 ohm\nlamp L1, L2 = 24 ohm\n\
         B1+ -- @quay -- R1 -- B1-\n@quay -- ( L1 | L2 ) -- @buoy\n",
        expect![[r#"
            piece
              L1, from @quay to @buoy [L1, -, `L1`]
              L2, from @quay to @buoy [L2, -, `L2`]
              At @quay they are joined to B1 and R1 [-, @quay, `@quay`]
              so: They meet the rest at this one point, and none of them is a source
        "#]],
    );
    proves(
        "floating-piece",
        "battery B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 15 ohm\n\
         B1+ -- @fork -- R1 -- @join -- B1-\n@frok -- R2 -- @jion\n",
        expect![[r#"
            piece
              R2, from @frok to @jion [R2, -, `R2`]
              so: No wire joins it to anything else, and it is no source
        "#]],
    );
    proves(
        "open-end",
        "battery B1 = 6 V\nresistor R1, R2 = 40 ohm\nB1+ -- @top -- R1 -- B1-\n@top -- R2\n",
        expect![[r#"
            points
              The right end of R2 [R2, end of R2, `R2`]
              so: Nothing else is joined there, so a current that came to this point could not go on
        "#]],
    );
}

#[test]
fn what_has_no_single_value() {
    proves(
        "undecided-share",
        "battery B1 = 6 V\nresistor R1 = 12 ohm\nammeter A1, A2\nB1+ -- ( +A1- | +A2- ) -- R1 -- B1-\n",
        expect![[r#"
            loop
              From B1+ through A2 to A1- [A2, A1-, `+A2-`]
              Back through A1 to B1+ [A1, B1+, `+A1-`]
              so: There is no resistance on the way
        "#]],
    );
    proves(
        "shorted-element",
        "battery B1 = 6 V\nlamp L1 = 12 ohm\nresistor R1 = 8 ohm\nswitch S1 = closed\n\
         B1+ -- R1 -- @near -- L1 -- @far -- B1-\n@near -- S1 -- @far\n",
        expect![[r#"
            loop
              From @far through S1 (closed) to @near [S1, @near, `S1`]
              Back through L1 to @far [L1, @far, `L1`]
              so: There is no resistance on the way beside L1
        "#]],
    );
    proves(
        "ammeter-across",
        "battery B1 = 6 V\nlamp L1 = 12 ohm\nresistor R1 = 8 ohm\nammeter A1\n\
         B1+ -- R1 -- @near -- L1 -- @far -- B1-\n@near -- +A1- -- @far\n",
        expect![[r#"
            loop
              From @far through A1 to @near [A1, @near, `+A1-`]
              Back through L1 to @far [L1, @far, `L1`]
              so: There is no resistance on the way beside L1
        "#]],
    );
}

#[test]
fn what_something_without_resistance_bypasses() {
    proves(
        "shorted-element",
        "battery B1 = 6 V\nlamp L1, L2 = 12 ohm\nresistor R1 = 8 ohm\nswitch S1 = closed\n\
         B1+ -- R1 -- @near -- L1 -- @mid -- L2 -- @far -- B1-\n@near -- S1 -- @far\n",
        expect![[r#"
            piece
              L1, from @near to @mid [L1, -, `L1`]
              L2, from @mid to @far [L2, -, `L2`]
              At @near they are joined to R1 and S1 [-, @near, `@near`]
              At @far they are joined to B1 and S1 [-, @far, `@far`]
              S1 (closed) joins @near and @far without resistance [S1, @far, `S1`]
              so: So these are one point; they meet the rest nowhere else, and none of them is a source: nothing drives current through them
        "#]],
    );
    proves(
        "shorted-element",
        "battery B1 = 6 V\nlamp L1, L2 = 12 ohm\nresistor R1 = 8 ohm\n\
         B1+ -- R1 -- @near -- ( L1 | L2 ) -- @far -- B1-\n@near -- @far\n",
        expect![[r#"
            piece
              L1, with both ends at @near [L1, -, `L1`]
              L2, with both ends at @near [L2, -, `L2`]
              At @near they are joined to B1 and R1 [-, @near, `@near`]
              so: They meet the rest at this one point, and none of them is a source: nothing drives current through them
        "#]],
    );
    proves(
        "false-claim",
        "battery B1 = 6 V\nlamp L1, L2 = 12 ohm\nswitch S1 = open\n\
         B1+ -- L1 -- B1-\nB1+ -- S1 -- L2 -- B1-\nclaim S1, L2 in series\n",
        expect![[r#"
            points
              The left end of S1 is at B1+ [S1, B1+, `S1`]
              The right end of S1 is at the point between L2 and S1 [S1, between L2 and S1, `S1`]
              so: S1 is open, so no current passes from one end to the other
        "#]],
    );
}

#[test]
fn what_is_left_what_balances_and_what_is_one_point() {
    proves(
        "not-reducible",
        "resistor R1, R4 = 10 ohm\nresistor R2, R3, R5, R6 = 20 ohm\n\
         @in -- ( R1 -- @port -- R2 -- R6 | R3 -- @starboard -- R4 ) -- @out\n@port -- R5 -- @starboard\n\
         find resistance between @in and @out\n",
        expect![[r#"
            core
              R1, from @in to @port [R1, -, `R1`]
              R4, from @starboard to @out [R4, -, `R4`]
              R2 and R6, put together, from @port to @out [R2, -, `R2`]
              R3, from @in to @starboard [R3, -, `R3`]
              R5, from @port to @starboard [R5, -, `R5`]
              At @in, which is asked about, R1 and R3 meet [-, @in, `@in`]
              At @port R1, R2 and R5 meet [-, @port, `@port`]
              At @starboard R4, R3 and R5 meet [-, @starboard, `@starboard`]
              At @out, which is asked about, R4 and R2 meet [-, @out, `@out`]
              so: No two of them run between the same two points, and at each point between three or more meet: neither parallel nor series goes on
        "#]],
    );
    proves(
        "balanced-bridge",
        "battery B1 = 6 V\nresistor R1, R3 = 10 ohm\nresistor R2, R4 = 20 ohm\nresistor R5 = 15 ohm\n\
         B1+ -- ( R1 -- @port -- R2 | R3 -- @starboard -- R4 ) -- B1-\n@port -- R5 -- @starboard\n",
        expect![[r#"
            lines
              From B1+ through R1 (10.0 Ω) to @port [R1, @port, `R1`]
              On through R2 (20.0 Ω) to B1- [R2, B1-, `R2`]
              From B1+ through R3 (10.0 Ω) to @starboard [R3, @starboard, `R3`]
              On through R4 (20.0 Ω) to B1- [R4, B1-, `R4`]
              so: @port and @starboard divide the voltage between B1+ and B1- in the same ratio, 10.0 Ω to 20.0 Ω and 10.0 Ω to 20.0 Ω, so none is left across R5
        "#]],
    );
    // Two loops on one pair of points: no two lines divide a voltage here.
    proves(
        "balanced-bridge",
        "battery B1, B2 = 6 V\nresistor R1, R2, R3, R4, R5 = 10 ohm\n\
         B1+ -- R1 -- @port -- R2 -- B1-\nB2+ -- R3 -- @starboard -- R4 -- B2-\n@port -- R5 -- @starboard\nB1- -- B2-\n",
        expect![[r#"
            points
              R5: @port is at 3.00 V [R5, @port, `R5`]
              R5: @starboard is at 3.00 V [R5, @starboard, `R5`]
              so: Both ends of R5 are at one potential, so it carries none
        "#]],
    );
    proves(
        "same-points",
        "battery B1 = 6 V\nresistor R1 = 12 ohm\nB1+ -- @top -- R1 -- B1-\n@top -- @mast -- @lantern\n\
         find voltage from B1+ to @lantern\n",
        expect![[r#"
            wires
              A wire joins B1+ and @top [-, @top, `B1+ -- @top`]
              A wire joins @top and @mast [-, @top, `@top -- @mast`]
              A wire joins @mast and @lantern [-, @top, `@mast -- @lantern`]
              so: So B1+ and @lantern are one point
        "#]],
    );
    proves(
        "shorted-group",
        "battery B1 = 6 V\nresistor R1, R2, R3 = 12 ohm\nB1+ -- R1 -- ( R2 -- R3 | @by ) -- B1-\n",
        expect![[r#"
            loop
              From @by through R2 to the point between R2 and R3 [R2, between R2 and R3, `R2`]
              Back through R3 to @by [R3, @by, `R3`]
              so: This closed path has R2 and R3, so they end where they begin
        "#]],
    );
}
