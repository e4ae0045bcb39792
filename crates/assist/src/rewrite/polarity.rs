//! An element with polarity is turned round in its path.

use ohmline_syntax::tree::{ItemKind, Segment, Sign};

use super::{Here, Rewrite, RewriteKind, segments};

pub(super) fn offer(here: &Here<'_>, out: &mut Vec<Rewrite>) {
    let Some(path) = here.path() else { return };
    let stmt = here.stmt();
    segments(path, &mut |segment: &Segment| {
        for item in &segment.items {
            let ItemKind::Element { before, target, after } = &item.kind else { continue };
            let span = stmt.span(item.span);
            if !span.touches(here.offset) {
                continue;
            }
            let name = here.tree.slice(stmt.span(target.span));
            let new = match (before, after) {
                (Some(Sign::Plus), Some(Sign::Minus)) => format!("-{name}+"),
                (Some(Sign::Minus), Some(Sign::Plus)) => format!("+{name}-"),
                _ => continue,
            };
            out.push(Rewrite {
                title: format!("Turn {name} round: `{new}`"),
                kind: RewriteKind::Change,
                edits: vec![here.edit(span, new)],
            });
        }
    });
}
