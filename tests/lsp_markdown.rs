//! Whole sessions about circuits between the fences of Markdown documents, also in lists and quotes, with both kinds of line end.

mod lsp_client;

use lsp_client::{Session, able};
use serde_json::{Value, json};

const URI: &str = "file:///harbour/notes.md";

/// A circuit at the margin, one in a list, one in a quote. Each has a B1 of its own. Wide characters stand before and in them.
const NOTES: &str = "# Harbor \u{1f6a2}\n\n```ohmline\ncircuit \"Pier\"\nbattery B1 = 12 V\nlamp \u{c9}1, L2 = 6 ohm\n\
    B1+ -- \u{c9}1 -- @fork -- L2 -- B1-\nclaim \u{c9}1, L2 in series\n```\n\n1. \u{1f319} In a list:\n\n   ```ohmline\n   \
    part lantern(in, out)\n   lamp  D1=6ohm\n   @in -- D1 -- @out\n   end\n   battery B1 = 9V\n   lantern Left\n   \
    B1+ -- Left.in\n   Left.out -- B1-\n   ```\n\n> In a quote:\n>\n> ~~~ ohmline\n> battery B1 = 4.5 V\n> lamp L1 =9 ohm\n> \
    B1+ -- L1 -- @mid\n> ~~~\n\nThe lamp of the quay.\n";

fn crlf() -> String {
    NOTES.replace('\n', "\r\n")
}

/// The place of the `nth` such piece, `into` it by so many letters; columns in UTF-16.
fn place(text: &str, piece: &str, nth: usize, into: usize) -> Value {
    let (at, _) = text.match_indices(piece).nth(nth).unwrap_or_else(|| panic!("{piece} is in the text"));
    let at = at + into;
    let line = text[..at].matches('\n').count();
    let start = text[..at].rfind('\n').map_or(0, |newline| newline + 1);
    json!({ "line": line, "character": text[start..at].encode_utf16().count() })
}

fn document() -> Value {
    json!({ "textDocument": { "uri": URI } })
}

fn at(position: Value) -> Value {
    json!({ "textDocument": { "uri": URI }, "position": position })
}

fn with(mut params: Value, name: &str, value: Value) -> Value {
    params[name] = value;
    params
}

/// The text of a range.
fn slice<'a>(text: &'a str, range: &Value) -> &'a str {
    &text[offset(text, &range["start"])..offset(text, &range["end"])]
}

fn offset(text: &str, position: &Value) -> usize {
    let line = position["line"].as_u64().expect("a line") as usize;
    let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
    let mut left = position["character"].as_i64().expect("a column");
    let rest = text[start..].char_indices().find(|(_, c)| {
        let done = left <= 0;
        left -= c.len_utf16() as i64;
        done
    });
    rest.map_or(text.len(), |(at, _)| start + at)
}

fn apply(text: &str, edits: &Value) -> String {
    let mut own: Vec<(usize, usize, &str)> = edits
        .as_array()
        .expect("edits")
        .iter()
        .map(|edit| {
            let at = |end: &str| offset(text, &edit["range"][end]);
            (at("start"), at("end"), edit["newText"].as_str().expect("text"))
        })
        .collect();
    own.sort();
    let mut out = text.to_owned();
    for (start, end, new) in own.into_iter().rev() {
        out.replace_range(start..end, new);
    }
    out
}

fn opened(text: &str) -> Session {
    let mut session = Session::start(able());
    let document = json!({ "uri": URI, "languageId": "markdown", "version": 1, "text": text });
    session.notify("textDocument/didOpen", json!({ "textDocument": document }));
    session
}

