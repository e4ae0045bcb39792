//! blocking-diode: a diode blocks in every case.

use ohmline_circuit::{ElementId, Kind};
use ohmline_solve::DiodeState;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::{pieces, places};

/// See the module.
pub struct BlockingDiode;

static META: Meta = Meta {
    name: "blocking-diode",
    severity: Severity::Info,
    group: Group::Sources,
    summary: "a diode blocks in every case",
    why: "A diode that never conducts is a gap: what stands in line with it is dead. A light-emitting diode the wrong way \
          round does just that.",
    bad: "battery  B1 = 6 V\n\
          resistor R1 = 330 ohm\n\
          diode    D1 = 2 V\n\
          B1+ -- R1 -- -D1+ -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1 = 330 ohm\n\
          diode    D1 = 2 V\n\
          B1+ -- R1 -- +D1- -- B1-\n",
    ignore_when: "it protects against a wrong polarity or a coil",
    fix: "Turns the diode round. It then conducts, so currents change.",
};

impl Rule for BlockingDiode {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        // Beside others that conduct, blocking is what it is there for, as in a rectifier; and across a coil it waits for the switch.
        let waits = |piece: u32| {
            facts.of_kind(Kind::Inductor).iter().any(|coil| pieces::of_element(facts, *coil) == Some(piece))
        };
        let conducts = |piece: u32| {
            facts.solved().any(|answers| {
                let mut diodes = answers.diodes.iter();
                answers.diodes.is_empty()
                    || diodes.any(|(id, state)| {
                        *state == DiodeState::Conducting && pieces::of_element(facts, *id) == Some(piece)
                    })
            })
        };
        let sources = |piece: u32| {
            let all = [Kind::Battery, Kind::VoltageSource, Kind::CurrentSource];
            facts.of_kinds_in(piece, &all).count()
        };
        let mut spared: Option<(u32, bool)> = None;
        for &id in facts.of_kind(Kind::Diode) {
            let Some(piece) = pieces::of_element(facts, id) else { continue };
            let (_, quiet) = match spared {
                Some(known) if known.0 == piece => known,
                _ => {
                    let several = facts.circuit.states.len() > 1 || sources(piece) > 1;
                    *spared.insert((piece, waits(piece) || several && conducts(piece)))
                }
            };
            let quiet = quiet || works_with_others(facts, id);
            let driven = facts.pieces().get(piece).is_some_and(|piece| piece.driven);
            let loose = facts.loose().explains(facts.circuit, id) || facts.broken().piece(piece);
            let reverse = facts.solved().any(|answers| facts.volts(answers.state, id).is_some_and(|volts| volts < 0.0));
            if quiet || !driven || loose || !reverse {
                continue;
            }
            let name = facts.name(id);
            let mut said = Diagnostic::new(
                META.name,
                META.severity,
                facts.place(id),
                format!("{name} blocks, so no current passes it"),
            )
            .ask(format!("Which end of {name} is at the higher potential?"))
            .help("Turn it round if it should conduct");
            said.fixes.extend(places::turn_round(facts, id));
            found.push(said);
        }
    }
}

/// Whether conducting diodes touch both ends of a diode: it is one of a bridge, or of two that stand side by side in opposite directions.
fn works_with_others(facts: &Facts<'_>, id: ElementId) -> bool {
    let Some((a, b)) = facts.two_nodes(id) else { return false };
    facts.solved().any(|answers| {
        let conducts = |node| {
            let ends = facts.circuit.ends(node).iter().map(|end| end.element);
            ends.into_iter().any(|other| other != id && answers.diodes.contains(&(other, DiodeState::Conducting)))
        };
        conducts(a) && conducts(b)
    })
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::BlockingDiode,
            expect![[r#"
            info blocking-diode: D1 blocks, so no current passes it
              at 4:14 `-D1+`
              ask: Which end of D1 is at the higher potential?
              help: Turn it round if it should conduct
              fix: Turn it round: `+D1-` (4:14 `-D1+` -> "+D1-")
        "#]],
        );
    }
}
