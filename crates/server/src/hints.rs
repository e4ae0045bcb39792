//! Solved values shown beside the text.

use ohmline_analysis::Analysis;
use ohmline_circuit::quantity::{Style, show};
use ohmline_circuit::{Circuit, Element, Unit};
use ohmline_solve::{Number, StateAnswers, Value};
use ohmline_syntax::tree::{Declare, Item, ItemKind, Segment, Sign, Stmt, StmtKind};
use ohmline_syntax::{FileId, Span};

use crate::target::ref_text;

/// Significant digits of every value shown.
const DIGITS: Style = Style::Digits(3);

/// A value beside the text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hint {
    /// Behind which byte it stands.
    pub at: u32,
    /// What is shown.
    pub text: String,
    /// What is shown when the pointer rests on it.
    pub tooltip: Option<String>,
}

/// The hints for the statements that touch a stretch of the document: current and voltage behind declared
/// elements, and, if wanted, currents and potentials along paths. All of the circuit as drawn. Nothing is shown inside parts and
/// `repeat`, where one place stands for many elements.
pub fn hints(analysis: &Analysis, range: Span, paths: bool) -> Vec<Hint> {
    let (Some(main), Some(state)) = (analysis.sources.files.first(), analysis.answers.states.first()) else {
        return Vec::new();
    };
    let maker = Maker { circuit: &analysis.circuit, state };
    let stmts = &main.tree.stmts;
    let first = stmts.partition_point(|stmt| stmt.range().end < range.start);
    let mut found = Vec::new();
    for stmt in stmts[first..].iter().take_while(|stmt| stmt.offset <= range.end) {
        match &stmt.node.kind {
            StmtKind::Declare(declare) => maker.declaration(stmt, declare, &mut found),
            StmtKind::Path(segment) if paths => maker.segment(stmt, segment, true, &mut found),
            _ => {}
        }
    }
    found.retain(|hint| range.touches(hint.at));
    found
}

struct Maker<'a> {
    circuit: &'a Circuit,
    state: &'a StateAnswers,
}

impl Maker<'_> {
    /// The element of this name, if it is the only one that stands at the place.
    fn element(&self, name: &str, at: Span) -> Option<(&Element, usize)> {
        let id = *self.circuit.element_names.get(name)?;
        let element = self.circuit.element(id);
        let here = |place: &ohmline_syntax::FileSpan| {
            place.file == FileId::MAIN && place.span.start < at.end && at.start < place.span.end
        };
        let stands_here = here(&element.declared) || element.uses.iter().any(here);
        (!element.copied && stands_here).then_some((element, id.index()))
    }

    fn declaration(&self, stmt: &Stmt, declare: &Declare, found: &mut Vec<Hint>) {
        let single = declare.names.len() == 1;
        for name in &declare.names {
            let span = stmt.span(name.span);
            let Some((_, index)) = self.element(name.text.as_str(), span) else { continue };
            let Some(Some(answer)) = self.state.elements.get(index) else { continue };
            let values = [(&answer.current, Unit::Ampere), (&answer.voltage, Unit::Volt)];
            let shown: Vec<_> =
                values.iter().filter_map(|(value, unit)| Some(show(value.as_ref()?.known()?, *unit, DIGITS))).collect();
            let undetermined = values.iter().any(|(value, _)| matches!(value, Some(Value::Undetermined(_))));
            let text = match (shown.is_empty(), undetermined) {
                (false, _) => shown.join(", "),
                (true, true) => "undetermined".to_owned(),
                (true, false) => continue,
            };
            let at = if single { stmt.range().end } else { span.end };
            found.push(Hint { at, text, tooltip: Some(format!("{}, as drawn", name.text)) });
        }
    }

    /// Hints along a path; `outer` when its ends are the ends of the path itself.
    fn segment(&self, stmt: &Stmt, segment: &Segment, outer: bool, found: &mut Vec<Hint>) {
        let last = segment.items.len().saturating_sub(1);
        for (index, item) in segment.items.iter().enumerate() {
            self.item(stmt, item, outer && index == 0, outer && index == last, found);
        }
    }

    fn item(&self, stmt: &Stmt, item: &Item, leaves: bool, arrives: bool, found: &mut Vec<Hint>) {
        let span = stmt.span(item.span);
        match &item.kind {
            ItemKind::Group(alternatives) => {
                alternatives.iter().for_each(|inner| self.segment(stmt, inner, false, found));
            }
            ItemKind::Junction(name) => {
                let node = self.circuit.junction_names.get(&name.text);
                let potential = node.and_then(|id| self.state.potentials.get(id.index()));
                if let Some(Value::Known(number)) = potential {
                    found.push(Hint {
                        at: span.end,
                        text: show(number, Unit::Volt, DIGITS),
                        tooltip: Some(format!("potential at @{}, as drawn", name.text)),
                    });
                }
            }
            ItemKind::Element { before, target, after } => {
                let full = ref_text(target);
                let owner = full.rsplit_once('.').map(|(owner, terminal)| (owner, Some(terminal)));
                let candidates = [Some((full.as_str(), None)), owner];
                let element = candidates.into_iter().flatten().find_map(|(name, terminal)| {
                    self.element(name, span).map(|(element, index)| (element, index, terminal))
                });
                let Some((element, index, terminal)) = element else { return };
                let Some(Some(answer)) = self.state.elements.get(index) else { return };
                let names = element.kind.terminals();
                let of = |wanted: &str| names.iter().position(|name| *name == wanted);
                // The terminal at which the path meets the element, and whether it enters there.
                let (at, enters) = match (before, after, terminal) {
                    (_, _, Some(terminal)) => (of(terminal), arrives && !leaves),
                    (Some(sign), _, _) => (of(sign_text(*sign)), true),
                    (None, Some(sign), _) => (of(sign_text(*sign)), arrives && !leaves),
                    (None, None, None) => (Some(0), true),
                };
                let Some(Value::Known(into)) = at.and_then(|at| answer.into.get(at)) else { return };
                let along = if enters { into.clone() } else { negated(into) };
                found.push(Hint {
                    at: span.end,
                    text: arrow(&along),
                    tooltip: Some(format!("current along the path at {full}, as drawn")),
                });
            }
        }
    }
}

fn sign_text(sign: Sign) -> &'static str {
    match sign {
        Sign::Plus => "+",
        Sign::Minus => "-",
    }
}

/// A number with the opposite sign.
pub fn negated(number: &Number) -> Number {
    match number {
        Number::Exact(value) => Number::exact(-&**value),
        Number::Float(value) => Number::Float(-*value),
    }
}

/// A current along a path: its size, and an arrow for where it really goes.
fn arrow(along: &Number) -> String {
    let value = along.to_f64();
    if value == 0.0 {
        return show(along, Unit::Ampere, DIGITS);
    }
    if value < 0.0 {
        format!("← {}", show(&negated(along), Unit::Ampere, DIGITS))
    } else {
        format!("→ {}", show(along, Unit::Ampere, DIGITS))
    }
}
