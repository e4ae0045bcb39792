//! What an editor waits for, over standard input and output, while somebody types in a file of 10,000 elements.
//!
//! `cargo xtask bench latency` runs it; `cargo xtask bench latency 50000 40` with another number of elements and of edits. Each edit types
//! or takes back one digit of a value somewhere in the file. Measured is the time from the change to the diagnostics of that very
//! version, and then of each request as an editor sends it: until the last byte of the answer has come.

#![allow(clippy::print_stdout, reason = "what is measured is printed")]

mod client;
#[path = "../shapes/mod.rs"]
mod shapes;

use std::time::Duration;

use client::Session;
use serde_json::{Value, json};

const URI: &str = "file:///harbour/long-quay.ohmline";
const RUFFLED: &str = "file:///harbour/ruffled.ohmline";

fn main() {
    // Cargo passes options of its own.
    let numbers: Vec<usize> = std::env::args().skip(1).filter_map(|word| word.parse().ok()).collect();
    let elements = numbers.first().copied().unwrap_or(10_000);
    let edits = numbers.get(1).copied().unwrap_or(200);
    for shape in ["ladder", "grid"] {
        let text = spoken_of(shapes::text(shape, elements));
        println!("\n{shape} of {elements} elements, {} lines, {edits} edits", text.lines().count());
        Typing::new(text).run(edits);
    }
}

/// A circuit with a claim that does not hold at its end: there is something to be sent anew after every edit above it.
fn spoken_of(mut text: String) -> String {
    text.push_str("find current through B1\nclaim current through B1 = 1000 A\n");
    text
}

/// Somebody who types into a file.
struct Typing {
    session: Session,
    text: String,
    lines: Vec<usize>,
    /// The values in it: their lines, and the columns of their first digits.
    values: Vec<(usize, usize)>,
    figures: Vec<Figures>,
}

/// The times of one kind of wait.
struct Figures {
    what: &'static str,
    times: Vec<Duration>,
    bytes: usize,
}

impl Typing {
    fn new(text: String) -> Self {
        let values = text.lines().enumerate().filter_map(|(line, words)| {
            let at = words.find(" = ")? + 3;
            words.starts_with("resistor").then_some((line, at))
        });
        let values = values.collect();
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Self { session: Session::start(), text, lines: starts, values, figures: Vec::new() }
    }

    fn note(&mut self, what: &'static str, took: Duration, bytes: usize) {
        match self.figures.iter_mut().find(|own| own.what == what) {
            Some(own) => {
                own.times.push(took);
                own.bytes = bytes;
            }
            None => self.figures.push(Figures { what, times: vec![took], bytes }),
        }
    }

    fn ask(&mut self, what: &'static str, method: &str, params: Value) -> Vec<u8> {
        let (took, body) = self.session.request(method, params);
        self.note(what, took, body.len());
        body
    }