#[test]
fn names_are_found_and_changed_in_their_own_circuit() {
    for text in [NOTES.to_owned(), crlf()] {
        let mut session = opened(&text);
        for (nth, uses) in [(0, 2), (3, 2), (6, 1)] {
            let name = |nth| place(&text, "B1", nth, 1);
            let asked = with(at(name(nth)), "context", json!({ "includeDeclaration": false }));
            let found = session.request("textDocument/references", asked).expect("places");
            let starts: Vec<&Value> =
                found.as_array().expect("a list").iter().map(|one| &one["range"]["start"]).collect();
            let wanted: Vec<Value> = (1..=uses).map(|own| place(&text, "B1", nth + own, 0)).collect();
            assert_eq!(starts, wanted.iter().collect::<Vec<_>>());
            let found = session.request("textDocument/definition", at(name(nth + uses))).expect("a place");
            assert_eq!(found["range"]["start"], place(&text, "B1", nth, 0));
            let found = session.request("textDocument/documentHighlight", at(name(nth))).expect("places");
            assert_eq!(found.as_array().map(Vec::len), Some(uses + 1));
            let found = session.request("textDocument/prepareRename", at(name(nth))).expect("a range");
            assert_eq!(slice(&text, &found), "B1");
            let edit =
                session.request("textDocument/rename", with(at(name(nth)), "newName", json!("Supply"))).expect("edits");
            let renamed = apply(&text, &edit["documentChanges"][0]["edits"]);
            assert_eq!(renamed.matches("Supply").count(), uses + 1);
            assert_eq!(renamed.replace("Supply", "B1"), text);
        }
        // Prose has no names.
        for asked in
            ["textDocument/definition", "textDocument/hover", "textDocument/signatureHelp", "textDocument/completion"]
        {
            let found = session.request(asked, at(place(&text, "lamp of", 0, 4))).expect("an answer");
            assert_eq!(found, Value::Null, "{asked}");
        }
    }
}

#[test]
fn hover_hints_and_lenses_stand_where_they_belong() {
    let text = crlf();
    let mut session = opened(&text);
    let hover = |session: &mut Session, piece: &str, nth: usize| {
        let found = session.request("textDocument/hover", at(place(&text, piece, nth, 0))).expect("an answer");
        (found["contents"]["value"].as_str().unwrap_or("").to_owned(), slice(&text, &found["range"]).to_owned())
    };
    let (said, word) = hover(&mut session, "\u{c9}1", 0);
    // 12 V over two lamps of 6 ohm each (Ohm's law).
    assert!(said.contains("6.00 V") && said.contains("1.00 A"), "{said}");
    assert_eq!(word, "\u{c9}1");
    let (said, word) = hover(&mut session, "Left", 1);
    assert!(said.contains("Left"), "{said}");
    assert_eq!(word, "Left.in");
    let all = with(
        document(),
        "range",
        json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } }),
    );
    let hints = session.request("textDocument/inlayHint", all).expect("hints");
    let lines: Vec<String> = hints
        .as_array()
        .expect("a list")
        .iter()
        .map(|hint| {
            let line = hint["position"]["line"].as_u64().expect("a line") as usize;
            format!(
                "{}|{}",
                text.lines().nth(line).expect("a line of the text").trim(),
                hint["label"].as_str().expect("text")
            )
        })
        .collect();
    assert!(lines.contains(&"battery B1 = 12 V|1.00 A, 12.0 V".to_owned()), "{lines:#?}");
    assert!(lines.contains(&"battery B1 = 9V|1.50 A, 9.00 V".to_owned()), "{lines:#?}");
    assert!(lines.contains(&"> battery B1 = 4.5 V|0 A, 4.50 V".to_owned()), "{lines:#?}");
    let lenses = session.request("textDocument/codeLens", document()).expect("lenses");
    let blocks: Vec<u64> = lenses
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|lens| lens["command"]["arguments"][0]["block"].as_u64())
        .collect();
    assert!(blocks.contains(&0), "{blocks:?}");
}

#[test]
fn completion_and_signatures_between_fences() {
    for text in [NOTES.to_owned(), crlf()] {
        let newline = if text.contains('\r') { "\r\n" } else { "\n" };
        let mut session = opened(&text);
        for (version, (behind, typed, offers, others)) in [
            ("B1+ -- \u{c9}1 -- @fork -- L2 -- B1-", format!("{newline}@f"), "fork", "mid"),
            ("   Left.out -- B1-", format!("{newline}   Le"), "Left", "L2"),
            ("> B1+ -- L1 -- @mid", format!("{newline}> @m"), "mid", "fork"),
        ]
        .into_iter()
        .enumerate()
        {
            let new = text.replacen(behind, &format!("{behind}{typed}"), 1);
            session.change(URI, version as i64 + 2, None, &new);
            let end = new.find(&format!("{behind}{typed}")).expect("there") + behind.len() + typed.len();
            let line = new[..end].matches('\n').count();
            let column = new[..end].rsplit('\n').next().expect("a line").encode_utf16().count();
            let position = json!({ "line": line, "character": column });
            let items = session.request("textDocument/completion", at(position)).expect("items");
            let items = items.as_array().expect("a list");
            let find =
                |name: &str| items.iter().find(|item| item["label"].as_str().is_some_and(|label| label.contains(name)));
            let item = find(offers).unwrap_or_else(|| panic!("{offers} is offered for {typed:?}"));
            assert!(find(others).is_none(), "{others} belongs to another circuit");
            let done = apply(&new, &json!([item["textEdit"]]));
            let begun = typed.trim_start_matches(['\r', '\n', ' ', '>', '@']).len();
            assert_eq!(done, format!("{}{offers}{}", &new[..end - begun], &new[end..]));
        }
        session.change(URI, 9, None, &text.replacen("> B1+", &format!("> resistor R1 = 5 ohm, {newline}> B1+"), 1));
        let new = text.replacen("> B1+", &format!("> resistor R1 = 5 ohm, {newline}> B1+"), 1);
        let help = session.request("textDocument/signatureHelp", at(place(&new, "5 ohm,", 0, 6))).expect("help");
        assert!(help["signatures"][0]["label"].as_str().is_some_and(|label| label.starts_with("resistor")), "{help}");
    }
}

