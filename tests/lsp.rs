//! Whole sessions of the language server, as an editor holds them.

mod lsp_client;

use std::time::Duration;

use lsp_client::{Session, able, slow, to_range};
use serde_json::{Value, json};

const URI: &str = "file:///harbour/pier.ohmline";
const OTHER: &str = "file:///harbour/other.ohmline";

/// By hand: R2 beside R3 is 10 ohm * 15 ohm / 25 ohm = 6 ohm, with R1 15 ohm, so 4.5 V drives 300 mA; R2 carries 15/25 of
/// it. With S1 open nothing flows.
const PIER: &str = r#"## Pier lamps of the model harbour, fed by one flat battery.
circuit "Pier lamps"

let supply = 4.5 V
battery   B1 = supply
## Keeps the lamps from burning out.
resistor  R1 = 9 ohm, tolerance 5%, rating 1 W
resistor  R2 = 10 ohm
resistor  R3 = 15 ohm
switch    S1 = closed

B1+ -- S1 -- R1 -- @fork -- R2 -- @join -- B1-
@fork -- R3 -- @join

claim R2, R3 in parallel
claim R1, R2 in series
find  current through R1, R2, R3
case "night": S1 = open
find  voltage across S1 in "night"
"#;

fn samples() -> Vec<(String, String)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples");
    let mut found: Vec<_> = std::fs::read_dir(folder)
        .expect("samples are part of the project")
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "ohmline"))
        .map(|path| {
            let name = path.file_name().expect("a file").to_string_lossy().into_owned();
            (name, std::fs::read_to_string(&path).expect("readable"))
        })
        .collect();
    found.sort();
    assert!(found.len() >= 8);
    found
}

/// The line and column of a piece of text, the `nth` time it stands there (columns of ASCII lines).
fn find(text: &str, piece: &str, nth: usize) -> (u32, u32) {
    let (at, _) = text.match_indices(piece).nth(nth).expect("in the text");
    let line = text[..at].matches('\n').count();
    let start = text[..at].rfind('\n').map_or(0, |newline| newline + 1);
    (line as u32, (at - start) as u32)
}

/// Diagnostics with one address in place of another.
fn at_address(diagnostics: &[Value], from: &str, to: &str) -> Vec<Value> {
    let text = serde_json::to_string(diagnostics).expect("JSON").replace(from, to);
    serde_json::from_str(&text).expect("JSON")
}

/// What the server says about a text that is opened as it is.
fn opened(session: &mut Session, text: &str) -> Vec<Value> {
    session.open(OTHER, 1, text);
    let found = session.shown(OTHER);
    session.close(OTHER);
    at_address(&found, OTHER, URI)
}

// Typing.

fn typed_is_opened(encoding: &str, columns: fn(&str) -> usize) {
    let mut session = Session::start(json!({ "general": { "positionEncodings": [encoding] },
        "textDocument": { "publishDiagnostics": { "relatedInformation": true } } }));
    assert_eq!(session.capabilities["positionEncoding"], encoding);
    for (name, text) in samples() {
        let mut version = 1;
        session.open(URI, version, "");
        let (mut line, mut typed) = (0, String::new());
        for character in text.chars() {
            version += 1;
            let column = columns(&typed) as u32;
            session.change(URI, version, Some([line, column, line, column]), &character.to_string());
            typed.push(character);
            if character == '\n' {
                line += 1;
                typed.clear();
            }
        }
        let found = session.shown(URI);
        assert_eq!(found, opened(&mut session, &text), "{name}");
        session.close(URI);
        let cleared =
            session.wait(|message| message["params"]["uri"] == URI && message["params"]["version"] == Value::Null);
        assert_eq!(cleared["params"]["diagnostics"], json!([]));
    }
}

#[test]
fn typing_ends_where_opening_does_utf8() {
    typed_is_opened("utf-8", str::len);
}

#[test]
fn typing_ends_where_opening_does_utf16() {
    typed_is_opened("utf-16", |line| line.encode_utf16().count());
}

#[test]
fn typing_ends_where_opening_does_utf32() {
    typed_is_opened("utf-32", |line| line.chars().count());
}

