//! Whole sessions about places: what is asked with columns of UTF-8, of UTF-16 and of UTF-32 is answered with the same places of the text,
//! for every kind of request; and places that no text has are brought into bounds.

mod lsp_client;

use lsp_client::{Session, able};
use serde_json::{Value, json};

const URI: &str = "file:///harbour/quay.ohmline";
const ENCODINGS: [&str; 3] = ["utf-8", "utf-16", "utf-32"];

/// Characters of one to four bytes, a combining mark, tabs, and all three line ends before and between what is asked about.
const QUAY: &str = "## \u{1f6a2} e\u{301} the quay\r\ncircuit \"Kai \u{1f319}\"\r\nlet \u{dc}spannung = 12 V # \u{b5}\u{3a9}\nbattery\tB1 = \u{dc}spannung\r\
    lamp\t\u{c9}clair,\tL2 =6\u{3a9} # \u{1f6a2}\r\nresistor R\u{df} = 4.1 k\u{3a9}, tolerance 5%\nunknown \u{1d6c0} here\n\
    B1+ -- R\u{df} -- ( \u{c9}clair -- @mitt\u{e9} -- L2 | R9 ) -- B1-\r\n# e\u{301}\u{1f319}\nclaim \u{c9}clair, L2 in series # \u{1f6a2}\n\
    case \"d\u{e4}mmerung \u{1f319}\": L2 = open\r\nfind current through \u{c9}clair in \"d\u{e4}mmerung \u{1f319}\"";

fn units(encoding: &str, c: char) -> u64 {
    match encoding {
        "utf-8" => c.len_utf8() as u64,
        "utf-16" => c.len_utf16() as u64,
        _ => 1,
    }
}

/// The byte offset of each line, and where its text ends (Language Server Protocol 3.17, "Text Documents": LF, CRLF and CR end lines).
fn lines(text: &str) -> Vec<(usize, usize)> {
    let bytes = text.as_bytes();
    let (mut found, mut start, mut at) = (Vec::new(), 0, 0);
    while at < bytes.len() {
        let ends = match bytes[at] {
            b'\r' if bytes.get(at + 1) == Some(&b'\n') => 2,
            b'\r' | b'\n' => 1,
            _ => 0,
        };
        if ends > 0 {
            found.push((start, at));
            start = at + ends;
        }
        at += ends.max(1);
    }
    found.push((start, text.len()));
    found
}

fn position(text: &str, encoding: &str, offset: usize) -> Value {
    let lines = lines(text);
    let line = lines.iter().rposition(|(start, _)| *start <= offset).expect("the first starts at 0");
    let column: u64 = text[lines[line].0..offset].chars().map(|c| units(encoding, c)).sum();
    json!({ "line": line, "character": column })
}

fn offset(text: &str, encoding: &str, position: &Value) -> usize {
    let (start, end) = lines(text)[position["line"].as_u64().expect("a line") as usize];
    let mut left = position["character"].as_u64().expect("a column");
    let mut at = start;
    for c in text[start..end].chars() {
        if left == 0 {
            break;
        }
        left = left.checked_sub(units(encoding, c)).expect("no column within a character");
        at += c.len_utf8();
    }
    assert_eq!(left, 0, "{position} is behind the end of its line");
    at
}

/// An answer with byte offsets in place of positions.
fn by_offsets(text: &str, encoding: &str, answer: &Value) -> Value {
    match answer {
        Value::Object(object) if object.contains_key("line") && object.contains_key("character") => {
            json!(offset(text, encoding, answer))
        }
        Value::Object(object) => {
            object.iter().map(|(name, value)| (name.clone(), by_offsets(text, encoding, value))).collect()
        }
        Value::Array(list) => list.iter().map(|value| by_offsets(text, encoding, value)).collect(),
        other => other.clone(),
    }
}

