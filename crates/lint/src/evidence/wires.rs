//! The wires that make one point of two that a question names.

use std::collections::VecDeque;

use ohmline_syntax::tree::{Item, ItemKind, Segment, Sign, Stmt, StmtKind};
use ohmline_syntax::{Evidence, EvidenceKind, EvidenceStep, FileId, FileSpan, Span, Tree};
use rustc_hash::FxHashMap;

use super::Teller;

/// A piece of wire between two names, or ends of groups, of one file.
struct Wire {
    ends: [usize; 2],
    at: FileSpan,
}

/// The wires of a file, outside of parts and repeats: within these a name means something else at each place.
#[derive(Default)]
struct Wires {
    /// By number: what is written there; none for the end of a group, or of an element whose ends have no names.
    names: Vec<Option<String>>,
    numbers: FxHashMap<String, usize>,
    wires: Vec<Wire>,
}

/// The way along wires from one point of a question to the other.
pub(super) fn wires(teller: &Teller<'_, '_>, asked: FileSpan) -> Option<Evidence> {
    let node = *teller.nodes().first()?;
    let words: Vec<&str> = teller.facts.slice(asked).split_whitespace().collect();
    let at = words.iter().position(|word| matches!(*word, "from" | "between"))?;
    let (one, other) = (*words.get(at + 1)?, *words.get(at + 3)?);
    let mut steps = Vec::new();
    if one == other {
        steps.push(teller.place(node, format!("{one} is asked about twice")));
    } else {
        let way = teller
            .facts
            .sources
            .files
            .iter()
            .enumerate()
            .find_map(|(number, file)| Wires::of(&file.tree, FileId(number as u32)).way(one, other));
        match way {
            Some(way) => steps.extend(way.into_iter().map(|(from, to, at)| EvidenceStep {
                at,
                element: None,
                point: Some(teller.label(node)),
                text: format!("A wire joins {from} and {to}"),
            })),
            // Inside of parts, or through their ports.
            None => steps.push(teller.place(node, format!("plain wires lead from {one} to {other}"))),
        }
    }
    Some(teller.evidence(EvidenceKind::Wires, steps, format!("so {one} and {other} are one point")))
}

impl Wires {
    fn of(tree: &Tree, file: FileId) -> Self {
        let mut found = Self::default();
        let within = |at: u32| tree.blocks.iter().any(|block| block.head < at && at < block.close);
        for (number, stmt) in tree.stmts.iter().enumerate() {
            if let StmtKind::Path(path) = &stmt.node.kind
                && !within(number as u32)
            {
                found.segment(path, tree, stmt, file);
            }
        }
        found
    }

    fn number(&mut self, name: Option<String>) -> usize {
        let fresh = self.names.len();
        let number = match &name {
            Some(name) => *self.numbers.entry(name.clone()).or_insert(fresh),
            None => fresh,
        };
        if number == fresh {
            self.names.push(name);
        }
        number
    }

    /// The two ends of a row of items.
    fn segment(&mut self, segment: &Segment, tree: &Tree, stmt: &Stmt, file: FileId) -> Option<[usize; 2]> {
        let mut ends: Option<[usize; 2]> = None;
        let mut before: Option<Span> = None;
        for item in &segment.items {
            let span = stmt.span(item.span);
            let [enter, leave] = self.item(item, tree, stmt, file);
            if let (Some([_, last]), Some(before)) = (ends, before) {
                self.wires.push(Wire { ends: [last, enter], at: FileSpan::new(file, before.to(span)) });
            }
            ends = Some([ends.map_or(enter, |ends| ends[0]), leave]);
            before = Some(span);
        }
        ends
    }

    fn item(&mut self, item: &Item, tree: &Tree, stmt: &Stmt, file: FileId) -> [usize; 2] {
        let text = tree.slice(stmt.span(item.span));
        match &item.kind {
            ItemKind::Junction(_) => [self.number(Some(text.to_owned())); 2],
            ItemKind::Element { before: Some(sign), target, .. } => {
                let name = target.parts.iter().map(|part| part.text.as_str()).collect::<Vec<_>>().join(".");
                let ends = if *sign == Sign::Plus { ["+", "-"] } else { ["-", "+"] };
                ends.map(|end| self.number(Some(format!("{name}{end}"))))
            }
            ItemKind::Element { before: None, target, after } if after.is_some() || target.parts.len() > 1 => {
                [self.number(Some(text.to_owned())); 2]
            }
            ItemKind::Element { .. } => [self.number(None), self.number(None)],
            ItemKind::Group(alternatives) => {
                let ends = [self.number(None), self.number(None)];
                let at = FileSpan::new(file, stmt.span(item.span));
                for alternative in alternatives {
                    if let Some(own) = self.segment(alternative, tree, stmt, file) {
                        self.wires.extend([0, 1].map(|side| Wire { ends: [ends[side], own[side]], at }));
                    }
                }
                ends
            }
        }
    }

    /// The shortest way: from name to name, with where it is written.
    fn way(&self, one: &str, other: &str) -> Option<Vec<(String, String, FileSpan)>> {
        let (start, end) = (*self.numbers.get(one)?, *self.numbers.get(other)?);
        let mut touching: Vec<Vec<usize>> = vec![Vec::new(); self.names.len()];
        for (number, wire) in self.wires.iter().enumerate() {
            wire.ends.iter().for_each(|end| touching[*end].push(number));
        }
        let mut by: FxHashMap<usize, (usize, usize)> = FxHashMap::default();
        let mut queue = VecDeque::from([start]);
        while let Some(here) = queue.pop_front() {
            for wire in &touching[here] {
                let [a, b] = self.wires[*wire].ends;
                let there = if a == here { b } else { a };
                if there != start && !by.contains_key(&there) {
                    by.insert(there, (*wire, here));
                    queue.push_back(there);
                }
            }
        }
        let mut steps: Vec<(String, String, FileSpan)> = Vec::new();
        let mut here = end;
        // What lies between two names is one step.
        let mut open: Option<(String, FileSpan)> = None;
        while here != start {
            let (wire, before) = *by.get(&here)?;
            let at = self.wires[wire].at;
            let (to, at) = match open.take() {
                Some((to, later)) if at.file == later.file => (to, FileSpan::new(at.file, at.span.to(later.span))),
                Some((to, _)) => (to, at),
                None => (self.names[here].clone()?, at),
            };
            match &self.names[before] {
                Some(from) => steps.push((from.clone(), to, at)),
                None => open = Some((to, at)),
            }
            here = before;
        }
        steps.reverse();
        Some(steps)
    }
}
