//! off-series: a value is not in the series of its tolerance.

use ohmline_circuit::Rational;
use ohmline_circuit::{Amount, Kind, Params, Unit};
use ohmline_syntax::Safety;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct OffSeries;

static META: Meta = Meta {
    name: "off-series",
    severity: Severity::Hint,
    group: Group::ValuesAndUnits,
    summary: "a value is not in the series of its tolerance",
    why: "Resistors are made in the values of the E series (IEC 60063): 24 a decade at 5 %, 12 at 10 %. A value in between \
          has to be put together from two, or chosen anew.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 210 ohm, tolerance 5%\n\
          B1+ -- R1 -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 220 ohm, tolerance 5%\n\
          B1+ -- R1 -- B1-\n",
    ignore_when: "the circuit is solved on paper only",
    fix: "Writes the nearest value of the series. Answers change a little.",
};

impl Rule for OffSeries {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        for &id in facts.of_kind(Kind::Resistor) {
            let element = facts.circuit.element(id);
            let Params::Resistor { resistance: Amount::Known(ohms), tolerance: Some(tolerance), .. } = &element.params
            else {
                continue;
            };
            let share = ohmline_solve::Number::exact(Rational::clone(tolerance)).to_f64();
            let value = ohmline_solve::Number::exact(ohms.clone()).to_f64();
            let Some((series, values)) = series(share) else { continue };
            if value <= 0.0
                || element.copied
                || is_member(&values, value)
                || is_member(&two_digits(24), value) && share < 0.05
            {
                continue;
            }
            let near = nearest(&values, value);
            let shown = wording::float(near, Unit::Ohm).replace("Ω", "ohm");
            let shown = tidy(&shown);
            let message = format!(
                "{} is no value of the series {series} for its tolerance: the nearest is {shown}",
                element.name
            );
            let mut said = Diagnostic::new(META.name, META.severity, element.value_at, message)
                .ask(format!("Which value can you buy that is nearest to {}?", element.name));
            let shares_value = facts
                .circuit
                .element_ids()
                .filter(|other| facts.circuit.element(*other).value_at == element.value_at)
                .count()
                > 1;
            if !shares_value {
                said = said.fix(format!("Write `{shown}`"), Safety::Asks, element.value_at, shown);
            }
            found.push(said);
        }
    }
}

/// The series that goes with a tolerance: its name and the values of one decade, from 1 to below 10 (IEC 60063).
fn series(share: f64) -> Option<(&'static str, Vec<f64>)> {
    let is = |percent: f64| (share - percent / 100.0).abs() < 1e-9;
    if is(20.0) {
        Some(("E6", two_digits(6)))
    } else if is(10.0) {
        Some(("E12", two_digits(12)))
    } else if is(5.0) {
        Some(("E24", two_digits(24)))
    } else if is(2.0) {
        Some(("E48", three_digits(48)))
    } else if is(1.0) {
        Some(("E96", three_digits(96)))
    } else {
        None
    }
}

/// The values of E24 (IEC 60063), of which E12 is every second and E6 every fourth.
const E24: [f64; 24] = [
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2,
    9.1,
];

fn two_digits(count: usize) -> Vec<f64> {
    E24.iter().step_by(24 / count).copied().collect()
}

/// The finer series are geometric, rounded to three digits (IEC 60063).
fn three_digits(count: usize) -> Vec<f64> {
    (0..count).map(|at| (10f64.powf(at as f64 / count as f64) * 100.0).round() / 100.0).collect()
}

/// The value as a number from 1 to below 10 and its power of ten.
fn decade(value: f64) -> (f64, i32) {
    let power = value.log10().floor() as i32;
    (value / 10f64.powi(power), power)
}

fn is_member(values: &[f64], value: f64) -> bool {
    let (mantissa, _) = decade(value);
    values.iter().any(|member| (member - mantissa).abs() < 1e-9 || (member * 10.0 - mantissa).abs() < 1e-8)
        || (mantissa - 10.0).abs() < 1e-9
}

fn nearest(values: &[f64], value: f64) -> f64 {
    let (mantissa, power) = decade(value);
    let mut best = 10.0;
    for member in values {
        if (member - mantissa).abs() < (best - mantissa).abs() {
            best = *member;
        }
    }
    best * 10f64.powi(power)
}

/// `220 ohm` for `220 ohm`, `9.1 ohm` for `9.10 ohm`.
fn tidy(shown: &str) -> String {
    match shown.split_once(' ') {
        Some((number, unit)) if number.contains('.') => {
            format!("{} {unit}", number.trim_end_matches('0').trim_end_matches('.'))
        }
        _ => shown.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::OffSeries,
            expect![[r#"
            hint off-series: R1 is no value of the series E24 for its tolerance: the nearest is 200 ohm
              at 2:15 `210 ohm`
              ask: Which value can you buy that is nearest to R1?
              fix: Write `200 ohm` (2:15 `210 ohm` -> "200 ohm")
        "#]],
        );
    }

    #[test]
    fn values_of_the_series() {
        // IEC 60063: 100, 102, 105, 107, 110 begin E96; 1.0, 1.05, 1.10, 1.15 begin E48.
        assert_eq!(super::three_digits(96)[..5], [1.0, 1.02, 1.05, 1.07, 1.10]);
        assert_eq!(super::three_digits(48)[..4], [1.0, 1.05, 1.10, 1.15]);
        assert_eq!(super::two_digits(6), [1.0, 1.5, 2.2, 3.3, 4.7, 6.8]);
    }
}
