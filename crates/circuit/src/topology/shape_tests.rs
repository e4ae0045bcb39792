//! Circuits small enough to be judged by eye.

use super::net::{KESTREL, Net, SISKIN, TEAL};
use super::{NONE, Role};
use crate::model::Fault;

/// Source: the definitions of series and parallel, on a resistor before a pair.
#[test]
fn kestrel() {
    let net = Net::of(KESTREL);
    assert_eq!(net.series("R1"), "B1");
    assert_eq!(net.series("R2"), "");
    assert_eq!(net.parallel("R2"), "R3");
    assert_eq!(net.parallel("R1"), "");
    assert_eq!(net.reduced("R1"), "B1");
}

#[test]
fn teal() {
    let net = Net::of(TEAL);
    assert_eq!(net.parallel("Rc"), "Rd");
    assert_eq!(net.parallel("Ra"), "B1");
    assert_eq!(net.series("Rb"), "");
}

/// The bridge has no series and no parallel pair at all.
#[test]
fn siskin() {
    let net = Net::of(SISKIN);
    for name in ["B1", "R1", "R2", "R3", "R4", "R5"] {
        assert_eq!((net.series(name).as_str(), net.parallel(name).as_str()), ("", ""), "{name}");
        assert_eq!(net.reduced(name), "", "{name}");
        assert_eq!(net.role(name), Role::Live);
    }
}

#[test]
fn a_group_between_leaves_one_current() {
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b c; R3 resistor 3 b c; R4 resistor 4 c 0");
    assert_eq!(net.series("R1"), "B1 R4");
    let net = Net::of(
        "B1 battery 9 a 0; R0 resistor 9 a 0; R1 resistor 1 a b; R2 resistor 2 b c; R3 resistor 3 b c; R4 resistor 4 c 0",
    );
    assert_eq!(net.series("R1"), "");
    assert_eq!(net.reduced("R1"), "R4");
}

#[test]
fn meters_switches_and_dead_ends_do_not_split() {
    let net = Net::of(
        "B1 battery 9 a 0; R1 resistor 1 a b; V1 voltmeter - b 0; S1 switch open b d; R9 resistor 9 b e; A1 ammeter - b c;
         S2 switch closed c f; R2 resistor 2 f 0",
    );
    assert_eq!(net.series("R1"), "B1 A1 S2 R2");
    assert_eq!(net.role("V1"), Role::Gap);
    assert_eq!(net.role("R9"), Role::Dead);
    let chain = net.topology().branch_chain(&net.circuit, net.element("R2")).expect("R2 carries current");
    assert_eq!(chain.elements.len(), 5);
    assert_eq!(chain.from(), chain.to());
    let real = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; V1 voltmeter 1000 b 0; R2 resistor 2 b 0");
    assert_eq!(real.series("R1"), "B1");
    assert_eq!(real.parallel("V1"), "R2");
}

#[test]
fn a_zero_path_across_splits() {
    let net = Net::of(
        "B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b c; R3 resistor 3 c 0; S1 switch closed b 0; R4 resistor 4 a 0",
    );
    // S1 shorts R2 and R3 together, neither alone: they carry nothing, and what passes R1 passes the switch.
    assert_eq!(net.series("R2"), "");
    assert_eq!(net.role("R2"), Role::Live);
    assert_eq!(net.series("R1"), "S1");
    let net =
        Net::of("B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b c; S1 switch closed b c; R3 resistor 3 c 0");
    assert_eq!(net.role("R2"), Role::Shorted);
    assert_eq!(net.series("R2"), "");
    assert_eq!(net.parallel("R2"), "");
    // R2 carries nothing whatever its value, so it splits nothing.
    assert_eq!(net.series("R1"), "B1 S1 R3");
    let by = net.topology().shorted_by(&net.circuit, net.circuit.branches_of(net.element("R2")).next().expect("one"));
    assert_eq!(by.map(|by| net.names(&by)).as_deref(), Some("S1"));
}

#[test]
fn parallel_over_zero_resistance() {
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a 0; A1 ammeter - a b; R2 resistor 2 b c; S1 switch closed c 0");
    assert_eq!(net.parallel("R1"), "B1 R2");
    assert_eq!(net.series("R2"), "A1 S1");
}

#[test]
fn two_ideal_ammeters_side_by_side() {
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; A1 ammeter - b 0; A2 ammeter - b 0");
    assert_eq!(net.parallel("A1"), "A2");
    assert_eq!(net.series("A1"), "");
    assert_eq!(net.role("A1"), Role::Shorted);
    let loops = net.topology().zero_loops(&net.circuit, 9);
    assert_eq!(loops.iter().map(|l| net.names(l)).collect::<Vec<_>>(), ["A2 A1"]);
    let three = Net::of(
        "B1 battery 9 a 0; R1 resistor 1 a b; S1 switch closed b 0; S2 switch closed b 0; S3 switch closed b 0",
    );
    assert_eq!(three.parallel("S2"), "S1 S3");
}

#[test]
fn zero_loops_name_every_element_round() {
    let net = Net::of(
        "B1 battery 9 a 0; R1 resistor 1 a b; S1 switch closed b c; A1 ammeter - c d; S2 switch closed d b; R2 resistor 2 d 0; R3 resistor 1 c 0",
    );
    let loops = net.topology().zero_loops(&net.circuit, 9);
    assert_eq!(loops.len(), 1);
    let mut round = loops[0].clone();
    round.sort_unstable();
    assert_eq!(net.names(&round), "S1 A1 S2");
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a 0; A1 ammeter - a a");
    assert_eq!(net.topology().zero_loops(&net.circuit, 9), [net.elements("A1")]);
}

