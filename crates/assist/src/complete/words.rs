//! Names and words that can be written.

use ohmline_circuit::{Element, ElementId, StateId};
use ohmline_syntax::FileId;
use ohmline_syntax::lexer::TokenKind;
use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::words::{KINDS, QUANTITIES, STATEMENTS, help, options_of};

use super::wiring::{has_two_terminals, terminals};
use super::{Item, ItemKind, Line};
use crate::occurrences::{Role, Symbol, SymbolKind};

/// The beginning of the names of a kind, and a value to begin with.
pub(super) fn usual(kind: &str) -> (&'static str, &'static str) {
    match kind {
        "battery" => ("B", "9 V"),
        "source" => ("E", "5 V"),
        "resistor" => ("R", "100 ohm"),
        "lamp" => ("L", "5 W at 12 V"),
        "switch" => ("S", "open"),
        "changeover" => ("S", "a"),
        "potentiometer" => ("P", "1 kohm at 50%"),
        "fuse" => ("F", "1 A"),
        "ammeter" => ("A", ""),
        "voltmeter" => ("V", ""),
        "capacitor" | "electrolytic" => ("C", "100 uF"),
        "inductor" => ("I", "10 mH"),
        "diode" => ("D", "0.7 V"),
        _ => ("X", ""),
    }
}

/// A name as it stands within a snippet, where a closing brace would end the place to fill in.
fn in_snippet(name: &str) -> String {
    name.replace('}', "\\}")
}

fn doc_of(word: &str) -> String {
    match help(word) {
        Some(text) => {
            let (form, meaning) = text.split_once('\n').unwrap_or((text, ""));
            format!("`{form}`\n\n{meaning}")
        }
        None => String::new(),
    }
}

impl<'a> Line<'a> {
    /// The form of a statement with places to fill in, proposed names being such as are there; and the least that is written where no
    /// places can be marked.
    fn form(&self, word: &str) -> (Option<String>, &'static str) {
        let element = self.some_element(|own| has_two_terminals(own.kind));
        let with = |form: &dyn Fn(&str) -> String| element.map(form);
        let text = |form: &str| Some(form.to_owned());
        match word {
            "circuit" => (text("circuit \"${1:Title}\""), "circuit "),
            "include" => (self.files.first().map(|own| format!("include \"${{1:{own}}}\"")), "include "),
            "let" => (text("let ${1:name} = ${2:12 V}"), "let "),
            "reference" => (self.some_points().first().map(|own| format!("reference ${{1:{own}}}")), "reference "),
            "claim" => (with(&|own| format!("claim ${{1:current through {own}}} = ${{2:1 A}}")), "claim "),
            "find" => (with(&|own| format!("find ${{1:current through {own}}}")), "find "),
            "given" => (with(&|own| format!("given ${{1:current through {own}}} = ${{2:1 A}}")), "given "),
            "measured" => (
                with(&|own| format!("measured ${{1:voltage across {own}}} = ${{2:2.7 V}} within ${{3:2%}}")),
                "measured ",
            ),
            "case" => {
                let switch = self.some_element(|own| own.kind == ohmline_circuit::Kind::Switch).or(element);
                let name = self.free_case();
                (switch.map(|own| format!("case \"${{1:{name}}}\": ${{2:{own}}} = ${{3:open}}")), "case ")
            }
            "part" => (text("part ${1:name}(${2:in}, ${3:out})\n  ${0}\nend"), "part "),
            "repeat" => (text("repeat ${1:k} from ${2:1} to ${3:3}\n  ${0}\nend"), "repeat "),
            _ => (None, "end"),
        }
    }

    /// A name that no case has.
    fn free_case(&self) -> String {
        let known = &self.analysis.circuit.states;
        let free = |name: &&str| known.iter().all(|state| state.name.as_deref() != Some(*name));
        let usual = ["night", "day", "storm", "low water"].into_iter().find(free);
        usual.map_or_else(|| format!("case {}", known.len()), str::to_owned)
    }

