//! Published circuits and mathematical results, solved through the same command as users'.
//!
//! `reference/cases.json` holds circuits with the answers printed in openly licensed textbooks and with results from mathematics,
//! each with its source. Every case is written out as a text in the notation, solved with `ohmline solve - --format json`, and every
//! expected row is compared. Conventions of the data: a battery's `from` is its plus terminal; a current source drives from `from`
//! to `to` inside itself, so `to` is our plus; motor and heater are resistors; a galvanometer is an ammeter with resistance.
//! No row is left out but those in [`NOT_STEADY`], and the number of rows compared is itself checked.

#![allow(clippy::print_stdout, reason = "the sources are shown beside the checks")]

#[path = "reference/case.rs"]
mod case;
mod harness;

use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::fmt::Write as _;

use case::{Case, Row, amount, case, cases, decimal, junction};
use harness::{Solved, close};
use serde_json::Value;

/// Rows that ask about the time between two steady states, which a steady state cannot tell.
const NOT_STEADY: &[(&str, &str, &str)] = &[
    ("up2-10.8ex", "time constant", "C"),
    ("up2-10.8ex", "time", "C from 0 to 80 V"),
    ("up2-10.8ex", "frequency", "flashes"),
    ("up2-10.9ex", "resistance", "R for t = 10.00 s"),
    ("up2-10.9ex", "time", "C from 0 to 10 V with R = 10.00 kohm"),
    ("cp2e-21-p71", "time constant", "C"),
    ("cp2e-21-p71", "time", "to 0.250 % of full value"),
    ("cp2e-21-p71", "time", "charge through 100 ohm to 0.865 V0"),
    ("cp2e-21-p67", "ratio", "vC/emf at t = 2 RC"),
    ("cp2e-21-p73", "time", "C from 0 to 90.0 %"),
    ("up2-10-p93", "time constant", "C1"),
    ("up2-10-p93", "current", "initial, R4"),
    ("up2-10-p93", "time", "current falls to half"),
    ("up2-10-p67", "time constant", "loop"),
    ("up2-10-p67", "time", "current falls to half"),
    ("liec1-16-rc-thevenin", "time constant", "C"),
    ("liec1-16-rc-thevenin", "voltage", "C at 60 ms"),
];

/// What the command answered for a row: the number, and the fraction where the answer has one.
struct Answer {
    value: f64,
    exact: Option<String>,
}

impl From<f64> for Answer {
    fn from(value: f64) -> Self {
        Self { value, exact: None }
    }
}

/// Asks the circuit of a case one thing.
fn ask(text: &str, quantity: &str) -> Answer {
    let solved = Solved::new(&format!("{text}find {quantity}\n"));
    Answer { value: solved.find(quantity), exact: solved.find_exact(quantity).map(str::to_owned) }
}

fn between(a: &str, b: &str) -> String {
    format!("resistance between {} and {}", junction(a), junction(b))
}

/// The answer to a row about elements and points of the circuit as it stands.
fn plain(case: &Case, row: &Row, solved: &Solved) -> Option<Answer> {
    if let Some((a, b)) = row.points() {
        let (from, to) = (junction(a), junction(b));
        return Some(match row.quantity.as_str() {
            "voltage" => ask(&case.text(), &format!("voltage from {from} to {to}")),
            "capacitance" => {
                // The capacitance of what a battery charges: without the battery, which would join its ends.
                let sources: Vec<&str> = case.sources().map(|part| part.name.as_str()).collect();
                let text = case.text_of(&|part| !sources.contains(&part.name.as_str()));
                ask(&text, &format!("capacitance between {from} and {to}"))
            }
            "resistance" => outer_resistance(case, a, b),
            other => panic!("{}: {other} of two points", case.id),
        });
    }
    let part = case.elements.iter().find(|part| part.name == row.of())?;
    if !matches!(row.quantity.as_str(), "current" | "voltage" | "power" | "charge" | "energy") {
        return None;
    }
    assert_ne!(part.kind, "current_source", "{}: signs of current sources are not needed so far", case.id);
    let exact = solved.element_exact(row.of(), &row.quantity).map(str::to_owned);
    Some(Answer { value: solved.element(row.of(), &row.quantity), exact })
}

/// The data means the resistance of what the sources feed: sources are taken out, not replaced by wires.
fn outer_resistance(case: &Case, a: &str, b: &str) -> Answer {
    let question = between(a, b);
    let mut text = case.text();
    if case.sources().next().is_none() {
        return ask(&text, &question);
    }
    let out: Vec<String> = case.sources().map(|part| format!("{} = open", part.name)).collect();
    let _ = writeln!(text, "case \"sources out\": {}", out.join(", "));
    let _ = writeln!(text, "find {question} in \"sources out\"");
    let seen = case.source_between(a, b).map(|source| format!("resistance seen by {}", source.name));
    if let Some(seen) = &seen {
        let _ = writeln!(text, "find {seen}");
    }
    let solved = Solved::new(&text);
    let value = solved.find_in(&question, Some("sources out"));
    if let Some(seen) = &seen {
        // The same number asked in another way.
        let other = solved.find(seen);
        assert!(close(value, other, 1e-12, 0.0), "{}: {question} is {value}, {seen} is {other}", case.id);
        return Answer { value, exact: solved.find_exact(seen).map(str::to_owned) };
    }
    Answer { value, exact: None }
}

