//! The one place that puts everything said together: problems of form and names, findings of rules; in order, each once.

use ohmline_syntax::{Diagnostic, FileId, FileSpan, Severity};
use rustc_hash::FxHashMap;

/// Hints of one rule beyond this number help nobody and only cost time.
pub const MOST_HINTS: usize = 100;

/// Findings of one rule beyond this number in one file help nobody either: the text is damaged or generated.
pub const MOST_OF_A_RULE: usize = 1_000;

/// What findings are put in order by: file, place, severity, rule.
pub fn order(diagnostic: &Diagnostic) -> (FileId, u32, u32, Severity, &'static str) {
    let at = diagnostic.primary.at;
    (at.file, at.span.start, at.span.end, diagnostic.severity, diagnostic.rule)
}

/// Puts in order and says the same thing about the same place once.
pub fn finish(mut found: Vec<Diagnostic>) -> Vec<Diagnostic> {
    found.sort_by_key(order);
    let mut first: FxHashMap<(&'static str, FileSpan), usize> = FxHashMap::default();
    let mut kept: Vec<Diagnostic> = Vec::with_capacity(found.len());
    let mut copies: Vec<u32> = Vec::with_capacity(found.len());
    for diagnostic in found {
        match first.get(&(diagnostic.rule, diagnostic.primary.at)) {
            None => {
                first.insert((diagnostic.rule, diagnostic.primary.at), kept.len());
                kept.push(diagnostic);
                copies.push(0);
            }
            Some(at) => {
                if kept[*at].message != diagnostic.message {
                    copies[*at] += 1;
                }
                if kept[*at].cases != diagnostic.cases {
                    join_cases(&mut kept[*at].cases, diagnostic.cases);
                }
            }
        }
    }
    for (diagnostic, copies) in kept.iter_mut().zip(copies) {
        match copies {
            0 => {}
            1 => diagnostic.notes.push("The same is so in one more copy of this place".into()),
            more => diagnostic.notes.push(format!("The same is so in {more} more copies of this place")),
        }
    }
    kept
}

/// What is counted together: what one rule finds in one file, and of that what is allowed apart from what is not.
type Counted = (FileId, &'static str, bool);

/// Leaves out what one rule finds in one file beyond [`MOST_OF_A_RULE`], and says how much that is. What is allowed takes no room from
/// what is not.
pub fn cap(found: Vec<Diagnostic>) -> Vec<Diagnostic> {
    if found.len() <= MOST_OF_A_RULE {
        return found;
    }
    let mut counts: FxHashMap<Counted, usize> = FxHashMap::default();
    let mut kept: Vec<Diagnostic> = Vec::with_capacity(found.len().min(2 * MOST_OF_A_RULE));
    let mut last: FxHashMap<Counted, usize> = FxHashMap::default();
    for diagnostic in found {
        let key = (diagnostic.primary.at.file, diagnostic.rule, diagnostic.allowed.is_some());
        let count = counts.entry(key).or_default();
        *count += 1;
        if *count <= MOST_OF_A_RULE {
            kept.push(diagnostic);
        } else if let std::collections::hash_map::Entry::Vacant(entry) = last.entry(key) {
            entry.insert(kept.len());
            let mut more = Diagnostic::new(diagnostic.rule, diagnostic.severity, diagnostic.primary.at, "");
            more.allowed = diagnostic.allowed;
            kept.push(more);
        }
    }
    for (key, index) in last {
        let more = counts[&key] - MOST_OF_A_RULE;
        let noun = if more == 1 { "place" } else { "places" };
        kept[index].message = format!("The same rule, `{}`, speaks of {more} more {noun} from here on", key.1);
    }
    kept
}

/// The cases of two copies of a place: those of either; none (every state) stays none.
fn join_cases(cases: &mut Vec<String>, others: Vec<String>) {
    if cases.is_empty() || others.is_empty() {
        cases.clear();
        return;
    }
    for case in others {
        if !cases.contains(&case) {
            cases.push(case);
        }
    }
}

#[cfg(test)]
mod tests {
    use ohmline_syntax::Span;

    use super::*;

    fn at(file: u32, start: u32) -> FileSpan {
        FileSpan::new(FileId(file), Span::new(start, start + 2))
    }

    #[test]
    fn the_main_file_comes_first_then_position_then_severity() {
        let found = vec![
            Diagnostic::new("a", Severity::Error, at(1, 0), "in the included file"),
            Diagnostic::new("b", Severity::Hint, at(0, 9), "hint"),
            Diagnostic::new("c", Severity::Error, at(0, 9), "error"),
            Diagnostic::new("d", Severity::Warning, at(0, 3), "early"),
        ];
        let order: Vec<_> = finish(found).into_iter().map(|diagnostic| diagnostic.rule).collect();
        assert_eq!(order, ["d", "c", "b", "a"]);
    }

    #[test]
    fn a_flood_of_one_rule_is_counted() {
        let flood = (0..1_500).map(|start| Diagnostic::new("a", Severity::Error, at(0, start), "one of many"));
        let other = Diagnostic::new("b", Severity::Warning, at(0, 2_000), "another");
        let found = cap(finish(flood.chain([other]).collect()));
        assert_eq!(found.len(), MOST_OF_A_RULE + 2);
        assert_eq!(found[MOST_OF_A_RULE].message, "The same rule, `a`, speaks of 500 more places from here on");
        assert_eq!(found[MOST_OF_A_RULE + 1].rule, "b");
    }

    #[test]
    fn copies_of_a_place_are_said_once_and_counted() {
        let mut left = Diagnostic::new("a", Severity::Warning, at(0, 5), "about Left.R1");
        left.cases = vec!["night".into()];
        let mut right = Diagnostic::new("a", Severity::Warning, at(0, 5), "about Right.R1");
        right.cases = vec!["day".into()];
        let same = left.clone();
        let found = finish(vec![left, same, right]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].notes, ["The same is so in one more copy of this place"]);
        assert_eq!(found[0].cases, ["night", "day"]);
    }
}
