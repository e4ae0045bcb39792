//! A baseline: an old collection is held to what is new.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::{Value, json};

const LOOSE: &str = "battery B1 = 6 V, internal 1 ohm\nlamp L1, L2 = 6 ohm\nB1+ -- L1 -- @quay -- B1-\n@quay -- L2\n";

fn run(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_ohmline"))
        .args(args)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .expect("cargo has built the command before this test")
}

#[test]
fn only_what_is_new_counts_and_what_is_gone_is_told() {
    let holder = tempfile::tempdir().expect("a folder");
    let folder = holder.path();
    let write = |text: &str| fs::write(folder.join("pier.ohmline"), text).expect("written");
    let strict = |more: &[&str]| run(folder, &[&["check", "--deny", "warnings", "pier.ohmline"], more].concat());
    write(LOOSE);
    assert_eq!(strict(&[]).status.code(), Some(1));
    run(folder, &["check", "--write-baseline", "known.json", "pier.ohmline"]);
    let first = fs::read(folder.join("known.json")).expect("written");
    let all: Value = serde_json::from_slice(&first).expect("JSON");
    assert_eq!((&all["schema"], &all["findings"][0]["file"]), (&json!(1), &json!("pier.ohmline")));
    assert_eq!(strict(&["--baseline", "known.json"]).status.code(), Some(0));
    // Lines move, also seen from another folder: it stays known.
    write(&format!("# The pier\n\n{LOOSE}"));
    let output = strict(&["--baseline", "known.json"]);
    assert_eq!((output.status.code(), output.stderr.len()), (Some(0), 0));
    fs::create_dir(folder.join("quay")).expect("made");
    let args = ["check", "--deny", "warnings", "--baseline", "../known.json", "../pier.ohmline"];
    let output = run(&folder.join("quay"), &args);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(said.contains(" known"), "{said}");
    // SARIF tells of it as suppressed from outside.
    let output = strict(&["--baseline", "known.json", "--format", "sarif"]);
    let log: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let results = log["runs"][0]["results"].as_array().expect("a list");
    let open = results.iter().find(|one| one["ruleId"] == "open-end").expect("it is told of");
    assert_eq!(open["suppressions"][0]["kind"], "external");
    // A second one of the kind is new.
    write(&format!("{LOOSE}lamp L3 = 6 ohm\n@quay -- L3\n"));
    assert_eq!(strict(&["--baseline", "known.json"]).status.code(), Some(1));
    // Mended: the entry is told to be gone.
    write(&LOOSE.replace("@quay -- L2", "@quay -- L2 -- B1+"));
    let output = strict(&["--baseline", "known.json"]);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("a known `open-end` is gone"), "{said}");
    // Written anew from the same files, it is the same.
    write(LOOSE);
    run(folder, &["check", "--write-baseline", "known.json", "pier.ohmline"]);
    assert_eq!(fs::read(folder.join("known.json")).expect("written"), first);
}

#[test]
fn what_is_no_baseline_is_said() {
    let holder = tempfile::tempdir().expect("a folder");
    let folder = holder.path();
    fs::write(folder.join("pier.ohmline"), LOOSE).expect("written");
    for text in
        ["", "[]", "{\"schema\": 9, \"findings\": []}", "{\"schema\": 1}", "{\"schema\": 1, \"findings\": [{}]}"]
    {
        fs::write(folder.join("known.json"), text).expect("written");
        let output = run(folder, &["check", "--baseline", "known.json", "pier.ohmline"]);
        assert_eq!(output.status.code(), Some(2), "{text}");
        assert!(String::from_utf8_lossy(&output.stderr).contains("baseline known.json"), "{text}");
    }
}

#[test]
fn a_part_of_a_collection_written_anew_leaves_the_rest_known() {
    let holder = tempfile::tempdir().expect("a folder");
    let folder = holder.path();
    for name in ["a.ohmline", "b.ohmline", "c.ohmline"] {
        fs::write(folder.join(name), LOOSE).expect("written");
    }
    let files = || -> Vec<String> {
        let all: Value = serde_json::from_slice(&fs::read(folder.join("known.json")).expect("written")).expect("JSON");
        let found = all["findings"].as_array().expect("a list");
        let mut files: Vec<String> = found.iter().map(|one| one["file"].as_str().expect("a name").to_owned()).collect();
        files.dedup();
        files
    };
    run(folder, &["check", "--write-baseline", "known.json", "."]);
    assert_eq!(files(), ["a.ohmline", "b.ohmline", "c.ohmline"]);
    // One is mended, one is gone, one is not looked at.
    fs::write(folder.join("a.ohmline"), LOOSE.replace("@quay -- L2", "@quay -- L2 -- B1+")).expect("written");
    fs::remove_file(folder.join("b.ohmline")).expect("removed");
    run(folder, &["check", "--write-baseline", "known.json", "a.ohmline"]);
    let left = files();
    assert!(left.contains(&"c.ohmline".to_owned()) && !left.contains(&"b.ohmline".to_owned()), "{left:?}");
    // Seen from elsewhere, and of a folder beside that of the baseline.
    fs::create_dir(folder.join("quay")).expect("made");
    run(&folder.join("quay"), &["check", "--write-baseline", "own.json", "../c.ohmline"]);
    let output = run(folder, &["check", "--deny", "warnings", "--baseline", "quay/own.json", "c.ohmline"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
}

#[cfg(unix)]
#[test]
fn a_baseline_is_for_everyone_who_reads_the_collection() {
    use std::os::unix::fs::PermissionsExt;
    let holder = tempfile::tempdir().expect("a folder");
    fs::write(holder.path().join("a.ohmline"), LOOSE).expect("written");
    let usual = fs::metadata(holder.path().join("a.ohmline")).expect("it is there").permissions().mode();
    run(holder.path(), &["check", "--write-baseline", "known.json", "a.ohmline"]);
    assert_eq!(fs::metadata(holder.path().join("known.json")).expect("it is there").permissions().mode(), usual);
}