#[test]
fn a_fence_that_nothing_closes_yet_is_completed_at_the_very_end() {
    let text = "# Quay\n\n```ohmline\nbattery B1 = 9 V\nlamp Lantern = 6 ohm\nB1+ -- Lan";
    let mut session = opened(text);
    let items = session.request("textDocument/completion", at(json!({ "line": 5, "character": 10 }))).expect("items");
    assert!(items.as_array().expect("a list").iter().any(|item| item["label"] == "Lantern"), "{items}");
}

#[test]
fn colors_of_every_circuit() {
    for text in [NOTES.to_owned(), crlf()] {
        let mut session = opened(&text);
        let found = session.request("textDocument/semanticTokens/full", document()).expect("tokens");
        let data: Vec<u64> = found["data"].as_array().expect("numbers").iter().filter_map(Value::as_u64).collect();
        let (mut line, mut column) = (0, 0);
        let mut words = Vec::new();
        for token in data.chunks(5) {
            column = if token[0] == 0 { column + token[1] } else { token[1] };
            line += token[0];
            let range = json!({ "start": { "line": line, "character": column }, "end": { "line": line, "character": column + token[2] } });
            words.push(slice(&text, &range).to_owned());
        }
        for word in ["circuit", "\u{c9}1", "@fork", "lantern", "Left", "L1", "@mid"] {
            assert!(words.iter().any(|own| own.starts_with(word)), "{word} of {words:?}");
        }
        assert_eq!(words.iter().filter(|word| *word == "battery").count(), 3);
        assert!(words.iter().all(|word| !word.contains(['`', '>', '~', '\n', '\r'])), "{words:?}");
        let asked = with(
            document(),
            "range",
            json!({ "start": place(&text, "> battery", 0, 0), "end": place(&text, "> lamp", 0, 0) }),
        );
        let found = session.request("textDocument/semanticTokens/range", asked).expect("tokens");
        assert!(found["data"].as_array().is_some_and(|data| !data.is_empty()));
    }
}

#[test]
fn formatting_touches_the_circuits_alone() {
    for text in [NOTES.to_owned(), crlf()] {
        let mut session = opened(&text);
        let asked = with(document(), "options", json!({ "tabSize": 2, "insertSpaces": true }));
        let edits = session.request("textDocument/formatting", asked.clone()).expect("edits");
        let tidy = apply(&text, &edits);
        let wanted = text
            .replace("battery B1 = 12 V", "battery B1     = 12 V")
            .replace("lamp \u{c9}1", "lamp    \u{c9}1")
            .replace("   lamp  D1=6ohm", "     lamp D1 = 6 ohm")
            .replace("   @in -- D1", "     @in -- D1")
            .replace("B1 = 9V", "B1 = 9 V")
            .replace("> lamp L1 =9 ohm", "> lamp    L1 = 9 ohm");
        assert_eq!(tidy, wanted);
        session.change(URI, 2, None, &tidy);
        let again = session.request("textDocument/formatting", asked.clone()).expect("edits");
        assert_eq!(again, json!([]));
        // The lines of a range, which may begin before a circuit and end behind another.
        session.change(URI, 3, None, &text);
        let range = json!({ "start": { "line": 0, "character": 0 }, "end": place(&text, "> B1+", 0, 0) });
        let edits =
            session.request("textDocument/rangeFormatting", with(asked.clone(), "range", range)).expect("edits");
        assert_eq!(apply(&text, &edits), wanted);
        let range = json!({ "start": place(&text, "The lamp", 0, 0), "end": place(&text, "The lamp", 0, 4) });
        let edits = session.request("textDocument/rangeFormatting", with(asked, "range", range)).expect("edits");
        assert_eq!(edits, json!([]));
    }
}

