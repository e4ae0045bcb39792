//! Which statements the heads `part` and `repeat` and the word `end` belong to.
//!
//! A `part` line closes any open block, so a forgotten `end` costs no more than the lines up to the next part.

use std::ops::Range;

use crate::diagnostic::{Problem, Severity};
use crate::lexer::{Scanner, TokenKind};
use crate::span::RelSpan;
use crate::tree::{Block, Stmt, StmtKind, Tree};

/// What a statement does to blocks.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Role {
    Part,
    Repeat,
    End,
    Plain,
}

/// A head that could not be read is still a head: else its `end` would be called stray, a second message for one cause.
fn role(text: &str, stmt: &Stmt) -> Role {
    match stmt.node.kind {
        StmtKind::Part { .. } => Role::Part,
        StmtKind::Repeat { .. } => Role::Repeat,
        StmtKind::End => Role::End,
        StmtKind::Error => match first_word(text, stmt.offset) {
            Some(TokenKind::Part) => Role::Part,
            Some(TokenKind::Repeat) => Role::Repeat,
            Some(TokenKind::End) => Role::End,
            _ => Role::Plain,
        },
        _ => Role::Plain,
    }
}

fn first_word(text: &str, offset: u32) -> Option<TokenKind> {
    Scanner::new(text, offset).next().map(|token| token.kind)
}

/// Finds the blocks of a text and what is wrong with them.
pub(super) fn find(text: &str, stmts: &[Stmt]) -> (Vec<Block>, Vec<(u32, Problem)>) {
    let mut blocks: Vec<Block> = Vec::new();
    let mut problems = Vec::new();
    // Indices of the open blocks, the innermost last, and whether each is a `part`.
    let mut open: Vec<(u32, bool)> = Vec::new();
    let close_all = |open: &mut Vec<(u32, bool)>, blocks: &mut Vec<Block>, problems: &mut Vec<_>, at: usize| {
        for (block, is_part) in open.drain(..) {
            let block = &mut blocks[block as usize];
            block.close = at as u32;
            problems.push((block.head, missing_end(is_part)));
        }
    };
    for (index, stmt) in stmts.iter().enumerate() {
        let role = role(text, stmt);
        match role {
            Role::Part | Role::Repeat => {
                if role == Role::Part {
                    close_all(&mut open, &mut blocks, &mut problems, index);
                }
                let parent = open.last().map(|&(block, _)| block);
                open.push((blocks.len() as u32, role == Role::Part));
                blocks.push(Block { head: index as u32, close: index as u32, closed: false, parent });
            }
            Role::End => match open.pop() {
                Some((block, _)) => {
                    let block = &mut blocks[block as usize];
                    block.close = index as u32;
                    block.closed = true;
                }
                None if stmt.node.kind == StmtKind::End => problems.push((index as u32, stray_end())),
                // The line has its own problem already.
                None => {}
            },
            Role::Plain => {}
        }
    }
    close_all(&mut open, &mut blocks, &mut problems, stmts.len());
    problems.sort_by_key(|&(index, _)| index);
    (blocks, problems)
}

/// Finds the blocks after a change: of the old statements the range `was` gave way to the range `now` of the new ones.
pub(super) fn find_again(
    old: &Tree,
    was: Range<usize>,
    text: &str,
    stmts: &[Stmt],
    now: Range<usize>,
) -> (Vec<Block>, Vec<(u32, Problem)>) {
    let plain = |text: &str, stmts: &[Stmt]| stmts.iter().all(|stmt| role(text, stmt) == Role::Plain);
    if !plain(&old.text, &old.stmts[was.clone()]) || !plain(text, &stmts[now.clone()]) {
        return find(text, stmts);
    }
    let moved = |index: u32| {
        if (index as usize) < was.end { index } else { (index as usize + now.end - was.end) as u32 }
    };
    let blocks =
        old.blocks.iter().map(|block| Block { head: moved(block.head), close: moved(block.close), ..*block }).collect();
    let problems = old.block_problems.iter().map(|(index, problem)| (moved(*index), problem.clone())).collect();
    (blocks, problems)
}

fn stray_end() -> Problem {
    Problem {
        rule: "stray-end",
        severity: Severity::Error,
        message: "this `end` closes nothing".into(),
        at: RelSpan::new(0, 3),
        here: "no `part` or `repeat` is open here".into(),
        help: vec!["remove it, or write the head of the block it should close".into()],
        fixes: Vec::new(),
    }
}

fn missing_end(is_part: bool) -> Problem {
    let word = if is_part { "part" } else { "repeat" };
    Problem {
        rule: "missing-end",
        severity: Severity::Error,
        message: format!("this `{word}` has no `end`"),
        at: RelSpan::new(0, word.len() as u32),
        here: String::new(),
        help: vec![format!("write `end` on a line of its own behind the last line of the `{word}`")],
        fixes: Vec::new(),
    }
}
