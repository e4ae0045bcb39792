//! Places in the text: where a wire joins, where a line can be added or taken away.

use ohmline_circuit::{Element, ElementId, Kind, Law, NodeId, StateId};
use ohmline_syntax::tree::{Item, ItemKind, Segment, Sign, Stmt, StmtKind};
use ohmline_syntax::{Diagnostic, Edit, FileId, FileSpan, Fix, RelSpan, Safety, Span, Tree};

use crate::facts::Facts;

/// Most labels for elements of which the same is to be said: more than these nobody reads, and none is lost in the headline's count.
const MOST_LABELS: usize = 8;

/// Labels each of these elements with the same words; of a long list the first few, and the last of them says how many more there are.
pub fn label_each(mut said: Diagnostic, facts: &Facts<'_>, elements: &[ElementId], words: &str) -> Diagnostic {
    for (at, element) in elements.iter().take(MOST_LABELS).enumerate() {
        let more = elements.len() - at - 1;
        let text =
            if at + 1 == MOST_LABELS && more > 0 { format!("{words}, and {more} more") } else { words.to_owned() };
        said = said.label(facts.place(*element), text);
    }
    said
}

/// The junction at which both ends of an element are written, if they are: `@a` in `@a -- R2 -- @a`.
pub fn own_junction(facts: &Facts<'_>, id: ElementId) -> Option<String> {
    let element = facts.circuit.element(id);
    let mut met: Vec<(usize, String)> = Vec::new();
    for used in &element.uses {
        let Some((tree, stmt)) = statement(facts, *used) else { continue };
        let StmtKind::Path(path) = &stmt.node.kind else { continue };
        let Some((item, sides)) = beside(path, stmt, used.span, [None, None]) else { continue };
        let text = tree.slice(stmt.span(item.span));
        let left = match terminal_of(element, text) {
            Some(terminal) => [terminal, terminal],
            None if text.starts_with('-') => [1, 0],
            None => [0, 1],
        };
        met.extend(left.into_iter().zip(sides).filter_map(|(terminal, name)| Some((terminal, name?.to_owned()))));
    }
    let again = |(at, name): &(usize, String)| met.iter().any(|(other, same)| other != at && same == name);
    met.iter().find(|one| again(one)).map(|(_, name)| format!("@{name}"))
}

/// The item at a place, and the junctions to its left and right.
fn beside<'t>(
    path: &'t Segment,
    stmt: &Stmt,
    place: Span,
    around: [Option<&'t str>; 2],
) -> Option<(&'t Item, [Option<&'t str>; 2])> {
    let holds = |item: &Item| {
        let span = stmt.span(item.span);
        span.start <= place.start && place.end <= span.end
    };
    let at = path.items.iter().position(holds)?;
    let junction = |at: Option<usize>, outer: Option<&'t str>| match at.map(|at| path.items.get(at)) {
        Some(Some(item)) => match &item.kind {
            ItemKind::Junction(name) => Some(name.text.as_str()),
            _ => None,
        },
        _ => outer,
    };
    let sides = [junction(at.checked_sub(1), around[0]), junction(Some(at + 1), around[1])];
    match &path.items[at].kind {
        ItemKind::Group(alternatives) => alternatives.iter().find_map(|segment| beside(segment, stmt, place, sides)),
        _ => Some((&path.items[at], sides)),
    }
}

/// The statement that holds a place.
pub fn statement<'a>(facts: &Facts<'a>, at: FileSpan) -> Option<(&'a Tree, &'a Stmt)> {
    let sources = facts.sources;
    let tree: &'a Tree = &sources.files.get(at.file.0 as usize)?.tree;
    Some((tree, tree.stmt_at(at.span.start)?))
}

