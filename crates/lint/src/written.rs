//! What is written: names that are used, units as spelled, digits of a number.

use ohmline_syntax::tree::{Expr, ExprKind, Quantity, Stmt, StmtKind, Value, ValueMain};
use ohmline_syntax::{Span, Tree};
use rustc_hash::FxHashSet;

/// Calls back for every expression of a statement, outermost first.
fn expressions<'t>(stmt: &'t Stmt, each: &mut dyn FnMut(&'t Expr)) {
    let asked = |quantity: &'t Quantity, each: &mut dyn FnMut(&'t Expr)| {
        if let Some(after) = &quantity.after {
            expression(after, each);
        }
    };
    match &stmt.node.kind {
        StmtKind::Let { value, .. } => of_value(value, each),
        StmtKind::Declare(declare) => {
            declare
                .value
                .iter()
                .chain(declare.options.iter().map(|option| &option.value))
                .for_each(|value| of_value(value, each));
        }
        StmtKind::Find { quantity, .. } => asked(quantity, each),
        StmtKind::Given { quantity, value, .. } => {
            asked(quantity, each);
            expression(value, each);
        }
        StmtKind::Measured { quantity, value, within, .. }
        | StmtKind::ClaimQuantity { quantity, value, within, .. } => {
            asked(quantity, each);
            expression(value, each);
            if let Some(within) = within {
                expression(within, each);
            }
        }
        StmtKind::Case { assigns, .. } => assigns.iter().for_each(|assign| of_value(&assign.value, each)),
        StmtKind::Part { parameters, .. } => parameters.iter().for_each(|option| of_value(&option.value, each)),
        StmtKind::Repeat { from, to, .. } => {
            expression(from, each);
            expression(to, each);
        }
        StmtKind::Circuit(_)
        | StmtKind::Include(_)
        | StmtKind::Path(_)
        | StmtKind::Reference(_)
        | StmtKind::ClaimRelation { .. }
        | StmtKind::End
        | StmtKind::Error => {}
    }
}

fn of_value<'t>(value: &'t Value, each: &mut dyn FnMut(&'t Expr)) {
    if let ValueMain::Expr(expr) = &value.main {
        expression(expr, each);
    }
    if let Some(at) = &value.at {
        expression(at, each);
    }
}

fn expression<'t>(expr: &'t Expr, each: &mut dyn FnMut(&'t Expr)) {
    each(expr);
    match &expr.kind {
        ExprKind::Number { .. } | ExprKind::Ref(_) => {}
        ExprKind::Neg(inner) | ExprKind::Group { inner, .. } => expression(inner, each),
        ExprKind::Binary { left, right, .. } => {
            expression(left, each);
            expression(right, each);
        }
    }
}

/// The first word of every reference in an expression, and of everything that a case sets.
pub fn used_names(tree: &Tree) -> FxHashSet<&str> {
    names_in(&tree.stmts)
}

/// The same in some statements of a tree.
pub fn names_in(stmts: &[Stmt]) -> FxHashSet<&str> {
    let mut used = FxHashSet::default();
    for stmt in stmts {
        expressions(stmt, &mut |expr| {
            if let ExprKind::Ref(name) = &expr.kind {
                used.extend(name.parts.first().map(|part| part.text.as_str()));
            }
        });
        if let StmtKind::Case { assigns, .. } = &stmt.node.kind {
            used.extend(assigns.iter().filter_map(|assign| assign.target.parts.first()).map(|part| part.text.as_str()));
        }
    }
    used
}

/// The place of every unit that stands as a word of its own.
pub fn units(tree: &Tree) -> Vec<Span> {
    let mut all = Vec::new();
    for stmt in &tree.stmts {
        expressions(stmt, &mut |expr| match &expr.kind {
            ExprKind::Number { unit: Some(unit), .. } | ExprKind::Group { unit: Some(unit), .. } => {
                all.push(stmt.span(unit.span))
            }
            _ => {}
        });
    }
    all
}

/// How many significant digits a number is written with, zeros at the end of a decimal fraction included: 3 for `120`, 4 for `120.0`,
/// 2 for `0.0047`; 0 for anything but a plain number.
pub fn significant_digits(text: &str) -> usize {
    let number: &str = text.trim_start();
    let end = number.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(number.len());
    let digits = number[..end].trim_start_matches(['0', '.']);
    let counted = digits.chars().filter(char::is_ascii_digit).count();
    // Zeros before the decimal point may only hold its place.
    if digits.contains('.') || number[..end].contains('.') {
        counted
    } else {
        digits.trim_end_matches('0').len().max(1).min(counted)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_count_as_written() {
        for (text, digits) in
            [("120 ohm", 2), ("120.0 ohm", 4), ("0.0047 ohm", 2), ("4.70 kohm", 3), ("1234 ohm", 4), ("", 0)]
        {
            assert_eq!(significant_digits(text), digits, "{text}");
        }
    }

    #[test]
    fn names_and_units_are_found_wherever_they_stand() {
        let tree = ohmline_syntax::parse(
            "let a = 2 ohm\nresistor R1 = a + 3 kohm, rating b\ncase \"x\": c = 4 V\nclaim power of R1 = d within e\n",
        );
        let mut used: Vec<&str> = used_names(&tree).into_iter().collect();
        used.sort_unstable();
        assert_eq!(used, ["a", "b", "c", "d", "e"]);
        let units: Vec<&str> = units(&tree).into_iter().map(|span| tree.slice(span)).collect();
        assert_eq!(units, ["ohm", "kohm", "V"]);
    }
}
