use super::complete;
use crate::fixture::marked;
use crate::occurrences::Index;

const QUAY: &str = "\
part lantern(in, out), dropper 130 ohm
  resistor R = dropper
  @in -- R -- @out
end
let supply = 12 V
battery B1 = supply
resistor R1 = 10 ohm
potentiometer P1 = 100 ohm at 40%
capacitor C1 = 10 uF
switch S1 = closed
resistor R3 = 5 ohm
ammeter A1
lantern West
lantern East
B1+ -- S1 -- R1 -- @fork -- West -- B1-
@fork -- C1 -- B1-
@fork -- P1.a
P1.b -- B1-
P1.wiper -- @tap
case \"night\": S1 = open
";

/// The labels offered for a last line, in order.
fn offered(line: &str) -> Vec<String> {
    let (analysis, cursor) = marked(&format!("{QUAY}{line}"), &[]);
    let index = Index::new(&analysis.sources);
    let mut items = complete(&analysis, &index, cursor, &["kit.ohmline".to_owned()]).items;
    items.sort_by_key(|item| (item.rank, item.label.clone()));
    for item in &items {
        assert!(item.replace.end <= analysis.sources.files[0].tree.text.len() as u32);
        assert!(item.replace.start <= cursor && cursor <= item.replace.end, "{item:?}");
    }
    items.into_iter().map(|item| item.label).collect()
}

fn has(line: &str, wanted: &[&str]) {
    let found = offered(line);
    for label in wanted {
        assert!(found.iter().any(|own| own == label), "{line}: no {label} in {found:?}");
    }
}

#[test]
fn a_line_begins_with_anything() {
    has("<|>", &["battery", "find", "lantern", "B1+", "R3", "@fork"]);
    has("res<|>", &["resistor"]);
    assert!(!offered("<|>").contains(&"end".to_owned()), "no block is open");
    has("repeat k from 1 to 3\n<|>", &["end"]);
}

#[test]
fn declarations() {
    assert_eq!(offered("resistor <|>"), ["R2"]);
    assert_eq!(offered("repeat k from 1 to 3\nlamp <|>"), ["L{k}"]);
    // Paths may be drawn first, and what stands in them be declared then.
    assert_eq!(offered("B1+ -- R8 -- R3 -- @fork\nresistor <|>"), ["R8", "R2"]);
    assert_eq!(offered("lamp L1 = 5 W <|>"), ["at"]);
    assert_eq!(offered("source E1 = 5 <|>"), ["V", "mV", "A", "mA"]);
    assert_eq!(offered("resistor R2 = 4 ohm\n  , <|>"), ["rating", "tolerance"]);
    assert_eq!(offered("switch S2 = <|>"), ["open", "closed"]);
    assert_eq!(offered("resistor R2 = 4 <|>"), ["ohm", "kohm", "Mohm", "mohm"]);
    assert_eq!(offered("resistor R2 = 4.6<|>"), ["4.6 ohm", "4.6 kohm", "4.6 Mohm", "4.6 mohm", "4.7", "4.3", "5.1"]);
    assert_eq!(offered("resistor R2 = 4.6<|>, tolerance 10%")[4..], ["4.7", "3.9", "5.6"]);
    assert_eq!(offered("resistor R2 = 4.6k<|>"), ["4.6 kohm"]);
    assert_eq!(offered("resistor R2 = 4 ohm, <|>"), ["rating", "tolerance"]);
    assert_eq!(offered("resistor R2 = 4 ohm, tolerance 5%, <|>"), ["rating"]);
    assert_eq!(offered("resistor R2 = 4 ohm, rating 2 <|>"), ["W", "mW", "kW"]);
    assert_eq!(offered("battery B2 = <|>"), ["supply"]);
    assert_eq!(offered("lantern East, <|>"), ["dropper"]);
}

