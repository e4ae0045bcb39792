//! Findings known from before: a file of them, so that an old collection is held to what is new.
//!
//! A finding is known by its rule, its file as seen from the folder of the baseline, and a fingerprint of its words and its line, so that
//! it stays known when lines move.

use std::collections::{BTreeMap, HashSet};
use std::path::{Path, PathBuf};

use ohmline_analysis::Analysis;
use ohmline_analysis::load::normalize;
use ohmline_report::fingerprint;
use ohmline_syntax::Diagnostic;
use serde_json::{Value, json};

/// How text from standard input is called.
const STDIN: &str = "<stdin>";
/// The version of the file's shape.
const SCHEMA: u64 = 1;

/// File, rule, fingerprint.
type Key = (String, String, String);

/// How many findings of each kind are known.
#[derive(Default)]
pub struct Baseline {
    folder: PathBuf,
    counts: BTreeMap<Key, u64>,
}

impl Baseline {
    /// An empty one that is to lie at a path.
    pub fn at(path: &Path) -> Self {
        let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        Self { folder: path.parent().map(normalize).unwrap_or_default(), counts: BTreeMap::new() }
    }

    /// Reads one.
    ///
    /// # Errors
    /// In words, when it cannot be read or is no baseline of this version.
    pub fn read(path: &Path) -> Result<Self, String> {
        let text = std::fs::read_to_string(path).map_err(|error| ohmline_files::reason(&error))?;
        let all: Value = serde_json::from_str(&text).map_err(|error| format!("it is no baseline: {error}"))?;
        if all["schema"].as_u64() != Some(SCHEMA) {
            return Err(format!("it is no baseline of version {SCHEMA}; write it anew with --write-baseline"));
        }
        let mut own = Self::at(path);
        for one in all["findings"].as_array().ok_or("it is no baseline: `findings` is no list")? {
            let word = |key: &str| one[key].as_str().map(str::to_owned);
            let (Some(file), Some(rule), Some(print)) = (word("file"), word("rule"), word("fingerprint")) else {
                return Err(format!("it is no baseline: a finding lacks `file`, `rule` or `fingerprint`: {one}"));
            };
            *own.counts.entry((file, rule, print)).or_default() += one["count"].as_u64().unwrap_or(1);
        }
        Ok(own)
    }

    fn file(&self, analysis: &Analysis, found: &Diagnostic) -> String {
        let source = analysis.sources.file(found.primary.at.file);
        let path = source.path.as_deref().map(normalize);
        path.map_or_else(|| source.name.clone(), |path| seen_from(&self.folder, &path).display().to_string())
            .replace('\\', "/")
    }

    fn key(&self, analysis: &Analysis, found: &Diagnostic) -> Key {
        let file = self.file(analysis, found);
        let print = fingerprint(&analysis.sources, found, &file);
        (file, found.rule.to_owned(), print)
    }

    /// Takes over what is known of files that were not looked at and are still there.
    pub fn keep(&mut self, old: Self, looked_at: &[PathBuf]) {
        let looked_at: HashSet<PathBuf> = looked_at.iter().map(|path| normalize(path)).collect();
        for (key, count) in old.counts {
            let path = normalize(&self.folder.join(&key.0));
            if path.exists() && !looked_at.contains(&path) {
                self.counts.insert(key, count);
            }
        }
    }

    /// Adds a finding.
    pub fn add(&mut self, analysis: &Analysis, found: &Diagnostic) {
        *self.counts.entry(self.key(analysis, found)).or_default() += 1;
    }

    /// Whether a finding is known; each is known as often as it was found before.
    pub fn takes(&mut self, analysis: &Analysis, found: &Diagnostic) -> bool {
        let key = self.key(analysis, found);
        match self.counts.get_mut(&key) {
            Some(left) if *left > 0 => {
                *left -= 1;
                true
            }
            _ => false,
        }
    }

    /// What is known and was not found again, of the files that were looked at: file and rule.
    pub fn stale(&self, looked_at: &[PathBuf]) -> Vec<(&str, &str)> {
        let looked_at: Vec<PathBuf> = looked_at.iter().map(|path| normalize(path)).collect();
        let seen = |file: &str| {
            let path = normalize(&self.folder.join(file));
            // What came from standard input is no file, here or gone.
            looked_at.contains(&path) || (!path.exists() && file != STDIN)
        };
        let left = self.counts.iter().filter(|((file, ..), left)| **left > 0 && seen(file));
        left.map(|((file, rule, _), _)| (file.as_str(), rule.as_str())).collect()
    }

    /// The text of the file: in one order, whatever the order of finding.
    pub fn text(&self) -> String {
        let findings: Vec<Value> = self
            .counts
            .iter()
            .map(|((file, rule, print), count)| {
                json!({ "file": file, "rule": rule, "fingerprint": print, "count": count })
            })
            .collect();
        format!("{:#}\n", json!({ "schema": SCHEMA, "findings": findings }))
    }
}

/// A path as seen from a folder; both without `.` and `..`.
fn seen_from(folder: &Path, path: &Path) -> PathBuf {
    let shared = folder.components().zip(path.components()).take_while(|(one, other)| one == other).count();
    let up = folder.components().skip(shared).map(|_| std::path::Component::ParentDir);
    up.chain(path.components().skip(shared)).collect()
}
