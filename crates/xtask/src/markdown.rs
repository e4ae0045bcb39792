//! The examples in the Markdown pages: run, compared, written anew.
//!
//! A comment right above a fenced block says what the block is:
//!
//! - `<!-- run: ohmline solve samples/first-lamp.ohmline -->`: the output of this command;
//! - `<!-- file: samples/first-lamp.ohmline -->`: the text of this file;
//! - `<!-- shows: open-end -->` above an `ohmline` block: the rules that report an error or a warning in it, each named once;
//! - `<!-- with: battery B1 = 6 V; B1+ -- @a -->` above an `ohmline` block: lines that the example leaves out.
//!
//! `<!-- draws: ohmline draw samples/first-lamp.ohmline -->` right above an image says that its file is the output of this command.
//!
//! `<!-- paste: ohmline explain --show groups --format markdown -->` says that everything from here to `<!-- end of paste -->` is the
//! output of this command. What is pasted is tested where it comes from, so nothing in it is an example of the page.
//!
//! Every `ohmline` block without `shows` must be free of errors and warnings. In `sh` blocks, each line that runs the project's
//! command must succeed.

use std::collections::BTreeSet;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use anyhow::{Context, Result, bail};
use serde_json::Value;

use crate::root;

/// The pages with examples.
const PAGES: &[&str] = &[
    "README.md",
    "DEVELOPERS.md",
    "grammar/README.md",
    "grammar/rules.md",
    "grammar/settings.md",
    "samples/README.md",
];

/// Begins a line of a `sh` block that runs the project's command.
const COMMAND: &str = "cargo run --release -- ";

/// Writes every `run` and `file` block anew.
pub fn rewrite(binary: &Path) -> Result<()> {
    for page in PAGES {
        let path = root().join(page);
        let old = fs::read_to_string(&path).with_context(|| format!("cannot read {page}"))?;
        let new = paste(&old, &|command| output(command, binary)).with_context(|| page.to_string())?;
        let new = regenerate(&new, &|block| fresh(block, binary)).with_context(|| page.to_string())?;
        if new != old {
            fs::write(&path, &new).with_context(|| format!("cannot write {page}"))?;
            println!("wrote {page}");
        }
        for picture in pictures(&new) {
            fs::write(root().join(picture.file), picture.drawn(binary)?)
                .with_context(|| format!("cannot write {}", picture.file))?;
        }
    }
    Ok(())
}

/// Fails with every stale block and every example that is not as the page says.
pub fn check(binary: &Path) -> Result<()> {
    let mut wrong = Vec::new();
    for page in PAGES {
        let text = fs::read_to_string(root().join(page)).with_context(|| format!("cannot read {page}"))?;
        match paste(&text, &|command| output(command, binary)) {
            Ok(new) if new == text => {}
            Ok(_) => wrong.push(format!("{page}: what is pasted is stale; `cargo xtask readme` writes it anew")),
            Err(error) => wrong.push(format!("{page}: {error:#}")),
        }
        for block in blocks(&text) {
            let place = format!("{page}:{}", block.line);
            match judge(&block, binary) {
                Ok(()) => {}
                Err(error) => wrong.push(format!("{place}: {error:#}")),
            }
        }
        for picture in pictures(&text) {
            let file = picture.file;
            let drawn = picture.drawn(binary)?;
            if fs::read(root().join(file)).ok().as_ref() != Some(&drawn) {
                wrong.push(format!("{page}: {file} is not what `{}` draws; run `cargo xtask readme`", picture.command));
            }
        }
    }
    if wrong.is_empty() { Ok(()) } else { bail!("{}", wrong.join("\n")) }
}

/// Begins what is pasted, and ends it.
const PASTE: &str = "paste";
const END_OF_PASTE: &str = "<!-- end of paste -->";

/// The page with all that is pasted replaced by what `fresh` gives for its command.
fn paste(text: &str, fresh: &dyn Fn(&str) -> Result<String>) -> Result<String> {
    let mut new = String::with_capacity(text.len());
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        new.push_str(line);
        new.push('\n');
        if let Some((PASTE, command)) = directive(line) {
            if !lines.by_ref().any(|line| line.trim() == END_OF_PASTE) {
                bail!("`{END_OF_PASTE}` is missing after `{command}`");
            }
            new.push_str(&format!("\n{}\n{END_OF_PASTE}\n", fresh(command)?));
        }
    }
    Ok(new)
}

/// A fenced block.
#[derive(Debug, PartialEq, Eq)]
struct Block<'a> {
    /// 1-based line of its opening fence.
    line: usize,
    /// The word behind the opening fence.
    language: &'a str,
    /// What the comments right above it say.
    directives: Vec<(&'a str, &'a str)>,
    /// Its lines.
    body: Vec<&'a str>,
}

