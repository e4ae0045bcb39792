//! Giving something another name, everywhere, without a change of what the text means.

use std::sync::Arc;

use ohmline_circuit::{Source, Sources};
use ohmline_syntax::words::{KINDS, QUANTITIES, STATEMENTS};
use ohmline_syntax::{Edit, FileId, FileSpan, LineIndex};

use crate::occurrences::{Index, Role, SymbolKind, canonical, fillings};

/// What can be renamed at a place: the stretch of the name there.
pub fn prepare(index: &Index, file: FileId, offset: u32) -> Result<FileSpan, String> {
    let Some(own) = index.at(file, offset) else {
        return Err("There is no name here to change".to_owned());
    };
    if own.role == Role::Field {
        return Err("Terminals and options have names of the notation, which stay as they are".to_owned());
    }
    if index.symbol(own.symbol).kind == SymbolKind::Undeclared {
        return Err("Nothing declares this name yet, so there is nothing to rename".to_owned());
    }
    Ok(own.at)
}

/// The edits that rename what stands at a place, or why it cannot be.
pub fn rename(sources: &Sources, index: &Index, file: FileId, offset: u32, name: &str) -> Result<Vec<Edit>, String> {
    prepare(index, file, offset)?;
    let Some(own) = index.at(file, offset) else { return Err("There is no name here to change".to_owned()) };
    let symbol = index.symbol(own.symbol);
    let name = match symbol.kind {
        SymbolKind::Junction | SymbolKind::Port => name.strip_prefix('@').unwrap_or(name),
        SymbolKind::Case => name.trim_matches('"'),
        _ => name,
    };
    check_form(symbol.kind, name)?;
    let holes = symbol.name.matches("{}").count();
    if canonical(name).matches("{}").count() != holes {
        return Err(match holes {
            0 => format!("`{name}` has a hole in braces, which only a name inside of a repeat can have"),
            _ => format!("Every copy has a number in its name: keep the braces, as in `{name}{{k}}`"),
        });
    }
    if canonical(name) == symbol.name {
        return Ok(Vec::new());
    }
    let pattern = canonical(name);
    let mut edits = Vec::new();
    for place in index.of(own.symbol).filter(|place| place.role != Role::Field) {
        let source = sources.file(place.at.file);
        let written = source.tree.slice(place.at.span);
        let text = if holes == 0 {
            name.to_owned()
        } else {
            let filled = fillings(&symbol.name, written)
                .ok_or_else(|| format!("`{written}` in {} does not fit `{}`", source.name, symbol.name))?;
            let mut text = String::new();
            for (piece, filling) in pattern.split("{}").zip(filled.iter().map(Some).chain(std::iter::repeat(None))) {
                text.push_str(piece);
                text.push_str(filling.map_or("", |filling| filling));
            }
            text
        };
        edits.push(Edit { at: place.at, text });
    }
    check_meaning(sources, index, &edits, own.symbol, name)?;
    Ok(edits)
}

fn check_form(kind: SymbolKind, name: &str) -> Result<(), String> {
    if kind == SymbolKind::Case {
        return if name.is_empty() || name.contains(['"', '\n', '\r', '\u{201c}', '\u{201d}', '\u{201e}']) {
            Err("The name of a case is some text without quotes, on one line".to_owned())
        } else {
            Ok(())
        };
    }
    if kind != SymbolKind::Junction
        && (STATEMENTS.contains(&name) || QUANTITIES.contains(&name) || KINDS.contains(&name))
    {
        return Err(format!("`{name}` is a word of the notation; choose another name"));
    }
    // Reading it as a name of the notation decides, so that this cannot drift from the parser.
    let probe = match kind {
        SymbolKind::Junction | SymbolKind::Port => format!("@{name} -- @other\n"),
        _ => format!("resistor {name} = 1 ohm\n"),
    };
    let tree = ohmline_syntax::parse(&probe);
    let reads = tree.stmts.len() == 1
        && tree.problems().next().is_none()
        && !name.contains('.')
        && match &tree.stmts[0].node.kind {
            ohmline_syntax::tree::StmtKind::Declare(declare) => {
                declare.names.len() == 1 && tree.slice(tree.stmts[0].span(declare.names[0].span)) == name
            }
            ohmline_syntax::tree::StmtKind::Path(path) => {
                path.items.len() == 2 && tree.slice(tree.stmts[0].span(path.items[0].span)).get(1..) == Some(name)
            }
            _ => false,
        };
    if !reads {
        return Err(format!(
            "`{name}` is no name: a name begins with a letter and goes on with letters, digits and `_`"
        ));
    }
    Ok(())
}

/// Reads the text as it would be, and compares what every name means.
fn check_meaning(sources: &Sources, index: &Index, edits: &[Edit], symbol: u32, name: &str) -> Result<(), String> {
    let renamed = apply(sources, edits);
    let after = Index::new(&renamed);
    let clash = || {
        let taken = after
            .occurrences
            .iter()
            .zip(&index.occurrences)
            .find(|(new, old)| {
                old.symbol != symbol && after.symbol(new.symbol).name == canonical(name) && old.role == Role::Definition
            })
            .map(|(_, old)| *old);
        match taken {
            Some(old) => {
                let source = sources.file(old.at.file);
                let line = source.lines.line_of(old.at.span.start) + 1;
                format!("`{name}` is taken already, in line {line} of {}", source.name)
            }
            None => format!("`{name}` would be taken for something else of that name"),
        }
    };
    if after.occurrences.len() != index.occurrences.len() {
        return Err(clash());
    }
    let mut there = vec![u32::MAX; index.symbols.len()];
    let mut back = vec![u32::MAX; after.symbols.len()];
    for (old, new) in index.occurrences.iter().zip(&after.occurrences) {
        let (a, b) = (&mut there[old.symbol as usize], &mut back[new.symbol as usize]);
        if *a == u32::MAX && *b == u32::MAX {
            (*a, *b) = (new.symbol, old.symbol);
        }
        if *a != new.symbol || *b != old.symbol {
            return Err(clash());
        }
    }
    Ok(())
}

/// The sources with edits made. Edits do not overlap.
pub fn apply(sources: &Sources, edits: &[Edit]) -> Sources {
    let files = sources
        .files
        .iter()
        .enumerate()
        .map(|(number, source)| {
            let mut own: Vec<&Edit> = edits.iter().filter(|edit| edit.at.file == FileId(number as u32)).collect();
            if own.is_empty() {
                return source.clone();
            }
            own.sort_by_key(|edit| edit.at.span.start);
            let mut text = String::with_capacity(source.tree.text.len());
            let mut from = 0;
            for edit in own {
                let range = edit.at.span.range();
                text.push_str(source.tree.text.get(from..range.start).unwrap_or(""));
                text.push_str(&edit.text);
                from = range.end;
            }
            text.push_str(source.tree.text.get(from..).unwrap_or(""));
            let lines = Arc::new(LineIndex::new(&text));
            Source { tree: Arc::new(ohmline_syntax::parse(&text)), lines, ..source.clone() }
        })
        .collect();
    Sources { files }
}
