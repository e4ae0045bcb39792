//! Settings in an editor: live, from unsaved text, from the disk, from the editor itself; the same as in the terminal.

mod lsp_client;

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use lsp_client::{Session, able};
use serde_json::{Value, json};

/// A lamp that is never placed (a warning) and a value that is never used (an info).
const PIER: &str = "battery B1 = 6 V\nresistor R1 = 12 ohm\nlamp L1 = 12 ohm\nB1+ -- R1 -- B1-\nlet spare = 3 ohm\n";

fn uri(path: &Path) -> String {
    format!("file://{}", path.display())
}

/// A session with one circuit open, in a folder of its own.
struct Pier {
    folder: tempfile::TempDir,
    session: Session,
}

impl Pier {
    fn open(options: Value) -> Self {
        let folder = tempfile::tempdir().expect("a folder for a while");
        let mut session = Session::spawn();
        session.initialize(able(), options);
        session.open(&uri(&folder.path().join("pier.ohmline")), 1, PIER);
        Self { folder, session }
    }

    fn circuit(&self) -> String {
        uri(&self.folder.path().join("pier.ohmline"))
    }

    fn settings(&self) -> String {
        uri(&self.folder.path().join("ohmline.toml"))
    }

    /// Severities (1 error, 2 warning, 3 information, 4 hint) and rules that are shown now.
    fn shown(&mut self) -> Vec<String> {
        let uri = self.circuit();
        let line = |found: &Value| format!("{} {}", found["severity"], found["code"].as_str().unwrap_or("?"));
        self.session.shown(&uri).iter().map(line).collect()
    }

    fn write(&mut self, text: Option<&str>) {
        let path = self.folder.path().join("ohmline.toml");
        let kind = match text {
            Some(text) => {
                fs::write(&path, text).expect("a file can be written");
                2
            }
            None => {
                fs::remove_file(&path).expect("it is there");
                3
            }
        };
        let change = json!({ "changes": [{ "uri": self.settings(), "type": kind }] });
        self.session.notify("workspace/didChangeWatchedFiles", change);
    }
}

const USUAL: [&str; 2] = ["2 never-placed", "3 unused-value"];

#[test]
fn unsaved_text_counts_while_it_is_open_and_the_disk_after() {
    let mut pier = Pier::open(Value::Null);
    assert_eq!(pier.shown(), USUAL);
    let file = pier.settings();
    pier.session.open(&file, 1, "[levels]\nnever-placed = \"error\"\n");
    assert_eq!(pier.shown(), ["1 never-placed", "3 unused-value"]);
    // Letter by letter, as it is typed.
    pier.session.change(&file, 2, Some([2, 0, 2, 0]), "unused-value = \"of\"\n");
    pier.session.change(&file, 3, Some([2, 18, 2, 18]), "f");
    assert_eq!(pier.shown(), ["1 never-placed"]);
    // The editor is asked to ask again for hints, which may depend on it.
    pier.session.wait_asked("workspace/inlayHint/refresh");
    pier.session.close(&file);
    assert_eq!(pier.shown(), USUAL);
    pier.write(Some("[levels]\nnever-placed = \"hint\"\n"));
    assert_eq!(pier.shown(), ["4 never-placed", "3 unused-value"]);
    // What is open counts before what lies on the disk.
    pier.session.open(&file, 1, "");
    assert_eq!(pier.shown(), USUAL);
    pier.session.close(&file);
    assert_eq!(pier.shown(), ["4 never-placed", "3 unused-value"]);
}

#[test]
fn a_file_that_comes_changes_and_goes_on_the_disk() {
    let mut pier = Pier::open(Value::Null);
    assert_eq!(pier.shown(), USUAL);
    pier.write(Some("levels.unused-value = \"off\"\n"));
    assert_eq!(pier.shown(), ["2 never-placed"]);
    pier.write(Some("levels.unused-value = \"error\"\n"));
    assert_eq!(pier.shown(), ["2 never-placed", "1 unused-value"]);
    pier.write(None);
    assert_eq!(pier.shown(), USUAL);
    // The server asked to hear of such files.
    let asked = pier.session.asked.iter().find(|asked| asked["method"] == "client/registerCapability");
    assert!(asked.is_some_and(|asked| asked.to_string().contains("**/ohmline.toml")), "{asked:?}");
}

