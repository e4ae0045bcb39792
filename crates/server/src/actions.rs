//! Code actions: what a diagnostic offers and what can be rewritten, as edits of the version they were made for.

use std::collections::HashMap;
use std::sync::Arc;

use ohmline_assist::rewrite::{Rewrite, RewriteKind, part_of, rewrites};
use ohmline_lint::allow::{self, Spot};
use ohmline_syntax::{Diagnostic, Edit, FileId, Fix, Safety, Severity, Span};
use serde::{Deserialize, Serialize};
use tower_lsp::lsp_types::{
    CodeAction, CodeActionKind, DocumentChanges, OneOf, OptionalVersionedTextDocumentIdentifier, TextDocumentEdit,
    TextEdit, Url, WorkspaceEdit,
};

use crate::documents::{Snapshot, circuit_at};
use crate::editor::Editor;
use crate::proto::Places;
use crate::trial;

/// Every safe fix at once.
const FIX_ALL: CodeActionKind = CodeActionKind::new("source.fixAll.ohmline");

/// The kinds of all actions.
pub const KINDS: [CodeActionKind; 5] = [
    CodeActionKind::QUICKFIX,
    CodeActionKind::REFACTOR,
    CodeActionKind::REFACTOR_EXTRACT,
    CodeActionKind::REFACTOR_REWRITE,
    FIX_ALL,
];

/// What can be done at a selection; of these kinds alone, if any are named.
pub fn offered(
    snapshot: &Arc<Snapshot>,
    editor: Editor,
    selection: Span,
    only: Option<&[CodeActionKind]>,
) -> Vec<CodeAction> {
    // A kind that is asked for stands for all that begin with it.
    let wants = |kind: &CodeActionKind| {
        only.is_none_or(|only| {
            only.iter().any(|own| {
                let (own, kind) = (own.as_str(), kind.as_str());
                own.is_empty() || kind == own || kind.strip_prefix(own).is_some_and(|rest| rest.starts_with('.'))
            })
        })
    };
    let mut found = Vec::new();
    if wants(&CodeActionKind::QUICKFIX) {
        let own = snapshot.blocks.is_some().then_some(&**snapshot);
        let of = own.into_iter().chain(snapshot.circuits());
        found.extend(of.flat_map(|circuit| quick_fixes(circuit, editor, selection)));
    }
    let rewriting = [CodeActionKind::REFACTOR, CodeActionKind::REFACTOR_EXTRACT, CodeActionKind::REFACTOR_REWRITE];
    if rewriting.iter().any(&wants)
        && let Some(circuit) = circuit_at(snapshot, selection.start)
    {
        let own = rewritings(&circuit, editor, selection).into_iter();
        found.extend(own.filter(|action| action.kind.as_ref().is_some_and(&wants)));
    }
    // Not in every menu: only for those who ask for it, such as when a file is saved.
    if only.is_some() && wants(&FIX_ALL) {
        found.extend(fix_all(snapshot, editor));
    }
    found
}

/// Where an action was offered whose edit was left out.
#[derive(Serialize, Deserialize)]
pub struct Origin {
    /// The document.
    pub uri: Url,
    /// Its version.
    pub version: Option<i32>,
    selection: (u32, u32),
}

impl Origin {
    /// What an editor sends back with an action.
    pub fn read(action: &CodeAction) -> Option<Self> {
        serde_json::from_value(action.data.clone()?).ok()
    }
}

/// An action whose edit is made once it is chosen. Quick fixes are short, and shown before they are chosen.
pub fn without_edit(snapshot: &Snapshot, selection: Span, mut action: CodeAction) -> CodeAction {
    if action.kind.as_ref().is_none_or(|kind| *kind == CodeActionKind::QUICKFIX) {
        return action;
    }
    let (uri, version) = (snapshot.uri.clone(), snapshot.version);
    let origin = Origin { uri, version, selection: (selection.start, selection.end) };
    // Plain data, which always serializes; with its edit the action is as good.
    if let Ok(data) = serde_json::to_value(origin) {
        action.data = Some(data);
        action.edit = None;
    }
    action
}

