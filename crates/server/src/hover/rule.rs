//! The name of a rule in a comment that allows it: what the rule is about.

use ohmline_lint::allow::comment::comment_at;
use ohmline_lint::meta;
use ohmline_syntax::Tree;

use super::{Hover, Part};

/// What is known about the rule that a comment names at an offset.
pub fn in_comment(tree: &Tree, offset: u32) -> Option<Hover> {
    let span = comment_at(tree, offset)?.rules.into_iter().find(|span| span.touches(offset))?;
    let meta = meta(tree.slice(span))?;
    let parts = vec![
        Part::Title { name: meta.name.to_owned(), is: format!("{}, {}", meta.severity.word(), meta.summary) },
        Part::Text(meta.why.to_owned()),
        Part::Text(format!("When to ignore it: {}.", meta.ignore_when)),
        Part::Text(format!("Its fix: {}", meta.fix)),
    ];
    Some(Hover { span, parts })
}