    /// Everything that a line can begin with here, but for paths.
    pub(super) fn statements(&mut self) {
        let around = self.blocks().last().map(|head| matches!(head.node.kind, StmtKind::Repeat { .. }));
        let line = self.before.first().map_or(self.word.start, |first| first.start);
        let tree = &self.analysis.sources.file(FileId::MAIN).tree;
        let elsewhere = |fits: &dyn Fn(&StmtKind) -> bool| {
            tree.stmts.iter().any(|stmt| fits(&stmt.node.kind) && stmt.offset != line)
        };
        for word in STATEMENTS {
            let fits = match (*word, around) {
                ("end", around) => around.is_some(),
                ("repeat", _) => true,
                ("let", Some(in_repeat)) => !in_repeat,
                (_, Some(_)) => false,
                // One file holds one circuit with one point of 0 V.
                ("circuit", None) => !elsewhere(&|kind| matches!(kind, StmtKind::Circuit(_))),
                ("reference", None) => !elsewhere(&|kind| matches!(kind, StmtKind::Reference(_))),
                _ => true,
            };
            let fits = fits && (*word != "reference" || !self.some_points().is_empty());
            if !fits {
                continue;
            }
            let (snippet, plain) = self.form(word);
            let mut item = self.item(word, ItemKind::Keyword, 20);
            item.insert = plain.to_owned();
            item.snippet = snippet;
            item.doc = doc_of(word);
            item.detail = "statement".to_owned();
            self.add(item);
        }
        for kind in KINDS {
            let (_, value) = usual(kind);
            let name = self.free_name(kind);
            let mut item = self.item(kind, ItemKind::Kind, 10);
            item.insert = format!("{kind} ");
            item.snippet = Some(if value.is_empty() {
                format!("{kind} ${{1:{}}}", in_snippet(&name))
            } else {
                format!("{kind} ${{1:{}}} = ${{2:{value}}}", in_snippet(&name))
            });
            item.doc = doc_of(kind);
            item.detail = "kind of element".to_owned();
            self.add(item);
        }
        self.parts();
    }

    fn parts(&mut self) {
        let own = self.blocks().find_map(|head| match &head.node.kind {
            StmtKind::Part { name, .. } => Some(name.text.clone()),
            _ => None,
        });
        let found: Vec<(String, String)> = self
            .analysis
            .sources
            .files
            .iter()
            .flat_map(|source| source.tree.stmts.iter().map(move |stmt| (source, stmt)))
            .filter_map(|(source, stmt)| match &stmt.node.kind {
                StmtKind::Part { name, .. } => Some((name.text.to_string(), source.tree.doc(stmt).unwrap_or_default())),
                _ => None,
            })
            .filter(|(name, _)| own.as_ref().is_none_or(|own| !self.holds(name, own, &mut Vec::new())))
            .collect();
        for (name, doc) in found {
            let mut item = self.item(&name, ItemKind::Part, 12);
            let copy = self.free_name(&name);
            item.insert = format!("{name} ");
            item.snippet = Some(format!("{name} ${{1:{}}}", in_snippet(&copy)));
            item.detail = "part".to_owned();
            item.doc = doc;
            self.add(item);
        }
    }

    /// Whether a part is another one or holds a copy of it, however deep: such a part cannot stand in the other.
    fn holds(&self, outer: &str, inner: &str, seen: &mut Vec<String>) -> bool {
        if outer == inner {
            return true;
        }
        if seen.iter().any(|own| own == outer) {
            return false;
        }
        seen.push(outer.to_owned());
        let Some((file, head)) = self.part_named(outer) else { return false };
        let tree = &self.analysis.sources.file(file).tree;
        let close =
            tree.blocks.iter().find(|block| block.head as usize == head).map_or(head, |block| block.close as usize);
        let body = tree.stmts.get(head..close.min(tree.stmts.len())).unwrap_or_default();
        body.iter().any(|stmt| match &stmt.node.kind {
            StmtKind::Declare(declare) if !KINDS.contains(&declare.kind.text.as_str()) => {
                self.holds(&declare.kind.text, inner, seen)
            }
            _ => false,
        })
    }

    /// The file and statement of a part.
    pub(super) fn part_named(&self, wanted: &str) -> Option<(FileId, usize)> {
        self.analysis.sources.files.iter().enumerate().find_map(|(file, source)| {
            let fits = |kind: &StmtKind| matches!(kind, StmtKind::Part { name, .. } if name.text == wanted);
            let stmt = source.tree.stmts.iter().position(|stmt| fits(&stmt.node.kind))?;
            Some((FileId(file as u32), stmt))
        })
    }

