use std::collections::BTreeMap;

use ohmline_analysis::{Analysis, Settings, analyze};
use ohmline_syntax::{FileId, Severity};

use super::{Rewrite, RewriteKind, rewrites};
use crate::fixture::{analysis, marked};
use crate::occurrences::Index;
use crate::rename::apply;

fn offered(text: &str) -> (Analysis, Vec<Rewrite>) {
    let (analysis, cursor) = marked(text, &[]);
    let index = Index::new(&analysis.sources);
    let found = rewrites(&analysis, &index, cursor);
    (analysis, found)
}

fn done(text: &str, title: &str) -> String {
    let (analysis, found) = offered(text);
    let titles: Vec<&str> = found.iter().map(|own| own.title.as_str()).collect();
    let own =
        found.iter().find(|own| own.title.starts_with(title)).unwrap_or_else(|| panic!("no {title} in {titles:?}"));
    apply(&analysis.sources, &own.edits).files[0].tree.text.to_string()
}

const QUAY: &str = "battery B1 = 12 V\nresistor R1 = 4 ohm\nresistor R2 = 8 ohm\nresistor R3 = 6.1 ohm\nB1+ -- R1 -- R2 -- ( R3 | L1 ) -- B1-\nlamp L1 = 6 ohm\n";

#[test]
fn two_in_series_become_one() {
    let text = QUAY.replacen("R1 -- R2", "R1 -<|>- R2", 1);
    assert_eq!(
        done(&text, "Replace R1 and R2 in series by one resistor of 12 ohm"),
        "battery B1 = 12 V\nresistor R_1 = 4 ohm + 8 ohm  # R1 and R2 in series: 12 ohm\nresistor R3 = 6.1 ohm\n\
         B1+ -- R_1 -- ( R3 | L1 ) -- B1-\nlamp L1 = 6 ohm\n"
    );
}

#[test]
fn several_in_parallel_become_one() {
    let text = "battery B1 = 12 V\nresistor R1 = 4 ohm\nresistor R2 = 8 ohm\nresistor R3 = 2 ohm\nB1+ -- ( R1 | R<|>2 ) -- R3 -- B1-\n";
    assert_eq!(
        done(text, "Replace R1 and R2 in parallel by one resistor of"),
        "battery B1 = 12 V\nresistor R_1 = 1 / (1 / (4 ohm) + 1 / (8 ohm))  # R1 and R2 in parallel: 2.667 ohm\nresistor R3 = 2 ohm\n\
         B1+ -- R_1 -- R3 -- B1-\n"
    );
}

/// What the text says something about, or what only looks in line, is no pair to be replaced.
#[test]
fn no_replacement_where_something_else_depends_on_it() {
    for text in [
        "battery B1 = 12 V\nresistor R1 = 4 ohm\nresistor R2 = 8 ohm\nB1+ -- R1 -<|>- R2 -- B1-\nfind current through R1\n",
        "battery B1 = 12 V\nresistor R1 = 4 ohm\nresistor R2 = 8 ohm\nB1+ -- R1 -<|>- R2 -- B1-\ncase \"x\": R1 = 5 ohm\n",
        "battery B1 = 12 V\nresistor R1, R2 = 4 ohm\nB1+ -- R1 -<|>- R2 -- B1-\n",
        "battery B1 = 12 V\nresistor R1 = 4 ohm, rating 1 W\nresistor R2 = 8 ohm\nB1+ -- R1 -<|>- R2 -- B1-\n",
        "battery B1 = 12 V\nresistor R1 = 4 ohm\nresistor R2 = 8 ohm\nB1+ -- R1 -- @m<|> -- R2 -- B1-\n",
    ] {
        let (_, found) = offered(text);
        assert!(found.iter().all(|own| !own.title.starts_with("Replace")), "{text}: {found:?}");
    }
}

