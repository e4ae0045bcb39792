//! Settings in `ohmline.toml`, as the command reads them: which file counts, what it changes, what is said of its mistakes.

mod harness;

use std::fs;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use std::sync::mpsc::channel;
use std::time::Duration;

use serde_json::Value;

/// Two mistakes of different rules: a lamp that is never placed (a warning), a value that is never used (an info).
const PIER: &str = "battery B1 = 6 V\nresistor R1 = 12 ohm\nlamp L1 = 12 ohm\nB1+ -- R1 -- B1-\nlet spare = 3 ohm\n";

/// A claim that R1 and R2 are in series though R3 joins between them.
const SPLIT: &str = "battery B1 = 6 V\nresistor R1, R2, R3 = 12 ohm\nB1+ -- R1 -- @fork -- R2 -- B1-\n@fork -- R3 -- B1-\n\
    claim R1, R2 in series\n";

fn call(folder: &Path, args: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_ohmline"))
        .args(args)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .env_remove("COLUMNS")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("cargo has built the command before this test");
    // A command that reads no input closes the pipe early.
    let _ = child.stdin.take().expect("standard input is piped").write_all(input.as_bytes());
    child.wait_with_output().expect("the command was started")
}

/// Exit status, standard output and standard error.
fn run(folder: &Path, args: &[&str]) -> (Option<i32>, String, String) {
    let output = call(folder, args, "");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code(), text(&output.stdout), text(&output.stderr))
}

/// What a check finds, one line each: file, line, severity, rule.
fn found(folder: &Path, args: &[&str]) -> Vec<String> {
    let output = call(folder, &[&["check", "--format", "json"], args].concat(), PIER);
    let json: Value = serde_json::from_slice(&output.stdout).expect("the output is JSON");
    let line = |found: &Value| {
        let word = |key: &str| found[key].as_str().unwrap_or("?").to_owned();
        format!("{}:{} {} {}", word("file"), found["start"]["line"], word("severity"), word("rule"))
    };
    json["diagnostics"].as_array().into_iter().flatten().map(line).collect()
}

fn write(folder: &Path, name: &str, text: &str) {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().expect("a file stands in a folder")).expect("a folder can be made");
    fs::write(path, text).expect("a file can be written");
}

fn harbor(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder for a while");
    files.iter().for_each(|(name, text)| write(folder.path(), name, text));
    folder
}

#[test]
fn the_nearest_file_upward_counts_alone() {
    let folder = harbor(&[
        ("pier.ohmline", PIER),
        ("inner/pier.ohmline", PIER),
        ("inner/deep/pier.ohmline", PIER),
        ("ohmline.toml", "[levels]\nnever-placed = \"hint\"\n"),
        ("inner/ohmline.toml", "[levels]\nunused-value = \"off\"\n"),
    ]);
    let all = found(folder.path(), &["."]);
    assert_eq!(
        all,
        [
            "./inner/deep/pier.ohmline:3 warning never-placed",
            "./inner/pier.ohmline:3 warning never-placed",
            "./pier.ohmline:3 hint never-placed",
            "./pier.ohmline:5 info unused-value",
        ]
    );
    // Standard input stands in the current folder.
    assert_eq!(found(&folder.path().join("inner/deep"), &["-"]), ["<stdin>:3 warning never-placed"]);
    // The call counts before the file.
    let named = ["--settings", "inner/ohmline.toml", "pier.ohmline"];
    assert_eq!(found(folder.path(), &named), ["pier.ohmline:3 warning never-placed"]);
    let none = ["--no-settings", "inner/pier.ohmline"];
    assert_eq!(found(folder.path(), &none).len(), 2);
}