    /// A name that nothing has: the usual letter of the kind, or of a part its own first, and the least free number; within a `repeat` with
    /// its counting name, so that every copy has one of its own.
    pub(super) fn free_name(&self, kind: &str) -> String {
        let own = kind.chars().next().map(|first| first.to_uppercase().to_string());
        let (letter, _) = usual(kind);
        let letter = if letter == "X" { own.unwrap_or_default() } else { letter.to_owned() };
        let circuit = &self.analysis.circuit;
        let is_free = |name: &str| match self.index.named(self.scope, name) {
            // `L{k}` would fit any number; which there are, the circuit knows.
            Some(own) if self.scope.part.is_none() && self.index.symbol(own).name.contains("{}") => {
                !circuit.element_names.contains_key(name)
            }
            found => found.is_none(),
        };
        let mut stems = std::iter::once(letter.clone()).chain(('a'..='z').map(|c| format!("{letter}{c}")));
        let numbered = |stem: &str, number: u32| format!("{stem}{number}");
        let found = match self.counter() {
            Some(counter) => stems
                .find(|stem| {
                    is_free(&format!("{stem}{{{counter}}}")) && (0..100).all(|number| is_free(&numbered(stem, number)))
                })
                .map(|stem| format!("{stem}{{{counter}}}")),
            None => stems.find_map(|stem| (1..10_000).map(|number| numbered(&stem, number)).find(|name| is_free(name))),
        };
        found.unwrap_or(letter)
    }

    /// Names to declare something with: those that stand in the text and that nothing declares yet, and the next free one.
    pub(super) fn next_name(&mut self, kind: &str) {
        let (_, value) = usual(kind);
        let undeclared: Vec<u32> = self.symbols(|own| own.kind == SymbolKind::Undeclared).collect();
        let mut names: Vec<(String, &str)> = Vec::new();
        for number in self.few(undeclared) {
            let elsewhere = self.index.of(number).find(|own| own.at.file == FileId::MAIN && own.at.span != self.word);
            let Some(own) = elsewhere else { continue };
            names
                .push((self.analysis.sources.file(own.at.file).tree.slice(own.at.span).to_owned(), "not declared yet"));
        }
        names.push((self.free_name(kind), "next free name"));
        for (rank, (name, detail)) in names.into_iter().enumerate() {
            let mut item = self.item(&name, ItemKind::Element, 10 + (rank as u8).min(10));
            item.detail = detail.to_owned();
            if !value.is_empty() && self.behind().trim().is_empty() {
                item.snippet = Some(format!("{} = ${{1:{value}}}", in_snippet(&name)));
            }
            self.add(item);
        }
    }

    /// Words as they are, in this order.
    pub(super) fn plain(&mut self, words: &[&str]) {
        self.plain_after(0, words);
    }

    /// Words as they are, behind everything of a lower rank.
    pub(super) fn plain_after(&mut self, rank: u8, words: &[&str]) {
        for (nth, word) in words.iter().enumerate() {
            let item = self.item(word, ItemKind::Keyword, rank + nth as u8);
            self.add(item);
        }
    }

    pub(super) fn states(&mut self, words: &[&str]) {
        for (rank, word) in words.iter().enumerate() {
            let mut item = self.item(word, ItemKind::State, rank as u8);
            item.doc = match *word {
                "open" => "Carries nothing.",
                "closed" => "Has no voltage across it.",
                "shorted" => "A wire is across it.",
                "a" => "`common` is joined to `a`.",
                _ => "`common` is joined to `b`.",
            }
            .to_owned();
            self.add(item);
        }
    }

