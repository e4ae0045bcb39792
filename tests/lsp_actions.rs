//! Whole sessions about code actions: every refactoring, what an editor asks for by kind, every safe fix at once, and edits that are made
//! once an action is chosen.
//!
//! `<|>` in a text is the cursor; twice, the ends of a selection.

mod harness;
mod lsp_client;

use harness::{Solved, close};
use lsp_client::{Session, able, apply};
use serde_json::{Value, json};

const URI: &str = "file:///harbour/quay.ohmline";

/// A text without its marks, and the range between them.
fn marked(text: &str) -> (String, Value) {
    let mut plain = String::new();
    let mut ends = Vec::new();
    for (number, piece) in text.split("<|>").enumerate() {
        if number > 0 {
            let line = plain.rsplit('\n').next().unwrap_or("");
            ends.push(json!({ "line": plain.matches('\n').count(), "character": line.encode_utf16().count() }));
        }
        plain.push_str(piece);
    }
    let (first, last) = (ends.first().expect("a mark"), ends.last().expect("a mark"));
    (plain, json!({ "start": first, "end": last }))
}

fn asked(range: &Value, only: Option<&[&str]>) -> Value {
    let context = match only {
        Some(only) => json!({ "diagnostics": [], "only": only }),
        None => json!({ "diagnostics": [] }),
    };
    json!({ "textDocument": { "uri": URI }, "range": range, "context": context })
}

/// The actions at the marks of a text.
fn offered(session: &mut Session, range: &Value, only: Option<&[&str]>) -> Vec<Value> {
    let found = session.request("textDocument/codeAction", asked(range, only)).expect("actions");
    found.as_array().expect("a list").clone()
}

fn titled<'a>(actions: &'a [Value], title: &str) -> &'a Value {
    let of = |action: &Value| action["title"].as_str().unwrap_or("").to_owned();
    let found = actions.iter().find(|action| of(action).starts_with(title));
    found.unwrap_or_else(|| panic!("no {title:?} in {:?}", actions.iter().map(of).collect::<Vec<_>>()))
}

/// The text with the edit of an action made, which must be for the version that is open.
fn carried_out(text: &str, action: &Value, version: i64) -> String {
    let change = &action["edit"]["documentChanges"][0];
    assert_eq!(change["textDocument"], json!({ "uri": URI, "version": version }), "{action}");
    apply(text, &change["edits"])
}

/// What becomes of a marked text by the action of this title and kind.
fn done(text: &str, title: &str, kind: &str) -> String {
    let (plain, range) = marked(text);
    let mut session = Session::start(able());
    session.open(URI, 4, &plain);
    let actions = offered(&mut session, &range, None);
    let action = titled(&actions, title);
    assert_eq!(action["kind"], kind, "{title}");
    carried_out(&plain, action, 4)
}

/// Every element that is in both texts carries the same current at the same voltage.
fn keeps_the_answers(old: &str, new: &str, but: &[&str]) {
    let (old, new) = (Solved::new(&old.replace("<|>", "")), Solved::new(new));
    assert_eq!(new.messages("error"), [] as [&str; 0], "{}", new.text);
    let elements = old.case(None)["elements"].as_object().expect("elements");
    let mut compared = 0;
    for name in elements.keys().filter(|name| !but.contains(&name.as_str())) {
        for key in ["current", "voltage"] {
            let (a, b) = (old.element(name, key), new.element(name, key));
            assert!(close(a, b, 1e-9, 1e-12), "{key} of {name}: {a} and {b}\n{}", new.text);
        }
        compared += 1;
    }
    assert!(compared > 0);
}

/// By hand: 4 Ω and 8 Ω in series beside 6 Ω are 4 Ω; with 2 Ω before them 12 V drive 2 A, of which a third goes through the series.
const QUAY: &str = "# 🚢 the quay\nbattery B1 = 12 V\nresistor R1 = 2 ohm\nresistor R2 = 4 ohm\nresistor R3 = 8 ohm\nlamp L1 = 6 ohm\n\
    B1+ -- R1 -- ( R2 -- R3 | L1 ) -- B1-\nfind current through L1\n";

#[test]
fn a_pair_in_series_becomes_its_equivalent() {
    let text = QUAY.replacen("R2 -- R3", "R2 -<|>- R3", 1);
    let new = done(&text, "Replace R2 and R3 in series by one resistor of 12 ohm", "refactor.rewrite");
    let wanted = QUAY
        .replacen(
            "resistor R2 = 4 ohm\nresistor R3 = 8 ohm\n",
            "resistor R_1 = 4 ohm + 8 ohm  # R2 and R3 in series: 12 ohm\n",
            1,
        )
        .replacen("R2 -- R3", "R_1", 1);
    assert_eq!(new, wanted);
    keeps_the_answers(&text, &new, &["R2", "R3"]);
    let (_, range) = marked(&text);
    assert_eq!(range["start"], json!({ "line": 6, "character": 19 }));
}

