//! What the author allows: `# allow split-series: the class is to find it`.
//!
//! Such a comment behind a statement speaks of that statement; alone on its line, of the next statement and the block that it opens;
//! with `in this file` behind the rules, of the whole file. What it allows is not lost: it is marked with the reason, and views show it
//! apart. A comment that allows nothing, names no rule or gives no reason is itself reported.

pub mod comment;
mod write;

use std::sync::LazyLock;

use ohmline_circuit::build::BUILD_RULES;
use ohmline_syntax::diagnostic::SYNTAX_RULES;
use ohmline_syntax::words::nearest;
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Safety, Severity, Span, Tree};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::facts::Facts;
use crate::registry::{Group, READING_RULES, RULES};
use comment::{Allow, Reach, comments, rule_names};
pub use write::{PLACEHOLDER, Spot, allowing};

/// Every rule about these comments: name, severity, summary.
pub const ALLOW_RULES: &[(&str, Severity, &str)] = &[
    (UNUSED, Severity::Warning, "A comment allows a rule that finds nothing there"),
    (UNKNOWN, Severity::Warning, "A comment allows a rule that does not exist"),
    (BARE, Severity::Warning, "A comment allows a rule without saying why, so it allows nothing"),
];

/// Rules about whole files and their settings, found where no comment is looked at.
const OF_FILES: &[&str] = &["foreign-encoding", "silent-hazard"];

const UNUSED: &str = "unused-allow";
const UNKNOWN: &str = "unknown-rule";
const BARE: &str = "missing-reason";

/// Marks what the comments of the files allow, and adds what is to be said about the comments; in order as it came.
pub fn apply(facts: &Facts<'_>, mut found: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let files = facts.sources.files.iter().enumerate();
    let allows: Vec<(FileId, Allow)> = files
        .flat_map(|(file, source)| comments(&source.tree).into_iter().map(move |one| (FileId(file as u32), one)))
        .collect();
    if allows.is_empty() {
        return found;
    }
    let book = Book::new(facts, &allows);
    let mut used: Vec<Vec<bool>> = allows.iter().map(|(_, allow)| vec![false; allow.rules.len()]).collect();
    book.mark(&mut found, &mut used);
    // What is said about the comments can be allowed too, so those that allow it are judged last.
    let mut said = book.about_forms();
    said.extend(book.unused(&used, |rule| !is_about_comments(rule)));
    book.mark(&mut said, &mut used);
    said.extend(book.unused(&used, is_about_comments));
    if !said.is_empty() {
        found.extend(said);
        found.sort_by_key(crate::merge::order);
    }
    found
}

/// Whether a rule is about comments that allow something.
pub fn is_about_comments(rule: &str) -> bool {
    ALLOW_RULES.iter().any(|(name, ..)| *name == rule)
}

/// Whether an author may allow what a rule finds. Errors of reading are not for allowing: what cannot be read is left out of the
/// circuit, whatever a comment says.
pub fn can_be_allowed(rule: &str) -> bool {
    static NEVER: LazyLock<FxHashSet<&str>> = LazyLock::new(|| {
        let reading = SYNTAX_RULES.iter().chain(BUILD_RULES).chain(READING_RULES);
        let errors = reading.filter(|(_, severity, _)| *severity == Severity::Error).map(|(name, ..)| *name);
        let mut never: FxHashSet<&str> = errors.chain(OF_FILES.iter().copied()).collect();
        for rule in RULES {
            never.remove(rule.meta().name);
        }
        never
    });
    !NEVER.contains(rule)
}

/// The comments, by what they allow.
struct Book<'a> {
    facts: &'a Facts<'a>,
    allows: &'a [(FileId, Allow)],
    /// For each rule of each file: which comment, and which of its rules; those first that cover the least.
    by_rule: FxHashMap<(FileId, &'a str), Vec<(usize, usize)>>,
}

impl<'a> Book<'a> {
    fn new(facts: &'a Facts<'a>, allows: &'a [(FileId, Allow)]) -> Self {
        let mut by_rule: FxHashMap<(FileId, &str), Vec<(usize, usize)>> = FxHashMap::default();
        for (index, (file, allow)) in allows.iter().enumerate() {
            let tree = &facts.sources.file(*file).tree;
            for (at, rule) in allow.rules.iter().enumerate() {
                let name = tree.slice(*rule);
                if allow.reason.is_some() && can_be_allowed(name) {
                    by_rule.entry((*file, name)).or_default().push((index, at));
                }
            }
        }
        for own in by_rule.values_mut() {
            own.sort_by_key(|&(index, rule)| (allows[index].1.covers.map_or(0, Span::len), index, rule));
        }
        Self { facts, allows, by_rule }
    }

