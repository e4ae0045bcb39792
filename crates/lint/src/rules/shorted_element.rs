//! shorted-element: both ends of an element are one point.

use ohmline_circuit::{ElementId, Kind, NodeId};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::rules::shorted_source::open_switch;
use crate::shorts::{Bypass, bypasses};
use crate::states::{self, ByState};
use crate::{places, wording};

/// See the module.
pub struct ShortedElement;

static META: Meta = Meta {
    name: "shorted-element",
    severity: Severity::Warning,
    group: Group::Connections,
    summary: "both ends of an element are one point",
    why: "An element whose ends are joined by a wire has no voltage across it and carries nothing; all current takes the wire. It is \
          a common slip in wiring, and a common trick with a switch: closed, the switch takes the lamp out instead of turning it on.",
    bad: "battery  B1 = 6 V\nlamp     L1 = 12 ohm\nresistor R1 = 8 ohm\nB1+ -- R1 -- @near -- L1 -- @far -- B1-\n@near -- @far\n",
    good: "battery  B1 = 6 V\nlamp     L1 = 12 ohm\nresistor R1 = 8 ohm\nB1+ -- R1 -- @near -- L1 -- @far -- B1-\n",
    ignore_when: "The short is the lesson, such as a bridged lamp; a case (`L1 = shorted`) says so more clearly",
    fix: "Takes the wire out, or opens the switch. The element then carries current, so answers change.",
};

impl Rule for ShortedElement {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut all: ByState<(NodeId, NodeId), Bypass> = ByState::new();
        for state in facts.circuit.state_ids() {
            for (key, bypass) in bypasses(facts, state) {
                if !is_by_ammeter(facts, &bypass.way) && !is_in_shorted_group(facts, &bypass) {
                    all.add(key, state, bypass);
                }
            }
        }
        for ((node, _), seen) in all.into_found() {
            let (state, bypass) = &seen[0];
            let elements = &bypass.elements;
            // The terminal that the path should have gone to is open, which is reported.
            if bypass.way.is_empty() && elements.iter().all(|id| places::is_on_way_back(facts, *id)) {
                continue;
            }
            let names = bypass.names(facts);
            let (carry, them) = if elements.len() == 1 { ("carries", "it") } else { ("carry", "them") };
            // A way through a switch or a coil is what such circuits are drawn for.
            let meant = bypass.way.iter().any(|id| {
                matches!(
                    facts.circuit.element(*id).kind,
                    Kind::Switch | Kind::Changeover | Kind::Inductor | Kind::Potentiometer
                )
            });
            let severity = if meant { Severity::Hint } else { Severity::Warning };
            let message = if bypass.way.is_empty() {
                let ends = wording::node(facts.circuit, node);
                format!("Both ends of {names} are joined at {ends}, so {names} {carry} nothing")
            } else {
                let way: Vec<String> =
                    bypass.way.iter().map(|id| wording::conductor(facts.circuit, *state, *id)).collect();
                let way: Vec<&str> = way.iter().map(String::as_str).collect();
                let join = wording::verb(way.len(), "joins", "join");
                format!(
                    "{} {join} both ends of {names}: all current passes there and none through {them}",
                    wording::list(&way)
                )
            };
            let mut said = Diagnostic::new(META.name, severity, facts.place(elements[0]), message)
                .here("both ends are one point")
                .ask(format!("What is the voltage between the two ends of {names}?"));
            for element in elements.iter().skip(1).take(4) {
                said = said.label(facts.place(*element), "shorted too");
            }
            said = places::label_each(said, facts, &bypass.way, "joins both ends");
            said = said.proof(bypass.basis(facts, *state));
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            let at_one = bypass.way.is_empty() && elements.iter().all(|id| places::own_junction(facts, *id).is_some());
            if at_one {
                said = said.help("Lead one end to another junction");
            } else if bypass.way.is_empty() {
                let wires = places::wires(facts, node);
                for wire in wires.iter().take(4) {
                    said = said.label(*wire, "this wire joins both ends");
                }
                said = said.help("Take the wire out, or lead one end elsewhere");
                // Of several wires in a row any may be the one too many.
                for wire in wires.into_iter().take(3) {
                    let title = format!("Take out the wire `{}`", facts.slice(wire));
                    said.fixes.extend(places::remove_statement(facts, wire, title));
                }
            }
            said.fixes.extend(bypass.way.iter().find_map(|id| open_switch(facts, *state, *id)));
            found.push(said);
        }
    }
}

/// Whether the wire is an empty alternative of the elements' group, which the builder reports.
fn is_in_shorted_group(facts: &Facts<'_>, bypass: &Bypass) -> bool {
    let place = facts.place(bypass.elements[0]);
    bypass.way.is_empty()
        && facts
            .circuit
            .diagnostics
            .iter()
            .filter(|said| said.rule == "shorted-group")
            .flat_map(|said| &said.labels)
            .any(|group| group.at.file == place.file && group.at.span.to(place.span) == group.at.span)
}

/// Whether ammeters and nothing else make this way.
pub fn is_by_ammeter(facts: &Facts<'_>, way: &[ElementId]) -> bool {
    !way.is_empty() && way.iter().all(|id| facts.circuit.element(*id).kind == Kind::Ammeter)
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn by_a_wire_by_a_switch_and_on_purpose() {
        rule_says(
            "shorted-element",
            "battery B1 = 6 V\n\
             lamp L1, L2, L3 = 12 ohm\n\
             switch S1 = open\n\
             B1+ -- L1 -- @a -- L2 -- @b -- L3 -- B1-\n\
             @a -- S1 -- @b\n\
             case \"bypass\": S1 = closed\n\
             case \"bridged\": L1 = shorted\n",
            expect![[r#"
                hint shorted-element [bypass]: S1 (closed) joins both ends of L2: all current passes there and none through it
                  at 4:20 `L2` both ends are one point
                  ask: What is the voltage between the two ends of L2?
                  -- 5:7 `S1` joins both ends
            "#]],
        );
    }

    #[test]
    fn both_ends_at_one_junction() {
        rule_says(
            "shorted-element",
            "battery B1 = 6 V\n\
             resistor R1, R2 = 12 ohm\n\
             B1+ -- @a -- R1 -- B1-\n\
             @a -- R2 -- @a\n",
            expect![[r#"
                warning shorted-element: Both ends of R2 are joined at @a, so R2 carries nothing
                  at 4:7 `R2` both ends are one point
                  ask: What is the voltage between the two ends of R2?
                  help: Lead one end to another junction
            "#]],
        );
    }

    #[test]
    fn another_wire_at_that_junction_is_not_to_blame() {
        rule_says(
            "shorted-element",
            "battery B1 = 6 V\n\
             resistor R1, R2, R3 = 12 ohm\n\
             B1+ -- @a -- R1 -- B1-\n\
             @a -- ( R2 | R3 ) -- @a\n\
             @a -- @c\n",
            expect![[r#"
                warning shorted-element: Both ends of R2 and R3 are joined at @a, so R2 and R3 carry nothing
                  at 4:9 `R2` both ends are one point
                  ask: What is the voltage between the two ends of R2 and R3?
                  -- 4:14 `R3` shorted too
                  help: Lead one end to another junction
            "#]],
        );
    }

    #[test]
    fn alone_it_is_said_once() {
        let said =
            crate::fixture::check("battery B1 = 6 V\nresistor R1, R2 = 12 ohm\nB1+ -- R1 -- B1-\n@a -- R2 -- @a\n");
        let rules: Vec<&str> = said.iter().map(|said| said.rule).collect();
        assert_eq!(rules, ["shorted-element"]);
    }
}
