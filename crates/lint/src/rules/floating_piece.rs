//! floating-piece: elements without any connection to the rest or to a source.

use ohmline_circuit::{ElementId, NodeId, Quantity};
use ohmline_syntax::{Diagnostic, Fix, Safety, Severity};
use rustc_hash::FxHashSet;

use crate::evidence::basis;
use crate::facts::{Facts, asked_element};
use crate::registry::{Group, Meta, Rule};
use crate::{pieces, places, wording};

/// See the module.
pub struct FloatingPiece;

static META: Meta = Meta {
    name: "floating-piece",
    severity: Severity::Warning,
    group: Group::Connections,
    summary: "elements without any connection to the rest or to a source",
    why: "Elements that no wire joins to a source carry nothing, and their potentials against the rest have no meaning: a meter \
          put between the two would show whatever stray charge is there. Mostly a junction is spelled in two ways.",
    bad: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 15 ohm\n\
          B1+ -- @fork -- R1 -- @join -- B1-\n@frok -- R2 -- @jion\n",
    good: "battery  B1 = 4.5 V\nresistor R1 = 9 ohm\nresistor R2 = 15 ohm\n\
           B1+ -- @fork -- R1 -- @join -- B1-\n@fork -- R2 -- @join\n",
    ignore_when: "Never in a finished circuit. While drawing, the missing wire is often just the next line",
    fix: "None: only you know where it belongs.",
};

impl Rule for FloatingPiece {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.pieces().floating().next().is_none() {
            return;
        }
        let circuit = facts.circuit;
        let count = facts.topologies[0].pieces as usize;
        let mut members: Vec<Vec<ElementId>> = vec![Vec::new(); count];
        for id in circuit.element_ids() {
            if let Some(piece) = pieces::of_element(facts, id).filter(|piece| facts.pieces().floats(*piece)) {
                members[piece as usize].push(id);
            }
        }
        let mut nodes: Vec<Vec<NodeId>> = vec![Vec::new(); count];
        for node in circuit.node_ids() {
            if let Some(piece) = pieces::of_node(facts, node).filter(|piece| facts.pieces().floats(*piece)) {
                nodes[piece as usize].push(node);
            }
        }
        let asked: FxHashSet<u32> = facts
            .asks()
            .filter_map(|ask| match ask.quantity {
                Quantity::PotentialAt(node) => pieces::of_node(facts, node),
                Quantity::ValueOf(_) => None,
                ref quantity => pieces::of_element(facts, asked_element(quantity)?),
            })
            .collect();
        for piece in facts.pieces().floating() {
            let members = &members[piece as usize];
            if !members.is_empty() && !members.iter().all(|id| is_shorted_in_itself(facts, *id)) {
                found.push(report(facts, members, &nodes[piece as usize], asked.contains(&piece)));
            }
        }
    }
}

/// Whether both ends of an element that is no source are one point: a shorted element, which is reported as that.
fn is_shorted_in_itself(facts: &Facts<'_>, id: ElementId) -> bool {
    let element = facts.circuit.element(id);
    !element.kind.is_source() && matches!(element.terminals[..], [from, to] if from == to)
}

fn report(facts: &Facts<'_>, members: &[ElementId], nodes: &[NodeId], asked: bool) -> Diagnostic {
    let circuit = facts.circuit;
    let names = wording::elements(circuit, members);
    let verb = wording::verb(members.len(), "is", "are");
    let severity = if asked { Severity::Error } else { Severity::Warning };
    let message = if asked {
        format!("{names} {verb} asked about but joined to no source, so nothing drives a current there")
    } else {
        format!("{names} {verb} joined neither to the rest of the circuit nor to a source")
    };
    let mut said = Diagnostic::new(META.name, severity, facts.place(members[0]), message)
        .proof(basis::piece(members[0]))
        .here("no wire leads from here to a source")
        .ask(format!("By which way does a current come from a source to {names}, and by which does it go back?"));
    for member in members.iter().skip(1).take(4) {
        said = said.label(facts.place(*member), "in the same piece");
    }
    let renames = renames(facts, nodes);
    if let Some(fix) = renames {
        said = said.help(
            "A junction of this piece is spelled almost like one of the rest; if they are one point, write one name",
        );
        said.fixes.push(fix);
    } else {
        said = said.help("Join it at two points, so that a current can come in and go out");
    }
    said
}

/// Writes the names of the rest for those of the piece that are nearly the same.
fn renames(facts: &Facts<'_>, nodes: &[NodeId]) -> Option<Fix> {
    let circuit = facts.circuit;
    if circuit.junction_names.len() > 20_000 {
        return None;
    }
    let inside: FxHashSet<NodeId> = nodes.iter().copied().collect();
    let mut titles = Vec::new();
    let mut edits = Vec::new();
    for node in nodes.iter().take(20) {
        let Some(name) = circuit.node(*node).names.first() else { continue };
        let near = circuit
            .junction_names
            .iter()
            .filter(|(other, at)| !inside.contains(at) && wording::is_near(name, other))
            .map(|(other, _)| other)
            .min_by_key(|other| (strsim::osa_distance(name, other), (*other).clone()));
        let Some(near) = near else { continue };
        if let Some(fix) = places::rename_junction(facts, circuit.node(*node).first_use.file, name, near) {
            titles.push(format!("`@{near}`"));
            edits.extend(fix.edits);
        }
    }
    edits.sort_by_key(|edit| edit.at);
    let titles: Vec<&str> = titles.iter().map(String::as_str).collect();
    (!edits.is_empty()).then(|| Fix { title: format!("Write {}", wording::list(&titles)), safety: Safety::Asks, edits })
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn asked_about_is_an_error() {
        rule_says(
            "floating-piece",
            "battery B1 = 6 V\n\
             resistor R1, R2, R3 = 12 ohm\n\
             B1+ -- R1 -- B1-\n\
             @a -- R2 -- @b -- R3 -- @a\n\
             find current through R2\n",
            expect![[r#"
                error floating-piece: R2 and R3 are asked about but joined to no source, so nothing drives a current there
                  at 4:7 `R2` no wire leads from here to a source
                  ask: By which way does a current come from a source to R2 and R3, and by which does it go back?
                  -- 4:19 `R3` in the same piece
                  help: Join it at two points, so that a current can come in and go out
            "#]],
        );
    }

    #[test]
    fn two_circuits_with_a_source_each_are_sound() {
        rule_says(
            "floating-piece",
            "battery B1, B2 = 6 V\n\
             resistor R1, R2 = 12 ohm\n\
             B1+ -- R1 -- B1-\n\
             B2+ -- R2 -- B2-\n",
            expect![[""]],
        );
    }

    #[test]
    fn an_open_switch_joins_its_sides() {
        rule_says(
            "floating-piece",
            "battery B1 = 6 V\n\
             resistor R1 = 12 ohm\n\
             switch S1 = open\n\
             switch S2 = open\n\
             B1+ -- S1 -- R1 -- S2 -- B1-\n",
            expect![[""]],
        );
    }
}