#[test]
fn outline_folds_and_selections() {
    let text = crlf();
    let mut session = opened(&text);
    let found = session.request("textDocument/documentSymbol", document()).expect("symbols");
    let names: Vec<&str> = found.as_array().expect("a list").iter().filter_map(|one| one["name"].as_str()).collect();
    assert_eq!(names, ["Pier", "circuit in line 13", "circuit in line 26"]);
    for symbol in found.as_array().expect("a list") {
        let own = slice(&text, &symbol["range"]);
        assert!(own.contains("battery B1") && !own.contains("```"), "{own}");
        assert!(own.contains(slice(&text, &symbol["selectionRange"])));
        assert!(symbol["children"].as_array().is_some_and(|children| children.len() >= 2), "{symbol}");
    }
    let folds = session.request("textDocument/foldingRange", document()).expect("folds");
    let part = place(&text, "part lantern", 0, 0)["line"].clone();
    assert!(folds.as_array().expect("a list").iter().any(|fold| fold["startLine"] == part), "{folds}");
    // One cursor in each of two circuits, and one outside.
    let positions = json!([place(&text, "fork", 0, 1), place(&text, "mid", 0, 1), place(&text, "The lamp", 0, 1)]);
    let found =
        session.request("textDocument/selectionRange", with(document(), "positions", positions)).expect("ranges");
    let chain = |nth: usize| {
        let mut own = &found[nth];
        let mut texts = Vec::new();
        while own["range"].is_object() {
            texts.push(slice(&text, &own["range"]));
            own = &own["parent"];
        }
        texts
    };
    assert_eq!(chain(0).first(), Some(&"@fork"));
    assert!(chain(0).last().is_some_and(|whole| whole.starts_with("circuit \"Pier\"") && !whole.contains("```")));
    assert_eq!(chain(1).first(), Some(&"@mid"));
    assert!(chain(1).last().is_some_and(|whole| whole.contains("B1 = 4.5 V") && !whole.contains("Left")));
    assert_eq!(chain(2), [""]);
}

#[test]
fn what_a_fix_or_a_rewriting_writes_stays_between_the_fences() {
    for text in [NOTES.to_owned(), crlf()] {
        let mut session = opened(&text);
        for (piece, nth) in [("L2", 0), ("Left", 0), ("L1", 0)] {
            let range = json!({ "start": place(&text, piece, nth, 0), "end": place(&text, piece, nth, 0) });
            let asked = with(with(document(), "range", range), "context", json!({ "diagnostics": [] }));
            let actions = session.request("textDocument/codeAction", asked).expect("actions");
            let actions = actions.as_array().expect("a list");
            if piece != "Left" {
                assert!(!actions.is_empty(), "{piece}");
            }
            for action in actions {
                let new = apply(&text, &action["edit"]["documentChanges"][0]["edits"]);
                // The prose and the fences are what they were, and every line of the quote is one still.
                let prose = |text: &str| -> Vec<String> {
                    text.lines()
                        .filter(|line| line.contains(['#', '`', '~']) || line.contains("In a "))
                        .map(str::to_owned)
                        .collect()
                };
                let own: Vec<String> = prose(&new)
                    .into_iter()
                    .filter(|line| !line.trim_start_matches(['>', ' ']).starts_with("# ") || line.contains("Harbor"))
                    .collect();
                assert_eq!(own, prose(&text), "{}", action["title"]);
                let from = new.find("> ~~~ ohmline").expect("the quote");
                let to = from + 1 + new[from + 1..].find("> ~~~").expect("its end");
                assert!(new[from..to].lines().all(|line| line.starts_with("> ")), "{}\n{new}", action["title"]);
                let from = new.find("   ```ohmline").expect("the list");
                let to = from + 4 + new[from + 4..].find("   ```").expect("its end");
                assert!(
                    new[from..to].lines().all(|line| line.trim().is_empty() || line.starts_with("   ")),
                    "{}\n{new}",
                    action["title"]
                );
                // And it is a change of this circuit: the others are as they were.
                session.change(URI, 2, None, &new);
                let all = session.request("textDocument/documentSymbol", document()).expect("symbols");
                assert_eq!(all.as_array().map(Vec::len), Some(3), "{}\n{new}", action["title"]);
                session.change(URI, 3, None, &text);
            }
        }
    }
}

