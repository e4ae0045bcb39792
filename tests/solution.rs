//! Worked solutions as they are printed: every number against the solver, every equation worked out again, and pages to read.

mod harness;

use std::collections::BTreeMap;

use expect_test::{ExpectFile, expect_file};
use harness::{close, ohmline, root, samples};
use serde_json::Value;

const METHODS: [&str; 6] = ["auto", "reduction", "nodes", "loops", "superposition", "star-delta"];

fn run(args: &[&str]) -> (i32, String, String) {
    let output = ohmline(args, "");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("outputs are UTF-8");
    (output.status.code().expect("it ends by itself"), text(output.stdout), text(output.stderr))
}

/// Every sample that is a circuit, with its cases (`None` is the drawing), and the solved numbers.
fn states() -> Vec<(String, Option<String>, Value)> {
    let mut all = Vec::new();
    for file in samples() {
        let name = file.strip_prefix(root()).expect("samples lie in the project").to_string_lossy().into_owned();
        if name.ends_with("kit.ohmline") {
            continue;
        }
        let (_, text, _) = run(&["solve", &name, "--format", "json"]);
        let json: Value = serde_json::from_str(&text).expect("JSON");
        for case in json["cases"].as_array().expect("cases are listed") {
            all.push((name.clone(), case["name"].as_str().map(str::to_owned), case.clone()));
        }
    }
    assert!(all.len() > 30, "only {} states", all.len());
    all
}

/// A number with its unit, in base units.
fn amount(number: &str, unit: &str) -> Option<f64> {
    let value: f64 = number.parse().ok()?;
    let mut letters = unit.chars();
    let scale = match (unit.chars().count(), letters.next()) {
        (0 | 1, _) => 1.0,
        (_, Some('p')) => 1e-12,
        (_, Some('n')) => 1e-9,
        (_, Some('µ')) => 1e-6,
        (_, Some('m')) => 1e-3,
        (_, Some('k')) => 1e3,
        (_, Some('M')) => 1e6,
        _ => return None,
    };
    Some(value * scale)
}

/// One side of an equation, worked out; `None` where it holds a symbol.
fn evaluate(side: &str) -> Option<f64> {
    let mut tokens: Vec<String> = Vec::new();
    let spaced = side.replace('\u{a0}', " ");
    let mut rest = spaced.as_str();
    while let Some(c) = rest.chars().next() {
        if c == ' ' {
            rest = &rest[1..];
        } else if c.is_ascii_digit() {
            let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
            let number = &rest[..end];
            let after = &rest[end..];
            // A unit follows after one blank and begins with a letter of a unit.
            let unit_end = after
                .strip_prefix(' ')
                .map_or(0, |unit| unit.find(|c: char| !c.is_alphabetic()).unwrap_or(unit.len()) + 1);
            let unit = if unit_end > 1 { &after[1..unit_end] } else { "" };
            tokens.push(amount(number, unit)?.to_string());
            rest = &after[if unit_end > 1 { unit_end } else { 0 }..];
        } else if "+-×/()²".contains(c) {
            tokens.push(c.to_string());
            rest = &rest[c.len_utf8()..];
        } else {
            return None;
        }
    }
    let mut at = 0;
    let value = sum(&tokens, &mut at)?;
    (at == tokens.len()).then_some(value)
}

fn sum(tokens: &[String], at: &mut usize) -> Option<f64> {
    let mut value = 0.0;
    let mut sign = 1.0;
    if tokens.get(*at).is_some_and(|token| token == "-") {
        sign = -1.0;
        *at += 1;
    }
    loop {
        value += sign * product(tokens, at)?;
        sign = match tokens.get(*at).map(String::as_str) {
            Some("+") => 1.0,
            Some("-") => -1.0,
            _ => return Some(value),
        };
        *at += 1;
    }
}

fn product(tokens: &[String], at: &mut usize) -> Option<f64> {
    let mut value = factor(tokens, at)?;
    loop {
        match tokens.get(*at).map(String::as_str) {
            Some("×") => {
                *at += 1;
                value *= factor(tokens, at)?;
            }
            Some("/") => {
                *at += 1;
                value /= factor(tokens, at)?;
            }
            _ => return Some(value),
        }
    }
}

fn factor(tokens: &[String], at: &mut usize) -> Option<f64> {
    let token = tokens.get(*at)?;
    *at += 1;
    let mut value = if token == "(" {
        let value = sum(tokens, at)?;
        (tokens.get(*at)? == ")").then_some(())?;
        *at += 1;
        value
    } else {
        token.parse().ok()?
    };
    while tokens.get(*at).is_some_and(|token| token == "²") {
        value *= value;
        *at += 1;
    }
    Some(value)
}

/// The equations of a page in Markdown: each a list of sides.
fn equations(markdown: &str) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    let mut inside = false;
    for line in markdown.lines() {
        if line.starts_with("```") {
            inside = !inside;
        } else if inside {
            found.push(line.replace(" ≈ ", " = ").split(" = ").map(str::to_owned).collect());
        }
    }
    found
}

