//! Whole sessions about what an editor asks for while somebody types: forms, colors, lenses, commands, diagnostics on request,
//! and circuits in Markdown.

mod lsp_client;

use std::io::{Read, Write};
use std::time::Duration;

use lsp_client::{Session, able};
use serde_json::{Value, json};

const URI: &str = "file:///harbour/quay.ohmline";
const NOTES: &str = "file:///harbour/notes.md";

/// By hand: 9 ohm + (10 ohm beside 15 ohm = 6 ohm) = 15 ohm at 4.5 V: 300 mA, 1.35 W; 15/25 of it through R2.
const PIER: &str = "circuit \"Pier 🚢\"\nbattery B1 = 4.5 V\nresistor R1 = 9 Ω\nresistor R2 = 10 ohm\nresistor R3 = 15 ohm\nswitch S1 = closed\n\
    B1+ -- S1 -- R1 -- ( R2 | R3 ) -- B1-\nfind current through R1, R2\ncase \"night\": S1 = open\n";

fn document(uri: &str) -> Value {
    json!({ "textDocument": { "uri": uri } })
}

/// The text with `<|>` taken out, and where it was, its column counted as an encoding counts.
fn cursor(text: &str, encoding: &str) -> (String, Value) {
    let at = text.find("<|>").expect("a cursor");
    let before = &text[..at];
    let line = before.rsplit('\n').next().unwrap_or("");
    let character = match encoding {
        "utf-8" => line.len(),
        "utf-16" => line.encode_utf16().count(),
        _ => line.chars().count(),
    };
    let position = json!({ "line": before.matches('\n').count(), "character": character });
    (text.replacen("<|>", "", 1), position)
}

fn speaking(encoding: &str) -> Session {
    let mut client = able();
    client["general"]["positionEncodings"] = json!([encoding]);
    Session::start(client)
}

const ENCODINGS: [&str; 3] = ["utf-8", "utf-16", "utf-32"];

#[test]
fn the_form_of_a_declaration_in_every_encoding() {
    for encoding in ENCODINGS {
        let mut session = speaking(encoding);
        let (text, at) =
            cursor("# 🌙 e\u{301}\r\nbattery\tÉ🌙 = 4 V\r\nbattery \u{c9}1 = 4.5 V, limit<|> 2 A # µΩ\r\n", encoding);
        session.open(URI, 1, &text);
        let asked = json!({ "textDocument": { "uri": URI }, "position": at });
        let found = session.request("textDocument/signatureHelp", asked).expect("a form");
        assert_eq!(found["activeParameter"], 4, "{encoding}: {found}");
        let form = found["signatures"][0]["label"].as_str().expect("a form").to_owned();
        assert_eq!(found["signatures"][0]["parameters"][4]["label"], "limit CURRENT A");
        assert!(form.starts_with("battery NAME"), "{form}");
        let outside = json!({ "textDocument": { "uri": URI }, "position": { "line": 0, "character": 1 } });
        assert_eq!(session.request("textDocument/signatureHelp", outside).expect("an answer"), Value::Null);
    }
}

/// The stretches that tokens color, with the names of their types.
fn colored(text: &str, encoding: &str, legend: &Value, data: &Value) -> Vec<String> {
    let lines: Vec<&str> = text.split('\n').collect();
    let (mut line, mut column) = (0, 0);
    let numbers: Vec<usize> =
        data.as_array().expect("numbers").iter().map(|n| n.as_u64().expect("a number") as usize).collect();
    let units = |c: char| match encoding {
        "utf-8" => c.len_utf8(),
        "utf-16" => c.len_utf16(),
        _ => 1,
    };
    numbers
        .chunks(5)
        .map(|token| {
            column = if token[0] == 0 { column + token[1] } else { token[1] };
            line += token[0];
            let (mut at, mut word) = (0, String::new());
            for c in lines[line].chars() {
                if at >= column && at < column + token[2] {
                    word.push(c);
                }
                at += units(c);
            }
            format!("{word}:{}", legend["tokenTypes"][token[3]].as_str().expect("a type"))
        })
        .collect()
}

