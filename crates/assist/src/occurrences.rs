//! Every name in the text, and what it means.
//!
//! This follows the rules of scope of the notation by the text alone, so that it answers for lines that no circuit was made of too:
//! names of a file are seen in it; names of a part in its body, where the file's `let`s are seen as well; an `include` brings in
//! `let`s and parts; a dot leads into a copy of a part. `R{k}` in a `repeat`, `R{k+1}` there and `R3` outside of it are one name.

use ohmline_circuit::Sources;
use ohmline_syntax::tree::{
    Assign, Branch, Declare, Expr, ExprKind, Item, ItemKind, Name, OptionItem, Point, Quantity, QuantityKind, Ref,
    Segment, Stmt, StmtKind, Text, Value, ValueMain,
};
use ohmline_syntax::words::KINDS;
use ohmline_syntax::{FileId, FileSpan, RelSpan, Span, Tree};
use rustc_hash::FxHashMap;
use smol_str::{SmolStr, SmolStrBuilder};

/// What a name stands for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum SymbolKind {
    /// An element of a built-in kind.
    Element,
    /// A copy of a part.
    Instance,
    /// A `let`.
    Value,
    /// A parameter of a part.
    Parameter,
    /// A port of a part.
    Port,
    /// A part.
    Part,
    /// The counting name of a `repeat`.
    Counter,
    /// A junction.
    Junction,
    /// A case.
    Case,
    /// A name that nothing declares.
    Undeclared,
}

/// Where names are looked for: a file, or the body of a part.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub struct Scope {
    /// The file.
    pub file: FileId,
    /// The statement of the part's head; `None` for the file itself.
    pub part: Option<u32>,
}

/// Something that has a name.
#[derive(Clone, Debug)]
pub struct Symbol {
    /// What it is.
    pub kind: SymbolKind,
    /// Where it is known.
    pub scope: Scope,
    /// Its name, without `@`; counting names in it are written `{}`.
    pub name: SmolStr,
}

/// What an occurrence does.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Role {
    /// It is declared, or for a junction named first, here.
    Definition,
    /// It is spoken of.
    Use,
    /// A word behind its dot: a terminal, an option.
    Field,
}

/// A name at a place.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Occurrence {
    /// Index of the symbol.
    pub symbol: u32,
    /// Exactly the name: without `@`, dots and quotes.
    pub at: FileSpan,
    /// Index of the statement in its file.
    pub stmt: u32,
    /// What it does.
    pub role: Role,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
enum Space {
    Name,
    Junction,
    Part,
    Case,
    /// The counting name of the `repeat` at this statement.
    Counter(u32),
}

/// Every name of the files of an analysis.
#[derive(Debug, Default)]
pub struct Index {
    /// Everything that has a name.
    pub symbols: Vec<Symbol>,
    /// Where names stand, by file and place.
    pub occurrences: Vec<Occurrence>,
    /// The occurrences of each symbol, by index, in order.
    places: Vec<Vec<u32>>,
    table: FxHashMap<(Space, Scope, SmolStr), u32>,
    /// The statement of each part's head, by symbol.
    heads: FxHashMap<u32, u32>,
    /// For each copy of a part, the scope inside.
    inside: FxHashMap<u32, Scope>,
    /// Names with holes, by scope: what a name that fits one of them means.
    patterns: FxHashMap<Scope, Vec<(SmolStr, u32)>>,
}

/// A name with every `{...}` in it emptied.
pub fn canonical(name: &str) -> SmolStr {
    if !name.contains('{') {
        return SmolStr::new(name);
    }
    let mut out = SmolStrBuilder::new();
    let mut rest = name;
    while let Some(open) = rest.find('{') {
        out.push_str(&rest[..open]);
        out.push_str("{}");
        let Some(close) = rest[open..].find('}') else {
            rest = "";
            break;
        };
        rest = &rest[open + close + 1..];
    }
    out.push_str(rest);
    out.finish()
}

