//! The real Emacs with Eglot, driven by `tests/editors/emacs.el`.

use std::process::Command;

/// Skipped, and said so, where Emacs is not installed; with `OHMLINE_EDITORS=1` that is a failure.
#[test]
fn emacs_shows_diagnostics_and_hover() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    if Command::new("emacs").arg("--version").output().is_err() {
        assert!(std::env::var_os("OHMLINE_EDITORS").is_none_or(|set| set != "1"), "emacs is not installed");
        eprintln!("skipped: emacs is not installed");
        return;
    }
    let home = tempfile::tempdir().expect("a folder");
    let output = Command::new("emacs")
        .current_dir(root)
        .env("OHMLINE", env!("CARGO_BIN_EXE_ohmline"))
        // Nothing of the user's own is read or written.
        .env("HOME", home.path())
        .args(["-Q", "--batch", "-L", "editors/emacs", "-l", "tests/editors/emacs.el"])
        .output()
        .expect("emacs starts");
    let said = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    assert!(said.contains("ok: the server ends when asked"), "{said}");
}

/// The mode compiles without a warning.
#[test]
fn the_mode_compiles() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    if Command::new("emacs").arg("--version").output().is_err() {
        assert!(std::env::var_os("OHMLINE_EDITORS").is_none_or(|set| set != "1"), "emacs is not installed");
        eprintln!("skipped: emacs is not installed");
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let copy = folder.path().join("ohmline-mode.el");
    std::fs::copy(format!("{root}/editors/emacs/ohmline-mode.el"), &copy).expect("the mode is there");
    let output = Command::new("emacs")
        .args(["-Q", "--batch", "--eval", "(setq byte-compile-error-on-warn t)", "-f", "batch-byte-compile"])
        .arg(&copy)
        .output()
        .expect("emacs starts");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}