#[test]
fn voice_and_profile_of_the_file_and_of_the_call() {
    let bridge = "battery B1 = 6 V\nresistor R1, R2, R3, R4 = 10 ohm\nresistor R5 = 5 ohm\nB1+ -- @a\nB1- -- @b\n\
        @a -- R1 -- @p -- R2 -- @b\n@a -- R3 -- @q -- R4 -- @b\n@p -- R5 -- @q\n";
    let folder =
        harbor(&[("split.ohmline", SPLIT), ("bridge.ohmline", bridge), ("ohmline.toml", "voice = \"learner\"\n")]);
    let (status, asked, _) = run(folder.path(), &["check", "split.ohmline"]);
    assert!(status == Some(1) && asked.contains('?'), "{asked}");
    let (_, told, _) = run(folder.path(), &["check", "--voice", "author", "split.ohmline"]);
    assert!(told.contains("not in series") && told != asked, "{told}");
    let usual = found(folder.path(), &["bridge.ohmline"]);
    assert!(usual.iter().any(|line| line.ends_with("info balanced-bridge")), "{usual:?}");
    let class = found(folder.path(), &["--profile", "no-kirchhoff", "bridge.ohmline"]);
    assert!(class.iter().any(|line| line.ends_with("warning balanced-bridge")), "{class:?}");
    // One of the file's own.
    write(folder.path(), "ohmline.toml", "profile = \"no-kirchhoff\"\n[profiles.quay]\nbalanced-bridge = \"off\"\n");
    assert_eq!(found(folder.path(), &["bridge.ohmline"]), class);
    let own = found(folder.path(), &["--profile", "quay", "bridge.ohmline"]);
    assert!(!own.iter().any(|line| line.ends_with("balanced-bridge")), "{own:?}");
    let (status, _, said) = run(folder.path(), &["check", "--profile", "jetty", "bridge.ohmline"]);
    assert!(status == Some(2) && said.contains("no profile `jetty`"), "{said}");
}

/// A profile says what the class has not met; a circuit that needs it is reported, with the place.
#[test]
fn what_a_class_has_not_met_is_reported() {
    let text = "battery B1 = 6 V, internal 1 ohm\nresistor R1 = 12 ohm\ndiode D1 = 0.7 V\nB1+ -- R1 -- +D1- -- B1-\n";
    let folder =
        harbor(&[("pier.ohmline", text), ("ohmline.toml", "profile = [\"no-internal-resistance\", \"no-diodes\"]\n")]);
    let class = found(folder.path(), &["pier.ohmline"]);
    assert_eq!(class, ["pier.ohmline:1 warning beyond-class", "pier.ohmline:3 warning beyond-class"]);
    assert_eq!(found(folder.path(), &["--no-settings", "pier.ohmline"]), Vec::<String>::new());
    let one = found(folder.path(), &["--profile", "no-diodes", "pier.ohmline"]);
    assert_eq!(one, ["pier.ohmline:3 warning beyond-class"]);
    write(folder.path(), "ohmline.toml", "profile = \"no-diodes\"\nlevels.beyond-class = \"error\"\n");
    assert_eq!(found(folder.path(), &["pier.ohmline"]), ["pier.ohmline:3 error beyond-class"]);
}

#[test]
fn limits_change_what_is_found() {
    let text = "battery B1 = 40 V\nresistor R1 = 1 kohm\nB1+ -- R1 -- B1-\n";
    let folder = harbor(&[("pier.ohmline", text)]);
    // IEC 60364-4-41 asks for 60 V d.c. and less; many schools set less still (common practice, no source).
    assert_eq!(found(folder.path(), &["pier.ohmline"]), Vec::<String>::new());
    write(folder.path(), "ohmline.toml", "limits.touch-voltage = \"25 V\"\nlimits.extra-low-voltage = \"30 V\"\n");
    assert_eq!(found(folder.path(), &["pier.ohmline"]), ["pier.ohmline:3 warning touch-voltage"]);
}

#[test]
fn what_is_denied_ends_with_status_1() {
    let folder = harbor(&[("pier.ohmline", PIER)]);
    let status = |args: &[&str]| run(folder.path(), &[&["check", "pier.ohmline"], args].concat()).0;
    assert_eq!(status(&[]), Some(0));
    for denied in
        [["--deny", "warnings"], ["--deny", "infos"], ["--deny", "unused-value"], ["--deny", "values-and-units"]]
    {
        assert_eq!(status(&denied), Some(1), "{denied:?}");
    }
    assert_eq!(status(&["--deny", "split-series", "--deny", "style"]), Some(0));
    assert_eq!(status(&["--deny", "split-series", "--deny", "never-placed"]), Some(1));
    let (code, _, said) = run(folder.path(), &["check", "pier.ohmline", "--deny", "unusd-value"]);
    assert!(code == Some(2) && said.contains("did you mean `unused-value`?"), "{said}");
    write(folder.path(), "ohmline.toml", "deny = \"unused-value\"\n");
    assert_eq!(status(&[]), Some(1));
    // Where a finding is off, there is nothing to deny.
    write(folder.path(), "ohmline.toml", "deny = \"unused-value\"\nlevels.unused-value = \"off\"\n");
    assert_eq!(status(&[]), Some(0));
}

