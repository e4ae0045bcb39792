//! What people read about claims and causes, on circuits of the harbour.
//! Whether each claim holds follows from the definitions of series and parallel, and from Ohm's and Kirchhoff's laws by hand.

use std::fmt::Write;
use std::sync::Arc;

use expect_test::{Expect, expect};
use ohmline_circuit::{Claim, Source, Sources, StateId, Topology, build};
use ohmline_lint::{Context, words};
use ohmline_solve::{Method, solve};
use ohmline_syntax::LineIndex;

/// Every claim with its answer, and every cause of something undetermined as drawn, against what is expected.
fn says(text: &str, expected: Expect) {
    let (tree, lines) = (Arc::new(ohmline_syntax::parse(text)), Arc::new(LineIndex::new(text)));
    let source = Source { name: "harbour.ohmline".into(), path: None, tree, lines, includes: Vec::new() };
    let sources = Sources { files: vec![source] };
    let circuit = build(&sources);
    assert!(circuit.diagnostics.is_empty(), "{:?}", circuit.diagnostics);
    let topologies: Vec<_> = circuit.state_ids().map(|state| Topology::new(&circuit, state)).collect();
    let answers = solve(&circuit, Method::Auto);
    let judge = |claim: &Claim| match claim {
        Claim::Relation { relation, branches, state, .. } => {
            Some(topologies[state.index()].judge(&circuit, *relation, branches))
        }
        Claim::Value { .. } => None,
    };
    let relations: Vec<_> = circuit.claims.iter().map(judge).collect();
    let (circuit, topologies, answers) = (&circuit, &topologies[..], &answers);
    let context = Context { sources: &sources, circuit, topologies, answers, relations: &relations };
    let mut said = String::new();
    for index in 0..circuit.claims.len() {
        let answer = words::claim(&context, index);
        let verdict = answer.holds.map_or("?", |holds| if holds { "yes" } else { "no" });
        let _ = writeln!(said, "{}: {verdict}, {}: {}", answer.text, answer.how, answer.why);
    }
    for cause in &answers.state(StateId::DRAWN).causes {
        let _ = writeln!(said, "cause: {}", words::cause(circuit, cause));
    }
    for element in circuit.element_ids().filter(|_| circuit.claims.is_empty()) {
        let name = &circuit.element(element).name;
        let _ = writeln!(said, "{name}: {}", words::series_sentence(circuit, &topologies[0], element));
    }
    expected.assert_eq(&said);
}

const PIER: &str =
    "battery B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 10 ohm\nresistor R3 = 15 ohm\nswitch S1 = closed
B1+ -- S1 -- R1 -- @fork -- R2 -- @join -- B1-\n@fork -- R3 -- @join\n";

