//! One step of a reduction, written into the text: two resistors in series or in parallel become one.

use ohmline_circuit::{Kind, Params, Rational, StateId};
use ohmline_report::declared;
use ohmline_syntax::tree::{ItemKind, Segment, StmtKind};
use ohmline_syntax::{Edit, Span};

use super::{Here, Rewrite, RewriteKind, plain_name, segments};
use crate::occurrences::{Role, SymbolKind};

/// A resistor that can be replaced: the document says nothing else of it than its value and its place.
struct Single {
    name: String,
    ohms: Rational,
    stmt: usize,
}

pub(super) fn offer(here: &Here<'_>, out: &mut Vec<Rewrite>) {
    let Some(path) = here.path() else { return };
    let stmt = here.stmt();
    let mut found: Option<(Vec<Single>, Span, bool)> = None;
    segments(path, &mut |segment: &Segment| {
        for pair in segment.items.windows(2) {
            let span = Span::new(stmt.span(pair[0].span).start, stmt.span(pair[1].span).end);
            if let (true, Some(a), Some(b)) = (span.touches(here.offset), plain_name(&pair[0]), plain_name(&pair[1]))
                && let (Some(a), Some(b)) = (single(here, a), single(here, b))
                && in_line(here, &a.name, &b.name)
            {
                found = Some((vec![a, b], span, true));
            }
        }
        for item in &segment.items {
            let ItemKind::Group(alternatives) = &item.kind else { continue };
            let span = stmt.span(item.span);
            let singles: Option<Vec<Single>> = alternatives
                .iter()
                .map(|own| match own.items.as_slice() {
                    [only] => single(here, plain_name(only)?),
                    _ => None,
                })
                .collect();
            if let Some(singles) = singles.filter(|singles| singles.len() > 1 && span.touches(here.offset)) {
                found = Some((singles, span, false));
            }
        }
    });
    let Some((singles, span, series)) = found else { return };
    let whole: Rational = if series {
        singles.iter().map(|own| own.ohms.clone()).sum()
    } else {
        Rational::from(1) / singles.iter().map(|own| Rational::from(1) / &own.ohms).sum::<Rational>()
    };
    let names: Vec<&str> = singles.iter().map(|own| own.name.as_str()).collect();
    let new = here.free_name("R_");
    let (how, formula) = if series {
        let values: Vec<String> = singles.iter().map(|own| value(&own.ohms)).collect();
        ("in series", values.join(" + "))
    } else {
        let values: Vec<String> = singles.iter().map(|own| format!("1 / ({})", value(&own.ohms))).collect();
        ("in parallel", format!("1 / ({})", values.join(" + ")))
    };
    // Every declaration goes but the first, which becomes that of the new resistor: exact, as the formula it came from.
    let mut edits: Vec<Edit> = vec![here.edit(span, new.clone())];
    for (number, own) in singles.iter().enumerate() {
        let range = here.tree.stmts[own.stmt].range();
        if number == 0 {
            let comment = if has_comment(here, range.end) {
                String::new()
            } else {
                format!("  # {} {how}: {}", names.join(" and "), value(&whole))
            };
            edits.push(here.edit(range, format!("resistor {new} = {formula}{comment}")));
        } else {
            edits.push(here.edit(whole_line(here, range), ""));
        }
    }
    edits.sort_by_key(|edit| edit.at.span.start);
    out.push(Rewrite {
        title: format!("Replace {} {how} by one resistor of {}", names.join(" and "), value(&whole)),
        kind: RewriteKind::Refactor,
        edits,
    });
}

/// A resistance as the notation writes it.
fn value(ohms: &Rational) -> String {
    declared(ohms, ohmline_circuit::Unit::Ohm).replace('\u{a0}', " ").replace('\u{3a9}', "ohm").replace('\u{b5}', "u")
}

/// Such a resistor: declared on a line of its own with a known resistance and no option, named nowhere else but here.
fn single(here: &Here<'_>, name: &str) -> Option<Single> {
    let circuit = &here.analysis.circuit;
    let id = *circuit.element_names.get(name)?;
    let element = circuit.element(id);
    let Params::Resistor { resistance, tolerance: None, rating: None } = &element.params else { return None };
    let ohms = resistance.known().filter(|ohms| **ohms > 0)?.clone();
    if element.kind != Kind::Resistor
        || element.copied
        || circuit.states.iter().any(|state| state.overrides.contains_key(&id) || state.faults.contains_key(&id))
    {
        return None;
    }
    let stmt = here.declared_alone(name)?;
    let StmtKind::Declare(declare) = &here.tree.stmts[stmt].node.kind else { return None };
    let is_plain = declare.options.is_empty() && declare.value.is_some();
    let scope = crate::occurrences::Scope { file: ohmline_syntax::FileId::MAIN, part: None };
    let symbol = here.index.named(scope, name).filter(|own| here.index.symbol(*own).kind == SymbolKind::Element)?;
    let uses = here.index.of(symbol).filter(|own| own.role == Role::Use).count();
    (is_plain && uses == 1).then(|| Single { name: name.to_owned(), ohms, stmt })
}

/// Whether the point between two neighbors in a path is joined to nothing else.
fn in_line(here: &Here<'_>, a: &str, b: &str) -> bool {
    let circuit = &here.analysis.circuit;
    let (Some(a), Some(b)) = (circuit.element_names.get(a), circuit.element_names.get(b)) else { return false };
    let (a, b) = (circuit.element(*a), circuit.element(*b));
    let between = a.terminals.get(1).filter(|node| b.terminals.first() == Some(node));
    between.is_some_and(|node| {
        circuit.ends(*node).len() == 2
            && circuit.node(*node).names.is_empty()
            && circuit.references.iter().all(|(own, _)| own != node)
            && circuit.doubtful_nodes.binary_search(node).is_err()
    }) && circuit.state_ids().next() == Some(StateId::DRAWN)
}

fn has_comment(here: &Here<'_>, end: u32) -> bool {
    here.tree.text[end as usize..].split('\n').next().is_some_and(|rest| rest.contains('#'))
}

/// The line of a statement with its end, so that nothing empty is left; a comment behind it stays as a line.
fn whole_line(here: &Here<'_>, range: Span) -> Span {
    let text = &here.tree.text;
    if has_comment(here, range.end) {
        return range;
    }
    let start = text[..range.start as usize].rfind('\n').map_or(0, |newline| newline + 1);
    let end = text[range.end as usize..].find('\n').map_or(text.len(), |newline| range.end as usize + newline + 1);
    Span::new(start as u32, end as u32)
}
