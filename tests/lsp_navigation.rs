//! Whole sessions about finding one's way: definitions, references, renames, outlines.

mod lsp_client;

use lsp_client::{Session, able};
use serde_json::{Value, json};

const URI: &str = "file:///harbour/quay.ohmline";

/// Non-ASCII names, a wide character, a combining mark, a tab and two kinds of line end before everything of interest.
const QUAY: &str = "## \u{1f6a2} e\u{301}\r\nbattery\tB1 = 12 V # \u{b5}\u{3a9}\r\nlamp \u{c9}clair, L2 = 6 ohm\nB1+ -- \u{c9}clair -- @fork -- L2 -- B1-\n\
    claim \u{c9}clair, L2 in series\ncase \"dusk \u{1f319}\": L2 = open\nfind current through \u{c9}clair in \"dusk \u{1f319}\"\n";

/// The place of a piece of text, its columns counted as an encoding counts them.
fn place(text: &str, piece: &str, nth: usize, encoding: &str) -> Value {
    let (at, _) = text.match_indices(piece).nth(nth).expect("in the text");
    let line = text[..at].matches('\n').count();
    let start = text[..at].rfind('\n').map_or(0, |newline| newline + 1);
    let before = &text[start..at];
    let character = match encoding {
        "utf-8" => before.len(),
        "utf-16" => before.encode_utf16().count(),
        _ => before.chars().count(),
    };
    json!({ "line": line, "character": character })
}

fn at(position: &Value) -> Value {
    json!({ "textDocument": { "uri": URI }, "position": position })
}

fn with(mut params: Value, name: &str, value: Value) -> Value {
    params[name] = value;
    params
}

#[test]
fn places_in_every_encoding() {
    for encoding in ["utf-8", "utf-16", "utf-32"] {
        let mut client = able();
        client["general"]["positionEncodings"] = json!([encoding]);
        let mut session = Session::start(client);
        session.open(URI, 1, QUAY);
        let place = |piece: &str, nth: usize| place(QUAY, piece, nth, encoding);
        let name = "\u{c9}clair";
        let found = session.request("textDocument/definition", at(&place(name, 3))).expect("a place");
        assert_eq!(found["range"]["start"], place(name, 0), "{encoding}");
        let asked = with(at(&place(name, 0)), "context", json!({ "includeDeclaration": false }));
        let found = session.request("textDocument/references", asked).expect("places");
        let starts: Vec<&Value> = found.as_array().expect("places").iter().map(|one| &one["range"]["start"]).collect();
        assert_eq!(starts, [&place(name, 1), &place(name, 2), &place(name, 3)], "{encoding}");
        let found = session.request("textDocument/prepareRename", at(&place(name, 2))).expect("a range");
        assert_eq!(found["start"], place(name, 2), "{encoding}");
        let asked = with(at(&place(name, 2)), "newName", json!("Flash"));
        let edit = session.request("textDocument/rename", asked).expect("edits");
        let edits = edit["documentChanges"][0]["edits"].as_array().expect("edits");
        assert_eq!(edit["documentChanges"][0]["textDocument"]["version"], 1);
        assert_eq!(edits.len(), 4);
        assert!(edits.iter().enumerate().all(|(nth, edit)| edit["range"]["start"] == place(name, nth)), "{encoding}");
        let found = session.request("textDocument/documentHighlight", at(&place("dusk", 1))).expect("places");
        assert_eq!(found.as_array().map(Vec::len), Some(2), "{encoding}");
    }
}

#[test]
fn a_refusal_says_why() {
    let mut session = Session::start(able());
    session.open(URI, 1, QUAY);
    let asked = with(at(&place(QUAY, "L2", 0, "utf-16")), "newName", json!("B1"));
    let refused = session.request("textDocument/rename", asked).expect_err("it is taken");
    assert_eq!(refused["message"], "`B1` is taken already, in line 2 of quay.ohmline");
    let refused =
        session.request("textDocument/prepareRename", at(&place(QUAY, "series", 0, "utf-16"))).expect_err("a word");
    assert_eq!(refused["message"], "There is no name here to change");
}