/// The answer to a row that says in words what it is about.
fn in_words(case: &Case, row: &Row, solved: &Solved) -> Option<Answer> {
    let id = case.id.as_str();
    let of = row.of();
    let text = case.text();
    let battery = |key: &str| solved.element("B", key);
    let only = |names: &[&str]| case.text_of(&|part| names.contains(&part.name.as_str()));
    let power_of = |kinds: &[&str]| -> f64 {
        let parts = case.elements.iter().filter(|part| kinds.contains(&part.kind.as_str()));
        parts.map(|part| solved.element(&part.name, "power")).sum()
    };
    let value = match (row.quantity.as_str(), of) {
        // What the battery turns into electrical energy is emf times current; the rest of it heats the battery.
        ("power", "internal resistance of B") => (battery("emf") - battery("voltage")) * battery("current"),
        ("resistance", "internal resistance of B") => (battery("emf") - battery("voltage")) / battery("current"),
        ("power", "emf of B (total converted)") => battery("emf") * battery("current"),
        ("power", "rate of conversion to chemical energy") => -battery("emf") * battery("current"),
        ("resistance", "whole loop incl. internal resistance") => battery("emf") / battery("current"),
        ("ratio", "V(terminal)/emf") => battery("voltage") / battery("emf"),
        ("power", "total supplied") => power_of(&["battery"]),
        ("power", "total dissipated in resistors") => power_of(&["resistor"]),
        ("energy", "all capacitors") => case
            .elements
            .iter()
            .filter(|part| part.kind == "capacitor")
            .map(|part| solved.element(&part.name, "energy"))
            .sum(),

        ("resistance", "all three in series" | "ten in series") => {
            let names: Vec<&str> = case.elements.iter().map(|part| part.name.as_str()).collect();
            let mut chain = String::new();
            for part in &case.elements {
                let _ = writeln!(chain, "resistor {} = {}", part.name, amount(part, "ohm"));
            }
            let _ = writeln!(chain, "@na -- {} -- @nz", names.join(" -- "));
            return Some(ask(&chain, "resistance between @na and @nz"));
        }
        ("resistance", "R1 || R2") => return Some(ask(&only(&["R1", "R2"]), &between("a", "b"))),
        ("resistance", "R3 || R4") => return Some(ask(&only(&["R3", "R4"]), &between("b", "g"))),
        ("resistance", "RN || RL") => return Some(ask(&only(&["RN", "RL"]), &between("b", "g"))),
        ("resistance", "R2 || meter") => return Some(ask(&only(&["R2", "VM"]), &between("b", "g"))),
        ("voltage", "across R2 without the meter") => {
            return Some(ask(&case.text_of(&|part| part.kind != "voltmeter"), "voltage across R2"));
        }

        ("voltage", "value of V1 (unknown)") => solved.element("V1", "emf"),
        ("voltage", "value of V2 (unknown)") => solved.element("V2", "emf"),
        ("resistance", "value of R4 (unknown)") => solved.element("R4", "voltage") / solved.element("R4", "current"),

        ("resistance", "Thevenin resistance at b-g" | "Thevenin at b-c") => {
            let end = if of.ends_with("b-g") { "g" } else { "c" };
            return Some(ask(&case.text_of(&|part| part.kind != "capacitor"), &between("b", end)));
        }
        ("voltage", "Thevenin voltage at b-g" | "Thevenin at b-c") => {
            let end = if of.ends_with("b-g") { "g" } else { "c" };
            return Some(ask(&text, &format!("voltage from {} to {}", junction("b"), junction(end))));
        }
        ("current", "Norton current at b-g") => {
            let shorted = format!("{text}ammeter Short\n{} -- +Short- -- {}\n", junction("b"), junction("g"));
            return Some(ask(&shorted, "current through Short"));
        }

        // The wye that replaces a delta: each arm is half of what two sides leave of the third, all measured on the delta.
        ("resistance", "wye arm at a: 12*18/36") => wye_arm(&only(&["R1", "R2", "R3"]), "a", "b", "c"),
        ("resistance", "wye arm at b: 12*6/36") => wye_arm(&only(&["R1", "R2", "R3"]), "b", "a", "c"),
        ("resistance", "wye arm at c: 18*6/36") => wye_arm(&only(&["R1", "R2", "R3"]), "c", "a", "b"),

        // The added resistor is the one with which the movement stands at full scale; its value follows from the currents there.
        ("resistance", "Rs (multiplier)" | "Rp (shunt)") => {
            let full: f64 = decimal(&case.part("G").extras["full_scale_A"]).parse().expect("a number");
            let reads = solved.element("G", "current");
            assert!(close(reads, full, 1e-9, 0.0), "{id}: the movement carries {reads} A, full scale is {full} A");
            let added = if of.starts_with("Rs") { "Rs" } else { "Rp" };
            solved.element(added, "voltage") / solved.element(added, "current")
        }
        ("resistance", "R (series) for full scale with leads shorted") => {
            let solved = Solved::new(&format!("{text}case \"leads shorted\": Rtest = shorted\n"));
            let case = Some("leads shorted");
            assert!(close(solved.element_in(case, "G", "current"), 0.001, 1e-12, 0.0));
            solved.element_in(case, "R", "voltage") / solved.element_in(case, "R", "current")
        }
        ("resistance", "Rtest at 1/4 scale") => ohmmeter_point(&text, 27000, 0.25),
        ("resistance", "Rtest at 3/4 scale") => ohmmeter_point(&text, 3000, 0.75),

        ("ratio", "current with meter / current without") => {
            let bare = Solved::new(&format!("{text}case \"bare\": A = shorted\n"));
            bare.element("R", "current") / bare.element_in(Some("bare"), "R", "current")
        }
        ("ratio", "voltage needed for same current") => {
            let bare = Solved::new(&format!(
                "{text}case \"bare\": A = shorted\nfind resistance seen by B\nfind resistance seen by B in \"bare\"\n"
            ));
            bare.find("resistance seen by B") / bare.find_in("resistance seen by B", Some("bare"))
        }

        ("voltage", "b-g with RL removed") => {
            let question = format!("voltage from {} to {}", junction("b"), junction("g"));
            let solved = Solved::new(&format!("{text}case \"unloaded\": RL = open\nfind {question} in \"unloaded\"\n"));
            solved.find_in(&question, Some("unloaded"))
        }
        ("formula", "Vout loaded = Vin*(R2||RL)/(R1+R2||RL)") => solved.element("RL", "voltage"),

        ("voltage", "unknown emf") => potentiometer_balance(),
        // Rated powers at one voltage: what each lamp takes is its rating, so the currents add up.
        ("power", "immersion heater") => breaker(440.925_333_333_333_3, 0, 0).element("Heater", "power"),
        ("current", "total with four 100 W lamps") => breaker(441.0, 100, 4).element("B", "current"),
        ("current", "total with four 18 W lamps") => breaker(441.0, 18, 4).element("B", "current"),
        // Three ampere-hours at the current drawn.
        ("time", "series: three 300 ohm") => 3.0 / life("R1 -- R2 -- R3"),
        ("time", "parallel: three 300 ohm") => 3.0 / life("( R1 | R2 | R3 )"),

        ("resistance", "seen by C1") => return Some(ask(&text, "resistance seen by C1")),
        ("capacitance", "C1..C4 in series") => {
            let chain = only(&["C1", "C2", "C3", "C4"]);
            return Some(ask(&chain, &format!("capacitance between {} and {}", junction("b"), junction("g"))));
        }

        ("check", "Foster sum over edges of R_eff/R") => foster(case),
        ("check", "sum v*i (same circuit)") => tellegen(case, solved, None),
        ("check", "sum v*i' (currents from the same graph with R3 = 1000 ohm)") => {
            let both = Solved::new(&format!("{text}case \"other\": R3 = 1000 ohm\n"));
            tellegen(case, &both, Some("other"))
        }

        ("resistance", "a-g as drawn") => return Some(ask(&text, &between("a", "g"))),
        ("resistance", "a-g with R3 shorted") => changed(&text, "R3 = shorted"),
        ("resistance", "a-g with R3 = 101 ohm") => changed(&text, "R3 = 101 ohm"),
        ("resistance", "a-g with R3 removed") => changed(&text, "R3 = open"),

        ("resistance", "honeycomb, z = 3") => torus_limit(3, &honeycomb(6)),
        ("resistance", "square, z = 4") => torus_limit(4, &square(8)),
        ("resistance", "triangular, z = 6") => torus_limit(6, &triangular(7)),
        ("resistance", "simple cubic, z = 6") => torus_limit(6, &cubic(3)),
        ("resistance", "body-centred, z = 8") => torus_limit(8, &body_centred(3)),
        _ => return None,
    };
    Some(value.into())
}