#[test]
fn paths() {
    has("B1+ -- <|>", &["+A1-", "R3", "@fork", "East", "East.in"]);
    has("B1+ -- +<|>", &["A1-"]);
    // What stands in a path cannot be passed through twice.
    let found = offered("B1+ -- R3 -- <|>");
    assert!(!found.iter().any(|own| own == "R1" || own == "R3" || own == "West" || own == "+B1-"), "{found:?}");
    // Only the ends of a path are terminals.
    let found = offered("B1+ -- ( <|>");
    assert!(!found.iter().any(|own| own == "B1-" || own == "East.in"), "{found:?}");
    let found = offered("B1+ -- <|> -- R3");
    assert!(found.iter().any(|own| own == "-A1+") && !found.iter().any(|own| own == "A1+"), "{found:?}");
    // A path mostly ends at what it begins at.
    assert_eq!(offered("battery B9 = 3 V\nB9+ -- R3 -- <|>")[..2], ["B9-", "B9+"]);
    // A line that goes on with the one above.
    has("B1+ -- R3\n    -- <|>", &["East", "@fork"]);
    has("@<|>", &["@fork"]);
    has("R1 -- @f<|>", &["@fork"]);
    assert_eq!(offered("P1.<|>"), ["a", "b", "wiper"]);
    has("East.<|>", &["in", "out"]);
}

#[test]
fn questions_and_claims() {
    has("find <|>", &["current", "voltage", "resistance"]);
    assert_eq!(offered("find current <|>"), ["through", "into"]);
    has("find current through <|>", &["R1", "B1", "C1"]);
    has("find current through R1, <|>", &["S1"]);
    assert_eq!(offered("find charge of <|>"), ["C1"]);
    assert_eq!(offered("find resistance seen by <|>"), ["B1"]);
    assert_eq!(offered("find voltage from @fork <|>"), ["to"]);
    has("find voltage from @fork to <|>", &["@fork", "B1+", "P1.wiper"]);
    assert_eq!(offered("find current through R1 <|>"), ["in"]);
    assert_eq!(offered("find current through R1 in <|>"), ["\"night\""]);
    assert_eq!(offered("find current through R1 in \"<|>"), ["\"night\""]);
    assert_eq!(offered("find current through R1 in \"n<|>\""), ["\"night\""]);
    has("claim <|>", &["current", "R1"]);
    assert_eq!(offered("claim R1, S1 <|>"), ["in"]);
    assert_eq!(offered("claim R1, S1 in <|>"), ["series", "parallel"]);
    assert_eq!(offered("claim current through R1 <|>"), ["="]);
    assert_eq!(offered("find current through West.<|>"), ["R"]);
    assert_eq!(offered("claim current through R1 = 3 <|>"), ["A", "mA", "uA"]);
    assert_eq!(offered("claim current through R1 = 3 mA within 2 <|>"), ["%", "A", "mA", "uA"]);
    assert_eq!(offered("claim current through R1 = 3 mA within 2% <|>"), ["in"]);
    assert_eq!(offered("given current through R1 = 3 mA <|>"), ["in"]);
    assert_eq!(offered("claim current through R1 = 3 mA <|>"), ["within", "in"]);
}

#[test]
fn cases_and_includes() {
    has("case \"dusk\": <|>", &["S1", "R1", "supply"]);
    assert_eq!(offered("case \"dusk\": S1 = <|>"), ["open", "closed", "shorted"]);
    assert_eq!(offered("case \"dusk\": B1.<|>"), ["capacity", "internal", "limit"]);
    assert_eq!(offered("include \"<|>"), ["\"kit.ohmline\""]);
    assert_eq!(offered("include \"<|>\""), ["\"kit.ohmline\""]);
}

#[test]
fn nothing_in_comments_and_titles() {
    for line in ["# find <|>", "R1 -- # <|>", "circuit \"<|>", "case \"<|>"] {
        assert!(offered(line).is_empty(), "{line}");
    }
}

#[test]
fn rules_in_a_comment_that_allows_them() {
    has("@fork -- R1 # allow <|>", &["open-end", "split-series"]);
    has("# allow open-end, sp<|>", &["split-series"]);
    assert!(!offered("# allow open-end, <|>").contains(&"open-end".to_owned()), "it is named already");
    for line in ["# allow open-end: <|>", "# allow the <|>", "## allow <|>", "# allowed <|>"] {
        assert!(offered(line).is_empty(), "{line}");
    }
}

/// Wherever the cursor stands in whichever broken text: an answer, and edits that hold the cursor.
#[test]
fn anywhere() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples/mistakes");
    for entry in std::fs::read_dir(folder).expect("samples") {
        let text = std::fs::read_to_string(entry.expect("readable").path()).expect("readable");
        let analysis = crate::fixture::analysis(&text, &[]);
        let index = Index::new(&analysis.sources);
        for at in (0..text.len() as u32).step_by(3) {
            for item in complete(&analysis, &index, at, &[]).items {
                assert!(item.replace.start <= at && at <= item.replace.end, "{item:?}");
            }
        }
    }
}
