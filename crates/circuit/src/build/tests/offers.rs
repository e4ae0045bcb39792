//! Which names are offered for one that is not declared.

use crate::build_text;

/// The helps and the titles of the fixes of each unknown name.
fn offered(text: &str) -> String {
    let circuit = build_text(text);
    let found = circuit.diagnostics.iter().filter(|said| said.rule == "unknown-name");
    let words = found.flat_map(|said| said.help.iter().cloned().chain(said.fixes.iter().map(|fix| fix.title.clone())));
    words.collect::<Vec<_>>().join("; ")
}

const DECLARED: &str = "battery B1 = 6 V\nresistor R1, R2 = 10 ohm\n";

#[test]
fn what_stands_in_a_path_further_down_is_another_element() {
    let declare = "Declare it, as in `resistor R3 = 10 ohm`";
    for path in [
        "B1+ -- R1 -- R2 -- R3 -- B1-\n",
        "B1+ -- R3 -- R1 -- R2 -- B1-\n",
        "B1+ -- R3 -- @a\n@a -- ( R1 | R2 ) -- B1-\n",
    ] {
        assert_eq!(offered(&format!("{DECLARED}{path}")), declare, "{path}");
    }
}

#[test]
fn what_stands_nowhere_yet_may_be_meant() {
    let text = format!("{DECLARED}B1+ -- R3 -- R1 -- B1-\n");
    assert_eq!(offered(&text), "Did you mean `R2`?; Write `R2`");
}

#[test]
fn a_sign_asks_for_an_element_that_has_such_terminals() {
    let text = "battery B1 = 6 V\nresistor R1 = 10 ohm\nresistor A1 = 3 ohm\nA2+ -- R1 -- B1-\n";
    assert!(!offered(text).contains("Write `A1`"), "{}", offered(text));
    let text = "battery B1 = 6 V\nresistor R1 = 10 ohm\nB2+ -- R1 -- B1-\n";
    assert!(offered(text).contains("Write `B1`"), "{}", offered(text));
}
