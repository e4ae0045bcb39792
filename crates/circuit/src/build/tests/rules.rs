//! One row or more for every rule: what is reported, where, and that nothing else is.

use ohmline_syntax::Severity;

use malachite::Rational;

use crate::build::{BUILD_RULES, LIMITS, Limits, build, build_within, single};
use crate::build_text;
use crate::model::{Amount, BranchId, Law, Params, Quantity, StateId};
use crate::sources::IncludeError;

/// Text, rule, the place as it stands in the text, words of the message.
type Row = (&'static str, &'static str, &'static str, &'static str);

/// A sound circuit around the lines tried.
const AROUND: &str = "battery B1 = 4.5 V\nresistor R1 = 9 ohm\nB1+ -- R1 -- B1-\n";

const ROWS: &[Row] = &[
    // Inside of parts that nothing uses.
    ("part p(a, b)\nresistor R = 1 ohm\n@a -- R -- Q -- @b\nend\n", "unknown-name", "Q", "`Q` is not declared"),
    ("part p(a, b)\nresistor R, S = 1 ohm\n@a -- R -- @b\nend\n", "never-placed", "S", "`S` stands in no path"),
    ("part p(a, b)\nresistor R = 1 V\n@a -- R -- @b\nend\n", "wrong-unit", "1 V", "is a resistance"),
    (
        "part q(a, b)\nlamp L = 2 ohm\n@a -- L -- @b\nend\npart p(a, b)\nq X\n@a -- X\nend\n",
        "unjoined-port",
        "b",
        "`p`",
    ),
    ("part q(a, b)\nlamp L = w\n@a -- L -- @b\nend\npart p(a, b)\nq X\n@a -- X -- @b\nend\n", "unknown-name", "w", "w"),
    ("repeat k from 1/2 to 3\nend\n", "bad-bounds", "1/2", "whole numbers"),
    ("repeat k from 5 to 3\nend\n", "bad-bounds", "5 to 3", "before it begins"),
    ("resistor R2 = 4x7\n@a -- R2 -- @b\n", "bad-number", "4x7", "`4x7` is no number"),
    ("source V2 = 3V3\n@a -- +V2- -- @b\n", "bad-number", "3V3", "no number"),
    ("resistor R2 = 4.7 k\n@a -- R2 -- @b\n", "bare-prefix", "k", "prefix without a unit"),
    ("resistor R2 = 4.7k\n@a -- R2 -- @b\n", "bare-prefix", "k", "prefix without a unit"),
    ("resistor R2 = 4.7 Kohm\n@a -- R2 -- @b\n", "capital-kilo", "Kohm", "small `k`"),
    ("let a = b\nlet b = a\n", "circular-value", "a", "`a` and `b`"),
    ("let a = 2 * a\n", "circular-value", "a", "by itself"),
    ("let zero = 0\nresistor R2 = 1 ohm / zero\n@a -- R2 -- @b\n", "division-by-zero", "zero", "divides by zero"),
    ("case \"x\": R1 = open\ncase \"x\": R1 = shorted\n", "duplicate-case", "\"x\"", "already"),
    ("claim R1, R1 in series\n", "duplicate-member", "R1", "twice"),
    ("resistor R1 = 3 ohm\n", "duplicate-name", "R1", "`R1` is declared a second time"),
    ("let R1 = 3 ohm\n", "duplicate-name", "R1", "`R1` is declared a second time"),
    ("let R2 = 3 ohm\nresistor R2 = 1 ohm\n", "duplicate-name", "R2", "`R2` is declared a second time"),
    ("repeat k from 1 to 2\nresistor X = 1 ohm\nend\n@a -- X -- @b\n", "duplicate-name", "X", "second time"),
    ("resistor R2 = 3 ohm, rating 1 W, rating 2 W\n@a -- R2 -- @b\n", "duplicate-option", "rating", "twice"),
    ("case \"x\": R1 = 1 ohm, R1 = 2 ohm\n", "duplicate-option", "R1", "twice"),
    ("circuit \"One\"\ncircuit \"Two\"\n", "duplicate-title", "circuit \"Two\"", "title already"),
    (
        "part p(a, b)\nresistor R = 1 ohm\n@a -- R -- @b\nfind current through R\nend\np X\n@a -- X -- @b\n",
        "misplaced-statement",
        "find current through R",
        "cannot stand in a part",
    ),
    ("repeat k from 1 to 2\nlet x = 1 V\nend\n", "misplaced-statement", "let x = 1 V", "cannot stand in a repeat"),
    (
        "potentiometer P = 1 kohm at 40%\n@a -- P.wiper -- @b\nP.a -- @c\nP.b -- @d\n",
        "misplaced-terminal",
        "P.wiper",
        "end of a path",
    ),
    ("let x = ?\nresistor R2 = 2 * x\n@a -- R2 -- @b\n", "misplaced-unknown", "x", "to be found"),
    (
        "resistor R2 = 3 ohm, tolerance ?\n@a -- R2 -- @b\n",
        "misplaced-unknown",
        "tolerance ?",
        "cannot be left to be found",
    ),
    ("case \"x\": R1 = ?\n", "misplaced-unknown", "?", "sets a value"),
    ("diode D1 = 0.7 V\n@a -- D1 -- @b\n", "missing-polarity", "D1", "has polarity"),
    ("diode D1 = 0.7 V\n@a -- D1- -- @b\n", "missing-polarity", "D1-", "inside a path"),
    ("diode D1 = 0.7 V\nD1 -- @b\n", "missing-polarity", "D1", "has polarity"),
    ("diode D1 = 0.7 V\nresistor R2 = 1 ohm\nD1 -- R2 -- D1\n", "missing-polarity", "D1", "begins and ends at `D1`"),
    ("potentiometer P = 1 kohm at 40%\n@a -- P -- @b\n", "missing-terminal", "P", "three terminals"),
    ("find potential at B1\n", "missing-terminal", "B1", "a point belongs here"),
    ("resistor R2 = 9\n@a -- R2 -- @b\n", "missing-unit", "9", "needs a unit"),
    ("claim current through R1 = 0.5\n", "missing-unit", "0.5", "needs a unit"),
    ("claim current through R1 = 0.5 A within 2\n", "missing-unit", "2", "`%` or `A`"),
    ("measured voltage across R1 = 4.5 V within 1/20\n", "missing-unit", "1/20", "`%` or `V`"),
    ("source V2 = ?\n@a -- +V2- -- @b\n", "missing-unit", "?", "needs a unit"),
    ("resistor R2\n@a -- R2 -- @b\n", "missing-value", "R2", "has no value"),
    ("lamp L2 = 5 W\n@a -- L2 -- @b\n", "missing-value", "5 W", "power alone"),
    ("potentiometer P = 1 kohm\nP.a -- P.b\nP.wiper -- @a\n", "missing-value", "1 kohm", "setting"),
    ("resistor R2 = 1 ohm + 2 V\n@a -- R2 -- @b\n", "mixed-units", "1 ohm + 2 V", "cannot be added"),
    ("@a -- +R2- -- @b\nresistor R2 = 1 ohm\n", "needless-polarity", "+R2-", "no `+` and `-`"),
    ("resistor R2 = 1 ohm\n", "never-placed", "R2", "stands in no path"),
    ("part p(a, b)\nresistor R = 1 ohm\n@a -- R -- @b\nend\np X\n", "never-placed", "X", "stands in no path"),
    ("resistor R2 = R1\n@a -- R2 -- @b\n", "not-a-value", "R1", "is an element"),
    ("let x = 1 ohm\n@a -- x -- @b\n", "not-an-element", "x", "is a value"),
    ("resistor R2 = 1e100 ohm\n@a -- R2 -- @b\n", "out-of-range", "1e100 ohm", "beyond 99"),
    ("resistor R2 = -5 ohm\n@a -- R2 -- @b\n", "out-of-range", "-5 ohm", "cannot be negative"),
    ("potentiometer P = 1 kohm at 140%\nP.a -- P.b\nP.wiper -- @a\n", "out-of-range", "140%", "between 0% and 100%"),
    ("@a -- R1 -- @b\n", "placed-twice", "R1", "second time"),
    ("part p(a, b)\np X\n@a -- X -- @b\nend\np Y\n@a -- Y -- @b\n", "recursive-part", "p", "contain itself"),
    ("reference B1-\nreference B1+\n", "second-reference", "B1+", "0 V point"),
    ("resistor R2 = 1 ohm\n@a -- ( R2 | @x ) -- @b\n", "shorted-group", "@x", "no element"),
    ("repeat k from 1 to 10001\nend\n", "too-many-copies", "1 to 10001", "10001 copies"),
    (
        "part p(a, b)\nresistor R = 1 ohm\n@a -- R -- @m\nend\np X\n@x -- X -- @y\n",
        "unjoined-port",
        "b",
        "Port `b` is joined to nothing inside `p`",
    ),
    ("find voltage across R1 in \"night\"\n", "unknown-case", "\"night\"", "no case"),
    ("resistr R2 = 1 ohm\n@a -- R2 -- @b\n", "unknown-kind", "resistr", "neither a kind"),
    ("ground B1\n", "unknown-kind", "ground", "neither a kind"),
    ("@a -- R2 -- @b\n", "unknown-name", "R2", "`R2` is not declared"),
    ("find current through R2\n", "unknown-name", "R2", "`R2` is not declared"),
    ("find potential at @x\n", "unknown-name", "@x", "No path has a junction"),
    ("resistor R2 = R47\n@a -- R2 -- @b\n", "unknown-name", "R47", "No value"),
    ("@a -- @r{k} -- @b\n", "unknown-name", "@r{k}", "no repeat around it"),
    ("resistor R2 = 1 ohm, tolerence 5%\n@a -- R2 -- @b\n", "unknown-option", "tolerence", "no option `tolerence`"),
    ("case \"x\": B1.intern = 1 ohm\n", "unknown-option", "intern", "no option"),
    ("potentiometer P = 1 kohm at 40%\nP.wipe -- @a\n", "unknown-terminal", "wipe", "no terminal"),
    ("resistor R2 = 1 Ohm\n@a -- R2 -- @b\n", "unknown-unit", "Ohm", "is no unit"),
    ("diode D1 = 0.7 V\n@a -- +D1+ -- @b\n", "wrong-polarity", "+D1+", "same terminal"),
    ("find charge of R1\n", "wrong-quantity", "R1", "has no charge"),
    (
        "potentiometer P = 1 kohm at 40%\nP.a -- P.b\nP.wiper -- @a\nfind current through P\n",
        "wrong-quantity",
        "P",
        "three terminals",
    ),
    ("find current into @x\n@x -- R2 -- @y\nresistor R2 = 1 ohm\n", "wrong-quantity", "@x", "is a junction"),
    ("battery B2 = 4.5 ohm\n@a -- +B2- -- @b\n", "wrong-unit", "4.5 ohm", "is a voltage, not a resistance"),
    ("claim current through R1 = 0.5 V\n", "wrong-unit", "0.5 V", "not a voltage"),
    ("switch S2 = opened\n@a -- S2 -- @b\n", "wrong-value", "opened", "not `opened`"),
    ("resistor R2 = closed\n@a -- R2 -- @b\n", "wrong-value", "closed", "not `closed`"),
    ("resistor R2 = 1 ohm at 5 V\n@a -- R2 -- @b\n", "wrong-value", "5 V", "no meaning"),
];