#[test]
fn a_group_in_parallel_becomes_its_equivalent() {
    let text = "battery B1 = 12 V\nresistor R1 = 3 ohm\nresistor R2 = 6 ohm\nlamp L1 = 4 ohm\nB1+ -- ( R1 |<|> R2 ) -- L1 -- B1-\n";
    let new = done(text, "Replace R1 and R2 in parallel by one resistor of 2 ohm", "refactor.rewrite");
    assert_eq!(
        new,
        "battery B1 = 12 V\nresistor R_1 = 1 / (1 / (3 ohm) + 1 / (6 ohm))  # R1 and R2 in parallel: 2 ohm\nlamp L1 = 4 ohm\n\
         B1+ -- R_1 -- L1 -- B1-\n"
    );
    keeps_the_answers(text, &new, &["R1", "R2"]);
}

#[test]
fn a_wire_becomes_a_junction_with_a_name() {
    let text = QUAY.replacen("B1+ -- R1 -- (", "B1+ -- R1 -<|>- (", 1);
    let new = done(&text, "Name this point @p1", "refactor.rewrite");
    assert_eq!(new, QUAY.replacen("R1 -- (", "R1 -- @p1 -- (", 1));
    keeps_the_answers(&text, &new, &[]);
}

#[test]
fn a_group_becomes_paths_and_paths_a_group() {
    let text = QUAY.replacen("| L1 )", "<|>| L1 )", 1);
    let paths = done(&text, "Write this group as paths from @p1 to @p2", "refactor.rewrite");
    let wanted = QUAY.replacen(
        "B1+ -- R1 -- ( R2 -- R3 | L1 ) -- B1-\n",
        "B1+ -- R1 -- @p1 -- R2 -- R3 -- @p2 -- B1-\n@p1 -- L1 -- @p2\n",
        1,
    );
    assert_eq!(paths, wanted);
    keeps_the_answers(&text, &paths, &[]);
    let back = paths.replacen("-- R2 --", "-- <|>R2 --", 1);
    assert_eq!(done(&back, "Write the paths from @p1 to @p2 as a group", "refactor.rewrite"), QUAY);
}

#[test]
fn a_selection_becomes_a_part() {
    // Of what a question speaks of nothing moves, so the question is about another element here.
    let quay = QUAY.replacen("find current through L1", "find current through R1", 1);
    let text = quay.replacen("R1 -- ( R2 -- R3 | L1 ) --", "R1 -- <|>( R2 -- R3 | L1 )<|> --", 1);
    let new = done(&text, "Turn the selection into a part group1", "refactor.extract");
    let wanted = "# 🚢 the quay\nbattery B1 = 12 V\nresistor R1 = 2 ohm\ngroup1   G1\nB1+ -- R1 -- G1 -- B1-\nfind current through R1\n\n\
        part group1(in, out)\n  resistor R2 = 4 ohm\n  resistor R3 = 8 ohm\n  lamp L1 = 6 ohm\n  @in -- ( R2 -- R3 | L1 ) -- @out\nend\n";
    assert_eq!(new, wanted);
    keeps_the_answers(&text, &new, &["R2", "R3", "L1"]);
    let (old, new) = (Solved::new(&quay), Solved::new(&new));
    for (name, inside) in [("R2", "G1.R2"), ("R3", "G1.R3"), ("L1", "G1.L1")] {
        assert!(close(old.element(name, "current"), new.element(inside, "current"), 1e-9, 1e-12), "{name}");
    }
}

#[test]
fn meters_are_put_around_an_element() {
    let text = QUAY.replacen("( R2 -- R3 | L1 )", "( R2 -- R3 | L<|>1 )", 1);
    let new = done(&text, "Put an ammeter in line with L1", "refactor");
    assert_eq!(
        new,
        QUAY.replacen("lamp L1 = 6 ohm\n", "lamp L1 = 6 ohm\nammeter A1\n", 1).replacen("| L1 )", "| +A1- -- L1 )", 1)
    );
    keeps_the_answers(&text, &new, &[]);
    // By hand: two thirds of 2 A.
    assert!(close(Solved::new(&new).element("A1", "current"), 4.0 / 3.0, 1e-12, 0.0));
    let new = done(&text, "Put a voltmeter across L1", "refactor");
    assert_eq!(
        new,
        QUAY.replacen("lamp L1 = 6 ohm\n", "lamp L1 = 6 ohm\nvoltmeter V1\n", 1)
            .replacen("| L1 )", "| @p1 -- L1 -- @p2 )", 1)
            .replacen("B1-\n", "B1-\n@p1 -- +V1- -- @p2\n", 1)
    );
    keeps_the_answers(&text, &new, &[]);
    assert!(close(Solved::new(&new).element("V1", "voltage"), 8.0, 1e-12, 0.0));
}

