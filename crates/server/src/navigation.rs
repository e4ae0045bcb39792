//! Going from name to name: where something is declared, where it is used, what it is called everywhere; and the outline of a
//! document. What is found comes from `ohmline-assist`; here it gets the shapes of the protocol.

use std::collections::BTreeSet;
use std::sync::Arc;

use ohmline_assist::outline::{Entry, EntryKind, outline};
use ohmline_assist::stretches::{folds, growing};
use ohmline_assist::{Role, highlight, links, rename};
use ohmline_syntax::{Edit, FileId};
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};
use tower_lsp::lsp_types::{
    DocumentHighlight, DocumentHighlightKind, DocumentLink, DocumentSymbol, FoldingRange, FoldingRangeKind, Location,
    Position, PrepareRenameResponse, Range, SelectionRange, SymbolInformation, SymbolKind, WorkspaceEdit,
};

use crate::actions::workspace_edit;
use crate::documents::{Snapshot, circuit_at};
use crate::editor::Editor;
use crate::elsewhere::{Overtaken, join, sights};
use crate::proto::Places;

/// The file that the `include` at an offset leads to.
fn included(snapshot: &Snapshot, offset: u32) -> Option<FileId> {
    links::links(&snapshot.analysis).into_iter().find(|link| link.span.touches(offset)).map(|link| link.file)
}

/// Where what stands at a place is declared.
pub fn definition(snapshot: &Snapshot, editor: Editor, at: Position) -> Option<Location> {
    let places = Places::new(snapshot, editor);
    let offset = places.offset(at);
    if let Some(file) = included(snapshot, offset) {
        return Some(Location::new(places.address(file)?.0, Range::default()));
    }
    let index = snapshot.names();
    let own = index.at(FileId::MAIN, offset)?;
    places.location(index.definition(own.symbol)?.at)
}

/// Every place of what stands at a place, in all files and in the open circuits that include them; with `declaration`, that of its
/// declaration too.
pub fn references(
    snapshot: &Snapshot,
    others: &[Arc<Snapshot>],
    editor: Editor,
    at: Position,
    declaration: bool,
) -> Vec<Location> {
    let offset = Places::new(snapshot, editor).offset(at);
    let Some(own) = snapshot.names().at(FileId::MAIN, offset) else { return Vec::new() };
    let mut out: Vec<Location> = Vec::new();
    let mut seen = BTreeSet::new();
    let mut add = |snapshot: &Snapshot, symbol: u32| {
        let places = Places::new(snapshot, editor);
        let of = snapshot.names().of(symbol).filter(|place| match place.role {
            Role::Definition => declaration,
            Role::Use => true,
            Role::Field => false,
        });
        for found in of.filter_map(|place| places.location(place.at)) {
            if seen.insert((found.uri.clone(), found.range.start)) {
                out.push(found);
            }
        }
    };
    add(snapshot, own.symbol);
    for sight in sights(snapshot, own, others, editor).iter().filter(|sight| sight.same_text) {
        if let Some(there) = sight.snapshot.names().at(sight.file, sight.offset) {
            add(sight.snapshot, there.symbol);
        }
    }
    out
}

/// Every place in the document of what stands at a place; of a junction, everything that is the same point.
pub fn highlights(snapshot: &Snapshot, editor: Editor, at: Position) -> Vec<DocumentHighlight> {
    let places = Places::new(snapshot, editor);
    highlight::highlight(&snapshot.analysis, snapshot.names(), places.offset(at))
        .into_iter()
        .map(|place| DocumentHighlight {
            range: places.range(place.span),
            kind: Some(if place.declares { DocumentHighlightKind::WRITE } else { DocumentHighlightKind::READ }),
        })
        .collect()
}

fn refused(why: String) -> Error {
    Error { code: ErrorCode::InvalidParams, message: why.into(), data: None }
}

