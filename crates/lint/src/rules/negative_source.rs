//! negative-source: a source has a negative value.

use ohmline_circuit::{Amount, Kind, Params};
use ohmline_syntax::{Diagnostic, Severity};
use ohmline_syntax::{Edit, FileSpan, Safety, Span};

use crate::facts::Facts;
use crate::places;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct NegativeSource;

static META: Meta = Meta {
    name: "negative-source",
    severity: Severity::Hint,
    group: Group::Sources,
    summary: "a source has a negative value",
    why: "A source of -3 V is one of 3 V the other way round. With the sign in the value and the polarity in the path \
          readers have to turn it over twice.",
    bad: "source   E1 = 6 V\n\
          source   E2 = -3 V\n\
          resistor R1 = 12 ohm\n\
          E1+ -- R1 -- +E2- -- E1-\n",
    good: "source   E1 = 6 V\n\
          source   E2 = 3 V\n\
          resistor R1 = 12 ohm\n\
          E1+ -- R1 -- -E2+ -- E1-\n",
    ignore_when: "the value comes out of an expression that may have either sign",
    fix: "Turns the source round and drops the sign. Its own current and voltage change sign; no other answer changes.",
};

impl Rule for NegativeSource {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for id in facts.of_kinds(&[Kind::Battery, Kind::VoltageSource, Kind::CurrentSource]) {
            let element = facts.circuit.element(id);
            let (Params::Battery { emf: amount, .. }
            | Params::VoltageSource { voltage: amount, .. }
            | Params::CurrentSource { drive: amount, .. }) = &element.params
            else {
                continue;
            };
            if !matches!(amount, Amount::Known(value) if *value < 0) {
                continue;
            }
            let text = facts.slice(element.value_at);
            let shown = text.trim_start_matches(['-', '\u{2212}']).trim_start().to_owned();
            let message = format!("{} is {text}: turned round, it is {shown}", element.name);
            let mut said = Diagnostic::new(META.name, META.severity, element.value_at, message);
            // Only where this value is this element's alone, and a plain number.
            let shared = facts
                .circuit
                .element_ids()
                .filter(|other| facts.circuit.element(*other).value_at == element.value_at)
                .count()
                > 1;
            let asked = facts.asked_elements().contains(&id) || facts.circuit.states.len() > 1;
            if let (false, false, Some(mut fix)) = (shared || element.copied, asked, places::turn_round(facts, id)) {
                let start = element.value_at.span.start;
                let sign = Span::new(start, start + (text.len() - shown.len()) as u32);
                if sign.start < sign.end {
                    fix.title = format!("{} and drop the sign", fix.title);
                    fix.safety = Safety::Asks;
                    fix.edits.push(Edit { at: FileSpan::new(element.value_at.file, sign), text: String::new() });
                    fix.edits.sort_by_key(|edit| (edit.at.file, edit.at.span.start));
                    said.fixes.push(fix);
                }
            }
            found.push(said);
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
            &super::NegativeSource,
            expect![[r#"
            hint negative-source: E2 is -3 V: turned round, it is 3 V
              at 2:15 `-3 V`
              fix: Turn it round: `-E2+` and drop the sign (2:15 `-` -> ""; 4:14 `+E2-` -> "-E2+")
        "#]],
        );
    }
}