impl<'a> Block<'a> {
    fn directive(&self, name: &str) -> Option<&'a str> {
        self.directives.iter().find(|entry| entry.0 == name).map(|entry| entry.1)
    }

    fn text(&self) -> String {
        let mut text = self.body.join("\n");
        text.push('\n');
        text
    }
}

fn directive(line: &str) -> Option<(&str, &str)> {
    let inner = line.trim().strip_prefix("<!--")?.strip_suffix("-->")?.trim();
    let (name, rest) = inner.split_once(':')?;
    Some((name.trim(), rest.trim()))
}

fn blocks(text: &str) -> Vec<Block<'_>> {
    let mut found = Vec::new();
    let mut directives = Vec::new();
    let mut lines = text.lines().enumerate();
    while let Some((number, line)) = lines.next() {
        if let Some(language) = line.trim_start().strip_prefix("```") {
            let body = lines.by_ref().map(|(_, line)| line).take_while(|line| line.trim() != "```").collect();
            let directives = std::mem::take(&mut directives);
            found.push(Block { line: number + 1, language: language.trim(), directives, body });
        } else if let Some(entry) = directive(line) {
            if entry.0 == PASTE {
                lines.by_ref().take_while(|(_, line)| line.trim() != END_OF_PASTE).for_each(drop);
            } else {
                directives.push(entry);
            }
        } else if !line.trim().is_empty() {
            directives.clear();
        }
    }
    found
}

/// An image with the command that draws it.
#[derive(Debug, PartialEq, Eq)]
struct Picture<'a> {
    command: &'a str,
    file: &'a str,
}

impl Picture<'_> {
    fn drawn(&self, binary: &Path) -> Result<Vec<u8>> {
        let command = self.command;
        let Some(args) = command.strip_prefix("ohmline ") else { bail!("only `ohmline` can draw, not `{command}`") };
        let output = call(binary, args.split_whitespace(), None)?;
        if !output.status.success() {
            bail!("`{command}` failed: {}", String::from_utf8_lossy(&output.stderr));
        }
        Ok(output.stdout)
    }
}

fn pictures(text: &str) -> Vec<Picture<'_>> {
    let lines: Vec<&str> = text.lines().collect();
    let image = |line: &'_ str| -> Option<(usize, usize)> {
        let start = line.find("](")? + 2;
        let end = start + line[start..].find(')')?;
        line.starts_with("![").then_some((start, end))
    };
    lines
        .windows(2)
        .filter_map(|pair| {
            let ("draws", command) = directive(pair[0])? else { return None };
            let (start, end) = image(pair[1])?;
            Some(Picture { command, file: &pair[1][start..end] })
        })
        .collect()
}

