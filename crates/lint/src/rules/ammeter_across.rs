//! ammeter-across: an ideal ammeter joins both ends of an element.

use ohmline_circuit::{ElementId, NodeId};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::rules::shorted_element::is_by_ammeter;
use crate::shorts::{Bypass, bypasses};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct AmmeterAcross;

static META: Meta = Meta {
    name: "ammeter-across",
    severity: Severity::Warning,
    group: Group::Meters,
    summary: "an ideal ammeter joins both ends of an element",
    why: "An ammeter has hardly any resistance. Put across an element instead of in line with it, it shorts the element: the reading \
          is not the element's current, and across a supply it blows the meter's fuse.",
    bad: "battery  B1 = 6 V\nresistor R1 = 8 ohm\nlamp     L1 = 12 ohm\nammeter  A1\n\
          B1+ -- R1 -- @near -- L1 -- @far -- B1-\n@near -- +A1- -- @far\n",
    good: "battery  B1 = 6 V\nresistor R1 = 8 ohm\nlamp     L1 = 12 ohm\nammeter  A1\nB1+ -- R1 -- +A1- -- L1 -- B1-\n",
    ignore_when: "A short-circuit current is measured on purpose",
    fix: "None: it takes another drawing.",
};

impl Rule for AmmeterAcross {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.of_kind(ohmline_circuit::Kind::Ammeter).is_empty() {
            return;
        }
        let mut all: ByState<(NodeId, NodeId), Bypass> = ByState::new();
        for state in facts.circuit.state_ids() {
            for (key, bypass) in bypasses(facts, state) {
                if is_by_ammeter(facts, &bypass.way) {
                    all.add(key, state, bypass);
                }
            }
        }
        for (_, seen) in all.into_found() {
            let bypass = &seen[0].1;
            let Bypass { elements, way } = bypass;
            let shorted: &[ElementId] = elements;
            let meters = wording::elements(facts.circuit, way);
            let names = bypass.names(facts);
            let message = format!(
                "{meters} {} both ends of {names} and {} {}: an ammeter belongs in line with what it measures",
                wording::verb(way.len(), "joins", "join"),
                wording::verb(way.len(), "shorts", "short"),
                wording::verb(shorted.len(), "it", "them"),
            );
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(way[0]), message)
                .here("stands across")
                .ask(format!("Which way is easier for the current: through {names} or through {meters}?"));
            for id in way.iter().skip(1) {
                said = said.label(facts.place(*id), "in the same way round");
            }
            for id in shorted {
                said = said.label(facts.place(*id), "carries nothing");
            }
            said = said.proof(bypass.basis(facts, seen[0].0));
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            found.push(said.help(format!("Put {meters} in the same line as {names}, or use a voltmeter here")));
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn it_shorts_the_lamp() {
        rule_says(
            "ammeter-across",
            "battery B1 = 6 V\n\
             resistor R1 = 8 ohm\n\
             lamp L1 = 12 ohm\n\
             ammeter A1\n\
             B1+ -- R1 -- @near -- L1 -- @far -- B1-\n\
             @near -- +A1- -- @far\n",
            expect![[r#"
                warning ammeter-across: A1 joins both ends of L1 and shorts it: an ammeter belongs in line with what it measures
                  at 6:10 `+A1-` stands across
                  ask: Which way is easier for the current: through L1 or through A1?
                  -- 5:23 `L1` carries nothing
                  help: Put A1 in the same line as L1, or use a voltmeter here
            "#]],
        );
    }
}