#[test]
fn colors_in_every_encoding_whole_in_part_and_as_a_difference() {
    for encoding in ENCODINGS {
        let mut session = speaking(encoding);
        let legend = session.capabilities["semanticTokensProvider"]["legend"].clone();
        session.open(URI, 1, PIER);
        let full = session.request("textDocument/semanticTokens/full", document(URI)).expect("tokens");
        let words = colored(PIER, encoding, &legend, &full["data"]);
        assert_eq!(words[..4], ["circuit:keyword", "\"Pier 🚢\":string", "battery:type", "B1:variable"], "{encoding}");
        assert!(words.contains(&"Ω:number".to_owned()), "{encoding}: {words:?}");
        let range = json!({ "start": { "line": 2, "character": 0 }, "end": { "line": 2, "character": 999 } });
        let asked = json!({ "textDocument": { "uri": URI }, "range": range });
        let part = session.request("textDocument/semanticTokens/range", asked).expect("tokens");
        assert_eq!(
            colored(PIER, encoding, &legend, &part["data"]),
            ["resistor:type", "R1:variable", "=:operator", "9:number", "Ω:number"]
        );
        // A comment more, and the difference leads from the old list to the new.
        session.change(URI, 2, Some([1, 0, 1, 0]), "# 🌙\n");
        let asked = json!({ "textDocument": { "uri": URI }, "previousResultId": full["resultId"] });
        let delta = session.request("textDocument/semanticTokens/full/delta", asked.clone()).expect("a difference");
        let edits = delta["edits"].as_array().expect("edits");
        assert_eq!(edits.len(), 1);
        let mut data = full["data"].as_array().expect("numbers").clone();
        let start = edits[0]["start"].as_u64().expect("a number") as usize;
        let removed = edits[0]["deleteCount"].as_u64().expect("a number") as usize;
        assert!(removed < 20, "little of the list is sent");
        data.splice(start..start + removed, edits[0]["data"].as_array().cloned().unwrap_or_default());
        let full = session.request("textDocument/semanticTokens/full", document(URI)).expect("tokens");
        assert_eq!(json!(data), full["data"]);
        // A number that is not known any more is answered with everything.
        let all = session.request("textDocument/semanticTokens/full/delta", asked).expect("tokens");
        assert_eq!(all["data"], full["data"]);
    }
}

fn titles(lenses: &Value) -> Vec<String> {
    let of = |lens: &Value| {
        format!("{} {}", lens["range"]["start"]["line"], lens["command"]["title"].as_str().unwrap_or("?"))
    };
    lenses.as_array().expect("lenses").iter().map(of).collect()
}

#[test]
fn lenses_follow_what_is_typed() {
    let mut session = Session::start(able());
    session.open(URI, 1, PIER);
    let found = session.request("textDocument/codeLens", document(URI)).expect("lenses");
    assert_eq!(titles(&found), ["0 B1 300 mA, 1.35 W", "0 Drawing", "0 Preview", "7 300 mA, 180 mA", "8 B1 0 A, 0 W"]);
    assert_eq!(found[0]["command"]["command"], "ohmline.openSolution");
    assert_eq!(found[4]["command"]["arguments"], json!([{ "uri": URI, "case": "night", "block": 0 }]));
    session.change(URI, 2, Some([1, 13, 1, 16]), "9");
    let found = session.request("textDocument/codeLens", document(URI)).expect("lenses");
    assert_eq!(titles(&found)[3], "7 600 mA, 360 mA");
}

/// What a page answers, as a browser would ask.
fn fetched(address: &str) -> String {
    let rest = address.strip_prefix("http://").expect("a page on this machine");
    let (host, path) = rest.split_once('/').expect("a path");
    let path = path.split('#').next().unwrap_or("");
    let mut stream = std::net::TcpStream::connect(host).expect("somebody listens");
    stream.set_read_timeout(Some(Duration::from_secs(20))).expect("a limit");
    write!(stream, "GET /{path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n").expect("it reads");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).expect("it answers");
    String::from_utf8_lossy(&answer).into_owned()
}

fn run(session: &mut Session, command: &str, argument: Value) -> Result<Value, Value> {
    session.request("workspace/executeCommand", json!({ "command": command, "arguments": [argument] }))
}

