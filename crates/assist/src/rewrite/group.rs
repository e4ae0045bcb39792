//! A parallel group as paths of its own between named junctions, and back.

use ohmline_syntax::Span;
use ohmline_syntax::tree::{ItemKind, Segment, Stmt, StmtKind};

use super::{Here, Rewrite, RewriteKind, on_one_line, segments};

pub(super) fn offer(here: &Here<'_>, out: &mut Vec<Rewrite>) {
    let Some(path) = here.path() else { return };
    out.extend(apart(here, path));
    out.extend(together(here, path));
}

/// The junction that an item of a segment is.
fn junction(segment: &Segment, at: Option<usize>) -> Option<&str> {
    match &segment.items.get(at?)?.kind {
        ItemKind::Junction(name) => Some(&name.text),
        _ => None,
    }
}

/// The innermost group at the place, each of its alternatives a path.
fn apart(here: &Here<'_>, path: &Segment) -> Option<Rewrite> {
    let stmt = here.stmt();
    let mut found: Option<(&Segment, usize)> = None;
    segments(path, &mut |segment| {
        for (number, item) in segment.items.iter().enumerate() {
            if matches!(item.kind, ItemKind::Group(_)) && stmt.span(item.span).touches(here.offset) {
                found = Some((segment, number));
            }
        }
    });
    let (segment, number) = found?;
    let item = &segment.items[number];
    let ItemKind::Group(alternatives) = &item.kind else { return None };
    let group = stmt.span(item.span);
    // With a comment in it, its lines are laid out with care.
    on_one_line(here.tree, group)?;
    let texts: Vec<String> =
        alternatives.iter().map(|own| on_one_line(here.tree, stmt.span(own.span))).collect::<Option<_>>()?;
    let mut free = here.free_points();
    let (before, behind) = (junction(segment, number.checked_sub(1)), junction(segment, Some(number + 1)));
    let from = before.map(str::to_owned).or_else(|| free.next())?;
    let to = behind.map(str::to_owned).or_else(|| free.next())?;
    let (first, rest) = texts.split_first()?;
    let mut own = String::new();
    if before.is_none() {
        own.push_str(&format!("@{from} -- "));
    }
    own.push_str(first);
    if behind.is_none() {
        own.push_str(&format!(" -- @{to}"));
    }
    let newline = here.newline();
    let paths: String = rest.iter().map(|text| format!("{newline}@{from} -- {text} -- @{to}")).collect();
    let end = here.line_end(stmt.range().end);
    Some(Rewrite {
        title: format!("Write this group as paths from @{from} to @{to}"),
        kind: RewriteKind::Refactor,
        edits: vec![here.edit(group, own), here.edit(Span::new(end, end), paths)],
    })
}

/// The paths that run between the same two junctions as a stretch of this one, as a group with it.
fn together(here: &Here<'_>, path: &Segment) -> Option<Rewrite> {
    let stmt = here.stmt();
    let mut best: Option<(usize, usize, Vec<(&Stmt, &Segment)>)> = None;
    for from in 0..path.items.len() {
        for to in from + 2..path.items.len() {
            let around = stmt.span(path.items[from].span).to(stmt.span(path.items[to].span));
            let nearer = best.as_ref().is_none_or(|(a, b, _)| to - from < b - a);
            if !around.touches(here.offset) || !nearer {
                continue;
            }
            let (Some(first), Some(last)) = (junction(path, Some(from)), junction(path, Some(to))) else { continue };
            let others = beside(here, first, last);
            if first != last && !others.is_empty() {
                best = Some((from, to, others));
            }
        }
    }
    let (from, to, others) = best?;
    let inner = |stmt: &Stmt, segment: &Segment, from: usize, to: usize| {
        let span = stmt.span(segment.items[from + 1].span).to(stmt.span(segment.items[to - 1].span));
        on_one_line(here.tree, span).map(|text| (span, text))
    };
    let (mut replaced, text) = inner(stmt, path, from, to)?;
    let mut alternatives = vec![text];
    let mut edits = Vec::new();
    for (other, segment) in &others {
        alternatives.push(inner(other, segment, 0, segment.items.len() - 1)?.1);
        edits.push(here.edit(here.whole_lines(other.range()), ""));
    }
    // Names that nothing speaks of any more go, unless they hold an end of the path.
    let uses = 1 + others.len();
    let named = |at: usize| junction(path, Some(at)).filter(|name| here.junction_uses(name) != Some(uses));
    let (kept_from, kept_to) = (from == 0 || named(from).is_some(), to + 1 == path.items.len() || named(to).is_some());
    if !kept_from {
        replaced.start = stmt.span(path.items[from].span).start;
    }
    if !kept_to {
        replaced.end = stmt.span(path.items[to].span).end;
    }
    edits.push(here.edit(replaced, format!("( {} )", alternatives.join(" | "))));
    edits.sort_by_key(|edit| edit.at.span);
    let (first, last) = (junction(path, Some(from))?, junction(path, Some(to))?);
    Some(Rewrite {
        title: format!("Write the paths from @{first} to @{last} as a group"),
        kind: RewriteKind::Refactor,
        edits,
    })
}

/// Other paths from one junction to another, each alone on its lines with no comment.
fn beside<'a>(here: &Here<'a>, first: &str, last: &str) -> Vec<(&'a Stmt, &'a Segment)> {
    let own = |(number, stmt): (usize, &'a Stmt)| -> Option<(&'a Stmt, &'a Segment)> {
        let StmtKind::Path(segment) = &stmt.node.kind else { return None };
        let ends = (junction(segment, Some(0)), junction(segment, segment.items.len().checked_sub(1)));
        let fits = number != here.number
            && segment.items.len() > 2
            && ends == (Some(first), Some(last))
            && stmt.node.problems.is_empty()
            && !here.is_in_block(number)
            && here.tree.doc(stmt).is_none()
            && here.tree.slice(here.whole_lines(stmt.range())).trim() == here.tree.slice(stmt.range());
        fits.then_some((stmt, segment))
    };
    here.tree.stmts.iter().enumerate().filter_map(own).collect()
}
