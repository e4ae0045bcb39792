//! Names and words that can be written.

use ohmline_circuit::{ElementId, StateId};
use ohmline_syntax::FileId;
use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::words::{KINDS, QUANTITIES, STATEMENTS, help, options_of};

use super::{Item, ItemKind, Line};
use crate::occurrences::{Role, Symbol, SymbolKind};

/// The form of a statement with places to fill in, and the least that is written where none can be marked.
fn form(word: &str) -> Option<(&'static str, &'static str)> {
    Some(match word {
        "circuit" => ("circuit \"${1:Title}\"", "circuit "),
        "include" => ("include \"${1:kit.ohmline}\"", "include "),
        "let" => ("let ${1:name} = ${2:12 V}", "let "),
        "reference" => ("reference ${1:@rail}", "reference "),
        "claim" => ("claim ${1:current through R1} = ${2:1 A}", "claim "),
        "find" => ("find ${1:current through R1}", "find "),
        "given" => ("given ${1:current through R1} = ${2:1 A}", "given "),
        "measured" => ("measured ${1:voltage across R1} = ${2:2.7 V} within ${3:2%}", "measured "),
        "case" => ("case \"${1:night}\": ${2:S1} = ${3:open}", "case "),
        "part" => ("part ${1:name}(${2:in}, ${3:out})\n  ${0}\nend", "part "),
        "repeat" => ("repeat ${1:k} from ${2:1} to ${3:3}\n  ${0}\nend", "repeat "),
        "end" => ("end", "end"),
        _ => return None,
    })
}

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
    /// Everything that a line can begin with, but for paths.
    pub(super) fn statements(&mut self) {
        for word in STATEMENTS {
            if *word == "end" && !self.in_block() {
                continue;
            }
            let Some((snippet, plain)) = form(word) else { continue };
            let mut item = self.item(word, ItemKind::Keyword, 20);
            item.insert = plain.to_owned();
            item.snippet = Some(snippet.to_owned());
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
                format!("{kind} ${{1:{name}}}")
            } else {
                format!("{kind} ${{1:{name}}} = ${{2:{value}}}")
            });
            item.doc = doc_of(kind);
            item.detail = "kind of element".to_owned();
            self.add(item);
        }
        self.parts();
    }

    fn in_block(&self) -> bool {
        let tree = &self.analysis.sources.file(FileId::MAIN).tree;
        let at = self.word.start;
        tree.blocks.iter().any(|block| {
            let head = tree.stmts.get(block.head as usize).is_some_and(|head| head.offset < at);
            let open = !block.closed || tree.stmts.get(block.close as usize).is_none_or(|close| close.offset >= at);
            head && open
        })
    }

    fn parts(&mut self) {
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
            .collect();
        for (name, doc) in found {
            let mut item = self.item(&name, ItemKind::Part, 12);
            item.insert = format!("{name} ");
            item.snippet = Some(format!("{name} ${{1:Name}}"));
            item.detail = "part".to_owned();
            item.doc = doc;
            self.add(item);
        }
    }

    /// The file and statement of a part.
    pub(super) fn part_named(&self, wanted: &str) -> Option<(FileId, usize)> {
        self.analysis.sources.files.iter().enumerate().find_map(|(file, source)| {
            let fits = |kind: &StmtKind| matches!(kind, StmtKind::Part { name, .. } if name.text == wanted);
            let stmt = source.tree.stmts.iter().position(|stmt| fits(&stmt.node.kind))?;
            Some((FileId(file as u32), stmt))
        })
    }

    /// A name that nothing has: the usual letter of the kind and the least free number.
    pub(super) fn free_name(&self, kind: &str) -> String {
        let (letter, _) = usual(kind);
        let free = |number: &u32| self.index.named(self.scope, &format!("{letter}{number}")).is_none();
        let number = (1..10_000u32).find(free).unwrap_or(1);
        format!("{letter}{number}")
    }

    pub(super) fn next_name(&mut self, kind: &str) {
        let name = self.free_name(kind);
        let (_, value) = usual(kind);
        let mut item = self.item(&name, ItemKind::Element, 10);
        item.detail = "next free name".to_owned();
        if !value.is_empty() {
            item.snippet = Some(format!("{name} = ${{1:{value}}}"));
        }
        self.add(item);
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
        for word in QUANTITIES {
            let (snippet, plain) = match *word {
                "current" => ("current through ${1:R1}", "current "),
                "voltage" => ("voltage across ${1:R1}", "voltage "),
                "potential" => ("potential at ${1:@fork}", "potential at "),
                "resistance" => ("resistance between ${1:@a} and ${2:@b}", "resistance "),
                "capacitance" => ("capacitance between ${1:@a} and ${2:@b}", "capacitance between "),
                other => match other {
                    "power" => ("power of ${1:R1}", "power of "),
                    "charge" => ("charge of ${1:C1}", "charge of "),
                    "energy" => ("energy of ${1:C1}", "energy of "),
                    _ => ("value of ${1:R1}", "value of "),
                },
            };
            let mut item = self.item(word, ItemKind::Keyword, 5);
            item.insert = plain.to_owned();
            item.snippet = Some(snippet.to_owned());
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
        if !has_value && self.analysis.circuit.states.len() > 1 {
            self.plain(&["in"]);
        }
    }

    /// The word of the kind of a declared element.
    pub(super) fn kind_of(&self, name: &str) -> Option<String> {
        let id = self.analysis.circuit.element_names.get(name)?;
        Some(self.analysis.circuit.element(*id).kind.word().to_owned())
    }

    fn describe(&self, item: &mut Item, id: ElementId) {
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

    /// The elements of this scope; in a path those with polarity with their signs, and those that stand nowhere yet first.
    pub(super) fn elements(&mut self, in_path: bool) {
        self.elements_if(in_path, |_| true);
    }

    /// Elements of some kinds.
    pub(super) fn elements_of(&mut self, kinds: &[&str]) {
        self.elements_if(false, |kind| kinds.contains(&kind));
    }

    pub(super) fn sources(&mut self) {
        self.elements_of(&["battery", "source"]);
    }

    fn elements_if(&mut self, in_path: bool, fits: impl Fn(&str) -> bool) {
        // A sign that touches the word belongs to the name: it is written with it.
        let sign = self.before.last().filter(|last| {
            matches!(last.kind, ohmline_syntax::lexer::TokenKind::Plus | ohmline_syntax::lexer::TokenKind::Minus)
                && last.end() == self.word.start
        });
        let sign = sign.map(|token| self.text_of(token).to_owned());
        let numbers = self.symbols(|symbol| match symbol.kind {
            SymbolKind::Element => true,
            SymbolKind::Instance => in_path,
            _ => false,
        });
        let numbers = numbers.filter(|number| fits(self.declared_as(*number))).collect();
        let circuit = &self.analysis.circuit;
        let is_placed = |name: &str| circuit.element_names.get(name).is_some_and(|id| circuit.element(*id).is_placed());
        for number in self.few(numbers, |line, own| in_path && !is_placed(&line.index.symbol(own).name)) {
            // As written where it is declared: with its holes.
            let name = self.index.definition(number).map_or_else(
                || self.index.symbol(number).name.to_string(),
                |own| self.analysis.sources.file(own.at.file).tree.slice(own.at.span).to_owned(),
            );
            let kind = self.declared_as(number);
            let id = self.analysis.circuit.element_names.get(name.as_str()).copied();
            let placed = id.is_some_and(|id| self.analysis.circuit.element(id).is_placed());
            let polar = matches!(kind, "battery" | "source" | "ammeter" | "voltmeter" | "electrolytic" | "diode");
            let rank = if in_path && !placed { 6 } else { 8 };
            let mut forms: Vec<String> = Vec::new();
            if in_path && polar {
                match sign.as_deref() {
                    Some("+") => forms.push(format!("{name}-")),
                    Some(_) => forms.push(format!("{name}+")),
                    None if self.before.is_empty() => forms.extend([format!("{name}+"), format!("{name}-")]),
                    None => {
                        forms.extend([format!("+{name}-"), format!("-{name}+"), format!("{name}-"), format!("{name}+")])
                    }
                }
            } else {
                forms.push(name.clone());
            }
            for (nth, form) in forms.into_iter().enumerate() {
                let mut item = self.item(&form, ItemKind::Element, rank + nth as u8);
                match id {
                    Some(id) => self.describe(&mut item, id),
                    None => item.detail = kind.to_owned(),
                }
                self.add(item);
            }
        }
    }

    /// The symbols of this scope that are of some sort.
    fn symbols(&self, fits: impl Fn(&Symbol) -> bool) -> impl Iterator<Item = u32> {
        let own = self.index.symbols.iter().zip(0..).filter(move |(own, _)| own.scope == self.scope && fits(own));
        own.map(|(_, number)| number)
    }

    /// The word in front of the names that a symbol is declared with.
    fn declared_as(&self, number: u32) -> &'a str {
        let Some(own) = self.index.definition(number) else { return "" };
        let tree = &self.analysis.sources.file(own.at.file).tree;
        match tree.stmts.get(own.stmt as usize).map(|stmt| &stmt.node.kind) {
            Some(StmtKind::Declare(declare)) => &declare.kind.text,
            _ => "",
        }
    }

    /// Terminals that statements can name: signs, words.
    pub(super) fn terminals(&mut self) {
        let circuit = &self.analysis.circuit;
        let found: Vec<(String, ElementId)> = circuit
            .declared_ids()
            .filter(|id| !circuit.element(*id).name.contains('.'))
            .flat_map(|id| {
                let element = circuit.element(id);
                let name = element.name.clone();
                element.kind.terminals().iter().filter(|word| !word.is_empty()).map(move |word| {
                    (if matches!(*word, "+" | "-") { format!("{name}{word}") } else { format!("{name}.{word}") }, id)
                })
            })
            .collect();
        for (name, id) in found {
            let mut item = self.item(&name, ItemKind::Terminal, 9);
            self.describe(&mut item, id);
            self.add(item);
        }
    }

    /// Ports of copies: where a path may begin or end.
    pub(super) fn copies(&mut self) {
        let found: Vec<String> = self
            .index
            .symbols
            .iter()
            .enumerate()
            .filter(|(_, symbol)| symbol.scope == self.scope && symbol.kind == SymbolKind::Instance)
            .filter_map(|(number, symbol)| Some((symbol.name.to_string(), self.index.scope_inside(number as u32)?)))
            .flat_map(|(name, inside)| {
                let ports =
                    self.index.symbols.iter().filter(move |own| own.scope == inside && own.kind == SymbolKind::Port);
                ports.map(move |port| format!("{name}.{}", port.name)).collect::<Vec<_>>()
            })
            .collect();
        for name in found {
            let item = self.item(&name, ItemKind::Terminal, 12);
            self.add(item);
        }
    }

    pub(super) fn junctions(&mut self) {
        let is_point =
            |own: &Symbol| matches!(own.kind, SymbolKind::Junction | SymbolKind::Port) && !own.name.contains("{}");
        let numbers = self.symbols(is_point).collect();
        let found: Vec<(String, usize)> = self
            .few(numbers, |_, _| false)
            .into_iter()
            .map(|number| {
                let uses = self
                    .index
                    .of(number)
                    .filter(|own| own.role != Role::Field && !own.at.span.touches(self.word.end))
                    .count();
                (self.index.symbol(number).name.to_string(), uses)
            })
            .filter(|(_, uses)| *uses > 0)
            .collect();
        for (name, uses) in found {
            let label = format!("@{name}");
            let mut item = self.item(&label, ItemKind::Junction, 7);
            item.detail = if uses == 1 { "named once".to_owned() } else { format!("named {uses} times") };
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

    pub(super) fn lets(&mut self) {
        let scope = self.scope;
        let of = |symbol: &Symbol| match symbol.kind {
            SymbolKind::Value => symbol.scope.part.is_none() || symbol.scope == scope,
            SymbolKind::Parameter => symbol.scope == scope,
            _ => false,
        };
        let numbers = self.index.symbols.iter().zip(0..).filter(|(own, _)| of(own)).map(|(_, number)| number).collect();
        let found: Vec<(String, String)> = self
            .few(numbers, |_, _| false)
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
