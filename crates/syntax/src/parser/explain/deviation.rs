//! How far a value may be off, written as something added to it or taken from it: `3 ohm ± 5%`, `3 ohm +- 5%`.

use super::View;
use crate::diagnostic::{Problem, Safety};
use crate::lexer::TokenKind as K;
use crate::span::RelSpan;
use crate::tree::{BinaryOp, Expr, ExprKind, StmtKind, ValueMain};
use crate::words;

/// The place of the two signs in a value that ends in `+-` and a share, or in `+-` written as one sign.
pub(super) fn added(kind: &StmtKind) -> Option<RelSpan> {
    let value = match kind {
        StmtKind::Declare(declare) => match &declare.value.as_ref()?.main {
            ValueMain::Expr(value) => value,
            ValueMain::Unknown { .. } => return None,
        },
        StmtKind::ClaimQuantity { value, .. } | StmtKind::Measured { value, .. } | StmtKind::Given { value, .. } => {
            value
        }
        _ => return None,
    };
    let ExprKind::Binary { op: BinaryOp::Add, right, .. } = &value.kind else { return None };
    let ExprKind::Neg(off) = &right.kind else { return None };
    is_share(off).then(|| RelSpan::new(right.span.start, off.span.start))
}

fn is_share(value: &Expr) -> bool {
    matches!(&value.kind, ExprKind::Number { unit: Some(unit), .. } if unit.text == "%")
}

/// The slip whose `-` is at a place.
pub(super) fn of_sign(view: View<'_>, minus: RelSpan) -> Problem {
    let minus = view.tokens.iter().position(|token| token.start - view.base == minus.start).unwrap_or(1).max(1);
    deviation(view, minus - 1, minus)
}

/// `+/-`
pub(super) fn slashed(view: View<'_>, at: usize) -> Option<Problem> {
    let one = view.is(at, K::Slash) && view.joined(at) && view.is(at + 1, K::Minus) && view.joined(at + 1);
    (one && at > 1 && view.is(at - 1, K::Plus)).then(|| deviation(view, at - 1, at + 1))
}

/// The slip whose signs go from one token to another.
pub(super) fn deviation(view: View<'_>, from: usize, to: usize) -> Problem {
    let sign = view.words(from, to);
    let message = format!("`{sign}` does not say how far a value may be off");
    let problem = Problem::new("unreadable-statement", view.between(from, to), message);
    let place = RelSpan::new(view.gap(from).start, view.gap(to + 1).end);
    let number = view.is(to + 1, K::Number);
    match view.kind(0) {
        Some(K::Claim | K::Measured) if number => problem.help("`within` says it: `= 1 A within 5%`").fix(
            "Write `within`",
            Safety::Asks,
            vec![(place, " within ".into())],
        ),
        Some(K::Kind) => {
            let takes = words::options_of(view.word(0)).iter().any(|option| option.name == "tolerance");
            let help = if takes {
                "the option `tolerance` says it: `resistor R1 = 9 ohm, tolerance 5%`".to_owned()
            } else {
                format!("`{}` takes no tolerance; only a resistor does", view.word(0))
            };
            if takes && number && view.is(to + 2, K::Percent) {
                problem.help(help).fix("Write `, tolerance`", Safety::Asks, vec![(place, ", tolerance ".into())])
            } else {
                problem.help(help)
            }
        }
        _ => problem.help("a value that is given or named holds exactly; a `claim` or `measured` may say `within 5%`"),
    }
}