#[test]
fn commands_open_pages_of_the_unsaved_text() {
    let mut client = able();
    client["window"] = json!({ "showDocument": { "support": true } });
    let mut session = Session::start(client);
    session.open(URI, 1, PIER);
    let opened = run(&mut session, "ohmline.openPreview", json!(URI)).expect("a page");
    let address = opened["address"].as_str().expect("an address").to_owned();
    session.wait_asked("window/showDocument");
    let asked = session.asked.iter().find(|message| message["method"] == "window/showDocument").expect("asked");
    assert_eq!((asked["params"]["uri"].as_str(), asked["params"]["external"].as_bool()), (Some(&*address), Some(true)));
    let page = fetched(&address);
    assert!(page.contains("Pier 🚢") && page.contains("300 mA"), "{page}");
    // What is typed shows on the page that is open: the second answer comes from the new text.
    session.change(URI, 2, Some([1, 13, 1, 16]), "9");
    session.published(URI);
    let follows = (0..200).any(|_| {
        std::thread::sleep(Duration::from_millis(25));
        fetched(&address).contains("600 mA")
    });
    assert!(follows, "the page follows the text");
    // The same page, at other places of it.
    let case = json!({ "uri": URI, "case": "night" });
    let solution = run(&mut session, "ohmline.openSolution", case).expect("a page");
    assert_eq!(solution["address"], format!("{address}?case=night#solution"));
    assert!(fetched(&format!("{address}?case=night")).contains("in the case"));
    let drawing = run(&mut session, "ohmline.openDrawing", json!({ "uri": URI })).expect("a page");
    assert_eq!(drawing["address"], format!("{address}#whole"));
    assert!(fetched(&address).contains("id=\"whole\"") && fetched(&address).contains("id=\"solution\""));
    session.close(URI);
    session.open(NOTES, 1, "");
    session.published(NOTES);
}

#[test]
fn commands_refuse_with_the_reason() {
    let mut session = Session::start(able());
    session.open(URI, 1, PIER);
    let why = |answer: Result<Value, Value>| answer.expect_err("refused")["message"].as_str().unwrap_or("").to_owned();
    let none = json!({ "uri": URI, "case": "storm" });
    assert_eq!(why(run(&mut session, "ohmline.openSolution", none)), "There is no case \"storm\" in this circuit");
    assert_eq!(why(run(&mut session, "ohmline.sink", json!(URI))), "There is no command `ohmline.sink`");
    assert_eq!(why(run(&mut session, "ohmline.openDrawing", json!(7))), "The command needs the address of a document");
    let other = json!("file:///harbour/none.ohmline");
    assert_eq!(
        why(run(&mut session, "ohmline.openDrawing", other)),
        "This document is not open, or nothing is known about it"
    );
}

fn pulling() -> Value {
    let mut client = able();
    client["textDocument"]["diagnostic"] = json!({ "dynamicRegistration": false });
    client["workspace"]["diagnostics"] = json!({ "refreshSupport": true });
    client
}

#[test]
fn diagnostics_on_request() {
    let mut session = Session::start(pulling());
    assert_eq!(session.capabilities["diagnosticProvider"]["interFileDependencies"], true);
    session.open(URI, 1, "battery B1 = 4.5 ohm\n");
    let first = session.request("textDocument/diagnostic", document(URI)).expect("a report");
    assert_eq!(first["kind"], "full");
    assert!(!first["items"].as_array().expect("items").is_empty());
    let asked = json!({ "textDocument": { "uri": URI }, "previousResultId": first["resultId"] });
    let again = session.request("textDocument/diagnostic", asked.clone()).expect("a report");
    assert_eq!(again, json!({ "kind": "unchanged", "resultId": first["resultId"] }));
    // A blank line below changes nothing, a repair does.
    session.change(URI, 2, Some([1, 0, 1, 0]), "\n");
    assert_eq!(session.request("textDocument/diagnostic", asked.clone()).expect("a report")["kind"], "unchanged");
    session.change(URI, 3, Some([0, 17, 0, 20]), "V");
    let repaired = session.request("textDocument/diagnostic", asked).expect("a report");
    assert_eq!(repaired["kind"], "full");
    let items = repaired["items"].as_array().expect("items");
    assert!(items.iter().all(|one| one["severity"] != 1), "{items:?}");
    // What was sent before the editor asked is taken back, and nothing is sent any more.
    session.change(URI, 4, Some([0, 17, 0, 18]), "ohm");
    let sent = session.published(URI);
    assert!(sent.last().is_none_or(|last| last["diagnostics"] == json!([])), "{sent:?}");
}