fn wye_arm(delta: &str, at: &str, one: &str, other: &str) -> f64 {
    let side = |a, b| ask(delta, &between(a, b)).value;
    (side(at, one) + side(at, other) - side(one, other)) / 2.0
}

/// The resistor at the leads for which the needle stands at this part of its scale (full scale 1 mA).
fn ohmmeter_point(text: &str, ohms: u32, part: f64) -> f64 {
    let solved = Solved::new(&format!("{text}case \"leads\": Rtest = {ohms} ohm\n"));
    let current = solved.element_in(Some("leads"), "G", "current");
    assert!(close(current, part * 0.001, 1e-12, 0.0), "the needle carries {current} A at {ohms} ohm");
    solved.element_in(Some("leads"), "Rtest", "voltage") / current
}

/// Two cells balanced in turn on one wire that carries 4.8 A: 12.0 V over 2.500 ohm, so the unknown over 5.000 ohm.
fn potentiometer_balance() -> f64 {
    let solved = Solved::new(
        "source Drive = 4.8 A
        resistor Ra = 2.5 ohm
        resistor Rb = 2.5 ohm
        resistor Rc = 5 ohm
        battery Standard = 12.0 V, internal 0.5 ohm
        battery Unknown = 24 V, internal 0.5 ohm
        ammeter Gs = 20 ohm
        ammeter Gx = 20 ohm
        Drive- -- @start -- Ra -- @standard -- Rb -- @unknown -- Rc -- Drive+
        @standard -- +Gs- -- +Standard- -- @start
        @unknown -- +Gx- -- +Unknown- -- @start
        ",
    );
    assert_eq!(solved.element("Gs", "current"), 0.0);
    assert_eq!(solved.element("Gx", "current"), 0.0);
    solved.element("Unknown", "voltage")
}

