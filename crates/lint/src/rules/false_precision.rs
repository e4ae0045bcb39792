//! false-precision: a value has more digits than its tolerance bears.

use ohmline_circuit::{Amount, Kind, Params, Rational};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct FalsePrecision;

static META: Meta = Meta {
    name: "false-precision",
    severity: Severity::Hint,
    group: Group::ValuesAndUnits,
    summary: "a value has more digits than its tolerance bears",
    why: "A resistor of 5 % is somewhere within a tenth of its value. Four digits promise a hundred times more than that, \
          and readers carry them through the whole calculation.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 120.0 ohm, tolerance 5%\n\
          B1+ -- R1 -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 120 ohm, tolerance 5%\n\
          B1+ -- R1 -- B1-\n",
    ignore_when: "the value has been measured; then leave the tolerance out",
    fix: "None: only you know which of the two is meant.",
};

impl Rule for FalsePrecision {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() {
            return;
        }
        for &id in facts.of_kind(Kind::Resistor) {
            let element = facts.circuit.element(id);
            let Params::Resistor { resistance: Amount::Known(_), tolerance: Some(tolerance), .. } = &element.params
            else {
                continue;
            };
            let share = ohmline_solve::Number::exact(Rational::clone(tolerance)).to_f64();
            let allowed = match share {
                share if share >= 0.05 => 3,
                share if share >= 0.005 => 4,
                _ => continue,
            };
            let text = facts.slice(element.value_at);
            let digits = crate::written::significant_digits(text);
            if digits > allowed {
                let percent = wording::plain(share * 100.0);
                let message =
                    format!("{} is written with {digits} digits, and its tolerance is {percent} %", element.name);
                found.push(
                    Diagnostic::new(META.name, META.severity, element.value_at, message)
                        .ask(format!("Between which two values may {} lie?", element.name))
                        .help("Leave out the digits that the tolerance does not bear"),
                );
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::FalsePrecision,
            expect![[r#"
            hint false-precision: R1 is written with 4 digits, and its tolerance is 5 %
              at 2:15 `120.0 ohm`
              ask: Between which two values may R1 lie?
              help: Leave out the digits that the tolerance does not bear
        "#]],
        );
    }
}
