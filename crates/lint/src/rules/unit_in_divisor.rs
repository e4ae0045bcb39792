//! unit-in-divisor: the value of a resistor divides a number by ohms, and so is a conductance.

use ohmline_circuit::quantity::{Dimension, read_literal};
use ohmline_circuit::{Amount, Kind, Params, Unit};
use ohmline_syntax::tree::{BinaryOp, Expr, ExprKind, Stmt, StmtKind, ValueMain};
use ohmline_syntax::{Diagnostic, FileSpan, Safety, Severity};
use rustc_hash::FxHashSet;

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::{places, wording};

/// See the module.
pub struct UnitInDivisor;

static META: Meta = Meta {
    name: "unit-in-divisor",
    severity: Severity::Warning,
    group: Group::ValuesAndUnits,
    summary: "the value of a resistor divides a number by ohms, so it is a conductance",
    why: "A unit belongs to the number before it. `1/3 ohm` is one divided by three ohms: a conductance, and a resistor of that conductance has \
          3 ohms, nine times the third of an ohm that was likely meant.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 1/3 ohm\n\
          resistor R2 = 12 ohm\n\
          B1+ -- R1 -- R2 -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = (1/3) ohm\n\
          resistor R2 = 12 ohm\n\
          B1+ -- R1 -- R2 -- B1-\n",
    ignore_when: "the conductance is meant; with brackets, as in `1/(3 ohm)`, or in siemens it says so",
    fix: "Writes the division in brackets and the unit behind them. The resistance is another one then, so answers change.",
};

impl Rule for UnitInDivisor {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut said: FxHashSet<FileSpan> = FxHashSet::default();
        for id in facts.of_kinds(&[Kind::Resistor]) {
            let element = facts.circuit.element(id);
            let Params::Resistor { resistance: Amount::Known(ohms), .. } = &element.params else { continue };
            let Some((tree, stmt)) = places::statement(facts, element.value_at) else { continue };
            let Some(division) = division(stmt).filter(|_| said.insert(element.value_at)) else { continue };
            let at = FileSpan::new(element.value_at.file, stmt.span(division.whole.span));
            let written = facts.slice(at);
            let is = wording::exact(ohms, Unit::Ohm);
            let message = format!("`{written}` divides by ohms: it is a conductance, and {} has {is}", element.name);
            let mut warning = Diagnostic::new(META.name, META.severity, at, message)
                .ask(format!("How many ohms does {} have: more than one, or less?", element.name));
            warning = match division.unit {
                Some((number, unit)) => {
                    let left = tree.slice(stmt.span(division.left.span));
                    let text = format!("({left}/{number}) {unit}");
                    warning
                        .help(format!(
                            "For the fraction of an ohm, write `{text}`; a conductance reads better in siemens"
                        ))
                        .fix(format!("Write `{text}`"), Safety::Asks, at, text)
                }
                None => warning.help("Write the resistance itself, or the conductance in siemens"),
            };
            found.push(warning);
        }
    }
}

/// A division of a plain number by a resistance.
struct Division<'t> {
    whole: &'t Expr,
    left: &'t Expr,
    /// The number and the unit of the divisor, where the unit is a word of its own.
    unit: Option<(&'t str, &'t str)>,
}

/// The value that a statement declares, when it is such a division.
fn division(stmt: &Stmt) -> Option<Division<'_>> {
    let StmtKind::Declare(declare) = &stmt.node.kind else { return None };
    let ValueMain::Expr(whole) = &declare.value.as_ref()?.main else { return None };
    let ExprKind::Binary { op: BinaryOp::Div, left, right } = &whole.kind else { return None };
    let ExprKind::Number { text, unit } = &right.kind else { return None };
    let unit = unit.as_ref().map(|unit| unit.text.as_str());
    let read = read_literal(text, unit, None).ok()?;
    (read.dimension == Dimension::OHM && is_plain(left)).then(|| {
        // In `1/3ohm` and `1/1k5` the unit is part of the number's own letters.
        let number = text.as_str();
        let word = number.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        let unit = match unit {
            Some(unit) if word.is_empty() => Some((number, unit)),
            None if word.chars().all(char::is_alphabetic) && word.len() > 1 => {
                Some((&number[..number.len() - word.len()], word))
            }
            _ => None,
        };
        Division { whole, left, unit }
    })
}

/// Whether an expression is made of plain numbers alone.
fn is_plain(expr: &Expr) -> bool {
    let mut todo = vec![expr];
    while let Some(expr) = todo.pop() {
        match &expr.kind {
            ExprKind::Number { text, unit: None } => {
                if !read_literal(text, None, None).is_ok_and(|read| read.dimension == Dimension::NONE) {
                    return false;
                }
            }
            ExprKind::Neg(inner) | ExprKind::Group { inner, unit: None } => todo.push(inner),
            ExprKind::Binary { left, right, .. } => todo.extend([&**left, &**right]),
            _ => return false,
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::{check, example_says, rule_says};

    #[test]
    fn the_example() {
        example_says(
            &super::UnitInDivisor,
            expect![[r#"
            warning unit-in-divisor: `1/3 ohm` divides by ohms: it is a conductance, and R1 has 3.00 Ω
              at 2:15 `1/3 ohm`
              ask: How many ohms does R1 have: more than one, or less?
              help: For the fraction of an ohm, write `(1/3) ohm`; a conductance reads better in siemens
              fix: Write `(1/3) ohm` (2:15 `1/3 ohm` -> "(1/3) ohm")
        "#]],
        );
    }

    #[test]
    fn a_letter_code_has_no_unit_to_move() {
        rule_says(
            "unit-in-divisor",
            "battery B1 = 6 V\nresistor R1, R2 = 1/1k5\nresistor R3 = 2*1/3ohm\nB1+ -- R1 -- R2 -- R3 -- B1-\n",
            expect![[r#"
                warning unit-in-divisor: `1/1k5` divides by ohms: it is a conductance, and R1 has 1.50 kΩ
                  at 2:19 `1/1k5`
                  ask: How many ohms does R1 have: more than one, or less?
                  help: Write the resistance itself, or the conductance in siemens
                warning unit-in-divisor: `2*1/3ohm` divides by ohms: it is a conductance, and R3 has 1.50 Ω
                  at 3:15 `2*1/3ohm`
                  ask: How many ohms does R3 have: more than one, or less?
                  help: For the fraction of an ohm, write `(2*1/3) ohm`; a conductance reads better in siemens
                  fix: Write `(2*1/3) ohm` (3:15 `2*1/3ohm` -> "(2*1/3) ohm")
            "#]],
        );
    }

    #[test]
    fn what_says_that_it_is_a_conductance_is_silent() {
        for value in ["0.5 S", "1/(3 ohm)", "1/0.5 S", "(1/3) ohm", "6 ohm/3", "12 V/3 A", "1 S/4"] {
            let text = format!("battery B1 = 6 V\nresistor R1 = {value}\nB1+ -- R1 -- B1-\n");
            assert!(check(&text).iter().all(|said| said.rule != "unit-in-divisor"), "{value}");
        }
    }
}