#[test]
fn points_claims_meters_and_polarity() {
    let text = QUAY.replacen("R1 -- R2", "R1 -<|>- R2", 1);
    assert!(done(&text, "Name this point @p1").contains("R1 -- @p1 -- R2"));
    let text = QUAY.replacen("R2 -- (", "R<|>2 -- (", 1);
    let after = done(&text, "Put an ammeter in line with R2");
    assert!(after.contains("lamp L1 = 6 ohm\nammeter A1\n") && after.contains("R1 -- +A1- -- R2 -- ("), "{after}");
    let after = done(&text, "Put a voltmeter across R2");
    assert!(after.contains("R1 -- @p1 -- R2 -- @p2 -- (") && after.contains("\n@p1 -- +V1- -- @p2\n"), "{after}");
    let after = done(&text, "State the current and the voltage of R2");
    assert!(
        after.ends_with("lamp L1 = 6 ohm\nclaim current through R2 = 798.7 mA\nclaim voltage across R2 = 6.389 V\n"),
        "{after}"
    );
    let text = "battery B1 = 12 V\nlamp L1 = 6 ohm\n@a -- +B<|>1- -- L1 -- @a\n";
    assert!(done(text, "Turn B1 round").contains("@a -- -B1+ -- L1"));
}

/// By hand: 6.1 and 6 ohm side by side are 3.0248 ohm, in all 15.0248 ohm; 12 V drive 798.7 mA, of which 6.1 / 12.1 or 403 mA flow through L1. With
/// 6.2 ohm it is 797.4 mA, and 6.2 / 12.2 of them are 405 mA.
#[test]
fn a_preferred_value_says_what_it_does() {
    let text = format!("{}find current through L1\n", QUAY.replacen("R3 = 6.1", "R3 = 6.<|>1", 1));
    let (_, found) = offered(&text);
    let titles: Vec<&str> =
        found.iter().map(|own| own.title.as_str()).filter(|title| title.starts_with("Take")).collect();
    assert_eq!(
        titles,
        ["Take the preferred value 6.2 for R3 (E24); the current through L1 goes from 403 mA to 405 mA"]
    );
    assert!(done(&text, "Take the preferred value").contains("resistor R3 = 6.2 ohm"));
}

/// Wherever something is rewritten, in whichever sample: the result reads without new errors; and what keeps the circuit keeps every
/// current and voltage of every element that is still there.
#[test]
fn everything_else_keeps_its_current_and_voltage() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples");
    let kit = std::fs::read_to_string(format!("{folder}/kit.ohmline")).expect("a sample");
    let others = [("kit.ohmline", kit.as_str())];
    let mut count = BTreeMap::<String, usize>::new();
    for entry in std::fs::read_dir(folder).expect("samples") {
        let path = entry.expect("readable").path();
        if path.extension().is_none_or(|ending| ending != "ohmline") {
            continue;
        }
        let text = std::fs::read_to_string(&path).expect("a sample");
        let before = analysis(&text, &others);
        let index = Index::new(&before.sources);
        let values = |analysis: &Analysis| -> BTreeMap<String, String> {
            let Some(state) = analysis.answers.states.first() else { return BTreeMap::new() };
            let elements = analysis.circuit.elements.iter().zip(&state.elements);
            elements
                .filter_map(|(element, answer)| {
                    let answer = answer.as_ref()?;
                    Some((element.name.to_string(), format!("{:?} {:?}", answer.current, answer.voltage)))
                })
                .collect()
        };
        let errors =
            |analysis: &Analysis| analysis.diagnostics.iter().filter(|found| found.severity == Severity::Error).count();
        let old = values(&before);
        let mut seen = std::collections::HashSet::new();
        for offset in 0..text.len() as u32 {
            for own in rewrites(&before, &index, offset) {
                if !seen.insert((own.title.clone(), own.edits.first().map(|edit| edit.at))) {
                    continue;
                }
                for pair in own.edits.windows(2) {
                    assert!(pair[0].at.file == FileId::MAIN);
                }
                let after = analyze(apply(&before.sources, &own.edits), &Settings::default());
                let place = format!("{} at {offset}: {}", path.display(), own.title);
                assert!(own.kind == RewriteKind::Change || errors(&after) <= errors(&before), "{place}");
                if own.kind == RewriteKind::Refactor || own.title.starts_with("Put") {
                    let new = values(&after);
                    for (name, value) in &old {
                        if let Some(now) = new.get(name) {
                            assert_eq!(value, now, "{place}: {name}");
                        }
                    }
                    let kept = old.keys().filter(|name| new.contains_key(*name)).count();
                    assert!(kept + 4 >= old.len(), "{place}");
                }
                *count.entry(own.title.split(' ').next().unwrap_or("").to_owned()).or_default() += 1;
            }
        }
    }
    for word in ["Name", "State", "Put", "Turn"] {
        assert!(count.get(word).is_some_and(|count| *count > 5), "{count:?}");
    }
}
