//! Judgements of claims, on circuits small enough to be judged by eye. Source: the definitions of series and parallel.

use ohmline_syntax::tree::Relation;

use super::net::{KESTREL, Net, SISKIN, TEAL};
use super::{Evidence, How, RelationVerdict};
use crate::model::ElementId;

/// Members parted by commas; a branch has several names.
fn judge(net: &Net, relation: Relation, members: &str) -> RelationVerdict {
    let members: Vec<Vec<ElementId>> = members.split(',').map(|member| net.elements(member)).collect();
    net.topology().judge(&net.circuit, relation, &members)
}

fn series(net: &Net, members: &str) -> RelationVerdict {
    judge(net, Relation::Series, members)
}

fn parallel(net: &Net, members: &str) -> RelationVerdict {
    judge(net, Relation::Parallel, members)
}

#[test]
fn a_pair_and_what_comes_before_it() {
    let net = Net::of(KESTREL);
    let verdict = series(&net, "B1, R1");
    assert_eq!((verdict.how, verdict.evidence), (How::Direct, Evidence::Chain(vec![net.at("a")])));
    let verdict = series(&net, "R1, R2");
    assert_eq!(verdict.how, How::No);
    assert_eq!(verdict.evidence, Evidence::ThirdWire { at: net.at("b"), others: net.elements("R3") });
    let verdict = parallel(&net, "R2, R3");
    assert_eq!((verdict.how, verdict.evidence), (How::Direct, Evidence::Between(net.at("b"), net.at("0"))));
    let verdict = series(&net, "R2, R3");
    assert_eq!((verdict.how, verdict.evidence), (How::No, Evidence::Between(net.at("b"), net.at("0"))));
    let verdict = parallel(&net, "R1, R2");
    assert_eq!(verdict.evidence, Evidence::OneShared { shared: net.at("b"), others: (net.at("a"), net.at("0")) });
    let verdict = parallel(&net, "R2, R3, R1");
    assert_eq!((verdict.how, verdict.pair), (How::No, (0, 2)));
}

#[test]
fn a_branch_and_one_element_of_it() {
    let net = Net::of(
        "B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b c; R4 resistor 4 c d; R3 resistor 3 b d; R5 resistor 5 d 0",
    );
    assert_eq!(parallel(&net, "R2 R4, R3").how, How::Direct);
    let verdict = parallel(&net, "R2, R3");
    assert_eq!(verdict.how, How::No);
    assert_eq!(verdict.evidence, Evidence::PartOfBranch { element: net.element("R2"), branch: net.elements("R2 R4") });
    assert_eq!(parallel(&net, "R1 R2, R3").evidence, Evidence::NoBranch(net.elements("R1 R2")));
    assert_eq!(series(&net, "R1, R5").how, How::Direct);
    assert_eq!(parallel(&net, "R2, R4").evidence, Evidence::Chain(vec![net.at("c")]));
    assert_eq!(series(&net, "R2 R4, R1").evidence, Evidence::ThirdWire { at: net.at("b"), others: net.elements("R3") });
}

#[test]
fn a_group_in_parallel_is_one_thing() {
    let net = Net::of(
        "B1 battery 9 a 0; R1 resistor 1 a b; R3 resistor 2 b c; R4 resistor 3 b c; R2 resistor 4 c 0; R6 resistor 4 a 0",
    );
    let verdict = series(&net, "R3 R4, R2");
    assert_eq!((verdict.how, verdict.evidence), (How::Reduction, Evidence::Chain(vec![net.at("c")])));
    let verdict = series(&net, "R1, R3 R4, R2");
    assert_eq!((verdict.how, verdict.evidence), (How::Reduction, Evidence::Chain(vec![net.at("b"), net.at("c")])));
    assert_eq!(series(&net, "R3 R4, R6").how, How::No);
    // The same with a third element beside the two: they are not the whole group.
    let net = Net::of(
        "B1 battery 9 a 0; R1 resistor 1 a b; R3 resistor 2 b c; R4 resistor 3 b c; R5 resistor 7 b c; R2 resistor 4 c 0",
    );
    let verdict = series(&net, "R3 R4, R2");
    assert_eq!(verdict.how, How::No);
    assert_eq!(verdict.evidence, Evidence::ThirdWire { at: net.at("c"), others: net.elements("R5") });
    assert_eq!(series(&net, "R3 R4 R5, R2").how, How::Reduction);
    assert_eq!(parallel(&net, "R3 R4, R5").how, How::Direct);
}

