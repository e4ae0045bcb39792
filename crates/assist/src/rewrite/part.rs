//! A stretch of a path becomes a part of its own, with one copy where it stood.

use ohmline_analysis::Analysis;
use ohmline_syntax::tree::{Item, ItemKind, Segment, Stmt, StmtKind, ValueMain};
use ohmline_syntax::{Edit, FileId, Span};

use super::{Here, Rewrite, RewriteKind, on_one_line, segments};
use crate::occurrences::{Index, Role, Scope, SymbolKind};

/// The ports of the new part.
const PORTS: [&str; 2] = ["in", "out"];

/// The part that a selection of the document can become: two elements or more of one path, of which nothing else speaks.
pub fn part_of(analysis: &Analysis, index: &Index, selection: Span) -> Option<Rewrite> {
    if selection.is_empty() {
        return None;
    }
    let here = Here::new(analysis, index, selection.start)?;
    let path = here.path()?;
    // Below a block that is not closed, new lines would belong to it.
    if here.tree.blocks.iter().any(|block| !block.closed) {
        return None;
    }
    let stmt = here.stmt();
    let selection = Span::new(selection.start.max(stmt.offset), selection.end.min(stmt.range().end));
    let mut around: Option<&Segment> = None;
    segments(path, &mut |segment| {
        let span = stmt.span(segment.span);
        if span.start <= selection.start && selection.end <= span.end {
            around = Some(segment);
        }
    });
    let segment = around?;
    let (first, last) = run(stmt, segment, selection)?;
    let items = &segment.items[first..=last];
    if std::ptr::eq(segment, path) && items.len() == path.items.len() {
        // What is left would be no path.
        return None;
    }
    let span = stmt.span(items[0].span).to(stmt.span(items[items.len() - 1].span));
    let declarations = declarations(&here, items, span)?;
    let (first_declaration, others) = declarations.split_first()?;
    let (name, copy) = (here.free_part("group")?, here.free_name("G"));

    let newline = here.newline();
    let mut block = format!("{newline}part {name}({}, {}){newline}", PORTS[0], PORTS[1]);
    for own in &declarations {
        for line in here.tree.slice(here.whole_lines(documented(&here, own))).lines() {
            block.push_str(&format!("  {}{newline}", line.trim_end()));
        }
    }
    let text = on_one_line(here.tree, span)?;
    block.push_str(&format!("  @{} -- {text} -- @{}{newline}end{newline}", PORTS[0], PORTS[1]));

    // The copy stands in the column of the declaration that it replaces.
    let StmtKind::Declare(declare) = &first_declaration.node.kind else { return None };
    let width = (declare.names.first()?.span.start as usize).max(name.chars().count() + 1);
    let mut edits: Vec<Edit> = vec![
        here.edit(here.whole_lines(documented(&here, first_declaration)), format!("{name:<width$}{copy}{newline}")),
        here.edit(span, copy.as_str()),
        here.lines_at_end(&block),
    ];
    edits.extend(others.iter().map(|own| here.edit(here.whole_lines(documented(&here, own)), "")));
    edits.sort_by_key(|edit| edit.at.span);
    Some(Rewrite { title: format!("Turn the selection into a part {name}"), kind: RewriteKind::Refactor, edits })
}

/// The items that a selection touches, without junctions at its ends.
fn run(stmt: &Stmt, segment: &Segment, selection: Span) -> Option<(usize, usize)> {
    let touched = |item: &Item| {
        let span = stmt.span(item.span);
        span.start < selection.end && selection.start < span.end && !matches!(item.kind, ItemKind::Junction(_))
    };
    Some((segment.items.iter().position(touched)?, segment.items.iter().rposition(touched)?))
}

/// A declaration with the lines that document it.
fn documented(here: &Here<'_>, stmt: &Stmt) -> Span {
    let mut span = stmt.range();
    if let Some(doc) = here.tree.doc(stmt) {
        let line = here.whole_lines(span).start as usize;
        let above: usize =
            here.tree.text[..line].split_inclusive('\n').rev().take(doc.lines().count()).map(str::len).sum();
        span.start = (line - above) as u32;
    }
    span
}

/// What declares the elements of some items, in order; `None` where something else speaks of them or of a junction between them.
fn declarations<'a>(here: &Here<'a>, items: &[Item], span: Span) -> Option<Vec<&'a Stmt>> {
    let scope = Scope { file: FileId::MAIN, part: None };
    let (mut names, mut junctions) = (Vec::new(), Vec::new());
    if !collect(items, &mut names, &mut junctions) || names.len() < 2 {
        return None;
    }
    let inside = |at: Span| span.start <= at.start && at.end <= span.end;
    for name in &junctions {
        let symbol = here.index.junction(scope, name)?;
        if PORTS.contains(&name.as_str()) || !here.index.of(symbol).all(|own| inside(own.at.span)) {
            return None;
        }
    }
    let mut numbers: Vec<usize> = Vec::new();
    for name in &names {
        let symbol = here.index.named(scope, name)?;
        if here.index.symbol(symbol).kind != SymbolKind::Element || PORTS.contains(&name.as_str()) {
            return None;
        }
        for own in here.index.of(symbol) {
            match own.role {
                Role::Definition if own.at.file == FileId::MAIN => numbers.push(own.stmt as usize),
                Role::Use if own.at.file == FileId::MAIN && inside(own.at.span) => {}
                _ => return None,
            }
        }
    }
    numbers.sort_unstable();
    numbers.dedup();
    let movable = |number: &usize| -> Option<&'a Stmt> {
        let stmt = here.tree.stmts.get(*number)?;
        let StmtKind::Declare(declare) = &stmt.node.kind else { return None };
        let lines = here.whole_lines(stmt.range());
        let behind = here.tree.slice(Span::new(stmt.range().end, lines.end)).trim_start();
        let unknown = |value: &ohmline_syntax::tree::Value| matches!(value.main, ValueMain::Unknown { .. });
        let fits = stmt.node.problems.is_empty()
            && !here.is_in_block(*number)
            // The first of them may be the reference of its piece.
            && !matches!(declare.kind.text.as_str(), "battery" | "source")
            && declare.names.iter().all(|own| names.contains(&own.text.to_string()))
            && !declare.value.iter().chain(declare.options.iter().map(|option| &option.value)).any(unknown)
            && here.tree.slice(Span::new(lines.start, stmt.offset)).trim().is_empty()
            && (behind.is_empty() || behind.starts_with('#'));
        fits.then_some(stmt)
    };
    numbers.iter().map(movable).collect()
}

/// Every element and junction of some items; whether each element is passed through.
fn collect(items: &[Item], names: &mut Vec<String>, junctions: &mut Vec<String>) -> bool {
    items.iter().all(|item| match &item.kind {
        ItemKind::Junction(name) => {
            junctions.push(name.text.to_string());
            true
        }
        ItemKind::Element { before, target, after } => {
            names.extend(target.parts.first().map(|name| name.text.to_string()));
            target.parts.len() == 1 && before.is_some() == after.is_some()
        }
        ItemKind::Group(alternatives) => alternatives.iter().all(|own| collect(&own.items, names, junctions)),
    })
}