/// An edit that adds a line below the statement that holds a place, indented like it. What indents every statement, such as the quote of a
/// document that a circuit stands in, is no indentation.
pub fn line_below(facts: &Facts<'_>, at: FileSpan, line: &str) -> Option<Edit> {
    let (tree, stmt) = statement(facts, at)?;
    let range = stmt.range();
    let blanks = |stmt: &'_ Stmt| {
        let before = tree.text.get(..stmt.offset as usize)?;
        let line = &before[before.rfind(['\n', '\r']).map_or(0, |at| at + 1)..];
        Some(&line[..line.len() - line.trim_start().len()])
    };
    let mut indent = blanks(stmt)?;
    if !indent.is_empty() {
        let mut common = indent.len();
        for other in &tree.stmts {
            common = common.min(blanks(other)?.len());
            if common == 0 {
                break;
            }
        }
        indent = indent.get(common..)?;
    }
    let after = tree.text.get(range.end as usize..)?;
    let line_end = after.find('\n').unwrap_or(after.len());
    let (line_end, newline) = match after[..line_end].ends_with('\r') {
        true => (line_end - 1, "\r\n"),
        false => (line_end, "\n"),
    };
    let offset = range.end + line_end as u32;
    Some(Edit { at: FileSpan::new(at.file, Span::new(offset, offset)), text: format!("{newline}{indent}{line}") })
}

/// An edit that takes away the statement that holds a place, with its line when nothing else stands there.
pub fn without_statement(facts: &Facts<'_>, at: FileSpan) -> Option<Edit> {
    let (tree, stmt) = statement(facts, at)?;
    let range = stmt.range();
    let before = tree.text.get(..range.start as usize)?;
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    let after = tree.text.get(range.end as usize..)?;
    let line_end = after.find('\n').map_or(after.len(), |at| at + 1);
    let alone = before[line_start..].trim().is_empty() && after[..line_end].trim().is_empty();
    let span = if alone { Span::new(line_start as u32, range.end + line_end as u32) } else { range };
    Some(Edit { at: FileSpan::new(at.file, span), text: String::new() })
}

/// A fix that takes away the statement that holds a place.
pub fn remove_statement(facts: &Facts<'_>, at: FileSpan, title: impl Into<String>) -> Option<Fix> {
    Some(Fix { title: title.into(), safety: Safety::Asks, edits: vec![without_statement(facts, at)?] })
}

/// The part whose body holds a place: its file and where its first line stands.
pub fn part_around(facts: &Facts<'_>, at: FileSpan) -> Option<(FileId, u32)> {
    let tree = &facts.sources.files.get(at.file.0 as usize)?.tree;
    tree.blocks.iter().find_map(|block| {
        let head = tree.stmts.get(block.head as usize)?;
        let end = tree.stmts.get(block.close as usize).map_or(u32::MAX, |stmt| stmt.offset);
        let holds = head.offset < at.span.start && at.span.start < end;
        (holds && matches!(head.node.kind, StmtKind::Part { .. })).then_some((at.file, head.offset))
    })
}

/// A path that goes from a terminal of a source back to the same terminal, while the other is joined to nothing: `B1+ -- R1 -- B1+`.
pub struct WayBack {
    /// Where the terminal is written again.
    pub last: FileSpan,
    /// The terminal that is joined to nothing: `B1-`.
    pub other: String,
    /// Its node.
    pub loose: NodeId,
}

/// The way back to a terminal of this source; see [`WayBack`].
pub fn way_back(facts: &Facts<'_>, id: ElementId) -> Option<WayBack> {
    let circuit = facts.circuit;
    let element = circuit.element(id);
    if element.copied || !matches!(element.kind, Kind::Battery | Kind::VoltageSource) {
        return None;
    }
    element.uses.iter().find_map(|used| {
        let (tree, stmt) = statement(facts, *used)?;
        let StmtKind::Path(path) = &stmt.node.kind else { return None };
        let [first, between @ .., last] = &path.items[..] else { return None };
        let own = |item: &Item| match &item.kind {
            ItemKind::Element { target, .. } if target.parts[0].text == element.name => {
                terminal_of(element, tree.slice(stmt.span(item.span)))
            }
            _ => None,
        };
        let terminal = own(first).filter(|terminal| own(last) == Some(*terminal))?;
        // With nothing but wire between, the other terminal would be shorted.
        let limits = |item: &Item| match &item.kind {
            ItemKind::Element { target, .. } => {
                circuit.element_names.get(target.parts[0].text.as_str()).is_some_and(|id| {
                    circuit
                        .branches_of(*id)
                        .all(|branch| matches!(circuit.law(StateId::DRAWN, branch), Law::Resistance(_)))
                })
            }
            _ => false,
        };
        if !between.iter().any(limits) {
            return None;
        }
        let other = element.kind.terminals().get(1 - terminal)?;
        let loose = *element.terminals.get(1 - terminal)?;
        facts.loose().nodes.contains(&loose).then(|| WayBack {
            last: FileSpan::new(used.file, stmt.span(last.span)),
            other: format!("{}{other}", element.name),
            loose,
        })
    })
}