#[test]
fn every_rule_speaks_at_its_place_and_alone() {
    let mut problems = String::new();
    for (lines, rule, place, words) in ROWS {
        let text = format!("{AROUND}{lines}");
        let circuit = build_text(&text);
        let [found] = circuit.diagnostics.as_slice() else {
            problems += &format!("--- {lines}expected {rule} alone, got:\n{}", circuit.dump());
            continue;
        };
        let at = &text[found.primary.at.span.range()];
        if found.rule != *rule || at != *place || !found.message.contains(words) {
            problems += &format!("--- {lines}expected {rule} at `{place}`, got `{at}`\n{}", circuit.dump());
        }
    }
    assert!(problems.is_empty(), "{problems}");
}

#[test]
fn messages_stand_alone_on_one_line() {
    for (lines, ..) in ROWS {
        for found in build_text(&format!("{AROUND}{lines}")).diagnostics {
            assert!(!found.message.contains('\n') && !found.message.ends_with('.'), "{}", found.message);
            assert!(!found.message.is_empty());
        }
    }
}

/// Applying the first fix of a diagnostic removes it.
#[test]
fn fixes_mend() {
    let mut tried = 0;
    for (lines, ..) in ROWS {
        let text = format!("{AROUND}{lines}");
        for found in build_text(&text).diagnostics {
            for fix in &found.fixes {
                let mut mended = text.clone();
                for edit in fix.edits.iter().rev() {
                    mended.replace_range(edit.at.span.range(), &edit.text);
                }
                let still = build_text(&mended).diagnostics.iter().any(|other| {
                    other.rule == found.rule && other.message == found.message && other.primary.at == found.primary.at
                });
                assert!(!still, "{}: {} leaves\n{mended}", found.message, fix.title);
                tried += 1;
            }
        }
    }
    assert!(tried > 25, "only {tried} fixes were tried");
}