#[test]
fn utf8_is_preferred_and_utf16_is_what_is_not_spoken_of() {
    for (offered, chosen) in [
        (json!(["utf-16", "utf-8"]), "utf-8"),
        (json!(["utf-32", "utf-16"]), "utf-16"),
        (json!(["utf-32"]), "utf-32"),
        (json!([]), "utf-16"),
        (json!(null), "utf-16"),
    ] {
        let session = Session::start(json!({ "general": { "positionEncodings": offered } }));
        assert_eq!(session.capabilities["positionEncoding"], chosen);
    }
}

/// A small generator of numbers, so that a failure can be had again (Knuth's constants for a linear congruential generator).
struct Random(u64);

impl Random {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % limit
    }
}

/// The UTF-16 position of a byte offset, counted the slow way. Lines end as the Language Server Protocol has it: LF, CRLF or CR.
fn utf16_position(text: &str, offset: usize) -> (u32, u32) {
    let (mut line, mut column) = (0, 0);
    let mut characters = text[..offset].chars().peekable();
    while let Some(character) = characters.next() {
        let ends = character == '\n' || (character == '\r' && !text[..offset].contains("\r\n"));
        if character == '\r' && characters.peek() == Some(&'\n') {
            continue;
        }
        if ends {
            (line, column) = (line + 1, 0);
        } else {
            column += character.len_utf16() as u32;
        }
    }
    (line, column)
}

#[test]
fn edits_among_emoji_ohms_and_crlf_keep_the_text_in_step() {
    let start = "circuit \"Pier 🚢 lamps\"\r\nbattery B1 = 4.5 V # 🔋🔋\r\nresistor R1 = 9 Ω\r\nB1+ -- R1 -- B1-\r\n\
        resistor Rº𝛀 = 3 Ω # 𝄞\r\n";
    let mut session = Session::start(able());
    let mut text = start.to_owned();
    let mut random = Random(7);
    let pieces = ["Ω", "🔌", "x", "\r\n", " -- ", "µ", "R1", "e\u{301}", "𝄞𝄞", "@a", "\r\n\r\n", ""];
    session.open(URI, 1, &text);
    for version in 2..400 {
        // Between characters, and never between the halves of CRLF.
        let places: Vec<_> = text
            .char_indices()
            .map(|(at, _)| at)
            .chain([text.len()])
            .filter(|at| !(text[..*at].ends_with('\r') && text[*at..].starts_with('\n')))
            .collect();
        let first = random.below(places.len());
        let last = (first + random.below(4)).min(places.len() - 1);
        let (from, to) = (places[first], places[last]);
        let piece = pieces[random.below(pieces.len())];
        let ((a, b), (c, d)) = (utf16_position(&text, from), utf16_position(&text, to));
        session.change(URI, version, Some([a, b, c, d]), piece);
        text.replace_range(from..to, piece);
        if version % 40 == 0 {
            let found = session.published(URI).pop();
            if let Some(found) = found {
                let found = found["diagnostics"].as_array().expect("a list").clone();
                assert_eq!(found, opened(&mut session, &text), "version {version}: {text:?}");
            }
        }
    }
    // Whatever is left: the whole text of the last line must be where the server thinks it is.
    let (line, column) = utf16_position(&text, text.len());
    session.change(URI, 400, Some([0, 0, line, column]), PIER);
    let found = session.shown(URI);
    assert_eq!(found, opened(&mut session, PIER));
}

#[test]
fn wrong_positions_are_brought_into_bounds() {
    let mut session = Session::start(able());
    session.open(URI, 1, "resistor R1 = 1 ohm # 🚢\r\n");
    let far = u32::MAX;
    for (version, range) in [
        [far, far, far, far],
        [0, far, 0, far],
        [1, 5, 0, 2],
        // In the middle of a surrogate pair.
        [0, 23, 0, 23],
        [0, 0, far, 0],
    ]
    .into_iter()
    .enumerate()
    {
        session.change(URI, version as i64 + 2, Some(range), "🚢");
    }
    for (line, column) in [(0, far), (far, 0), (far, far), (0, 1)] {
        session.hover(URI, line, column);
    }
    session.hints(URI, [far, far, 0, 0]);
    // From before the beginning to behind the end, the wrong way round: everything.
    session.change(URI, 20, Some([far, far, 0, 0]), PIER);
    let found = session.shown(URI);
    assert_eq!(found, opened(&mut session, PIER));
}

