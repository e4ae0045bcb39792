//! Stretches of the text that belong together: to be folded, or selected step by step.

use ohmline_syntax::lexer::{TokenKind, tokens};
use ohmline_syntax::tree::{Expr, ExprKind, ItemKind, Segment, Stmt, StmtKind, Value, ValueMain};
use ohmline_syntax::{LineIndex, Span, Tree};

/// Lines that can be folded.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Fold {
    /// First line, from 0.
    pub first: u32,
    /// Last line, from 0.
    pub last: u32,
    /// Whether they are a comment.
    pub comment: bool,
}

/// Blocks, runs of comment lines, and runs of declarations.
pub fn folds(tree: &Tree, lines: &LineIndex) -> Vec<Fold> {
    let mut out = Vec::new();
    let line = |offset: u32| lines.line_of(offset);
    for block in &tree.blocks {
        let (Some(head), close) = (tree.stmts.get(block.head as usize), block.close as usize) else { continue };
        let last =
            if block.closed { tree.stmts.get(close) } else { close.checked_sub(1).and_then(|at| tree.stmts.get(at)) };
        let Some(last) = last else { continue };
        let (first, last) = (line(head.offset), line(last.range().end.max(last.offset)));
        if last > first {
            out.push(Fold { first, last, comment: false });
        }
    }
    // Comments that stand alone on their lines.
    let mut run: Option<(u32, u32)> = None;
    let mut alone = true;
    let mut at = 0u32;
    for token in tokens(&tree.text) {
        match token.kind {
            TokenKind::Newline => {
                alone = true;
                at += 1;
            }
            TokenKind::Blank => {}
            TokenKind::Comment | TokenKind::Doc if alone => {
                run = match run {
                    Some((first, last)) if last + 1 == at => Some((first, at)),
                    other => {
                        out.extend(fold_of(other));
                        Some((at, at))
                    }
                };
                alone = false;
            }
            _ => alone = false,
        }
    }
    out.extend(fold_of(run));
    out.sort();
    out.dedup();
    out
}

fn fold_of(run: Option<(u32, u32)>) -> Option<Fold> {
    let (first, last) = run?;
    (last > first).then_some(Fold { first, last, comment: true })
}

/// What is selected when a selection at an offset grows step by step: the word, what it is part of, the statement, the block, all.
pub fn growing(tree: &Tree, offset: u32) -> Vec<Span> {
    let mut out = Vec::new();
    if let Some(stmt) = tree.stmt_at(offset) {
        let text = tree.slice(stmt.range());
        if let Some(token) = tokens(text).into_iter().find(|token| {
            let span = Span::new(token.start + stmt.offset, token.end() + stmt.offset);
            span.touches(offset) && !matches!(token.kind, TokenKind::Blank | TokenKind::Newline)
        }) {
            out.push(Span::new(token.start + stmt.offset, token.end() + stmt.offset));
        }
        inner(stmt, offset, &mut out);
        out.push(stmt.range());
        let number = tree.stmts.partition_point(|own| own.offset < stmt.offset) as u32;
        let mut around: Vec<Span> = tree
            .blocks
            .iter()
            .filter(|block| block.head <= number && number <= block.close)
            .filter_map(|block| {
                let end = tree.stmts.get(block.close as usize).or(tree.stmts.last())?;
                Some(Span::new(tree.stmts.get(block.head as usize)?.offset, end.range().end))
            })
            .collect();
        around.sort_by_key(|span| span.end - span.start);
        out.extend(around);
    }
    out.push(Span::new(0, tree.text.len() as u32));
    // Each holds the one before.
    let mut grown: Vec<Span> = Vec::new();
    for span in out {
        match grown.last() {
            Some(last) if span == *last || span.start > last.start || span.end < last.end => {}
            _ => grown.push(span),
        }
    }
    grown
}

/// Stretches inside a statement that hold an offset, the smallest first.
fn inner(stmt: &Stmt, offset: u32, out: &mut Vec<Span>) {
    let mut found = Vec::new();
    match &stmt.node.kind {
        StmtKind::Path(segment) => path(stmt, segment, &mut found),
        StmtKind::Let { value, .. } => of_value(stmt, value, &mut found),
        StmtKind::Declare(declare) => {
            declare.value.iter().for_each(|value| of_value(stmt, value, &mut found));
            for option in &declare.options {
                of_value(stmt, &option.value, &mut found);
                found.push(stmt.span(option.name.span.to(option.value.span)));
            }
        }
        StmtKind::Case { assigns, .. } => {
            for assign in assigns {
                of_value(stmt, &assign.value, &mut found);
                found.push(stmt.span(assign.target.span.to(assign.value.span)));
            }
        }
        StmtKind::Find { quantity, .. } => found.push(stmt.span(quantity.span)),
        StmtKind::Given { quantity, value, .. }
        | StmtKind::Measured { quantity, value, .. }
        | StmtKind::ClaimQuantity { quantity, value, .. } => {
            of_expr(stmt, value, &mut found);
            found.push(stmt.span(quantity.span));
        }
        StmtKind::ClaimRelation { branches, .. } => found.extend(branches.iter().map(|branch| stmt.span(branch.span))),
        _ => {}
    }
    found.retain(|span| span.touches(offset));
    found.sort_by_key(|span| span.end - span.start);
    out.extend(found);
}

fn path(stmt: &Stmt, segment: &Segment, found: &mut Vec<Span>) {
    for item in &segment.items {
        found.push(stmt.span(item.span));
        if let ItemKind::Group(alternatives) = &item.kind {
            for own in alternatives {
                found.push(stmt.span(own.span));
                path(stmt, own, found);
            }
        }
    }
}

fn of_value(stmt: &Stmt, value: &Value, found: &mut Vec<Span>) {
    if let ValueMain::Expr(expr) = &value.main {
        of_expr(stmt, expr, found);
    }
    value.at.iter().for_each(|at| of_expr(stmt, at, found));
    found.push(stmt.span(value.span));
}

fn of_expr(stmt: &Stmt, expr: &Expr, found: &mut Vec<Span>) {
    found.push(stmt.span(expr.span));
    match &expr.kind {
        ExprKind::Neg(inner) | ExprKind::Group { inner, .. } => of_expr(stmt, inner, found),
        ExprKind::Binary { left, right, .. } => {
            of_expr(stmt, left, found);
            of_expr(stmt, right, found);
        }
        ExprKind::Number { .. } | ExprKind::Ref(_) => {}
    }
}