/// Whether what stands at a place can be renamed, and what of the text is its name.
pub fn prepare_rename(snapshot: &Snapshot, editor: Editor, at: Position) -> Result<Option<PrepareRenameResponse>> {
    let places = Places::new(snapshot, editor);
    let found = rename::prepare(snapshot.names(), FileId::MAIN, places.offset(at)).map_err(refused)?;
    Ok(Some(PrepareRenameResponse::Range(places.range(found.span))))
}

/// The edits that rename what stands at a place, in all files and in the open circuits that include them.
pub fn rename(
    snapshot: &Snapshot,
    others: &[Arc<Snapshot>],
    editor: Editor,
    at: Position,
    name: &str,
) -> Result<Option<WorkspaceEdit>> {
    let offset = Places::new(snapshot, editor).offset(at);
    let mut whole = renamed(snapshot, editor, FileId::MAIN, offset, name)?;
    let own = snapshot.names().at(FileId::MAIN, offset);
    for sight in own.map(|own| sights(snapshot, own, others, editor)).unwrap_or_default() {
        if !sight.same_text {
            let file = &sight.snapshot.analysis.sources.file(sight.file).name;
            let reader = &sight.snapshot.analysis.sources.file(FileId::MAIN).name;
            return Err(refused(format!("{reader} has read {file} in another state; save {file} and try again")));
        }
        join(&mut whole, renamed(sight.snapshot, editor, sight.file, sight.offset, name)?)
            .map_err(|Overtaken| Error::new(ErrorCode::ContentModified))?;
    }
    Ok(Some(whole))
}

fn renamed(snapshot: &Snapshot, editor: Editor, file: FileId, offset: u32, name: &str) -> Result<WorkspaceEdit> {
    let sources = &snapshot.analysis.sources;
    let edits: Vec<Edit> = rename::rename(sources, snapshot.names(), file, offset, name).map_err(refused)?;
    workspace_edit(&Places::new(snapshot, editor), editor, &edits)
        .ok_or_else(|| refused("A file that uses this name cannot be reached".to_owned()))
}

/// The outline of the document.
pub fn symbols(snapshot: &Snapshot, editor: Editor) -> Vec<DocumentSymbol> {
    let places = Places::new(snapshot, editor);
    let entries = outline(&snapshot.analysis.sources.file(FileId::MAIN).tree);
    let first = entries.first().filter(|first| first.kind != EntryKind::Circuit).map(|first| first.at);
    let own = entries.into_iter().map(|entry| symbol(&places, entry)).collect();
    match (&snapshot.around, first) {
        // Of several circuits in one document, each is an entry, also one without a title.
        (Some((around, _)), Some(at)) => {
            let name = format!("circuit in line {}", places.range(around.span).start.line);
            let entry = Entry {
                name,
                detail: String::new(),
                kind: EntryKind::Circuit,
                whole: around.span,
                at,
                children: vec![],
            };
            vec![DocumentSymbol { detail: None, children: Some(own), ..symbol(&places, entry) }]
        }
        _ => own,
    }
}

fn kind(kind: EntryKind) -> SymbolKind {
    match kind {
        EntryKind::Circuit => SymbolKind::MODULE,
        EntryKind::Part => SymbolKind::CLASS,
        EntryKind::Repeat => SymbolKind::ARRAY,
        EntryKind::Element => SymbolKind::VARIABLE,
        EntryKind::Value => SymbolKind::CONSTANT,
        EntryKind::Case => SymbolKind::EVENT,
        EntryKind::Question => SymbolKind::BOOLEAN,
    }
}

fn symbol(places: &Places<'_>, entry: Entry) -> DocumentSymbol {
    #[allow(deprecated, reason = "the shape of the protocol still has the field")]
    DocumentSymbol {
        name: entry.name,
        detail: Some(entry.detail),
        kind: kind(entry.kind),
        tags: None,
        deprecated: None,
        range: places.range(entry.whole),
        selection_range: places.range(entry.at),
        children: (!entry.children.is_empty())
            .then(|| entry.children.into_iter().map(|own| symbol(places, own)).collect()),
    }
}

/// Most symbols of all documents that are answered at once.
const MOST_SYMBOLS: usize = 500;