#[test]
fn pier_lamps() {
    says(
        &format!(
            "{PIER}claim R2, R3 in parallel\nclaim R1, R2 in series\nclaim R2, R3 in series\nclaim S1, R1 in series\nclaim R1, R2 in parallel
claim B1, R1, S1 in series\nclaim S1, R1 in parallel\nclaim current through R1 = 0.3 A\nclaim current through R2 = 0.2 A
claim voltage across R2 = 1.8 V within 2%\ncase \"night\": S1 = open\nclaim R1, B1 in series in \"night\"\nclaim S1, B1 in series in \"night\"\n"
        ),
        expect![[r#"
            R2, R3 in parallel: yes, direct: R2 and R3 both run between @fork and @join
            R1, R2 in series: no, no: R1 and R2 meet at @fork, but R3 joins there too, so the current can divide
            R2, R3 in series: no, no: R2 and R3 both run between @fork and @join: they are in parallel, and current divides between them
            S1, R1 in series: yes, direct: S1 and R1 meet at the point between R1 and S1, and nothing else there can carry current
            R1, R2 in parallel: no, no: R1 and R2 share @fork, but their other ends are the point between R1 and S1 and @join
            B1, R1, S1 in series: yes, direct: B1, R1 and S1 lie in one line through the point between R1 and S1 and B1+, and nothing else there can carry current
            S1, R1 in parallel: no, no: S1 and R1 meet at the point between R1 and S1 and carry one current: they are in series
            current through R1 = 0.3 A: yes, value: the solution is 0.3 A
            current through R2 = 0.2 A: no, value: the solution is 0.18 A, not 0.2 A
            voltage across R2 = 1.8 V within 2%: yes, value: the solution is 1.8 V
            R1, B1 in series: no, no: R1 carries no current while S1 is open
            S1, B1 in series: no, no: S1 is open, so it carries no current
        "#]],
    );
}

#[test]
fn what_stands_with_what() {
    says(
        PIER,
        expect![[r#"
        B1: in series with R1 and S1; in parallel with nothing
        R1: in series with B1 and S1; in parallel with nothing
        R2: in series with nothing; in parallel with R3
        R3: in series with nothing; in parallel with R2
        S1: in series with B1 and R1; in parallel with nothing
    "#]],
    );
    says(
        "battery B1 = 6 V\nresistor R0, R1, R2, R3, R4 = 10 ohm\nlamp L1 = 5 ohm\nswitch S1 = closed
B1+ -- @a -- R1 -- ( R2 | R3 ) -- R4 -- @b -- B1-\n@a -- R0 -- @b\n@b -- L1 -- @c\n@c -- S1 -- @b\n",
        expect![[r#"
            B1: in series with nothing; in parallel with R0
            R0: in series with nothing; in parallel with B1
            R1: in series with nothing, after reduction also with R4; in parallel with nothing
            R2: in series with nothing; in parallel with R3
            R3: in series with nothing; in parallel with R2
            R4: in series with nothing, after reduction also with R1; in parallel with nothing
            L1: shorted by S1
            S1: in series with nothing; in parallel with nothing
        "#]],
    );
}

#[test]
fn branches() {
    says(
        "battery B1 = 6 V\nresistor R1, R2, R3, R4, R5, R6, R7 = 10 ohm\nswitch S1 = closed
B1+ -- R1 -- @a -- R2 -- R4 -- S1 -- R5 -- @b -- B1-\n@a -- R3 -- @b\n@a -- R6 -- R7 -- @b
claim (R2, R4, R5), R3 in parallel\nclaim R2, R3 in parallel\nclaim (R2, R5), R3 in parallel\nclaim (R1, R2), R3 in parallel\nclaim R2, R6 in parallel
claim (R2, R4, R5), (R6, R7) in parallel\nclaim R2, R4, R5 in series\nclaim R4, R7 in parallel\nclaim R4, R7 in series\n",
        expect![[r#"
            (R2, R4, R5), R3 in parallel: yes, direct: (R2, R4, R5) and R3 both run between @a and @b
            R2, R3 in parallel: no, no: R2 alone does not run between the same two points as R3: the branch (R2, R4, R5) does
            (R2, R5), R3 in parallel: no, no: R4 stands between R2 and R5, so (R2, R5) is not the whole branch
            (R1, R2), R3 in parallel: no, no: R1 and R2 are not in series with each other, so (R1, R2) is no branch
            R2, R6 in parallel: no, no: each is only part of a branch: (R2, R4, R5) and (R6, R7) are in parallel as a whole
            (R2, R4, R5), (R6, R7) in parallel: yes, direct: (R2, R4, R5) and (R6, R7) both run between @a and @b
            R2, R4, R5 in series: yes, direct: R2, R4 and R5 lie in one line through 3 points, from the point between R2 and R4 to the point between R5 and S1, and nothing else there can carry current
            R4, R7 in parallel: no, no: each is only part of a branch: (R2, R4, R5) and (R6, R7) are in parallel as a whole
            R4, R7 in series: no, no: R4 and R7 meet at @a, but R1 and R3 join there too, so the current can divide
        "#]],
    );
}

#[test]
fn reduction_and_steady_state() {
    says(
        "battery B1 = 6 V\nresistor R0, R1, R2, R3, R4, R5, R6 = 10 ohm\ncapacitor C1 = 47 uF
B1+ -- @a -- R1 -- ( R2 | R3 ) -- R4 -- @b -- B1-\n@a -- R0 -- @b\n@a -- R5 -- @c -- R6 -- @b\n@c -- C1 -- @b
claim R1, R4 in series\nclaim (R1, R4), R0 in parallel\nclaim R5, R6 in series\nclaim (R5, R6), R0 in parallel\nclaim R6, C1 in parallel\n",
        expect![[r#"
            R1, R4 in series: yes, reduction: R1 and R4 carry one current whatever the values: what passes one of them goes on through R2 and R3 to the next
            (R1, R4), R0 in parallel: yes, reduction: with the groups inside replaced by their equivalents, (R1, R4) and R0 both run between @a and @b
            R5, R6 in series: yes, steady-state: C1 carries nothing any more once charged, so R5 and R6 carry one current
            (R5, R6), R0 in parallel: yes, steady-state: once capacitors are charged and carry nothing any more, (R5, R6) and R0 both run between @a and @b
            R6, C1 in parallel: yes, direct: R6 and C1 both run between @c and @b
        "#]],
    );
}

#[test]
fn shorted_idle_and_undetermined() {
    says(
        "battery B1 = 6 V\nresistor R1, R2, R3, R4 = 10 ohm\nswitch S1 = closed\nammeter A1\nammeter A2\npotentiometer P1 = 100 ohm at 40%
B1+ -- R1 -- @a -- ( R2 | R3 | S1 ) -- @b -- ( +A1- | +A2- ) -- B1-\n@a -- R4 -- @c\nB1+ -- P1.a\nP1.b -- B1-\nP1.wiper -- @a
claim R1, R2 in series\nclaim R2, R3 in parallel\nclaim R2, S1 in parallel\nclaim R1, R4 in series\nclaim P1, B1 in parallel\nclaim current through A1 = 0.1 A\n",
        expect![[r#"
            R1, R2 in series: no, no: S1 joins both ends of R2, so R2 carries no current
            R2, R3 in parallel: no, no: S1 joins both ends of R2, so R2 carries no current
            R2, S1 in parallel: yes, direct: R2 and S1 both run between @a and @b
            R1, R4 in series: no, no: R4 is on no closed path, so it carries no current
            P1, B1 in parallel: yes, direct: P1 and B1 both run between B1+ and @a
            current through A1 = 0.1 A: ?, value: A2 and A1 form a loop without resistance, and nothing says how the current divides among them
            cause: A2 and A1 form a loop without resistance, and nothing says how the current divides among them
        "#]],
    );
    says(
        "source V1 = 6 V\nsource V2 = 5 V\nswitch S1 = closed\nV1+ -- S1 -- +V2- -- V1-\nsource I1 = 2 A\nresistor R1 = 5 ohm\nI1- -- R1 -- @loose\n@far -- I1+\n",
        expect![[r#"
            cause: the ideal voltages round the loop of V2, V1 and S1 leave over 1.00 V, and no finite current fits that
            cause: I1 drives 2.00 A more than anything at @far can carry on
            cause: nothing that can carry current connects @far to the 0 V point
            V1: in series with V2 and S1; in parallel with V2
            V2: in series with V1 and S1; in parallel with V1
            S1: in series with V1 and V2; in parallel with nothing
            I1: in series with nothing; in parallel with nothing
            R1: in series with nothing; in parallel with nothing
        "#]],
    );
}