/// Every command that reads a circuit reads its settings, and says what is wrong with them.
#[test]
fn every_command_honours_the_file_and_reports_it() {
    let good = "levels.never-placed = \"error\"\n";
    let folder = harbor(&[("pier.ohmline", PIER), ("ohmline.toml", good)]);
    let commands: [&[&str]; 6] = [
        &["check", "pier.ohmline"],
        &["solve", "pier.ohmline"],
        &["solution", "pier.ohmline"],
        &["draw", "pier.ohmline"],
        &["fix", "--dry-run", "pier.ohmline"],
        &["check", "--format", "sarif", "pier.ohmline"],
    ];
    for command in commands {
        assert_eq!(run(folder.path(), command).0, Some(1), "{command:?}: an error now");
        let usual = run(folder.path(), &[command, &["--no-settings"]].concat());
        assert_eq!(usual.0, Some(0), "{command:?}");
    }
    write(folder.path(), "ohmline.toml", "levels.never-plced = \"error\"\n");
    for command in commands {
        let (status, out, said) = run(folder.path(), command);
        assert_eq!(status, Some(1), "{command:?}");
        let report = if command[0] == "check" { out } else { said };
        assert!(report.contains("There is no rule or group `never-plced`"), "{command:?}: {report}");
    }
    let (status, _, said) = run(folder.path(), &["check", "--settings", "none.toml", "pier.ohmline"]);
    assert!(status == Some(2) && said.contains("cannot read none.toml: there is no such file"), "{said}");
}

#[test]
fn problems_of_the_file_have_their_place_in_every_form() {
    let folder = harbor(&[("a.ohmline", PIER), ("b.ohmline", PIER), ("ohmline.toml", "[levels]\n  stile = \"off\"\n")]);
    // Once, however many circuits stand below it.
    let all = found(folder.path(), &["a.ohmline", "b.ohmline"]);
    assert_eq!(
        all.iter().filter(|line| line.starts_with("ohmline.toml:2 error unknown-setting")).count(),
        1,
        "{all:?}"
    );
    assert_eq!(found(folder.path(), &["ohmline.toml"]), ["ohmline.toml:2 error unknown-setting"]);
    let (_, sarif, _) = run(folder.path(), &["check", "--format", "sarif", "a.ohmline"]);
    let sarif: Value = serde_json::from_str(&sarif).expect("SARIF is JSON");
    let results = sarif["runs"][0]["results"].as_array().expect("results");
    let of_settings = results.iter().find(|result| result["ruleId"] == "unknown-setting").expect("reported");
    let place = &of_settings["locations"][0]["physicalLocation"];
    assert!(place["artifactLocation"]["uri"].as_str().is_some_and(|uri| uri.ends_with("ohmline.toml")), "{place}");
    assert_eq!((&place["region"]["startLine"], &place["region"]["startColumn"]), (&2.into(), &3.into()));
    let (_, text, _) = run(folder.path(), &["check", "a.ohmline"]);
    assert!(text.contains("ohmline.toml:2:3") && text.contains("did you mean `style`?"), "{text}");
    let (_, junit, _) = run(folder.path(), &["check", "--format", "junit", "a.ohmline", "b.ohmline"]);
    assert_eq!(junit.matches("<testsuite name=\"ohmline.toml\"").count(), 1, "{junit}");
}

#[test]
fn a_file_that_cannot_be_read_is_told_and_changes_nothing() {
    let folder = harbor(&[("pier.ohmline", PIER)]);
    fs::create_dir(folder.path().join("ohmline.toml")).expect("a folder can be made");
    let all = found(folder.path(), &["pier.ohmline"]);
    assert_eq!(all.len(), 3);
    assert_eq!(all[2], "ohmline.toml:1 error unreadable-settings");
    fs::remove_dir(folder.path().join("ohmline.toml")).expect("it is empty");
    // Bytes that are no UTF-8 (RFC 3629) in a comment: said, and the rest is read.
    fs::write(folder.path().join("ohmline.toml"), b"# \xff\n[levels]\nunused-value = \"off\"\n").expect("written");
    let all = found(folder.path(), &["pier.ohmline"]);
    assert_eq!(all, ["pier.ohmline:3 warning never-placed", "ohmline.toml:1 warning foreign-encoding"]);
    let (status, _, said) = run(folder.path(), &["solve", "ohmline.toml"]);
    assert!(status == Some(2) && said.contains("it holds settings, no circuit"), "{said}");
}