#[test]
fn diagnostics_name_their_version_and_go_when_the_fence_goes() {
    let mut session = Session::start(able());
    let text = "- ```ohmline\n  battery B1 = 6 ohm # \u{1f319}\n  ```\n";
    let document = json!({ "uri": URI, "languageId": "markdown", "version": 4, "text": text });
    session.notify("textDocument/didOpen", json!({ "textDocument": document }));
    let last = session.published(URI).pop().expect("published");
    assert_eq!(last["version"], 4);
    let found = last["diagnostics"].as_array().expect("a list");
    let wrong = found.iter().find(|one| one["severity"] == 1).expect("an error");
    assert!(slice(text, &wrong["range"]).contains("ohm"), "{wrong}");
    session.change(URI, 5, Some([0, 5, 0, 12]), "text");
    let last = session.published(URI).pop().expect("published again");
    assert_eq!((&last["version"], &last["diagnostics"]), (&json!(5), &json!([])));
}

#[test]
fn a_page_of_the_circuit_at_the_cursor() {
    let mut session = opened(NOTES);
    let line = place(NOTES, "> lamp", 0, 0)["line"].clone();
    let asked = json!({ "command": "ohmline.openPreview", "arguments": [{ "uri": URI, "line": line }] });
    let quoted = session.request("workspace/executeCommand", asked).expect("an address");
    let asked = json!({ "command": "ohmline.openPreview", "arguments": [{ "uri": URI, "block": 2 }] });
    assert_eq!(session.request("workspace/executeCommand", asked).expect("an address"), quoted);
    let asked = json!({ "command": "ohmline.openPreview", "arguments": [{ "uri": URI, "line": 0 }] });
    let first = session.request("workspace/executeCommand", asked).expect("an address");
    assert_ne!(first, quoted);
}

/// For panels of an editor's own: the circuit without its fence and without the quote around it.
#[test]
fn the_text_of_the_circuit_at_the_cursor() {
    let mut session = opened("# Notes\n\n> ```ohmline\n> lamp L1 = 3 ohm\n> ```\n\n```ohmline\nlamp L2 = 4 ohm\n```\n");
    let mut read = |place: Value| {
        let asked = json!({ "command": "ohmline.readCircuit", "arguments": [place] });
        let found = session.request("workspace/executeCommand", asked).expect("a circuit");
        // What stands around it is blank, so that its lines have the numbers that they have in the document.
        let text = found["text"].as_str().expect("text");
        let line = text.lines().position(|line| !line.trim().is_empty()).expect("a line");
        (text.trim().to_owned(), line, found["block"].as_u64())
    };
    assert_eq!(read(json!({ "uri": URI, "line": 3 })), ("lamp L1 = 3 ohm".to_owned(), 3, Some(0)));
    assert_eq!(read(json!({ "uri": URI, "block": 1 })), ("lamp L2 = 4 ohm".to_owned(), 7, Some(1)));
}

#[test]
fn folds_are_of_the_circuits_alone() {
    // Headings and quotes of the prose look like comments and more.
    let text = "# One\n# Two\n# Three\n\n> # Quoted\n> # heading\n>\n> ```ohmline\n> # Lamps of\n> # the pier\n> \
        repeat k from 1 to 3\n>   lamp L{k} = 6 ohm\n> end\n> ```\n\n```ohmline\n# alone\nbattery B1 = 3 V\n```\n";
    for text in [text.to_owned(), text.replace('\n', "\r\n")] {
        let mut session = opened(&text);
        let found = session.request("textDocument/foldingRange", document()).expect("folds");
        let folds: Vec<_> = found
            .as_array()
            .expect("a list")
            .iter()
            .map(|fold| (fold["startLine"].as_u64(), fold["endLine"].as_u64(), fold["kind"].as_str()))
            .collect();
        assert_eq!(folds, [(Some(8), Some(9), Some("comment")), (Some(10), Some(12), Some("region"))]);
    }
}