/// Whether an element stands in a path that comes back to the terminal of a source at which it began; see [`WayBack`].
pub fn is_on_way_back(facts: &Facts<'_>, id: ElementId) -> bool {
    facts.circuit.element(id).uses.iter().any(|used| {
        let Some((_, stmt)) = statement(facts, *used) else { return false };
        let StmtKind::Path(path) = &stmt.node.kind else { return false };
        let Some(ItemKind::Element { target, .. }) = path.items.first().map(|item| &item.kind) else { return false };
        let source = facts.circuit.element_names.get(target.parts[0].text.as_str());
        source.and_then(|source| way_back(facts, *source)).is_some_and(|back| {
            let range = stmt.range();
            back.last.file == used.file && range.start <= back.last.span.start && back.last.span.end <= range.end
        })
    })
}

/// Whether a node is called by one of these words: `@fork`.
fn is_called(facts: &Facts<'_>, node: NodeId, junction: &str) -> bool {
    let names = &facts.circuit.node(node).names;
    names.iter().any(|name| name == junction || name.rsplit('.').next() == Some(junction))
}

/// Where an element is joined to a node, as wide as it can be shown: `@fork -- R3`, else `R3` alone.
pub fn joint(facts: &Facts<'_>, element: ElementId, node: NodeId) -> FileSpan {
    let at = facts.place(element);
    let uses: &[FileSpan] = &facts.circuit.element(element).uses;
    uses.iter()
        .find_map(|at| {
            let (_, stmt) = statement(facts, *at)?;
            let StmtKind::Path(path) = &stmt.node.kind else { return None };
            let span = joint_in(facts, path, stmt, at.span, node)?;
            Some(FileSpan::new(at.file, span))
        })
        .unwrap_or(at)
}

/// The item at a place together with its neighbor, when that is a junction of the node.
fn joint_in(facts: &Facts<'_>, path: &Segment, stmt: &Stmt, place: Span, node: NodeId) -> Option<Span> {
    let holds = |item: &Item| {
        let span = stmt.span(item.span);
        span.start <= place.start && place.end <= span.end
    };
    let at = path.items.iter().position(holds)?;
    let item = &path.items[at];
    let near = |neighbor: Option<&Item>| {
        let neighbor = neighbor?;
        match &neighbor.kind {
            ItemKind::Junction(name) if is_called(facts, node, &name.text) => Some(stmt.span(neighbor.span)),
            _ => None,
        }
    };
    let before = near(at.checked_sub(1).and_then(|at| path.items.get(at)));
    let after = near(path.items.get(at + 1));
    if let ItemKind::Group(alternatives) = &item.kind
        && let Some(inside) = alternatives.iter().find_map(|segment| joint_in(facts, segment, stmt, place, node))
    {
        return Some(inside);
    }
    // A group's neighbor touches the element inside it; the stretch from one to the other would show the other alternatives too.
    if matches!(item.kind, ItemKind::Group(_)) {
        return None;
    }
    before.or(after).map(|junction| junction.to(place))
}

/// Where a node is written: its junction or the terminal it is called by, in the statement where it first appears.
pub fn of_node(facts: &Facts<'_>, node: NodeId) -> FileSpan {
    let circuit = facts.circuit;
    let at = circuit.node(node).first_use;
    let label = circuit.node(node).label.as_str();
    let by_terminal = circuit
        .ends(node)
        .iter()
        .flat_map(|end| &circuit.element(end.element).uses)
        .find(|used| facts.slice(**used) == label);
    if let Some(used) = by_terminal {
        return *used;
    }
    let Some((_, stmt)) = statement(facts, at) else { return at };
    let StmtKind::Path(path) = &stmt.node.kind else { return at };
    junction_in(facts, path, node)
        .map(|span| stmt.span(span))
        .or_else(|| junction_beside(facts, path, stmt, node))
        .map_or(at, |span| FileSpan::new(at.file, span))
}