/// The same action with its edit; `None` where it is not offered.
pub fn with_edit(snapshot: &Arc<Snapshot>, editor: Editor, from: &Origin, action: CodeAction) -> Option<CodeAction> {
    let (start, end) = from.selection;
    let only = [action.kind.clone()?];
    let own = offered(snapshot, editor, Span::new(start.min(end), end.max(start)), Some(&only));
    let own = own.into_iter().find(|own| own.title == action.title && own.kind == action.kind)?;
    Some(CodeAction { edit: own.edit, ..action })
}

/// The fixes of every diagnostic that touches a stretch of the document.
fn quick_fixes(snapshot: &Snapshot, editor: Editor, wanted: Span) -> Vec<CodeAction> {
    let places = Places::new(snapshot, editor);
    let all = &snapshot.analysis.diagnostics;
    let touches = |found: &Diagnostic| {
        let at = places.shown_at(found.primary.at);
        at.start <= wanted.end && wanted.start <= at.end
    };
    let here: Vec<usize> = (0..all.len()).filter(|at| touches(&all[*at])).collect();
    // Mending comes first.
    let fixes = if snapshot.blocks.is_some() {
        // A file of settings is no circuit that a fix could be tried on.
        here.iter().flat_map(|at| (0..all[*at].fixes.len()).map(|number| (*at, number))).collect()
    } else {
        trial::offered(snapshot, &here)
    };
    let fixes = fixes.into_iter();
    let fixes = fixes.filter_map(|(at, number)| action(&places, editor, &all[at], &all[at].fixes[number], number == 0));
    fixes.chain(here.iter().filter_map(|at| allowing(snapshot, &places, editor, &all[*at]))).collect()
}

/// The comment that allows what is found, with its reason still to be written: until then it allows nothing. Errors are to be mended.
fn allowing(snapshot: &Snapshot, places: &Places<'_>, editor: Editor, found: &Diagnostic) -> Option<CodeAction> {
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
fn rewritings(snapshot: &Snapshot, editor: Editor, selection: Span) -> Vec<CodeAction> {
    let places = Places::new(snapshot, editor);
    let shaped = |mut own: Rewrite, kind: CodeActionKind| {
        if let Some((around, document)) = &snapshot.around {
            own.edits.iter_mut().for_each(|edit| around.place(document, edit));
        }
        let edit = Some(workspace_edit(&places, editor, &own.edits)?);
        Some(CodeAction { title: own.title, kind: Some(kind), edit, ..CodeAction::default() })
    };
    let kind = |own: &Rewrite| match own.kind {
        RewriteKind::Refactor => CodeActionKind::REFACTOR_REWRITE,
        RewriteKind::Change => CodeActionKind::REFACTOR,
    };
    let found = rewrites(&snapshot.analysis, snapshot.names(), selection.start).into_iter();
    let mut found: Vec<CodeAction> = found.filter_map(|own| shaped(own.clone(), kind(&own))).collect();
    let part = part_of(&snapshot.analysis, snapshot.names(), selection);
    found.extend(part.and_then(|own| shaped(own, CodeActionKind::REFACTOR_EXTRACT)));
    found
}

/// Every safe fix of the document at once, where they do not touch each other. What the circuits of a Markdown document include is
/// left alone: each of them would mend it anew.
fn fix_all(snapshot: &Snapshot, editor: Editor) -> Option<CodeAction> {
    let places = Places::new(snapshot, editor);
    let own = |fix: &Fix| snapshot.blocks.is_none() || fix.edits.iter().all(|edit| edit.at.file == FileId::MAIN);
    let fixes = snapshot.circuits().flat_map(|circuit| trial::at_once(circuit, own));
    let edits: Vec<Edit> = fixes.flat_map(|fix| fix.edits.iter().cloned()).collect();
    if edits.is_empty() {
        return None;
    }
    Some(CodeAction {
        title: "Apply every safe fix".to_owned(),
        kind: Some(FIX_ALL),
        edit: Some(workspace_edit(&places, editor, &edits)?),
        ..CodeAction::default()
    })
}

fn action(places: &Places<'_>, editor: Editor, found: &Diagnostic, fix: &Fix, likeliest: bool) -> Option<CodeAction> {
    let edit = workspace_edit(places, editor, &fix.edits)?;
    Some(CodeAction {
        title: fix.title.clone(),
        kind: Some(CodeActionKind::QUICKFIX),
        diagnostics: Some(vec![places.diagnostic(found)]),
        edit: Some(edit),
        is_preferred: Some(likeliest && fix.safety == Safety::Safe),
        ..CodeAction::default()
    })
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
