//! Whatever is offered fits its place. At every place of every sample, example and corpus file where a word has just been written, or a blank
//! behind it, each item that is offered is accepted, and the line must be free of errors where the item went in, or be the beginning of
//! such a line.
//!
//! Twice each: with the rest of the line still to be written, and with the line as it is, where the item takes the place of the word.
//!
//! Limits, each for a reason: a line that only begins something is judged by continuing it in the ways of [`rests`]; of errors only those that
//! touch what was accepted count, since another word can make what stands further on wrong; and what the values of the whole circuit make
//! of the line (a claim that does not hold, a battery that is shorted) is no matter of writing, so rules of lint are not asked.

#![allow(clippy::print_stderr, reason = "what was tried is shown when asked for")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ohmline_analysis::{Analysis, FileSystem, Settings, analyze, load};
use ohmline_assist::complete::{Item, ItemKind, complete};
use ohmline_assist::occurrences::Index;
use ohmline_circuit::build;
use ohmline_syntax::lexer::{TokenKind, tokens};
use ohmline_syntax::{FileId, Severity, Span, parse};

/// The files of a folder.
struct Folder;

impl FileSystem for Folder {
    fn read(&self, path: &Path) -> Result<Arc<str>, String> {
        std::fs::read_to_string(path).map(Into::into).map_err(|error| error.to_string())
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }
}

/// The errors of reading and building a text: rule, message, place.
fn errors(path: &Path, text: &str) -> Vec<(&'static str, String, Span)> {
    let sources = load("text.ohmline", Some(path), Arc::new(parse(text)), &Folder);
    let mut found = sources.file(FileId::MAIN).tree.diagnostics(FileId::MAIN);
    found.extend(build(&sources).diagnostics);
    let found = found.into_iter().filter(|own| own.severity == Severity::Error && own.primary.at.file == FileId::MAIN);
    found.map(|own| (own.rule, own.message, own.primary.at.span)).collect()
}

