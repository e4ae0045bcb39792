//! The names of rules in a comment that allows them.

use ohmline_analysis::Analysis;
use ohmline_lint::all_metas;
use ohmline_lint::allow::can_be_allowed;
use ohmline_lint::allow::comment::WORD;
use ohmline_syntax::lexer::{Token, TokenKind};
use ohmline_syntax::{FileId, Span};

use super::{Item, ItemKind};

/// What can be written at the end of a comment, cut off at the cursor: rules that report something in the file first.
pub(super) fn in_comment(analysis: &Analysis, comment: Token) -> Vec<Item> {
    let text: &str = &analysis.sources.file(FileId::MAIN).tree.text;
    let body = comment.text(text);
    let Some(rest) = body.trim_start_matches('#').trim_start().strip_prefix(WORD) else { return Vec::new() };
    if comment.kind == TokenKind::Doc || !rest.starts_with([' ', '\t']) || rest.contains(':') {
        return Vec::new();
    }
    let typed = rest.rfind(|c: char| !c.is_ascii_alphabetic() && c != '-').map_or(rest, |at| &rest[at + 1..]);
    // Behind prose nothing is offered: what stands between are names of rules, and commas.
    let metas = all_metas();
    let names = rest[..rest.len() - typed.len()].split([' ', '\t', ',']).filter(|word| !word.is_empty());
    let named: Vec<&str> = names.collect();
    if named.iter().any(|name| metas.iter().all(|meta| meta.name != *name)) {
        return Vec::new();
    }
    let end = comment.end();
    // A name that goes on behind the cursor is replaced as a whole.
    let behind = text[end as usize..].find(|c: char| !c.is_ascii_alphabetic() && c != '-');
    let stop = behind.map_or(text.len() as u32, |at| end + at as u32);
    let replace = Span::new(end - typed.len() as u32, stop);
    let last = text[stop as usize..].split(['\n', '\r']).next().is_none_or(|rest| rest.trim().is_empty());
    let wanted = metas.iter().filter(|meta| can_be_allowed(meta.name) && !named.contains(&meta.name));
    wanted
        .map(|meta| {
            let found = analysis.diagnostics.iter().chain(&analysis.allowed).any(|one| one.rule == meta.name);
            let colon = |reason: &str| if last { format!("{}: {reason}", meta.name) } else { meta.name.to_owned() };
            Item {
                label: meta.name.to_owned(),
                kind: ItemKind::Rule,
                detail: meta.summary.to_owned(),
                doc: meta.why.to_owned(),
                insert: colon(""),
                snippet: last.then(|| colon("${1:?}")),
                replace,
                rank: if found { 10 } else { 20 },
            }
        })
        .collect()
}