#[test]
fn what_is_true_is_stated() {
    let text = QUAY.replacen("lamp L1", "lamp <|>L1", 1);
    let new = done(&text, "State the current and the voltage of L1", "refactor.rewrite");
    assert_eq!(new, format!("{QUAY}claim current through L1 = 1.333 A\nclaim voltage across L1 = 8.000 V\n"));
    keeps_the_answers(&text, &new, &[]);
}

/// IEC 60063: 6.2 is the value of E24 nearest to 6.1. By hand: 6.2 beside 12 is 4.0879, in all 6.0879, so 12 V drive 1.971 A, of which 12 / 18.2
/// flow through the 6.2 Ω; with 6.1 Ω it is 12 / (2 + 4.0442) = 1.985 A and 12 / 18.1 of it.
#[test]
fn a_value_becomes_a_preferred_one_and_says_what_that_does() {
    let quay = QUAY.replacen("lamp L1 = 6 ohm", "resistor L1 = 6.1 ohm", 1);
    let text = quay.replacen("6.1", "6<|>.1", 1);
    let title = "Take the preferred value 6.2 for L1 (E24); the current through L1 goes from 1.32 A to 1.30 A";
    let new = done(&text, title, "refactor");
    assert_eq!(new, quay.replacen("6.1", "6.2", 1));
    let changed = Solved::new(&new).find("current through L1");
    assert!(close(changed, 12.0 / (2.0 + 6.2 * 12.0 / 18.2) * 12.0 / 18.2, 1e-12, 0.0), "{changed}");
}

#[test]
fn polarity_is_turned_round() {
    let quay = "battery B1 = 12 V\nlamp L1 = 6 ohm\n@a -- +B1- -- L1 -- @a\n";
    let text = quay.replacen("+B1-", "+B<|>1-", 1);
    let new = done(&text, "Turn B1 round: `-B1+`", "refactor");
    assert_eq!(new, quay.replacen("+B1-", "-B1+", 1));
    let (old, new) = (Solved::new(quay), Solved::new(&new));
    assert!(close(old.element("L1", "current"), -new.element("L1", "current"), 1e-12, 0.0));
}

/// A dash that typography made, a comma too many, a wire of three dashes, and an unused value: four safe fixes.
const RUFFLED: &str = "let idle = 3 V\nbattery B1 = 12 V,\nlamp L1 = 6 ohm\nlamp L2 = 6 ohm\nB1+ -- L1 –– L2 --- B1-\n";

fn kinds(actions: &[Value]) -> Vec<&str> {
    let mut found: Vec<&str> = actions.iter().map(|action| action["kind"].as_str().expect("a kind")).collect();
    found.sort_unstable();
    found.dedup();
    found
}

#[test]
fn an_editor_gets_the_kinds_that_it_asks_for() {
    let (text, range) = marked(
        "battery B1 = 12 V\nresistor R1 = 4.1 ohm\nresistor R2 = 8 ohm\nlet idle = 3 V\nB1+ -- <|>R1 -- R2<|> -- @m -- B1-\n",
    );
    let mut session = Session::start(able());
    let said = session.capabilities["codeActionProvider"]["codeActionKinds"].clone();
    assert_eq!(said, json!(["quickfix", "refactor", "refactor.extract", "refactor.rewrite", "source.fixAll.ohmline"]));
    session.open(URI, 1, &text);
    let whole = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 9, "character": 0 } });
    let mut of = |range: &Value, only: Option<&[&str]>| {
        let actions = offered(&mut session, range, only);
        let found: Vec<String> = kinds(&actions).into_iter().map(str::to_owned).collect();
        found
    };
    // Unasked, nothing that changes the whole file.
    assert_eq!(of(&range, None), ["refactor", "refactor.extract", "refactor.rewrite"]);
    assert_eq!(of(&range, Some(&["refactor"])), ["refactor", "refactor.extract", "refactor.rewrite"]);
    assert_eq!(of(&range, Some(&["refactor.rewrite"])), ["refactor.rewrite"]);
    assert_eq!(of(&range, Some(&["refactor.extract"])), ["refactor.extract"]);
    assert_eq!(of(&range, Some(&["refactor.extract", "quickfix"])), ["refactor.extract"]);
    assert_eq!(of(&range, Some(&["refactor.inline"])), [] as [&str; 0]);
    assert_eq!(of(&whole, Some(&["quickfix"])), ["quickfix"]);
    for only in ["source", "source.fixAll", "source.fixAll.ohmline"] {
        assert_eq!(of(&whole, Some(&[only])), ["source.fixAll.ohmline"], "{only}");
    }
    // The name of a kind is no prefix of words: `quick` is none, and another program's is not ours.
    for only in ["quick", "source.fix", "source.fixAll.other", "source.organizeImports"] {
        assert_eq!(of(&whole, Some(&[only])), [] as [&str; 0], "{only}");
    }
    // The empty kind stands for all (Language Server Protocol 3.17, CodeActionKind).
    assert!(of(&whole, Some(&[""])).contains(&"source.fixAll.ohmline".to_owned()));
}

