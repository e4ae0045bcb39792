//! failed-measurement: a meter's reading and the prediction do not agree.

use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct FailedMeasurement;

static META: Meta = Meta {
    name: "failed-measurement",
    severity: Severity::Warning,
    group: Group::ClaimsAndAnswers,
    summary: "a meter's reading and the prediction do not agree",
    why: "A reading that lies outside what the circuit predicts is where experiment teaches: a wrong value, a wrong range, a bad contact, \
          a flat battery, or a meter that changes what it measures.",
    bad: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 6 ohm\nB1+ -- R1 -- R2 -- B1-\nmeasured voltage across R1 = 3.1 V within 1%\n",
    good: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 6 ohm\nB1+ -- R1 -- R2 -- B1-\nmeasured voltage across R1 = 2.7 V within 1%\n",
    ignore_when: "The reading is kept as it was taken, and the difference is the lesson",
    fix: "None: find out whether the circuit or the reading is off.",
};

impl Rule for FailedMeasurement {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for (reading, verdict) in facts.circuit.measured.iter().zip(&facts.answers.measured) {
            let (Some(false), Ok(predicted)) = (verdict.agrees, &verdict.predicted) else { continue };
            let case = facts.circuit.states[reading.ask.state.index()].name.as_ref();
            let place = case.map(|name| format!(" in \"{name}\"")).unwrap_or_default();
            let read = facts.slice(reading.stated.at);
            let predicted = wording::apart(predicted, verdict.unit, &reading.stated, read);
            let message = format!(
                "The reading of the {}{place}, {read}, does not agree with the predicted {predicted}",
                reading.ask.text
            );
            let mut said = Diagnostic::new(META.name, META.severity, reading.stated.at, message)
                .here(format!("predicted: {predicted}"))
                .ask("Does the difference come from the parts, the meter, or the drawing?");
            said.cases = case.iter().map(ToString::to_string).collect();
            found.push(
                said.help(
                    "Look for a wrong value, a loose contact, or a meter that loads the circuit and is not drawn",
                ),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_reading_is_off() {
        rule_says(
            "failed-measurement",
            "battery B1 = 4.5 V\n\
             resistor R1 = 9 ohm\n\
             resistor R2 = 6 ohm\n\
             B1+ -- R1 -- R2 -- B1-\n\
             measured voltage across R1 = 3.1 V within 1%\n",
            expect![[r#"
                warning failed-measurement: The reading of the voltage across R1, 3.1 V, does not agree with the predicted 2.7 V
                  at 5:30 `3.1 V` predicted: 2.7 V
                  ask: Does the difference come from the parts, the meter, or the drawing?
                  help: Look for a wrong value, a loose contact, or a meter that loads the circuit and is not drawn
            "#]],
        );
    }
}