#[test]
fn several_changes_of_one_message_apply_in_order() {
    let mut session = Session::start(able());
    session.open(URI, 1, "one\ntwo\n");
    session.changes(
        URI,
        2,
        json!([
            { "range": to_range([1, 0, 1, 3]), "text": "resistor R1 = 1 ohm" },
            { "range": to_range([0, 0, 1, 0]), "text": "" },
            { "range": to_range([0, 14, 0, 15]), "text": "20" },
            { "text": "rubbish" },
            { "range": to_range([0, 0, 0, 7]), "text": PIER },
        ]),
    );
    let found = session.shown(URI);
    assert_eq!(found, opened(&mut session, PIER));
}

#[test]
fn a_thousand_quick_changes_end_at_the_last() {
    let mut session = Session::start(able());
    let mut text = PIER.to_owned();
    session.open(URI, 0, &text);
    let (line, column) = find(&text, "9 ohm", 0);
    let mut texts = vec![text.clone()];
    // Digits typed and taken away again, names broken and mended.
    for version in 1..=1000_i64 {
        let (range, piece) = match version % 4 {
            1 => ([line, column, line, column], "1"),
            2 => ([line, column, line, column + 1], ""),
            3 => ([11, 12, 11, 13], "X"),
            _ => ([11, 12, 11, 13], "1"),
        };
        session.change(URI, version, Some(range), piece);
        let start = text.split_inclusive('\n').take(range[0] as usize).map(str::len).sum::<usize>();
        text.replace_range(start + range[1] as usize..start + range[3] as usize, piece);
        texts.push(text.clone());
    }
    let published = session.published(URI);
    let versions: Vec<_> = published.iter().map(|list| list["version"].as_i64().expect("a version")).collect();
    assert!(versions.is_sorted_by(|a, b| a < b), "{versions:?}");
    // Each list is that of the version it names; the last that of the last text.
    let last = published.last().expect("published").clone();
    assert_eq!(last["diagnostics"], Value::from(opened(&mut session, &text)));
    for list in published.iter().rev().step_by(published.len().div_ceil(20)) {
        let of = &texts[list["version"].as_i64().expect("a version") as usize];
        assert_eq!(list["diagnostics"], Value::from(opened(&mut session, of)), "version {}", list["version"]);
    }
}

#[test]
fn closed_and_opened_again() {
    let mut session = Session::start(able());
    session.open(URI, 7, PIER);
    let first = session.shown(URI);
    assert!(!first.is_empty());
    session.close(URI);
    let cleared =
        session.wait(|message| message["params"]["uri"] == URI && message["params"]["version"] == Value::Null);
    assert_eq!(cleared["params"]["diagnostics"], json!([]));
    // Nothing is known about what is closed.
    assert_eq!(session.hover(URI, 7, 10), "");
    session.open(URI, 1, "rubbish here\n");
    assert_ne!(session.shown(URI), first);
    session.close(URI);
    session.open(URI, 1, PIER);
    assert_eq!(session.shown(URI), first);
}

#[test]
fn an_edit_that_mends_everything_clears_everything() {
    let mut session = Session::start(able());
    session.open(URI, 1, "battery B1 = 3 V\nresistor R1 = 3 ohm\nB1+ -- R1 -- B2-\n");
    assert!(!session.shown(URI).is_empty());
    session.change(URI, 2, Some([2, 13, 2, 15]), "B1");
    assert_eq!(session.shown(URI), [] as [Value; 0]);
}

// Messages that should not be.

