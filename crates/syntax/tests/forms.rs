//! Every form of the notation is read.

use ohmline_syntax::lexer::tokens;
use ohmline_syntax::{parse, reparse};

const RICH: &str = include_str!("rich.ohmline");

#[test]
fn the_rich_text_is_read_without_a_problem() {
    let tree = parse(RICH);
    let problems: Vec<_> = tree.problems().map(|(stmt, problem)| (tree.slice(stmt.range()), problem)).collect();
    assert!(problems.is_empty(), "{problems:#?}");
    assert_eq!(tree.blocks.len(), 4);
}

#[test]
fn no_byte_is_lost() {
    let mut at = 0;
    for token in tokens(RICH) {
        assert_eq!(token.start, at);
        at = token.end();
    }
    assert_eq!(at as usize, RICH.len());
}

#[test]
fn every_prefix_is_read_and_reread() {
    let mut before = parse("");
    for end in (0..=RICH.len()).filter(|&end| RICH.is_char_boundary(end)) {
        let full = parse(&RICH[..end]);
        before = reparse(&before, &RICH[..end]);
        let flat = |tree: &ohmline_syntax::Tree| {
            tree.stmts.iter().map(|stmt| (stmt.offset, (*stmt.node).clone())).collect::<Vec<_>>()
        };
        assert_eq!(flat(&full), flat(&before), "after {:?}", &RICH[..end]);
        assert_eq!((full.blocks, full.block_problems), (before.blocks.clone(), before.block_problems.clone()));
    }
}