    pub(super) fn quantities(&mut self) {
        let two = self.some_element(|own| has_two_terminals(own.kind));
        let any = self.some_element(|_| true);
        let source = self.some_element(|own| own.kind.is_source());
        let charged = self.some_element(|own| matches!(own.kind.word(), "capacitor" | "electrolytic"));
        let storing = self.some_element(|own| matches!(own.kind.word(), "capacitor" | "electrolytic" | "inductor"));
        let points = self.some_points();
        for word in QUANTITIES {
            let of = |element: Option<&str>| element.map(|own| format!("{word} of ${{1:{own}}}"));
            let (snippet, plain) = match *word {
                "current" => (two.map(|own| format!("current through ${{1:{own}}}")), "current "),
                "voltage" => (two.map(|own| format!("voltage across ${{1:{own}}}")), "voltage "),
                "potential" => (points.first().map(|own| format!("potential at ${{1:{own}}}")), "potential at "),
                "resistance" | "capacitance" => {
                    let between = match points.as_slice() {
                        [a, b, ..] => Some(format!("{word} between ${{1:{a}}} and ${{2:{b}}}")),
                        _ => None,
                    };
                    let seen = source.map(|own| format!("resistance seen by ${{1:{own}}}"));
                    if *word == "resistance" {
                        (between.or(seen), "resistance ")
                    } else {
                        (between, "capacitance between ")
                    }
                }
                "power" => (of(any), "power of "),
                "charge" if charged.is_some() => (of(charged), "charge of "),
                "energy" if storing.is_some() => (of(storing), "energy of "),
                // Nothing here has a charge, or holds energy.
                "charge" | "energy" => continue,
                _ => (of(any), "value of "),
            };
            let mut item = self.item(word, ItemKind::Keyword, 5);
            item.insert = plain.to_owned();
            item.snippet = snippet;
            item.doc = doc_of(word);
            self.add(item);
        }
    }

    /// What may follow a whole quantity.
    pub(super) fn after_quantity(&mut self, has_value: bool) {
        if has_value {
            let item = self.item("=", ItemKind::Keyword, 0);
            self.add(item);
        }
        if !has_value && self.has_cases() {
            self.plain(&["in"]);
        }
    }

    /// The word of the kind of a declared element.
    pub(super) fn kind_of(&self, name: &str) -> Option<String> {
        let id = self.analysis.circuit.element_names.get(name)?;
        Some(self.analysis.circuit.element(*id).kind.word().to_owned())
    }

    pub(super) fn describe(&self, item: &mut Item, id: ElementId) {
        let circuit = &self.analysis.circuit;
        let element = circuit.element(id);
        let source = self.analysis.sources.file(element.value_at.file);
        item.detail = match element.value_at == element.declared {
            true => element.kind.word().to_owned(),
            false => format!("{} {}", element.kind.word(), source.tree.slice(element.value_at.span)),
        };
        if let Some(stmt) = source.tree.stmt_at(element.declared.span.start) {
            item.doc = source.tree.doc(stmt).unwrap_or_default();
        }
        if let Some(answers) = self.analysis.answers.states.first()
            && let Some(answer) = answers.elements.get(id.index()).and_then(Option::as_ref)
            && let (Some(current), Some(voltage)) = (&answer.current, &answer.voltage)
            && let Some(shower) = &self.shower
        {
            let solved = format!(
                "{}, {}",
                shower.words(current, ohmline_circuit::Unit::Ampere),
                shower.words(voltage, ohmline_circuit::Unit::Volt)
            );
            item.doc = if item.doc.is_empty() { solved } else { format!("{}\n\n{solved}", item.doc) };
        }
    }

    /// Elements that a statement can name, copies of parts and repeats included.
    pub(super) fn elements(&mut self, fits: impl Fn(&Element) -> bool) {
        if let Some(field) = self.field_behind() {
            return self.owners_of(field);
        }
        let at = self.word.start;
        let away = |own: &Element| {
            if own.declared.file == FileId::MAIN { own.declared.span.start.abs_diff(at) } else { u32::MAX }
        };
        let found: Vec<(ElementId, &Element)> = self.circuit_elements().filter(|(_, own)| fits(own)).collect();
        let few = self.few_of(found, |(_, own)| (&own.name, own.name.contains('.'), away(own)));
        for (id, element) in few {
            let rank = if element.name.contains('.') { 9 } else { 8 };
            let mut item = self.item(&element.name, ItemKind::Element, rank);
            self.describe(&mut item, id);
            self.add(item);
        }
    }

