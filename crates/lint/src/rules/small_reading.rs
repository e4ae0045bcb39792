//! small-reading: a meter uses only the first bit of its range.

use ohmline_circuit::{Kind, Params, Rational, Unit};
use ohmline_solve::Number;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct SmallReading;

static META: Meta = Meta {
    name: "small-reading",
    severity: Severity::Hint,
    group: Group::Meters,
    summary: "a meter uses only the first bit of its range",
    why: "Most meters are accurate to a share of their full range, so a reading near the beginning of it says little: half \
          a percent of 10 A is 50 mA. Common practice is a reading in the upper half; source none.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 60 ohm\n\
          ammeter  A1, range 10 A\n\
          B1+ -- +A1- -- R1 -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 60 ohm\n\
          ammeter  A1, range 200 mA\n\
          B1+ -- +A1- -- R1 -- B1-\n",
    ignore_when: "the meter chooses its range by itself",
    fix: "None: take a smaller range.",
};

impl Rule for SmallReading {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for id in facts.of_kinds(&[Kind::Ammeter, Kind::Voltmeter]) {
            let (range, unit) = match &facts.circuit.element(id).params {
                Params::Ammeter { range: Some(range), .. } => (range, Unit::Ampere),
                Params::Voltmeter { range: Some(range), .. } => (range, Unit::Volt),
                _ => continue,
            };
            let readings = facts.solved().map(|answers| match unit {
                Unit::Ampere => facts.amperes(answers.state, id),
                _ => facts.volts(answers.state, id),
            });
            let largest = readings.flatten().map(f64::abs).fold(0.0, f64::max);
            let full = Number::exact(Rational::clone(range)).to_f64();
            if largest > 0.0 && largest < full * facts.limits().small_reading {
                let name = facts.name(id);
                let percent = wording::plain(largest / full * 100.0);
                let message =
                    format!("{name} reads {} at most, {percent} % of its range", wording::float(largest, unit));
                found.push(
                    Diagnostic::new(META.name, META.severity, facts.place(id), message)
                        .ask(format!("How well can {name} tell so small a part of its range?"))
                        .help("Choose a smaller range"),
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
            &super::SmallReading,
            expect![[r#"
            hint small-reading: A1 reads 100 mA at most, 1 % of its range
              at 4:8 `+A1-`
              ask: How well can A1 tell so small a part of its range?
              help: Choose a smaller range
        "#]],
        );
    }
}
