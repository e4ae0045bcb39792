//! The value of a resistor or capacitor rounded to the nearest that is made.

use ohmline_analysis::{Settings, analyze};
use ohmline_circuit::quantity::Style;
use ohmline_report::Shower;
use ohmline_syntax::tree::{ExprKind, StmtKind, ValueMain};

use super::{Here, Rewrite, RewriteKind};
use crate::preferred::Series;
use crate::rename::apply;

/// Circuits up to this size are solved again, to say what the change does to the answers.
const SOLVED_AGAIN: usize = 200;

pub(super) fn offer(here: &Here<'_>, out: &mut Vec<Rewrite>) {
    let StmtKind::Declare(declare) = &here.stmt().node.kind else { return };
    if !matches!(declare.kind.text.as_str(), "resistor" | "capacitor" | "electrolytic") {
        return;
    }
    let Some(value) = &declare.value else { return };
    let ValueMain::Expr(expr) = &value.main else { return };
    let ExprKind::Number { text, unit: Some(_) } = &expr.kind else { return };
    let Ok(number) = text.parse::<f64>() else { return };
    let percent =
        declare.options.iter().find(|option| option.name.text == "tolerance").and_then(|option| {
            match &option.value.main {
                ValueMain::Expr(expr) => match &expr.kind {
                    ExprKind::Number { text, .. } => text.parse::<f64>().ok(),
                    _ => None,
                },
                ValueMain::Unknown { .. } => None,
            }
        });
    let series = percent.map_or(Series::E24, Series::for_tolerance);
    let Some(nearest) = series.nearest(number, 1).first().copied().filter(|nearest| *nearest != number) else { return };
    let span = here.stmt().span(expr.span);
    let digits = ohmline_syntax::Span::new(span.start, span.start + text.len() as u32);
    let edits = vec![here.edit(digits, format!("{nearest}"))];
    let name = &declare.names[0].text;
    let mut title = format!("Take the preferred value {nearest} for {name} ({})", series.name());
    if here.analysis.circuit.elements.len() <= SOLVED_AGAIN {
        let after = analyze(apply(&here.analysis.sources, &edits), &Settings::default());
        let answer = |analysis: &ohmline_analysis::Analysis| {
            let (ask, answer) = (analysis.circuit.finds.first()?, analysis.answers.finds.first()?);
            let state = analysis.answers.states.get(ask.state.index())?;
            let number = answer.value.as_ref().ok()?;
            Some((ask.text.clone(), Shower::new(Style::Digits(3), state).number(number, answer.unit)))
        };
        if let (Some((question, before)), Some((_, then))) = (answer(here.analysis), answer(&after)) {
            title.push_str(&if before == then {
                format!("; the {question} stays {before}")
            } else {
                format!("; the {question} goes from {before} to {then}")
            });
        }
    }
    out.push(Rewrite { title, kind: RewriteKind::Change, edits });
}