/// Ways a line can go on, with names that the text has.
fn rests(analysis: &Analysis) -> Vec<String> {
    let circuit = &analysis.circuit;
    let of = |kinds: &[&str], other: &str| {
        let mut own = circuit.declared_ids().map(|id| circuit.element(id));
        let found = own.find(|own| kinds.contains(&own.kind.word()) && !own.name.contains('.'));
        found.map_or(other.to_owned(), |own| own.name.to_string())
    };
    let plain = of(&["resistor", "lamp", "switch", "fuse"], "R1");
    let second = circuit
        .declared_ids()
        .map(|id| circuit.element(id))
        .filter(|own| own.kind.terminals().len() == 2 && own.name != plain)
        .last()
        .map_or("R2".to_owned(), |own| own.name.to_string());
    let any = of(&["resistor", "lamp", "ammeter", "diode", "battery", "capacitor", "switch"], "R1");
    let capacitor = of(&["capacitor", "electrolytic", "inductor"], "C1");
    let source = of(&["battery", "source"], "B1");
    let mut junctions: Vec<&str> =
        circuit.junction_names.keys().map(|own| own.as_str()).filter(|own| !own.contains('.')).collect();
    junctions.sort_unstable();
    let point = junctions.first().map_or_else(|| format!("{source}-"), |own| format!("@{own}"));
    let case = circuit.states.iter().find_map(|own| own.name.as_deref()).unwrap_or("zz");
    let mut found: Vec<String> = Vec::new();
    for unit in ["", " ohm", " V", " A", " F", " H", " W", " C", " J", "%"] {
        found.extend([format!("= 1{unit}"), format!("1{unit}"), format!("within 1{unit}")]);
    }
    for tail in [
        format!("through {any}"),
        format!("into {source}+"),
        format!("across {any}"),
        format!("from {point} to {source}+"),
        format!("to {source}+"),
        format!("at {point}"),
        format!("between {point} and {source}+"),
        format!("and {source}+"),
        format!("{point} and {source}+"),
        format!("{point} to {source}+"),
        format!("current through {any}"),
        format!("{source}+ = 1 A"),
        format!("seen by {source}"),
        format!("by {source}"),
        format!("of {any}"),
        format!("of {capacitor}"),
        any.clone(),
        source.clone(),
        capacitor,
        point.clone(),
    ] {
        for unit in [None, Some("ohm"), Some("V"), Some("A"), Some("F"), Some("W"), Some("C"), Some("J")] {
            found.push(unit.map_or(tail.clone(), |unit| format!("{tail} = 1 {unit}")));
        }
    }
    for tail in [
        "ohm",
        "V",
        "A",
        "F",
        "H",
        "W",
        "C",
        "J",
        "%",
        "s",
        "at 1%",
        "at 12 V",
        "= open",
        "open",
        "= a",
        "= 1 W at 12 V",
        "\"zz\"",
        "\"zz\": supply = 1 V",
        ": ",
        "Zz",
        "Zz{k}",
        "Zz{k} = 1 ohm",
        "Zz{k} = open",
        "Zz{k} = a",
        "Zz{k} = 1 V",
        "Zz{k} = 1 F",
        "Zz{k} = 1 H",
        "Zz{k} = 1 ohm at 1%",
        "Zz{k} = 1 A",
        "Zz = 1 ohm",
        "Zz = open",
        "Zz = a",
        "Zz = 1 V",
        "Zz = 1 F",
        "Zz = 1 H",
        "Zz = 1 ohm at 1%",
        "Zz = 1 A",
        "in series",
        "in parallel",
        "series",
        "-- @quay",
        "@quay -- @town",
        "+",
        "zz = 1 V",
        "zz(a, b)\nend",
        "zz from 1 to 2\nend",
        "from 1 to 2\nend",
        "to 2\nend",
        "+ -- @quay",
        "- -- @quay",
        "-- @quay )",
        ", tolerance 1%",
    ] {
        found.push(tail.to_owned());
    }
    found.extend([
        format!(", {plain} in series"),
        format!("({plain}, {any}) in series"),
        format!("{plain}, {any} in series"),
        format!("{plain}, {second} in series"),
        format!(", {second} in series"),
        format!("{second} in series"),
        format!("\"zz\": {plain} = open"),
        format!("\"zz\": {any} = open"),
        format!("\"{case}\""),
        "\"kit.ohmline\"".to_owned(),
        "\"first-lamp.ohmline\"".to_owned(),
        "\"other-kit.ohmline\"".to_owned(),
        format!(": {plain} = open"),
        format!("{plain} = open"),
        format!("{plain} -- @quay"),
        format!("@quay -- {plain}"),
        format!("{source}+ -- @quay"),
        format!("| {plain} )"),
        format!("-- @quay | {plain} )"),
    ]);
    found.insert(0, String::new());
    found
}

/// A snippet with its places filled in as proposed.
fn filled(snippet: &str) -> String {
    // An escaped brace stands in for itself.
    let snippet = snippet.replace("\\}", "\u{1}");
    let snippet = snippet.as_str();
    let mut out = String::new();
    let mut rest = snippet;
    while let Some(at) = rest.find("${") {
        out += &rest[..at];
        let close = at + rest[at..].find('}').expect("a closing brace");
        let body = &rest[at + 2..close];
        out += body.split_once(':').map_or("", |(_, text)| text);
        rest = &rest[close + 1..];
    }
    (out + rest).replace('\u{1}', "}")
}

/// Words that decide what may follow.
const WORDS: &[&str] = &[
    "current",
    "voltage",
    "potential",
    "resistance",
    "capacitance",
    "power",
    "charge",
    "energy",
    "value",
    "through",
    "into",
    "across",
    "from",
    "to",
    "at",
    "between",
    "and",
    "seen",
    "by",
    "of",
    "in",
    "within",
    "after",
];

/// How many names alike are tried at a place.
const MOST_ALIKE: usize = 2;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).expect("the crate lies two folders below the root").into()
}

struct Place<'t> {
    path: &'t Path,
    head: &'t str,
    /// The rest of the line, and the lines behind.
    rest: &'t str,
    below: &'t str,
}

