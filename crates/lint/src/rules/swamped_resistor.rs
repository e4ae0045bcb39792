//! swamped-resistor: a resistor hardly matters beside another in its line.

use ohmline_circuit::{Kind, StateId, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct SwampedResistor;

static META: Meta = Meta {
    name: "swamped-resistor",
    severity: Severity::Hint,
    group: Group::ValuesAndUnits,
    summary: "a resistor hardly matters beside another in its line",
    why: "In a line the larger resistance decides. A part of less than a thousandth of the whole is far below the \
          tolerance of the rest: it may as well be left out, or its prefix is wrong.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 47 kohm\n\
          resistor R2 = 10 ohm\n\
          B1+ -- R1 -- R2 -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 47 kohm\n\
          resistor R2 = 10 kohm\n\
          B1+ -- R1 -- R2 -- B1-\n",
    ignore_when: "it is a sense resistor whose small voltage is wanted",
    fix: "None: only you know the value.",
};

impl Rule for SwampedResistor {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        let Some(topology) = facts.topologies.first() else { return };
        for &id in facts.of_kind(Kind::Resistor) {
            let Some(ohms) = facts.ohms(StateId::DRAWN, id) else { continue };
            if facts.asked_elements().contains(&id) || facts.circuit.element(id).copied {
                continue;
            }
            let others = topology.series_with(facts.circuit, id);
            let large = others
                .iter()
                .filter(|other| facts.circuit.element(**other).kind == Kind::Resistor)
                .filter_map(|other| Some((*other, facts.ohms(StateId::DRAWN, *other)?)));
            let Some((other, most)) = large.max_by(|a, b| a.1.total_cmp(&b.1)) else { continue };
            if ohms >= most * facts.limits().swamped_share {
                continue;
            }
            let (name, beside) = (facts.name(id), facts.name(other));
            let message = format!(
                "{name} hardly matters in line with {beside}: {} beside {}",
                wording::float(ohms, Unit::Ohm),
                wording::float(most, Unit::Ohm)
            );
            found.push(
                Diagnostic::new(META.name, META.severity, facts.circuit.element(id).value_at, message)
                    .label(facts.circuit.element(other).value_at, "decides the current")
                    .ask(format!("How much would the current change without {name}?")),
            );
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
            &super::SwampedResistor,
            expect![[r#"
            hint swamped-resistor: R2 hardly matters in line with R1: 10.0 Ω beside 47.0 kΩ
              at 3:15 `10 ohm`
              ask: How much would the current change without R2?
              -- 2:15 `47 kohm` decides the current
        "#]],
        );
    }
}