/// Every equation that is printed holds for the numbers that are printed, and what it says about an element is what the solver says.
#[test]
fn every_printed_number_is_right() {
    let (mut sides_compared, mut symbols_compared) = (0, 0);
    for (file, case, solved) in states() {
        for method in METHODS {
            let mut args = vec!["solution", &file, "--method", method, "--format", "markdown", "--digits", "12"];
            if let Some(case) = &case {
                args.extend(["--case", case]);
            }
            let (status, page, said) = run(&args);
            assert_eq!(status, 0, "{args:?}\n{said}");
            assert!(!page.contains("fails") && !page.contains("does not hold"), "{args:?}\n{page}");
            // What one source does alone is not what the solver says; the sums are.
            let sums = page.find("## The sum").unwrap_or(0);
            let alone = equations(&page[..sums]).len();
            for (index, sides) in equations(&page).into_iter().enumerate() {
                let values: Vec<f64> = sides.iter().filter_map(|side| evaluate(side)).collect();
                for pair in values.windows(2) {
                    let scale = if pair[1] == 0.0 { 1.0 } else { pair[1].abs() };
                    assert!(close(pair[0], pair[1], 1e-8, 1e-9 * scale), "{args:?}\n{sides:?}: {values:?}");
                    sides_compared += 1;
                }
                if index < alone {
                    continue;
                }
                let Some(last) = values.last() else { continue };
                let Some((quantity, name)) = sides[0].split_once('(') else { continue };
                let name = name.trim_end_matches(')');
                let key = match quantity {
                    "I" => "current",
                    "V" => "voltage",
                    "Q" => "charge",
                    "W" => "energy",
                    _ => continue,
                };
                let wanted = match name.strip_prefix('@') {
                    Some(junction) => solved["junctions"][junction]["potential"].as_f64(),
                    None => solved["elements"][name][key].as_f64(),
                };
                if let Some(wanted) = wanted {
                    assert!(close(last.abs(), wanted.abs(), 1e-9, 1e-12), "{args:?}\n{sides:?}: {wanted}");
                    symbols_compared += 1;
                }
            }
        }
    }
    assert!(sides_compared > 1_000, "only {sides_compared} sides compared");
    assert!(symbols_compared > 500, "only {symbols_compared} symbols compared");
}

/// The table of the solution is the table of the solver, number by number.
#[test]
fn the_table_is_the_solvers() {
    for (file, case, solved) in states() {
        let mut args = vec!["solution", &file, "--format", "markdown", "--digits", "12"];
        if let Some(case) = &case {
            args.extend(["--case", case]);
        }
        let (_, page, _) = run(&args);
        let table: BTreeMap<String, Vec<String>> = page
            .lines()
            .skip_while(|line| *line != "## Table")
            .take_while(|line| !line.starts_with("## Checks") && !line.starts_with("## Answer"))
            .filter(|line| line.starts_with("| ") && !line.contains("---"))
            .map(|line| {
                let cells: Vec<String> =
                    line.trim_matches('|').split('|').map(|cell| cell.trim().replace('\\', "")).collect();
                (cells[0].clone(), cells)
            })
            .collect();
        for (name, element) in solved["elements"].as_object().expect("elements are listed") {
            let Some(cells) = table.get(name) else {
                assert_eq!(element["kind"], "potentiometer", "{file}: {name} is missing\n{page}");
                continue;
            };
            for (column, key) in [(2, "current"), (3, "voltage"), (4, "power")] {
                let Some(wanted) = element[key].as_f64() else { continue };
                let (sign, text) =
                    cells[column].strip_prefix('-').map_or((1.0, cells[column].as_str()), |rest| (-1.0, rest));
                let found = sign * evaluate(text).unwrap_or_else(|| panic!("{file}: {name}: {text}"));
                assert!(close(found, wanted, 1e-9, 1e-12), "{file} {case:?}: {key} of {name}: {found}, not {wanted}");
            }
        }
    }
}

#[test]
fn the_json_keeps_its_contract() {
    let (status, text, _) = run(&["solution", "samples/pier-lamps.ohmline", "--format", "json"]);
    assert_eq!(status, 0);
    let json: Value = serde_json::from_str(&text).expect("JSON");
    let keys: Vec<&str> = json.as_object().expect("an object").keys().map(String::as_str).collect();
    assert_eq!(keys, ["schema", "method", "case", "steps", "equations", "sources", "back", "checks"]);
    assert_eq!((&json["schema"], &json["method"], &json["case"]), (&1.into(), &"reduction".into(), &Value::Null));
    let step = &json["steps"][0];
    assert_eq!(step["rule"], "parallel");
    assert_eq!(step["replaces"], serde_json::json!(["L1", "L2"]));
    assert_eq!((&step["by"], &step["value"]), (&"L1||L2".into(), &6.into()));
    assert_eq!((&step["unit"], &step["exact"]), (&"ohm".into(), &"6".into()));
    assert_eq!(step["evidence"], "both run from @fork to @join");
    let step = &json["steps"][1];
    assert_eq!((&step["rule"], &step["by"], &step["value"]), (&"series".into(), &"R1+L1||L2".into(), &15.into()));
    assert_eq!(step["evidence"], "they meet at @fork and nothing else is joined there any more");
    assert_eq!(json["sources"][0]["exact"], serde_json::json!({ "current": "3/10", "voltage": "9/2" }));
    assert_eq!(json["back"][0]["because"], "series: same current as R1+L1||L2");
    let kinds: Vec<&str> =
        json["checks"].as_array().expect("a list").iter().filter_map(|c| c["kind"].as_str()).collect();
    assert_eq!(kinds, ["junction", "junction", "loop", "loop", "power"]);
}

