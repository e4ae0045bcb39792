//! voltmeter-in-line: an ideal voltmeter is the only way on, so no current passes.

use ohmline_circuit::topology::Role;
use ohmline_circuit::{ElementId, Kind, Law, NodeId, StateId};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct VoltmeterInLine;

static META: Meta = Meta {
    name: "voltmeter-in-line",
    severity: Severity::Warning,
    group: Group::Meters,
    summary: "an ideal voltmeter is the only way on, so no current passes",
    why: "A voltmeter has a very large resistance and hardly lets any current pass. Put in line with a lamp it stops the lamp's current; \
          it belongs across the two points whose voltage is wanted.",
    bad: "battery   B1 = 6 V\nlamp      L1 = 12 ohm\nvoltmeter V1\nB1+ -- L1 -- +V1- -- B1-\n",
    good: "battery   B1 = 6 V\nlamp      L1 = 12 ohm\nvoltmeter V1\nB1+ -- @near -- L1 -- B1-\n@near -- +V1- -- B1-\n",
    ignore_when: "The insulation or the open-circuit voltage is what is measured",
    fix: "None: it takes another drawing.",
};

impl Rule for VoltmeterInLine {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let circuit = facts.circuit;
        for &meter in facts.of_kind(Kind::Voltmeter) {
            let Some((plus, minus)) = facts.two_nodes(meter) else { continue };
            if plus == minus || facts.law_of(StateId::DRAWN, meter) != Some(Law::Open) {
                continue;
            }
            let mut line = line_from(facts, meter, plus);
            line.extend(line_from(facts, meter, minus));
            line.sort_unstable();
            line.dedup();
            let idle = |id: &&ElementId| facts.role_of(StateId::DRAWN, **id) == Some(Role::Dead);
            // Something that is there to carry a current; a resistor alone may well be meant to limit the meter's.
            let has = |wanted: &[Kind]| line.iter().any(|id| wanted.contains(&circuit.element(*id).kind));
            let shows_current = has(&[Kind::Lamp, Kind::Ammeter, Kind::Fuse, Kind::Inductor, Kind::Diode]);
            let loaded_source = has(&[Kind::Resistor, Kind::Potentiometer])
                && line.iter().any(|id| circuit.element(*id).kind.is_source());
            if !(shows_current || loaded_source) || line.iter().any(|id| facts.loose().explains(circuit, *id)) {
                continue;
            }
            let stopped: Vec<ElementId> = line.iter().filter(idle).copied().collect();
            if stopped.is_empty() {
                continue;
            }
            let names = wording::elements(circuit, &stopped);
            let meter_name = facts.name(meter);
            let message =
                format!("{meter_name} stands in line with {names}, and an ideal voltmeter lets no current pass");
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(meter), message)
                .here("the only way on")
                .ask(format!("How much current does an ideal voltmeter like {meter_name} let pass?"));
            for id in stopped.iter().take(4) {
                said = said.label(facts.place(*id), "carries nothing because of that");
            }
            // The same is so of each of them; what is there to carry a current shows it best.
            let shown = stopped.iter().find(|id| !circuit.element(**id).kind.is_source()).unwrap_or(&stopped[0]);
            found.push(said.proof(basis::bridge(StateId::DRAWN, *shown)).help(format!(
                "Put {meter_name} across the two points whose voltage is wanted, or use an ammeter here"
            )));
        }
    }
}

/// The elements in line with the meter from one of its ends, other voltmeters not counted.
fn line_from(facts: &Facts<'_>, meter: ElementId, from: NodeId) -> Vec<ElementId> {
    let circuit = facts.circuit;
    let mut line = Vec::new();
    let mut node = from;
    let mut came = meter;
    while line.len() < circuit.elements.len() {
        let mut ahead = circuit
            .ends(node)
            .iter()
            .filter(|end| end.element != came && circuit.element(end.element).kind != Kind::Voltmeter);
        let (Some(next), None) = (ahead.next(), ahead.next()) else { break };
        if next.element == meter || circuit.asked_nodes.contains(&node) {
            break;
        }
        let Some((a, b)) = facts.two_nodes(next.element) else { break };
        line.push(next.element);
        came = next.element;
        node = if next.terminal == 0 { b } else { a };
    }
    line
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn it_stops_the_lamp() {
        rule_says(
            "voltmeter-in-line",
            "battery B1 = 6 V\n\
             lamp L1 = 12 ohm\n\
             voltmeter V1\n\
             B1+ -- L1 -- +V1- -- B1-\n",
            expect![[r#"
                warning voltmeter-in-line: V1 stands in line with B1 and L1, and an ideal voltmeter lets no current pass
                  at 4:14 `+V1-` the only way on
                  ask: How much current does an ideal voltmeter like V1 let pass?
                  -- 4:1 `B1+` carries nothing because of that
                  -- 4:8 `L1` carries nothing because of that
                  help: Put V1 across the two points whose voltage is wanted, or use an ammeter here
            "#]],
        );
    }

    #[test]
    fn across_an_open_switch_or_a_battery_it_is_right() {
        rule_says(
            "voltmeter-in-line",
            "battery B1 = 6 V, internal 1 ohm\n\
             lamp L1 = 12 ohm\n\
             switch S1 = open\n\
             voltmeter V1, V2\n\
             B1+ -- @a -- S1 -- @b -- L1 -- B1-\n\
             @a -- +V1- -- @b\n\
             B1+ -- +V2- -- B1-\n",
            expect![[""]],
        );
    }
}
