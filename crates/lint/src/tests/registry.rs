//! Every rule keeps what its [`Meta`] promises.

use std::collections::BTreeSet;

use ohmline_syntax::{Diagnostic, Safety, Severity};

use crate::fixture::{apply, check, write};
use crate::registry::{Group, Meta, RULES, all_metas};

fn by_rule(found: &[Diagnostic], rule: &str) -> usize {
    found.iter().filter(|said| said.rule == rule).count()
}

/// Errors and warnings of other rules.
fn others(found: &[Diagnostic], rule: &str) -> Vec<Diagnostic> {
    found.iter().filter(|said| said.rule != rule && said.severity <= Severity::Warning).cloned().collect()
}

#[test]
fn names_are_unique_and_say_what_in_two_or_three_words() {
    let metas = all_metas();
    for (at, meta) in metas.iter().enumerate() {
        assert!(metas[..at].iter().all(|other| other.name != meta.name), "{} is listed twice", meta.name);
        let words = meta.name.split('-').count();
        assert!((2..=3).contains(&words), "{} has {words} words", meta.name);
        assert!(meta.name.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{}", meta.name);
        assert!(!meta.summary.is_empty() && !meta.summary.ends_with('.'), "{}: {}", meta.name, meta.summary);
    }
    for fixed in ["open-end", "floating-piece", "shorted-source", "split-series"] {
        assert!(metas.iter().any(|meta| meta.name == fixed), "{fixed} is missing");
    }
}

/// Rules without an example: no single short file can fire them.
const WITHOUT_EXAMPLE: &[(&str, &str)] = &[
    ("beyond-class", "it takes settings that say what the class has not met"),
    ("circular-include", "it takes two files"),
    ("conflicting-include", "it takes two files"),
    ("deep-nesting", "it takes a line of brackets that nobody would read"),
    ("foreign-encoding", "it is about bytes, not text"),
    ("long-expression", "it takes a line of thousands of numbers"),
    ("outside-include", "it takes files"),
    ("silent-hazard", "it stands in a file of settings"),
    ("too-many-cases", "it takes millions of elements and cases together"),
    ("too-many-elements", "it takes a million elements"),
    ("unknown-setting", "it stands in a file of settings"),
    ("unreadable-include", "it takes files"),
    ("unreadable-settings", "it is about a file of settings"),
    ("wrong-setting", "it stands in a file of settings"),
];

/// Every rule with an example.
fn with_examples() -> impl Iterator<Item = &'static Meta> {
    all_metas().iter().filter(|meta| !meta.bad.is_empty())
}

#[test]
fn every_rule_explains_itself() {
    let metas = all_metas();
    assert!(metas.len() >= 70 && RULES.len() >= 70, "{} rules, {} of them here", metas.len(), RULES.len());
    for meta in metas {
        assert!(meta.why.len() > 40, "{}: say why it matters (for rules of reading: in `pages`)", meta.name);
        for text in [meta.why, meta.summary, meta.ignore_when, meta.fix] {
            assert!(!text.is_empty(), "{}: something is left out", meta.name);
            assert!(!text.contains("  ") && !text.contains('\n'), "{}: {text}", meta.name);
        }
        assert!(!meta.ignore_when.ends_with('.') && meta.fix.ends_with('.'), "{}", meta.name);
        let excused = WITHOUT_EXAMPLE.iter().any(|(name, _)| *name == meta.name);
        assert_eq!(meta.bad.is_empty() || meta.good.is_empty(), excused, "{}: give it an example", meta.name);
    }
    for (name, _) in WITHOUT_EXAMPLE {
        assert!(metas.iter().any(|meta| meta.name == *name), "{name} is no rule any more");
    }
}

#[test]
fn groups_are_listed_and_each_has_rules() {
    for (at, group) in Group::ALL.iter().enumerate() {
        assert!(Group::ALL[..at].iter().all(|other| other.word() != group.word() && other.title() != group.title()));
        assert!(all_metas().iter().any(|meta| meta.group == *group), "{}", group.title());
    }
    assert!(all_metas().iter().all(|meta| Group::ALL.contains(&meta.group)));
}

