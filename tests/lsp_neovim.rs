//! The real Neovim, driven by `tests/editors/neovim.lua`.

use std::process::Command;

/// Skipped, and said so, where Neovim is not installed; with `OHMLINE_EDITORS=1` that is a failure.
#[test]
fn neovim_shows_diagnostics_and_hover() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    if Command::new("nvim").arg("--version").output().is_err() {
        assert!(std::env::var_os("OHMLINE_EDITORS").is_none_or(|set| set != "1"), "nvim is not installed");
        eprintln!("skipped: nvim is not installed");
        return;
    }
    let home = tempfile::tempdir().expect("a folder");
    // The grammar as a user builds it.
    let parser = home.path().join("parser");
    std::fs::create_dir(&parser).expect("a folder");
    let sources = format!("{root}/grammar/tree-sitter/src");
    let built = Command::new("cc")
        .args(["-shared", "-fPIC", "-O1", "-I", &sources, "-o"])
        .arg(parser.join("ohmline.so"))
        .args([format!("{sources}/parser.c"), format!("{sources}/scanner.c")])
        .status()
        .expect("a C compiler is there, since Rust links with it");
    assert!(built.success(), "the grammar does not compile");
    let output = Command::new("nvim")
        .current_dir(root)
        .env("OHMLINE_RUNTIME", home.path())
        .env("OHMLINE", env!("CARGO_BIN_EXE_ohmline"))
        // Nothing of the user's own is read or written.
        .env("HOME", home.path())
        .env("XDG_STATE_HOME", home.path())
        .env("XDG_CACHE_HOME", home.path())
        .args(["--clean", "--headless", "--cmd", "set runtimepath^=editors/nvim"])
        .args(["-c", "luafile tests/editors/neovim.lua", "-c", "qa!"])
        .output()
        .expect("nvim starts");
    let said = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    assert!(said.contains("ok: the server ends when asked"), "{said}");
}