/// The junction with a hole in its name, `@post{k}`, beside the only element of a node, at the end by which it touches the node.
fn junction_beside(facts: &Facts<'_>, path: &Segment, stmt: &Stmt, node: NodeId) -> Option<Span> {
    let [end] = facts.circuit.ends(node)[..] else { return None };
    let element = facts.circuit.element(end.element);
    let used = element.uses.first()?.span;
    let at = path.items.iter().position(|item| {
        let span = stmt.span(item.span);
        span.start <= used.start && used.end <= span.end
    })?;
    let ItemKind::Element { before, .. } = &path.items[at].kind else { return None };
    let left = (end.terminal == 0) != matches!(before, Some(Sign::Minus));
    let near = path.items.get(if left { at.checked_sub(1)? } else { at + 1 })?;
    matches!(&near.kind, ItemKind::Junction(name) if name.text.contains('{')).then(|| stmt.span(near.span))
}

/// The port of a copy of a part that lies at an end of an element inside it: how it is called from outside, and where the copy is placed or else
/// declared.
pub fn port(facts: &Facts<'_>, id: ElementId, terminal: u8) -> Option<(String, FileSpan)> {
    let element = facts.circuit.element(id);
    let (copy, _) = element.name.split_once('.')?;
    let used = *element.uses.first()?;
    let (tree, stmt) = statement(facts, used)?;
    let StmtKind::Path(path) = &stmt.node.kind else { return None };
    let (item, sides) = beside(path, stmt, used.span, [None, None])?;
    let ItemKind::Element { before, .. } = &item.kind else { return None };
    let left = (terminal == 0) != matches!(before, Some(Sign::Minus));
    let name = sides[usize::from(!left)]?;
    let is_port = tree.blocks.iter().any(|block| {
        let (Some(head), Some(end)) = (tree.stmts.get(block.head as usize), tree.stmts.get(block.close as usize))
        else {
            return false;
        };
        let inside = head.offset < used.span.start && used.span.start < end.offset;
        matches!(&head.node.kind, StmtKind::Part { ports, .. } if inside && ports.iter().any(|port| port.text == name))
    });
    let main = &facts.sources.files.first()?.tree;
    let mut place = None;
    for stmt in &main.stmts {
        let span = match &stmt.node.kind {
            StmtKind::Path(path) => item_of(path, copy).map(|span| (true, span)),
            StmtKind::Declare(declare) => {
                declare.names.iter().find(|one| one.text == copy).map(|one| (false, one.span))
            }
            _ => None,
        };
        match span {
            Some((true, span)) => {
                place = Some(stmt.span(span));
                break;
            }
            Some((false, span)) => place = place.or(Some(stmt.span(span))),
            None => {}
        }
    }
    is_port.then_some(())?;
    Some((format!("{copy}.{name}"), FileSpan::new(FileId::MAIN, place?)))
}

/// The first item of a path that names an element, or a terminal of it.
fn item_of(path: &Segment, name: &str) -> Option<RelSpan> {
    path.items.iter().find_map(|item| match &item.kind {
        ItemKind::Element { target, .. } => {
            target.parts.first().is_some_and(|first| first.text == name).then_some(item.span)
        }
        ItemKind::Group(alternatives) => alternatives.iter().find_map(|segment| item_of(segment, name)),
        ItemKind::Junction(_) => None,
    })
}

fn junction_in(facts: &Facts<'_>, path: &Segment, node: NodeId) -> Option<RelSpan> {
    path.items.iter().find_map(|item| match &item.kind {
        ItemKind::Junction(name) => is_called(facts, node, &name.text).then_some(item.span),
        ItemKind::Group(alternatives) => alternatives.iter().find_map(|segment| junction_in(facts, segment, node)),
        ItemKind::Element { .. } => None,
    })
}

/// Statements that are only a wire (`@a -- @b`, `B1+ -- B1-`) and join two names of this node.
pub fn wires(facts: &Facts<'_>, node: NodeId) -> Vec<FileSpan> {
    let circuit = facts.circuit;
    let of_node = |item: &Item, tree: &Tree, stmt: &Stmt| match &item.kind {
        ItemKind::Junction(name) => is_called(facts, node, &name.text),
        ItemKind::Element { target, .. } => {
            let span = stmt.span(item.span);
            let name = target.parts[0].text.as_str();
            circuit.element_names.get(name).is_some_and(|id| {
                let text = tree.slice(span);
                let element = circuit.element(*id);
                terminal_of(element, text).is_some_and(|terminal| element.terminals.get(terminal) == Some(&node))
            })
        }
        ItemKind::Group(_) => false,
    };
    let mut found = Vec::new();
    for (index, file) in facts.sources.files.iter().enumerate() {
        for stmt in &file.tree.stmts {
            let StmtKind::Path(path) = &stmt.node.kind else { continue };
            let [first, second] = &path.items[..] else { continue };
            if of_node(first, &file.tree, stmt) && of_node(second, &file.tree, stmt) {
                found.push(FileSpan::new(FileId(index as u32), stmt.range()));
            }
        }
    }
    found
}

