//! Writes the generated files anew, and says which ones changed. With `mark`, notes instead what the parser was just generated from.

#![allow(clippy::print_stdout, reason = "this is a terminal program")]

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};

fn main() -> Result<()> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let root = root.canonicalize().context("the project has no root")?;
    let files = match std::env::args().nth(1).as_deref() {
        Some("mark") => vec![ohmline_grammar::fingerprint(&root)?],
        _ => ohmline_grammar::generated(&root)?,
    };
    for file in files {
        let path = root.join(&file.path);
        if fs::read_to_string(&path).ok().as_deref() == Some(file.text.as_str()) {
            continue;
        }
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
        }
        fs::write(&path, &file.text).with_context(|| format!("cannot write {}", path.display()))?;
        println!("wrote {}", file.path);
    }
    Ok(())
}