#[test]
fn wild_positions_find_nothing_or_the_nearest() {
    let mut session = Session::start(able());
    session.open(URI, 1, QUAY);
    for (line, character) in [(0, 999_999), (999, 0), (4_294_967_295u64, 4_294_967_295u64), (2, 7)] {
        let position = json!({ "line": line, "character": character });
        for method in ["definition", "documentHighlight", "hover"] {
            session.request(&format!("textDocument/{method}"), at(&position)).expect("an answer");
        }
        let asked = json!({ "textDocument": { "uri": URI }, "positions": [position] });
        let grown = session.request("textDocument/selectionRange", asked).expect("an answer");
        assert_eq!(grown.as_array().map(Vec::len), Some(1));
    }
}

#[test]
fn outline_folds_and_symbols() {
    let mut session = Session::start(able());
    let text = "circuit \"Quay\"\npart lantern(in, out)\n  lamp L = 6 ohm\n  @in -- L -- @out\nend\nbattery B1 = 6 V\nlantern West\nB1+ -- West -- B1-\n";
    session.open(URI, 1, text);
    let document = json!({ "textDocument": { "uri": URI } });
    let outline = session.request("textDocument/documentSymbol", document.clone()).expect("an outline");
    assert_eq!(outline[0]["name"], "Quay");
    let names: Vec<&str> =
        outline[0]["children"].as_array().expect("children").iter().filter_map(|one| one["name"].as_str()).collect();
    assert_eq!(names, ["lantern", "B1", "West"]);
    assert_eq!(outline[0]["children"][0]["children"][0]["name"], "L");
    let folds = session.request("textDocument/foldingRange", document).expect("folds");
    assert_eq!((folds[0]["startLine"].as_u64(), folds[0]["endLine"].as_u64()), (Some(1), Some(4)));
    let found = session.request("workspace/symbol", json!({ "query": "wst" })).expect("symbols");
    assert_eq!(found[0]["name"], "West");
}