#[test]
fn the_bad_example_fires_its_rule_and_no_other_error_or_warning() {
    let mut wrong = String::new();
    for meta in with_examples() {
        let found = check(meta.bad);
        if by_rule(&found, meta.name) == 0 || !others(&found, meta.name).is_empty() {
            wrong += &format!("== {}\n{}", meta.name, write(meta.bad, &found));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn the_bad_example_fires_with_the_severity_of_the_rule() {
    let mut wrong = String::new();
    for rule in RULES {
        let meta = rule.meta();
        let found = check(meta.bad);
        if !found.iter().any(|said| said.rule == meta.name && said.severity == meta.severity) {
            wrong += &format!("== {}\n{}", meta.name, write(meta.bad, &found));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn the_good_example_is_quiet() {
    let mut wrong = String::new();
    for meta in with_examples() {
        let found = check(meta.good);
        if by_rule(&found, meta.name) > 0 || !others(&found, meta.name).is_empty() {
            wrong += &format!("== {}\n{}", meta.name, write(meta.good, &found));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// What a fix must not bring: the same finding at its old severity, or a new error; a safe one no new warning either.
#[test]
fn every_fix_of_an_example_removes_the_finding_and_adds_no_error() {
    let mut wrong = String::new();
    let mut fixed = BTreeSet::new();
    for meta in with_examples() {
        let found = check(meta.bad);
        let before = found.iter().filter(|said| said.severity == Severity::Error && said.rule != meta.name).count();
        for said in found.iter().filter(|said| said.rule == meta.name) {
            for (at, fix) in said.fixes.iter().enumerate() {
                // Of several readings the likeliest comes first; the others are for the author to choose.
                if at > 0 && fix.safety == Safety::Asks {
                    continue;
                }
                fixed.insert(meta.name);
                let mended = apply(meta.bad, fix);
                let after = check(&mended);
                let still = by_rule(&after, meta.name) >= by_rule(&found, meta.name)
                    && after.iter().any(|other| other.rule == said.rule && other.severity <= said.severity);
                let errors =
                    after.iter().filter(|said| said.severity == Severity::Error && said.rule != meta.name).count();
                let unsafe_fix =
                    fix.safety == Safety::Safe && others(&after, meta.name).len() > others(&found, meta.name).len();
                if still || errors > before || unsafe_fix {
                    wrong += &format!("== {} with {}:\n{mended}{}", meta.name, fix.title, write(&mended, &after));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(fixed.len() >= 55, "only {} rules offer a fix", fixed.len());
}

/// Learners are asked back wherever the circuit itself is the matter; slips of the pen need no riddles.
#[test]
fn findings_about_the_circuit_ask_back() {
    let mut silent = BTreeSet::new();
    for rule in RULES {
        let meta = rule.meta();
        let teaches = !matches!(meta.group, Group::Style | Group::ValuesAndUnits | Group::ClaimsAndAnswers);
        for said in check(meta.bad).iter().filter(|said| said.rule == meta.name) {
            match &said.question {
                Some(question) => {
                    let starts = question.starts_with(|c: char| c.is_uppercase());
                    assert!(question.ends_with('?') && starts && !question.contains('\n'), "{}: {question}", meta.name);
                }
                None if teaches => {
                    silent.insert(meta.name);
                }
                None => {}
            }
        }
    }
    assert_eq!(silent.into_iter().collect::<Vec<_>>(), ["negative-source"]);
}

#[test]
fn headlines_stand_on_one_line_without_a_period() {
    for meta in with_examples() {
        for said in check(meta.bad) {
            assert!(!said.message.contains('\n') && !said.message.ends_with('.'), "{}", said.message);
            assert!(!said.message.contains("  "), "{}", said.message);
        }
    }
}
