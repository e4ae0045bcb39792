//! Parts, repeats and includes against the circuit written out by hand.

use std::sync::Arc;

use ohmline_syntax::{FileId, LineIndex};
use proptest::prelude::*;

use crate::sources::IncludeError;
use crate::{Circuit, Source, Sources, build, build_text};

/// Elements by name with values and the groups of terminals that are one node: equal for equal circuits, whatever nodes are
/// called and in which order they were met.
fn shape(circuit: &Circuit, rename: impl Fn(&str) -> String) -> Vec<String> {
    assert!(circuit.diagnostics.is_empty(), "{}", circuit.dump());
    let mut shape: Vec<String> = circuit
        .elements
        .iter()
        .map(|element| format!("{} {:?} {:?}", rename(&element.name), element.kind, element.params))
        .collect();
    for node in circuit.node_ids() {
        let mut ends: Vec<String> = circuit
            .ends(node)
            .iter()
            .map(|end| format!("{}.{}", rename(&circuit.element(end.element).name), end.terminal))
            .collect();
        ends.sort();
        shape.push(ends.join(" "));
    }
    shape.sort();
    shape
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn a_ladder_by_repeat_is_the_ladder_by_hand(from in 1u32..4, count in 1u32..12, ohms in 1u32..100) {
        let to = from + count - 1;
        let before = from - 1;
        let repeated = format!(
            "battery B1 = 6 V\nB1+ -- @n{before}\nB1- -- @g\nrepeat k from {from} to {to}\nresistor S{{k}} = {ohms} ohm\n\
             resistor P{{k}} = k * 1 ohm\n@n{{k-1}} -- S{{k}} -- @n{{k}} -- P{{k}} -- @g\nend\n"
        );
        let mut by_hand = format!("battery B1 = 6 V\nB1+ -- @n{before}\nB1- -- @g\n");
        for k in from..=to {
            by_hand += &format!("resistor S{k} = {ohms} ohm\nresistor P{k} = {k} ohm\n@n{} -- S{k} -- @n{k} -- P{k} -- @g\n", k - 1);
        }
        prop_assert_eq!(shape(&build_text(&repeated), str::to_owned), shape(&build_text(&by_hand), str::to_owned));
    }

    #[test]
    fn copies_of_a_part_are_the_elements_by_hand(droppers in prop::collection::vec(1u32..100, 1..6)) {
        let mut parts = String::from(
            "part lantern(in, out), dropper 33 ohm\nresistor Rd = dropper\ndiode D1 = 1.9 V\n@in -- Rd -- @mid -- +D1- -- @out\nend\n\
             battery B1 = 6 V\nB1+ -- @p\nB1- -- @m\n",
        );
        let mut by_hand = String::from("battery B1 = 6 V\nB1+ -- @p\nB1- -- @m\n");
        for (index, ohms) in droppers.iter().enumerate() {
            parts += &format!("lantern L{index}, dropper {ohms} ohm\n@p -- L{index} -- @m\n");
            by_hand += &format!("resistor L{index}_Rd = {ohms} ohm\ndiode L{index}_D1 = 1.9 V\n@p -- L{index}_Rd -- +L{index}_D1- -- @m\n");
        }
        let copies = shape(&build_text(&parts), |name| name.replace('.', "_"));
        prop_assert_eq!(copies, shape(&build_text(&by_hand), str::to_owned));
    }

    /// The order of statements never matters.
    #[test]
    fn order_does_not_matter(seed in prop::collection::vec(any::<u32>(), 8)) {
        let lines = [
            "let supply = 2 * half",
            "let half = 3 V",
            "battery B1 = supply",
            "resistor R1, R2 = 9 ohm",
            "resistor R3 = supply / (1 A)",
            "B1+ -- R1 -- @a -- ( R2 | R3 ) -- B1-",
            "case \"low\": half = 1 V",
            "find current through R1",
        ];
        let mut order: Vec<usize> = (0..lines.len()).collect();
        order.sort_by_key(|index| (seed[*index], *index));
        let shuffled: String = order.iter().map(|index| format!("{}\n", lines[*index])).collect();
        prop_assert_eq!(
            shape(&build_text(&shuffled), str::to_owned),
            shape(&build_text(&lines.join("\n")), str::to_owned)
        );
    }
}

/// What the `include` at a statement brings in.
type Include = (u32, Result<u32, IncludeError>);

fn sources(files: &[(&str, &[Include])]) -> Sources {
    let files = files.iter().enumerate().map(|(index, (text, includes))| Source {
        name: format!("f{index}.ohmline"),
        path: None,
        tree: Arc::new(ohmline_syntax::parse(text)),
        lines: Arc::new(LineIndex::new(text)),
        includes: includes.iter().map(|(stmt, target)| (*stmt, target.clone().map(FileId))).collect(),
    });
    Sources { files: files.collect() }
}

