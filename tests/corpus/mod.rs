//! The texts that every grammar is held to.

#![allow(dead_code, reason = "each test program uses a part of this")]

use std::fs;
use std::path::{Path, PathBuf};

use ohmline_syntax::lexer::tokens;
use ohmline_syntax::{Tree, parse};

/// What the parser refuses though it follows the grammar, each with the reason why a grammar cannot say it.
const BEYOND_GRAMMAR: &[(&str, &str)] = &[
    ("deep-nesting", "a grammar does not count brackets"),
    ("long-expression", "a grammar does not count operations"),
];

/// Whether the parser refuses a statement for more than its form.
pub fn beyond_grammar(tree: &Tree, start: usize) -> bool {
    let stmt = tree.stmts.iter().find(|stmt| stmt.offset as usize == start);
    let mut problems = stmt.into_iter().flat_map(|stmt| &stmt.node.problems);
    problems.any(|problem| {
        // `ammeter A1, range = 1 A`: which word is an option hangs on the kind.
        let option = problem.message.contains("option");
        option || BEYOND_GRAMMAR.iter().any(|entry| entry.0 == problem.rule)
    })
}

/// The folder of the project.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).expect("the crate lies two folders below the root").into()
}

/// All files with an ending under a folder.
pub fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![root().join(folder)];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(&next).unwrap_or_else(|error| panic!("{}: {error}", next.display())) {
            let path = entry.expect("a folder can be listed").path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|found| found == ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// The fenced `ohmline` blocks of a page.
fn blocks(page: &str) -> Vec<String> {
    let mut all = Vec::new();
    let mut block: Option<String> = None;
    for line in page.lines() {
        match &mut block {
            None if line.trim() == "```ohmline" => block = Some(String::new()),
            None => {}
            Some(_) if line.trim() == "```" => all.extend(block.take()),
            Some(text) => {
                text.push_str(line);
                text.push('\n');
            }
        }
    }
    all
}

/// The corpus: samples, files of mistakes, examples of the pages, examples of the rules, and files that are broken on purpose.
pub fn texts() -> Vec<(String, String)> {
    let mut all = Vec::new();
    let read = |path: &Path| fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    for path in files("samples", "ohmline").into_iter().chain(files("grammar/corpus", "ohmline")) {
        all.push((path.display().to_string(), read(&path)));
    }
    for page in ["README.md", "DEVELOPERS.md", "grammar/README.md", "samples/README.md"] {
        for (index, block) in blocks(&read(&root().join(page))).into_iter().enumerate() {
            all.push((format!("{page}, block {}", index + 1), block));
        }
    }
    for meta in ohmline_lint::registry::all_metas() {
        all.push((format!("rule {}, bad", meta.name), meta.bad.to_owned()));
        all.push((format!("rule {}, good", meta.name), meta.good.to_owned()));
    }
    all
}

/// Every statement of the texts, alone, with each of its tokens left out, doubled, and with everything behind it cut off; each text once.
pub fn changed_statements() -> Vec<(String, String)> {
    let mut all = Vec::new();
    for (name, text) in texts() {
        for stmt in &parse(&text).stmts {
            let one = &text[stmt.range().range()];
            if one.len() > 300 {
                continue;
            }
            for token in tokens(one).iter().filter(|token| !token.kind.is_trivia()) {
                let range = token.span().range();
                let (before, behind) = (&one[..range.start], &one[range.end..]);
                let doubled = format!("{before}{token}{token}{behind}", token = &one[range.clone()]);
                all.extend(
                    [format!("{before}{behind}"), doubled, before.to_owned()].map(|changed| (name.clone(), changed)),
                );
            }
        }
    }
    all.sort_by(|a, b| a.1.cmp(&b.1));
    all.dedup_by(|a, b| a.1 == b.1);
    all
}

/// Pieces of text that mean something, good for making statements at random.
const PIECES: &[&str] = &[
    "circuit",
    "let",
    "reference",
    "claim",
    "find",
    "measured",
    "case",
    "part",
    "repeat",
    "end",
    "resistor",
    "battery",
    "current",
    "voltage",
    "resistance",
    "power",
    "value",
    "through",
    "into",
    "across",
    "between",
    "seen",
    "by",
    "of",
    "series",
    "parallel",
    "at",
    "within",
    "after",
    "in",
    "to",
    "from",
    "and",
    "R1",
    "B1+",
    "-B1+",
    "+A1-",
    "P1.wiper",
    "@fork",
    "@7",
    "L{k}",
    "@post{k-1}",
    "open",
    "\"night\"",
    "4.5",
    "V",
    "4k7",
    "12kohm",
    "40%",
    "?",
    "ohm",
    "Ω",
    "--",
    "--",
    "--",
    "---",
    "—",
    "-",
    "+",
    "*",
    "/",
    "=",
    ",",
    ",",
    ":",
    ".",
    "|",
    "(",
    ")",
    "# note",
    "\n",
    "\n-- ",
    "\n, ",
    "\n| ",
    "\n\n",
    "{",
    "\"",
    "@",
    ";",
    "ä́",
];

/// Texts of pieces thrown together: most are nonsense, and some are not. The same every time.
pub fn soups(count: usize) -> Vec<(String, String)> {
    // Marsaglia's xorshift, "Xorshift RNGs", Journal of Statistical Software 8 (2003).
    let mut state = 0x2545_F491_4F6C_DD1D_u64;
    let mut random = move |below: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % below as u64) as usize
    };
    (0..count)
        .map(|number| {
            let mut text = String::new();
            for _ in 0..1 + random(9) {
                text.push_str(PIECES[random(PIECES.len())]);
                if random(4) > 0 {
                    text.push(' ');
                }
            }
            (format!("soup {number}"), text)
        })
        .collect()
}
