//! What a path can go through next, or end at.

use ohmline_circuit::{ElementId, Kind};
use ohmline_syntax::FileId;
use ohmline_syntax::lexer::TokenKind;
use ohmline_syntax::tree::{self, Segment, Stmt, StmtKind};

use super::{ItemKind, Line};
use crate::occurrences::{Symbol, SymbolKind};

/// What a kind of element looks like to a path.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Shape {
    /// Two terminals without signs, or a copy of a part with two ports.
    Plain,
    /// Terminals `+` and `-`.
    Polar,
    /// Terminals with names, or ports of a copy: these alone can be joined.
    Named,
}

/// Something that a path can hold.
struct Candidate {
    /// As it is written here.
    name: String,
    shape: Shape,
    placed: bool,
    /// How far away it is declared.
    away: u32,
    detail: String,
    id: Option<ElementId>,
    /// Words of its terminals.
    fields: Vec<String>,
}

fn shape(kind: &str) -> Shape {
    match kind {
        "battery" | "source" | "ammeter" | "voltmeter" | "electrolytic" | "diode" => Shape::Polar,
        "potentiometer" | "changeover" => Shape::Named,
        _ => Shape::Plain,
    }
}

/// The words of the terminals of a kind.
pub(super) fn terminals(kind: &str) -> &'static [&'static str] {
    match kind {
        "potentiometer" => &["a", "b", "wiper"],
        "changeover" => &["common", "a", "b"],
        _ => &[],
    }
}