#[test]
fn what_is_in_force_is_told_with_where_it_came_from() {
    let folder = harbor(&[
        ("pier/pier.ohmline", PIER),
        (
            "ohmline.toml",
            "voice = \"learner\"\nprofile = \"no-power\"\n\n[levels]\nstyle = \"off\"\n\n[limits]\ntouch-voltage = \"25 V\"\n",
        ),
    ]);
    let args = ["settings", "--format", "json", "--profile", "no-kirchhoff", "pier/pier.ohmline"];
    let (status, out, said) = run(folder.path(), &args);
    assert_eq!((status, said.as_str()), (Some(0), ""));
    let json: Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(json["file"], "ohmline.toml");
    assert_eq!((&json["voice"]["value"], &json["voice"]["from"]["line"]), (&"learner".into(), &1.into()));
    let level = |rule: &str| {
        let levels = json["levels"].as_array().expect("levels");
        levels.iter().find(|level| level["rule"] == rule).cloned().unwrap_or_default()
    };
    assert_eq!(level("near-rating"), Value::Null, "the profile of the call takes the place of the file's");
    assert_eq!(
        level("not-reducible")["from"],
        serde_json::json!({"file": null, "line": null, "profile": "no-kirchhoff"})
    );
    assert_eq!((&level("name-gap")["level"], &level("name-gap")["from"]["line"]), (&"off".into(), &5.into()));
    let limit = json["limits"]
        .as_array()
        .and_then(|all| all.iter().find(|one| one["limit"] == "touch-voltage"))
        .expect("listed");
    assert_eq!(
        (limit["value"].as_f64(), limit["usual"].as_f64(), &limit["from"]["line"]),
        (Some(25.0), Some(60.0), &8.into())
    );
    let (_, text, _) = run(folder.path(), &["settings", "pier/pier.ohmline"]);
    for line in ["voice      learner                 ohmline.toml:1", "25 V, usually 60 V         ohmline.toml:8"] {
        assert!(text.contains(line), "{text}");
    }
    assert!(text.contains("profile no-power, ohmline.toml:2"), "{text}");
    let (_, text, _) = run(folder.path(), &["settings", "--no-settings", "pier"]);
    assert!(text.contains("file       none") && !text.contains("levels"), "{text}");
}

#[test]
fn what_is_wrong_in_settings_is_no_error_of_the_circuit() {
    let folder = harbor(&[("pier.ohmline", PIER), ("quay/ohmline.toml", "voice = \"loud\"\n")]);
    // In a folder, also what no circuit uses.
    assert_eq!(
        found(folder.path(), &["."])
            .iter()
            .filter(|line| line.contains("ohmline.toml"))
            .map(|line| line.trim_start_matches("./"))
            .collect::<Vec<_>>(),
        ["quay/ohmline.toml:1 error wrong-setting"]
    );
    let (status, text, _) = run(folder.path(), &["check", "."]);
    assert!(text.ends_with("pier.ohmline: 1 warning, 1 info; 1 error in ohmline.toml\n"), "{text}");
    assert_eq!(status, Some(1));
    let (status, text, _) = run(folder.path(), &["check", "pier.ohmline"]);
    assert!(text.ends_with("pier.ohmline: 1 warning, 1 info\n"), "{text}");
    assert_eq!(status, Some(0));
}

#[test]
fn a_profile_of_ones_own_says_what_its_class_has_not_met() {
    let text = "profile = \"year-9\"\n[profiles.year-9]\nnot-met = [\"tolerances\"]\n";
    let circuit = "battery B1 = 6 V\nresistor R1 = 12 ohm, tolerance 5%\nB1+ -- R1 -- B1-\n";
    let folder = harbor(&[("pier.ohmline", circuit), ("ohmline.toml", text)]);
    assert!(found(folder.path(), &["pier.ohmline"]).contains(&"pier.ohmline:2 warning beyond-class".to_owned()));
}

