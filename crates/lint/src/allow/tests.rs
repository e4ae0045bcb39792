//! What comments allow, and what is said about them.

use expect_test::expect;
use ohmline_syntax::{Diagnostic, FileId, FileSpan, Severity};

use crate::fixture::{Analyzed, apply, check, says};

/// What is allowed: rule and reason.
fn allowed(text: &str) -> Vec<(&'static str, String)> {
    let found: Vec<Diagnostic> = crate::check(&Analyzed::new(text).context());
    found.into_iter().filter_map(|said| Some((said.rule, said.allowed?))).collect()
}

fn left(text: &str) -> Vec<&'static str> {
    check(text).into_iter().filter(|said| said.severity != Severity::Hint).map(|said| said.rule).collect()
}

const DRAWN: &str = "battery B1 = 6 V\nlamp L1, L2, L3 = 12 ohm\nB1+ -- L1 -- @fork -- L2 -- B1-\n@fork -- L3 -- B1-\n";

#[test]
fn behind_the_statement_above_it_and_in_the_file() {
    let claim = "claim L1, L2 in series";
    for text in [
        format!("{DRAWN}{claim}  # allow split-series: for the class to find\n"),
        format!("{DRAWN}# allow split-series: for the class to find\n{claim}\n"),
        format!("# allow split-series in this file: for the class to find\n{DRAWN}{claim}\n"),
        format!("{DRAWN}{claim}\n# allow split-series in this file: for the class to find\n"),
    ] {
        assert_eq!(allowed(&text), [("split-series", "for the class to find".to_owned())], "{text}");
        assert_eq!(left(&text), [""; 0], "{text}");
    }
    // Elsewhere it allows nothing.
    let text = format!("# allow split-series: for the class to find\n{DRAWN}{claim}\n");
    assert_eq!(allowed(&text), []);
    assert_eq!(left(&text), ["unused-allow", "split-series"]);
}

#[test]
fn a_block_is_covered_with_all_that_stands_in_it() {
    let text = "# allow open-end: stubs for the winch\npart stub(in, out)\n  resistor Ra, Rb = 10 ohm\n  @in -- Ra -- @out\n  @in -- Rb\nend\n\
        battery B1 = 6 V\nstub X, Y\nB1+ -- X -- Y -- B1-\n";
    assert_eq!(allowed(text).len(), 1);
    assert_eq!(left(text), [""; 0]);
    // Without a copy of the part nobody can tell.
    let text = "# allow open-end: stubs for the winch\npart stub(in, out)\n  resistor Ra, Rb = 10 ohm\n  @in -- Ra -- @out\n  @in -- Rb\nend\n\
        battery B1 = 6 V\nlamp L1 = 6 ohm\nB1+ -- L1 -- B1-\n";
    assert_eq!(left(text), ["unused-part"]);
}