/// Tokens as byte offsets and what they are.
fn tokens_by_offsets(text: &str, encoding: &str, answer: &Value) -> Value {
    let numbers: Vec<u64> = answer["data"].as_array().expect("numbers").iter().filter_map(Value::as_u64).collect();
    let (mut line, mut column) = (0, 0);
    let token = |token: &[u64]| {
        column = if token[0] == 0 { column + token[1] } else { token[1] };
        line += token[0];
        let at = |column: u64| offset(text, encoding, &json!({ "line": line, "character": column }));
        json!([at(column), at(column + token[2]), token[3], token[4]])
    };
    numbers.chunks(5).map(token).collect()
}

/// What is asked at a place.
const AT_PLACES: [&str; 8] = [
    "hover",
    "definition",
    "references",
    "documentHighlight",
    "prepareRename",
    "rename",
    "completion",
    "signatureHelp",
];
/// What is asked of a range.
const OF_RANGES: [&str; 4] = ["codeAction", "rangeFormatting", "inlayHint", "semanticTokens/range"];
/// What is asked of all of a document.
const OF_ALL: [&str; 7] = [
    "documentSymbol",
    "foldingRange",
    "documentLink",
    "formatting",
    "codeLens",
    "semanticTokens/full",
    "selectionRange",
];

fn params(method: &str, start: &Value, end: &Value) -> Value {
    let mut params = json!({ "textDocument": { "uri": URI } });
    if AT_PLACES.contains(&method) || method == "onTypeFormatting" {
        params["position"] = start.clone();
    }
    if OF_RANGES.contains(&method) {
        params["range"] = json!({ "start": start, "end": end });
    }
    match method {
        "references" => params["context"] = json!({ "includeDeclaration": true }),
        "codeAction" => params["context"] = json!({ "diagnostics": [] }),
        "rename" => params["newName"] = json!("Nebelhorn"),
        "selectionRange" => params["positions"] = json!([start, end]),
        "onTypeFormatting" => params["ch"] = json!("\n"),
        _ => {}
    }
    if method.ends_with("ormatting") {
        params["options"] = json!({ "tabSize": 2, "insertSpaces": true });
    }
    params
}

fn asked(session: &mut Session, method: &str, start: &Value, end: &Value) -> Result<Value, Value> {
    session.request(&format!("textDocument/{method}"), params(method, start, end))
}

fn speaking(encoding: &str) -> Session {
    let mut client = able();
    client["general"]["positionEncodings"] = json!([encoding]);
    let mut session = Session::start(client);
    session.open(URI, 1, QUAY);
    session
}

#[test]
fn every_request_means_the_same_places_in_every_encoding() {
    let mut sessions = ENCODINGS.map(speaking);
    let shown: Vec<Value> = sessions
        .iter_mut()
        .zip(ENCODINGS)
        .map(|(session, encoding)| by_offsets(QUAY, encoding, &session.shown(URI).into()))
        .collect();
    assert!(shown[0].as_array().is_some_and(|found| found.len() > 2) && shown.iter().all(|own| *own == shown[0]));
    let mut answered = 0;
    // Every third character, and so every name and every sign.
    let places: Vec<usize> = QUAY.char_indices().map(|(at, _)| at).filter(|at| !QUAY[..*at].ends_with('\r')).collect();
    for (number, place) in places.iter().copied().enumerate() {
        let methods = match number {
            0 => [&AT_PLACES[..], &OF_RANGES, &OF_ALL].concat(),
            number if number % 7 == 0 => [&AT_PLACES[..], &OF_RANGES, &["onTypeFormatting", "selectionRange"]].concat(),
            number if number % 3 == 0 => vec!["hover", "completion", "prepareRename", "definition"],
            _ => continue,
        };
        for method in methods {
            let other = places[(number + 40) % places.len()].max(place);
            let answers: Vec<Value> = sessions
                .iter_mut()
                .zip(ENCODINGS)
                .map(|(session, encoding)| {
                    let (start, end) = (position(QUAY, encoding, place), position(QUAY, encoding, other));
                    let answer = match asked(session, method, &start, &end) {
                        Ok(answer) => answer,
                        Err(error) => return error["message"].clone(),
                    };
                    match method {
                        "semanticTokens/full" | "semanticTokens/range" => tokens_by_offsets(QUAY, encoding, &answer),
                        _ => by_offsets(QUAY, encoding, &answer),
                    }
                })
                .collect();
            let around = &QUAY[place..QUAY.ceil_char_boundary((place + 12).min(QUAY.len()))];
            for (answer, encoding) in answers.iter().zip(ENCODINGS).skip(1) {
                assert_eq!(*answer, answers[0], "{method} in {encoding} at {around:?}");
            }
            answered += usize::from(!answers[0].is_null() && answers[0] != json!([]));
        }
    }
    assert!(answered > 200, "{answered}");
}