#[test]
fn malformed_messages_end_nothing() {
    let mut session = Session::spawn();
    // Before anything else: a request is refused, a notification is dropped (Language Server Protocol 3.17, "Initialize Request").
    let early = session.request("textDocument/hover", json!({})).expect_err("not yet");
    assert_eq!(early["code"], -32002);
    session.initialize(able(), Value::Null);
    let null_error = |session: &mut Session, code: i64| {
        session.wait(|message| message["id"] == Value::Null && message["error"]["code"] == code);
    };
    session.raw(b"Content-Length: 9\r\n\r\n{\"broken\"");
    null_error(&mut session, -32700);
    session.raw(b"Content-Length: 4\r\n\r\n\xff\xfe\x00\x01");
    null_error(&mut session, -32700);
    session.raw(b"no header at all\r\n\r\n");
    null_error(&mut session, -32700);
    session.raw(b"Content-Length: lots\r\n\r\n");
    null_error(&mut session, -32700);
    for value in [json!([]), json!(17), json!("text"), json!({}), json!({ "jsonrpc": "1.0", "result": 3 })] {
        session.send(&value);
        null_error(&mut session, -32600);
    }
    let code = |session: &mut Session, method: &str, params: Value| {
        session.request(method, params).expect_err("refused")["code"].as_i64()
    };
    assert_eq!(code(&mut session, "harbour/unknown", json!({})), Some(-32601));
    assert_eq!(code(&mut session, "textDocument/hover", json!({ "position": 3 })), Some(-32602));
    assert_eq!(code(&mut session, "textDocument/hover", Value::Null), Some(-32602));
    session.send(&json!({ "jsonrpc": "2.0", "id": 500, "method": "textDocument/inlayHint" }));
    assert_eq!(session.answer(500).expect_err("refused")["code"], -32602);
    for (method, params) in [
        ("textDocument/didOpen", json!({ "textDocument": { "uri": "no address" } })),
        ("textDocument/didChange", json!([])),
        ("textDocument/didChange", json!({ "textDocument": { "uri": URI, "version": 3 }, "contentChanges": [{}] })),
        ("textDocument/didClose", json!({ "textDocument": { "uri": URI } })),
        (
            "textDocument/didChange",
            json!({ "textDocument": { "uri": URI, "version": 3 },
            "contentChanges": [{ "range": { "start": { "line": -1, "character": 0 }, "end": 4 }, "text": "x" }] }),
        ),
        ("workspace/didChangeConfiguration", json!({ "settings": [[["deep"]]] })),
        ("$/unknown", json!({})),
        ("$/cancelRequest", json!({ "id": 999 })),
    ] {
        session.notify(method, params);
    }
    // An answer to nothing.
    session.send(&json!({ "jsonrpc": "2.0", "id": 77, "result": null }));
    session.open(URI, 1, PIER);
    assert!(!session.shown(URI).is_empty());
    session.request("shutdown", Value::Null).expect("answered");
    session.notify("exit", Value::Null);
    assert_eq!(session.status(), 0);
}