fn rules(circuit: &Circuit) -> Vec<&'static str> {
    circuit.diagnostics.iter().map(|found| found.rule).collect()
}

#[test]
fn includes_bring_parts_and_lets_and_nothing_else() {
    let main = "include \"kit\"\nlantern L\nresistor R2 = kit_value\nbattery B = 6 V\nB+ -- L -- R2 -- B-\ncase \"x\": deep = 3 ohm\n";
    let kit = "include \"values\"\nlet kit_value = 2 * deep\npart lantern(in, out)\nresistor R = deep\n@in -- R -- @out\nend\nresistor Own = 1 ohm\n@a -- Own -- @b\n";
    let values = "let deep = 5 ohm\nlet broken = 5 ohm + 1 V\n";
    let built = build(&sources(&[(main, &[(0, Ok(1))]), (kit, &[(0, Ok(2))]), (values, &[])]));
    expect_test::expect![[r#"
        n0 B+
        n1 L.out
        n2 B-
        L.R resistor n0 n1: 5
        R2 resistor n1 n2: 10
        B battery n0 n2: 6
        case x: L.R [3] R2 [6]
    "#]]
    .assert_eq(&built.dump());
}

#[test]
fn a_diamond_of_includes_is_fine_and_conflicts_are_not() {
    let main = "include \"a\"\ninclude \"b\"\nbattery B = v\nB+ -- B-\n";
    let (a, b, shared) = ("include \"c\"\n", "include \"c\"\n", "let v = 1 V\npart p(x, y)\n@x -- @y\nend\n");
    let built =
        build(&sources(&[(main, &[(0, Ok(1)), (1, Ok(2))]), (a, &[(0, Ok(3))]), (b, &[(0, Ok(3))]), (shared, &[])]));
    assert!(built.diagnostics.is_empty(), "{}", built.dump());

    let built = build(&sources(&[
        (main, &[(0, Ok(1)), (1, Ok(2))]),
        ("let v = 1 V\n", &[]),
        ("let v = 2 V\npart q(a, b)\n@a -- @b\nend\n", &[]),
    ]));
    assert_eq!(rules(&built), ["conflicting-include"]);
    assert_eq!(built.diagnostics[0].primary.at.span.range(), 20..23);
}

#[test]
fn includes_that_fail_are_said_at_the_include() {
    let text = "include \"x\"\n";
    for (error, rule) in [
        (IncludeError::Unreadable("there is no such file".into()), "unreadable-include"),
        (IncludeError::NoFolder, "unreadable-include"),
        (IncludeError::Outside, "outside-include"),
        (IncludeError::Cycle(vec!["a".into(), "b".into()]), "circular-include"),
    ] {
        let built = build(&sources(&[(text, &[(0, Err(error))])]));
        assert_eq!(rules(&built), [rule]);
        assert_eq!(built.diagnostics[0].primary.at.span.range(), 8..11);
    }
}

/// However files refer to each other, building ends.
#[test]
fn a_circle_that_was_not_cut_still_ends() {
    let built = build(&sources(&[("include \"a\"\n", &[(0, Ok(1))]), ("include \"b\"\nlet v = 1 V\n", &[(0, Ok(0))])]));
    assert!(built.diagnostics.is_empty());
}

#[test]
fn one_diagnostic_for_all_copies_of_one_place() {
    let text = "part p(a, b)\nresistor R = 4 Kohm\n@a -- R -- Q -- @b\nend\np X\np Y\np Z\n@p -- X -- Y -- Z -- @q\n\
                repeat k from 1 to 9\nresistor R{k} = 3 V\n@p -- R{k} -- @q\nend\n";
    assert_eq!(rules(&build_text(text)), ["capital-kilo", "unknown-name", "wrong-unit"]);
}

/// Thirty parts, each of two of the one before, would be a thousand million elements: that is seen before any is made.
#[test]
fn parts_that_double_are_counted_before_they_are_copied() {
    let mut text = String::from("part p0(a, b)\nresistor R = 1 ohm\n@a -- R -- @b\nend\n");
    for level in 1..=30 {
        let inner = level - 1;
        text.push_str(&format!("part p{level}(a, b)\np{inner} X, Y\n@a -- X -- Y -- @b\nend\n"));
    }
    text.push_str("battery B1 = 6 V\np30 All\nB1+ -- All -- B1-\n");
    let circuit = build_text(&text);
    let rules: Vec<&str> = circuit.diagnostics.iter().map(|found| found.rule).collect();
    assert!(rules.contains(&"too-many-elements"), "{rules:?}");
    assert!(circuit.elements.len() < 10);
}
