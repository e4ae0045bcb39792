//! Completion while somebody types faster than the text is analysed.

mod lsp_client;

use lsp_client::{Session, able, slow, to_range};
use serde_json::{Value, json};

const URI: &str = "file:///harbour/quay.ohmline";

/// A harbor of so many lamps, long to analyse, and an empty last line.
fn harbor(lamps: usize) -> String {
    let mut text = String::from("battery B1 = 9 V\n");
    for n in 0..lamps {
        text.push_str(&format!("lamp L{n} = {} ohm\nB1+ -- L{n} -- B1-\n", n + 1));
    }
    text
}

fn ask(session: &mut Session, line: usize, character: u64) -> i64 {
    let position = json!({ "line": line, "character": character });
    session.ask("textDocument/completion", json!({ "textDocument": { "uri": URI }, "position": position }))
}

fn item(found: &Value, label: &str) -> Value {
    // Long lists say that they are not all there is.
    let items = found.as_array().or_else(|| found["items"].as_array()).expect("a list");
    items.iter().find(|item| item["label"] == label).unwrap_or_else(|| panic!("{label} is not offered")).clone()
}

/// Asked at the first letter, as editors do, with the rest of the word on its heels.
#[test]
fn a_word_that_is_typed_fast_is_completed() {
    let text = harbor(1000);
    let line = text.lines().count();
    let mut session = Session::start(able());
    session.open(URI, 1, &text);
    let at = |column: u32| Some([line as u32, column, line as u32, column]);
    session.change(URI, 2, at(0), "r");
    let first = ask(&mut session, line, 1);
    for (number, letter) in ["e", "s", "i"].iter().enumerate() {
        session.change(URI, 3 + number as i64, at(1 + number as u32), letter);
    }
    let found = session.answer(first).expect("no error, though the text is another by now");
    let edit = &item(&found, "resistor")["textEdit"];
    // What is replaced ends where it was asked: the editor adds what has been typed since.
    assert_eq!(edit["range"], to_range([line as u32, 0, line as u32, 1]));
    // Asked anew, all of the word is replaced.
    let again = ask(&mut session, line, 4);
    let found = session.answer(again).expect("items");
    assert_eq!(item(&found, "resistor")["textEdit"]["range"], to_range([line as u32, 0, line as u32, 4]));
}

/// A blank is asked about by itself, and answered where a name must follow.
#[test]
fn a_blank_calls_for_a_list_only_where_a_name_must_follow() {
    let text = "battery B1 = 9 V\nlamp L1 = 3 ohm\nB1+ -- \nfind current through L1 \n";
    let mut session = Session::start(able());
    session.open(URI, 1, text);
    let mut at = |line: u64, character: u64| {
        let place = json!({ "textDocument": { "uri": URI }, "position": { "line": line, "character": character },
            "context": { "triggerKind": 2, "triggerCharacter": " " } });
        session.request("textDocument/completion", place).expect("answered")
    };
    item(&at(2, 7), "L1");
    assert_eq!(at(3, 24), Value::Null);
    assert_eq!(at(0, 8), Value::Null);
}

/// Where the text before the place changed, nothing that was found would fit.
#[test]
fn a_place_that_has_moved_is_asked_about_again() {
    // So long that its analysis outlasts the few messages of this test whatever the machine has to do: nothing waits for its end.
    let text = slow(2000);
    let line = text.lines().count();
    let mut session = Session::start(able());
    session.open(URI, 1, &text);
    session.change(URI, 2, Some([line as u32, 0, line as u32, 0]), "r");
    let first = ask(&mut session, line, 1);
    session.change(URI, 3, Some([line as u32, 0, line as u32, 1]), "x");
    let refused = session.answer(first).expect_err("the text before the place is another");
    // ContentModified (Language Server Protocol 3.17, ErrorCodes).
    assert_eq!(refused["code"], -32801);
}

/// An editor that gives up is not kept waiting.
#[test]
fn a_question_that_is_taken_back_ends() {
    let text = slow(2000);
    let line = text.lines().count();
    let mut session = Session::start(able());
    session.open(URI, 1, &text);
    session.change(URI, 2, Some([line as u32, 0, line as u32, 0]), "r");
    let first = ask(&mut session, line, 1);
    session.notify("$/cancelRequest", json!({ "id": first }));
    // RequestCancelled (Language Server Protocol 3.17, ErrorCodes).
    assert_eq!(session.answer(first).expect_err("nobody waits for it")["code"], -32800);
}