/// The terminal that `B1+` or `P1.wiper` names.
fn terminal_of(element: &Element, text: &str) -> Option<usize> {
    let names = element.kind.terminals();
    if text.starts_with(['+', '-']) {
        return None;
    }
    names.iter().position(|name| match *name {
        "" => false,
        sign @ ("+" | "-") => text.ends_with(sign),
        word => text.rsplit('.').next() == Some(word),
    })
}

/// Where `@name` is written, in every statement of a file.
pub fn junction_uses(facts: &Facts<'_>, file: FileId, name: &str) -> Vec<FileSpan> {
    let Some(source) = facts.sources.files.get(file.0 as usize) else { return Vec::new() };
    let wanted = format!("@{name}");
    let mut found = Vec::new();
    for stmt in &source.tree.stmts {
        let range = stmt.range();
        let text = source.tree.slice(range);
        for (at, _) in text.match_indices(&wanted) {
            let goes_on = text[at + wanted.len()..].chars().next().is_some_and(|c| {
                c.is_alphanumeric()
                    || matches!(c, '_' | '{')
                    || (c == '.' && !text[at + wanted.len() + 1..].starts_with(char::is_whitespace))
            });
            if !goes_on {
                let start = range.start + at as u32;
                found.push(FileSpan::new(file, Span::new(start, start + wanted.len() as u32)));
            }
        }
    }
    found
}

/// A fix that writes one junction name for another everywhere in a file.
pub fn rename_junction(facts: &Facts<'_>, file: FileId, from: &str, to: &str) -> Option<Fix> {
    let edits: Vec<Edit> =
        junction_uses(facts, file, from).into_iter().map(|at| Edit { at, text: format!("@{to}") }).collect();
    (!edits.is_empty()).then(|| Fix { title: format!("Write `@{to}`"), safety: Safety::Asks, edits })
}

/// How a node can be written in a path, if it can: `@fork`, `B1-`.
pub fn writable(facts: &Facts<'_>, node: NodeId) -> Option<String> {
    let circuit = facts.circuit;
    if let Some(name) = circuit.node(node).names.iter().find(|name| !name.contains('.')) {
        return Some(format!("@{name}"));
    }
    circuit.ends(node).iter().find_map(|end| {
        let element = circuit.element(end.element);
        match element.kind.terminals().get(end.terminal as usize).copied().unwrap_or("") {
            "" => None,
            _ if element.copied => None,
            sign @ ("+" | "-") => Some(format!("{}{sign}", element.name)),
            word => Some(format!("{}.{word}", element.name)),
        }
    })
}

/// A fix that turns an element with polarity round where it stands in a path: `-C1+` becomes `+C1-`.
pub fn turn_round(facts: &Facts<'_>, id: ElementId) -> Option<Fix> {
    let element = facts.circuit.element(id);
    let [at] = element.uses[..] else { return None };
    let (tree, stmt) = statement(facts, at)?;
    let StmtKind::Path(path) = &stmt.node.kind else { return None };
    let span = item_at(path, stmt, at.span)?;
    let text = tree.slice(span);
    let turned = match (text.strip_prefix('-'), text.strip_prefix('+')) {
        (Some(rest), _) => format!("+{}-", rest.strip_suffix('+')?),
        (_, Some(rest)) => format!("-{}+", rest.strip_suffix('-')?),
        _ => return None,
    };
    Some(Fix {
        title: format!("Turn it round: `{turned}`"),
        safety: Safety::Asks,
        edits: vec![Edit { at: FileSpan::new(at.file, span), text: turned }],
    })
}

/// The innermost item that holds a place.
fn item_at(path: &Segment, stmt: &Stmt, place: Span) -> Option<Span> {
    path.items.iter().find_map(|item| {
        let span = stmt.span(item.span);
        if !(span.start <= place.start && place.end <= span.end) {
            return None;
        }
        match &item.kind {
            ItemKind::Group(alternatives) => alternatives.iter().find_map(|segment| item_at(segment, stmt, place)),
            _ => Some(span),
        }
    })
}