/// What fills the holes of a pattern (`R{}`) in a name: `3` in `R3`, `{k+1}` in `R{k+1}`. `None` when it does not fit.
pub fn fillings<'n>(pattern: &str, name: &'n str) -> Option<Vec<&'n str>> {
    let mut pieces = pattern.split("{}");
    let mut rest = name.strip_prefix(pieces.next()?)?;
    let mut found = Vec::new();
    for piece in pieces {
        let end = if rest.starts_with('{') {
            rest.find('}')? + 1
        } else {
            rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len()
        };
        if end == 0 {
            return None;
        }
        found.push(&rest[..end]);
        rest = rest[end..].strip_prefix(piece)?;
    }
    rest.is_empty().then_some(found)
}

impl Index {
    /// Looks through all files.
    pub fn new(sources: &Sources) -> Self {
        let mut walk =
            Walk { sources, index: Index::default(), file: FileId::MAIN, stmt: 0, scope: MAIN, counters: Vec::new() };
        for pass in [Pass::Define, Pass::Use] {
            for file in 0..sources.files.len() as u32 {
                walk.file(FileId(file), pass);
            }
            if pass == Pass::Define {
                walk.bind_instances();
            }
        }
        let mut index = walk.index;
        index.occurrences.sort_by_key(|own| (own.at.file, own.at.span.start, own.at.span.end));
        index.places = vec![Vec::new(); index.symbols.len()];
        for (number, own) in index.occurrences.iter().enumerate() {
            index.places[own.symbol as usize].push(number as u32);
        }
        index.name_first_junctions();
        index
    }

    /// A junction is declared by being named: the first of its places is its definition.
    fn name_first_junctions(&mut self) {
        for (symbol, places) in self.symbols.iter().zip(&self.places) {
            if symbol.kind == SymbolKind::Junction
                && let Some(first) = places.first()
            {
                self.occurrences[*first as usize].role = Role::Definition;
            }
        }
    }

    /// The symbol of this index.
    pub fn symbol(&self, symbol: u32) -> &Symbol {
        &self.symbols[symbol as usize]
    }

    /// The name at an offset; of two that touch there the one that begins.
    pub fn at(&self, file: FileId, offset: u32) -> Option<&Occurrence> {
        let after = self.occurrences.partition_point(|own| (own.at.file, own.at.span.start) <= (file, offset));
        self.occurrences[..after].iter().rev().take(3).find(|own| own.at.file == file && own.at.span.touches(offset))
    }

    /// All places of a symbol, in order.
    pub fn of(&self, symbol: u32) -> impl Iterator<Item = &Occurrence> {
        self.places[symbol as usize].iter().map(|place| &self.occurrences[*place as usize])
    }

    /// Where a symbol is declared.
    pub fn definition(&self, symbol: u32) -> Option<&Occurrence> {
        self.of(symbol).find(|own| own.role == Role::Definition)
    }

    /// The symbol of a name in a scope: an element, copy, `let`, parameter or port.
    pub fn named(&self, scope: Scope, name: &str) -> Option<u32> {
        self.find(Space::Name, scope, name)
    }

    /// The symbol of a junction in a scope.
    pub fn junction(&self, scope: Scope, name: &str) -> Option<u32> {
        self.find(Space::Junction, scope, name)
    }

    /// The scope inside of a copy of a part.
    pub fn scope_inside(&self, instance: u32) -> Option<Scope> {
        self.inside.get(&instance).copied()
    }

    /// The names of a file, in order.
    pub fn in_file(&self, file: FileId) -> &[Occurrence] {
        let first = self.occurrences.partition_point(|own| own.at.file < file);
        let last = self.occurrences.partition_point(|own| own.at.file <= file);
        &self.occurrences[first..last]
    }

    /// The inside of the part of this name, as seen from a file: its own parts, and those of what it includes.
    pub fn part_seen(&self, sources: &Sources, from: FileId, name: &str) -> Option<Scope> {
        let mut seen = vec![from];
        let mut next = 0;
        while let Some(file) = seen.get(next).copied() {
            next += 1;
            let found = self.find(Space::Part, Scope { file, part: None }, name);
            if let Some(head) = found.and_then(|symbol| self.heads.get(&symbol)) {
                return Some(Scope { file, part: Some(*head) });
            }
            let includes = sources.files.get(file.0 as usize).map_or(&[][..], |source| &source.includes);
            for (_, target) in includes {
                if let Ok(target) = target
                    && !seen.contains(target)
                {
                    seen.push(*target);
                }
            }
        }
        None
    }