    /// What can stand before a dot and this word.
    fn owners_of(&mut self, field: &str) {
        let inner = |own: u32| {
            let inside = self.index.scope_inside(own)?;
            self.index.named(inside, field)
        };
        let owners: Vec<u32> =
            self.symbols(|own| own.kind == SymbolKind::Instance && !own.name.contains("{}")).collect();
        for number in owners.into_iter().filter(|own| inner(*own).is_some()) {
            if !self.has_asked_quantity(&format!("{}.{field}", self.index.symbol(number).name)) {
                continue;
            }
            let item = self.item(&self.index.symbol(number).name.clone(), ItemKind::Element, 8);
            self.add(item);
        }
        let in_case = self.before.first().is_some_and(|first| first.kind == TokenKind::Case);
        let has = |own: &Element| {
            let kind = own.kind.word();
            if in_case {
                options_of(kind).iter().any(|option| option.name == field) || kind == "potentiometer" && field == "at"
            } else {
                terminals(kind).contains(&field)
            }
        };
        let elements: Vec<_> = self.circuit_elements().filter(|(_, own)| !own.name.contains('.') && has(own)).collect();
        for (id, element) in elements {
            let mut item = self.item(&element.name, ItemKind::Element, 8);
            self.describe(&mut item, id);
            self.add(item);
        }
    }

    pub(super) fn sources(&mut self) {
        self.elements(|own| own.kind.is_source());
    }

    /// The symbols of this scope that are of some sort.
    pub(super) fn symbols(&self, fits: impl Fn(&Symbol) -> bool) -> impl Iterator<Item = u32> {
        let own = self.index.symbols.iter().zip(0..).filter(move |(own, _)| own.scope == self.scope && fits(own));
        own.map(|(_, number)| number)
    }