#[test]
fn a_shorted_source_names_its_path() {
    let net = Net::of("B1 battery 9 a 0; S1 switch closed a b; A1 ammeter - b 0; R1 resistor 1 a 0");
    assert_eq!(net.role("B1"), Role::Shorted);
    let by = net.topology().shorted_by(&net.circuit, net.circuit.branches_of(net.element("B1")).next().expect("one"));
    assert_eq!(by.map(|by| net.names(&by)).as_deref(), Some("S1 A1"));
    // All of its current runs round that path.
    assert_eq!(net.series("B1"), "S1 A1");
}

#[test]
fn capacitors_are_branches_first_and_gaps_second() {
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; C1 capacitor - b 0; R2 resistor 2 b 0");
    assert_eq!(net.series("R1"), "B1");
    assert_eq!(net.steady("R1"), "B1 R2");
    assert_eq!(net.parallel("R2"), "C1");
    assert_eq!(net.role("C1"), Role::Gap);
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; C1 capacitor 1 b 0");
    assert_eq!(net.series("R1"), "B1 C1");
    assert_eq!(net.steady("R1"), "");
    assert_eq!(net.role("R1"), Role::Dead);
}

#[test]
fn an_asked_pair_closes_a_circuit_without_a_source() {
    let open = Net::of("R1 resistor 1 a b; R2 resistor 2 b c; R3 resistor 3 b c");
    assert_eq!(open.role("R1"), Role::Dead);
    let net = open.asks("a", "c");
    assert_eq!(net.role("R1"), Role::Live);
    assert_eq!(net.parallel("R2"), "R3");
    let net = Net::of("R1 resistor 1 a b; R2 resistor 2 b c").asks("a", "c");
    assert_eq!(net.series("R1"), "R2");
    // A third point that is asked about lets current in or out.
    let net = net.asks("a", "b");
    assert_eq!(net.series("R1"), "");
    // With a source on a closed path, nothing is closed.
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b 0").asks("b", "0");
    assert_eq!(net.series("R1"), "B1 R2");
}

#[test]
fn rheostat_and_divider() {
    let rheostat = Net::of("B1 battery 9 a 0; P1 pot 40 a x w; R1 resistor 1 w 0");
    assert_eq!(rheostat.series("P1"), "B1 R1");
    assert_eq!(rheostat.series("R1"), "B1 P1");
    let joined = Net::of("B1 battery 9 a 0; P1 pot 40 a w w; R1 resistor 1 w 0");
    assert_eq!(joined.series("P1"), "B1 R1");
    let divider = Net::of("B1 battery 9 a 0; P1 pot 40 a 0 w; R1 resistor 1 w 0");
    assert_eq!(divider.series("P1"), "");
    assert_eq!(divider.series("B1"), "");
    assert_eq!(divider.topology().parallel[2], divider.topology().parallel[3]);
    assert_ne!(divider.topology().parallel[3], NONE);
    let read = Net::of("B1 battery 9 a 0; P1 pot 40 a 0 w; V1 voltmeter - w 0; R1 resistor 1 a 0");
    assert_eq!(read.parallel("P1"), "B1 R1");
    let end = Net::of("B1 battery 9 a 0; P1 pot 100 a 0 w; R1 resistor 1 w 0");
    assert_eq!(end.role("R1"), Role::Shorted);
}

#[test]
fn a_changeover_counts_by_its_throw() {
    let net = Net::of("B1 battery 9 a 0; X1 changeover a a l r; R1 resistor 1 l 0; R2 resistor 2 r 0");
    assert_eq!(net.series("X1"), "B1 R1");
    assert_eq!(net.role("R2"), Role::Dead);
    // The open contact puts nothing in parallel.
    let net =
        Net::of("B1 battery 9 a 0; X1 changeover a a l r; R1 resistor 1 l 0; R2 resistor 2 a r; R3 resistor 2 r 0");
    assert_eq!(net.parallel("R2"), "");
    assert_eq!(net.topology().parallel[2], NONE);
}

#[test]
fn faults_and_islands() {
    let net = Net::of("B1 battery 9 a 0; R1 resistor 1 a b; R2 resistor 2 b 0; R3 resistor 3 b 0")
        .case("burnt", &[("R3", Fault::Open)])
        .case("bridged", &[("R3", Fault::Shorted)]);
    let burnt = super::Topology::new(&net.circuit, crate::model::StateId(1));
    assert_eq!(net.names(&burnt.series_with(&net.circuit, net.element("R1"))), "B1 R2");
    assert!(burnt.parallel_with(&net.circuit, net.element("R3")).is_empty());
    let bridged = super::Topology::new(&net.circuit, crate::model::StateId(2));
    assert_eq!(bridged.role[2], Role::Shorted);
    let net = Net::of("B1 battery 9 a 0; S1 switch open a b; R1 resistor 1 b 0; C1 capacitor 1 b c; R2 resistor 1 x y");
    let topology = net.topology();
    assert_eq!(topology.pieces, 2);
    let island = |node: &str| topology.island[net.at(node).index()];
    assert_ne!(island("c"), island("b"));
    assert_eq!(island("b"), island("a"));
}
