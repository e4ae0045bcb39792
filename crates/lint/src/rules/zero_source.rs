//! zero-source: a battery or a source gives nothing.

use ohmline_circuit::{Amount, Kind, Params};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct ZeroSource;

static META: Meta = Meta {
    name: "zero-source",
    severity: Severity::Warning,
    group: Group::Sources,
    summary: "a battery or a source gives nothing",
    why: "A source of 0 V is a wire, and one of 0 A is a gap. In a drawing it looks like something that drives, so readers \
          go looking for what it does. To switch a source off for one step, write a case.",
    bad: "source   E1 = 6 V\n\
          source   E2 = 0 V\n\
          resistor R1 = 12 ohm\n\
          E1+ -- R1 -- +E2- -- E1-\n",
    good: "source   E1 = 6 V\n\
          source   E2 = 3 V\n\
          resistor R1 = 12 ohm\n\
          E1+ -- R1 -- -E2+ -- E1-\n",
    ignore_when: "the zero is the value of a series of exercises",
    fix: "None: only you know the value.",
};

impl Rule for ZeroSource {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for id in facts.of_kinds(&[Kind::Battery, Kind::VoltageSource, Kind::CurrentSource]) {
            let element = facts.circuit.element(id);
            let (amount, what) = match &element.params {
                Params::Battery { emf: amount, .. } | Params::VoltageSource { voltage: amount, .. } => {
                    (amount, "0 V: it acts as a wire")
                }
                Params::CurrentSource { drive: amount, .. } => (amount, "0 A: it acts as a gap"),
                _ => continue,
            };
            if matches!(amount, Amount::Known(value) if *value == 0) {
                let message = format!("{} gives {what}", element.name);
                found.push(
                    Diagnostic::new(META.name, META.severity, element.value_at, message)
                        .ask(format!("What does {} do in this circuit?", element.name))
                        .help("Give it its value, or switch it off in a case only"),
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
            &super::ZeroSource,
            expect![[r#"
            warning zero-source: E2 gives 0 V: it acts as a wire
              at 2:15 `0 V`
              ask: What does E2 do in this circuit?
              help: Give it its value, or switch it off in a case only
        "#]],
        );
    }
}