/// The nearest place that the text has (Language Server Protocol 3.17, "Position": a column behind the end of its line is that end). A line
/// behind the last is the end of the text, a place within a character its start.
fn clamped(encoding: &str, line: u64, column: u64) -> Value {
    let lines = lines(QUAY);
    let Some((start, end)) = lines.get(line as usize).copied() else { return position(QUAY, encoding, QUAY.len()) };
    let mut left = column;
    let mut at = start;
    for c in QUAY[start..end].chars() {
        let Some(rest) = left.checked_sub(units(encoding, c)) else { break };
        if left == 0 {
            break;
        }
        left = rest;
        at += c.len_utf8();
    }
    position(QUAY, encoding, at)
}

#[test]
fn garbage_is_brought_into_bounds() {
    const FAR: u64 = u32::MAX as u64;
    for encoding in ENCODINGS {
        let mut session = speaking(encoding);
        let count = lines(QUAY).len() as u64;
        // Behind lines, behind the text, and within the ship and the moon: their second byte or half.
        let ship = position(QUAY, encoding, QUAY.find('\u{1f6a2}').expect("a ship"))["character"].as_u64().expect("it");
        let moon = position(QUAY, encoding, QUAY.find('\u{1f319}').expect("a moon"))["character"].as_u64().expect("it");
        for (line, column) in
            [(0, FAR), (4, 400), (count - 1, FAR), (count, 0), (FAR, 0), (FAR, FAR), (0, ship + 1), (1, moon + 1)]
        {
            let wild = json!({ "line": line, "character": column });
            let tame = clamped(encoding, line, column);
            for method in AT_PLACES {
                let (a, b) = (asked(&mut session, method, &wild, &wild), asked(&mut session, method, &tame, &tame));
                assert_eq!(a, b, "{method} in {encoding} at {wild}, which is {tame}");
            }
            // Both ends, either end, and the wrong way round.
            let top = json!({ "line": 0, "character": 0 });
            for method in OF_RANGES.into_iter().filter(|method| *method != "rangeFormatting") {
                for (a, b) in [(&wild, &wild), (&top, &wild)] {
                    let tamed = |own: &Value| if *own == wild { tame.clone() } else { own.clone() };
                    let (found, wanted) =
                        (asked(&mut session, method, a, b), asked(&mut session, method, &tamed(a), &tamed(b)));
                    assert_eq!(found, wanted, "{method} in {encoding} from {a} to {b}");
                }
                asked(&mut session, method, &wild, &top).expect("an answer");
            }
            for method in ["rangeFormatting", "onTypeFormatting", "selectionRange"] {
                asked(&mut session, method, &wild, &wild).unwrap_or_else(|error| panic!("{method}: {error}"));
                asked(&mut session, method, &wild, &top).unwrap_or_else(|error| panic!("{method}: {error}"));
            }
        }
        // What is no number of the protocol is refused, and the session goes on.
        for column in [json!(-1), json!(1u64 << 40), json!(1.5), json!("1")] {
            let place = json!({ "line": 0, "character": column });
            let refused = asked(&mut session, "hover", &place, &place).expect_err("refused");
            assert_eq!(refused["code"], -32602);
        }
        assert!(session.hover(URI, 4, 6).contains("lamp"), "{encoding}");
    }
}
