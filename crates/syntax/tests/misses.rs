//! Near misses: each gets one message that names the place, what is wrong and what to do.

use std::collections::BTreeSet;
use std::fmt::Write;

use expect_test::expect_file;
use ohmline_syntax::diagnostic::{Problem, SYNTAX_RULES};
use ohmline_syntax::tree::Stmt;
use ohmline_syntax::{Safety, Tree, parse};

/// What people write by mistake. Each entry is a file of its own.
const MISSES: &[&str] = include!("misses.in");

fn mended(tree: &Tree, stmt: &Stmt, problem: &Problem, fix: usize) -> String {
    let mut text = tree.text.to_string();
    for (at, instead) in problem.fixes[fix].2.iter().rev() {
        text.replace_range(stmt.span(*at).range(), instead);
    }
    text
}

#[test]
fn every_near_miss_has_its_message() {
    let mut shown = String::new();
    for miss in MISSES {
        let tree = parse(miss);
        writeln!(shown, "{miss}").unwrap();
        for (stmt, problem) in tree.problems() {
            writeln!(
                shown,
                "  {} {}: {}\n    at `{}`{}",
                problem.severity.word(),
                problem.rule,
                problem.message,
                tree.slice(stmt.span(problem.at)),
                if problem.here.is_empty() { String::new() } else { format!(": {}", problem.here) }
            )
            .unwrap();
            for help in &problem.help {
                writeln!(shown, "    help: {help}").unwrap();
            }
            for (index, (title, safety, _)) in problem.fixes.iter().enumerate() {
                let safety = if *safety == Safety::Safe { "safe" } else { "asks" };
                writeln!(shown, "    fix ({safety}) {title}: {}", mended(&tree, stmt, problem, index)).unwrap();
            }
        }
        shown.push('\n');
    }
    expect_file!["misses.out"].assert_eq(&shown);
}

#[test]
fn every_near_miss_is_one_problem() {
    for miss in MISSES {
        assert_eq!(parse(miss).problems().count(), 1, "{miss}");
    }
}

#[test]
fn messages_are_one_line_without_a_final_period_and_point_into_their_statement() {
    for miss in MISSES {
        let tree = parse(miss);
        for (stmt, problem) in tree.problems() {
            assert!(!problem.message.contains('\n') && !problem.message.ends_with('.'), "{miss}: {}", problem.message);
            assert!(stmt.span(problem.at).end <= stmt.range().end, "{miss}");
            assert!(tree.text.get(stmt.span(problem.at).range()).is_some(), "{miss}");
        }
    }
}

#[test]
fn safe_fixes_mend_the_statement() {
    for miss in MISSES {
        let tree = parse(miss);
        for (stmt, problem) in tree.problems() {
            for index in (0..problem.fixes.len()).filter(|&index| problem.fixes[index].1 == Safety::Safe) {
                let text = mended(&tree, stmt, problem, index);
                let left: Vec<_> = parse(&text).problems().map(|(_, problem)| problem.message.clone()).collect();
                assert!(left.is_empty(), "{miss} became {text}: {left:?}");
            }
        }
    }
}

#[test]
fn every_listed_rule_has_a_near_miss_and_the_list_is_sorted() {
    let seen: BTreeSet<_> = MISSES
        .iter()
        .flat_map(|miss| parse(miss).problems().map(|(_, problem)| problem.rule).collect::<Vec<_>>())
        .chain(parse(&format!("let x = {}1{}", "(".repeat(99), ")".repeat(99))).problems().map(|(_, p)| p.rule))
        .chain(parse(&format!("let x = 1{}", " + 1".repeat(999))).problems().map(|(_, p)| p.rule))
        .collect();
    let listed: Vec<_> = SYNTAX_RULES.iter().map(|(name, _, _)| *name).collect();
    assert_eq!(seen.into_iter().collect::<Vec<_>>(), listed);
}

#[test]
fn a_wrong_statement_spoils_nothing_else() {
    for miss in MISSES {
        let text = format!("battery B1 = 4.5 V\n\n{miss}\n\nfind current through B1\n");
        let tree = parse(&text);
        let first = tree.stmts.first().expect("the text has statements");
        let last = tree.stmts.last().expect("the text has statements");
        assert_eq!(tree.slice(first.range()), "battery B1 = 4.5 V", "{miss}");
        assert_eq!(tree.slice(last.range()), "find current through B1", "{miss}");
        assert!(first.node.problems.is_empty() && last.node.problems.is_empty(), "{miss}");
    }
}