#[test]
fn watching_follows_the_file_wherever_it_comes_and_goes() {
    let folder = harbor(&[("inner/pier.ohmline", PIER)]);
    let mut child = Command::new(env!("CARGO_BIN_EXE_ohmline"))
        .args(["check", "--watch", "inner/pier.ohmline"])
        .current_dir(folder.path())
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the command was built");
    let lines = BufReader::new(child.stdout.take().expect("piped above")).lines();
    let (sender, received) = channel();
    std::thread::spawn(move || lines.map_while(Result::ok).try_for_each(|line| sender.send(line)));
    let wait = |wanted: &str| {
        let next = || received.recv_timeout(Duration::from_secs(60));
        while !next().unwrap_or_else(|_| panic!("never printed: {wanted}")).contains(wanted) {}
    };
    wait("inner/pier.ohmline: 1 warning, 1 info");
    write(folder.path(), "ohmline.toml", "levels.never-placed = \"off\"\n");
    wait("inner/pier.ohmline: 1 info");
    // A nearer one.
    write(folder.path(), "inner/ohmline.toml", "levels.never-placed = \"error\"\n");
    wait("inner/pier.ohmline: 1 error, 1 info");
    write(folder.path(), "inner/ohmline.toml", "levels.never-placed = \"of\"\n");
    wait("inner/pier.ohmline: 1 warning, 1 info; 1 error in ohmline.toml");
    fs::remove_file(folder.path().join("inner/ohmline.toml")).expect("it is there");
    wait("inner/pier.ohmline: 1 info");
    child.kill().expect("it was started here");
    child.wait().expect("it was started here");
}

/// The examples of the page about settings are read as they stand there.
#[test]
fn the_page_about_settings_holds() {
    let page =
        fs::read_to_string(harness::root().join("grammar/settings.md")).expect("the page is part of the project");
    let mut count = 0;
    for example in page.split("```toml\n").skip(1).filter_map(|rest| rest.split("```").next()) {
        let folder = harbor(&[("ohmline.toml", example)]);
        let (status, out, _) = run(folder.path(), &["check", "ohmline.toml"]);
        assert_eq!((status, out.as_str()), (Some(0), "ohmline.toml: nothing wrong\n"), "{example}");
        count += 1;
    }
    assert!(count > 0);
    let list = run(&harness::root(), &["settings", "--list", "--format", "markdown"]).1;
    assert!(page.contains(list.trim()), "stale: `cargo xtask readme` writes it anew");
}

#[test]
fn the_list_of_settings_names_each_and_its_examples_hold() {
    let folder = harbor(&[]);
    let (status, out, _) = run(folder.path(), &["settings", "--list", "--format", "json"]);
    let json: Value = serde_json::from_str(&out).expect("JSON");
    let all = json["settings"].as_array().expect("settings");
    assert!(status == Some(0) && all.len() > 20);
    let (_, text, _) = run(folder.path(), &["settings", "--list"]);
    for setting in all {
        let name = setting["name"].as_str().expect("a name");
        assert!(text.lines().any(|line| line == name), "{name}");
        write(folder.path(), "ohmline.toml", setting["example"].as_str().expect("an example"));
        let (status, out, _) = run(folder.path(), &["check", "ohmline.toml"]);
        assert_eq!((status, out.as_str()), (Some(0), "ohmline.toml: nothing wrong\n"), "{name}");
    }
}

#[test]
fn what_is_denied_is_shown_and_files_of_settings_are_no_circuits() {
    let folder = harbor(&[
        ("pier/ohmline.toml", "voice=\"learner\"\n"),
        ("lights/a.ohmline", "battery B1 = 6 V\nlamp L1, L2 = 6 ohm\nB1+ -- L1 -- L2 -- B1-\nclaim L1, L2 in series\n"),
    ]);
    let file = "lights/a.ohmline";
    let (status, out, _) = run(folder.path(), &["check", "--deny", "claim-holds", "--format", "line", file]);
    assert_eq!(status, Some(1));
    assert!(out.contains(" hint claim-holds: "), "{out}");
    let (_, out, _) = run(folder.path(), &["check", "--deny", "claim-holds", file]);
    assert!(!out.contains("nothing wrong"), "{out}");
    for command in ["fix", "format"] {
        let (status, _, said) = run(folder.path(), &[command, "pier/ohmline.toml"]);
        assert!(status == Some(2) && said.contains("it holds settings"), "{command}: {said}");
    }
    assert_eq!(std::fs::read_to_string(folder.path().join("pier/ohmline.toml")).expect("there"), "voice=\"learner\"\n");
    // A folder that the way to a file only passes through does not count.
    let (_, out, _) = run(&folder.path().join("pier"), &["settings", "../lights/a.ohmline"]);
    assert!(!out.contains("learner"), "{out}");
}
