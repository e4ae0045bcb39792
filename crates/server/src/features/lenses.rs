//! Code lenses: what was solved, above the lines that ask for it.

use ohmline_assist::lenses::{Opens, lenses};
use serde_json::json;
use tower_lsp::lsp_types::{CodeLens, Command};

use super::commands;
use crate::documents::Snapshot;
use crate::editor::Editor;
use crate::proto::Places;

/// The lenses of a document.
pub fn all(snapshot: &Snapshot, editor: Editor) -> Vec<CodeLens> {
    let mut out = Vec::new();
    for (block, circuit) in snapshot.circuits().enumerate() {
        let places = Places::new(circuit, editor);
        for lens in lenses(&circuit.analysis) {
            let command = match lens.opens {
                Opens::Solution => commands::SOLUTION,
                Opens::Drawing => commands::DRAWING,
                Opens::Preview => commands::PREVIEW,
            };
            let arguments = json!({ "uri": snapshot.uri, "case": lens.case, "block": block });
            out.push(CodeLens {
                range: places.range(lens.at),
                command: Some(Command {
                    title: lens.title,
                    command: command.to_owned(),
                    arguments: Some(vec![arguments]),
                }),
                data: None,
            });
        }
    }
    out
}