#[test]
fn every_rule_is_listed_once_and_tried() {
    // Includes need more than one file, limits more than one line: they have tests of their own.
    let elsewhere = [
        "circular-include",
        "conflicting-include",
        "deep-nesting",
        "outside-include",
        "reserved-name",
        "too-many-elements",
        "unlikely-prefix",
        "unreadable-include",
    ];
    for (index, (rule, severity, summary)) in BUILD_RULES.iter().enumerate() {
        assert!(BUILD_RULES[..index].iter().all(|(other, ..)| other < rule), "{rule} is out of order");
        assert!(matches!(severity, Severity::Error | Severity::Warning));
        assert!(!summary.ends_with('.'));
        let tried = ROWS.iter().any(|(_, tried, ..)| tried == rule) || elsewhere.contains(rule);
        assert!(tried, "{rule} is not tried");
    }
}

#[test]
fn a_slip_of_prefix_is_likely_only_beside_kilohms() {
    let rules =
        |text: &str| -> Vec<&'static str> { build_text(text).diagnostics.iter().map(|found| found.rule).collect() };
    assert_eq!(
        rules("resistor R1 = 10 mohm\nresistor R2 = 4.7 kohm\nresistor R3 = 220 ohm\n@a -- R1 -- R2 -- R3 -- @b\n"),
        ["unlikely-prefix"]
    );
    assert!(rules("resistor R1 = 10 mohm\nresistor R2 = 47 ohm\n@a -- R1 -- R2 -- @b\n").is_empty());
    assert!(rules("resistor R1 = 0.01 ohm\nresistor R2 = 4.7 kohm\n@a -- R1 -- R2 -- @b\n").is_empty());
}

