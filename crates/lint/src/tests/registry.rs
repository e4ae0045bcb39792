//! Every rule keeps what its [`Meta`] promises.

use ohmline_syntax::{Diagnostic, Severity};

use crate::fixture::{apply, check, write};
use crate::registry::{RULES, all_metas};

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

#[test]
fn every_rule_explains_itself() {
    for rule in RULES {
        let meta = rule.meta();
        assert!(meta.why.len() > 80, "{}: say why it matters", meta.name);
        assert!(!meta.why.contains("  "), "{}: doubled blank in why", meta.name);
        assert!(!meta.bad.is_empty() && !meta.good.is_empty(), "{}", meta.name);
    }
}

#[test]
fn the_bad_example_fires_its_rule_and_no_other_error_or_warning() {
    let mut wrong = String::new();
    for rule in RULES {
        let meta = rule.meta();
        let found = check(meta.bad);
        if by_rule(&found, meta.name) == 0 || !others(&found, meta.name).is_empty() {
            wrong += &format!("== {}\n{}", meta.name, write(meta.bad, &found));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn the_good_example_is_quiet() {
    let mut wrong = String::new();
    for rule in RULES {
        let meta = rule.meta();
        let found = check(meta.good);
        if by_rule(&found, meta.name) > 0 || !others(&found, meta.name).is_empty() {
            wrong += &format!("== {}\n{}", meta.name, write(meta.good, &found));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn the_first_fix_removes_the_finding_and_adds_no_error() {
    let mut wrong = String::new();
    let mut fixed = 0;
    for rule in RULES {
        let meta = rule.meta();
        let found = check(meta.bad);
        let Some((said, fix)) = found
            .iter()
            .filter(|said| said.rule == meta.name)
            .find_map(|said| said.fixes.first().map(|fix| (said, fix)))
        else {
            continue;
        };
        fixed += 1;
        let mended = apply(meta.bad, fix);
        let after = check(&mended);
        // What looked like it stays a hint for the eye; the claim or finding itself is gone.
        let still = after.iter().any(|other| other.rule == said.rule && other.severity <= said.severity);
        if still || after.iter().any(|said| said.severity == Severity::Error) {
            wrong += &format!("== {} with {}:\n{mended}{}", meta.name, fix.title, write(&mended, &after));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(fixed >= 8, "only {fixed} rules offer a fix");
}

#[test]
fn headlines_stand_on_one_line_without_a_period() {
    for rule in RULES {
        for said in check(rule.meta().bad) {
            assert!(!said.message.contains('\n') && !said.message.ends_with('.'), "{}", said.message);
            assert!(!said.message.contains("  "), "{}", said.message);
        }
    }
}
