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

/// How far a line is moved in: the columns before its first token. A tab counts as four.
fn indent(text: &str, stmt: &Stmt) -> usize {
    let start = stmt.offset as usize;
    let line = text[..start].rfind(['\n', '\r']).map_or(0, |at| at + 1);
    text[line..start].chars().map(|c| if c == '\t' { 4 } else { 1 }).sum()
}

/// Finds the blocks of a text and what is wrong with them.
///
/// Where an `end` is missing, how far the lines are moved in tells which block lacks it.
pub(super) fn find(text: &str, stmts: &[Stmt]) -> (Vec<Block>, Vec<(u32, Problem)>) {
    let plain = pair(text, stmts, |_, _| true);
    if plain.1.is_empty() {
        return plain;
    }
    let level = |index: u32| indent(text, &stmts[index as usize]);
    let moved_in = pair(text, stmts, |head, end| level(head) == level(end));
    if moved_in.1.len() <= plain.1.len() { moved_in } else { plain }
}

/// Pairs heads with the `end` that closes them: the innermost open one that the `end` fits, else the innermost.
fn pair(text: &str, stmts: &[Stmt], fits: impl Fn(u32, u32) -> bool) -> (Vec<Block>, Vec<(u32, Problem)>) {
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
            Role::End => {
                let fitting = open.iter().rposition(|block| fits(blocks[*block as usize].head, index));
                let Some(at) = fitting.or(open.len().checked_sub(1)) else {
                    // A line that cannot be read has a problem of its own already.
                    if stmt.node.kind == StmtKind::End {
                        problems.push((index, stray_end()));
                    }
                    continue;
                };
                blocks[open[at] as usize].closed = true;
                open.drain(at..).for_each(|block| blocks[block as usize].close = index);
            }
            Role::Plain => {}
        }
    }
    open.drain(..).for_each(|block| blocks[block as usize].close = stmts.len() as u32);
    for index in 0..blocks.len() {
        let mut block = blocks[index];
        if !block.closed {
            block.close = end_of_lines(text, stmts, &blocks, block);
            problems.push((block.head, missing_end(text, stmts, block)));
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

/// Where the lines of an unclosed block end: before the first that is not moved in like the line below the head, else before
/// the first that none can hold, blocks within it apart.
fn end_of_lines(text: &str, stmts: &[Stmt], blocks: &[Block], block: Block) -> u32 {
    let head = &stmts[block.head as usize];
    let level = indent(text, head);
    let mut at = block.head + 1;
    let moved_in = at < block.close && indent(text, &stmts[at as usize]) > level;
    let mut drawn = false;
    while at < block.close {
        let stmt = &stmts[at as usize];
        let outside = if moved_in {
            indent(text, stmt) <= level
        } else {
            is_copy(head, stmt) || drawn && stands_apart(text, stmt)
        };
        if outside || !fits_block(text, head, stmt) {
            break;
        }
        drawn |= matches!(stmt.node.kind, StmtKind::Path(_));
        at = match blocks.binary_search_by_key(&at, |inner| inner.head) {
            Ok(inner) if blocks[inner].closed => blocks[inner].close + 1,
            _ => at + 1,
        };
    }
    at.min(block.close)
}

/// Whether a blank line stands above a statement and its remarks.
fn stands_apart(text: &str, stmt: &Stmt) -> bool {
    let line = text[..stmt.offset as usize].rfind('\n').map_or(0, |at| at + 1);
    text[..line].lines().rev().map(str::trim).find(|above| !above.starts_with('#')).is_some_and(str::is_empty)
}

/// Whether the block of a head may hold a statement. What could not be read has a problem of its own.
fn fits_block(text: &str, head: &Stmt, stmt: &Stmt) -> bool {
    match &stmt.node.kind {
        StmtKind::Declare(_) | StmtKind::Path(_) | StmtKind::Repeat { .. } | StmtKind::End => true,
        StmtKind::Let { .. } => role(text, head) == Role::Part,
        StmtKind::Error => role(text, stmt) != Role::Part,
        _ => false,
    }
}

/// Whether a statement declares a copy of the part that it might stand in.
fn is_copy(head: &Stmt, stmt: &Stmt) -> bool {
    match (&head.node.kind, &stmt.node.kind) {
        (StmtKind::Part { name, .. }, StmtKind::Declare(declare)) => declare.kind.text == name.text,
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
    let around = |block: &Block| block.head as usize <= was.end && block.close as usize >= was.start;
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

fn missing_end(text: &str, stmts: &[Stmt], block: Block) -> Problem {
    let head = &stmts[block.head as usize];
    let word = if role(text, head) == Role::Part { "part" } else { "repeat" };
    let (said, at) = match &head.node.kind {
        StmtKind::Part { name, .. } => (format!("the part `{}` has no `end`", name.text), name.span),
        _ => (format!("this `{word}` has no `end`"), RelSpan::new(0, word.len() as u32)),
    };
    // Behind the line on which the last statement of the block ends, moved in like the head.
    let last = stmts[block.close.saturating_sub(1).max(block.head) as usize].range().range().end;
    let line_end = text[last..].find(['\r', '\n']).map_or(text.len(), |at| last + at) as u32;
    let start = head.offset as usize;
    let line = text[..start].rfind(['\r', '\n']).map_or(0, |at| at + 1);
    let moved_in: String = text[line..start].chars().map(|c| if c == '\t' { '\t' } else { ' ' }).collect();
    let newline = if text[line_end as usize..].starts_with("\r\n") { "\r\n" } else { "\n" };
    let place = RelSpan::new(line_end - head.offset, line_end - head.offset);
    Problem::new("missing-end", at, said)
        .help(format!("write `end` on a line of its own behind the last line of the `{word}`"))
        .fix("Write `end`", Safety::Asks, vec![(place, format!("{newline}{moved_in}end"))])
}
