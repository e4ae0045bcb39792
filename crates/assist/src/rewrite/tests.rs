use std::collections::BTreeMap;

use ohmline_analysis::{Analysis, Settings, analyze};
use ohmline_syntax::tree::{Segment, StmtKind};
use ohmline_syntax::{FileId, Severity, Span};

use super::{Rewrite, RewriteKind, part_of, rewrites, segments};
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

#[test]
fn a_group_and_paths_of_their_own() {
    let grouped = "battery B1 = 12 V\nlamp L1, L2, L3 = 6 ohm\nB1+ -- L1 -- ( L2 <|>| L3 ) -- B1-  # the quay\n";
    let apart = "battery B1 = 12 V\nlamp L1, L2, L3 = 6 ohm\nB1+ -- L1 -- @p1 -- L2 -- @p2 -- B1-  # the quay\n@p1 -- L3 -- @p2\n";
    assert_eq!(done(grouped, "Write this group as paths from @p1 to @p2"), apart);
    let back = apart.replacen("-- L2", "-- <|>L2", 1);
    assert_eq!(done(&back, "Write the paths from @p1 to @p2 as a group"), grouped.replacen("<|>", "", 1));
    // A name that something speaks of stays, and so does a path with a comment.
    let asked = format!("{back}find potential at @p1\n");
    assert!(done(&asked, "Write the paths").contains("L1 -- @p1 -- ( L2 | L3 ) -- B1-  # the quay\nfind"));
    let (_, found) = offered(&back.replacen("@p1 -- L3 -- @p2", "@p1 -- L3 -- @p2  # far", 1));
    assert!(found.iter().all(|own| !own.title.starts_with("Write the paths")));
    // Nested, and with names that are there already.
    let text = "battery B1 = 12 V\nlamp L1, L2, L3 = 6 ohm\r\nB1+ -- @fork -- ( L1 -- ( L2 |<|> L3 ) | L4 ) -- B1-\nlamp L4 = 6 ohm\n";
    assert!(
        done(text, "Write this group").contains("( L1 -- @p1 -- L2 -- @p2 | L4 ) -- B1-\r\n@p1 -- L3 -- @p2\nlamp")
    );
}

fn turned_into_a_part(text: &str) -> Option<String> {
    let (start, end) = (text.find('[').expect("a mark"), text.find(']').expect("a mark") - 1);
    let found = analysis(&text.replace(['[', ']'], ""), &[]);
    let own = part_of(&found, &Index::new(&found.sources), Span::new(start as u32, end as u32))?;
    Some(apply(&found.sources, &own.edits).files[0].tree.text.to_string())
}

#[test]
fn a_selection_becomes_a_part() {
    let text = "battery  B1 = 12 V\n## The dropper.\nresistor R1 = 40 ohm  # wire\nlamp     L1, L2 = 6 ohm\nB1+ -- [R1 -- @m -- ( L1 | L2 )] -- B1-\n";
    assert_eq!(
        turned_into_a_part(text).as_deref(),
        Some(
            "battery  B1 = 12 V\ngroup1   G1\nB1+ -- G1 -- B1-\n\npart group1(in, out)\n  ## The dropper.\n  resistor R1 = 40 ohm  # wire\n  \
             lamp     L1, L2 = 6 ohm\n  @in -- R1 -- @m -- ( L1 | L2 ) -- @out\nend\n"
        )
    );
    // Something else speaks of what would move, a declaration names what stays, or there is too little.
    for text in [
        "battery B1 = 12 V\nlamp L1 = 6 ohm\nlamp L2 = 6 ohm\nB1+ -- [L1 -- L2] -- B1-\nfind current through L1\n",
        "battery B1 = 12 V\nlamp L1, L2, L3 = 6 ohm\nB1+ -- [L1 -- L2] -- L3 -- B1-\n",
        "battery B1 = 12 V\nlamp L1, L2 = 6 ohm\nB1+ -- [L1 -- @m -- L2] -- B1-\nreference @m\n",
        "battery B1 = 12 V\nlamp L1, L2 = 6 ohm\nB1+ -- [L1] -- L2 -- B1-\n",
        "battery B1 = 12 V\nlamp L1, L2 = 6 ohm\n[@a -- +B1- -- L1 -- L2 -- @a]\n",
        "lamp L1, L2 = 6 ohm\n[L1 -- L2]\n",
    ] {
        assert_eq!(turned_into_a_part(text), None, "{text}");
    }
}

fn answered(analysis: &Analysis) -> BTreeMap<String, String> {
    let Some(state) = analysis.answers.states.first() else { return BTreeMap::new() };
    let elements = analysis.circuit.elements.iter().zip(&state.elements);
    let own = elements.filter_map(|(element, answer)| {
        let answer = answer.as_ref()?;
        Some((element.name.to_string(), format!("{:?} {:?}", answer.current, answer.voltage)))
    });
    own.collect()
}

fn errors(analysis: &Analysis) -> usize {
    analysis.diagnostics.iter().filter(|found| found.severity == Severity::Error).count()
}

/// Whatever stretch of a path in whichever sample becomes a part: every element keeps its current and voltage, under its new name.
#[test]
fn parts_keep_every_current_and_voltage() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).expect("samples") {
        let path = entry.expect("readable").path();
        if path.extension().is_none_or(|ending| ending != "ohmline") {
            continue;
        }
        let whole = ohmline_syntax::parse(&std::fs::read_to_string(&path).expect("a sample"));
        // Without what is said about the circuit, since what something speaks of stays where it is.
        let mut text = whole.text.to_string();
        for stmt in whole.stmts.iter().rev() {
            let spoken = !matches!(
                stmt.node.kind,
                StmtKind::Declare(_)
                    | StmtKind::Path(_)
                    | StmtKind::Let { .. }
                    | StmtKind::Part { .. }
                    | StmtKind::Repeat { .. }
                    | StmtKind::End
            );
            if spoken {
                text.replace_range(stmt.range().range(), "");
            }
        }
        let before = analysis(&text, &[]);
        let index = Index::new(&before.sources);
        let tree = &before.sources.files[0].tree;
        let mut selections = Vec::new();
        for stmt in &tree.stmts {
            let StmtKind::Path(path) = &stmt.node.kind else { continue };
            segments(path, &mut |segment: &Segment| {
                for (number, first) in segment.items.iter().enumerate() {
                    let ends = segment.items[number..].iter();
                    selections.extend(ends.map(|last| stmt.span(first.span).to(stmt.span(last.span))));
                }
            });
        }
        let old = answered(&before);
        let mut seen = std::collections::HashSet::new();
        for selection in selections {
            let Some(own) = part_of(&before, &index, selection) else { continue };
            if !seen.insert(format!("{:?}", own.edits)) {
                continue;
            }
            let after = analyze(apply(&before.sources, &own.edits), &Settings::default());
            let place = format!("{} {}", path.display(), tree.slice(selection));
            assert!(errors(&after) <= errors(&before), "{place}");
            let new = answered(&after);
            for (name, value) in &old {
                let now = new.get(name).or_else(|| new.get(&format!("G1.{name}")));
                assert_eq!(now, Some(value), "{place}: {name}");
            }
            count += 1;
        }
    }
    assert!(count > 5, "{count}");
}