    fn tree(&self, file: FileId) -> &'a Tree {
        &self.facts.sources.file(file).tree
    }

    /// Marks what is allowed, and the rules of comments that allow something. Of several comments the one that says the least counts, so
    /// that a wider one beside it is found to be needless.
    fn mark(&self, found: &mut [Diagnostic], used: &mut [Vec<bool>]) {
        let mut places: FxHashMap<(FileId, &str), Vec<usize>> = FxHashMap::default();
        for (number, said) in found.iter().enumerate() {
            if let Some((key, _)) = self.by_rule.get_key_value(&(said.primary.at.file, said.rule)) {
                places.entry(*key).or_default().push(number);
            }
        }
        for (key, mut numbers) in places {
            let start = |number: usize| found[number].primary.at.span.start;
            numbers.sort_by_key(|number| start(*number));
            let starts: Vec<u32> = numbers.iter().map(|number| start(*number)).collect();
            // Narrow ones first: what one has taken, none takes again.
            let mut open = Open::new(starts.len());
            for &(index, rule) in &self.by_rule[&key] {
                let (file, allow) = &self.allows[index];
                let (Some(covers), Some(reason)) = (allow.covers, allow.reason) else { continue };
                let mut at = open.from(starts.partition_point(|start| *start < covers.start));
                while starts.get(at).is_some_and(|start| covers.touches(*start)) {
                    used[index][rule] = true;
                    found[numbers[at]].allowed = Some(self.tree(*file).slice(reason).to_owned());
                    open.take(at);
                    at = open.from(at);
                }
            }
        }
    }

    /// Rules that do not exist, rules that cannot be allowed, comments without a reason; only of the file asked about, since the others
    /// are looked at on their own.
    fn about_forms(&self) -> Vec<Diagnostic> {
        let mut said = Vec::new();
        for (file, allow) in self.allows.iter().filter(|(file, _)| *file == FileId::MAIN) {
            let tree = self.tree(*file);
            let mut sound = true;
            for (at, &span) in allow.rules.iter().enumerate() {
                let name = tree.slice(span);
                let place = FileSpan::new(*file, span);
                if !rule_names().contains(&name) {
                    sound = false;
                    said.push(unknown(name, place));
                } else if !can_be_allowed(name) {
                    sound = false;
                    let (why, help) = match OF_FILES.contains(&name) {
                        true => ("it is about a whole file or its settings", "Settle it there"),
                        false => {
                            ("what cannot be read is left out of the circuit", "Mend the statement, or take it out")
                        }
                    };
                    let message = format!("`{name}` cannot be allowed: {why}");
                    let one = Diagnostic::new(UNUSED, Severity::Warning, place, message).help(help);
                    said.push(removing(one, tree, allow, at));
                }
            }
            if sound && allow.reason.is_none() {
                said.push(bare(*file, allow));
            }
        }
        said
    }

    /// Rules that a comment allows without need. Nothing is said while something cannot be read, since many rules wait for that, nor
    /// about a part of which no copy stands in the circuit, since most rules look at copies.
    fn unused(&self, used: &[Vec<bool>], of: impl Fn(&str) -> bool) -> Vec<Diagnostic> {
        let mut said = Vec::new();
        if !self.facts.is_sound() || self.facts.circuit.elements.is_empty() {
            return said;
        }
        let mut idle: Option<Vec<Span>> = None;
        for ((file, allow), used) in self.allows.iter().zip(used) {
            if *file != FileId::MAIN || allow.reason.is_none() {
                continue;
            }
            let tree = self.tree(*file);
            for (at, &span) in allow.rules.iter().enumerate() {
                let name = tree.slice(span);
                let judged = rule_names().contains(&name) && can_be_allowed(name) && of(name);
                if used[at] || !judged {
                    continue;
                }
                let idle = idle.get_or_insert_with(|| self.idle_parts());
                let unseen = |covers: Span| {
                    let first = idle.partition_point(|part| part.end < covers.start);
                    idle.get(first).is_some_and(|part| part.start <= covers.end)
                };
                if allow.covers.is_some_and(unseen) {
                    continue;
                }
                let whereabouts = match (allow.reach, allow.covers) {
                    (_, None) => "below this comment",
                    (Reach::Line, _) => "in this statement",
                    (Reach::Next, _) => "in what follows",
                    (Reach::File, _) => "in this file",
                };
                let message = format!("`{name}` finds nothing {whereabouts}, so there is nothing to allow");
                let one = Diagnostic::new(UNUSED, Severity::Warning, FileSpan::new(*file, span), message)
                    .help("Take it out, so that it cannot hide a later mistake");
                said.push(removing(one, tree, allow, at));
            }
        }
        said
    }

    /// The parts of the file asked about of which the circuit holds no copy, in order; of parts in each other the outermost.
    fn idle_parts(&self) -> Vec<Span> {
        let tree = self.tree(FileId::MAIN);
        let mut declared: Vec<u32> = self
            .facts
            .circuit
            .elements
            .iter()
            .filter(|element| element.declared.file == FileId::MAIN)
            .map(|element| element.declared.span.start)
            .collect();
        declared.sort_unstable();
        let parts = tree.blocks.iter().filter_map(|block| {
            let head = &tree.stmts[block.head as usize];
            let close = tree.stmts.get(block.close as usize);
            let end = close.map_or(tree.text.len() as u32, |stmt| stmt.range().end);
            matches!(head.node.kind, ohmline_syntax::tree::StmtKind::Part { .. }).then(|| Span::new(head.offset, end))
        });
        let is_idle = |part: &Span| {
            let from = declared.partition_point(|at| *at < part.start);
            declared.get(from).is_none_or(|at| *at > part.end)
        };
        let mut idle: Vec<Span> = Vec::new();
        for part in parts.filter(is_idle) {
            if idle.last().is_none_or(|last| last.end < part.start) {
                idle.push(part);
            }
        }
        idle
    }
}