#[test]
fn the_file_itself_shows_what_is_wrong_in_it_and_offers_to_mend_it() {
    let mut pier = Pier::open(Value::Null);
    assert_eq!(pier.shown(), USUAL);
    let file = pier.settings();
    let text = "voice = \"lerner\"\n[levels]\nstile = \"off\"\nunknown-name = \"off\"\n[limits\n";
    pier.session.open(&file, 1, text);
    let found = pier.session.shown(&file);
    let line = |found: &Value| format!("{} {}", found["range"]["start"]["line"], found["code"].as_str().unwrap_or("?"));
    let lines: Vec<String> = found.iter().map(line).collect();
    assert_eq!(lines, ["0 wrong-setting", "2 unknown-setting", "3 wrong-setting", "4 unreadable-settings"]);
    let range = json!({ "start": { "line": 2, "character": 2 }, "end": { "line": 2, "character": 2 } });
    let params = json!({ "textDocument": { "uri": file }, "range": range, "context": { "diagnostics": [] } });
    let actions = pier.session.request("textDocument/codeAction", params).expect("answered");
    let titles: Vec<&str> =
        actions.as_array().expect("a list").iter().filter_map(|one| one["title"].as_str()).collect();
    assert_eq!(titles, ["Write `style`"]);
    // It is no circuit: nothing of it is formatted, colored or drawn.
    let at = json!({ "textDocument": { "uri": file }, "position": { "line": 0, "character": 3 } });
    assert_eq!(pier.session.request("textDocument/definition", at), Ok(Value::Null));
    let whole = json!({ "textDocument": { "uri": file }, "options": { "tabSize": 2, "insertSpaces": true } });
    assert_eq!(pier.session.request("textDocument/formatting", whole), Ok(Value::Null));
    let of = json!({ "textDocument": { "uri": file } });
    assert_eq!(pier.session.request("textDocument/codeLens", of.clone()), Ok(json!([])));
    assert_eq!(pier.session.request("textDocument/documentSymbol", of), Ok(json!([])));
    // What it says is explained, and what it can say is offered.
    assert!(pier.session.hover(&file, 0, 2).contains("Whom findings speak to"));
    let at = json!({ "textDocument": { "uri": file }, "position": { "line": 2, "character": 2 } });
    let offered = pier.session.request("textDocument/completion", at).expect("answered");
    let labels: Vec<&str> =
        offered.as_array().expect("a list").iter().filter_map(|one| one["label"].as_str()).collect();
    assert!(labels.contains(&"style") && labels.contains(&"split-series"), "{labels:?}");
    // Mended, it is quiet.
    pier.session.change(&file, 2, None, "voice = \"learner\"\n");
    assert_eq!(pier.session.shown(&file), Vec::<Value>::new());
}

#[test]
fn an_editor_fills_in_what_the_file_leaves_open() {
    let mut pier = Pier::open(json!({ "levels": { "never-placed": "hint", "unused-value": "error" } }));
    assert_eq!(pier.shown(), ["4 never-placed", "1 unused-value"]);
    pier.write(Some("levels.never-placed = \"error\"\n"));
    assert_eq!(pier.shown(), ["1 never-placed", "1 unused-value"]);
    let change = json!({ "settings": { "ohmline": { "levels": { "values-and-units": "off", "stile": "off" } } } });
    pier.session.notify("workspace/didChangeConfiguration", change);
    assert_eq!(pier.shown(), ["1 never-placed"]);
    // What is wrong in the settings of an editor has no place; it is told in the log.
    let told = pier.session.wait(|message| message["method"] == "window/logMessage");
    assert!(told["params"]["message"].as_str().is_some_and(|text| text.contains("Write `style`")), "{told}");
    pier.session.notify("workspace/didChangeConfiguration", json!({ "settings": { "ohmline": { "levels": null } } }));
    assert_eq!(pier.shown(), ["1 never-placed", "3 unused-value"]);
}

