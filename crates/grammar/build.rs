//! Compiles the committed tree-sitter parser.

use std::path::Path;

fn main() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../grammar/tree-sitter/src");
    println!("cargo::rerun-if-changed={}", source.display());
    cc::Build::new()
        .include(&source)
        .file(source.join("parser.c"))
        .file(source.join("scanner.c"))
        .std("c11")
        // The generated parser has parameters that it does not use.
        .flag_if_supported("-Wno-unused-parameter")
        .flag_if_supported("-Wno-unused-but-set-variable")
        .compile("tree-sitter-ohmline");
}
