//! Meters at an element: an ammeter in line with it, a voltmeter across it.

use ohmline_syntax::tree::{ItemKind, Segment};

use super::{Here, Rewrite, RewriteKind, plain_name, segments};

pub(super) fn offer(here: &Here<'_>, out: &mut Vec<Rewrite>) {
    let Some(path) = here.path() else { return };
    let stmt = here.stmt();
    let mut found: Option<(&str, ohmline_syntax::Span, bool, bool)> = None;
    segments(path, &mut |segment: &Segment| {
        for (number, item) in segment.items.iter().enumerate() {
            if let Some(name) = plain_name(item)
                && stmt.span(item.span).touches(here.offset)
                && here.analysis.circuit.element_names.contains_key(name)
            {
                let junction = |at: Option<usize>| {
                    at.and_then(|at| segment.items.get(at))
                        .is_some_and(|item| matches!(item.kind, ItemKind::Junction(_)))
                };
                found = Some((name, stmt.span(item.span), junction(number.checked_sub(1)), junction(Some(number + 1))));
            }
        }
    });
    let Some((name, span, named_before, named_behind)) = found else { return };
    let last = here.last_declaration();
    let below = here.tree.stmts[last].range().end;
    let line_end = here.line_end(below);
    let newline = here.newline();
    let declare = |text: String| here.edit(ohmline_syntax::Span::new(line_end, line_end), format!("{newline}{text}"));
    let ammeter = here.free_name("A");
    out.push(Rewrite {
        title: format!("Put an ammeter in line with {name}"),
        kind: RewriteKind::Change,
        edits: vec![declare(format!("ammeter {ammeter}")), here.edit(span, format!("+{ammeter}- -- {name}"))],
    });
    // The voltmeter needs names for both ends; those that are missing are written.
    let voltmeter = here.free_name("V");
    let names: Vec<String> = [(named_before, true), (named_behind, false)]
        .iter()
        .map(|(named, before)| if *named { neighbor(here, span, *before) } else { String::new() })
        .collect();
    let mut points = here.free_points();
    let mut end = |own: &String| if own.is_empty() { points.next() } else { Some(own.clone()) };
    let (Some(first), Some(second)) = (end(&names[0]), end(&names[1])) else { return };
    let mut around = String::new();
    if names[0].is_empty() {
        around.push_str(&format!("@{first} -- "));
    }
    around.push_str(name);
    if names[1].is_empty() {
        around.push_str(&format!(" -- @{second}"));
    }
    let behind = here.line_end(stmt.range().end);
    out.push(Rewrite {
        title: format!("Put a voltmeter across {name}"),
        kind: RewriteKind::Change,
        edits: vec![
            declare(format!("voltmeter {voltmeter}")),
            here.edit(span, around),
            here.edit(
                ohmline_syntax::Span::new(behind, behind),
                format!("{newline}@{first} -- +{voltmeter}- -- @{second}"),
            ),
        ],
    });
}

/// The name of the junction beside an item, without `@`.
fn neighbor(here: &Here<'_>, span: ohmline_syntax::Span, before: bool) -> String {
    let text = &here.tree.text;
    let word = if before {
        text[..span.start as usize].trim_end().trim_end_matches('-').trim_end().rsplit(char::is_whitespace).next()
    } else {
        text[span.end as usize..].trim_start().trim_start_matches('-').trim_start().split(char::is_whitespace).next()
    };
    word.unwrap_or("").trim_start_matches('@').to_owned()
}
