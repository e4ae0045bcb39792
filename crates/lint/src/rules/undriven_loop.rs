//! undriven-loop: a loop hangs at one point and holds no source.

use ohmline_circuit::{ElementId, NodeId};
use ohmline_syntax::{Diagnostic, Severity};
use rustc_hash::FxHashSet;

use crate::blocks::{Block, blocks};
use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::rules::dead_branch;
use crate::{pieces, places, wording};

/// See the module.
pub struct UndrivenLoop;

static META: Meta = Meta {
    name: "undriven-loop",
    severity: Severity::Warning,
    group: Group::Connections,
    summary: "a loop hangs at one point and holds no source",
    why: "What hangs at a single point gets no current: what would go in there has no other place to come out, and nothing \
          inside drives a current round. The second connection has been forgotten, or a source.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          lamp     L1, L2 = 24 ohm\n\
          B1+ -- @quay -- R1 -- B1-\n\
          @quay -- ( L1 | L2 ) -- @buoy\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          lamp     L1, L2 = 24 ohm\n\
          B1+ -- @quay -- R1 -- B1-\n\
          @quay -- ( L1 | L2 ) -- @buoy\n\
          @buoy -- B1-\n",
    ignore_when: "that it carries nothing is the lesson",
    fix: "None: only you know where the second connection runs.",
};

impl Rule for UndrivenLoop {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let blocks = blocks(facts);
        if blocks.is_empty() {
            return;
        }
        let dead = dead_branch::dead(facts);
        let closed = closed_sources(facts, &dead);
        let undriven: Vec<(&Block, Option<NodeId>)> =
            blocks.iter().filter_map(|block| Some((block, undriven(facts, block, &closed)?))).collect();
        for (block, hinge) in undriven {
            found.push(report(facts, &block.elements, hinge, &dead));
        }
    }
}

/// The pieces in which a source stands on a closed path. In others the source itself lacks one, which is reported as an open end or a dead branch.
fn closed_sources(facts: &Facts<'_>, dead: &[ElementId]) -> FxHashSet<u32> {
    let sources = facts.circuit.element_ids().filter(|id| {
        let element = facts.circuit.element(*id);
        (element.kind.is_source() || pieces::starts_charged(&element.params))
            && !facts.loose().explains(facts.circuit, *id)
            && !dead.contains(id)
    });
    sources.filter_map(|id| pieces::of_element(facts, id)).collect()
}

/// Where a block without any source hangs, if it hangs at all in a piece that is driven.
fn undriven(facts: &Facts<'_>, block: &Block, closed: &FxHashSet<u32>) -> Option<Option<NodeId>> {
    let circuit = facts.circuit;
    let first = *block.elements.first()?;
    let piece = pieces::of_element(facts, first)?;
    let driven = closed.contains(&piece);
    let drives = |id: &ElementId| {
        let element = circuit.element(*id);
        element.kind.is_source() || pieces::starts_charged(&element.params) || facts.loose().explains(circuit, *id)
    };
    // A single element whose both branches make the loop (a potentiometer, a changeover) is no loop of the drawing.
    let spared = block.elements.len() < 2 || block.asked || !driven || facts.broken().piece(piece);
    (!spared && !block.elements.iter().any(drives)).then_some(block.hinge)
}

fn report(facts: &Facts<'_>, elements: &[ElementId], hinge: Option<NodeId>, dead: &[ElementId]) -> Diagnostic {
    let names = wording::elements(facts.circuit, elements);
    let message = match hinge {
        Some(node) => format!(
            "{names} hang at {} alone and hold no source, so nothing drives a current round them",
            wording::node(facts.circuit, node)
        ),
        None => format!("{names} hold no source, so nothing drives a current round them"),
    };
    let mut said = Diagnostic::new(META.name, META.severity, facts.place(elements[0]), message)
        .proof(basis::block(elements))
        .here("carries nothing")
        .ask(format!("By which point does a current come in to {names}, and by which does it go out?"))
        .help("Join it at a second point, or put a source into it");
    said = places::label_each(said, facts, &elements[1..], "carries nothing either");
    if let Some(node) = hinge {
        said = said.label(places::of_node(facts, node), "the only point that joins it to the rest");
        let leads = leads(facts, node, dead);
        if !leads.is_empty() {
            let names = wording::elements(facts.circuit, &leads);
            let (lead, carry) =
                (wording::verb(leads.len(), "leads", "lead"), wording::verb(leads.len(), "carries", "carry"));
            said = said.note(format!("{names} {lead} there and {carry} nothing either"));
        }
    }
    said
}

/// The dead elements in line that lead to a point.
fn leads(facts: &Facts<'_>, node: NodeId, dead: &[ElementId]) -> Vec<ElementId> {
    let mut leads: Vec<ElementId> = Vec::new();
    let mut at = node;
    while let Some(next) =
        facts.circuit.ends(at).iter().map(|end| end.element).find(|id| dead.contains(id) && !leads.contains(id))
    {
        leads.push(next);
        match facts.two_nodes(next) {
            Some((a, b)) => at = if a == at { b } else { a },
            None => break,
        }
    }
    leads.sort_unstable();
    leads
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::UndrivenLoop,
            expect![[r#"
            warning undriven-loop: L1 and L2 hang at @quay alone and hold no source, so nothing drives a current round them
              at 5:12 `L1` carries nothing
              ask: By which point does a current come in to L1 and L2, and by which does it go out?
              -- 5:17 `L2` carries nothing either
              -- 4:8 `@quay` the only point that joins it to the rest
              help: Join it at a second point, or put a source into it
        "#]],
        );
    }
}