#[test]
fn an_editor_that_does_not_ask_is_told() {
    let mut session = Session::start(able());
    assert_eq!(session.capabilities["diagnosticProvider"], Value::Null);
    session.open(URI, 1, "battery B1 = 4.5 ohm\n");
    assert!(!session.shown(URI).is_empty());
}

/// Requests that are overtaken by a change are answered as such: the whole text is sent again and again, so that some are.
#[test]
fn what_is_out_of_date_says_so() {
    let mut session = Session::start(pulling());
    let large: String = (0..3000).map(|n| format!("resistor R{n} = {} ohm\n", n + 1)).collect();
    session.open(URI, 1, &large);
    let mut asked = Vec::new();
    for version in 2..12 {
        asked.push((true, session.ask("textDocument/codeLens", document(URI))));
        asked.push((false, session.ask("textDocument/diagnostic", document(URI))));
        session.change(URI, version, Some([0, 0, 0, 0]), "# on\n");
    }
    let mut overtaken = 0;
    for (lens, id) in asked {
        if let Err(error) = session.answer(id) {
            overtaken += 1;
            if lens {
                assert_eq!(error["code"], -32801);
            } else {
                assert_eq!((&error["code"], &error["data"]["retriggerRequest"]), (&json!(-32802), &json!(true)));
            }
        }
    }
    assert!(overtaken > 0);
}

const KIT_MD: &str = "# Grüße 🚢\n\nA pier lamp:\n\n```ohmline\nbattery B1 = 4.5 V\nlamp L1 = 9 Ω # 🌙\nB1+ -- L1 -- B1-\nfind current through L1\n```\n\n\
    > And a wrong one:\n>\n> ~~~ ohmline\n> battery B1 = 6 ohm\n> ~~~\n\n```text\nbattery B9 = 6 ohm\n```\n";

#[test]
fn circuits_in_markdown() {
    for encoding in ENCODINGS {
        let mut session = speaking(encoding);
        let text = json!({ "uri": NOTES, "languageId": "markdown", "version": 1, "text": KIT_MD });
        session.notify("textDocument/didOpen", json!({ "textDocument": text }));
        let shown = session.shown(NOTES);
        // Both blocks call their battery B1: each is a file of its own. Only the wrong unit is an error, at its place.
        let errors: Vec<&Value> = shown.iter().filter(|one| one["severity"] == 1).collect();
        assert_eq!(errors.len(), 1, "{errors:?}");
        assert_eq!(errors[0]["range"]["start"]["line"], 14);
        let column = errors[0]["range"]["start"]["character"].as_u64().expect("a column");
        assert!((15..=17).contains(&column), "{column}");
        let hover = session.hover(NOTES, 6, 6);
        assert!(hover.contains("L1") && hover.contains("500 mA"), "{encoding}: {hover}");
        assert_eq!(session.hover(NOTES, 0, 3), "");
        assert_eq!(session.hover(NOTES, 18, 9), "");
        let (text, at) = cursor(&KIT_MD.replacen("find current through L1", "find current through <|>L1", 1), encoding);
        assert_eq!(text, KIT_MD);
        let asked = json!({ "textDocument": { "uri": NOTES }, "position": at });
        let found = session.request("textDocument/definition", asked.clone()).expect("a place");
        assert_eq!(found["range"]["start"], json!({ "line": 6, "character": 5 }));
        let mut renaming = asked;
        renaming["newName"] = json!("Beacon");
        let edit = session.request("textDocument/rename", renaming).expect("edits");
        assert_eq!(edit["documentChanges"][0]["edits"].as_array().map(Vec::len), Some(3));
        let hints = session.hints(NOTES, [0, 0, 99, 0]);
        assert!(hints.iter().any(|hint| hint.starts_with("6:") && hint.contains("500 mA")), "{hints:?}");
        let lenses = session.request("textDocument/codeLens", document(NOTES)).expect("lenses");
        assert_eq!(titles(&lenses), ["8 500 mA"]);
        let tokens = session.request("textDocument/semanticTokens/full", document(NOTES)).expect("tokens");
        let legend = session.capabilities["semanticTokensProvider"]["legend"].clone();
        let words = colored(KIT_MD, encoding, &legend, &tokens["data"]);
        assert_eq!(words[0], "battery:type");
        assert!(words.contains(&"# 🌙:comment".to_owned()), "{words:?}");
        // Only what stands between the fences is ours to format.
        let options = json!({ "textDocument": { "uri": NOTES }, "options": { "tabSize": 2, "insertSpaces": true } });
        let edits = session.request("textDocument/formatting", options).expect("edits");
        let lines: Vec<_> =
            edits.as_array().expect("a list").iter().map(|edit| &edit["range"]["start"]["line"]).collect();
        assert_eq!(lines, [6]);
        // What is typed in the prose moves what is below.
        session.change(NOTES, 2, Some([2, 0, 2, 0]), "🌙\n\n");
        let shown = session.shown(NOTES);
        assert!(shown.iter().any(|one| one["severity"] == 1 && one["range"]["start"]["line"] == 16));
    }
}

