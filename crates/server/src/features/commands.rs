//! Commands: open the worked solution, the drawing or the page that follows the text. All three are the live page of the
//! document, fed from the editor's unsaved text, each at its own place.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use ohmline_preview::{Preview, Shown, Start};
use serde_json::{Value, json};
use tower_lsp::lsp_types::Url;

use crate::documents::Snapshot;

/// Opens the worked solution.
pub const SOLUTION: &str = "ohmline.openSolution";
/// Opens the drawing.
pub const DRAWING: &str = "ohmline.openDrawing";
/// Opens the page that follows the text.
pub const PREVIEW: &str = "ohmline.openPreview";

/// Reads the circuit at a place of a Markdown document, for editors that show it in panels of their own: answers `text` and `block`.
pub const READ: &str = "ohmline.readCircuit";

/// Every command.
pub const ALL: &[&str] = &[SOLUTION, DRAWING, PREVIEW, READ];

/// What a command is about.
#[derive(Debug, PartialEq, Eq)]
pub struct Wanted {
    /// The document.
    pub uri: Url,
    /// A case, else the circuit as drawn.
    pub case: Option<String>,
    /// Which circuit of a Markdown document, from 0; without it, the one at the line.
    pub block: Option<usize>,
    /// Where the cursor is in the document, from 0.
    pub line: u32,
}

impl Wanted {
    /// Reads the arguments of a command: an address, or an object with `uri`, and perhaps `case`, and `block` or `line`.
    pub fn read(arguments: &[Value]) -> Option<Self> {
        let first = arguments.first()?;
        let uri = Url::parse(first.as_str().or_else(|| first["uri"].as_str())?).ok()?;
        let case = first["case"].as_str().map(str::to_owned);
        let block = first["block"].as_u64().and_then(|block| usize::try_from(block).ok());
        let line = first["line"].as_u64().and_then(|line| u32::try_from(line).ok()).unwrap_or(0);
        Some(Self { uri, case, block, line })
    }
}

/// The pages that are being served.
#[derive(Default)]
pub struct Pages(Mutex<HashMap<(Url, usize), Preview>>);

impl Pages {
    fn lock(&self) -> MutexGuard<'_, HashMap<(Url, usize), Preview>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Serves a circuit of a document, if it is not served yet, and gives the address of what a command opens.
    pub fn open(&self, command: &str, wanted: &Wanted, snapshot: &Snapshot) -> Result<String, String> {
        let block = wanted.block.unwrap_or_else(|| snapshot.block_near(wanted.line));
        let Some(circuit) = snapshot.circuits().nth(block) else {
            return Err("There is no circuit here to be shown".to_owned());
        };
        let analysis = circuit.analysis.clone();
        if let Some(case) = &wanted.case {
            let named = |state: &ohmline_circuit::State| state.name.as_deref() == Some(case.as_str());
            if !analysis.circuit.states.iter().any(named) {
                return Err(format!("There is no case \"{case}\" in this circuit"));
            }
        }
        let mut pages = self.lock();
        let page = match pages.entry((wanted.uri.clone(), block)) {
            std::collections::hash_map::Entry::Occupied(had) => had.into_mut(),
            std::collections::hash_map::Entry::Vacant(free) => {
                let name = analysis.sources.files.first().map(|source| source.name.clone()).unwrap_or_default();
                let start = Start { name, ..Start::default() };
                let made = Preview::start(start, Shown::Circuit(analysis))
                    .map_err(|error| format!("The page cannot be served: {error}"))?;
                free.insert(made)
            }
        };
        let mut address = Url::parse(&page.address()).map_err(|error| error.to_string())?;
        if let Some(case) = &wanted.case {
            address.query_pairs_mut().append_pair("case", case);
        }
        address.set_fragment(match command {
            SOLUTION => Some("solution"),
            DRAWING => Some("whole"),
            _ => None,
        });
        Ok(address.into())
    }

    /// Shows the newest state of a document on its pages.
    pub fn publish(&self, uri: &Url, snapshot: Option<&Arc<Snapshot>>) {
        for ((_, block), page) in self.lock().iter().filter(|((of, _), _)| of == uri) {
            let circuit = snapshot.and_then(|snapshot| snapshot.circuits().nth(*block));
            page.publish(match circuit {
                Some(circuit) => Shown::Circuit(circuit.analysis.clone()),
                None => Shown::Trouble("There is nothing to be shown of this text for now.".to_owned()),
            });
        }
    }

    /// Ends the pages of a document.
    pub fn close(&self, uri: &Url) {
        self.lock().retain(|(of, _), _| of != uri);
    }
}

/// The text of a circuit of a document, and its number. What stands around it, fences and quotes too, is blank, so that places stay.
pub fn read(wanted: &Wanted, snapshot: &Snapshot) -> Result<Value, String> {
    let block = wanted.block.unwrap_or_else(|| snapshot.block_near(wanted.line));
    let circuit = snapshot.circuits().nth(block).ok_or_else(|| "There is no circuit here to be shown".to_owned())?;
    let text = circuit.analysis.sources.files.first().map_or("", |source| &*source.tree.text);
    Ok(json!({ "text": text, "block": block }))
}

/// What a command answers.
pub fn answer(address: &str) -> Value {
    json!({ "address": address })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arguments_in_every_form() {
        let uri = Url::parse("file:///harbour/quay.ohmline").unwrap();
        let plain = Wanted { uri: uri.clone(), case: None, block: None, line: 0 };
        assert_eq!(Wanted::read(&[json!("file:///harbour/quay.ohmline")]), Some(plain));
        let full = json!({ "uri": "file:///harbour/quay.ohmline", "case": "night", "block": 2 });
        let found = Wanted { uri: uri.clone(), case: Some("night".to_owned()), block: Some(2), line: 0 };
        assert_eq!(Wanted::read(&[full]), Some(found));
        let at = json!({ "uri": "file:///harbour/quay.ohmline", "line": 7 });
        assert_eq!(Wanted::read(&[at]), Some(Wanted { uri, case: None, block: None, line: 7 }));
        for wrong in [vec![], vec![json!(7)], vec![json!("no address")], vec![json!({ "case": "night" })]] {
            assert_eq!(Wanted::read(&wrong), None, "{wrong:?}");
        }
    }
}