#[test]
fn bytes_that_are_no_utf8_are_replaced() {
    let mut session = Session::start(able());
    session.open(URI, 1, "battery B1 = 3 V\n");
    let head = format!(
        r#"{{"jsonrpc":"2.0","method":"textDocument/didChange","params":{{"textDocument":{{"uri":"{URI}","version":2}},"contentChanges":[{{"text":"battery B2 = 3 V # caf"#
    );
    let body = [head.as_bytes(), b"\xe9", br#"\n"}]}}"#].concat();
    session.raw(format!("Content-Length: {}\r\n\r\n", body.len()).as_bytes());
    session.raw(&body);
    assert!(session.hover(URI, 0, 9).contains("B2"));
}

/// A text that takes a while.
fn long_text(elements: usize) -> String {
    let mut text = String::from("battery B1 = 5 V\n");
    for k in 0..elements {
        text.push_str(&format!("resistor R{k} = {} ohm\n", 10 + k % 7));
    }
    text.push_str("B1+ -- @n0\n");
    for k in 0..elements {
        text.push_str(&format!("@n{k} -- R{k} -- @n{}\n", k + 1));
    }
    text.push_str(&format!("@n{elements} -- B1-\n"));
    text
}

#[test]
fn requests_can_be_cancelled_and_are_overtaken() {
    let mut session = Session::start(able());
    session.open(URI, 1, &long_text(8_000));
    let at = json!({ "textDocument": { "uri": URI }, "position": { "line": 1, "character": 10 } });
    // The analysis of so long a text cannot be done before the next message is read.
    let cancelled = session.ask("textDocument/hover", at.clone());
    session.notify("$/cancelRequest", json!({ "id": cancelled }));
    assert_eq!(session.answer(cancelled).expect_err("cancelled")["code"], -32800);
    session.change(URI, 2, Some([0, 13, 0, 14]), "6");
    let overtaken = session.ask("textDocument/hover", at.clone());
    session.change(URI, 3, Some([0, 13, 0, 14]), "7");
    assert_eq!(session.answer(overtaken).expect_err("overtaken")["code"], -32801);
    let orphan = session.ask("textDocument/hover", at);
    session.close(URI);
    assert_eq!(session.answer(orphan).expect_err("closed")["code"], -32801);
    session.open(OTHER, 1, PIER);
    assert!(session.hover(OTHER, 6, 10).contains("R1"));
}

// The end.

#[test]
fn the_end_has_the_right_status() {
    // Language Server Protocol 3.17, "Exit Notification": 0 after a shutdown request, else 1. The input stays open.
    let mut session = Session::start(able());
    session.request("shutdown", Value::Null).expect("answered");
    session.notify("exit", Value::Null);
    assert_eq!(session.status(), 0);
    let mut session = Session::start(able());
    session.notify("exit", Value::Null);
    assert_eq!(session.status(), 1);
    let mut session = Session::spawn();
    session.notify("exit", Value::Null);
    assert_eq!(session.status(), 1);
    // The editor is gone.
    let mut session = Session::start(able());
    session.open(URI, 1, PIER);
    session.end_input();
    assert_eq!(session.status(), 1);
    let mut session = Session::start(able());
    session.request("shutdown", Value::Null).expect("answered");
    session.end_input();
    assert_eq!(session.status(), 0);
    // In the middle of a message.
    let mut session = Session::start(able());
    session.raw(b"Content-Length: 100\r\n\r\n{");
    session.end_input();
    assert_eq!(session.status(), 1);
    // All at once, without waiting for answers, in the middle of work.
    let mut session = Session::start(able());
    session.open(URI, 1, &long_text(8_000));
    let shutdown = session.ask("shutdown", Value::Null);
    session.notify("exit", Value::Null);
    assert_eq!(session.answer(shutdown), Ok(Value::Null));
    assert_eq!(session.status(), 0);
}

#[test]
fn after_shutdown_requests_are_refused() {
    let mut session = Session::start(able());
    session.request("shutdown", Value::Null).expect("answered");
    let at = json!({ "textDocument": { "uri": URI }, "position": { "line": 0, "character": 0 } });
    assert_eq!(session.request("textDocument/hover", at).expect_err("refused")["code"], -32600);
}

// What is shown.

#[test]
fn hover_on_a_junction_tells_of_wires_that_cases_put_across() {
    let mut session = Session::start(able());
    let text = "battery B1 = 6 V\nlamp L1, L2 = 5 ohm\nB1+ -- L1 -- @mid -- L2 -- B1-\ncase \"slip\": L2 = shorted\n";
    session.open(URI, 1, text);
    let told = session.hover(URI, 2, 16);
    assert!(told.contains("In \"slip\", the wire across L2 is counted with it."), "{told}");
    assert!(!told.contains("across L1"), "{told}");
}

#[test]
fn hover_tells_what_is_known() {
    let mut session = Session::start(able());
    session.open(URI, 1, PIER);
    let mut hover = |piece: &str, nth: usize, inside: u32| {
        let (line, column) = find(PIER, piece, nth);
        session.hover(URI, line, column + inside)
    };
    let has = |text: &str, pieces: &[&str]| {
        for piece in pieces {
            assert!(text.contains(piece), "no {piece:?} in:\n{text}");
        }
    };
    // An element, at its declaration, in a path, in a question.
    for nth in 0..2 {
        let text = hover("R1", nth, 0);
        has(
            &text,
            &["R1", "resistor", "resistor, 9 Ω", "Keeps the lamps", "300 mA", "2.70 V", "0.810 W", "night", "0 A"],
        );
        has(&text, &["S1"]);
    }
    has(&hover("R2", 0, 1), &["180 mA", "1.80 V", "0.324 W", "In parallel with", "R3"]);
    has(&hover("B1", 0, 1), &["delivered", "1.35 W", "supply"]);
    has(&hover("S1 = open", 0, 0), &["closed", "open", "4.50 V"]);
    // A junction.
    let fork = hover("@fork", 0, 2);
    has(&fork, &["@fork", "1.80 V", "from R1", "300 mA", "from R2", "-180 mA", "from R3", "-120 mA", "sum", "0 A"]);
    // Claims.
    has(&hover("in parallel", 0, 4), &["R2, R3 in parallel", "holds"]);
    let wrong = hover("in series", 0, 4);
    has(&wrong, &["R1, R2 in series", "does not hold", "R3"]);
    // Questions.
    has(&hover("find", 0, 1), &["current through R1", "300 mA", "current through R3", "120 mA"]);
    has(&hover("find", 1, 1), &["voltage across S1", "4.50 V"]);
    // A case, a value, a word of the notation.
    has(&hover("\"night\"", 0, 3), &["case", "S1", "closed", "open"]);
    has(&hover("\"night\"", 1, 3), &["case", "S1", "closed", "open"]);
    has(&hover("supply", 1, 3), &["let supply = 4.5 V", "It comes to 4.5 V."]);
    has(&hover("resistor", 0, 3), &["resistor NAME[, NAME...] = OHMS ohm[, tolerance PERCENT %]", "A resistance"]);
    has(&hover("claim", 0, 3), &["claim QUANTITY = VALUE", "R2, R3 in parallel", "holds"]);
    // Blank space.
    assert_eq!(session.hover(URI, 2, 0), "");
}

#[test]
fn hover_is_plain_text_for_those_who_want_that() {
    let mut session = Session::start(json!({}));
    session.open(URI, 1, PIER);
    let (line, column) = find(PIER, "R1", 0);
    let text = session.hover(URI, line, column);
    assert!(text.contains("300 mA") && !text.contains("**") && !text.contains('|'), "{text}");
}

#[test]
fn hover_inside_a_part_shows_every_copy() {
    let text = "part lantern(in, out), dropper 33 ohm\n  resistor Rd = dropper\n  lamp L1 = 67 ohm\n  \
        @in -- Rd -- @mid -- L1 -- @out\nend\nlantern Left\nlantern Right, dropper 133 ohm\nbattery B1 = 10 V\n\
        B1+ -- ( Left | Right ) -- B1-\n";
    let mut session = Session::start(able());
    session.open(URI, 1, text);
    let (line, column) = find(text, "Rd", 0);
    let found = session.hover(URI, line, column);
    // 10 V over 100 ohm and 200 ohm.
    for piece in ["Left.Rd", "100 mA", "Right.Rd", "50.0 mA"] {
        assert!(found.contains(piece), "no {piece:?} in:\n{found}");
    }
    let (line, column) = find(text, "Left", 0);
    let found = session.hover(URI, line, column);
    assert!(found.contains("Left.L1") && found.contains("lantern"), "{found}");
    // Nothing is shown where one place stands for many elements.
    assert_eq!(session.hints(URI, [0, 0, 5, 0]), [] as [&str; 0]);
}

#[test]
fn hints_show_what_is_solved() {
    let mut session = Session::start(able());
    session.open(URI, 1, PIER);
    assert_eq!(
        session.hints(URI, [0, 0, 30, 0]),
        [
            "4:21 300 mA, 4.50 V",
            "6:46 300 mA, 2.70 V",
            "7:21 180 mA, 1.80 V",
            "8:21 120 mA, 1.80 V",
            "9:21 300 mA, 0 V",
        ]
    );
    // Only what is asked for.
    assert_eq!(session.hints(URI, [7, 0, 8, 0]), ["7:21 180 mA, 1.80 V"]);
}

#[test]
fn hints_follow_the_settings_at_once() {
    let mut session = Session::spawn();
    session.settings = json!({ "hints": { "enabled": true, "paths": true } });
    session.initialize(able(), json!({ "hints": { "enabled": false } }));
    session.open(URI, 1, PIER);
    // The settings of the editor are asked for and obeyed.
    session.wait_asked("workspace/inlayHint/refresh");
    let path = [11, 0, 11, 99];
    assert_eq!(
        session.hints(URI, path),
        [
            "11:3 → 300 mA",
            "11:9 → 300 mA",
            "11:15 → 300 mA",
            "11:24 1.80 V",
            "11:30 → 180 mA",
            "11:39 0 V",
            "11:46 → 300 mA",
        ]
    );
    // Off: the next request already obeys, and the editor is asked to look again.
    session.notify(
        "workspace/didChangeConfiguration",
        json!({ "settings": { "ohmline": { "hints": { "enabled": false } } } }),
    );
    assert_eq!(session.hints(URI, path), [] as [&str; 0]);
    session.wait_asked("workspace/inlayHint/refresh");
    // Told without saying what: asked for again.
    session.settings = json!({ "hints": { "enabled": true, "paths": false } });
    session.notify("workspace/didChangeConfiguration", json!({ "settings": null }));
    session.wait_asked("workspace/inlayHint/refresh");
    assert_eq!(session.hints(URI, path), [] as [&str; 0]);
    assert_eq!(session.hints(URI, [7, 0, 8, 0]), ["7:21 180 mA, 1.80 V"]);
}

#[test]
fn diagnostics_have_every_part() {
    let mut session = Session::start(able());
    session.open(URI, 3, PIER);
    let list = session.published(URI).pop().expect("published");
    assert_eq!(list["version"], 3);
    let found = list["diagnostics"].as_array().expect("a list");
    let split = found
        .iter()
        .find(|found| found["code"] == "split-series" && found["severity"] == 1)
        .expect("the claim is wrong");
    assert_eq!(split["source"], "ohmline");
    let message = split["message"].as_str().expect("text");
    assert!(message.contains("R1") && message.contains("R2") && message.contains("R3"), "{message}");
    let related = split["relatedInformation"].as_array().expect("labels");
    assert!(related.iter().all(|place| place["location"]["uri"] == URI), "{related:?}");
    // An editor without such places gets them in words.
    let mut session = Session::start(json!({}));
    session.open(URI, 3, PIER);
    let found = session.shown(URI);
    let plain = found
        .iter()
        .find(|found| found["code"] == "split-series" && found["severity"] == 1)
        .expect("the claim is wrong");
    assert_eq!(plain.get("relatedInformation"), None);
    assert!(plain["message"].as_str().expect("text").contains("\nline "), "{plain}");
}

#[test]
fn a_quick_fix_mends_what_it_says() {
    let text = "battery B1 = 3 V\nresistor R1 = 3 ohm\nB1+ -- R1 –– @a -- B1-\n";
    let mut session = Session::start(able());
    session.open(URI, 5, text);
    let found = session.shown(URI);
    let range = found.first().expect("a typographic dash is reported")["range"].clone();
    let params = json!({ "textDocument": { "uri": URI }, "range": range, "context": { "diagnostics": found } });
    let actions = session.request("textDocument/codeAction", params).expect("answered");
    let action = &actions[0];
    assert_eq!(action["kind"], "quickfix");
    let change = &action["edit"]["documentChanges"][0];
    assert_eq!(change["textDocument"], json!({ "uri": URI, "version": 5 }));
    let edits = change["edits"].as_array().expect("a list").iter();
    let edits: Vec<_> = edits.map(|edit| json!({ "range": edit["range"], "text": edit["newText"] })).collect();
    session.changes(URI, 6, edits.into());
    let after = session.shown(URI);
    assert!(!after.contains(&found[0]), "{after:?}");
}

#[test]
fn what_is_included_is_taken_from_the_editor() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name);
    let address = |name: &str| format!("file://{}", path(name).display());
    let kit = "part lantern(in, out)\n  resistor R1 = 10 ohm\n  @in -- R1 -- @out\nend\n";
    let main = "include \"kit.ohmline\"\nlantern Left\nbattery B1 = 1 V\nB1+ -- Left -- B1-\nfind current through B1\n";
    std::fs::write(path("kit.ohmline"), kit).expect("written");
    let (main_uri, kit_uri) = (address("main.ohmline"), address("kit.ohmline"));
    let mut session = Session::start(able());
    session.open(&main_uri, 1, main);
    assert_eq!(session.hints(&main_uri, [2, 0, 2, 99]), ["2:16 100 mA, 1.00 V"]);
    // Open and changed, but not saved.
    session.open(&kit_uri, 1, kit);
    session.change(&kit_uri, 2, Some([1, 16, 1, 18]), "20");
    session.wait_asked("workspace/inlayHint/refresh");
    let hints = loop {
        let params = json!({ "textDocument": { "uri": main_uri }, "range": to_range([2, 0, 2, 99]) });
        // Overtaken by the change of the other file: ask again, as editors do.
        if let Ok(answer) = session.request("textDocument/inlayHint", params) {
            break answer;
        }
    };
    assert_eq!(hints[0]["label"], "50.0 mA, 1.00 V");
    // Closed without saving: the disk counts again.
    session.close(&kit_uri);
    session.wait_asked("workspace/inlayHint/refresh");
    assert_eq!(session.hints(&main_uri, [2, 0, 2, 99]), ["2:16 100 mA, 1.00 V"]);
    // Changed on the disk.
    std::fs::write(path("kit.ohmline"), kit.replace("10 ohm", "4 ohm")).expect("written");
    session.notify("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": kit_uri, "type": 2 }] }));
    session.wait_asked("workspace/inlayHint/refresh");
    assert_eq!(session.hints(&main_uri, [2, 0, 2, 99]), ["2:16 250 mA, 1.00 V"]);
}

