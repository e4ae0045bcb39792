//! Whole sessions about writing: formatting, completion, and what code actions rewrite.

mod lsp_client;

use lsp_client::{Session, able, apply};
use serde_json::{Value, json};

const URI: &str = "file:///harbour/quay.ohmline";

const RUFFLED: &str = "## \u{1f6a2} the quay\nbattery B1=12V\nlamp L1 =6\u{3a9} # \u{b5}\nB1+ -- L1 --  B1-\n";
const TIDY: &str = "## \u{1f6a2} the quay\nbattery B1 = 12 V\nlamp    L1 = 6 ohm  # \u{b5}\nB1+ -- L1 -- B1-\n";

#[test]
fn formatting_uses_the_text_of_this_moment() {
    let mut session = Session::start(able());
    let options = json!({ "tabSize": 4, "insertSpaces": false });
    session.open(URI, 1, "lamp L1 = 6 ohm\n");
    session.change(URI, 2, None, RUFFLED);
    let asked = json!({ "textDocument": { "uri": URI }, "options": options });
    let edits = session.request("textDocument/formatting", asked.clone()).expect("edits");
    assert_eq!(apply(RUFFLED, &edits), TIDY);
    // No edit spans lines, so that no editor can join any.
    for edit in edits.as_array().expect("edits") {
        assert_eq!(edit["range"]["start"]["line"], edit["range"]["end"]["line"]);
    }
    session.change(URI, 3, None, TIDY);
    assert_eq!(session.request("textDocument/formatting", asked).expect("edits"), json!([]));
    let range = json!({ "start": { "line": 3, "character": 0 }, "end": { "line": 4, "character": 0 } });
    session.change(URI, 4, None, RUFFLED);
    let asked = json!({ "textDocument": { "uri": URI }, "range": range, "options": options });
    let edits = session.request("textDocument/rangeFormatting", asked).expect("edits");
    assert_eq!(apply(RUFFLED, &edits), RUFFLED.replace("L1 --  B1", "L1 -- B1"));
    let typed = "part lantern(in, out)\n";
    session.change(URI, 5, None, typed);
    let asked = json!({ "textDocument": { "uri": URI }, "position": { "line": 1, "character": 0 }, "ch": "\n", "options": options });
    let edits = session.request("textDocument/onTypeFormatting", asked).expect("edits");
    assert_eq!(apply(typed, &edits), "part lantern(in, out)\n  ");
    let absent = json!({ "textDocument": { "uri": "file:///nowhere.ohmline" }, "options": options });
    assert_eq!(session.request("textDocument/formatting", absent).expect("nothing"), Value::Null);
}

#[test]
fn completion_replaces_the_word_being_typed() {
    for snippets in [false, true] {
        let mut client = able();
        client["textDocument"]["completion"] = json!({ "completionItem": { "snippetSupport": snippets } });
        let mut session = Session::start(client);
        let text = "battery B1 = 12 V\nlamp Nebelhorn\u{e9} = 6 ohm\n## \u{1f6a2}\nB1+ -- Neb\nres\n";
        session.open(URI, 1, text);
        let ask = |session: &mut Session, line: u32, character: u32| {
            let asked = json!({ "textDocument": { "uri": URI }, "position": { "line": line, "character": character } });
            session.request("textDocument/completion", asked).expect("items")
        };
        let items = ask(&mut session, 3, 10);
        let item =
            items.as_array().expect("items").iter().find(|item| item["label"] == "Nebelhorn\u{e9}").expect("the lamp");
        assert_eq!(apply(text, &json!([item["textEdit"]])), text.replace("-- Neb\n", "-- Nebelhorn\u{e9}\n"));
        assert_eq!(item["detail"], "lamp 6 ohm");
        let items = ask(&mut session, 4, 3);
        let item = items.as_array().expect("items").iter().find(|item| item["label"] == "resistor").expect("the kind");
        let written = item["textEdit"]["newText"].as_str().expect("text");
        if snippets {
            assert_eq!((written, &item["insertTextFormat"]), ("resistor ${1:R1} = ${2:100 ohm}", &json!(2)));
        } else {
            assert_eq!((written, &item["insertTextFormat"]), ("resistor ", &json!(1)));
        }
        assert!(item["documentation"]["value"].as_str().is_some_and(|doc| doc.contains("OHMS")));
    }
}