/// What cannot be solved is refused calmly.
/// Each loop current of the equations is an arrow in the drawing beside them, and only there.
#[test]
fn loop_currents_are_drawn() {
    let (status, page, _) = run(&["solution", "samples/tide-gauge.ohmline", "--method", "loops", "--format", "html"]);
    assert_eq!(status, 0);
    let arrows: Vec<&str> =
        page.split("class=\"loop\"").skip(1).filter_map(|rest| rest.split(['>', '<']).nth(1)).collect();
    assert_eq!(arrows, ["i1", "i2", "i3"]);
    let (_, page, _) = run(&["solution", "samples/tide-gauge.ohmline", "--method", "nodes", "--format", "html"]);
    assert!(!page.contains("class=\"loop\""));
}

#[test]
fn refusals() {
    let refuse = |text: &str| {
        let output = ohmline(&["solution", "-"], text);
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let (status, said) = refuse("battery B1 = 6 V\nbattery B2 = 9 V\nB1+ -- B2+\nB1- -- B2-\n");
    assert_eq!(status, Some(1));
    assert!(said.contains("no single solution"), "{said}");
    let (status, said) = refuse("circuit \"Empty\"\n");
    assert_eq!(status, Some(1));
    assert!(said.contains("no element stands in a path"), "{said}");
    let (status, said) = refuse(
        "battery B1 = 6 V\n@0 -- B1+\n@400 -- B1-\nrepeat k from 1 to 400\n  resistor R{k} = 1 ohm\n  @{k-1} -- R{k} -- @{k}\nend\n",
    );
    assert_eq!(status, Some(1));
    assert!(said.contains("too large"), "{said}");
}

fn page(args: &[&str], expected: ExpectFile) {
    let mut all = vec!["solution"];
    all.extend(args);
    let (status, text, said) = run(&all);
    assert_eq!(status, 0, "{said}");
    expected.assert_eq(&text);
}

macro_rules! pages {
    ($($name:ident: $($arg:literal),+;)*) => {$(
        #[test]
        fn $name() {
            page(&[$($arg),+], expect_file![concat!("snapshots/solution/", stringify!($name), ".txt")]);
        }
    )*};
}

pages! {
    pier_lamps: "samples/pier-lamps.ohmline";
    pier_lamps_one_out: "samples/pier-lamps.ohmline", "--case", "one lamp out";
    boathouse_heaters: "samples/boathouse-heaters.ohmline";
    boathouse_heaters_in_fractions: "samples/boathouse-heaters.ohmline", "--fractions";
    quay_string_bridged: "samples/quay-string.ohmline", "--case", "middle lamp bridged";
    winch: "samples/winch.ohmline";
    breakwater_lamps: "samples/breakwater-lamps.ohmline";
    tide_gauge: "samples/tide-gauge.ohmline";
    tide_gauge_high_water: "samples/tide-gauge.ohmline", "--case", "high water";
    tide_gauge_by_nodes: "samples/tide-gauge.ohmline", "--case", "high water", "--method", "nodes";
    tide_gauge_by_loops: "samples/tide-gauge.ohmline", "--case", "high water", "--method", "loops";
    lighthouse_batteries: "samples/lighthouse-batteries.ohmline";
    lighthouse_batteries_superposed: "samples/lighthouse-batteries.ohmline", "--method", "superposition";
    dock_charger: "samples/dock-charger.ohmline";
    fog_bell: "samples/fog-bell.ohmline";
    flash_capacitors: "samples/flash-capacitors.ohmline";
    promenade_dimmer: "samples/promenade-dimmer.ohmline";
    harbour_night: "samples/harbour-night.ohmline", "--case", "tired battery";
    lighthouse_stairs: "samples/lighthouse-stairs.ohmline", "--case", "switched above";
}

/// A wire across a cell: only its internal resistance is left (common practice, no source), and the rest is dark.
#[test]
fn a_cell_that_a_case_shorts() {
    let text = "battery B1 = 6 V, internal 0.1 ohm\nlamp L1 = 5 ohm\nB1+ -- L1 -- B1-\ncase \"slip\": B1 = shorted\n";
    let output = ohmline(&["solution", "-", "--case", "slip"], text);
    let page = String::from_utf8(output.stdout).expect("outputs are UTF-8");
    assert!(page.contains("I(B1) = emf(B1) / B1.internal = 6 V / 0.1 Ω = 60.0 A"), "{page}");
    assert!(page.contains("Nothing flows but through B1 and the wire across it"), "{page}");
    assert!(!page.contains("every current is zero"), "{page}");
}