#[test]
fn the_terminal_and_the_editor_find_the_same() {
    let circuits = [
        PIER,
        "battery B1 = 40 V\nresistor R1, R2, R3 = 1 kohm\nB1+ -- R1 -- @fork -- R2 -- B1-\n@fork -- R3 -- B1-\nclaim R1, R2 in series\n",
        "battery B1 = 130 V\nlamp L1, L3 = 6 V, 1 W\nB1+ -- L1 -- @a -- L3 -- B1-\ncapacitor C1 = 1 F\n@a -- C1 -- B1-\n",
    ];
    let settings = [
        "",
        "voice = \"learner\"\n",
        "profile = [\"no-bench\", \"own\"]\n[profiles.own]\nstyle = \"warning\"\nsplit-series = \"info\"\n",
        "[limits]\ntouch-voltage = \"25 V\"\nextra-low-voltage = \"30 V\"\nenergy-note = \"1 mJ\"\n[levels]\nvalues-and-units = \"off\"\n",
        "[levels]\nratings-and-safety = \"error\"\nstile = \"off\"\n[limits]\ntouch-voltage = 5\n",
    ];
    for text in settings {
        let mut pier = Pier::open(Value::Null);
        pier.write(Some(text));
        for (number, circuit) in circuits.iter().enumerate() {
            let name = format!("circuit-{number}.ohmline");
            let path = pier.folder.path().join(&name);
            fs::write(&path, circuit).expect("a file can be written");
            let output = Command::new(env!("CARGO_BIN_EXE_ohmline"))
                .args(["check", "--format", "json", &name])
                .current_dir(pier.folder.path())
                .stdin(Stdio::null())
                .output()
                .expect("the command was built");
            let json: Value = serde_json::from_slice(&output.stdout).expect("JSON");
            let all = json["diagnostics"].as_array().expect("a list");
            let terminal: Vec<_> = all
                .iter()
                .filter(|found| found["file"] == name.as_str())
                .map(|found| {
                    let severity =
                        ["error", "warning", "info", "hint"].iter().position(|word| found["severity"] == *word);
                    let line = found["start"]["line"].as_u64().expect("a line") - 1;
                    (found["rule"].clone(), severity.map(|at| at as u64 + 1), line, found["message"].clone())
                })
                .collect();
            pier.session.open(&uri(&path), 1, circuit);
            let shown = pier.session.shown(&uri(&path));
            let editor: Vec<_> = shown
                .iter()
                .map(|found| {
                    // The first line is the headline.
                    let headline = found["message"].as_str().and_then(|text| text.lines().next()).unwrap_or("");
                    let line = found["range"]["start"]["line"].as_u64().expect("a line");
                    (found["code"].clone(), found["severity"].as_u64(), line, json!(headline))
                })
                .collect();
            assert_eq!(terminal, editor, "{text}\n{circuit}");
        }
        // And about the file itself.
        let file = pier.settings();
        pier.session.open(&file, 1, text);
        let editor =
            pier.session.published(&file).pop().map_or(0, |last| last["diagnostics"].as_array().map_or(0, Vec::len));
        let output = Command::new(env!("CARGO_BIN_EXE_ohmline"))
            .args(["check", "--format", "line", "ohmline.toml"])
            .current_dir(pier.folder.path())
            .stdin(Stdio::null())
            .output()
            .expect("the command was built");
        assert_eq!(String::from_utf8_lossy(&output.stdout).lines().count(), editor, "{text}");
    }
}