#[test]
fn every_safe_fix_at_once() {
    let mut session = Session::start(able());
    session.open(URI, 7, RUFFLED);
    let before = session.shown(URI);
    let whole = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 0, "character": 0 } });
    let actions = offered(&mut session, &whole, Some(&["source.fixAll"]));
    assert_eq!(actions.len(), 1);
    let new = carried_out(RUFFLED, &actions[0], 7);
    let wanted = "let idle = 3 V\nbattery B1 = 12 V\nlamp L1 = 6 ohm\nlamp L2 = 6 ohm\nB1+ -- L1 -- L2 -- B1-\n";
    assert_eq!(new, wanted);
    session.change(URI, 8, None, &new);
    let after = session.shown(URI);
    let errors = |found: &[Value]| found.iter().filter(|one| one["severity"] == 1).count();
    assert!(errors(&before) > 0 && errors(&after) == 0, "{after:#?}");
    // What errors kept from being said is mended now.
    let actions = offered(&mut session, &whole, Some(&["source.fixAll"]));
    let new = carried_out(&new, &actions[0], 8);
    assert_eq!(new, wanted.replacen("let idle = 3 V\n", "", 1));
    session.change(URI, 9, None, &new);
    // Nothing left to do is no action.
    assert_eq!(offered(&mut session, &whole, Some(&["source.fixAll"])), [] as [Value; 0]);
}

/// Quick fixes say which diagnostic they are for, and the likeliest of the safe ones is preferred.
#[test]
fn quick_fixes_belong_to_a_diagnostic() {
    let mut session = Session::start(able());
    session.open(URI, 2, RUFFLED);
    let shown = session.shown(URI);
    let at = json!({ "start": { "line": 1, "character": 17 }, "end": { "line": 1, "character": 17 } });
    let actions = offered(&mut session, &at, Some(&["quickfix"]));
    let fix = titled(&actions, "Remove the comma");
    assert_eq!((&fix["isPreferred"], &fix["kind"]), (&json!(true), &json!("quickfix")));
    assert!(shown.contains(&fix["diagnostics"][0]), "{fix}");
    assert_eq!(carried_out(RUFFLED, fix, 2), RUFFLED.replacen("12 V,", "12 V", 1));
    // Elsewhere it is not offered.
    let elsewhere = json!({ "start": { "line": 2, "character": 0 }, "end": { "line": 2, "character": 3 } });
    let actions = offered(&mut session, &elsewhere, Some(&["quickfix"]));
    assert!(actions.iter().all(|action| action["title"] != "Remove the comma"), "{actions:?}");
}

/// What would be read well in its line and makes an error elsewhere is not offered: R2 stands in a path further down.
#[test]
fn a_guess_that_the_text_speaks_against_is_not_offered() {
    let mut session = Session::start(able());
    let fixes = |session: &mut Session, text: &str| -> Vec<String> {
        let (text, range) = marked(text);
        session.open(URI, 1, &text);
        let actions = offered(session, &range, Some(&["quickfix"]));
        session.close(URI);
        actions.iter().map(|action| action["title"].as_str().expect("a title").to_owned()).collect()
    };
    let free = "battery B1 = 9 V\nlamp R2 = 9 ohm\nB1+ -- <|>R3 -- B1-\n";
    assert!(fixes(&mut session, free).contains(&"Write `R2`".to_owned()));
    let taken = "battery B1 = 9 V\nlamp R2 = 9 ohm\nB1+ -- <|>R3 -- B1-\nB1+ -- R2 -- B1-\n";
    assert_eq!(fixes(&mut session, taken), [] as [&str; 0]);
}