/// On real files: from the use of a part to its definition in the file that is included, and a rename over both.
#[test]
fn across_included_files() {
    let folder = std::fs::canonicalize(concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples")).expect("samples");
    let text = std::fs::read_to_string(folder.join("promenade.ohmline")).expect("a sample");
    let kit = std::fs::read_to_string(folder.join("kit.ohmline")).expect("a sample");
    let uri = format!("file://{}", folder.join("promenade.ohmline").display());
    let mut session = Session::start(able());
    session.open(&uri, 1, &text);
    let at = |piece: &str, shift: u64| {
        let mut position = place(&text, piece, 0, "utf-16");
        position["character"] = json!(position["character"].as_u64().unwrap_or(0) + shift);
        json!({ "textDocument": { "uri": uri }, "position": position })
    };
    let found = session.request("textDocument/definition", at("lantern West", 2)).expect("a place");
    assert!(found["uri"].as_str().is_some_and(|uri| uri.ends_with("/kit.ohmline")));
    assert_eq!(found["range"]["start"], place(&kit, "lantern(in", 0, "utf-16"));
    let links = session.request("textDocument/documentLink", json!({ "textDocument": { "uri": uri } })).expect("links");
    assert!(links[0]["target"].as_str().is_some_and(|uri| uri.ends_with("/kit.ohmline")));
    let edit = session
        .request("textDocument/rename", with(at("lantern West", 2), "newName", json!("lampion")))
        .expect("edits");
    let changed = edit["documentChanges"].as_array().expect("files");
    assert_eq!(changed.len(), 2);
    // The kit is not open, so its edits are for whatever version is on the disk.
    assert!(changed.iter().any(|one| one["textDocument"]["version"].is_null()));
}

/// From the kit, which itself includes nothing: the open circuits that include it are renamed with it, and their answers stay.
#[test]
fn what_includes_a_file_is_renamed_with_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = std::fs::canonicalize(folder.path()).expect("it exists");
    let kit = "let flat = 4.5 V\npart lantern(in, out)\n  lamp L = 6 ohm\n  @in -- L -- @out\nend\n";
    let pier =
        "include \"kit.ohmline\"\nbattery B1 = flat\nlantern West\nB1+ -- West -- B1-\nfind current through West.L\n";
    let quay = "# \u{1f6a2}\ninclude \"kit.ohmline\"\nsource V1 = 3 V\nlantern East\nV1+ -- East -- V1-\n";
    let uri = |name: &str| format!("file://{}", folder.join(name).display());
    let mut session = Session::start(able());
    for (name, text) in [("kit.ohmline", kit), ("pier.ohmline", pier), ("quay.ohmline", quay)] {
        std::fs::create_dir_all(&folder).expect("a folder");
        std::fs::write(folder.join(name), text).expect("written");
        session.open(&uri(name), 3, text);
    }
    let at = |name: &str, text: &str, piece: &str| json!({ "textDocument": { "uri": uri(name) }, "position": place(text, piece, 0, "utf-16") });
    let count = |edit: &Value| {
        let mut found: Vec<(String, usize)> = edit["documentChanges"]
            .as_array()
            .expect("files")
            .iter()
            .map(|one| {
                assert_eq!(one["textDocument"]["version"], 3);
                let file = one["textDocument"]["uri"].as_str().expect("an address").rsplit('/').next();
                (file.expect("a name").to_owned(), one["edits"].as_array().expect("edits").len())
            })
            .collect();
        found.sort();
        found
    };
    let three = [("kit.ohmline", 1), ("pier.ohmline", 1), ("quay.ohmline", 1)].map(|(name, n)| (name.to_owned(), n));
    // The part: from its declaration, and from one of the circuits that use it.
    for from in [at("kit.ohmline", kit, "lantern("), at("pier.ohmline", pier, "lantern West")] {
        let edit = session.request("textDocument/rename", with(from.clone(), "newName", json!("lampion")));
        assert_eq!(count(&edit.expect("edits")), three);
        let asked = with(from, "context", json!({ "includeDeclaration": true }));
        let found = session.request("textDocument/references", asked).expect("places");
        assert_eq!(found.as_array().map(Vec::len), Some(3));
    }
    // An element in its body, spoken of through a copy.
    let edit = session
        .request("textDocument/rename", with(at("kit.ohmline", kit, "L = 6"), "newName", json!("Amber")))
        .expect("edits");
    assert_eq!(count(&edit), [("kit.ohmline".to_owned(), 2), ("pier.ohmline".to_owned(), 1)]);
    // A name that is taken in one of the others, where the kit alone would have allowed it.
    let refused = session
        .request("textDocument/rename", with(at("kit.ohmline", kit, "flat"), "newName", json!("B1")))
        .expect_err("pier.ohmline has a battery of that name");
    assert!(refused["message"].as_str().is_some_and(|why| why.starts_with("`B1` ")), "{refused}");
}

/// A folder of files, a session that has the folder open, and the texts by name.
struct Quay {
    folder: std::path::PathBuf,
    session: Session,
    // Removed when dropped.
    _kept: tempfile::TempDir,
}

impl Quay {
    fn new(files: &[(&str, &str)], folders: &[&str]) -> Self {
        let kept = tempfile::tempdir().expect("a folder");
        let folder = std::fs::canonicalize(kept.path()).expect("it exists");
        for (name, text) in files {
            let path = folder.join(name);
            std::fs::create_dir_all(path.parent().expect("it lies in the folder")).expect("a folder");
            std::fs::write(path, text).expect("written");
        }
        let mut session = Session::spawn();
        let open = |name: &&str| json!({ "uri": format!("file://{}", folder.join(name).display()), "name": name });
        let folders: Vec<Value> = folders.iter().map(open).collect();
        let params = json!({ "processId": null, "rootUri": null, "workspaceFolders": folders, "capabilities": able() });
        session.request("initialize", params).expect("an answer");
        session.notify("initialized", json!({}));
        Self { folder, session, _kept: kept }
    }

