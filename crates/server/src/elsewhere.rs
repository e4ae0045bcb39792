//! A name of one document as the other open circuits see it: those that include the file which declares it speak of it too.

use std::collections::BTreeSet;
use std::sync::Arc;

use ohmline_assist::{Occurrence, Role};
use ohmline_syntax::FileId;
use tower_lsp::lsp_types::{
    AnnotatedTextEdit, DocumentChangeOperation, DocumentChanges, OneOf, Position, TextDocumentEdit, TextEdit,
    WorkspaceEdit,
};

use crate::documents::Snapshot;
use crate::editor::Editor;
use crate::proto::Places;

/// A place of the name in another circuit.
pub struct Sight<'a> {
    /// The other circuit.
    pub snapshot: &'a Snapshot,
    /// The file there that declares the name.
    pub file: FileId,
    /// Where the name stands in it.
    pub offset: u32,
    /// Whether the other circuit was made from the same text of that file.
    pub same_text: bool,
}

/// Where the other open circuits that include the file of a name see it.
pub fn sights<'a>(
    snapshot: &Snapshot,
    own: &Occurrence,
    others: &'a [Arc<Snapshot>],
    editor: Editor,
) -> Vec<Sight<'a>> {
    let index = snapshot.names();
    let home = index.symbol(own.symbol).scope.file;
    let Some(at_home) = index.of(own.symbol).find(|place| place.at.file == home && place.role != Role::Field) else {
        return Vec::new();
    };
    let Some((address, _)) = Places::new(snapshot, editor).address(home) else { return Vec::new() };
    let text = &snapshot.analysis.sources.file(home).tree.text;
    let sight = |other: &'a Arc<Snapshot>| {
        if std::ptr::eq(&*other.analysis, &*snapshot.analysis) {
            return None;
        }
        let places = Places::new(other, editor);
        // What a circuit declares in its own text is seen by itself alone; here only what it includes matters.
        let included = (1..other.analysis.sources.files.len() as u32).map(FileId);
        let file = included.into_iter().find(|file| places.address(*file).is_some_and(|(had, _)| had == address))?;
        let same_text = other.analysis.sources.file(file).tree.text == *text;
        Some(Sight { snapshot: other, file, offset: at_home.at.span.start, same_text })
    };
    others.iter().filter_map(sight).collect()
}

/// Two edits are for different versions of one document.
#[derive(Debug, PartialEq, Eq)]
pub struct Overtaken;

/// Adds the edits of another to one; what both have is kept once.
pub fn join(whole: &mut WorkspaceEdit, other: WorkspaceEdit) -> Result<(), Overtaken> {
    for (uri, edits) in other.changes.into_iter().flatten() {
        let had = whole.changes.get_or_insert_default().entry(uri).or_default();
        let known: BTreeSet<Position> = had.iter().map(|edit| edit.range.start).collect();
        had.extend(edits.into_iter().filter(|edit| !known.contains(&edit.range.start)));
    }
    let added = other.document_changes.map(edits_of).unwrap_or_default();
    if added.is_empty() {
        return Ok(());
    }
    let mut had = whole.document_changes.take().map(edits_of).unwrap_or_default();
    for of in added {
        match had.iter_mut().find(|own| own.text_document.uri == of.text_document.uri) {
            Some(own) if own.text_document.version != of.text_document.version => return Err(Overtaken),
            Some(own) => {
                let known: BTreeSet<Position> = own.edits.iter().map(start).collect();
                own.edits.extend(of.edits.into_iter().filter(|edit| !known.contains(&start(edit))));
            }
            None => had.push(of),
        }
    }
    whole.document_changes = Some(DocumentChanges::Edits(had));
    Ok(())
}

fn start(edit: &OneOf<TextEdit, AnnotatedTextEdit>) -> Position {
    match edit {
        OneOf::Left(edit) => edit.range.start,
        OneOf::Right(edit) => edit.text_edit.range.start,
    }
}

fn edits_of(changes: DocumentChanges) -> Vec<TextDocumentEdit> {
    match changes {
        DocumentChanges::Edits(edits) => edits,
        DocumentChanges::Operations(operations) => {
            let edit = |operation| match operation {
                DocumentChangeOperation::Edit(edit) => Some(edit),
                DocumentChangeOperation::Op(_) => None,
            };
            operations.into_iter().filter_map(edit).collect()
        }
    }
}