/// Lamps and appliances by their ratings on one 120 V circuit. The heater's power is a matter of heat and time in the source, so it is
/// given here; its printed, rounded value goes into the totals, together with a kettle of 1500 W.
fn breaker(heater: f64, watts: u32, lamps: u32) -> Solved {
    let mut text = format!("battery B = 120 V\nlamp Heater = {heater} W at 120 V\nlamp Kettle = 1500 W at 120 V\n");
    text.push_str("B+ -- @bar\nB- -- @rail\n@bar -- ( Heater | Kettle ) -- @rail\n");
    for lamp in 1..=lamps {
        let _ = writeln!(text, "lamp L{lamp} = {watts} W at 120 V\n@bar -- L{lamp} -- @rail");
    }
    Solved::new(&text)
}

fn life(load: &str) -> f64 {
    let text = format!("battery B = 1.5 V, capacity 3 Ah\nresistor R1, R2, R3 = 300 ohm\nB+ -- {load} -- B-\n");
    Solved::new(&text).element("B", "current")
}

fn changed(text: &str, change: &str) -> f64 {
    let question = between("a", "g");
    let solved = Solved::new(&format!("{text}case \"changed\": {change}\nfind {question} in \"changed\"\n"));
    solved.find_in(&question, Some("changed"))
}

/// R. M. Foster, "The average impedance of an electrical network" (1949): over all edges of a connected network of n points, the
/// resistance between the ends of an edge divided by its own resistance adds up to n - 1.
fn foster(case: &Case) -> f64 {
    let mut text = case.text();
    let mut questions = Vec::new();
    for part in &case.elements {
        let question = between(&part.from, &part.to);
        let _ = writeln!(text, "find {question}");
        questions.push((question, part.value.as_f64().expect("every resistor has a value")));
    }
    let solved = Solved::new(&text);
    let sum: f64 = questions.iter().map(|(question, ohms)| solved.find(question) / ohms).sum();
    assert!(close(sum, case.nodes.len() as f64 - 1.0, 1e-9, 0.0), "{}: the sum is {sum}", case.id);
    sum
}

/// B. D. H. Tellegen, "A general network theorem, with applications", Philips Research Reports 7 (1952): the voltages of one state
/// times the currents of another add up to zero over a whole graph. Sources count with the current into their plus terminal.
fn tellegen(case: &Case, solved: &Solved, currents_of: Option<&str>) -> f64 {
    let mut largest: f64 = 0.0;
    let sum: f64 = case
        .elements
        .iter()
        .map(|part| {
            let sign = if part.kind == "battery" { -1.0 } else { 1.0 };
            let product =
                sign * solved.element(&part.name, "voltage") * solved.element_in(currents_of, &part.name, "current");
            largest = largest.max(product.abs());
            product
        })
        .sum();
    assert!(largest > 0.1, "the products must not vanish by themselves");
    if sum.abs() < 1e-12 * largest { 0.0 } else { sum }
}

type Edges = Vec<(String, String)>;

/// Equal resistors along these edges: the resistance between the ends of the first edge.
///
/// A torus looks the same from every edge, so by Foster's theorem each of its zN/2 edges has (N - 1) / (zN/2): exactly
/// 2/z (1 - 1/N) of one resistor. The infinite lattice is the limit 2/z.
fn torus_limit(z: usize, edges: &Edges) -> f64 {
    let mut text = String::new();
    for (index, (a, b)) in edges.iter().enumerate() {
        let _ = writeln!(text, "resistor R{index} = 1 ohm\n@{a} -- R{index} -- @{b}");
    }
    let (a, b) = &edges[0];
    let answer = ask(&text, &format!("resistance between @{a} and @{b}"));
    let points: BTreeSet<&String> = edges.iter().flat_map(|(a, b)| [a, b]).collect();
    let n = points.len();
    assert_eq!(edges.len() * 2, z * n, "every point has {z} neighbors");
    let expected = 2.0 * (n as f64 - 1.0) / (z * n) as f64;
    assert!(close(answer.value, expected, 1e-9, 0.0), "a torus of {n} points: {} instead of {expected}", answer.value);
    answer.value * n as f64 / (n as f64 - 1.0)
}