#[test]
fn long_work_is_told_of_and_short_work_is_not() {
    let mut client = able();
    client["window"] = json!({ "workDoneProgress": true });
    let mut session = Session::start(client);
    session.open(URI, 1, PIER);
    session.published(URI);
    assert!(session.asked.iter().all(|message| message["method"] != "window/workDoneProgress/create"));
    // Unoptimized, this takes seconds; should a machine be so fast that it does not, it takes a larger ladder.
    let mut rungs = 4_000;
    let begun = loop {
        let mut text = String::from("battery B1 = 9 V\nB1- -- @b0\nB1+ -- @a0\n");
        for n in 0..rungs {
            text.push_str(&format!(
                "resistor R{n}, Q{n} = {} ohm\n@a{n} -- R{n} -- @a{}\n@a{n} -- Q{n} -- @b0\n",
                n + 1,
                n + 1
            ));
        }
        session.open("file:///harbour/ladder.ohmline", 1, &text);
        session.published("file:///harbour/ladder.ohmline");
        let create = session.asked.iter().find(|message| message["method"] == "window/workDoneProgress/create");
        if let Some(create) = create {
            break create["params"]["token"].clone();
        }
        session.close("file:///harbour/ladder.ohmline");
        rungs *= 4;
        assert!(rungs < 1_000_000);
    };
    let kind = |kind: &'static str, token: Value| {
        move |message: &Value| {
            message["method"] == "$/progress"
                && message["params"]["token"] == token
                && message["params"]["value"]["kind"] == kind
        }
    };
    let begin = session.wait(kind("begin", begun.clone()));
    assert_eq!(begin["params"]["value"]["title"], "Solving ladder.ohmline");
    session.wait(kind("end", begun));
}

/// Ten thousand elements: once analyzed, everything is answered from what is known. The limits are far above what an optimized
/// build takes, since tests run unoptimized and side by side.
#[test]
fn a_large_text_is_answered_from_what_is_known() {
    let mut session = Session::start(able());
    let mut text = String::from("circuit \"Long quay\"\nbattery B1 = 9 V\nB1- -- @b\nB1+ -- @a0\n");
    for n in 0..5_000 {
        text.push_str(&format!(
            "resistor R{n}, Q{n} = {} ohm\n@a{n} -- R{n} -- @a{}\n@a{n} -- Q{n} -- @b\n",
            n + 1,
            n + 1
        ));
    }
    session.open(URI, 1, &text);
    session.published(URI);
    let place = json!({ "textDocument": { "uri": URI }, "position": { "line": 7_000, "character": 10 } });
    let range = json!({ "start": { "line": 7_000, "character": 0 }, "end": { "line": 7_050, "character": 0 } });
    let ranged = json!({ "textDocument": { "uri": URI }, "range": range });
    // The first of them makes the index.
    session.request("textDocument/definition", place.clone()).expect("a place");
    let mut rename = place.clone();
    rename["context"] = json!({ "includeDeclaration": true });
    for (method, params) in [
        ("textDocument/definition", place.clone()),
        ("textDocument/references", rename),
        ("textDocument/documentHighlight", place.clone()),
        ("textDocument/signatureHelp", place.clone()),
        ("textDocument/prepareRename", place),
        ("textDocument/semanticTokens/range", ranged),
        ("textDocument/codeLens", document(URI)),
    ] {
        let begun = std::time::Instant::now();
        let _ = session.request(method, params);
        let took = begun.elapsed();
        assert!(took < Duration::from_secs(2), "{method}: {took:?}");
    }
}