fn patient() -> Value {
    let mut client = able();
    client["textDocument"]["codeAction"]["dataSupport"] = json!(true);
    client["textDocument"]["codeAction"]["resolveSupport"] = json!({ "properties": ["edit"] });
    client
}

#[test]
fn an_edit_is_made_once_the_action_is_chosen() {
    let text = QUAY.replacen("R2 -- R3", "R2 -<|>- R3", 1);
    let (plain, range) = marked(&text);
    let (mut at_once, mut later) = (Session::start(able()), Session::start(patient()));
    assert_eq!(at_once.capabilities["codeActionProvider"]["resolveProvider"], false);
    assert_eq!(later.capabilities["codeActionProvider"]["resolveProvider"], true);
    for session in [&mut at_once, &mut later] {
        session.open(URI, 3, &plain);
    }
    let wanted = offered(&mut at_once, &range, Some(&["refactor"]));
    let actions = offered(&mut later, &range, Some(&["refactor"]));
    assert!(actions.len() > 2 && actions.len() == wanted.len());
    for (action, wanted) in actions.iter().zip(&wanted) {
        assert_eq!((&action["edit"], &action["title"]), (&Value::Null, &wanted["title"]));
        let resolved = later.request("codeAction/resolve", action.clone()).expect("resolved");
        assert_eq!(resolved["edit"], wanted["edit"], "{}", action["title"]);
    }
    // Of another version than the one it was offered for.
    later.change(URI, 4, Some([0, 0, 0, 0]), "# on\n");
    let refused = later.request("codeAction/resolve", actions[0].clone()).expect_err("out of date");
    assert_eq!(refused["code"], -32801);
    // What is none of ours, and what is closed.
    let strange = json!({ "title": "x", "kind": "refactor", "data": { "uri": URI } });
    assert_eq!(later.request("codeAction/resolve", strange).expect_err("refused")["code"], -32602);
    later.close(URI);
    assert_eq!(later.request("codeAction/resolve", actions[0].clone()).expect_err("closed")["code"], -32602);
    // Quick fixes are short, and come with their edits; all safe fixes of a document come when they are chosen.
    later.open(URI, 1, RUFFLED);
    let whole = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 9, "character": 0 } });
    let fixes = offered(&mut later, &whole, Some(&["quickfix"]));
    assert!(!fixes.is_empty() && fixes.iter().all(|fix| fix["edit"].is_object()));
    let all = offered(&mut later, &whole, Some(&["source.fixAll.ohmline"]));
    assert_eq!(all[0]["edit"], Value::Null);
    let resolved = later.request("codeAction/resolve", all[0].clone()).expect("resolved");
    assert!(carried_out(RUFFLED, &resolved, 1).contains("L1 -- L2 -- B1-"));
}

/// The columns of edits behind wide characters, in every encoding: the same text comes of them.
#[test]
fn edits_are_counted_as_the_editor_counts() {
    let text = "battery B1 = 12 V\nresistor É1 = 4 Ω\r\nresistor R2 = 8 ohm # µ🌙\nB1+ -- ( É1 | R2 ) -- L1 -- B1-\nlamp L1 = 6 ohm\n";
    let line = "B1+ -- ( É1 ";
    for (encoding, column) in
        [("utf-8", line.len()), ("utf-16", line.encode_utf16().count()), ("utf-32", line.chars().count())]
    {
        let mut client = able();
        client["general"]["positionEncodings"] = json!([encoding]);
        let mut session = Session::start(client);
        session.open(URI, 1, text);
        let at = json!({ "line": 3, "character": column });
        let actions = offered(&mut session, &json!({ "start": at, "end": at }), Some(&["refactor.rewrite"]));
        let action = titled(&actions, "Write this group as paths from @p1 to @p2");
        let edits = action["edit"]["documentChanges"][0]["edits"].as_array().expect("edits").clone();
        let group =
            edits.iter().find(|edit| edit["newText"].as_str().is_some_and(|new| new.contains("É1"))).expect("it");
        let wide = |text: &str| match encoding {
            "utf-8" => text.len(),
            "utf-16" => text.encode_utf16().count(),
            _ => text.chars().count(),
        };
        assert_eq!(group["range"]["start"], json!({ "line": 3, "character": wide("B1+ -- ") }), "{encoding}");
        assert_eq!(group["range"]["end"], json!({ "line": 3, "character": wide("B1+ -- ( É1 | R2 )") }), "{encoding}");
    }
}