impl Line<'_> {
    /// Elements and copies of parts, each in the forms that fit: what stands in a path already cannot be passed through once more,
    /// and a path meets a terminal only at its ends.
    pub(super) fn wiring(&mut self) {
        let candidates = self.candidates();
        let at_start = !self.before.iter().any(|token| token.kind != TokenKind::Plus && token.kind != TokenKind::Minus);
        let at_end = !self.in_group() && !self.path_goes_on();
        let ends_here = at_start || at_end;
        let sign = self
            .before
            .last()
            .filter(|last| matches!(last.kind, TokenKind::Plus | TokenKind::Minus) && last.end() == self.word.start);
        let sign = sign.map(|token| token.kind);
        let (closed, field) = (self.sign_behind(), self.field_behind());
        for own in candidates {
            let through = !own.placed;
            let name = &own.name;
            let mut forms: Vec<(String, ItemKind, u8)> = Vec::new();
            if let Some(field) = field {
                if own.fields.iter().any(|word| word == field) {
                    forms.push((name.clone(), ItemKind::Element, 6));
                }
            } else if closed || sign.is_some() {
                if own.shape == Shape::Polar && (through || closed && sign.is_none()) {
                    let other = match sign {
                        Some(TokenKind::Plus) if !closed => "-",
                        Some(_) if !closed => "+",
                        _ => "",
                    };
                    forms.push((format!("{name}{other}"), ItemKind::Element, 6));
                }
            } else {
                if through && own.shape == Shape::Plain {
                    forms.push((name.clone(), ItemKind::Element, 6));
                }
                // What a path begins at is where it mostly ends: at the other terminal.
                let met = self.met_before(name);
                if through && own.shape == Shape::Polar && !at_start {
                    let rank = if met.is_some() { 9 } else { 6 };
                    forms.push((format!("+{name}-"), ItemKind::Element, rank));
                    forms.push((format!("-{name}+"), ItemKind::Element, rank + 1));
                }
                if ends_here && own.shape == Shape::Polar {
                    let rank = match met {
                        Some(_) => 4,
                        None if own.placed => 8,
                        None => 6,
                    };
                    let order = if at_start || met == Some(TokenKind::Minus) { ["+", "-"] } else { ["-", "+"] };
                    for (nth, sign) in order.into_iter().enumerate() {
                        forms.push((format!("{name}{sign}"), ItemKind::Element, rank + nth as u8));
                    }
                }
                if ends_here {
                    let ends = own.fields.iter().map(|word| (format!("{name}.{word}"), ItemKind::Terminal, 9));
                    forms.extend(ends);
                }
            }
            for (form, kind, rank) in forms {
                let mut item = self.item(&form, kind, rank);
                // Three hyphens in a row would be read in another way.
                if form.starts_with('-')
                    && self
                        .before
                        .last()
                        .is_some_and(|last| last.kind == TokenKind::Wire && last.end() == self.word.start)
                {
                    item.insert.insert(0, ' ');
                }
                match own.id {
                    Some(id) => self.describe(&mut item, id),
                    None => item.detail.clone_from(&own.detail),
                }
                self.add(item);
            }
        }
    }

    /// Everything with a name here that a path could meet in some form; of very many those that fit what is typed, and are near.
    fn candidates(&mut self) -> Vec<Candidate> {
        let circuit = &self.analysis.circuit;
        let in_repeat = self.counter().is_some();
        let mut found: Vec<Candidate> = Vec::new();
        // In the file itself the circuit knows every name, also those that a `repeat` makes.
        if self.scope.part.is_none() {
            for (id, element) in self.circuit_elements().filter(|(_, own)| !own.name.contains('.')) {
                let kind = element.kind.word();
                let shape = shape(kind);
                let here = element.declared.file == FileId::MAIN;
                let away = if here { element.declared.span.start.abs_diff(self.word.start) } else { u32::MAX };
                if in_repeat && self.index.named(self.scope, &element.name).is_some_and(|own| self.has_hole(own)) {
                    continue;
                }
                let placed = element.is_placed() && !self.is_placed_by_the_word(&element.name);
                let placed = placed || self.passed_before(&element.name);
                if placed && shape == Shape::Plain {
                    continue;
                }
                let fields = terminals(kind).iter().map(|word| (*word).to_owned()).collect();
                let name = element.name.to_string();
                found.push(Candidate { name, shape, placed, away, detail: String::new(), id: Some(id), fields });
            }
        }
        let numbers: Vec<u32> = self
            .symbols(|own| match own.kind {
                SymbolKind::Instance => true,
                SymbolKind::Element => self.scope.part.is_some() || in_repeat && own.name.contains("{}"),
                _ => false,
            })
            .collect();
        for number in numbers {
            if self.has_hole(number) && !in_repeat {
                continue;
            }
            let name = self.as_written(number);
            let kind = self.declared_as(number);
            let placed = self.is_placed(number) || self.passed_before(&name);
            let (shape, fields) = if self.index.symbol(number).kind == SymbolKind::Instance {
                let Some(inside) = self.index.scope_inside(number) else { continue };
                let is_port = |own: &&Symbol| own.scope == inside && own.kind == SymbolKind::Port;
                let ports: Vec<String> =
                    self.index.symbols.iter().filter(is_port).map(|port| port.name.to_string()).collect();
                (if ports.len() == 2 { Shape::Plain } else { Shape::Named }, ports)
            } else {
                (shape(kind), terminals(kind).iter().map(|word| (*word).to_owned()).collect())
            };
            let away =
                self.index.definition(number).map_or(u32::MAX, |own| own.at.span.start.abs_diff(self.word.start));
            let id = circuit.element_names.get(name.as_str()).copied();
            found.push(Candidate { name, shape, placed, away, detail: kind.to_owned(), id, fields });
        }
        self.few_of(found, |own| (own.name.as_str(), own.placed, own.away))
    }

    fn has_hole(&self, number: u32) -> bool {
        self.index.symbol(number).name.contains("{}")
    }

    /// A name as written where it is declared: with its holes.
    fn as_written(&self, number: u32) -> String {
        self.index.definition(number).map_or_else(
            || self.index.symbol(number).name.to_string(),
            |own| self.analysis.sources.file(own.at.file).tree.slice(own.at.span).to_owned(),
        )
    }

    /// Whether a path passes through this, by the text: what is inside of parts and repeats the circuit knows under other names.
    fn is_placed(&self, number: u32) -> bool {
        let elsewhere = self.index.of(number).filter(|own| own.at.file == FileId::MAIN && own.at.span != self.word);
        elsewhere
            .filter_map(|own| Some((own, self.analysis.sources.file(own.at.file).tree.stmts.get(own.stmt as usize)?)))
            .any(|(own, stmt)| matches!(&stmt.node.kind, StmtKind::Path(path) if passes(path, stmt, own.at.span)))
    }

    /// Whether the word that is replaced is what places the element.
    fn is_placed_by_the_word(&self, name: &str) -> bool {
        self.typed() == name
    }

    /// The sign of the terminal of an element that the line names before the cursor.
    fn met_before(&self, name: &str) -> Option<TokenKind> {
        let mut pairs = self.before.windows(2).filter(|pair| pair[0].kind.is_word() && pair[1].start == pair[0].end());
        let of = pairs
            .find(|pair| matches!(pair[1].kind, TokenKind::Plus | TokenKind::Minus) && self.text_of(&pair[0]) == name);
        of.map(|pair| pair[1].kind)
    }

    /// Whether the line goes through it before the cursor.
    fn passed_before(&self, name: &str) -> bool {
        self.before.iter().enumerate().any(|(at, token)| {
            let next = self.before.get(at + 1);
            let ends = next.is_some_and(|next| {
                next.start == token.end() && matches!(next.kind, TokenKind::Plus | TokenKind::Minus | TokenKind::Dot)
            });
            let entered = at > 0 && {
                let last = self.before[at - 1];
                last.end() == token.start && matches!(last.kind, TokenKind::Plus | TokenKind::Minus)
            };
            token.kind.is_word() && self.text_of(token) == name && (!ends || entered)
        })
    }
}

/// Whether a path goes through the name at a place, rather than to one of its terminals.
fn passes(path: &Segment, stmt: &Stmt, at: ohmline_syntax::Span) -> bool {
    path.items.iter().any(|item| match &item.kind {
        tree::ItemKind::Element { before, target, after } => {
            let own = target.parts.len() == 1 && stmt.span(target.parts[0].span) == at;
            own && before.is_some() == after.is_some()
        }
        tree::ItemKind::Group(alternatives) => alternatives.iter().any(|own| passes(own, stmt, at)),
        tree::ItemKind::Junction(_) => false,
    })
}

/// Whether an element has exactly two terminals.
pub(super) fn has_two_terminals(kind: Kind) -> bool {
    kind.terminals().len() == 2
}
