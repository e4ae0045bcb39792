//! Which statements the heads `part` and `repeat` and the word `end` belong to.
//!
//! A `part` line closes any open block, so a forgotten `end` costs no more than the lines up to the next part.

use std::ops::Range;

use crate::diagnostic::{Problem, Safety};
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
    // Indices of the open blocks, the innermost last.
    let mut open: Vec<u32> = Vec::new();
    for (index, stmt) in stmts.iter().enumerate() {
        let index = index as u32;
        match role(text, stmt) {
            Role::Part => {
                open.drain(..).for_each(|block| blocks[block as usize].close = index);
                open.push(blocks.len() as u32);
                blocks.push(Block { head: index, close: index, closed: false, parent: None });
            }
            Role::Repeat => {
                let parent = open.last().copied();
                open.push(blocks.len() as u32);
                blocks.push(Block { head: index, close: index, closed: false, parent });
            }
            Role::End => match open.pop() {
                Some(block) => {
                    let block = &mut blocks[block as usize];
                    block.close = index;
                    block.closed = true;
                }
                None if stmt.node.kind == StmtKind::End => problems.push((index, stray_end())),
                // The line has a problem of its own already.
                None => {}
            },
            Role::Plain => {}
        }
    }
    open.drain(..).for_each(|block| blocks[block as usize].close = stmts.len() as u32);
    for index in 0..blocks.len() {
        let mut block = blocks[index];
        let is_part = role(text, &stmts[block.head as usize]) == Role::Part;
        if !block.closed {
            problems.push((block.head, missing_end(&stmts[block.head as usize], is_part)));
        }
        if !is_part {
            if !block.closed {
                block.close = end_of_lines(text, stmts, &blocks, block);
            }
            blocks[index] = block;
        }
    }
    // A block behind the place where an unclosed one was cut off is not inside it.
    for index in 0..blocks.len() {
        while let Some(parent) = blocks[index].parent.map(|parent| blocks[parent as usize]) {
            if blocks[index].head < parent.close {
                break;
            }
            blocks[index].parent = parent.parent;
        }
    }
    problems.sort_by_key(|&(index, _)| index);
    (blocks, problems)
}

/// Where the lines of an unclosed `repeat` end: before the first statement that none can hold, blocks within it apart.
fn end_of_lines(text: &str, stmts: &[Stmt], blocks: &[Block], block: Block) -> u32 {
    let mut at = block.head + 1;
    while at < block.close && fits_repeat(text, &stmts[at as usize]) {
        at = match blocks.binary_search_by_key(&at, |inner| inner.head) {
            Ok(inner) if blocks[inner].closed => blocks[inner].close + 1,
            _ => at + 1,
        };
    }
    at.min(block.close)
}

/// Whether a `repeat` may hold a statement. What could not be read has a problem of its own.
fn fits_repeat(text: &str, stmt: &Stmt) -> bool {
    match stmt.node.kind {
        StmtKind::Declare(_) | StmtKind::Path(_) | StmtKind::Repeat { .. } | StmtKind::End => true,
        StmtKind::Error => role(text, stmt) != Role::Part,
        _ => false,
    }
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
    let around = |block: &Block| (block.head as usize) < was.end && block.close as usize >= was.start;
    if old.blocks.iter().any(around) || !plain(&old.text, &old.stmts[was.clone()]) || !plain(text, &stmts[now.clone()])
    {
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
    Problem::new("stray-end", RelSpan::new(0, 3), "this `end` closes nothing")
        .here("no `part` or `repeat` is open here")
        .help("write the head of the block it should close, or remove it")
        .fix("Remove `end`", Safety::Asks, vec![(RelSpan::new(0, 3), String::new())])
}

fn missing_end(head: &Stmt, is_part: bool) -> Problem {
    let word = if is_part { "part" } else { "repeat" };
    let (said, at) = match &head.node.kind {
        StmtKind::Part { name, .. } => (format!("the part `{}` has no `end`", name.text), name.span),
        _ => (format!("this `{word}` has no `end`"), RelSpan::new(0, word.len() as u32)),
    };
    Problem::new("missing-end", at, said)
        .help(format!("write `end` on a line of its own behind the last line of the `{word}`"))
}