#[test]
fn part_of_a_longer_branch() {
    let net = Net::of(
        "B1 battery 9 a 0; R0 resistor 9 a 0; R1 resistor 1 a b; R2 resistor 2 b c; S1 switch closed c d; R3 resistor 3 d 0; R4 resistor 9 a 0",
    );
    assert_eq!(parallel(&net, "R1 R2 R3, R4").how, How::Direct);
    let verdict = parallel(&net, "R1 R3, R4");
    let (members, missing) = (net.elements("R1 R3"), net.elements("R2"));
    assert_eq!(verdict.evidence, Evidence::Incomplete { members, missing });
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b 0; R3 resistor 3 a c; R4 resistor 9 c 0");
    let verdict = parallel(&net, "R1, R4");
    assert_eq!(verdict.evidence, Evidence::PartsOfBranches(net.elements("R1 R2"), net.elements("R3 R4")));
}

#[test]
fn groups_inside_a_branch_hold_after_reduction() {
    let net = Net::of(TEAL);
    assert_eq!(parallel(&net, "Ra, Rb Rc Rd").how, How::Reduction);
    assert_eq!(parallel(&net, "Rc, Rd").how, How::Direct);
    // Rc and Rd side by side are a group, with which Rb is in series.
    let verdict = parallel(&net, "Rb, Rc Rd");
    assert_eq!((verdict.how, verdict.evidence), (How::No, Evidence::Chain(vec![net.at("m")])));
    let net = Net::of(
        "B1 battery 9 a 0; R0 resistor 9 a 0; R1 resistor 1 a b; R2 resistor 2 b c; R3 resistor 3 b c; R4 resistor 4 c 0",
    );
    let verdict = series(&net, "R1, R4");
    assert_eq!((verdict.how, verdict.evidence), (How::Reduction, Evidence::Through(net.elements("R2 R3"))));
    assert_eq!(parallel(&net, "R1 R4, R0").how, How::Reduction);
    assert_eq!(parallel(&net, "R1 R2 R3 R4, R0").how, How::Reduction);
    assert_eq!(parallel(&net, "R1 R2 R4, R0").how, How::No);
}

#[test]
fn the_bridge_has_neither() {
    let net = Net::of(SISKIN);
    let verdict = series(&net, "R1, R3");
    assert_eq!(verdict.evidence, Evidence::ThirdWire { at: net.at("p"), others: net.elements("R5") });
    let verdict = parallel(&net, "R3, R4");
    assert_eq!(verdict.evidence, Evidence::OneShared { shared: net.at("0"), others: (net.at("p"), net.at("q")) });
    assert_eq!(series(&net, "R1, R4").evidence, Evidence::Apart);
    assert_eq!(parallel(&net, "R1, R4").evidence, Evidence::Apart);
    // Balanced or not, its shape is the same.
    let balanced = Net::of(
        "B1 battery 12 t 0; R1 resistor 10 t p; R2 resistor 10 t q; R3 resistor 20 p 0; R4 resistor 20 q 0; R5 resistor 20 p q",
    );
    assert_eq!(series(&balanced, "R1, R3").how, How::No);
}

#[test]
fn what_carries_nothing_belongs_nowhere() {
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b 0; R3 resistor 3 b x; V1 voltmeter - b 0");
    assert_eq!(series(&net, "R1, R2").how, How::Direct);
    let verdict = series(&net, "R1, R3");
    assert_eq!((verdict.pair, verdict.evidence), ((0, 1), Evidence::Idle(net.element("R3"))));
    assert_eq!(series(&net, "R1, V1").evidence, Evidence::Idle(net.element("V1")));
    assert_eq!(parallel(&net, "R2, V1").how, How::Direct);
    let net = Net::of(
        "B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b c; R3 resistor 3 b c; S1 switch closed b c; R4 resistor 4 c 0",
    );
    assert_eq!(series(&net, "R1, R2").evidence, Evidence::ShortedBy(net.element("R2"), net.elements("S1")));
    assert_eq!(parallel(&net, "R2, R3").evidence, Evidence::ShortedBy(net.element("R2"), net.elements("S1")));
    // The switch asked about is not contracted.
    assert_eq!(parallel(&net, "R2, S1").how, How::Direct);
    assert_eq!(parallel(&net, "R2, R3, S1").how, How::Direct);
    assert_eq!(series(&net, "R1, S1, R4").how, How::Direct);
}