/// One cause, one message: what follows from an unreadable or unknown thing is silent.
#[test]
fn followers_are_silent() {
    for (text, expected) in [
        (
            "@a -- R9 -- @b\n@b -- R9 -- @c\nfind current through R9\nclaim R9, R1 in series\nresistor R1 = 1 ohm\n@a -- R1 -- @b\n",
            vec!["unknown-name"],
        ),
        ("resistr R1 = 1 ohm\n@a -- R1 -- @b\nfind current through R1\ncase \"x\": R1 = 5 ohm\n", vec!["unknown-kind"]),
        (
            "let x = 4 Kohm\nlet y = 2 * x\nresistor R1 = y\n@a -- R1 -- @b\nclaim value of R1 = x\n",
            vec!["capital-kilo"],
        ),
        ("battery B1 = = 4 V\n@a -- R1 -- B1-\nB1+ -- @a\nresistor R1 = 1 ohm\nfind current through B1\n", vec![]),
        ("resistor R1 = 1 ohm\nresistor R2 = 1 ohm\n@a -- R1 --\n@a -- R2 -- @b\n", vec![]),
        ("part p(a, b\nresistor R = 1 ohm\n@a -- R -- @b\nend\np X\n@a -- X -- @b\nfind voltage across X\n", vec![]),
        ("resistor Rload = 1 ohm\n@a -- Rlaod -- @b\nfind current through Rlaod\n", vec!["unknown-name"]),
        ("let R1 = 4 ohm\nresistor R1 = R1\n@a -- R1 -- @b\nfind current through R1\n", vec!["duplicate-name"]),
        ("battery B1 = 4 V\nresistor R1 = 1 ohm\nB1 -- R1 -- B1\n", vec!["missing-polarity"]),
        ("lamp L1 = 12 V at 5 W\n@a -- L1 -- @b\nfind current through L1\n", vec![]),
        ("resistor R1\n= 5 ohm\n@a -- R1 -- @b\n", vec![]),
        ("repeat k from 1 to\nresistor R{k} = 1 ohm\nend\n@a -- R1 -- R2 -- @b\n", vec![]),
    ] {
        let circuit = build_text(text);
        let found: Vec<_> = circuit.diagnostics.iter().map(|found| found.rule).collect();
        assert_eq!(found, expected, "{text}\n{}", circuit.dump());
    }
}