/// In a Markdown document the same holds for every circuit.
#[test]
fn circuits_in_markdown_follow_too() {
    let mut pier = Pier::open(Value::Null);
    let notes = uri(&pier.folder.path().join("notes.md"));
    let text = format!("# Pier\n\n```ohmline\n{PIER}```\n");
    pier.session.open(&notes, 1, &text);
    assert_eq!(pier.session.shown(&notes).len(), 2);
    pier.write(Some("levels.unused-value = \"off\"\n"));
    assert_eq!(pier.session.shown(&notes).len(), 1);
}

/// What an editor shows at a file, as it takes over what arrives.
#[derive(Default)]
struct Shown(Vec<String>);

impl Shown {
    fn take_over(&mut self, session: &mut Session, file: &str) {
        if let Some(last) = session.published(file).pop() {
            let all = last["diagnostics"].as_array().expect("a list");
            self.0 = all.iter().map(|found| found["code"].as_str().unwrap_or("?").to_owned()).collect();
        }
    }

    /// Waits until these rules, and no others, are shown.
    fn comes_to(&mut self, session: &mut Session, file: &str, rules: &[&str]) {
        let begun = Instant::now();
        while self.0 != rules {
            assert!(begun.elapsed() < Duration::from_secs(30), "{:?} instead of {rules:?}", self.0);
            std::thread::sleep(Duration::from_millis(10));
            self.take_over(session, file);
        }
    }
}

#[test]
fn what_is_wrong_in_a_file_that_is_not_open_is_shown_at_it_and_taken_back() {
    let mut pier = Pier::open(Value::Null);
    assert_eq!(pier.shown(), USUAL);
    let (file, circuit) = (pier.settings(), pier.circuit());
    let mut shown = Shown::default();
    pier.write(Some("levels.stile = \"off\"\n"));
    shown.comes_to(&mut pier.session, &file, &["unknown-setting"]);
    // Mended on the disk, with a second circuit that goes by it.
    let other = uri(&pier.folder.path().join("quay.ohmline"));
    pier.session.open(&other, 1, PIER);
    pier.session.settle(&[&circuit, &other]);
    pier.write(Some("levels.style = \"off\"\n"));
    shown.comes_to(&mut pier.session, &file, &[]);
    pier.write(Some("voice = 3\n"));
    shown.comes_to(&mut pier.session, &file, &["wrong-setting"]);
    // Opened, it speaks for itself; closed, the disk counts again.
    pier.session.open(&file, 1, "voice = \"learner\"\n");
    shown.comes_to(&mut pier.session, &file, &[]);
    pier.session.close(&file);
    shown.comes_to(&mut pier.session, &file, &["wrong-setting"]);
    // As long as a circuit goes by it.
    pier.session.settle(&[&circuit, &other]);
    pier.session.close(&circuit);
    pier.session.settle(&[&other]);
    shown.take_over(&mut pier.session, &file);
    assert_eq!(shown.0, ["wrong-setting"]);
    pier.session.close(&other);
    shown.comes_to(&mut pier.session, &file, &[]);
}

/// An editor that tells nothing of files it has not open: the server looks by itself.
#[test]
fn a_change_on_the_disk_is_seen_without_being_told() {
    let mut pier = Pier::open(Value::Null);
    assert_eq!(pier.shown(), USUAL);
    let circuit = pier.circuit();
    let mut change = |text: Option<&str>, count: usize| {
        let path = pier.folder.path().join("ohmline.toml");
        match text {
            Some(text) => fs::write(&path, text).expect("a file can be written"),
            None => fs::remove_file(&path).expect("it is there"),
        }
        pier.session.wait(|message| {
            message["method"] == "textDocument/publishDiagnostics"
                && message["params"]["uri"] == *circuit
                && message["params"]["diagnostics"].as_array().is_some_and(|found| found.len() == count)
        });
    };
    change(Some("levels.unused-value = \"off\"\n"), 1);
    change(Some("levels.unused-value = \"off\"\nlevels.never-placed = \"off\"\n"), 0);
    change(None, 2);
}
