//! `cargo xtask grammar`: everything that is generated from the inventory of words, and the tree-sitter parser from its rules.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::Result;

use crate::{build_program, root, run, target_dir};

/// Writes the generated files anew; the parser too, where the tree-sitter command is there.
pub fn write() -> Result<()> {
    let lists = build_program("ohmline-grammar")?;
    run(&mut Command::new(&lists))?;
    let Some(tree_sitter) = tree_sitter() else {
        println!(
            "the tree-sitter command is not there, so src/parser.c stays as it is; after a change of grammar.js or of keywords:\n  \
             cargo install tree-sitter-cli --version 0.27.1 --locked --root target/tools\n  cargo xtask grammar"
        );
        return Ok(());
    };
    let folder = root().join("grammar/tree-sitter");
    // Neovim before 0.9 reads tables of version 14 at most.
    run(Command::new(&tree_sitter).args(["generate", "--abi", "14"]).current_dir(&folder))?;
    run(Command::new(&lists).arg("mark"))?;
    run(Command::new(&tree_sitter).arg("test").current_dir(&folder))
}

/// The tree-sitter command: on the path, or where [`write()`] says to put it.
fn tree_sitter() -> Option<PathBuf> {
    let own = target_dir().join("tools/bin/tree-sitter");
    [Path::new("tree-sitter").to_path_buf(), own].into_iter().find(|program| {
        let mut command = Command::new(program);
        command.arg("--version").stdout(Stdio::null()).stderr(Stdio::null());
        command.status().is_ok_and(|status| status.success())
    })
}