/// Limits that a test reaches quickly.
const SMALL: Limits = Limits { elements: 1000, statements: 4000 };

#[test]
fn limits_hold() {
    assert_eq!(LIMITS.elements, 1_000_000);
    let nested: String = (0..100).map(|index| format!("repeat k{index} from 1 to 1\n")).collect();
    let text = format!("{nested}resistor R = 1 ohm\n{}", "end\n".repeat(100));
    assert!(build_text(&text).diagnostics.iter().any(|found| found.rule == "deep-nesting"));

    let text = "repeat a from 1 to 200\nrepeat b from 1 to 200\nresistor R{a}_{b} = 1 ohm\nend\nend\n";
    let circuit = build_within(&single(text), SMALL);
    assert_eq!(circuit.elements.len(), SMALL.elements);
    assert!(circuit.diagnostics.iter().any(|found| found.rule == "too-many-elements"));

    let empty = "repeat a from 1 to 10000\nrepeat b from 1 to 10000\nend\nend\n";
    let circuit = build_within(&single(empty), SMALL);
    assert!(circuit.diagnostics.iter().any(|found| found.rule == "too-many-elements"));

    let chain: String = (0..20_000).map(|index| format!("let a{index} = a{}\n", index + 1)).collect();
    assert_eq!(build_text(&chain).diagnostics.len(), 1);
    let ring = format!("{chain}let a20000 = a0\n");
    assert_eq!(build_text(&ring).diagnostics.len(), 1);
}

#[test]
fn doubling_parts_end() {
    let mut text = String::from("part p0(a, b)\nresistor R = 1 ohm\n@a -- R -- @b\nend\n");
    for level in 1..40 {
        let inner = level - 1;
        text += &format!("part p{level}(a, b)\np{inner} X\np{inner} Y\n@a -- ( X | Y ) -- @b\nend\n");
    }
    text += "p39 Z\n@a -- Z -- @b\n";
    let circuit = build_within(&single(&text), SMALL);
    assert!(circuit.diagnostics.iter().any(|found| found.rule == "too-many-elements"));
}

/// What a text is told to write instead: the titles of all fixes, in order.
fn offers(text: &str) -> Vec<String> {
    build_text(text).diagnostics.into_iter().flat_map(|found| found.fixes).map(|fix| fix.title).collect()
}

#[test]
fn a_kind_that_speaks_of_the_zero_point_is_a_reference() {
    assert_eq!(offers("ground B1\n")[0], "Write `reference`");
}

