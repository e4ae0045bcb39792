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
    let answers = solve(&circuit, &topologies, Method::Auto);
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

const PIER: &str = "battery B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 10 ohm\nresistor R3 = 15 ohm\nswitch S1 = closed
B1+ -- S1 -- R1 -- @fork -- R2 -- @join -- B1-\n@fork -- R3 -- @join\n";

#[test]
fn pier_lamps() {
    says(
        &format!(
            "{PIER}claim R2, R3 in parallel\nclaim R1, R2 in series\nclaim R2, R3 in series\nclaim S1, R1 in series\nclaim R1, R2 in parallel
claim B1, R1, S1 in series\nclaim S1, R1 in parallel\nclaim current through R1 = 0.3 A\nclaim current through R2 = 0.2 A
claim voltage across R2 = 1.8 V within 2%\ncase \"night\": S1 = open\nclaim R1, B1 in series in \"night\"\nclaim S1, B1 in series in \"night\"\n"
        ),
        expect![[r#""#]],
    );
}

#[test]
fn what_stands_with_what() {
    says(PIER, expect![[r#""#]]);
    says(
        "battery B1 = 6 V\nresistor R0, R1, R2, R3, R4 = 10 ohm\nlamp L1 = 5 ohm\nswitch S1 = closed
B1+ -- @a -- R1 -- ( R2 | R3 ) -- R4 -- @b -- B1-\n@a -- R0 -- @b\n@b -- L1 -- @c\n@c -- S1 -- @b\n",
        expect![[r#""#]],
    );
}

#[test]
fn branches() {
    says(
        "battery B1 = 6 V\nresistor R1, R2, R3, R4, R5, R6, R7 = 10 ohm\nswitch S1 = closed
B1+ -- R1 -- @a -- R2 -- R4 -- S1 -- R5 -- @b -- B1-\n@a -- R3 -- @b\n@a -- R6 -- R7 -- @b
claim (R2, R4, R5), R3 in parallel\nclaim R2, R3 in parallel\nclaim (R2, R5), R3 in parallel\nclaim (R1, R2), R3 in parallel\nclaim R2, R6 in parallel
claim (R2, R4, R5), (R6, R7) in parallel\nclaim R2, R4, R5 in series\nclaim R4, R7 in parallel\nclaim R4, R7 in series\n",
        expect![[r#""#]],
    );
}

#[test]
fn reduction_and_steady_state() {
    says(
        "battery B1 = 6 V\nresistor R0, R1, R2, R3, R4, R5, R6 = 10 ohm\ncapacitor C1 = 47 uF
B1+ -- @a -- R1 -- ( R2 | R3 ) -- R4 -- @b -- B1-\n@a -- R0 -- @b\n@a -- R5 -- @c -- R6 -- @b\n@c -- C1 -- @b
claim R1, R4 in series\nclaim (R1, R4), R0 in parallel\nclaim R5, R6 in series\nclaim (R5, R6), R0 in parallel\nclaim R6, C1 in parallel\n",
        expect![[r#""#]],
    );
}

#[test]
fn shorted_idle_and_undetermined() {
    says(
        "battery B1 = 6 V\nresistor R1, R2, R3, R4 = 10 ohm\nswitch S1 = closed\nammeter A1\nammeter A2\npotentiometer P1 = 100 ohm at 40%
B1+ -- R1 -- @a -- ( R2 | R3 | S1 ) -- @b -- ( +A1- | +A2- ) -- B1-\n@a -- R4 -- @c\nB1+ -- P1.a\nP1.b -- B1-\nP1.wiper -- @a
claim R1, R2 in series\nclaim R2, R3 in parallel\nclaim R2, S1 in parallel\nclaim R1, R4 in series\nclaim P1, B1 in parallel\nclaim current through A1 = 0.1 A\n",
        expect![[r#""#]],
    );
    says(
        "source V1 = 6 V\nsource V2 = 5 V\nswitch S1 = closed\nV1+ -- S1 -- +V2- -- V1-\nsource I1 = 2 A\nresistor R1 = 5 ohm\nI1- -- R1 -- @loose\n@far -- I1+\n",
        expect![[r#""#]],
    );
}
