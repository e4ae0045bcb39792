//! What an editor has been shown of a document is asked for anew when another file, or a setting, made it stale.

mod lsp_client;

use lsp_client::{Session, able};
use serde_json::{Value, json};

const REFRESHES: [&str; 4] = [
    "workspace/inlayHint/refresh",
    "workspace/codeLens/refresh",
    "workspace/semanticTokens/refresh",
    "workspace/diagnostic/refresh",
];

/// An editor that can be told to ask again for everything.
fn refreshed() -> Value {
    let mut client = able();
    for name in ["inlayHint", "codeLens", "semanticTokens", "diagnostics"] {
        client["workspace"][name] = json!({ "refreshSupport": true });
    }
    client["textDocument"]["diagnostic"] = json!({});
    client
}

/// A kit and a circuit that includes it, on the disk; the circuit is open.
struct Pier {
    folder: tempfile::TempDir,
    session: Session,
    uri: String,
}

impl Pier {
    fn new(client: Value) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let text = "include \"kit.ohmline\"\nbattery B1 = supply\nlamp L1 = 6 ohm\nB1+ -- L1 -- B1-\n\
                    find current through L1\n";
        std::fs::write(folder.path().join("kit.ohmline"), "let supply = 3 V\n").expect("written");
        std::fs::write(folder.path().join("pier.ohmline"), text).expect("written");
        let uri = format!("file://{}", folder.path().join("pier.ohmline").display());
        let mut session = Session::start(client);
        session.open(&uri, 1, text);
        let mut pier = Self { folder, session, uri };
        assert_eq!(pier.lens(), "solved: 500 mA", "3 V over 6 ohm (Ohm's law)");
        pier
    }

    fn kit(&self) -> String {
        format!("file://{}", self.folder.path().join("kit.ohmline").display())
    }

    /// The lens of the question.
    fn lens(&mut self) -> String {
        let document = json!({ "textDocument": { "uri": self.uri } });
        let lenses = self.session.request("textDocument/codeLens", document).expect("lenses");
        let mut titles = lenses.as_array().expect("a list").iter().filter_map(|lens| lens["command"]["title"].as_str());
        let found = titles.rfind(|title| title.contains(" mA") || title.contains(" A"));
        format!("solved: {}", found.and_then(|title| title.rsplit("= ").next()).unwrap_or("nothing"))
    }
}

#[test]
fn a_file_that_changed_on_the_disk_is_news_to_everything() {
    let mut pier = Pier::new(refreshed());
    std::fs::write(pier.folder.path().join("kit.ohmline"), "let supply = 12 V\n").expect("written");
    let change = json!({ "uri": pier.kit(), "type": 2 });
    pier.session.notify("workspace/didChangeWatchedFiles", json!({ "changes": [change] }));
    for method in REFRESHES {
        pier.session.wait_asked(method);
    }
    assert_eq!(pier.lens(), "solved: 2.00 A", "12 V over 6 ohm (Ohm's law)");
}

#[test]
fn a_file_that_changes_in_the_editor_is_news_to_those_that_include_it() {
    let mut pier = Pier::new(refreshed());
    let kit = pier.kit();
    // Opened as it is on the disk, then changed.
    pier.session.open(&kit, 1, "let supply = 3 V\n");
    pier.session.change(&kit, 2, None, "let supply = 6 V\n");
    for method in REFRESHES {
        pier.session.wait_asked(method);
    }
    assert_eq!(pier.lens(), "solved: 1.00 A", "6 V over 6 ohm (Ohm's law)");
    // Closed without being saved: the disk counts again.
    pier.session.close(&kit);
    for method in REFRESHES {
        pier.session.wait_asked(method);
    }
    assert_eq!(pier.lens(), "solved: 500 mA");
}

#[test]
fn what_the_editor_cannot_be_told_is_not_said() {
    let mut pier = Pier::new(able());
    std::fs::write(pier.folder.path().join("kit.ohmline"), "let supply = 12 V\n").expect("written");
    let change = json!({ "uri": pier.kit(), "type": 2 });
    pier.session.notify("workspace/didChangeWatchedFiles", json!({ "changes": [change.clone()] }));
    pier.session.wait_asked("workspace/inlayHint/refresh");
    assert_eq!(pier.lens(), "solved: 2.00 A");
    // Once more, so that whatever else the first change led to has arrived.
    pier.session.notify("workspace/didChangeWatchedFiles", json!({ "changes": [change] }));
    pier.session.wait_asked("workspace/inlayHint/refresh");
    let asked = |method: &&&str| pier.session.asked.iter().any(|message| message["method"] == ***method);
    assert_eq!(REFRESHES.iter().filter(asked).collect::<Vec<_>>(), [&REFRESHES[0]]);
}

/// An edit of the document itself is no news: the editor asks by itself.
#[test]
fn typing_refreshes_nothing() {
    let mut pier = Pier::new(refreshed());
    let uri = pier.uri.clone();
    pier.session.change(&uri, 2, Some([2, 10, 2, 11]), "3");
    assert_eq!(pier.lens(), "solved: 1.00 A", "3 V over 3 ohm (Ohm's law)");
    let asked = |method: &&&str| pier.session.asked.iter().any(|message| message["method"] == ***method);
    assert_eq!(REFRESHES.iter().filter(asked).count(), 0);
}

/// A setting changes the hints alone.
#[test]
fn a_setting_is_news_to_the_hints() {
    let mut pier = Pier::new(refreshed());
    let settings = json!({ "ohmline": { "hints": { "enabled": false } } });
    pier.session.notify("workspace/didChangeConfiguration", json!({ "settings": settings }));
    pier.session.wait_asked("workspace/inlayHint/refresh");
    let uri = pier.uri.clone();
    assert!(pier.session.hints(&uri, [0, 0, 9, 0]).is_empty());
}