#[test]
fn what_is_meant_is_offered() {
    let around = |lines: &str| format!("battery B1 = 6 V\nresistor R1, R2 = 5 ohm\n{lines}");
    for (lines, expected) in [
        // A word in small letters is a junction rather than an element.
        ("B1+ -- R1 -- m -- R2 -- B1-\n", vec!["Write `@m`"]),
        // A junction that other paths name; R1 and R2 have their places already.
        ("B1+ -- R1 -- R3 -- R2 -- B1-\n@R3 -- @x\n", vec!["Write `@R3`"]),
        // It comes before an element with a similar name.
        ("B1+ -- R1 -- R3 -- B1-\n@R3 -- @x\n", vec!["Write `@R3`", "Write `R2`"]),
        (
            "part p(a, b)\nresistor Q = 5 ohm\n@a -- Q -- @c -- @b\nend\np X\nB1+ -- X -- B1-\nX.c -- R1 -- R2 -- B1-\n",
            vec!["Write `@X.c`"],
        ),
        (
            "B1+ -- R1 -- R2 -- B1-\nfind value of R9, R8\n",
            vec!["Write `R1`", "Write `R2`", "Write `R1`", "Write `R2`"],
        ),
        // Names that only wrong uses have made known are not offered.
        ("B1+ -- R1 -- R2 -- B1-\n@a -- Quay -- @b\nfind value of Quai\n", vec![]),
        ("resistor R3 = 5 ohm, wattage 5 W\nB1+ -- R1 -- R2 -- R3 -- B1-\n", vec!["Write `rating`"]),
        ("B1 -- R1 -- R2 -- B1\n", vec!["Write `B1+ -- ... -- B1-`", "Write `B1- -- ... -- B1+`"]),
        (
            "B1+ -- R1 -- R2 -- B1-\nclaim current through R1 = 0.6 A within 2\n",
            vec!["Write `%` behind it", "Write `A` behind it"],
        ),
    ] {
        assert_eq!(offers(&around(lines)), expected, "{lines}");
    }
}

#[test]
fn a_missing_polarity_leaves_the_value_known() {
    for path in ["B1+ -- R1 -- B1\n", "B1 -- R1 -- B1\n"] {
        let circuit = build_text(&format!("battery B1 = 6 V\nresistor R1 = 2 ohm\n{path}"));
        let battery = circuit.element_names["B1"];
        let expected =
            Params::Battery { emf: Amount::Known(Rational::from(6)), internal: None, capacity: None, limit: None };
        assert_eq!(circuit.element(battery).params, expected);
        let law = circuit.law(StateId(0), BranchId(circuit.element(battery).branches.start));
        assert_eq!(law, Law::Unknown, "{path}");
        assert_eq!(circuit.unoriented, [battery]);
    }
}

#[test]
fn beyond_the_limit_nothing_is_missed() {
    let text = "repeat a from 1 to 2000\nresistor R{a} = 1 ohm\nend\nbattery B1 = 6 V\n\
        B1+ -- R1 -- R1999 -- B1-\nfind current through B1\nclaim R1, R1999 in series\ncase \"x\": R1999 = open\n";
    let circuit = build_within(&single(text), SMALL);
    let found: Vec<_> = circuit.diagnostics.iter().map(|found| found.rule).collect();
    assert_eq!(found, ["too-many-elements"]);
    assert_eq!(circuit.elements.len(), SMALL.elements);
    assert!(circuit.nodes.is_empty());
}

#[test]
fn what_an_unreadable_file_may_define_is_not_missed() {
    let mut sources = single(
        "include \"gone.ohmline\"\nbattery B1 = supply\nlantern L1\nresistor R1 = 2 * unit\nB1+ -- L1 -- R1 -- B1-\n",
    );
    sources.files[0].includes = vec![(0, Err(IncludeError::Unreadable("there is no such file".into())))];
    let found: Vec<_> = build(&sources).diagnostics.iter().map(|found| found.rule).collect();
    assert_eq!(found, ["unreadable-include"]);
    // A slip in a built-in kind is one whatever the file holds.
    let mut sources = single("include \"gone.ohmline\"\nresistr R1 = 1 ohm\n@a -- R1 -- @b\n");
    sources.files[0].includes = vec![(0, Err(IncludeError::Unreadable("there is no such file".into())))];
    let found: Vec<_> = build(&sources).diagnostics.iter().map(|found| found.rule).collect();
    assert_eq!(found, ["unreadable-include", "unknown-kind"]);
}

#[test]
fn a_resistance_between_points_does_not_depend_on_how_they_are_written() {
    let circuit = build_text(
        "battery B1 = 6 V, internal 1 ohm\nresistor R1 = 2 ohm\nB1+ -- R1 -- @a\n@a -- B1-\n\
         find resistance between B1+ and B1-\nfind resistance between B1+ and @a\n",
    );
    assert!(matches!(circuit.finds[0].quantity, Quantity::ResistanceBetween(..)));
    assert_eq!(circuit.finds[0].text, "resistance between B1+ and B1-");
    assert_eq!(circuit.finds[0].quantity, circuit.finds[1].quantity);
}