fn square(n: usize) -> Edges {
    let at = |x: usize, y: usize| format!("p{}x{}", x % n, y % n);
    let cells = (0..n).flat_map(|x| (0..n).map(move |y| (x, y)));
    cells.flat_map(|(x, y)| [(at(x, y), at(x + 1, y)), (at(x, y), at(x, y + 1))]).collect()
}

fn triangular(n: usize) -> Edges {
    let at = |x: usize, y: usize| format!("p{}x{}", x % n, y % n);
    let cells = (0..n).flat_map(|x| (0..n).map(move |y| (x, y)));
    cells.flat_map(|(x, y)| [(x + 1, y), (x, y + 1), (x + 1, y + 1)].map(|(u, v)| (at(x, y), at(u, v)))).collect()
}

fn honeycomb(n: usize) -> Edges {
    let cells = (0..n).flat_map(|x| (0..n).map(move |y| (x, y)));
    cells
        .flat_map(|(x, y)| {
            [(x, y), (x + 1, y), (x, y + 1)].map(|(u, v)| (format!("a{x}x{y}"), format!("b{}x{}", u % n, v % n)))
        })
        .collect()
}

fn cubic(n: usize) -> Edges {
    let at = |x: usize, y: usize, z: usize| format!("p{}x{}x{}", x % n, y % n, z % n);
    let mut edges = Vec::new();
    for (x, y, z) in grid3(n) {
        edges.extend([(x + 1, y, z), (x, y + 1, z), (x, y, z + 1)].map(|(u, v, w)| (at(x, y, z), at(u, v, w))));
    }
    edges
}

fn body_centred(n: usize) -> Edges {
    let mut edges = Vec::new();
    for (x, y, z) in grid3(n) {
        for corner in 0..8 {
            let (u, v, w) = ((x + (corner & 1)) % n, (y + (corner >> 1 & 1)) % n, (z + (corner >> 2)) % n);
            edges.push((format!("a{x}x{y}x{z}"), format!("b{u}x{v}x{w}")));
        }
    }
    edges
}

fn grid3(n: usize) -> impl Iterator<Item = (usize, usize, usize)> {
    (0..n).flat_map(move |x| (0..n).flat_map(move |y| (0..n).map(move |z| (x, y, z))))
}