    fn run(mut self, edits: usize) {
        let text = self.text.clone();
        let (took, bytes) = self.session.open(URI, &text);
        self.note("open to diagnostics", took, bytes);
        let first = self.ask("semantic tokens, all", "semanticTokens/full", json!({ "textDocument": { "uri": URI } }));
        let mut tokens = result_id(&first);
        // A fixed walk through all values, so that one run is like another (a step that shares no factor with their number).
        let step = (self.values.len() / 2 - 1) | 1;
        for number in 0..edits {
            let (line, column) = self.values[(number / 2 * step + 17) % self.values.len()];
            let typed = number % 2 == 0;
            let range = json!({ "start": { "line": line, "character": column },
                "end": { "line": line, "character": column + usize::from(!typed) } });
            let (took, bytes) = self.session.change(URI, number as i64 + 2, range, if typed { "7" } else { "" });
            self.note("edit to diagnostics", took, bytes);
            let document = json!({ "uri": URI });
            let name = self.text[self.lines[line]..].find(' ').unwrap_or(0) + 1;
            let at = json!({ "textDocument": document, "position": { "line": line, "character": name } });
            let seen = json!({ "start": { "line": line.saturating_sub(25), "character": 0 }, "end": { "line": line + 25, "character": 0 } });
            let with = |name: &str, value: Value| {
                let mut params = at.clone();
                params[name] = value;
                params
            };
            self.ask("inlay hints, 50 lines", "inlayHint", json!({ "textDocument": document, "range": seen }));
            self.ask("hover", "hover", at.clone());
            let asked = json!({ "textDocument": document, "previousResultId": tokens });
            tokens = result_id(&self.ask("semantic tokens, delta", "semanticTokens/full/delta", asked));
            let asked = json!({ "textDocument": document, "range": seen });
            self.ask("semantic tokens, 50 lines", "semanticTokens/range", asked);
            // Behind the wire of the path below, where every element and every junction fits.
            let path = line + 1 + usize::from(!self.line(line + 1).starts_with('@'));
            let behind = self.line(path).find("-- ").map_or(0, |at| at + 3);
            let at_wire = json!({ "textDocument": document, "position": { "line": path, "character": behind } });
            self.ask("completion, any name", "completion", at_wire);
            let at_name = json!({ "textDocument": document, "position": { "line": path, "character": behind + 2 } });
            self.ask("completion, two letters", "completion", at_name);
            self.ask("document symbols", "documentSymbol", json!({ "textDocument": document }));
            self.ask("folding", "foldingRange", json!({ "textDocument": document }));
            self.ask("code lenses", "codeLens", json!({ "textDocument": document }));
            let asked = json!({ "textDocument": document, "range": { "start": at["position"], "end": at["position"] },
                "context": { "diagnostics": [] } });
            self.ask("code actions", "codeAction", asked);
            self.ask("definition", "definition", at.clone());
            self.ask("highlights", "documentHighlight", at.clone());
            self.ask("references", "references", with("context", json!({ "includeDeclaration": true })));
            self.ask("rename", "rename", with("newName", json!("Nebelhorn")));
            let options = json!({ "tabSize": 2, "insertSpaces": true });
            self.ask(
                "formatting, nothing to do",
                "formatting",
                json!({ "textDocument": document, "options": options }),
            );
        }
        self.ask("semantic tokens, all", "semanticTokens/full", json!({ "textDocument": { "uri": URI } }));
        // The same without blanks around signs, so that nearly every line changes; asked for as often as it was typed in, within reason.
        let ruffled = text.replace(" = ", "=").replace(" -- ", "  --  ");
        self.session.open(RUFFLED, &ruffled);
        for _ in 0..edits.clamp(3, 40) {
            let document = json!({ "uri": RUFFLED });
            let options = json!({ "tabSize": 2, "insertSpaces": true });
            self.ask("formatting, every line", "formatting", json!({ "textDocument": document, "options": options }));
            self.ask("semantic tokens, all", "semanticTokens/full", json!({ "textDocument": { "uri": URI } }));
        }
        self.print();
    }

    fn line(&self, number: usize) -> &str {
        let start = self.lines.get(number).copied().unwrap_or(self.text.len());
        self.text[start..].split('\n').next().unwrap_or("")
    }

    fn print(&mut self) {
        println!("{:<28} {:>5} {:>11} {:>11} {:>11}", "", "times", "median ms", "p99 ms", "bytes");
        for Figures { what, times, bytes } in &mut self.figures {
            times.sort_unstable();
            let ms = |time: Duration| format!("{:.2}", time.as_secs_f64() * 1e3);
            // The nearest rank: with fewer than a hundred times, the longest.
            let rank = |share: usize| times[(times.len() * share).div_ceil(100).max(1) - 1];
            println!("{what:<28} {:>5} {:>11} {:>11} {bytes:>11}", times.len(), ms(rank(50)), ms(rank(99)));
        }
    }
}

/// The number under which tokens were sent.
fn result_id(body: &[u8]) -> Value {
    let answer: Value = serde_json::from_slice(body).expect("the server writes JSON");
    answer["result"]["resultId"].clone()
}