    fn uri(&self, name: &str) -> String {
        format!("file://{}", self.folder.join(name).display())
    }

    fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.folder.join(name)).expect("it is there")
    }

    fn open(&mut self, name: &str) {
        let (uri, text) = (self.uri(name), self.text(name));
        self.session.open(&uri, 1, &text);
    }

    fn at(&self, name: &str, piece: &str) -> Value {
        json!({ "textDocument": { "uri": self.uri(name) }, "position": place(&self.text(name), piece, 0, "utf-16") })
    }

    /// Renames what stands at a piece of a file: how many places of each file change, or the refusal.
    fn rename(&mut self, name: &str, piece: &str, new: &str) -> Result<Vec<(String, usize)>, String> {
        let asked = with(self.at(name, piece), "newName", json!(new));
        let edit = self.session.request("textDocument/rename", asked);
        let edit = edit.map_err(|why| why["message"].as_str().unwrap_or_default().to_owned())?;
        let root = self.uri("");
        let mut found: Vec<(String, usize)> = edit["documentChanges"]
            .as_array()
            .expect("files")
            .iter()
            .map(|one| {
                let file = one["textDocument"]["uri"].as_str().and_then(|uri| uri.strip_prefix(&root));
                (file.expect("in the folder").to_owned(), one["edits"].as_array().expect("edits").len())
            })
            .collect();
        found.sort();
        Ok(found)
    }

    fn references(&mut self, name: &str, piece: &str) -> usize {
        let asked = with(self.at(name, piece), "context", json!({ "includeDeclaration": true }));
        let found = self.session.request("textDocument/references", asked).expect("places");
        found.as_array().expect("a list").len()
    }

    /// Writes a file, and says so as an editor does that was asked to watch.
    fn write(&mut self, name: &str, text: &str) {
        std::fs::write(self.folder.join(name), text).expect("written");
        let change = json!({ "uri": self.uri(name), "type": 2 });
        self.session.notify("workspace/didChangeWatchedFiles", json!({ "changes": [change] }));
    }
}

fn counts(found: &[(&str, usize)]) -> Vec<(String, usize)> {
    found.iter().map(|(name, count)| ((*name).to_owned(), *count)).collect()
}

const KIT: &str = "let flat = 4.5 V\npart lantern(in, out), glow 6 ohm\n  lamp L = glow\n  @in -- L -- @mid\n  @mid -- @out\nend\nlamp Spare = 1 ohm\n";
const PIER: &str = "include \"kit.ohmline\"\nbattery B1 = flat\nlantern West\nB1+ -- @West.in\n@West.out -- B1-\nfind current through West.L\n";

