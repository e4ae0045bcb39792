//! The real editors that the tests drive: what is quick belongs to `cargo xtask test`, the rest to `cargo xtask editors`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};

use crate::{build_binary, cargo, packages, root, run, target_dir};

/// The version of the build of VS Code for browsers: the newest that runs on Node 20.
const CODE_SERVER: &str = "code-server@4.100.3";
/// The version of Kakoune's client.
const KAK_LSP: &str = "18.2.0";

/// Emacs without windows; Eglot, which it does not bring along before version 29; and its mode for Markdown.
const EMACS: &[&str] = &["emacs-nox", "elpa-eglot", "elpa-markdown-mode"];

/// Makes the editors ready that the Rust tests drive, Neovim and Emacs; whether both are there.
///
/// Where they are not and may be installed (packages of Debian, as root), that is tried.
pub fn set_up() -> bool {
    packages::ensure("nvim", &["neovim"]) && packages::ensure("emacs", EMACS)
}

/// The parts of the VS Code extension that need no editor: types, colors, manifest, the search for the server, the bundle, the package.
///
/// `None` when all was done; what was left out, and why, where npm is not there.
pub fn extension() -> Result<Option<&'static str>> {
    if !packages::ensure("npm", &["nodejs", "npm"]) {
        return Ok(Some("editors/vscode, since npm is not installed"));
    }
    let folder = root().join("editors/vscode");
    install_modules(&folder)?;
    for script in ["check", "test", "package"] {
        run(Command::new("npm").args(["run", "--silent", script]).current_dir(&folder))?;
    }
    Ok(None)
}

/// Installs what a lock file names, unless that has been done since it last changed.
fn install_modules(folder: &Path) -> Result<()> {
    let (lock, mark) = (folder.join("package-lock.json"), folder.join("node_modules/.package-lock.json"));
    let changed = |file: &Path| fs::metadata(file).and_then(|found| found.modified()).ok();
    if changed(&mark).is_some_and(|mark| changed(&lock).is_some_and(|lock| lock <= mark)) {
        return Ok(());
    }
    run(npm(folder).args(["ci", "--ignore-scripts", "--no-audit", "--no-fund"]))
}

fn npm(folder: &Path) -> Command {
    let mut command = Command::new("npm");
    // Headers of Debian's Node, so that modules in C++ are built without fetching others.
    command.current_dir(folder).env("npm_config_nodedir", "/usr");
    command
}

