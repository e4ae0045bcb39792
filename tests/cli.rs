//! The `ohmline` command as people and programs call it: outputs, exit statuses, streams, and watching files.

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tempfile::TempDir;

/// Two lamps side by side behind a third on the pier. By hand: 10 and 15 ohm side by side are 6 ohm; 9 + 6 = 15 ohm take 0.3 A from
/// 4.5 V; 0.3 A times 6 ohm are 1.8 V across the pair, which shares the current as 0.18 A and 0.12 A.
const PIER: &str = "\
circuit \"Pier lamps\"
battery   B1 = 4.5 V
resistor  R1 = 9 ohm
resistor  R2 = 10 ohm
resistor  R3 = 15 ohm
switch    S1 = closed
B1+ -- S1 -- R1 -- @fork -- R2 -- @join -- B1-
@fork -- R3 -- @join
claim R2, R3 in parallel
find current through R1, R2
find voltage across S1 in \"night\"
case \"night\": S1 = open
";

fn ohmline() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ohmline"));
    command.env_remove("NO_COLOR").env_remove("COLUMNS").env("TERM", "xterm-256color").stdin(Stdio::null());
    command
}

/// A folder with one file in it.
fn folder(text: &str) -> TempDir {
    let folder = tempfile::tempdir().expect("the system has room for a folder");
    write(folder.path(), "pier.ohmline", text);
    folder
}

fn write(folder: &Path, name: &str, text: impl AsRef<[u8]>) {
    std::fs::write(folder.join(name), text).expect("the folder is ours");
}

fn call(folder: &Path, args: &[&str]) -> Output {
    ohmline().current_dir(folder).args(args).output().expect("the command was built")
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).expect("outputs are UTF-8")
}

fn status(output: &Output) -> i32 {
    output.status.code().expect("it was not killed")
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("{error}: {}\n{}", text(&output.stdout), text(&output.stderr)))
}

fn with_input(args: &[&str], input: &[u8]) -> Output {
    let mut child = ohmline()
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command was built");
    child.stdin.take().expect("piped above").write_all(input).expect("it reads all its input");
    child.wait_with_output().expect("it ends")
}