/// Nobody has opened the files that include the kit: they are found in the folder of the editor and renamed with it.
#[test]
fn files_that_nobody_has_opened_are_renamed_too() {
    let notes = "# Notes\n\n```ohmline\nbattery B1 = 3 V\nB1+ -- B1-\n```\n\n> ```ohmline\n> include \"kit.ohmline\"\n> lantern East\n> @East.in -- @East.out\n> ```\n";
    let files = [
        ("kit.ohmline", KIT),
        ("pier.ohmline", PIER),
        // By way of another file.
        ("kit2.ohmline", "include \"kit.ohmline\"\n"),
        (
            "quay.ohmline",
            "# \u{1f6a2}\ninclude \"kit2.ohmline\"\nlantern North, South, glow 3 ohm\n@North.mid -- @South.in\n",
        ),
        ("notes.md", notes),
        // Another part of the same name, and files that have nothing to do with it.
        ("lights/kit.ohmline", KIT),
        ("lights/fog.ohmline", "include \"kit.ohmline\"\nlantern Fog\n"),
        ("alone.ohmline", "part lantern(in, out)\nend\nlantern West\n"),
    ];
    let mut quay = Quay::new(&files, &[""]);
    quay.open("kit.ohmline");
    let all = counts(&[("kit.ohmline", 1), ("notes.md", 1), ("pier.ohmline", 1), ("quay.ohmline", 1)]);
    assert_eq!(quay.rename("kit.ohmline", "lantern(", "lampion"), Ok(all));
    assert_eq!(quay.references("kit.ohmline", "lantern("), 4);
    // A port, a junction inside, an element inside, a parameter, a value.
    let port = counts(&[("kit.ohmline", 2), ("notes.md", 1), ("pier.ohmline", 1), ("quay.ohmline", 1)]);
    assert_eq!(quay.rename("kit.ohmline", "in, out", "first"), Ok(port));
    assert_eq!(quay.references("kit.ohmline", "in, out"), 5);
    let mid = counts(&[("kit.ohmline", 2), ("quay.ohmline", 1)]);
    assert_eq!(quay.rename("kit.ohmline", "mid", "middle"), Ok(mid));
    assert_eq!(quay.rename("kit.ohmline", "L = glow", "Amber"), Ok(counts(&[("kit.ohmline", 2), ("pier.ohmline", 1)])));
    assert_eq!(
        quay.rename("kit.ohmline", "glow 6", "filament"),
        Ok(counts(&[("kit.ohmline", 2), ("quay.ohmline", 1)]))
    );
    assert_eq!(quay.rename("kit.ohmline", "flat", "supply"), Ok(counts(&[("kit.ohmline", 1), ("pier.ohmline", 1)])));
    // What no other file can speak of.
    assert_eq!(quay.rename("kit.ohmline", "Spare", "Old"), Ok(counts(&[("kit.ohmline", 1)])));
    // A name that a file has taken which nobody has opened.
    let refused = quay.rename("kit.ohmline", "flat", "B1").expect_err("pier.ohmline has one");
    assert!(refused.starts_with("`B1` "), "{refused}");
    // From one of those that include it, and from the quote in the notes.
    quay.open("pier.ohmline");
    assert_eq!(quay.references("pier.ohmline", "lantern West"), 4);
    let (uri, text) = (quay.uri("notes.md"), quay.text("notes.md"));
    let document = json!({ "uri": uri, "languageId": "markdown", "version": 1, "text": text });
    quay.session.notify("textDocument/didOpen", json!({ "textDocument": document }));
    let all = counts(&[("kit.ohmline", 1), ("notes.md", 1), ("pier.ohmline", 1), ("quay.ohmline", 1)]);
    assert_eq!(quay.rename("notes.md", "lantern East", "lampion"), Ok(all));
}

/// What is found is kept, and is looked for anew when the editor says that a file changed, or the disk does.
#[test]
fn files_that_come_and_go_are_seen() {
    let mut quay = Quay::new(&[("kit.ohmline", KIT), ("pier.ohmline", PIER)], &[""]);
    quay.open("kit.ohmline");
    assert_eq!(quay.references("kit.ohmline", "lantern("), 2);
    quay.write("quay.ohmline", "include \"kit.ohmline\"\nlantern East\nlantern North\n");
    assert_eq!(quay.references("kit.ohmline", "lantern("), 4);
    quay.write("quay.ohmline", "include \"kit.ohmline\"\nlantern East\n# antern North\n");
    assert_eq!(quay.references("kit.ohmline", "lantern("), 3);
    // Changed in the editor, not on the disk.
    let uri = quay.uri("quay.ohmline");
    quay.session.open(&uri, 4, "include \"kit.ohmline\"\n");
    assert_eq!(quay.references("kit.ohmline", "lantern("), 2);
    quay.session.close(&uri);
    assert_eq!(quay.references("kit.ohmline", "lantern("), 3);
    std::fs::remove_file(quay.folder.join("quay.ohmline")).expect("it was there");
    assert_eq!(quay.references("kit.ohmline", "lantern("), 2);
}