#[test]
fn several_rules_in_one_comment_and_several_comments() {
    let text = "battery B1 = 6 V\nresistor R1 = 210 ohm, tolerance 5%\nB1+ -- R1 -- @quay -- B1-\n\
        lamp L1 = 6 ohm\n# allow off-series, open-end: as sold\n# allow dim-lamp: it is far away\n@quay -- L1\n";
    says(
        text,
        expect![[r#"
            warning unused-allow: `off-series` finds nothing in what follows, so there is nothing to allow
              at 5:9 `off-series`
              help: Take it out, so that it cannot hide a later mistake
              fix: Take `off-series` out of the comment (5:9 `off-series, ` -> "")
            warning unused-allow: `dim-lamp` finds nothing in what follows, so there is nothing to allow
              at 6:9 `dim-lamp`
              help: Take it out, so that it cannot hide a later mistake
              fix: Take the comment out (6:1 `# allow dim-lamp: it is far away\n` -> "")
        "#]],
    );
    let mut mended = text.to_owned();
    while let Some(said) = check(&mended).into_iter().find(|said| said.rule == "unused-allow") {
        mended = apply(&mended, &said.fixes[0]);
    }
    assert!(mended.contains("# allow open-end: as sold\n@quay -- L1\n"), "{mended}");
}

#[test]
fn the_wider_of_two_is_needless() {
    let text = format!(
        "# allow split-series in this file: twice\n{DRAWN}claim L1, L2 in series  # allow split-series: once\n"
    );
    assert_eq!(allowed(&text), [("split-series", "once".to_owned())]);
    assert_eq!(left(&text), ["unused-allow"]);
}

#[test]
fn without_a_reason_nothing_is_allowed() {
    for comment in ["# allow split-series", "# allow split-series: ?", "# allow split-series:   "] {
        let text = format!("{DRAWN}claim L1, L2 in series {comment}\n");
        assert_eq!(allowed(&text), []);
        let mut rules = left(&text);
        rules.sort_unstable();
        assert_eq!(rules, ["missing-reason", "split-series"]);
    }
    let text = format!("{DRAWN}claim L1, L2 in series  # allow split-series the class is to find it\n");
    let said = check(&text).into_iter().find(|said| said.rule == "missing-reason").expect("it is said");
    assert_eq!(left(&apply(&text, &said.fixes[0])), [""; 0]);
}

#[test]
fn what_cannot_be_read_cannot_be_allowed() {
    says(
        "battery B1 = 6 V\nlamp L1 = 6,5 ohm  # allow decimal-comma: as we write here\nB1+ -- L1 -- B1-\n",
        expect![[r#"
            error decimal-comma: `6,5` has a decimal comma
              at 2:11 `6,5`
              help: The decimal sign is a point
              fix: Write `6.5` (2:12 `,` -> ".")
            warning unused-allow: `decimal-comma` cannot be allowed: what cannot be read is left out of the circuit
              at 2:28 `decimal-comma`
              help: Mend the statement, or take it out
              fix: Take the comment out (2:18 `  # allow decimal-comma: as we write here` -> "")
        "#]],
    );
}

#[test]
fn while_something_cannot_be_read_nothing_is_called_needless() {
    let text = "battery B1 = 6 V\nlamp L1 = 6,5 ohm\nB1+ -- L1 -- B1-  # allow open-end: not yet wired\n";
    assert_eq!(left(text), ["decimal-comma"]);
}

#[test]
fn names_are_mended() {
    let text = format!("{DRAWN}claim L1, L2 in series  # allow splitseries: for the class to find\n");
    let said = check(&text).into_iter().find(|said| said.rule == "unknown-rule").expect("it is said");
    assert_eq!(said.message, "There is no rule `splitseries`");
    assert_eq!(left(&apply(&text, &said.fixes[0])), [""; 0]);
}

#[test]
fn what_is_said_about_comments_can_be_allowed_too() {
    let text = format!(
        "# allow unused-allow in this file: made by a program\n{DRAWN}# allow open-end: everywhere\nfind current through L1\n"
    );
    assert_eq!(left(&text), [""; 0]);
    assert_eq!(left(&format!("# allow unused-allow in this file: made by a program\n{DRAWN}")), ["unused-allow"]);
}

/// A finding for each statement of a text, as a rule about everything would report it.
fn one_each(analyzed: &Analyzed) -> Vec<Diagnostic> {
    let stmts = analyzed.context().sources.files[0].tree.stmts.iter();
    let at = |stmt: &ohmline_syntax::tree::Stmt| FileSpan::new(FileId::MAIN, stmt.range());
    stmts.map(|stmt| Diagnostic::new("open-end", Severity::Warning, at(stmt), "here")).collect()
}

/// Comments behind lines, above blocks that stand in each other, and for the file, in any mixture: of those that cover a place the one that
/// covers the least allows it, as looking at each comment for each place finds it.
#[test]
fn the_narrowest_of_all_comments_counts() {
    let mut random = 7u32;
    let mut below = |most: u32| {
        random = random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (random >> 16) % most
    };
    for _ in 0..40 {
        let (mut text, mut depth) = (String::new(), 0);
        for line in 0..60 {
            match below(5) {
                0 => text += &format!("# allow open-end: {line}\n"),
                1 if below(4) == 0 => text += &format!("# allow open-end in this file: {line}\n"),
                2 if depth < 3 => {
                    text += &format!("repeat i{line} from 1 to 2\n");
                    depth += 1;
                }
                3 if depth > 0 => {
                    text += "end\n";
                    depth -= 1;
                }
                _ if below(2) == 0 => text += &format!("@a -- @b  # allow open-end: {line}\n"),
                _ => text += "@a -- @b\n",
            }
        }
        text += &"end\n".repeat(depth);
        let analyzed = Analyzed::new(&text);
        let tree = &analyzed.context().sources.files[0].tree;
        let said = super::apply(&crate::Facts::new(analyzed.context()), one_each(&analyzed));
        let comments = super::comments(tree);
        for own in said.iter().filter(|own| own.rule == "open-end") {
            let covers = comments.iter().filter(|allow| allow.covers.unwrap().touches(own.primary.at.span.start));
            let least = covers.min_by_key(|allow| (allow.covers.unwrap().len(), allow.at.start));
            let wanted = least.map(|allow| tree.slice(allow.reason.unwrap()));
            assert_eq!(own.allowed.as_deref(), wanted, "{text}{own:?}");
        }
    }
}
