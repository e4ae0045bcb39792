//! A wire of a path gets a junction with a name.

use ohmline_syntax::Span;
use ohmline_syntax::tree::{ItemKind, Segment};

use super::{Here, Rewrite, RewriteKind, segments};

pub(super) fn offer(here: &Here<'_>, out: &mut Vec<Rewrite>) {
    let Some(path) = here.path() else { return };
    let stmt = here.stmt();
    let mut wire: Option<Span> = None;
    segments(path, &mut |segment: &Segment| {
        for pair in segment.items.windows(2) {
            let between = Span::new(stmt.span(pair[0].span).end, stmt.span(pair[1].span).start);
            let named = pair.iter().any(|item| matches!(item.kind, ItemKind::Junction(_)));
            if between.touches(here.offset) && !named {
                wire = Some(between);
            }
        }
    });
    let Some(wire) = wire else { return };
    let name = here.free_name("p");
    out.push(Rewrite {
        title: format!("Name this point @{name}"),
        kind: RewriteKind::Refactor,
        edits: vec![here.edit(wire, format!(" -- @{name} -- "))],
    });
}