/// Without a folder, the marked one around the file is looked through; else its own.
#[test]
fn without_a_folder_the_marked_one_is_looked_through() {
    let files = [
        ("lights/kit/kit.ohmline", KIT),
        ("lights/kit/beside.ohmline", PIER),
        ("lights/fog.ohmline", "include \"kit/kit.ohmline\"\nlantern Fog\n"),
    ];
    let mut quay = Quay::new(&files, &[]);
    quay.open("lights/kit/kit.ohmline");
    assert_eq!(quay.references("lights/kit/kit.ohmline", "lantern("), 2);
    // The folder of a file above it, opened later, has it too.
    let event = json!({ "added": [{ "uri": quay.uri("lights"), "name": "lights" }], "removed": [] });
    quay.session.notify("workspace/didChangeWorkspaceFolders", json!({ "event": event }));
    assert_eq!(quay.references("lights/kit/kit.ohmline", "lantern("), 3);
    let event = json!({ "added": [], "removed": [{ "uri": quay.uri("lights"), "name": "lights" }] });
    quay.session.notify("workspace/didChangeWorkspaceFolders", json!({ "event": event }));
    assert_eq!(quay.references("lights/kit/kit.ohmline", "lantern("), 2);
    quay.write("lights/ohmline.toml", "");
    assert_eq!(quay.references("lights/kit/kit.ohmline", "lantern("), 3);
}

/// A file that cannot be looked at may hold the old name still: the user is told.
#[test]
fn what_could_not_be_looked_through_is_said() {
    let mut quay = Quay::new(&[("kit.ohmline", KIT), ("pier.ohmline", PIER)], &[""]);
    quay.open("kit.ohmline");
    let large = std::fs::File::create(quay.folder.join("heap.ohmline")).expect("written");
    large.set_len((16 << 20) + 1).expect("written");
    let found = quay.rename("kit.ohmline", "lantern(", "lampion");
    assert_eq!(found, Ok(counts(&[("kit.ohmline", 1), ("pier.ohmline", 1)])));
    let said = quay.session.wait(|message| message["method"] == "window/showMessage");
    let text = said["params"]["message"].as_str().expect("text");
    assert!(text.contains("may still stand in files") && text.contains("heap.ohmline (it is larger"), "{text}");
}

/// What is declared in files that nobody has opened is found by name, too.
#[test]
fn symbols_of_files_that_nobody_has_opened() {
    let notes = "# Notes \u{1f6a2}\n\n> ```ohmline\n> lamp Beacon = 3 ohm\n> ```\n";
    let files = [("kit.ohmline", KIT), ("lights/pier.ohmline", PIER), ("notes.md", notes)];
    let mut quay = Quay::new(&files, &["", "lights"]);
    let find = |quay: &mut Quay, word: &str| -> Vec<(String, Value)> {
        let found = quay.session.request("workspace/symbol", json!({ "query": word })).expect("symbols");
        let root = quay.uri("");
        let one = |symbol: &Value| {
            let file = symbol["location"]["uri"].as_str().and_then(|uri| uri.strip_prefix(&root));
            (file.expect("in the folder").to_owned(), symbol["location"]["range"]["start"].clone())
        };
        found.as_array().expect("a list").iter().map(one).collect()
    };
    let at = |name: &str, text: &str, piece: &str| vec![(name.to_owned(), place(text, piece, 0, "utf-16"))];
    assert_eq!(find(&mut quay, "bea"), at("notes.md", notes, "Beacon"));
    // Once, though two of the folders hold the file.
    assert_eq!(find(&mut quay, "west"), at("lights/pier.ohmline", PIER, "West"));
    // An open file as it is in the editor.
    quay.open("notes.md");
    let uri = quay.uri("notes.md");
    quay.session.change(&uri, 2, None, &notes.replace("Beacon", "Light"));
    let document = json!({ "textDocument": { "uri": uri } });
    quay.session.request("textDocument/documentSymbol", document).expect("it is analysed");
    assert_eq!(find(&mut quay, "bea"), []);
    quay.session.close(&uri);
    assert_eq!(find(&mut quay, "bea"), at("notes.md", notes, "Beacon"));
    quay.write("notes.md", &notes.replace("Beacon", "Beam"));
    assert_eq!(find(&mut quay, "bea"), at("notes.md", notes, "Beacon"));
    assert_eq!(find(&mut quay, "beac"), []);
}