    fn find(&self, space: Space, scope: Scope, name: &str) -> Option<u32> {
        let key = canonical(name);
        if let Some(found) = self.table.get(&(space, scope, key)) {
            return Some(*found);
        }
        let of = self.patterns.get(&scope)?;
        let matches = |(pattern, symbol): &&(SmolStr, u32)| {
            let kind = self.symbols[*symbol as usize].kind;
            (kind == SymbolKind::Junction) == (space == Space::Junction) && fillings(pattern, name).is_some()
        };
        of.iter().find(matches).map(|(_, symbol)| *symbol)
    }

    fn add(&mut self, space: Space, scope: Scope, name: &str, kind: SymbolKind) -> u32 {
        let key = canonical(name);
        if let Some(known) = self.table.get(&(space, scope, key.clone())) {
            return *known;
        }
        let symbol = self.symbols.len() as u32;
        if key.contains("{}") {
            self.patterns.entry(scope).or_default().push((key.clone(), symbol));
        }
        self.symbols.push(Symbol { kind, scope, name: key.clone() });
        self.table.insert((space, scope, key), symbol);
        symbol
    }
}

const MAIN: Scope = Scope { file: FileId::MAIN, part: None };

#[derive(Clone, Copy, PartialEq, Eq)]
enum Pass {
    Define,
    Use,
}

struct Walk<'a> {
    sources: &'a Sources,
    index: Index,
    file: FileId,
    stmt: u32,
    scope: Scope,
    /// The `repeat`s around, outermost first: the statement, its counting name, and the statement that ends it.
    counters: Vec<(u32, SmolStr, u32)>,
}

