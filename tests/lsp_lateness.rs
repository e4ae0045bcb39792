//! Whole sessions about work that takes its time: what is out of date says so, what is not wanted any more ends, what is slow is told of,
//! and what can be answered without waiting is.

mod lsp_client;

use std::time::Instant;

use lsp_client::{Session, able, slow};
use serde_json::{Value, json};

const URI: &str = "file:///harbour/quay.ohmline";
const PIER: &str = "battery B1 = 6 V\nlamp L1 = 12 ohm\nB1+ -- L1 -- B1-\n";

/// Language Server Protocol 3.17, ErrorCodes.
const CONTENT_MODIFIED: i64 = -32801;
const REQUEST_CANCELLED: i64 = -32800;

/// What waits for the analysis of a document.
fn waiting() -> Vec<(&'static str, Value)> {
    let document = json!({ "textDocument": { "uri": URI } });
    let place = json!({ "textDocument": { "uri": URI }, "position": { "line": 0, "character": 9 } });
    let range = json!({ "textDocument": { "uri": URI },
        "range": { "start": { "line": 0, "character": 0 }, "end": { "line": 3, "character": 0 } } });
    let with = |params: &Value, name: &str, value: Value| {
        let mut params = params.clone();
        params[name] = value;
        params
    };
    vec![
        ("textDocument/hover", place.clone()),
        ("textDocument/completion", place.clone()),
        ("textDocument/definition", place.clone()),
        ("textDocument/references", with(&place, "context", json!({ "includeDeclaration": true }))),
        ("textDocument/documentHighlight", place.clone()),
        ("textDocument/prepareRename", place.clone()),
        ("textDocument/rename", with(&place, "newName", json!("B7"))),
        ("textDocument/signatureHelp", place.clone()),
        ("textDocument/inlayHint", range.clone()),
        ("textDocument/semanticTokens/range", range.clone()),
        ("textDocument/codeAction", with(&range, "context", json!({ "diagnostics": [] }))),
        ("textDocument/semanticTokens/full", document.clone()),
        ("textDocument/semanticTokens/full/delta", with(&document, "previousResultId", json!("1"))),
        ("textDocument/documentSymbol", document.clone()),
        ("textDocument/foldingRange", document.clone()),
        ("textDocument/selectionRange", with(&document, "positions", json!([{ "line": 0, "character": 9 }]))),
        ("textDocument/documentLink", document.clone()),
        ("textDocument/codeLens", document),
        ("workspace/executeCommand", json!({ "command": "ohmline.openDrawing", "arguments": [URI] })),
    ]
}

/// The analysis of the first text would take minutes, so each request is overtaken by the change for certain.
#[test]
fn what_is_overtaken_says_so_whatever_it_is() {
    let mut session = Session::start(able());
    // What stands before the place is changed too: for completion, what is typed behind it is no reason to give up.
    session.open(URI, 1, &slow(2000).replacen("battery B1", "lamp B1, B2", 1));
    let asked: Vec<_> = waiting().into_iter().map(|(method, params)| (method, session.ask(method, params))).collect();
    session.change(URI, 2, None, PIER);
    for (method, id) in asked {
        let error = session.answer(id).expect_err(method);
        assert_eq!(error["code"], CONTENT_MODIFIED, "{method}: {error}");
    }
    // Asked again, as editors do, all of them are answered.
    for (method, params) in waiting() {
        session.request(method, params).unwrap_or_else(|error| panic!("{method}: {error}"));
    }
    // What is closed is as good as changed.
    session.change(URI, 3, None, &slow(2000));
    let id = session.ask("textDocument/codeLens", json!({ "textDocument": { "uri": URI } }));
    session.close(URI);
    assert_eq!(session.answer(id).expect_err("closed")["code"], CONTENT_MODIFIED);
}

#[test]
fn what_is_cancelled_ends_at_once_and_nothing_else_does() {
    let mut session = Session::start(able());
    session.open(URI, 1, &slow(2000));
    let asked: Vec<_> = waiting().into_iter().map(|(method, params)| (method, session.ask(method, params))).collect();
    let (kept, cancelled) = asked.split_first().expect("many");
    for (_, id) in cancelled {
        session.notify("$/cancelRequest", json!({ "id": id }));
    }
    for (method, id) in cancelled {
        let error = session.answer(*id).expect_err(method);
        assert_eq!(error["code"], REQUEST_CANCELLED, "{method}: {error}");
    }
    // The one that was not cancelled still waits for its answer, and gets it from the text that it is about.
    session.change(URI, 2, None, PIER);
    assert_eq!(session.answer(kept.1).expect_err("overtaken")["code"], CONTENT_MODIFIED);
    assert!(session.hover(URI, 0, 8).contains("battery"));
    // What is answered already cannot be cancelled: that is no error.
    session.notify("$/cancelRequest", json!({ "id": kept.1 }));
    assert!(session.hover(URI, 1, 5).contains("lamp"));
}

/// Formatting goes by the text alone.
#[test]
fn formatting_waits_for_no_analysis() {
    let mut session = Session::start(able());
    let text = slow(2000).replacen("battery B1 = 6 V", "battery B1=6 V", 1);
    session.open(URI, 1, &text);
    let asked = json!({ "textDocument": { "uri": URI }, "options": { "tabSize": 2, "insertSpaces": true } });
    let edits = session.request("textDocument/formatting", asked).expect("edits");
    let first = &edits[0];
    assert_eq!((&first["range"]["start"]["line"], &first["newText"]), (&json!(0), &json!(" = ")), "{first}");
}

/// Work that was begun and told of is told to be over when a change ends it.
#[test]
fn progress_ends_with_the_work() {
    let mut client = able();
    client["window"] = json!({ "workDoneProgress": true });
    let mut session = Session::start(client);
    session.open(URI, 1, &slow(2000));
    let of = |kind: &'static str| {
        move |message: &Value| message["method"] == "$/progress" && message["params"]["value"]["kind"] == kind
    };
    let begin = session.wait(of("begin"));
    assert_eq!(begin["params"]["value"]["title"], "Solving quay.ohmline");
    session.change(URI, 2, None, PIER);
    let changed = Instant::now();
    let end = session.wait(of("end"));
    assert_eq!(end["params"]["token"], begin["params"]["token"]);
    // The whole of the work would have taken minutes in this build.
    assert!(changed.elapsed().as_secs() < 30);
    // An editor that shows no progress is not told of any.
    let mut silent = Session::start(able());
    silent.open(URI, 1, &slow(60));
    silent.published(URI);
    assert!(silent.asked.iter().all(|message| message["method"] != "window/workDoneProgress/create"));
}