    /// The word in front of the names that a symbol is declared with.
    pub(super) fn declared_as(&self, number: u32) -> &'a str {
        let Some(own) = self.index.definition(number) else { return "" };
        let tree = &self.analysis.sources.file(own.at.file).tree;
        match tree.stmts.get(own.stmt as usize).map(|stmt| &stmt.node.kind) {
            Some(StmtKind::Declare(declare)) => &declare.kind.text,
            _ => "",
        }
    }

    /// Terminals that statements can name: signs, words, ports.
    pub(super) fn terminals(&mut self) {
        if let Some(field) = self.field_behind() {
            return self.owners_of(field);
        }
        let signed = self.sign_behind();
        let found: Vec<(String, ElementId)> = self
            .circuit_elements()
            .filter(|(_, own)| own.is_placed() && !own.name.contains('.') && (!signed || own.kind.is_polar()))
            .flat_map(|(id, own)| {
                let terminals: &[&str] = if signed { &["+"] } else { own.kind.terminals() };
                terminals.iter().filter(|word| !word.is_empty()).map(move |word| match *word {
                    "+" | "-" if signed => (own.name.to_string(), id),
                    "+" | "-" => (format!("{}{word}", own.name), id),
                    _ => (format!("{}.{word}", own.name), id),
                })
            })
            .collect();
        let found = self.few_of(found, |(name, _)| (name, false, 0));
        for (name, id) in found {
            let mut item = self.item(&name, ItemKind::Terminal, 9);
            self.describe(&mut item, id);
            self.add(item);
        }
    }

    pub(super) fn junctions(&mut self) {
        // In a `repeat` a name is written with its holes, outside of it as each copy is called.
        let in_repeat = self.counter().is_some();
        let is_point = |own: &Symbol| {
            matches!(own.kind, SymbolKind::Junction | SymbolKind::Port) && (in_repeat || !own.name.contains("{}"))
        };
        let numbers = self.symbols(is_point).collect();
        let mut found: Vec<(String, usize)> = self
            .few(numbers)
            .into_iter()
            .map(|number| {
                let uses = self
                    .index
                    .of(number)
                    .filter(|own| own.role != Role::Field && !own.at.span.touches(self.word.end))
                    .count();
                let first = self.index.of(number).find(|own| own.role == Role::Definition && in_repeat);
                let name = match first {
                    Some(own) => self.analysis.sources.file(own.at.file).tree.slice(own.at.span).to_owned(),
                    None => self.index.symbol(number).name.to_string(),
                };
                (name, uses)
            })
            .filter(|(_, uses)| *uses > 0)
            .collect();
        let has_made =
            || self.symbols(|own| own.kind == SymbolKind::Junction && own.name.contains("{}")).next().is_some();
        if !in_repeat && self.scope.part.is_none() && has_made() {
            let circuit = &self.analysis.circuit;
            let made = |name: &&str| {
                let main = self.index.junction(self.scope, name);
                main.is_some_and(|own| self.index.symbol(own).name.contains("{}"))
            };
            let mut copies: Vec<String> =
                circuit.junction_names.keys().map(|own| own.as_str()).filter(made).map(str::to_owned).collect();
            copies.sort_unstable();
            let few = self.few_of(copies, |name| (name, false, 0));
            found.extend(few.into_iter().map(|name| (name, 0)));
        }
        for (name, uses) in found {
            let label = format!("@{name}");
            let mut item = self.item(&label, ItemKind::Junction, 7);
            item.detail = match uses {
                0 => "made by a repeat".to_owned(),
                1 => "named once".to_owned(),
                _ => format!("named {uses} times"),
            };
            if let Some(node) = self.analysis.circuit.junction_names.get(name.as_str())
                && let Some(answers) = self.analysis.answers.states.first()
                && let Some(potential) = answers.potentials.get(node.index())
                && let Some(shower) = &self.shower
            {
                item.doc = format!("potential {}", shower.words(potential, ohmline_circuit::Unit::Volt));
            }
            self.add(item);
        }
    }

    /// Ports of copies of parts, which are points too.
    pub(super) fn ports(&mut self) {
        let instances = self.symbols(|own| own.kind == SymbolKind::Instance && !own.name.contains("{}"));
        let found: Vec<String> = instances
            .filter_map(|number| Some((self.index.symbol(number), self.index.scope_inside(number)?)))
            .flat_map(|(own, inside)| {
                let ports =
                    self.index.symbols.iter().filter(move |port| port.scope == inside && port.kind == SymbolKind::Port);
                ports.map(move |port| format!("{}.{}", own.name, port.name))
            })
            .collect();
        for name in found {
            let item = self.item(&name, ItemKind::Terminal, 12);
            self.add(item);
        }
    }

    /// The unit of a `let`.
    pub(super) fn unit_of_let(&self, name: &str) -> Option<&'static str> {
        let own = self.index.definition(self.index.named(self.scope, name)?)?;
        let found = self.analysis.circuit.values.iter().find(|(at, _)| *at == own.at);
        found.and_then(|(_, measure)| measure.dimension.unit_word())
    }

    /// Whether an element has the quantity that the line asks for, and is not named in it yet.
    pub(super) fn has_asked_quantity(&self, name: &str) -> bool {
        let words: Vec<&str> = self.before.iter().skip(1).take(2).map(|token| self.text_of(token)).collect();
        if super::context::members(&self.before[1..], self.text).iter().any(|own| own == name) {
            return false;
        }
        let kind = self.kind_of(name).unwrap_or_default();
        let two = terminals(&kind).is_empty();
        match words.as_slice() {
            ["current", "through"] => two || kind == "changeover",
            ["voltage", "across"] => two,
            ["charge", _] => matches!(kind.as_str(), "capacitor" | "electrolytic"),
            ["energy", _] => matches!(kind.as_str(), "capacitor" | "electrolytic" | "inductor"),
            ["resistance", _] => matches!(kind.as_str(), "battery" | "source"),
            _ => true,
        }
    }

    /// The dimension of a value that is written as a number with its unit: of parts without copies the circuit knows none.
    fn dimension_written(&self, number: u32) -> Option<ohmline_circuit::quantity::Dimension> {
        let own = self.index.definition(number)?;
        let tree = &self.analysis.sources.file(own.at.file).tree;
        let stmt = tree.stmts.get(own.stmt as usize)?;
        let value = match &stmt.node.kind {
            StmtKind::Let { value, .. } => value.span,
            StmtKind::Part { parameters, .. } => {
                parameters.iter().find(|one| stmt.span(one.name.span) == own.at.span)?.value.span
            }
            _ => return None,
        };
        super::values::dimension_of(tree.slice(stmt.span(value)))
    }

    /// The names of values that fit: of a unit, where one is given.
    pub(super) fn lets_of(&mut self, unit: &str) {
        let fits = |number: u32| {
            let of = |own: &crate::Occurrence| {
                let found = self.analysis.circuit.values.iter().find(|(at, _)| *at == own.at);
                found.map(|(_, measure)| measure.dimension)
            };
            let dimension = self.index.definition(number).and_then(of);
            dimension
                .or_else(|| self.dimension_written(number))
                .is_none_or(|own| unit.is_empty() || unit.split('|').any(|unit| own == super::values::dimension(unit)))
        };
        let numbers: Vec<u32> = self.let_symbols().into_iter().filter(|number| fits(*number)).collect();
        self.add_lets(numbers);
    }

    pub(super) fn lets(&mut self) {
        let numbers = self.let_symbols();
        self.add_lets(numbers);
    }

    fn let_symbols(&self) -> Vec<u32> {
        let scope = self.scope;
        let of = |symbol: &Symbol| match symbol.kind {
            SymbolKind::Value => symbol.scope.part.is_none() || symbol.scope == scope,
            SymbolKind::Parameter => symbol.scope == scope,
            _ => false,
        };
        self.index.symbols.iter().zip(0..).filter(|(own, _)| of(own)).map(|(_, number)| number).collect()
    }

    fn add_lets(&mut self, numbers: Vec<u32>) {
        let found: Vec<(String, String)> = self
            .few(numbers)
            .into_iter()
            .map(|number| {
                let detail = self.index.definition(number).and_then(|own| {
                    let tree = &self.analysis.sources.file(own.at.file).tree;
                    let stmt = tree.stmts.get(own.stmt as usize)?;
                    match &stmt.node.kind {
                        StmtKind::Let { value, .. } => Some(tree.slice(stmt.span(value.span)).to_owned()),
                        _ => Some("parameter".to_owned()),
                    }
                });
                (self.index.symbol(number).name.to_string(), detail.unwrap_or_default())
            })
            .collect();
        for (name, detail) in found {
            let mut item = self.item(&name, ItemKind::Value, 9);
            item.detail = detail;
            self.add(item);
        }
    }

    /// Case names; with `quoted`, the word being typed has its opening quote already.
    pub(super) fn cases(&mut self, quoted: bool) {
        let circuit = &self.analysis.circuit;
        let names: Vec<String> = circuit
            .state_ids()
            .filter(|state| *state != StateId::DRAWN)
            .filter_map(|state| circuit.states[state.index()].name.as_ref().map(|name| name.to_string()))
            .collect();
        for name in names {
            let mut item = self.item(&format!("\"{name}\""), ItemKind::Case, 5);
            if quoted {
                // An editor may have closed the quote by itself.
                let rest = self.text.get(self.word.end as usize..).unwrap_or("");
                if rest.starts_with('"') {
                    item.replace.end += 1;
                }
            }
            self.add(item);
        }
    }

    pub(super) fn include_files(&mut self) {
        for name in self.files {
            let mut item = self.item(&format!("\"{name}\""), ItemKind::File, 5);
            let rest = self.text.get(self.word.end as usize..).unwrap_or("");
            if rest.starts_with('"') {
                item.replace.end += 1;
            }
            self.add(item);
        }
    }

    /// The options of a kind, or the parameters of a part, that are not written yet.
    pub(super) fn options(&mut self, kind: &str) {
        let written: Vec<String> = self.before.iter().map(|token| self.text_of(token).to_owned()).collect();
        if let Some((file, stmt)) = self.part_named(kind) {
            let source = self.analysis.sources.file(file);
            let StmtKind::Part { parameters, .. } = &source.tree.stmts[stmt].node.kind else { return };
            let own: Vec<(String, String)> = parameters
                .iter()
                .map(|own| {
                    (
                        own.name.text.to_string(),
                        source.tree.slice(source.tree.stmts[stmt].span(own.value.span)).to_owned(),
                    )
                })
                .filter(|(name, _)| !written.contains(name))
                .collect();
            for (name, value) in own {
                let mut item = self.item(&name, ItemKind::Option, 5);
                item.snippet = Some(format!("{name} ${{1:{value}}}"));
                item.insert = format!("{name} ");
                item.detail = format!("{value} unless written");
                self.add(item);
            }
            return;
        }
        for option in options_of(kind).iter().filter(|option| !written.iter().any(|word| word == option.name)) {
            let mut item = self.item(option.name, ItemKind::Option, 5);
            item.insert = format!("{} ", option.name);
            item.detail = option.unit.to_owned();
            item.doc = option.help.to_owned();
            self.add(item);
        }
    }

    /// Whether the token at this index names an option of the kind, or a parameter of the part.
    pub(super) fn is_option(&self, kind: &str, at: usize) -> bool {
        let Some(word) = self.before.get(at).map(|token| self.text_of(token)) else { return false };
        options_of(kind).iter().any(|option| option.name == word) || self.part_named(kind).is_some()
    }
}