#[test]
fn an_editor_that_answers_nothing_stops_nothing() {
    // Many questions of the server stay open, and requests are answered all the same.
    let mut session = Session::start(able());
    for round in 0..300 {
        let on = round % 2 == 0;
        session.notify(
            "workspace/didChangeConfiguration",
            json!({ "settings": { "ohmline": { "hints": { "paths": on } } } }),
        );
    }
    session.open(URI, 1, PIER);
    // `ask` reads nothing, so nothing of the server is answered before all of this is sent.
    let ids: Vec<_> = (0..200)
        .map(|_| {
            let at = json!({ "textDocument": { "uri": URI }, "position": { "line": 6, "character": 10 } });
            session.ask("textDocument/hover", at)
        })
        .collect();
    let begun = std::time::Instant::now();
    for id in ids {
        session.answer(id).expect("answered");
    }
    assert!(begun.elapsed() < Duration::from_secs(30));
}

/// Includes are read from the disk as the command reads them.
#[cfg(unix)]
#[test]
fn includes_are_files_inside_whatever_their_encoding() {
    let folder = tempfile::tempdir().expect("a folder");
    let elsewhere = tempfile::tempdir().expect("a folder");
    let made = std::process::Command::new("mkfifo").arg(folder.path().join("pipe.ohmline")).status();
    assert!(made.expect("mkfifo belongs to POSIX").success());
    std::fs::write(elsewhere.path().join("secret.ohmline"), "password of the harbor\n").expect("written");
    std::os::unix::fs::symlink(elsewhere.path(), folder.path().join("kit")).expect("a link");
    let utf16: Vec<u8> = "\u{feff}let supply = 4.5 V\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    std::fs::write(folder.path().join("values.ohmline"), utf16).expect("written");
    let uri = format!("file://{}/main.ohmline", folder.path().display());
    let mut session = Session::start(able());
    let text = "include \"pipe.ohmline\"\ninclude \"kit/secret.ohmline\"\ninclude \"values.ohmline\"\n\
        battery B1 = supply\nresistor R1 = 9 ohm\nB1+ -- R1 -- B1-\n";
    session.open(&uri, 1, text);
    let found = session.shown(&uri);
    let codes: Vec<_> = found.iter().map(|found| found["code"].as_str().unwrap_or_default()).collect();
    assert_eq!(codes, ["foreign-encoding", "unreadable-include", "outside-include"], "{found:#?}");
    assert!(!serde_json::to_string(&found).expect("JSON").contains("password"));
}