/// Numbers from 0, of which some are taken.
struct Open {
    /// For each number one that is not above the next that is free.
    next: Vec<usize>,
}

impl Open {
    fn new(count: usize) -> Self {
        Self { next: (0..=count).collect() }
    }

    fn take(&mut self, number: usize) {
        self.next[number] = number + 1;
    }

    /// The first free number from one on.
    fn from(&mut self, number: usize) -> usize {
        let mut free = number;
        while self.next[free] != free {
            free = self.next[free];
        }
        // The way there is short the next time.
        let mut at = number;
        while self.next[at] != free {
            at = std::mem::replace(&mut self.next[at], free);
        }
        free
    }
}

fn unknown(name: &str, place: FileSpan) -> Diagnostic {
    if Group::ALL.iter().any(|group| group.word() == name) {
        let message = format!("`{name}` is a group of rules, and a comment allows single ones");
        return Diagnostic::new(UNKNOWN, Severity::Warning, place, message)
            .help("Name the rule that stands beside the finding; groups have levels in `ohmline.toml`");
    }
    let said = Diagnostic::new(UNKNOWN, Severity::Warning, place, format!("There is no rule `{name}`"));
    match nearest(name, rule_names().iter().copied()) {
        Some(near) => {
            said.help(format!("Did you mean `{near}`?")).fix(format!("Write `{near}`"), Safety::Safe, place, near)
        }
        None => said.help("The name of a rule stands beside each finding; `ohmline explain` lists all"),
    }
}

fn bare(file: FileId, allow: &Allow) -> Diagnostic {
    let place = FileSpan::new(file, allow.at);
    let said = Diagnostic::new(
        BARE,
        Severity::Warning,
        place,
        "The comment does not say why this is allowed, so nothing is allowed",
    );
    match allow.colon_missing {
        Some(at) => {
            let at = FileSpan::new(file, Span::new(at, at));
            said.help("A colon stands before the reason").fix("Write the colon", Safety::Safe, at, ":")
        }
        None => said.help("Write the reason behind a colon, for whoever reads it next"),
    }
}

/// The fix that takes one rule out of a comment, or the whole comment with its last rule.
fn removing(said: Diagnostic, tree: &Tree, allow: &Allow, at: usize) -> Diagnostic {
    let file = said.primary.at.file;
    let text: &str = &tree.text;
    let name = tree.slice(allow.rules[at]);
    let (span, title) = if allow.rules.len() > 1 {
        // With the comma before it, or behind it if it is the first.
        let span = match at {
            0 => Span::new(allow.rules[0].start, allow.rules[1].start),
            at => Span::new(allow.rules[at - 1].end, allow.rules[at].end),
        };
        (span, format!("Take `{name}` out of the comment"))
    } else {
        let before = &text[..allow.at.start as usize];
        let start = before.rfind(['\n', '\r']).map_or(0, |newline| newline + 1);
        let rest = &text[allow.at.end as usize..];
        let blank = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        let mut span = Span::new(before.trim_end_matches([' ', '\t']).len() as u32, allow.at.end + blank as u32);
        if allow.reach != Reach::Line && before[start..].trim().is_empty() {
            // Its line goes with it.
            let rest = &text[span.end as usize..];
            let newline = ["\r\n", "\n", "\r"].iter().find(|end| rest.starts_with(**end)).map_or(0, |end| end.len());
            span = Span::new(start as u32, span.end + newline as u32);
        }
        (span, "Take the comment out".to_owned())
    };
    said.fix(title, Safety::Safe, FileSpan::new(file, span), "")
}

#[cfg(test)]
mod tests;