impl<'a> Walk<'a> {
    fn tree(&self) -> &'a Tree {
        &self.sources.files[self.file.0 as usize].tree
    }

    /// An `include` brings in no cases, so each file has its own.
    fn whole_file(&self) -> Scope {
        Scope { file: self.file, part: None }
    }

    fn node(&self) -> &'a Stmt {
        &self.tree().stmts[self.stmt as usize]
    }

    fn file(&mut self, file: FileId, pass: Pass) {
        self.file = file;
        self.counters.clear();
        let tree = self.tree();
        let mut part: Option<(u32, u32)> = None;
        let mut blocks = tree.blocks.iter().peekable();
        for (number, stmt) in tree.stmts.iter().enumerate() {
            let number = number as u32;
            if part.is_some_and(|(_, close)| number >= close) {
                part = None;
            }
            self.counters.retain(|(.., close)| number < *close);
            self.scope = Scope { file, part: part.map(|(head, _)| head) };
            self.stmt = number;
            match pass {
                Pass::Define => self.define(stmt),
                Pass::Use => self.speak(stmt),
            }
            if let Some(block) = blocks.next_if(|block| block.head == number) {
                match &stmt.node.kind {
                    StmtKind::Part { .. } => part = Some((number, block.close)),
                    StmtKind::Repeat { variable, .. } => {
                        self.counters.push((number, variable.text.clone(), block.close))
                    }
                    _ => {}
                }
            }
        }
    }

    fn push(&mut self, symbol: u32, rel: RelSpan, role: Role) {
        let at = FileSpan::new(self.file, self.node().span(rel));
        self.index.occurrences.push(Occurrence { symbol, at, stmt: self.stmt, role });
    }

    fn push_at(&mut self, symbol: u32, span: Span, role: Role) {
        let at = FileSpan::new(self.file, span);
        self.index.occurrences.push(Occurrence { symbol, at, stmt: self.stmt, role });
    }

    /// What a statement declares.
    fn define(&mut self, stmt: &'a Stmt) {
        match &stmt.node.kind {
            StmtKind::Let { name, .. } => {
                self.declare(Space::Name, self.scope, name, SymbolKind::Value);
            }
            StmtKind::Declare(declare) => {
                let kind = if KINDS.contains(&declare.kind.text.as_str()) {
                    SymbolKind::Element
                } else {
                    SymbolKind::Instance
                };
                for name in &declare.names {
                    self.declare(Space::Name, self.scope, name, kind);
                }
            }
            StmtKind::Part { name, ports, parameters } => {
                let symbol = self.declare(Space::Part, Scope { file: self.file, part: None }, name, SymbolKind::Part);
                self.index.heads.entry(symbol).or_insert(self.stmt);
                let inside = Scope { file: self.file, part: Some(self.stmt) };
                for port in ports {
                    self.declare(Space::Name, inside, port, SymbolKind::Port);
                }
                for parameter in parameters {
                    self.declare(Space::Name, inside, &parameter.name, SymbolKind::Parameter);
                }
            }
            StmtKind::Repeat { variable, .. } => {
                self.declare(Space::Counter(self.stmt), self.scope, variable, SymbolKind::Counter);
            }
            StmtKind::Case { name, .. } => {
                let symbol = self.index.add(Space::Case, self.whole_file(), &name.text, SymbolKind::Case);
                self.quoted(symbol, name, Role::Definition);
            }
            StmtKind::Path(segment) => self.patterns(segment),
            _ => {}
        }
    }

    /// Junctions with holes are known before any is looked for: `@n1` above the `repeat` is one that `@n{k}` makes.
    fn patterns(&mut self, segment: &'a Segment) {
        for item in &segment.items {
            match &item.kind {
                ItemKind::Junction(name) if name.text.contains('{') && !name.text.contains('.') => {
                    self.index.add(Space::Junction, self.scope, &name.text, SymbolKind::Junction);
                }
                ItemKind::Group(alternatives) => alternatives.iter().for_each(|own| self.patterns(own)),
                _ => {}
            }
        }
    }

    fn declare(&mut self, space: Space, scope: Scope, name: &Name, kind: SymbolKind) -> u32 {
        let symbol = self.index.add(space, scope, &name.text, kind);
        self.push(symbol, name.span, Role::Definition);
        symbol
    }

    fn quoted(&mut self, symbol: u32, text: &Text, role: Role) {
        let span = self.node().span(text.span);
        let quote = |text: &str, last: bool| {
            let mut chars = text.chars();
            let edge = if last { chars.next_back() } else { chars.next() };
            edge.filter(|c| matches!(c, '"' | '\u{201c}' | '\u{201d}' | '\u{201e}')).map_or(0, char::len_utf8) as u32
        };
        let written = self.tree().slice(span);
        let inner = Span::new(span.start + quote(written, false), span.end - quote(written, true));
        if inner.start <= inner.end {
            self.push_at(symbol, inner, role);
        }
    }

    /// Which part each copy is one of.
    fn bind_instances(&mut self) {
        for file in 0..self.sources.files.len() as u32 {
            self.file = FileId(file);
            let tree = self.tree();
            let mut part: Option<(u32, u32)> = None;
            let mut blocks = tree.blocks.iter().peekable();
            for (number, stmt) in tree.stmts.iter().enumerate() {
                let number = number as u32;
                if part.is_some_and(|(_, close)| number >= close) {
                    part = None;
                }
                let scope = Scope { file: self.file, part: part.map(|(head, _)| head) };
                if let Some(block) = blocks.next_if(|block| block.head == number)
                    && matches!(stmt.node.kind, StmtKind::Part { .. })
                {
                    part = Some((number, block.close));
                }
                let StmtKind::Declare(declare) = &stmt.node.kind else { continue };
                let Some((file, head)) = self.part(&declare.kind.text) else { continue };
                for name in &declare.names {
                    if let Some(symbol) = self.index.named(scope, &name.text) {
                        self.index.inside.insert(symbol, Scope { file, part: Some(head) });
                    }
                }
            }
        }
    }

    /// The part of this name, as seen from the file at hand: file and statement of its head.
    fn part(&self, name: &str) -> Option<(FileId, u32)> {
        let symbol = self.in_files(|index, file| index.find(Space::Part, Scope { file, part: None }, name))?;
        Some((self.index.symbol(symbol).scope.file, *self.index.heads.get(&symbol)?))
    }

    /// What is found in the file at hand, else in those that it includes.
    fn in_files(&self, find: impl Fn(&Index, FileId) -> Option<u32>) -> Option<u32> {
        let mut seen = vec![self.file];
        let mut next = 0;
        while let Some(file) = seen.get(next).copied() {
            next += 1;
            if let Some(found) = find(&self.index, file) {
                return Some(found);
            }
            for (_, target) in &self.sources.files[file.0 as usize].includes {
                if let Ok(target) = target
                    && (target.0 as usize) < self.sources.files.len()
                    && !seen.contains(target)
                {
                    seen.push(*target);
                }
            }
        }
        None
    }

    /// What a statement speaks of.
    fn speak(&mut self, stmt: &'a Stmt) {
        match &stmt.node.kind {
            StmtKind::Let { value, .. } => self.value(value),
            StmtKind::Declare(declare) => self.declaration(declare),
            StmtKind::Path(segment) => self.segment(segment),
            StmtKind::Reference(point) => self.point(point),
            StmtKind::Find { quantity, case } => {
                self.quantity(quantity);
                self.case(case.as_ref());
            }
            StmtKind::Given { quantity, value, case } => {
                self.quantity(quantity);
                self.expr(value);
                self.case(case.as_ref());
            }
            StmtKind::Measured { quantity, value, within, case }
            | StmtKind::ClaimQuantity { quantity, value, within, case } => {
                self.quantity(quantity);
                self.expr(value);
                within.iter().for_each(|within| self.expr(within));
                self.case(case.as_ref());
            }
            StmtKind::ClaimRelation { branches, case, .. } => {
                for Branch { elements, .. } in branches {
                    elements.iter().for_each(|target| self.reference(target));
                }
                self.case(case.as_ref());
            }
            StmtKind::Case { assigns, .. } => {
                for Assign { target, value } in assigns {
                    self.reference(target);
                    self.value(value);
                }
            }
            StmtKind::Part { parameters, .. } => {
                parameters.iter().for_each(|parameter| self.value(&parameter.value));
            }
            StmtKind::Repeat { from, to, .. } => {
                self.expr(from);
                self.expr(to);
            }
            StmtKind::Circuit(_) | StmtKind::Include(_) | StmtKind::End | StmtKind::Error => {}
        }
    }

    fn declaration(&mut self, declare: &'a Declare) {
        let kind = &declare.kind;
        let mut inside = None;
        if !KINDS.contains(&kind.text.as_str())
            && let Some(symbol) =
                self.in_files(|index, file| index.find(Space::Part, Scope { file, part: None }, &kind.text))
        {
            self.push(symbol, kind.span, Role::Use);
            inside = self.part(&kind.text).map(|(file, head)| Scope { file, part: Some(head) });
        }
        for name in &declare.names {
            self.holes(name);
        }
        declare.value.iter().for_each(|value| self.value(value));
        for OptionItem { name, value } in &declare.options {
            if let Some(symbol) = inside.and_then(|inside| self.index.named(inside, &name.text))
                && self.index.symbol(symbol).kind == SymbolKind::Parameter
            {
                self.push(symbol, name.span, Role::Use);
            }
            self.value(value);
        }
    }

    /// The counting names in the holes of a name.
    fn holes(&mut self, name: &Name) {
        if !name.text.contains('{') {
            return;
        }
        let span = self.node().span(name.span);
        let written = self.tree().slice(span);
        let mut from = 0;
        while let Some(open) = written[from..].find('{') {
            let start = from + open + 1;
            let length = written[start..].find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(0);
            if let Some(symbol) = self.counter(&written[start..start + length]) {
                let at = Span::new(span.start + start as u32, span.start + (start + length) as u32);
                self.push_at(symbol, at, Role::Use);
            }
            from = start + length;
        }
    }

    fn counter(&self, name: &str) -> Option<u32> {
        let (head, ..) = self.counters.iter().rev().find(|(_, own, _)| own == name)?;
        self.index.table.get(&(Space::Counter(*head), self.scope, SmolStr::new(name))).copied()
    }

    /// What a name without dots means here.
    fn lookup(&mut self, name: &str) -> u32 {
        let found = self.counter(name).or_else(|| self.index.named(self.scope, name)).or_else(|| {
            // From inside of a part, and from other files, only values are seen.
            self.in_files(|index, file| {
                index
                    .named(Scope { file, part: None }, name)
                    .filter(|symbol| index.symbol(*symbol).kind == SymbolKind::Value)
            })
        });
        found.unwrap_or_else(|| self.index.add(Space::Name, self.scope, name, SymbolKind::Undeclared))
    }

    fn reference(&mut self, target: &'a Ref) {
        let Some((first, rest)) = target.parts.split_first() else { return };
        let mut symbol = self.lookup(&first.text);
        self.push(symbol, first.span, Role::Use);
        self.holes(first);
        for name in rest {
            let within = self.index.scope_inside(symbol);
            match within.and_then(|scope| self.index.named(scope, &name.text)) {
                Some(found) => {
                    symbol = found;
                    self.push(symbol, name.span, Role::Use);
                }
                None => self.push(symbol, name.span, Role::Field),
            }
            self.holes(name);
        }
    }

    fn junction(&mut self, name: &'a Name) {
        let span = self.node().span(name.span);
        let written = self.tree().slice(span);
        let body = written.strip_prefix('@').unwrap_or(written);
        let mut start = span.start + (written.len() - body.len()) as u32;
        let mut scope = Some(self.scope);
        let pieces: Vec<&str> = body.split('.').collect();
        for (index, piece) in pieces.iter().enumerate() {
            let at = Span::new(start, start + piece.len() as u32);
            start = at.end + 1;
            let Some(own) = scope else { return };
            if index + 1 == pieces.len() {
                // A port is a junction of the part's body.
                let port =
                    self.index.named(own, piece).filter(|symbol| self.index.symbol(*symbol).kind == SymbolKind::Port);
                let symbol = port.unwrap_or_else(|| match self.index.junction(own, piece) {
                    Some(known) => known,
                    None => self.index.add(Space::Junction, own, piece, SymbolKind::Junction),
                });
                self.push_at(symbol, at, Role::Use);
            } else {
                let Some(symbol) = self.index.named(own, piece) else { return };
                self.push_at(symbol, at, Role::Use);
                scope = self.index.scope_inside(symbol);
            }
        }
        if name.text.contains('{') {
            self.holes(name);
        }
    }

    fn segment(&mut self, segment: &'a Segment) {
        for Item { kind, .. } in &segment.items {
            match kind {
                ItemKind::Junction(name) => self.junction(name),
                ItemKind::Element { target, .. } => self.reference(target),
                ItemKind::Group(alternatives) => alternatives.iter().for_each(|own| self.segment(own)),
            }
        }
    }

    fn point(&mut self, point: &'a Point) {
        match point {
            Point::Junction(name) => self.junction(name),
            Point::Terminal { target, .. } => self.reference(target),
        }
    }

    fn quantity(&mut self, quantity: &'a Quantity) {
        match &quantity.kind {
            QuantityKind::CurrentThrough(list)
            | QuantityKind::VoltageAcross(list)
            | QuantityKind::PowerOf(list)
            | QuantityKind::ChargeOf(list)
            | QuantityKind::EnergyOf(list)
            | QuantityKind::ValueOf(list) => list.iter().for_each(|target| self.reference(target)),
            QuantityKind::CurrentInto(point) | QuantityKind::PotentialAt(point) => self.point(point),
            QuantityKind::VoltageFrom(a, b)
            | QuantityKind::ResistanceBetween(a, b)
            | QuantityKind::CapacitanceBetween(a, b) => {
                self.point(a);
                self.point(b);
            }
            QuantityKind::ResistanceSeenBy(target) => self.reference(target),
        }
        quantity.after.iter().for_each(|after| self.expr(after));
    }

    fn case(&mut self, case: Option<&'a Text>) {
        if let Some(text) = case {
            let symbol = self.index.add(Space::Case, self.whole_file(), &text.text, SymbolKind::Case);
            self.quoted(symbol, text, Role::Use);
        }
    }

    fn value(&mut self, value: &'a Value) {
        if let ValueMain::Expr(expr) = &value.main {
            self.expr(expr);
        }
        value.at.iter().for_each(|at| self.expr(at));
    }

    fn expr(&mut self, expr: &'a Expr) {
        match &expr.kind {
            ExprKind::Number { .. } => {}
            // `open`, `closed`, and the throws of a changeover are words, unless something of that name is declared.
            ExprKind::Ref(target) => {
                let known = target.parts.len() > 1
                    || self.counter(&target.parts[0].text).is_some()
                    || self.index.named(self.scope, &target.parts[0].text).is_some()
                    || self
                        .in_files(|index, file| index.named(Scope { file, part: None }, &target.parts[0].text))
                        .is_some();
                if known {
                    self.reference(target);
                }
            }
            ExprKind::Neg(inner) | ExprKind::Group { inner, .. } => self.expr(inner),
            ExprKind::Binary { left, right, .. } => {
                self.expr(left);
                self.expr(right);
            }
        }
    }
}
