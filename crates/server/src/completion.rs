//! Completion in the shapes of the protocol, and the files that an `include` can name.

use std::path::Path;

use ohmline_assist::complete::{Item, ItemKind, complete};
use tower_lsp::lsp_types::{
    CompletionItem, CompletionItemKind, CompletionList, CompletionResponse, CompletionTextEdit, Documentation,
    InsertTextFormat, MarkupContent, MarkupKind, Position, TextEdit,
};

use crate::documents::Snapshot;
use crate::editor::Editor;
use crate::proto::Places;

/// Most files that are offered.
const MOST_FILES: usize = 200;

/// What can be written at a position.
pub fn completion(snapshot: &Snapshot, editor: Editor, at: Position) -> CompletionResponse {
    let places = Places::new(snapshot, editor);
    let path = snapshot.uri.to_file_path().ok();
    let files = path.as_deref().map(beside).unwrap_or_default();
    let offer = complete(&snapshot.analysis, snapshot.names(), places.offset(at), &files);
    let items = offer.items.iter().map(|item| shaped(&places, editor, item)).collect();
    match offer.whole {
        true => CompletionResponse::Array(items),
        // The editor asks again when more is typed.
        false => CompletionResponse::List(CompletionList { is_incomplete: true, items }),
    }
}

/// Whether the blank that was typed last on a line calls for a list: something must follow, and it is something with a name. Where the line
/// could end, a list would take the next line end for itself.
pub fn is_called_for(line: &str) -> bool {
    let line = line.trim_end();
    let last = line.rsplit([' ', '\t']).next().unwrap_or("");
    let calls = matches!(
        last,
        "--" | "("
            | "|"
            | "="
            | "find"
            | "claim"
            | "given"
            | "measured"
            | "reference"
            | "current"
            | "voltage"
            | "potential"
            | "resistance"
            | "capacitance"
            | "power"
            | "charge"
            | "energy"
            | "value"
            | "through"
            | "into"
            | "across"
            | "from"
            | "to"
            | "at"
            | "between"
            | "and"
            | "of"
            | "seen"
            | "by"
            | "in"
    );
    calls && !line.contains('#')
}

/// Lets what is replaced end at a position: what has been typed behind it since, the editor itself takes along.
pub fn end_at(found: &mut CompletionResponse, at: Position) {
    let items = match found {
        CompletionResponse::Array(items) => items,
        CompletionResponse::List(list) => &mut list.items,
    };
    for item in items {
        if let Some(CompletionTextEdit::Edit(edit)) = &mut item.text_edit {
            edit.range.end = edit.range.end.min(at);
        }
    }
}

/// The circuits in the folder of a document, itself left out.
fn beside(path: &Path) -> Vec<String> {
    let Some(entries) = path.parent().and_then(|folder| std::fs::read_dir(folder).ok()) else { return Vec::new() };
    let mut names: Vec<String> = entries
        .take(10 * MOST_FILES)
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|own| own != path && own.extension().is_some_and(|ending| ending == "ohmline"))
        .filter_map(|own| own.file_name().map(|name| name.to_string_lossy().into_owned()))
        .collect();
    names.sort();
    names.truncate(MOST_FILES);
    names
}

/// What is inserted. Editors indent new lines like the line at hand, but know nothing of a quote that it stands in.
fn placed(places: &Places<'_>, text: &str) -> String {
    match places.quote() {
        Some(lead) => text.replace('\n', &format!("\n{lead}")),
        None => text.to_owned(),
    }
}

fn shaped(places: &Places<'_>, editor: Editor, item: &Item) -> CompletionItem {
    let snippet = item.snippet.as_ref().filter(|_| editor.snippets);
    CompletionItem {
        label: item.label.clone(),
        kind: Some(match item.kind {
            ItemKind::Keyword => CompletionItemKind::KEYWORD,
            ItemKind::Kind | ItemKind::Part => CompletionItemKind::CLASS,
            ItemKind::Element => CompletionItemKind::VARIABLE,
            ItemKind::Junction => CompletionItemKind::REFERENCE,
            ItemKind::Terminal => CompletionItemKind::FIELD,
            ItemKind::Option => CompletionItemKind::PROPERTY,
            ItemKind::Value => CompletionItemKind::CONSTANT,
            ItemKind::Unit => CompletionItemKind::UNIT,
            ItemKind::Number => CompletionItemKind::VALUE,
            ItemKind::Case => CompletionItemKind::EVENT,
            ItemKind::File => CompletionItemKind::FILE,
            ItemKind::State | ItemKind::Rule => CompletionItemKind::ENUM_MEMBER,
        }),
        detail: (!item.detail.is_empty()).then(|| item.detail.clone()),
        documentation: (!item.doc.is_empty()).then(|| {
            Documentation::MarkupContent(MarkupContent { kind: MarkupKind::Markdown, value: item.doc.clone() })
        }),
        sort_text: Some(format!("{:02}{}", item.rank, item.label)),
        // What is typed is compared with the name, whatever sign stands before it.
        filter_text: Some(item.label.clone()),
        insert_text_format: Some(if snippet.is_some() {
            InsertTextFormat::SNIPPET
        } else {
            InsertTextFormat::PLAIN_TEXT
        }),
        text_edit: Some(CompletionTextEdit::Edit(TextEdit::new(
            places.range(item.replace),
            placed(places, snippet.unwrap_or(&item.insert)),
        ))),
        ..CompletionItem::default()
    }
}

#[cfg(test)]
mod tests {
    use super::is_called_for;

    #[test]
    fn a_blank_calls_for_a_list_where_a_name_must_follow() {
        for line in ["B1+ -- ", "B1+ -- ( ", "switch S1 = ", "find ", "  find current through ", "claim R1, R2 in "] {
            assert!(is_called_for(line), "{line}");
        }
        for line in
            ["", "  ", "battery ", "claim current through R1 = 1 A ", "# what is read from ", "resistor R1 = 4 "]
        {
            assert!(!is_called_for(line), "{line}");
        }
    }
}