#[test]
fn a_value_is_shown_as_what_it_comes_to() {
    let mut session = Session::start(able());
    let text = "let supply = 4.5 V\nlet drive = 30 mA\nlet load = 2 * supply / drive\nlet heat = supply * drive\n\
        let share = 1 / 8\nlet square = supply * supply\n";
    session.open(URI, 1, text);
    for (line, value) in [(1, "30 mA"), (2, "300 Ω"), (3, "0.135 W"), (4, "0.125"), (5, "20.25, a quantity in V^2")] {
        let said = session.hover(URI, line, 5);
        assert!(said.contains(&format!("It comes to {value}.")), "line {line}: {said}");
    }
}

#[test]
fn a_slow_document_stops_when_edited_and_keeps_no_other_waiting() {
    let mut session = Session::start(able());
    session.open(URI, 1, &slow(2000));
    // Minutes of work in this build, if nobody stopped it.
    session.open(OTHER, 1, PIER);
    let first = session.wait(|message| message["method"] == "textDocument/publishDiagnostics");
    assert_eq!(first["params"]["uri"], OTHER);
    session.change(URI, 2, None, PIER);
    let next = session
        .wait(|message| message["method"] == "textDocument/publishDiagnostics" && message["params"]["uri"] == URI);
    assert_eq!(next["params"]["version"], 2);
}
