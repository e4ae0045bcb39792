//! Signature help: the form of the declaration that is being typed.

use ohmline_assist::signature::signature;
use tower_lsp::lsp_types::{
    Documentation, MarkupContent, MarkupKind, ParameterInformation, ParameterLabel, Position, SignatureHelp,
    SignatureHelpOptions, SignatureInformation, WorkDoneProgressOptions,
};

use crate::documents::Snapshot;
use crate::editor::Editor;
use crate::proto::Places;

/// What the editor is told about it.
pub fn options() -> SignatureHelpOptions {
    let signs = |signs: &[&str]| Some(signs.iter().map(|sign| (*sign).to_owned()).collect());
    SignatureHelpOptions {
        trigger_characters: signs(&[" ", ",", "="]),
        retrigger_characters: None,
        work_done_progress_options: WorkDoneProgressOptions::default(),
    }
}

fn prose(editor: Editor, value: String) -> Documentation {
    let kind = if editor.markdown { MarkupKind::Markdown } else { MarkupKind::PlainText };
    Documentation::MarkupContent(MarkupContent { kind, value })
}

/// The form of the declaration at a place.
pub fn help(snapshot: &Snapshot, editor: Editor, at: Position) -> Option<SignatureHelp> {
    let places = Places::new(snapshot, editor);
    let found = signature(&snapshot.analysis, snapshot.names(), places.offset(at))?;
    // Offsets into the form count UTF-16, whatever positions count (Language Server Protocol 3.17, ParameterInformation).
    let units = |end: usize| found.form[..end].encode_utf16().count() as u32;
    let parameters = found.pieces.iter().map(|piece| ParameterInformation {
        label: if editor.label_offsets {
            ParameterLabel::LabelOffsets([units(piece.at.start), units(piece.at.end)])
        } else {
            ParameterLabel::Simple(found.form[piece.at.clone()].to_owned())
        },
        documentation: Some(prose(editor, piece.about.clone())),
    });
    let active = found.active.map(|active| active as u32);
    let information = SignatureInformation {
        label: found.form.clone(),
        documentation: Some(prose(editor, found.about.clone())),
        parameters: Some(parameters.collect()),
        active_parameter: active,
    };
    Some(SignatureHelp { signatures: vec![information], active_signature: Some(0), active_parameter: active })
}