/// Everything that a circuit declares.
pub fn declared(snapshot: &Snapshot, editor: Editor) -> Vec<SymbolInformation> {
    let places = Places::new(snapshot, editor);
    let mut out = Vec::new();
    let mut entries = outline(&snapshot.analysis.sources.file(FileId::MAIN).tree);
    let mut container: Vec<Option<String>> = vec![None; entries.len()];
    while let Some(mut entry) = entries.pop() {
        let of = container.pop().flatten();
        for own in std::mem::take(&mut entry.children) {
            entries.push(own);
            container.push(Some(entry.name.clone()));
        }
        if entry.kind == EntryKind::Question {
            continue;
        }
        #[allow(deprecated, reason = "the shape of the protocol still has the field")]
        out.push(SymbolInformation {
            name: entry.name.clone(),
            kind: kind(entry.kind),
            tags: None,
            deprecated: None,
            location: Location::new(snapshot.uri.clone(), places.range(entry.at)),
            container_name: of,
        });
    }
    out
}

/// Those of what is declared whose names hold the letters of a word in this order, the shortest first.
pub fn workspace_symbols(declared: Vec<SymbolInformation>, word: &str) -> Vec<SymbolInformation> {
    let wanted = word.to_lowercase();
    let mut out = declared;
    out.retain(|symbol| holds(&symbol.name, &wanted));
    let place = |symbol: &SymbolInformation| (symbol.location.uri.clone(), symbol.location.range.start);
    out.sort_by(|a, b| (a.name.len(), &a.name).cmp(&(b.name.len(), &b.name)).then_with(|| place(a).cmp(&place(b))));
    out.truncate(MOST_SYMBOLS);
    out
}

fn holds(name: &str, wanted: &str) -> bool {
    let name = name.to_lowercase();
    let mut rest = name.chars();
    wanted.chars().all(|c| rest.any(|own| own == c))
}

/// What can be folded.
pub fn folding(snapshot: &Snapshot) -> Vec<FoldingRange> {
    let source = snapshot.analysis.sources.file(FileId::MAIN);
    folds(&source.tree, &source.lines)
        .into_iter()
        .map(|fold| FoldingRange {
            start_line: fold.first,
            end_line: fold.last,
            kind: Some(if fold.comment { FoldingRangeKind::Comment } else { FoldingRangeKind::Region }),
            ..FoldingRange::default()
        })
        .collect()
}

/// How a selection grows at each of these places. Where a Markdown document has no circuit, it stays empty.
pub fn selections(snapshot: &Arc<Snapshot>, editor: Editor, at: &[Position]) -> Vec<SelectionRange> {
    let document = Places::new(snapshot, editor);
    at.iter()
        .map(|position| {
            let offset = document.offset(*position);
            let mut chain: Option<SelectionRange> = None;
            if let Some(circuit) = circuit_at(snapshot, offset) {
                let places = Places::new(&circuit, editor);
                let mut spans = growing(&circuit.analysis.sources.file(FileId::MAIN).tree, offset);
                if let Some((around, _)) = &circuit.around {
                    // All of the circuit, not all of the document up to its end.
                    spans.retain(|span| span.start >= around.span.start && *span != around.span);
                    spans.push(around.span);
                }
                for span in spans.into_iter().rev() {
                    chain = Some(SelectionRange { range: places.range(span), parent: chain.map(Box::new) });
                }
            }
            chain.unwrap_or_else(|| SelectionRange { range: Range::new(*position, *position), parent: None })
        })
        .collect()
}

/// The files that the document includes, as links.
pub fn document_links(snapshot: &Snapshot, editor: Editor) -> Vec<DocumentLink> {
    let places = Places::new(snapshot, editor);
    links::links(&snapshot.analysis)
        .into_iter()
        .filter_map(|link| {
            Some(DocumentLink {
                range: places.range(link.span),
                target: Some(places.address(link.file)?.0),
                tooltip: Some("Open the included file".to_owned()),
                data: None,
            })
        })
        .collect()
}