/// The page with the body of each block replaced by what `fresh` gives for it, where it gives something.
fn regenerate(text: &str, fresh: &dyn Fn(&Block<'_>) -> Result<Option<String>>) -> Result<String> {
    let lines: Vec<&str> = text.lines().collect();
    let mut new = String::with_capacity(text.len());
    let mut next = 0;
    for block in blocks(text) {
        let end = block.line + block.body.len();
        let Some(body) = fresh(&block)? else { continue };
        for line in &lines[next..block.line] {
            new.push_str(line);
            new.push('\n');
        }
        new.push_str(&body);
        next = end;
    }
    for line in &lines[next..] {
        new.push_str(line);
        new.push('\n');
    }
    Ok(new)
}

/// What a `run` or `file` block must hold.
fn fresh(block: &Block<'_>, binary: &Path) -> Result<Option<String>> {
    if let Some(name) = block.directive("file") {
        let text = fs::read_to_string(root().join(name)).with_context(|| format!("cannot read {name}"))?;
        return Ok(Some(text));
    }
    let Some(command) = block.directive("run") else { return Ok(None) };
    output(command, binary).map(Some)
}

/// What a command prints, without blanks at line ends.
fn output(command: &str, binary: &Path) -> Result<String> {
    let Some(args) = command.strip_prefix("ohmline ") else { bail!("only `ohmline` can be run, not `{command}`") };
    let output = call(binary, args.split_whitespace(), None)?;
    let mut text = String::from_utf8(output.stdout).context("the output is not UTF-8")?;
    text.push_str(&String::from_utf8_lossy(&output.stderr));
    if !matches!(output.status.code(), Some(0 | 1)) {
        bail!("`{command}` ended with {}: {text}", output.status);
    }
    let lines: Vec<&str> = text.trim_end().lines().map(str::trim_end).collect();
    Ok(lines.join("\n") + "\n")
}

fn judge(block: &Block<'_>, binary: &Path) -> Result<()> {
    if let Some(expected) = fresh(block, binary)? {
        if expected != block.text() {
            bail!("stale: `cargo xtask readme` writes it anew");
        }
        return Ok(());
    }
    match block.language {
        "ohmline" => judge_example(block, binary),
        "sh" => {
            for line in &block.body {
                if let Some(args) = line.trim().strip_prefix(COMMAND) {
                    let output = call(binary, args.split_whitespace(), None)?;
                    if !output.status.success() {
                        bail!("`{line}` ended with {}", output.status);
                    }
                }
            }
            Ok(())
        }
        _ => Ok(()),
    }
}

fn judge_example(block: &Block<'_>, binary: &Path) -> Result<()> {
    let mut text = block.text();
    for line in block.directive("with").into_iter().flat_map(|lines| lines.split(';')) {
        text.push_str(line.trim());
        text.push('\n');
    }
    let expected: BTreeSet<&str> =
        block.directive("shows").into_iter().flat_map(|names| names.split(',')).map(str::trim).collect();
    let output = call(binary, ["check", "-", "--format", "json"], Some(&text))?;
    let report: Value = serde_json::from_slice(&output.stdout)
        .with_context(|| format!("`ohmline check` printed no JSON: {}", String::from_utf8_lossy(&output.stderr)))?;
    let serious: Vec<&Value> = report["diagnostics"]
        .as_array()
        .into_iter()
        .flatten()
        .filter(|found| matches!(found["severity"].as_str(), Some("error" | "warning")))
        .collect();
    let shown: BTreeSet<&str> = serious.iter().filter_map(|found| found["rule"].as_str()).collect();
    if shown != expected {
        let messages: Vec<String> = serious
            .iter()
            .map(|found| {
                format!(
                    "\n  line {}: {} {}: {}",
                    found["start"]["line"],
                    found["severity"].as_str().unwrap_or("?"),
                    found["rule"].as_str().unwrap_or("?"),
                    found["message"].as_str().unwrap_or("?")
                )
            })
            .collect();
        bail!("the example should show {expected:?} but shows {shown:?}{}", messages.concat());
    }
    Ok(())
}

fn call<'a>(binary: &Path, args: impl IntoIterator<Item = &'a str>, input: Option<&str>) -> Result<Output> {
    let mut child = Command::new(binary)
        .args(args)
        .current_dir(root())
        .env("NO_COLOR", "1")
        .env_remove("COLUMNS")
        .stdin(if input.is_some() { Stdio::piped() } else { Stdio::null() })
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .with_context(|| format!("cannot start {}", binary.display()))?;
    if let (Some(text), Some(mut stdin)) = (input, child.stdin.take()) {
        // A command that ends without reading its input has said why.
        let _ = stdin.write_all(text.as_bytes());
    }
    child.wait_with_output().context("cannot read the output")
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: &str = "\
# Title

<!-- run: ohmline solve a -->
```text
old
lines
```

<!-- shows: open-end -->

```ohmline
B1+ -- @a
```

Text between clears a comment.

```sh
ls
```
";

    #[test]
    fn blocks_have_the_comments_right_above_them() {
        let found = blocks(PAGE);
        assert_eq!(found.len(), 3);
        assert_eq!((found[0].line, found[0].language), (4, "text"));
        assert_eq!(found[0].directive("run"), Some("ohmline solve a"));
        assert_eq!(found[0].body, ["old", "lines"]);
        assert_eq!(found[1].directive("shows"), Some("open-end"));
        assert!(found[2].directives.is_empty());
    }

    #[test]
    fn what_is_pasted_is_written_anew_and_holds_no_examples() {
        let page = "A\n<!-- paste: ohmline explain -->\nold\n```ohmline\nB1 -- \n```\n<!-- end of paste -->\nZ\n";
        assert!(blocks(page).is_empty());
        let new = paste(page, &|command| Ok(format!("of {command}\n"))).unwrap();
        assert_eq!(new, "A\n<!-- paste: ohmline explain -->\n\nof ohmline explain\n\n<!-- end of paste -->\nZ\n");
        assert_eq!(paste(&new, &|command| Ok(format!("of {command}\n"))).unwrap(), new);
        assert!(paste("<!-- paste: ohmline explain -->\nold\n", &|_| Ok(String::new())).is_err());
    }

    #[test]
    fn images_name_the_command_that_draws_them() {
        let page = "<!-- draws: ohmline draw a.ohmline -->\n![A lamp](a.svg)\n\n![Other](b.svg)\n";
        assert_eq!(pictures(page), [Picture { command: "ohmline draw a.ohmline", file: "a.svg" }]);
    }

    #[test]
    fn regenerating_replaces_a_block_and_nothing_else() {
        let new = regenerate(PAGE, &|block| Ok(block.directive("run").map(|_| "new\n".to_owned()))).unwrap();
        assert_eq!(new, PAGE.replace("old\nlines\n", "new\n"));
        let same = regenerate(PAGE, &|_| Ok(None)).unwrap();
        assert_eq!(same, PAGE);
    }
}