#[derive(Default)]
struct Tally {
    places: usize,
    items: usize,
    wrong: BTreeMap<String, (usize, String)>,
    /// Which of the [`rests`] went with a line of this shape.
    known: BTreeMap<String, Option<usize>>,
}

impl Place<'_> {
    fn try_all(&self, tally: &mut Tally) {
        let text = format!("{}{}{}", self.head, self.rest, self.below);
        let tree = Arc::new(parse(&text));
        let analysis = analyze(load("text.ohmline", Some(self.path), tree, &Folder), &Settings::default());
        let index = Index::new(&analysis.sources);
        let kit = self.path.with_file_name("kit.ohmline");
        let files: &[String] = if kit.exists() && kit != self.path { &["kit.ohmline".to_owned()] } else { &[] };
        let offer = complete(&analysis, &index, self.head.len() as u32, files);
        tally.places += 1;
        if offer.items.is_empty() {
            return;
        }
        let old = errors(self.path, &text);
        let rests = if self.rest.is_empty() { rests(&analysis) } else { vec![String::new()] };
        let mut alike: BTreeMap<String, usize> = BTreeMap::new();
        for item in &offer.items {
            // What stands behind a word of the notation goes with that word.
            let word = &text[item.replace.range()];
            // Another word in its place takes the end from a block, and with it what the block means.
            if word == "end" {
                continue;
            }
            let whole = !self.rest.is_empty();
            let first = self.head[line_start(self.head)..item.replace.start as usize].trim().is_empty();
            let goes_on = self.rest.trim_start().starts_with(['-', '+', '.', '|']);
            let names = matches!(item.kind, ItemKind::Junction | ItemKind::Element | ItemKind::Terminal);
            let keyword = matches!(item.kind, ItemKind::Keyword | ItemKind::Kind) || WORDS.contains(&word);
            if whole && (word.is_empty() || keyword || first && !(goes_on && names)) {
                continue;
            }
            // What a value is multiplied with can make its unit fit.
            let line = &self.head[line_start(self.head)..];
            let reckons = line.split_once('=').is_some_and(|(_, own)| own.contains(['*', '/', '(']));
            if reckons && matches!(item.kind, ItemKind::Value | ItemKind::Unit) {
                continue;
            }
            // Where nothing is declared yet, nothing can be asked about.
            let asks = matches!(item.label.as_str(), "find" | "claim" | "given" | "measured" | "case");
            if asks && analysis.circuit.elements.is_empty() {
                continue;
            }
            // Of many alike a few are enough.
            let marks: String = item.label.chars().filter(|c| !c.is_alphanumeric()).collect();
            let sort = item.detail.split(' ').next().unwrap_or("");
            let same = alike.entry(format!("{:?}{sort}{marks}", item.kind)).or_default();
            *same += 1;
            if *same > MOST_ALIKE && matches!(item.kind, ItemKind::Element | ItemKind::Junction | ItemKind::Terminal) {
                continue;
            }
            tally.items += 1;
            let mut forms = vec![item.insert.clone()];
            forms.extend(item.snippet.as_deref().map(filled));
            for form in forms {
                let line = &self.head[line_start(self.head)..item.replace.start as usize];
                let key =
                    format!("{}{}<|>{}", shape(&format!("{line}{form}")), item.replace.is_empty(), shape(self.rest));
                let old_key = tally.known.get(&key).copied();
                let found = match old_key {
                    Some(Some(at)) => self
                        .refused(item, &form, &text, &old, &rests[at..=at])
                        .map_err(|_| ())
                        .or_else(|()| self.refused(item, &form, &text, &old, &rests)),
                    Some(None) => continue,
                    None => self.refused(item, &form, &text, &old, &rests),
                };
                match found {
                    Ok(at) => {
                        if old_key.is_none() {
                            tally.known.insert(key, Some(at));
                        }
                    }
                    Err(why) => {
                        tally.known.insert(key, None);
                        let line = self.head.rsplit('\n').next().unwrap_or("");
                        let found =
                            tally.wrong.entry(format!("{why} {:?} after `{}`", item.kind, shape(line))).or_default();
                        found.0 += 1;
                        if found.1.is_empty() {
                            found.1 = format!("{line}<|>{} + {form:?} ({})", self.rest, self.path.display());
                        }
                    }
                }
            }
        }
    }

    /// The way to go on with which an accepted item makes no error, or the error that it makes first.
    fn refused(
        &self,
        item: &Item,
        form: &str,
        text: &str,
        old: &[(&'static str, String, Span)],
        rests: &[String],
    ) -> Result<usize, String> {
        let (start, end) = (item.replace.start as usize, item.replace.end as usize);
        let line = &self.head[line_start(self.head)..start];
        let mut first = None;
        for (number, rest) in rests.iter().enumerate() {
            let touching = rest.starts_with(['+', '-', '%', ':', ',']) && !rest.starts_with("--");
            let gap = if rest.is_empty() || form.ends_with(' ') || touching { "" } else { " " };
            // A line that cannot be read alone cannot be read among others.
            if !rest.is_empty() {
                let alone = parse(&format!("{line}{form}{gap}{rest}"));
                let wrong = |own: &ohmline_syntax::diagnostic::Problem| {
                    own.severity == Severity::Error && !own.rule.ends_with("-end") && own.rule != "unknown-name"
                };
                if alone.problems().any(|(stmt, own)| stmt.span(own.at).end as usize > line.len() && wrong(own)) {
                    continue;
                }
            }
            let new = format!("{}{form}{gap}{rest}{}", &text[..start], &text[end..]);
            let own = if self.rest.is_empty() { form.len() + gap.len() + rest.len() } else { form.len() };
            let stop = start + own.max(1);
            let touches = |span: &Span| (span.start as usize) < stop && span.end as usize > start;
            let mut known: Vec<(&str, &str)> = old.iter().map(|(rule, message, _)| (*rule, message.as_str())).collect();
            let found = errors(self.path, &new).into_iter().find(|(rule, message, span)| {
                if !touches(span) {
                    return false;
                }
                match known.iter().position(|own| *own == (*rule, message.as_str())) {
                    Some(at) => {
                        known.swap_remove(at);
                        false
                    }
                    None => true,
                }
            });
            match found {
                None => return Ok(number),
                Some((rule, ..)) => first = first.or(Some(rule.to_owned())),
            }
        }
        Err(first.unwrap_or_default())
    }
}

fn line_start(head: &str) -> usize {
    head.rfind(['\n', '\r']).map_or(0, |at| at + 1)
}

/// The words of a line that the notation has, and `_` for others.
fn shape(line: &str) -> String {
    let words = tokens(line);
    let words = words.iter().filter(|own| own.kind != TokenKind::Blank).map(|own| {
        let text = own.text(line);
        if own.kind.is_name() && !text.chars().all(|c| c.is_ascii_lowercase()) || own.kind == TokenKind::Junction {
            "_"
        } else {
            text
        }
    });
    words.collect::<Vec<_>>().join(" ")
}

/// All places of a text that differ.
fn places(path: &Path, text: &str, seen: &mut BTreeSet<String>, tally: &mut Tally) {
    let all = tokens(text);
    for token in all.iter().filter(|own| !matches!(own.kind, TokenKind::Comment | TokenKind::Doc | TokenKind::Newline))
    {
        if token.text(text) == "end" {
            // Written over, it closes nothing, and everything around it is read otherwise.
            continue;
        }
        let end = token.end() as usize;
        let stop = text[end..].find(['\n', '\r']).map_or(text.len(), |at| end + at);
        let (head, rest, below) = (&text[..end], &text[end..stop], &text[stop..]);
        let line = |text: &str| shape(text.rsplit('\n').next().unwrap_or(""));
        for rest in [rest, ""] {
            if !seen.insert(format!("{}<|>{}", line(head), shape(rest))) {
                continue;
            }
            Place { path, head, rest, below }.try_all(tally);
        }
    }
}

/// The samples of one folder, in order.
fn circuits(folder: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(root().join(folder)).expect("a folder of the project");
    let mut files: Vec<PathBuf> = entries.filter_map(|own| own.ok().map(|own| own.path())).collect();
    files.retain(|path| path.extension().is_some_and(|own| own == "ohmline"));
    files.sort();
    files
}

#[test]
fn whatever_is_offered_fits() {
    let mut files = [circuits("samples"), circuits("samples/mistakes")].concat();
    // This one holds circuits of thousands of elements, for the limits; what else it has stands in the others too.
    files.retain(|path| !path.ends_with("every-diagnostic.ohmline"));
    let mut tally = Tally::default();
    let mut seen = BTreeSet::new();
    for path in &files {
        let text = std::fs::read_to_string(path).expect("readable");
        places(path, &text, &mut seen, &mut tally);
    }
    let mut wrong: Vec<_> = tally.wrong.iter().collect();
    wrong.sort_by_key(|(_, (count, _))| std::cmp::Reverse(*count));
    let total: usize = wrong.iter().map(|(_, (count, _))| count).sum();
    for (what, (count, first)) in &wrong {
        eprintln!("{count} {what}: {first}");
    }
    assert_eq!(total, 0, "of {} items at {} places", tally.items, tally.places);
}

/// The other way round: what stands in a sound sample is offered at its place, with the rest of its line still to be written. Names that
/// are declared, values, titles and units are the writer's own.
#[test]
fn what_the_samples_say_is_offered() {
    let (mut asked, mut missed) = (0, Vec::new());
    for path in circuits("samples") {
        let text = std::fs::read_to_string(&path).expect("readable");
        let mut declares = false;
        let mut behind_equals = false;
        let mut first = true;
        let all: Vec<_> = tokens(&text).into_iter().filter(|own| own.kind != TokenKind::Blank).collect();
        for (number, token) in all.iter().enumerate() {
            if token.kind == TokenKind::Newline {
                (declares, behind_equals, first) = (false, false, true);
                continue;
            }
            let word = token.text(&text);
            let begins = std::mem::take(&mut first);
            if begins {
                let next = all.get(number + 1).map(|own| own.kind);
                let asks = matches!(word, "find" | "claim" | "given" | "measured" | "reference" | "case");
                declares = !asks && next.is_some_and(TokenKind::is_word);
            }
            behind_equals |= token.kind == TokenKind::Equals;
            let is_name = token.kind.is_word() || token.kind == TokenKind::Junction;
            if !is_name || declares && !begins || behind_equals {
                continue;
            }
            let start = token.start as usize;
            let stop = text[start..].find(['\n', '\r']).map_or(text.len(), |at| start + at);
            // A junction begins to be when it is named.
            let line = text[..start].rfind('\n').map_or(0, |at| at + 1);
            let elsewhere = [&text[..line], &text[stop..]].concat();
            if token.kind == TokenKind::Junction && !elsewhere.contains(word) {
                continue;
            }
            // A sign that touches the name belongs to it.
            let head =
                text[..start].strip_suffix(['+', '-']).filter(|own| own.ends_with(' ')).unwrap_or(&text[..start]);
            let own = format!("{head}{}", &text[stop..]);
            let tree = Arc::new(parse(&own));
            let analysis = analyze(load("text.ohmline", Some(&path), tree, &Folder), &Settings::default());
            let offer = complete(&analysis, &Index::new(&analysis.sources), head.len() as u32, &[]);
            asked += 1;
            let fits = |label: &str| {
                label == word
                    || label.trim_start_matches(['+', '-']).trim_end_matches(['+', '-']) == word
                    || label.split([' ', '.']).any(|own| own == word)
            };
            if !offer.items.iter().any(|item| fits(&item.label)) {
                let line = head.rsplit('\n').next().unwrap_or("");
                missed.push(format!("{line}<|> {word} ({})", path.display()));
            }
        }
    }
    assert!(asked > 500, "{asked}");
    assert!(missed.is_empty(), "{} of {asked}:\n{}", missed.len(), missed.join("\n"));
}