/// Runs the sessions in the real editors, all of them or those named.
pub fn sessions(only: &[&str]) -> Result<()> {
    type Session = (&'static str, fn(&Path) -> Result<()>);
    const ALL: &[Session] = &[("neovim", neovim), ("emacs", emacs), ("kakoune", kakoune), ("vscode", vscode)];
    for name in only {
        if !ALL.iter().any(|session| session.0 == *name) {
            bail!("there is no session `{name}`; the sessions are neovim, emacs, kakoune, vscode");
        }
    }
    let binary = build_binary()?;
    let mut failed = Vec::new();
    for (name, session) in ALL.iter().filter(|session| only.is_empty() || only.contains(&session.0)) {
        println!("== {name}");
        if let Err(error) = session(&binary) {
            eprintln!("{name}: {error:#}");
            failed.push(*name);
        }
    }
    if failed.is_empty() { Ok(()) } else { bail!("failed: {}", failed.join(", ")) }
}

fn neovim(_: &Path) -> Result<()> {
    need(&["neovim"], "nvim")?;
    run(cargo().args(["test", "--workspace", "--test", "lsp_neovim"]).env("OHMLINE_EDITORS", "1"))
}

fn emacs(_: &Path) -> Result<()> {
    need(EMACS, "emacs")?;
    run(cargo().args(["test", "--workspace", "--test", "lsp_emacs"]).env("OHMLINE_EDITORS", "1"))
}

/// Kakoune in a terminal of tmux. Its client is built once, in some four minutes.
fn kakoune(binary: &Path) -> Result<()> {
    need(&["kakoune"], "kak")?;
    need(&["tmux"], "tmux")?;
    let tools = target_dir().join("tools");
    if !packages::has("kak-lsp") && !tools.join("bin/kak-lsp").exists() {
        run(Command::new("cargo")
            .args(["install", "kak-lsp", "--version", KAK_LSP, "--locked", "--root"])
            .arg(&tools))?;
    }
    let pictures = pictures()?;
    let path = std::env::var_os("PATH").unwrap_or_default();
    let places = std::iter::once(tools.join("bin")).chain(std::env::split_paths(&path));
    let path = std::env::join_paths(places).context("the search path holds a name that cannot stand in one")?;
    let mut session = Command::new("sh");
    session.arg("tests/editors/kakoune.sh").arg("editors/kakoune").arg(&pictures).current_dir(root());
    run(session.env("OHMLINE", binary).env("PATH", path))
}

/// VS Code's build for browsers, in Chromium. It is set up once, in some two minutes.
fn vscode(binary: &Path) -> Result<()> {
    need(&["chromium"], "chromium")?;
    need(&["ripgrep"], "rg")?;
    need(&["g++", "make", "python3"], "g++")?;
    if let Some(why) = extension()? {
        bail!("{why}");
    }
    let tools = target_dir().join("tools/code");
    code_server(&tools)?;
    let mut session = Command::new("node");
    session.arg("tests/editors/vscode.mjs").arg(&tools).arg("editors/vscode/ohmline.vsix").arg(binary).arg(pictures()?);
    run(session.current_dir(root()))
}

/// Installs the editor without the steps that fetch programs; the few modules in C++ that it cannot do without are built here.
fn code_server(tools: &Path) -> Result<()> {
    let done = tools.join(".ready");
    if fs::read_to_string(&done).is_ok_and(|version| version == CODE_SERVER) {
        return Ok(());
    }
    fs::create_dir_all(tools).with_context(|| format!("cannot make {}", tools.display()))?;
    fs::write(tools.join("package.json"), "{\"private\":true}\n").context("cannot write package.json")?;
    let quiet = ["--ignore-scripts", "--no-audit", "--no-fund"];
    run(npm(tools).arg("install").args(quiet).args([CODE_SERVER, "playwright-core"]))?;
    run(npm(tools).args(["rebuild", "argon2", "--build-from-source"]))?;
    let editor = tools.join("node_modules/code-server/lib/vscode");
    for folder in [&editor, &editor.join("extensions")] {
        run(npm(folder).args(["install", "--omit=dev", "--legacy-peer-deps"]).args(quiet))?;
    }
    // The step behind the build of the terminal fails, but the module is there by then.
    let modules = ["node-pty", "@vscode/spdlog", "native-watchdog"];
    let _ = npm(&editor).arg("rebuild").args(modules).arg("--build-from-source").stderr(Stdio::null()).status();
    let script = "mkdir -p node_modules/@vscode/ripgrep/bin && ln -sf \"$(command -v rg)\" node_modules/@vscode/ripgrep/bin/rg \
                  && ln -sfn node_modules node_modules.asar && cd extensions && ln -sfn node_modules node_modules.asar";
    run(Command::new("sh").args(["-c", script]).current_dir(&editor))?;
    fs::write(&done, CODE_SERVER).context("cannot mark the editor as ready")
}

/// Where sessions leave what they saw.
fn pictures() -> Result<PathBuf> {
    let folder = target_dir().join("editors");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    Ok(folder)
}

/// Fails when a program is not there and could not be installed.
fn need(packages: &[&str], program: &str) -> Result<()> {
    if packages::ensure(program, packages) {
        return Ok(());
    }
    bail!("`{program}` is not installed (Debian: apt-get install {})", packages.join(" "))
}