#[test]
fn zero_resistance_asked_about_is_not_contracted() {
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; A1 ammeter - b 0; A2 ammeter - b 0; A3 ammeter - b 0");
    assert_eq!(parallel(&net, "A1, A2").how, How::Direct);
    assert_eq!(parallel(&net, "A1, A2, A3").how, How::Direct);
    assert_eq!(series(&net, "A1, A2").evidence, Evidence::Between(net.at("b"), net.at("0")));
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 a c; A1 ammeter - b c; R3 resistor 3 c 0");
    assert_eq!(parallel(&net, "R1, R2").how, How::Direct);
    assert_eq!(parallel(&net, "R1 A1, R2").how, How::Direct);
    let verdict = parallel(&net, "R1, R2, A1");
    assert_eq!(verdict.how, How::No);
    assert_eq!(series(&net, "R1, R3").evidence, Evidence::ThirdWire { at: net.at("c"), others: net.elements("R2") });
}

#[test]
fn a_point_of_several_nodes_still_lets_current_divide() {
    let net = Net::of(
        "B1 battery 9 a 0; R1 resistor 1 a b; R4 resistor 1 b 0; A1 ammeter - b c; R2 resistor 2 c 0; R3 resistor 3 c 0",
    );
    let verdict = series(&net, "R1, R2");
    assert_eq!(verdict.evidence, Evidence::ThirdWire { at: net.at("b"), others: net.elements("R4 R3") });
}

#[test]
fn steady_state_only() {
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; C1 capacitor 1 b 0; R2 resistor 2 b 0; R3 resistor 3 a 0");
    let verdict = series(&net, "R1, R2");
    assert_eq!((verdict.how, verdict.evidence), (How::SteadyState, Evidence::Settled(net.elements("C1"))));
    assert_eq!(parallel(&net, "R1 R2, R3").how, How::SteadyState);
    assert_eq!(parallel(&net, "C1, R2").how, How::Direct);
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; C1 capacitor 1 b 0");
    assert_eq!(series(&net, "R1, C1").how, How::Direct);
}

#[test]
fn a_divider_is_no_branch() {
    let net = Net::of("B1 battery 9 a 0; P1 pot 40 a 0 w; R1 resistor 1 w 0");
    assert_eq!(parallel(&net, "P1, B1").evidence, Evidence::NoBranch(net.elements("P1")));
    let verdict = series(&net, "P1, B1");
    assert_eq!(verdict.how, How::No);
    // Nothing but the potentiometer itself divides the current.
    assert_eq!(verdict.evidence, Evidence::NoBranch(net.elements("P1")));
}

/// What a switch leads past as a whole carries nothing, so it is in series with nothing, and the switch carries what comes.
#[test]
fn a_line_that_is_bypassed() {
    let drawn = "B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b c; R3 resistor 3 c d; R4 resistor 4 d 0";
    let net = Net::of(&format!("{drawn}; S1 switch closed b d"));
    let bypassed = |element: &str| Evidence::Bypassed {
        element: net.element(element),
        part: net.elements("R2 R3"),
        by: net.elements("S1"),
    };
    assert_eq!(series(&net, "R2, R3").evidence, bypassed("R2"));
    assert_eq!(series(&net, "R1, R3").evidence, bypassed("R3"));
    assert_eq!(parallel(&net, "R2, R3").evidence, bypassed("R2"));
    assert_eq!(series(&net, "R1, S1, R4, B1").how, How::Direct);
    // What is asked about is not contracted.
    assert_eq!(parallel(&net, "R2 R3, S1").how, How::Direct);
    let open = Net::of(&format!("{drawn}; S1 switch open b d"));
    assert_eq!(series(&open, "R1, R2, R3, R4").how, How::Direct);
    // A source in the line drives its own current round through the switch.
    let own = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b c; B2 battery 3 c 0; S1 switch closed b 0");
    assert_eq!(series(&own, "R2, B2").how, How::Direct);
    assert_eq!(series(&own, "R1, B1").how, How::Direct);
    assert_eq!(series(&own, "R1, S1").how, How::No);
    // A loop without a source hangs at one point: nothing leads past it.
    let hung = Net::of("B1 battery 9 a 0; R1 resistor 1 a 0; A1 ammeter - a b; R2 resistor 2 b c; R3 resistor 3 c a");
    assert_eq!(series(&hung, "R2, A1, R3").how, How::Direct);
}

/// A loop that touches the rest at one point only: nothing drives current from one loop to the other.
#[test]
fn two_loops_at_one_point() {
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a 0; B2 battery 9 b 0; R2 resistor 2 b 0");
    let verdict = series(&net, "R1, R2");
    assert_eq!(verdict.evidence, Evidence::ThirdWire { at: net.at("0"), others: net.elements("B1 B2") });
}

#[test]
fn a_claim_of_one_branch_speaks_of_its_elements() {
    let net = Net::of(KESTREL);
    assert_eq!(series(&net, "B1 R1").how, How::Direct);
    assert_eq!(parallel(&net, "R2 R3").how, How::Direct);
}