#[test]
fn every_row_agrees_with_its_source() {
    let mut compared: BTreeMap<(String, String), usize> = BTreeMap::new();
    let mut skipped = BTreeSet::new();
    let mut counts = 0;
    let mut fractions = 0;
    let mut wrong = Vec::new();
    for case in cases() {
        println!("{}: {}\n  source: {}", case.id, case.title, case.source);
        let solved = (!case.elements.is_empty()).then(|| Solved::new(&case.text()));
        let nothing = Solved { text: String::new(), json: Value::Null };
        for row in &case.expected {
            let key = (case.id.as_str(), row.quantity.as_str(), row.of());
            if let Some(&entry) = NOT_STEADY.iter().find(|entry| **entry == key) {
                skipped.insert(entry);
                println!("  skipped: {} {}: between two steady states", row.quantity, row.of());
                continue;
            }
            if row.quantity == "count" {
                // See `equal_resistors_make_as_many_values_as_published`.
                counts += 1;
                continue;
            }
            let solved = solved.as_ref().unwrap_or(&nothing);
            let Some(answer) = plain(&case, row, solved).or_else(|| in_words(&case, row, solved)) else {
                wrong.push(format!("{}: nothing compares {} of {}", case.id, row.quantity, row.of));
                continue;
            };
            let expected = row.value_exact.as_f64().expect("every row but the counts is a number");
            *compared.entry((case.analysis.clone(), row.quantity.clone())).or_default() += 1;
            println!("  {} {}: expected {expected}, solved {}", row.quantity, row.of, answer.value);
            if !close(answer.value, expected, 1e-9, if expected == 0.0 { 1e-12 } else { 0.0 }) {
                wrong.push(format!(
                    "{}: {} of {}: expected {expected}, solved {}\n    source: {}",
                    case.id, row.quantity, row.of, answer.value, case.source
                ));
            }
            if let (Some(fraction), Some(exact)) = (&row.value_fraction, &answer.exact) {
                fractions += 1;
                if fraction != exact {
                    wrong.push(format!(
                        "{}: {} of {}: exactly {fraction}, solved {exact}",
                        case.id, row.quantity, row.of
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} rows disagree:\n{}", wrong.len(), wrong.join("\n"));
    assert_eq!(skipped.len(), NOT_STEADY.len(), "an entry of the list of skipped rows names no row");
    // Nothing is left out in silence: these are the numbers of rows of each kind in the data.
    let by_analysis =
        |name: &str| -> usize { compared.iter().filter(|(key, _)| key.0 == name).map(|(_, count)| count).sum() };
    assert_eq!(by_analysis("dc"), 412 - 4);
    assert_eq!(counts, 4);
    assert_eq!(by_analysis("electrostatic"), 22);
    assert_eq!(by_analysis("dc steady state (capacitors open)"), 5);
    assert_eq!(by_analysis("transient") + NOT_STEADY.len(), 25);
    assert!(fractions > 300, "only {fractions} answers were compared as fractions");
}

/// Published intermediate values of reductions: case, name of the equivalent, its exact value, as the data gives them in its rows.
const INTERMEDIATE: &[(&str, &str, &str)] = &[
    ("liec1-7-sp4", "R1||R2", "R1 || R2"),
    ("liec1-7-sp4", "R3||R4", "R3 || R4"),
    ("liec1-8-vm-loading", "R(R2||VM)", "R2 || meter"),
];

/// Circuits of the data that series and parallel do not finish.
const IRREDUCIBLE: &[&str] = &["liec1-10-deltawye", "up2-10-p85-bridge", "math-tellegen"];

/// Every published circuit that stands still is worked out, and the solution is the solver's; with one source it reduces, and
/// passes through the published intermediate values.
#[test]
fn every_published_circuit_is_worked_out() {
    let (mut reduced, mut equations, mut intermediate) = (0, 0, 0);
    for case in cases().iter().filter(|case| !case.elements.is_empty() && case.analysis == "dc") {
        let mut text = case.text();
        let asked = case.sources().next().is_none();
        if asked {
            let ends = case.expected.iter().find_map(Row::points);
            let Some((a, b)) = ends else { continue };
            let _ = writeln!(text, "find {}", between(a, b));
        }
        let output = harness::ohmline(&["solution", "-", "--format", "json"], &text);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{}: {said}\n{text}", case.id);
        let solution: Value = serde_json::from_slice(&output.stdout).expect("the output is JSON");
        for check in solution["checks"].as_array().expect("checks are listed") {
            assert_eq!(check["holds"], true, "{}: {check}", case.id);
        }
        let method = solution["method"].as_str().expect("a word");
        if case.sources().count() == 1 && !IRREDUCIBLE.contains(&case.id.as_str()) {
            assert_eq!(method, "reduction", "{}", case.id);
        }
        if method == "reduction" {
            reduced += 1
        } else {
            equations += 1
        }
        let solved = Solved::new(&text);
        for source in solution["sources"].as_array().expect("sources are listed") {
            let name = source["name"].as_str().expect("a name");
            for key in ["current", "voltage"] {
                let wanted = solved.element(name, key);
                let found = source[key].as_f64().expect("a number");
                assert!(close(found, wanted, 1e-12, 1e-15), "{}: {key} of {name}: {found}, not {wanted}", case.id);
            }
        }
        let steps = solution["steps"].as_array().expect("steps are listed");
        for (_, by, row) in INTERMEDIATE.iter().filter(|(id, ..)| *id == case.id) {
            let by = by.trim_start_matches("R(").trim_end_matches(')');
            let step = steps.iter().find(|step| step["by"] == *by).unwrap_or_else(|| panic!("{}: no {by}", case.id));
            let row = case.expected.iter().find(|other| other.of() == *row).expect("the row is in the data");
            let (found, wanted) =
                (step["value"].as_f64().expect("a number"), row.value_exact.as_f64().expect("a number"));
            assert!(close(found, wanted, 1e-12, 0.0), "{}: {by} is {found}, published {wanted}", case.id);
            intermediate += 1;
        }
        // Without a source the last replacement is the answer that is published.
        if asked
            && method == "reduction"
            && let Some(last) = steps.iter().rev().find(|step| step["value"].is_number())
        {
            let row = case.expected.iter().find(|row| row.points().is_some()).expect("it asks between points");
            let (found, wanted) =
                (last["value"].as_f64().expect("a number"), row.value_exact.as_f64().expect("a number"));
            assert!(close(found, wanted, 1e-12, 0.0), "{}: {found}, published {wanted}", case.id);
        }
    }
    println!("{reduced} reduced, {equations} by star or equations");
    assert_eq!(intermediate, INTERMEDIATE.len());
    assert!(reduced > 60, "only {reduced} reduced");
}

/// A claim with the digits that a book prints holds exactly when the exact answer rounds to them.
#[test]
fn printed_digits_are_judged_as_the_books_print_them() {
    let mut judged = 0;
    let mut wrong = Vec::new();
    for case in cases().iter().filter(|case| case.analysis == "dc") {
        let mut text = case.text();
        let first = text.lines().count() + 1;
        let mut rows = Vec::new();
        for row in &case.expected {
            let (Some(digits), Some(agrees), Some(printed)) =
                (&row.published_text, row.agrees_to_printed_digits, row.value_published.as_f64())
            else {
                continue;
            };
            let digits = digits.split('e').next().unwrap_or_default();
            let Ok(number) = digits.parse::<f64>() else { continue };
            let significant = digits.trim_start_matches(['-', '0', '.']).chars().filter(char::is_ascii_digit).count();
            // One digit alone is judged within 2 %, zero by the other values of its kind, a final zero may or may not count.
            if significant < 2 || number == 0.0 || (digits.ends_with('0') && !digits.contains('.')) {
                continue;
            }
            if !case.elements.iter().any(|part| part.name == row.of() && part.kind != "current_source") {
                continue;
            }
            let (quantity, unit) = match row.quantity.as_str() {
                "current" => ("current through", "A"),
                "voltage" => ("voltage across", "V"),
                "power" => ("power of", "W"),
                _ => continue,
            };
            let shift = (printed / number).log10().round() as i32;
            let _ = writeln!(text, "claim {quantity} {} = {digits}e{shift} {unit}", row.of());
            rows.push((row, agrees));
        }
        if rows.is_empty() {
            continue;
        }
        let solved = Solved::new(&text);
        let claims = solved.json["claims"].as_array().expect("claims are listed");
        assert_eq!(claims.len(), rows.len(), "{}: from line {first}\n{text}\n{:?}", case.id, solved.messages("error"));
        for (claim, (row, agrees)) in claims.iter().zip(rows) {
            judged += 1;
            if claim["holds"].as_bool() != Some(agrees) {
                wrong.push(format!(
                    "{}: {} of {} printed as {:?}, exactly {}: {}",
                    case.id, row.quantity, row.of, row.published_text, row.value_exact, claim
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(judged > 120, "only {judged} printed numbers were judged");
}

/// J. W. S. Rayleigh's monotonicity law (P. G. Doyle and J. L. Snell, "Random Walks and Electric Networks", 1984, section 1.4): raising a
/// resistance never lowers the resistance between two points.
#[test]
fn raising_a_resistance_never_lowers_another() {
    for id in ["math-rayleigh", "math-wheel6", "math-grid4", "math-K3,4"] {
        let case = case(id);
        let (from, to) = (&case.nodes[0], &case.nodes[case.nodes.len() - 1]);
        let question = between(from, to);
        for part in &case.elements {
            let steps = ["shorted", "0.5 ohm", "1 ohm", "50 ohm", "1 Mohm", "open"];
            let mut text = case.text();
            for (index, step) in steps.iter().enumerate() {
                let _ = writeln!(text, "case \"{index}\": {} = {step}", part.name);
                let _ = writeln!(text, "find {question} in \"{index}\"");
            }
            let solved = Solved::new(&text);
            let values: Vec<f64> =
                (0..steps.len()).map(|index| solved.find_in(&question, Some(&index.to_string()))).collect();
            assert!(values.is_sorted(), "{id}: {question} while {} grows: {values:?}", part.name);
        }
    }
}

/// Every network of n equal resistors in series and parallel, as a segment of a path.
fn series_parallel(n: usize, next: &mut usize) -> Vec<String> {
    if n == 1 {
        *next += 1;
        return vec![format!("R{next}")];
    }
    // Shapes first, with `R` for each resistor: they are named when all shapes are known.
    fn shapes(n: usize) -> BTreeSet<String> {
        if n == 1 {
            return BTreeSet::from(["R".to_owned()]);
        }
        let mut all = BTreeSet::new();
        for k in 1..=n / 2 {
            for a in shapes(k) {
                for b in shapes(n - k) {
                    all.insert(format!("{a} -- {b}"));
                    all.insert(format!("( {a} | {b} )"));
                }
            }
        }
        all
    }
    shapes(n)
        .iter()
        .map(|shape| {
            let mut pieces = shape.split('R');
            let mut named = pieces.next().unwrap_or_default().to_owned();
            for piece in pieces {
                *next += 1;
                let _ = write!(named, "R{next}{piece}");
            }
            named
        })
        .collect()
}

/// OEIS A048211 (n equal resistors in series and parallel: 1, 2, 4, 9, 22) and A174283 (with bridges: 1, 2, 4, 9, 23).
#[test]
fn equal_resistors_make_as_many_values_as_published() {
    let mut distinct = Vec::new();
    for n in 1..=5 {
        let mut resistors = 0;
        let networks = series_parallel(n, &mut resistors);
        let mut text = String::new();
        for resistor in 1..=resistors {
            let _ = writeln!(text, "resistor R{resistor} = 1 ohm");
        }
        for (index, network) in networks.iter().enumerate() {
            let _ = writeln!(text, "@from{index} -- {network} -- @to{index}");
            let _ = writeln!(text, "find resistance between @from{index} and @to{index}");
        }
        let solved = Solved::new(&text);
        let values: BTreeSet<String> = (0..networks.len())
            .map(|index| {
                let question = format!("resistance between @from{index} and @to{index}");
                solved.find_exact(&question).unwrap_or_else(|| panic!("{question} has no exact answer")).to_owned()
            })
            .collect();
        distinct.push(values);
    }
    let counts: Vec<usize> = distinct.iter().map(BTreeSet::len).collect();
    assert_eq!(counts, [1, 2, 4, 9, 22]);

    // The one value that five resistors make only as a bridge is that of a single resistor.
    let bridge = "resistor R1, R2, R3, R4, R5 = 1 ohm\n@a -- ( R1 -- @left -- R2 | R3 -- @right -- R4 ) -- @b\n@left -- R5 -- @right\n";
    let value = ask(bridge, "resistance between @a and @b").exact.expect("small circuits are exact");
    assert_eq!(value, "1");
    assert!(!distinct[4].contains(&value));

    let with_bridge = [1, 2, 4, 9, counts[4] + 1];
    for row in case("math-count-bridge").expected {
        let published: Vec<usize> = row.value_published.as_array().map_or_else(Vec::new, |list| {
            list.iter().filter_map(|count| count.as_u64().map(|count| count as usize)).collect()
        });
        assert_eq!(published[..5], with_bridge, "{}", row.of());
    }
}

/// A ladder of k cells of equal resistors has F(2k + 1) / F(2k), F the Fibonacci numbers: the cases of the data go to five cells, these on to
/// thirty, exactly. S. L. Basin, "The appearance of Fibonacci numbers and the Q matrix in electrical network theory", Mathematics
/// Magazine 36 (1963), from memory.
#[test]
fn ladders_have_fibonacci_numbers() {
    let mut fibonacci: Vec<u64> = vec![0, 1];
    while fibonacci.len() < 62 {
        fibonacci.push(fibonacci[fibonacci.len() - 1] + fibonacci[fibonacci.len() - 2]);
    }
    for cells in [1, 2, 3, 7, 15, 30] {
        let text = format!(
            "repeat k from 1 to {cells}
                resistor A{{k}} = 1 ohm
                resistor B{{k}} = 1 ohm
                @n{{k-1}} -- A{{k}} -- @n{{k}} -- B{{k}} -- @g
            end
            "
        );
        let answer = ask(&text, "resistance between @n0 and @g");
        let (above, below) = (fibonacci[2 * cells + 1], fibonacci[2 * cells]);
        let expected = if below == 1 { above.to_string() } else { format!("{above}/{below}") };
        assert_eq!(answer.exact.as_deref(), Some(expected.as_str()), "{cells} cells");
    }
}

/// Cases that no plane holds without crossings (K. Kuratowski, "Sur le problème des courbes gauches en topologie", Fundamenta
/// Mathematicae 15, 1930), with the fewest crossings possible: of complete graphs 1 and 3 (R. K. Guy, "Crossing numbers of graphs",
/// 1972), of complete bipartite ones 1 and 2 (D. J. Kleitman, "The crossing number of K5,n", Journal of Combinatorial Theory 9,
/// 1970); the titles from memory.
const NOT_PLANAR: &[(&str, usize)] = &[("math-K5", 1), ("math-K6", 3), ("math-K3,3", 1), ("math-K3,4", 2)];

#[test]
fn every_case_is_drawn_without_overlaps_and_planar_ones_without_crossings() {
    for case in cases() {
        let most = harness::drawn(&case.id, None, &case.text()).into_iter().max();
        match NOT_PLANAR.iter().find(|(id, _)| *id == case.id) {
            None => assert_eq!(most, Some(0), "{}: crossings", case.id),
            Some((_, fewest)) => {
                let most = most.expect("it is drawn");
                assert!((*fewest..=2 * fewest).contains(&most), "{}: {most} crossings, {fewest} needed", case.id);
            }
        }
    }
}

/// Circuits of textbooks that are about the very thing that is warned of.
const WARNED: &[(&str, &str, &str)] = &[
    ("up2-10-p28-fuse", "fuse-blows", "the problem asks whether the breaker trips"),
    ("liec1-5-fault-short", "ammeter-across", "the page shows what a short across R2 does"),
    ("short-real-battery", "shorted-source", "the short-circuit current is what is asked"),
    ("up2-10.8ex", "stored-energy", "250 J at 100 V is dangerous"),
    ("up2-10-p93", "stored-energy", "115 J at 48 V is dangerous"),
];

/// A right circuit of a textbook is no mistake, and little needs to be remarked on it.
#[test]
fn every_published_circuit_is_met_with_silence() {
    let mut wrong = String::new();
    let mut warned = 0;
    let mut remarks: BTreeMap<String, usize> = BTreeMap::new();
    let cases = cases();
    for case in &cases {
        let mut text = case.text();
        if let Some((a, b)) = case.expected.iter().find_map(Row::points).filter(|_| case.sources().count() == 0) {
            let _ = writeln!(text, "find {}", between(a, b));
        }
        let output = harness::ohmline(&["check", "-", "--format", "json"], &text);
        let json: Value = serde_json::from_slice(&output.stdout).expect("the output is JSON");
        for said in json["diagnostics"].as_array().expect("diagnostics are listed") {
            let word = |key: &str| said[key].as_str().unwrap_or("?").to_owned();
            match word("severity").as_str() {
                "error" | "warning" if WARNED.iter().any(|(id, rule, _)| *id == case.id && *rule == word("rule")) => {
                    warned += 1
                }
                "error" | "warning" => {
                    let _ = writeln!(wrong, "{}: {} {}", case.id, word("rule"), word("message"));
                }
                "info" => *remarks.entry(word("rule")).or_default() += 1,
                _ => {}
            }
        }
    }
    println!("{remarks:?}");
    assert!(wrong.is_empty(), "{wrong}");
    let count: usize = remarks.values().sum();
    assert_eq!(warned, WARNED.len());
    assert!(count * 2 <= cases.len(), "{count} remarks on {} circuits: {remarks:?}", cases.len());
}
