//! Tokens to statements, one logical line at a time.

mod blocks;
mod explain;
mod grammar;
mod lines;

use std::sync::Arc;

use chumsky::Parser;
use chumsky::error::EmptyErr;
use chumsky::extra::SimpleState;

use self::explain::Failed;
use self::grammar::{Grammar, MAX_OPERATIONS, Missed, Source, Tokens};
use self::lines::{Batch, Line, Lines};
use crate::diagnostic::Problem;
use crate::tree::{Stmt, StmtKind, StmtNode, Tree};

/// Brackets within brackets go no deeper than this, so that no walk of the tree can run out of stack.
const MAX_DEPTH: u32 = 64;

/// Reads a text. Never fails: what cannot be read is in the problems of its statement.
///
/// Offsets are 32-bit: of a text longer than 4 GiB only that much is read.
pub fn parse(text: &str) -> Tree {
    let mut stmts = Vec::with_capacity(text.len() / 40);
    read(text, 0, &mut stmts, |_| false);
    let (blocks, block_problems) = blocks::find(text, &stmts);
    Tree { text: text.into(), stmts, blocks, block_problems }
}

/// Reads a text that differs from an earlier one, reusing every statement outside the difference.
///
/// The tree is the same as that of [`parse`]; it shares the nodes of untouched statements with the earlier tree.
pub fn reparse(old: &Tree, text: &str) -> Tree {
    let (before, now) = (old.text.as_bytes(), text.as_bytes());
    let prefix = common_prefix(before, now);
    let suffix = common_prefix_backwards(&before[prefix..], &now[prefix..]);
    if prefix == before.len() && prefix == now.len() {
        return old.clone();
    }
    // A statement is made by the text from its first token on and by nothing before it. So what stands before the
    // difference begins as it did, and only the statement that the difference touches and the one before it (which may
    // now go on) can have changed.
    let touched = old.stmts.partition_point(|stmt| stmt.offset as usize <= prefix);
    let kept = touched.saturating_sub(2);
    let from = if touched >= 2 { old.stmts[kept].offset } else { 0 };
    let mut stmts = Vec::with_capacity(old.stmts.len() + 16);
    stmts.extend_from_slice(&old.stmts[..kept]);
    // Behind the difference, the first statement that starts where one started before is the same, and so are all
    // behind it.
    let same_from = now.len() - suffix;
    let shift = now.len() as i64 - before.len() as i64;
    let mut rest = None;
    read(text, from, &mut stmts, |start| {
        if (start as usize) < same_from {
            return false;
        }
        let was = (i64::from(start) - shift) as u32;
        rest = old.stmts.binary_search_by_key(&was, |stmt| stmt.offset).ok();
        rest.is_some()
    });
    let window = kept..stmts.len();
    let rest = rest.unwrap_or(old.stmts.len());
    stmts.extend(
        old.stmts[rest..]
            .iter()
            .map(|stmt| Stmt { offset: (i64::from(stmt.offset) + shift) as u32, node: Arc::clone(&stmt.node) }),
    );
    let (blocks, block_problems) = blocks::find_again(old, kept..rest, text, &stmts, window);
    Tree { text: text.into(), stmts, blocks, block_problems }
}

fn common_prefix(one: &[u8], other: &[u8]) -> usize {
    let wide = one.chunks_exact(64).zip(other.chunks_exact(64)).take_while(|(a, b)| a == b).count() * 64;
    wide + one[wide..].iter().zip(&other[wide..]).take_while(|(a, b)| a == b).count()
}

fn common_prefix_backwards(one: &[u8], other: &[u8]) -> usize {
    let wide = one.rchunks_exact(64).zip(other.rchunks_exact(64)).take_while(|(a, b)| a == b).count() * 64;
    let (one, other) = (&one[..one.len() - wide], &other[..other.len() - wide]);
    wide + one.iter().rev().zip(other.iter().rev()).take_while(|(a, b)| a == b).count()
}

/// Reads the statements of a text from `from` on, until the end or until `stop` says of the offset of one that it
/// need not be read.
fn read(text: &str, from: u32, out: &mut Vec<Stmt>, mut stop: impl FnMut(u32) -> bool) {
    let text = &text[..text.floor_char_boundary(u32::MAX as usize)];
    let mut lines = Lines::new(text, from);
    let mut batch = Batch::default();
    loop {
        let more = lines.fill(&mut batch, &mut stop);
        read_batch(text, &batch, out);
        if !more {
            return;
        }
    }
}

/// Parses the statements of a batch. The parsers borrow its tokens, so they are built once a batch, not once a line.
fn read_batch(text: &str, batch: &Batch, out: &mut Vec<Stmt>) {
    let Some(first) = batch.tokens.first() else { return };
    let grammar = Grammar::<EmptyErr>::new();
    let mut precise = None;
    let mut state = SimpleState(Source { text, base: first.start, operations: 0 });
    for &line in &batch.lines {
        let tokens = &batch.tokens[line.from as usize..line.to as usize];
        let (Some(first), Some(last)) = (tokens.first(), tokens.last()) else { continue };
        state.base = first.start;
        state.operations = 0;
        let (kind, problems) = match read_line(line, tokens, &grammar, &mut state) {
            Ok(read) => read,
            Err(failed) => {
                let failed = match failed {
                    Failed::Grammar(None) => {
                        let grammar = precise.get_or_insert_with(Grammar::<Missed>::new);
                        state.operations = 0;
                        let errors = grammar.rule(tokens).parse_with_state(tokens, &mut state).into_errors();
                        Failed::Grammar(errors.into_iter().next())
                    }
                    other => other,
                };
                (StmtKind::Error, vec![explain::explain(failed, tokens, text)])
            }
        };
        let node = Arc::new(StmtNode { len: last.end() - first.start, kind, problems });
        out.push(Stmt { offset: first.start, node });
    }
}

/// Reads one logical line, or says which check it did not pass.
fn read_line<'a>(
    line: Line,
    tokens: Tokens<'a>,
    grammar: &Grammar<'a, EmptyErr>,
    state: &mut SimpleState<Source<'a>>,
) -> Result<(StmtKind, Vec<Problem>), Failed> {
    if line.bad {
        return Err(Failed::BadToken);
    }
    if line.depth > MAX_DEPTH {
        return Err(Failed::TooDeep);
    }
    if line.run && explain::touching_run(tokens, state.text).is_some() {
        return Err(Failed::TouchingRun);
    }
    let read = grammar.rule(tokens).parse_with_state(tokens, state).into_output();
    if line.torn && (read.is_some() || tokens.last().is_some_and(|last| last.kind.hangs())) {
        return Err(Failed::Torn);
    }
    let kind = read.ok_or(Failed::Grammar(None))?;
    if state.operations > MAX_OPERATIONS {
        return Err(Failed::TooLong);
    }
    if let Some(failed) = explain::slip(&kind) {
        return Err(failed);
    }
    if explain::is_misrated(&kind, tokens, state.text) {
        return Err(Failed::Rating);
    }
    let mut problems = if line.run { explain::long_wires(tokens, state.text) } else { Vec::new() };
    problems.extend(explain::hanging_equals(&kind, tokens, state.text));
    Ok((kind, problems))
}