#[test]
fn solve_json_keeps_its_contract() {
    let folder = folder(PIER);
    let output = call(folder.path(), &["solve", "pier.ohmline", "--format", "json"]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    assert_eq!(text(&output.stderr), "");
    let all = json(&output);
    let keys: Vec<_> = all.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(
        keys,
        [
            "schema",
            "file",
            "title",
            "reference",
            "cases",
            "unknowns",
            "finds",
            "claims",
            "measured",
            "undetermined",
            "diagnostics"
        ]
    );
    assert_eq!(all["schema"], json!(1));
    assert_eq!(all["file"], json!("pier.ohmline"));
    assert_eq!(all["title"], json!("Pier lamps"));
    assert_eq!(all["reference"], json!("@join"));
    let drawn = &all["cases"][0];
    assert_eq!(drawn["name"], Value::Null);
    assert_eq!(drawn["references"], json!([{ "at": "@join", "chosen": true }]));
    assert_eq!(
        drawn["elements"]["R1"],
        json!({
            "kind": "resistor", "resistance": 9, "current": 0.3, "voltage": 2.7, "power": 0.81,
            "series_with": ["B1", "S1"], "parallel_with": [],
            "exact": { "current": "3/10", "voltage": "27/10", "power": "81/100" }
        })
    );
    assert_eq!(drawn["elements"]["R2"]["parallel_with"], json!(["R3"]));
    assert_eq!(drawn["elements"]["R2"]["current"], json!(0.18));
    let battery = &drawn["elements"]["B1"];
    assert_eq!((&battery["kind"], &battery["emf"], &battery["internal"]), (&json!("battery"), &json!(4.5), &json!(0)));
    assert_eq!((&battery["current"], &battery["power"]), (&json!(0.3), &json!(1.35)));
    assert_eq!(drawn["junctions"]["fork"], json!({ "potential": 1.8, "exact": "9/5" }));
    // Whole numbers are written as such.
    assert!(text(&output.stdout).contains("\"resistance\": 9,"));
    let night = &all["cases"][1];
    assert_eq!(night["name"], json!("night"));
    assert_eq!(night["elements"]["R1"]["current"], json!(0));
    assert_eq!(night["elements"]["S1"]["closed"], json!(false));
    assert_eq!(all["unknowns"], json!({}));
    assert_eq!(
        all["finds"],
        json!([
            { "quantity": "current through R1", "case": null, "value": 0.3, "unit": "A", "exact": "3/10" },
            { "quantity": "current through R2", "case": null, "value": 0.18, "unit": "A", "exact": "9/50" },
            { "quantity": "voltage across S1", "case": "night", "value": 4.5, "unit": "V", "exact": "9/2" }
        ])
    );
    let claim = &all["claims"][0];
    assert_eq!(claim["text"], json!("R2, R3 in parallel"));
    assert_eq!(claim["case"], Value::Null);
    assert_eq!((&claim["holds"], &claim["how"]), (&json!(true), &json!("direct")));
    assert!(claim["why"].as_str().is_some_and(|why| !why.is_empty()), "{claim}");
    assert_eq!(all["measured"], json!([]));
    assert_eq!(all["undetermined"], json!([]));
    assert!(all["diagnostics"].is_array());
}

#[test]
fn every_kind_says_what_it_adds() {
    let folder = folder(
        "\
battery       B1 = 6 V, internal 1 ohm
source        G1 = 20 mA
potentiometer P1 = 100 ohm at 40%
changeover    X1 = a
capacitor     C1 = 10 uF
inductor      K1 = 5 mH
diode         D1 = 0.7 V
resistor      R1 = 59 ohm
resistor      R2 = 10 ohm
resistor      R3 = 10 ohm
B1+ -- R1 -- P1.a
P1.b -- B1-
P1.wiper -- C1 -- B1-
@left -- +G1- -- @right -- R2 -- K1 -- @left
battery B2 = 1.5 V
B2+ -- X1.common
X1.a -- +D1- -- R3 -- B2-
",
    );
    let output = call(folder.path(), &["solve", "pier.ohmline", "--format", "json"]);
    let elements = &json(&output)["cases"][0]["elements"];
    // 6 V over 1 + 59 + 100 ohm.
    let current = 6.0 / 160.0;
    let close = |value: &Value, wanted: f64| {
        let value = value.as_f64().unwrap_or_else(|| panic!("a number in place of {value}"));
        assert!((value - wanted).abs() <= 1e-12 * wanted.abs().max(1e-12), "{value} in place of {wanted}");
    };
    close(&elements["P1"]["terminals"]["a"]["current"], current);
    close(&elements["P1"]["terminals"]["b"]["current"], -current);
    close(&elements["P1"]["terminals"]["wiper"]["current"], 0.0);
    assert_eq!(elements["P1"].get("current"), None);
    // From the wiper down 60 ohm of the potentiometer.
    let voltage = current * 60.0;
    close(&elements["C1"]["voltage"], voltage);
    close(&elements["C1"]["charge"], 1e-5 * voltage);
    close(&elements["C1"]["energy"], 0.5 * 1e-5 * voltage * voltage);
    close(&elements["K1"]["energy"], 0.5 * 5e-3 * 0.02 * 0.02);
    close(&elements["G1"]["drive"], 0.02);
    close(&elements["D1"]["current"], 0.08);
    assert_eq!(elements["D1"]["state"], json!("conducting"));
    assert_eq!(elements["X1"]["throw"], json!("a"));
    close(&elements["X1"]["terminals"]["common"]["current"], 0.08);
    close(&elements["X1"]["terminals"]["a"]["current"], -0.08);
    close(&elements["X1"]["terminals"]["b"]["current"], 0.0);
    close(&elements["B1"]["internal"], 1.0);
    close(&elements["B1"]["voltage"], 6.0 - current);
}

#[test]
fn check_json_keeps_its_contract() {
    // Both letters before the name are one column each, though two and four bytes long.
    let folder = folder("battery B1 = 4.5 V\nlamp L1 = 6 Ω\n( L1 | L1x ) -- B1- # Ω🚢\nB1+ -- @a -- L1\n");
    write(folder.path(), "second.ohmline", "battery B1 = 4.5 V\nlamp L1 = 6 Ω\nB1+ -- L1 -- Л2 -- B1-\n");
    let output = call(folder.path(), &["check", "--format", "json", "second.ohmline"]);
    assert_eq!(status(&output), 1);
    let all = json(&output);
    assert_eq!(all["schema"], json!(1));
    let errors = all["diagnostics"].as_array().unwrap().iter().filter(|one| one["severity"] == "error");
    let unknown = errors.clone().next().unwrap_or_else(|| panic!("an error among {all}"));
    assert_eq!(errors.count(), 1, "one cause, one message: {all}");
    assert_eq!(all["summary"]["errors"], json!(1));
    for count in ["warnings", "infos", "hints"] {
        assert!(all["summary"][count].is_u64(), "{count}");
    }
    let keys: Vec<_> = unknown.as_object().unwrap().keys().map(String::as_str).collect();
    let wanted = ["rule", "severity", "message", "file", "start", "end", "labels", "notes", "help", "cases", "fixes"];
    assert_eq!(keys, wanted);
    assert_eq!(unknown["file"], json!("second.ohmline"));
    assert_eq!(unknown["start"], json!({ "line": 3, "column": 14 }));
    assert_eq!(unknown["end"], json!({ "line": 3, "column": 16 }));
    let message = unknown["message"].as_str().unwrap();
    assert!(!message.contains('\n') && !message.ends_with('.') && message.contains("Л2"), "{message}");
    for fix in unknown["fixes"].as_array().unwrap() {
        assert!(fix["title"].is_string() && (fix["safety"] == "safe" || fix["safety"] == "asks"), "{fix}");
        for edit in fix["edits"].as_array().unwrap() {
            assert!(edit["file"].is_string() && edit["text"].is_string() && edit["start"]["line"].is_u64(), "{edit}");
        }
    }
}

#[test]
fn statuses() {
    let folder = folder(PIER);
    write(folder.path(), "claim.ohmline", format!("{PIER}claim R1, R2 in series\n"));
    write(folder.path(), "value.ohmline", format!("{PIER}claim current through R1 = 0.4 A\n"));
    write(folder.path(), "error.ohmline", "lamp L1 = 6 V\n");
    write(folder.path(), "loose.ohmline", format!("{PIER}lamp L9 = 6 ohm\n"));
    write(folder.path(), "include.ohmline", format!("{PIER}include \"nowhere.ohmline\"\n"));
    let of = |args: &[&str]| status(&call(folder.path(), args));
    assert_eq!(of(&["check", "pier.ohmline"]), 0);
    assert_eq!(of(&["check", "loose.ohmline"]), 0, "a warning is no error");
    for command in ["check", "solve"] {
        assert_eq!(of(&[command, "claim.ohmline"]), 1, "{command}");
        assert_eq!(of(&[command, "value.ohmline"]), 1, "{command}");
        assert_eq!(of(&[command, "error.ohmline"]), 1, "{command}");
        assert_eq!(of(&[command, "include.ohmline"]), 1, "{command}");
        assert_eq!(of(&[command, "nowhere.ohmline"]), 2, "{command}");
        assert_eq!(of(&[command]), 2, "{command}");
        assert_eq!(of(&[command, "--no-such-option", "pier.ohmline"]), 2, "{command}");
    }
    assert_eq!(of(&[]), 2);
    assert_eq!(of(&["--help"]), 0);
    assert_eq!(of(&["--version"]), 0);
    assert_eq!(of(&["solve", "pier.ohmline", "--digits", "0"]), 2);
    // Of several files the worst counts.
    assert_eq!(of(&["check", "pier.ohmline", "claim.ohmline"]), 1);
    assert_eq!(of(&["check", "nowhere.ohmline", "claim.ohmline"]), 2);
}

#[test]
fn a_missing_file_does_not_keep_the_others_waiting() {
    let folder = folder("lamp L1 = 6 V\n");
    let output = call(folder.path(), &["check", "nowhere.ohmline", "pier.ohmline"]);
    assert_eq!(status(&output), 2);
    assert_eq!(text(&output.stderr), "ohmline: cannot read nowhere.ohmline: there is no such file\n");
    assert!(text(&output.stdout).contains("pier.ohmline:1:"), "{}", text(&output.stdout));
    let output = call(folder.path(), &["check", "--format", "json", "nowhere.ohmline", "pier.ohmline"]);
    assert_eq!(status(&output), 2);
    assert_eq!(json(&output)["unreadable"], json!([{ "file": "nowhere.ohmline", "why": "there is no such file" }]));
}

#[test]
fn standard_input() {
    let output = with_input(&["solve", "-", "--format", "json"], PIER.as_bytes());
    assert_eq!(status(&output), 0);
    assert_eq!(json(&output)["finds"][0]["value"], json!(0.3));
    let output = with_input(&["check", "-"], b"lamp L1 = 6 V\n");
    assert_eq!(status(&output), 1);
    assert!(text(&output.stdout).contains("<stdin>:1:"), "{}", text(&output.stdout));
    let output = with_input(&["check", "-", "-"], b"");
    assert_eq!(status(&output), 2);
    let output = with_input(&["check", "--watch", "-"], b"");
    assert_eq!((status(&output), text(&output.stdout)), (2, ""));
}

#[test]
fn no_color_but_on_a_terminal() {
    let folder = folder("lamp L1 = 6 V\n");
    for command in ["check", "solve"] {
        for no_color in [None, Some(""), Some("1")] {
            let mut call = ohmline();
            call.current_dir(folder.path()).args([command, "pier.ohmline", "nowhere.ohmline"].iter().take(2));
            if let Some(value) = no_color {
                call.env("NO_COLOR", value);
            }
            let output = call.output().expect("the command was built");
            assert!(!output.stdout.contains(&0x1b) && !output.stderr.contains(&0x1b), "{command} {no_color:?}");
        }
    }
}

/// With a real terminal, through `script` of util-linux where there is one.
#[test]
#[cfg(target_os = "linux")]
fn color_on_a_terminal() {
    let folder = folder("lamp L1 = 6 V\n");
    let binary = env!("CARGO_BIN_EXE_ohmline");
    let on_terminal = |no_color: bool| {
        let mut command = Command::new("script");
        command.args(["-qec", &format!("{binary} check pier.ohmline"), "/dev/null"]).current_dir(folder.path());
        command.stdin(Stdio::null()).env("TERM", "xterm").env_remove("NO_COLOR");
        if no_color {
            command.env("NO_COLOR", "1");
        }
        command.output()
    };
    let Ok(output) = on_terminal(false) else { return };
    assert!(output.stdout.contains(&0x1b), "{}", text(&output.stdout));
    let output = on_terminal(true).expect("it ran a moment ago");
    assert!(!output.stdout.contains(&0x1b), "{}", text(&output.stdout));
}

/// A string of lamps along the quay that fills more than any pipe.
fn long() -> String {
    let mut text = "source E1 = 48 V\n".to_owned();
    for at in 1..=3000 {
        text.push_str(&format!("lamp L{at} = 6 ohm\n@n{at} -- L{at} -- @n{}\n", at + 1));
    }
    text + "E1+ -- @n1\nE1- -- @n3001\n"
}

#[test]
fn a_closed_pipe_ends_quietly() {
    let folder = folder(&long());
    for args in [vec!["solve", "pier.ohmline"], vec!["solve", "pier.ohmline", "--format", "json"]] {
        let mut child = ohmline()
            .current_dir(folder.path())
            .args(&args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the command was built");
        let mut reader = BufReader::new(child.stdout.take().expect("piped above"));
        let mut line = String::new();
        reader.read_line(&mut line).expect("there is a first line");
        assert!(!line.is_empty());
        drop(reader);
        let output = child.wait_with_output().expect("it ends");
        assert_eq!(status(&output), 0, "{args:?}");
        assert_eq!(text(&output.stderr), "", "{args:?}");
    }
}

#[test]
fn text_that_is_not_utf8_is_read_and_reported() {
    let folder = folder(PIER);
    // The degree sign of ISO 8859-1 in a comment.
    let mut bytes = b"# 20 \xb0C on the quay\n".to_vec();
    bytes.extend_from_slice(PIER.as_bytes());
    write(folder.path(), "latin.ohmline", &bytes);
    let output = call(folder.path(), &["check", "latin.ohmline"]);
    assert_eq!(status(&output), 0);
    assert!(text(&output.stdout).contains("[foreign-encoding]"), "{}", text(&output.stdout));
    assert!(text(&output.stdout).contains("latin.ohmline:1:6"), "{}", text(&output.stdout));
    let output = call(folder.path(), &["solve", "latin.ohmline", "--format", "json"]);
    assert_eq!(json(&output)["finds"][0]["value"], json!(0.3));
}

#[test]
fn hints_are_counted_and_printed_when_asked_for() {
    // R1 and R2 stand in line, and R3 joins between.
    let folder = folder(PIER);
    let output = call(folder.path(), &["check", "--format", "json", "pier.ohmline"]);
    let hints = json(&output)["summary"]["hints"].as_u64().expect("a count");
    assert!(hints > 0, "{}", text(&output.stdout));
    let quiet = call(folder.path(), &["check", "pier.ohmline"]);
    let told = call(folder.path(), &["check", "--hints", "pier.ohmline"]);
    assert!(!text(&quiet.stdout).contains("hint: "), "{}", text(&quiet.stdout));
    assert!(text(&quiet.stdout).contains("(--hints prints "), "{}", text(&quiet.stdout));
    assert_eq!(text(&told.stdout).matches("hint: ").count() as u64, hints, "{}", text(&told.stdout));
}

#[test]
fn solve_prints_what_is_asked_for() {
    let folder = folder(PIER);
    let page = |args: &[&str]| {
        let output = call(folder.path(), &[&["solve", "pier.ohmline"], args].concat());
        assert_eq!(status(&output), 0, "{}", text(&output.stderr));
        text(&output.stdout).to_owned()
    };
    let plain = page(&[]);
    let order = [
        "Asked for",
        "Every element",
        "Claims",
        "Cases side by side",
        "In series",
        "In parallel",
        "Reference",
        "Check",
    ];
    let places: Vec<_> =
        order.iter().map(|heading| plain.find(heading).unwrap_or_else(|| panic!("{heading} in\n{plain}"))).collect();
    assert!(places.is_sorted(), "{plain}");
    assert!(plain.contains("current through R1   300    mA"), "{plain}");
    let row = plain.lines().find(|line| line.trim_start().starts_with("R3")).expect("a row for R3");
    for value in ["15   Ω", "120 mA", "1.80 V", "0.216 W"] {
        assert!(row.contains(value), "{value} in {row}");
    }
    assert!(page(&["--digits", "5"]).contains("300.00 "));
    assert!(page(&["--fractions"]).contains("3/10 A"));
    let night = page(&["--case", "night"]);
    assert!(night.contains("case \"night\"") && !night.contains("Cases side by side"), "{night}");
    let wrong = call(folder.path(), &["solve", "pier.ohmline", "--case", "day"]);
    assert_eq!(status(&wrong), 2);
    assert!(text(&wrong.stderr).contains("\"day\"") && text(&wrong.stderr).contains("\"night\""));
    assert!(wrong.stdout.is_empty());
}

#[test]
fn errors_go_beside_the_page_and_what_can_be_solved_is() {
    let folder = folder(&format!("{PIER}claim current throu R1 = 1 A\n"));
    let output = call(folder.path(), &["solve", "pier.ohmline"]);
    assert_eq!(status(&output), 1);
    assert!(text(&output.stderr).starts_with("error: "), "{}", text(&output.stderr));
    assert!(text(&output.stdout).contains("300 mA") || text(&output.stdout).contains("300    mA"));
}

/// What a watching command has printed so far, line by line.
struct Watching {
    child: Child,
    lines: Receiver<String>,
}

impl Watching {
    fn start(folder: &Path, args: &[&str]) -> Self {
        let mut child = ohmline()
            .current_dir(folder)
            .args(args)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the command was built");
        let (sender, lines) = channel();
        let reader = BufReader::new(child.stdout.take().expect("piped above"));
        std::thread::spawn(move || {
            for line in reader.lines().map_while(Result::ok) {
                if sender.send(line).is_err() {
                    break;
                }
            }
        });
        Self { child, lines }
    }

    /// Waits for a line that contains the text.
    fn expect(&mut self, wanted: &str) {
        let until = Instant::now() + Duration::from_secs(60);
        let mut seen = Vec::new();
        while let Ok(line) = self.lines.recv_timeout(until.saturating_duration_since(Instant::now())) {
            if line.contains(wanted) {
                return;
            }
            seen.push(line);
        }
        panic!("{wanted:?} did not come; there came {seen:#?}");
    }

    /// Makes sure that nothing comes for a while.
    fn expect_silence(&mut self, time: Duration) {
        if let Ok(line) = self.lines.recv_timeout(time) {
            panic!("there came {line:?}");
        }
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn watching_follows_saves_by_rename_and_included_files() {
    let folder = folder("include \"kit.ohmline\"\nbattery B1 = supply\nlamp L1 = 6 ohm\nB1+ -- L1 -- B1-\n");
    let folder = folder.path();
    write(folder, "kit.ohmline", "let supply = 6 V\n");
    let mut watching = Watching::start(folder, &["check", "--watch", "pier.ohmline"]);
    watching.expect("pier.ohmline: nothing wrong");
    // Saved in place.
    write(folder, "pier.ohmline", "include \"kit.ohmline\"\nbattery B1 = supply\nlamp L1 = 6 V\nB1+ -- L1 -- B1-\n");
    watching.expect("pier.ohmline changed");
    watching.expect("pier.ohmline: 1 error");
    // Saved as many editors do: at no moment does half of the text stand there.
    let save = |name: &str, text: &str| {
        write(folder, "saved.new", text);
        std::fs::rename(folder.join("saved.new"), folder.join(name)).expect("the folder is ours");
    };
    let mended = "include \"kit.ohmline\"\nbattery B1 = supply\nlamp L1 = 7 ohm\nB1+ -- L1 -- B1-\n";
    save("pier.ohmline", mended);
    watching.expect("pier.ohmline: nothing wrong");
    // Saved again without a change.
    save("pier.ohmline", mended);
    watching.expect_silence(Duration::from_millis(700));
    // The included file.
    save("kit.ohmline", "let supply = 6 ohm\n");
    watching.expect("kit.ohmline changed");
    watching.expect("pier.ohmline: 1 error");
    save("kit.ohmline", "let supply = 7 V\n");
    watching.expect("pier.ohmline: nothing wrong");
    // Deleted and written anew.
    std::fs::remove_file(folder.join("pier.ohmline")).expect("the folder is ours");
    write(folder, "pier.ohmline", "lamp L1 = 6 V\n");
    watching.expect("pier.ohmline changed");
    watching.expect("1 error");
}

/// A pipe without a writer, and a link out of the workspace.
#[cfg(unix)]
#[test]
fn what_is_included_is_a_file_inside() {
    let (inside, outside) = (folder(PIER), folder(PIER));
    let made = Command::new("mkfifo").arg(inside.path().join("pipe.ohmline")).status();
    assert!(made.expect("mkfifo belongs to POSIX").success());
    write(outside.path(), "secret.ohmline", "password of the harbor\n");
    std::os::unix::fs::symlink(outside.path(), inside.path().join("kit")).expect("a link");
    for (include, rule, words) in
        [("pipe", "unreadable-include", "not a regular file"), ("kit/secret", "outside-include", "outside")]
    {
        write(inside.path(), "main.ohmline", format!("include \"{include}.ohmline\"\n{PIER}"));
        let output = call(inside.path(), &["check", "main.ohmline"]);
        let said = text(&output.stdout);
        assert_eq!(status(&output), 1, "{said}");
        assert!(said.contains(rule) && said.contains(words), "{said}");
        assert!(!said.contains("password"), "{said}");
    }
}

#[test]
fn an_included_file_of_another_encoding_is_converted() {
    let folder = folder(PIER);
    let bytes: Vec<u8> = "\u{feff}let supply = 4.5 V # Ω\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    write(folder.path(), "kit.ohmline", &bytes);
    write(
        folder.path(),
        "main.ohmline",
        "include \"kit.ohmline\"\nbattery B1 = supply\nresistor R1 = 9 ohm\nB1+ -- R1 -- B1-\n",
    );
    let output = call(folder.path(), &["check", "main.ohmline"]);
    assert_eq!(status(&output), 0, "{}", text(&output.stdout));
    assert!(text(&output.stdout).contains("kit.ohmline is UTF-16"), "{}", text(&output.stdout));
}

#[test]
fn the_summary_counts_files_that_were_read() {
    let folder = folder(PIER);
    let last = |args: &[&str]| {
        let output = call(folder.path(), args);
        text(&output.stdout).lines().last().unwrap_or_default().to_owned()
    };
    assert!(last(&["check", "none.ohmline", "pier.ohmline"]).starts_with("1 of 2 files: "));
    write(folder.path(), "quay.ohmline", PIER);
    assert!(last(&["check", "quay.ohmline", "pier.ohmline"]).starts_with("2 files: "));
}

#[test]
fn the_page_is_as_wide_as_the_terminal() {
    let folder = folder(&format!("{PIER}claim R1, R2 in series\n"));
    let widest = |columns: &str| {
        let output = ohmline()
            .current_dir(folder.path())
            .env("COLUMNS", columns)
            .args(["solve", "pier.ohmline"])
            .output()
            .expect("the command runs");
        let page = text(&output.stdout).to_owned();
        let claims: Vec<&str> =
            page.lines().skip_while(|line| *line != "Claims").take_while(|line| !line.is_empty()).collect();
        claims.iter().map(|line| line.chars().count()).max().unwrap_or_default()
    };
    assert!(widest("70") <= 70 && widest("200") > 70, "{} and {}", widest("70"), widest("200"));
}

#[test]
fn draw_writes_svg_png_and_pdf() {
    let folder = folder(PIER);
    let output = call(folder.path(), &["draw", "pier.ohmline"]);
    assert_eq!(status(&output), 0, "{}", text(&output.stderr));
    let svg = text(&output.stdout);
    assert!(svg.starts_with("<svg ") && svg.contains("<title") && svg.contains("<desc"), "{svg}");
    for mark in ["data-element=\"R1\"", "data-junction=\"fork\"", "data-label=\"R1\"", "data-wire=\"join\""] {
        assert!(svg.contains(mark), "{mark} is missing");
    }
    assert!(svg.contains("9 Ω") && !svg.contains("mA"), "values, but no solved ones");

    let output = call(folder.path(), &["draw", "pier.ohmline", "--show", "solved", "--symbols", "ieee"]);
    // 4.5 V / 15 ohm, as at the top.
    assert!(text(&output.stdout).contains("300 mA"));
    let output = call(folder.path(), &["draw", "pier.ohmline", "--show", "names", "--neutral"]);
    let svg = text(&output.stdout);
    assert!(!svg.contains("9 Ω") && !svg.contains("side by side"), "{svg}");

    for (format, start) in [("png", &b"\x89PNG"[..]), ("pdf", &b"%PDF"[..])] {
        let name = format!("pier.{format}");
        let output = call(folder.path(), &["draw", "pier.ohmline", "--format", format, "--output", &name]);
        assert_eq!((status(&output), output.stdout.len()), (0, 0), "{}", text(&output.stderr));
        assert!(std::fs::read(folder.path().join(&name)).expect("it was written").starts_with(start));
        let chosen = std::fs::read(folder.path().join(&name)).unwrap();
        call(folder.path(), &["draw", "pier.ohmline", "--output", &name]);
        assert_eq!(std::fs::read(folder.path().join(&name)).unwrap(), chosen, "the ending of the file says the form");
        let piped = call(folder.path(), &["draw", "pier.ohmline", "--format", format]);
        assert!(piped.stdout.starts_with(start), "a pipe takes any format");
    }
}

#[test]
fn draw_says_what_cannot_be_drawn() {
    let folder = folder(PIER);
    let output = call(folder.path(), &["draw", "pier.ohmline", "--case", "dawn"]);
    assert_eq!(status(&output), 2);
    assert!(text(&output.stderr).contains("there is no case \"dawn\""), "{}", text(&output.stderr));
    write(folder.path(), "empty.ohmline", "# nothing yet\n");
    let output = call(folder.path(), &["draw", "empty.ohmline"]);
    assert_eq!((status(&output), output.stdout.len()), (1, 0));
    assert!(text(&output.stderr).contains("nothing to draw"), "{}", text(&output.stderr));
    let output = call(folder.path(), &["draw", "pier.ohmline", "--output", "no/such/folder.svg"]);
    assert_eq!(status(&output), 2);
    assert!(text(&output.stderr).contains("cannot write"), "{}", text(&output.stderr));
}

#[test]
fn explain_tells_of_all_rules_in_three_lengths() {
    let said = |args: &[&str]| {
        let output = ohmline().arg("explain").args(args).output().expect("the command starts");
        assert!(output.status.success(), "{args:?}");
        String::from_utf8(output.stdout).expect("UTF-8")
    };
    let lines = said(&[]);
    let names: Vec<&str> = lines.lines().filter_map(|line| line.strip_prefix("  ")?.split(' ').next()).collect();
    assert!(names.len() > 150);
    let (groups, pages) = (said(&["--show", "groups"]), said(&["--show", "pages", "--format", "markdown"]));
    let short: String = groups.split_whitespace().collect::<Vec<_>>().join(" ");
    for name in &names {
        let words = short.split([' ', ',']).filter(|word| word == name).count();
        assert_eq!(words, 1, "{name} in the groups");
        assert_eq!(pages.matches(&format!("\n### `{name}`\n")).count(), 1, "{name} in the pages");
    }
    assert_eq!(pages.matches("\n### ").count(), names.len());
    // What is said of one rule alone is what the pages say of it, a heading higher.
    let own = said(&["split-series", "--format", "markdown"]).replace("\n## ", "\n#### ");
    assert!(pages.contains(own.strip_prefix("# ").expect("a heading")));
    let both = ohmline().args(["explain", "split-series", "--show", "pages"]).output().expect("the command starts");
    assert_eq!(both.status.code(), Some(2));
}
