//! Quick fixes: what a diagnostic offers, as edits of the version it was made for.

use std::collections::HashMap;

use ohmline_assist::rewrite::{RewriteKind, part_of, rewrites};
use ohmline_lint::allow::{self, Spot};
use ohmline_syntax::{Diagnostic, Edit, FileId, Fix, Safety, Severity, Span};
use tower_lsp::lsp_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, DocumentChanges, OneOf, OptionalVersionedTextDocumentIdentifier,
    TextDocumentEdit, TextEdit, Url, WorkspaceEdit,
};

use crate::documents::Snapshot;
use crate::editor::Editor;
use crate::proto::Places;

/// The fixes of every diagnostic that touches a stretch of the document.
pub fn quick_fixes(snapshot: &Snapshot, editor: Editor, wanted: Span) -> Vec<CodeActionOrCommand> {
    let places = Places::new(snapshot, editor);
    let mut actions = Vec::new();
    for found in &snapshot.analysis.diagnostics {
        let at = places.shown_at(found.primary.at);
        if at.start > wanted.end || wanted.start > at.end {
            continue;
        }
        for (index, fix) in found.fixes.iter().enumerate() {
            actions.extend(action(&places, editor, found, fix, index == 0));
        }
    }
    // Mending comes first.
    for found in &snapshot.analysis.diagnostics {
        let at = places.shown_at(found.primary.at);
        if at.start <= wanted.end && wanted.start <= at.end {
            actions.extend(allowing(snapshot, &places, editor, found));
        }
    }
    actions
}

/// The comment that allows what is found, with its reason still to be written: until then it allows nothing. Errors are to be mended.
fn allowing(
    snapshot: &Snapshot,
    places: &Places<'_>,
    editor: Editor,
    found: &Diagnostic,
) -> Option<CodeActionOrCommand> {
    if found.severity == Severity::Error || !allow::can_be_allowed(found.rule) || allow::is_about_comments(found.rule) {
        return None;
    }
    let source = snapshot.analysis.sources.files.get(found.primary.at.file.0 as usize)?;
    let main = found.primary.at.file == FileId::MAIN;
    let spot = if main && snapshot.around.is_some() { Spot::Behind } else { Spot::Above };
    let edit = allow::allowing(&source.tree, found.rule, found.primary.at, spot)?;
    let title = format!("Allow `{}` here, for a reason to be written", found.rule);
    action(places, editor, found, &Fix { title, safety: Safety::Asks, edits: vec![edit] }, false)
}

/// What can be rewritten at the start of a selection, and what the selection can become.
pub fn rewritings(snapshot: &Snapshot, editor: Editor, selection: Span) -> Vec<CodeActionOrCommand> {
    let places = Places::new(snapshot, editor);
    rewrites(&snapshot.analysis, snapshot.names(), selection.start)
        .into_iter()
        .chain(part_of(&snapshot.analysis, snapshot.names(), selection))
        .filter_map(|mut own| {
            if let Some((around, document)) = &snapshot.around {
                own.edits.iter_mut().for_each(|edit| around.place(document, edit));
            }
            Some(CodeActionOrCommand::CodeAction(CodeAction {
                title: own.title,
                kind: Some(match own.kind {
                    RewriteKind::Refactor => CodeActionKind::REFACTOR_REWRITE,
                    RewriteKind::Change => CodeActionKind::REFACTOR,
                }),
                edit: Some(workspace_edit(&places, editor, &own.edits)?),
                ..CodeAction::default()
            }))
        })
        .collect()
}

/// Every safe fix of the document at once, where they do not touch each other. What the circuits of a Markdown document include is
/// left alone: each of them would mend it anew.
pub fn fix_all(snapshot: &Snapshot, editor: Editor) -> Option<CodeActionOrCommand> {
    let places = Places::new(snapshot, editor);
    let mut edits: Vec<Edit> = Vec::new();
    for found in snapshot.circuits().flat_map(|circuit| &circuit.analysis.diagnostics) {
        let Some(fix) = found.fixes.first().filter(|fix| fix.safety == Safety::Safe) else { continue };
        if snapshot.blocks.is_some() && fix.edits.iter().any(|edit| edit.at.file != FileId::MAIN) {
            continue;
        }
        let apart = |own: &Edit| {
            edits.iter().all(|other| {
                own.at.file != other.at.file
                    || own.at.span.end < other.at.span.start
                    || other.at.span.end < own.at.span.start
            })
        };
        if fix.edits.iter().all(apart) {
            edits.extend(fix.edits.iter().cloned());
        }
    }
    if edits.is_empty() {
        return None;
    }
    Some(CodeActionOrCommand::CodeAction(CodeAction {
        title: "Apply every safe fix".to_owned(),
        kind: Some(CodeActionKind::SOURCE_FIX_ALL),
        edit: Some(workspace_edit(&places, editor, &edits)?),
        ..CodeAction::default()
    }))
}

fn action(
    places: &Places<'_>,
    editor: Editor,
    found: &Diagnostic,
    fix: &Fix,
    likeliest: bool,
) -> Option<CodeActionOrCommand> {
    let edit = workspace_edit(places, editor, &fix.edits)?;
    Some(CodeActionOrCommand::CodeAction(CodeAction {
        title: fix.title.clone(),
        kind: Some(CodeActionKind::QUICKFIX),
        diagnostics: Some(vec![places.diagnostic(found)]),
        edit: Some(edit),
        is_preferred: Some(likeliest && fix.safety == Safety::Safe),
        ..CodeAction::default()
    }))
}

/// Edits of any files in the shape that the editor knows. `None` when a file has no address.
pub fn workspace_edit(places: &Places<'_>, editor: Editor, edits: &[Edit]) -> Option<WorkspaceEdit> {
    // One group for each file, in the order in which the files are first named.
    let mut files: Vec<(Url, Option<i32>, Vec<TextEdit>)> = Vec::new();
    for edit in edits {
        let (uri, version) = places.address(edit.at.file)?;
        let replacement = places.edit(edit)?;
        match files.iter_mut().find(|(had, ..)| *had == uri) {
            Some((.., edits)) => edits.push(replacement),
            None => files.push((uri, version, vec![replacement])),
        }
    }
    Some(if editor.versioned_edits {
        let edits = files.into_iter().map(|(uri, version, edits)| TextDocumentEdit {
            text_document: OptionalVersionedTextDocumentIdentifier { uri, version },
            edits: edits.into_iter().map(OneOf::Left).collect(),
        });
        WorkspaceEdit { document_changes: Some(DocumentChanges::Edits(edits.collect())), ..WorkspaceEdit::default() }
    } else {
        let changes: HashMap<_, _> = files.into_iter().map(|(uri, _, edits)| (uri, edits)).collect();
        WorkspaceEdit { changes: Some(changes), ..WorkspaceEdit::default() }
    })
}