#[test]
fn names_of_every_circuit_are_found_in_the_workspace() {
    for text in [NOTES.to_owned(), crlf()] {
        let mut session = opened(&text);
        // The symbols are those of the last analysis.
        session.request("textDocument/documentSymbol", document()).expect("symbols");
        for (query, name, pieces) in [
            ("lantern", "lantern", vec![("lantern(in", 0)]),
            ("left", "Left", vec![("Left", 0)]),
            ("b1", "B1", vec![("B1 = 12", 0), ("B1 = 9V", 0), ("B1 = 4.5", 0)]),
        ] {
            let found = session.request("workspace/symbol", json!({ "query": query })).expect("symbols");
            let found: Vec<&Value> =
                found.as_array().expect("a list").iter().filter(|one| one["name"] == name).collect();
            let mut starts: Vec<&Value> = found.iter().map(|one| &one["location"]["range"]["start"]).collect();
            starts.sort_by_key(|start| start["line"].as_u64());
            let wanted: Vec<Value> = pieces.iter().map(|(piece, nth)| place(&text, piece, *nth, 0)).collect();
            assert_eq!(starts, wanted.iter().collect::<Vec<_>>(), "{query}");
            assert!(found.iter().all(|one| one["location"]["uri"] == URI));
        }
    }
}

#[test]
fn lenses_stand_over_their_lines_and_open_their_circuit() {
    let text = "# Notes\n\n```ohmline\nbattery B1 = 3 V\nB1+ -- B1-\n```\n\n> ```ohmline\n> circuit \"\u{1f6a2} Quay\"\n> battery B1 = 3 V\n> \
        lamp L1 = 6 ohm\n> B1+ -- L1 -- B1-\n> find current through L1\n> ```\n";
    for text in [text.to_owned(), text.replace('\n', "\r\n")] {
        let mut session = opened(&text);
        let found = session.request("textDocument/codeLens", document()).expect("lenses");
        let lenses = found.as_array().expect("a list");
        let over = |piece: &str| -> Vec<&Value> {
            let line = &place(&text, piece, 0, 0)["line"];
            lenses.iter().filter(|lens| lens["range"]["start"]["line"] == *line).collect()
        };
        // 3 V over 6 ohm (Ohm's law).
        let asked = over("find current");
        assert!(
            asked.iter().any(|lens| lens["command"]["title"].as_str().is_some_and(|title| title.contains("500 mA")))
        );
        for lens in asked.iter().chain(&over("circuit \"")) {
            assert_eq!(lens["command"]["arguments"][0]["block"], 1, "{lens}");
            assert!(!slice(&text, &lens["range"]).contains(['>', '`']), "{lens}");
        }
        assert!(!over("circuit \"").is_empty());
        // What a lens opens is there.
        let lens = asked.first().expect("found above");
        let asked = json!({ "command": lens["command"]["command"], "arguments": lens["command"]["arguments"] });
        let answer = session.request("workspace/executeCommand", asked).expect("an address");
        assert!(answer["address"].as_str().is_some_and(|uri| uri.starts_with("http://127.0.0.1")), "{answer}");
    }
}

/// A part that two circuits of a document include, which nobody else speaks of.
#[test]
fn what_is_included_between_fences_is_renamed_in_its_file_and_in_every_circuit() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = std::fs::canonicalize(folder.path()).expect("it exists");
    let kit = "part lantern(in, out)\n  lamp L = 6 ohm\n  @in -- L -- @out\nend\n";
    std::fs::write(folder.join("kit.ohmline"), kit).expect("written");
    let text = "# Notes\n\n- ```ohmline\n  include \"kit.ohmline\"\n  lantern West\n  ```\n\n> ```ohmline\n> include \"kit.ohmline\"\n> \
        lantern East, North\n> @East.in -- @North.out\n> ```\n";
    let uri = format!("file://{}", folder.join("notes.md").display());
    let mut session = Session::start(able());
    let document = json!({ "uri": uri, "languageId": "markdown", "version": 1, "text": text });
    session.notify("textDocument/didOpen", json!({ "textDocument": document }));
    for (piece, new, own, kits) in [("lantern West", "lampion", 2, 1), ("in -- @North", "first", 1, 2)] {
        let asked = json!({ "textDocument": { "uri": uri }, "position": place(text, piece, 0, 0), "newName": new });
        let edit = session.request("textDocument/rename", asked).expect("edits");
        let changed = edit["documentChanges"].as_array().expect("files");
        let of = |name: &str| {
            let found =
                changed.iter().find(|one| one["textDocument"]["uri"].as_str().is_some_and(|uri| uri.ends_with(name)));
            found.expect("changed").clone()
        };
        assert_eq!(changed.len(), 2);
        let (notes, file) = (apply(text, &of("notes.md")["edits"]), apply(kit, &of("kit.ohmline")["edits"]));
        assert_eq!((notes.matches(new).count(), file.matches(new).count()), (own, kits), "{notes}\n{file}");
        assert_eq!(notes.replace(new, piece.split(' ').next().expect("a word")), text);
    }
}
