//! no-source: currents or voltages are asked, and nothing drives any.

use ohmline_circuit::{Ask, ElementId, Quantity};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::{Facts, asked_element};
use crate::registry::{Group, Meta, Rule};
use crate::{pieces, wording};

/// See the module.
pub struct NoSource;

static META: Meta = Meta {
    name: "no-source",
    severity: Severity::Error,
    group: Group::Connections,
    summary: "currents or voltages are asked, and nothing drives any",
    why: "Resistors do not make a current: without a battery or a source every current is zero and the question has no point. \
          What can be asked of such a circuit is its resistance between two points.",
    bad: "resistor R1 = 9 ohm\nresistor R2 = 15 ohm\n@in -- R1 -- @out\n@in -- R2 -- @out\nfind current through R1\n",
    good: "resistor R1 = 9 ohm\nresistor R2 = 15 ohm\n@in -- R1 -- @out\n@in -- R2 -- @out\nfind resistance between @in and @out\n",
    ignore_when: "Never: the question has no answer but zero",
    fix: "None: add a source, or ask for a resistance.",
};

impl Rule for NoSource {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let asks = asks(facts);
        let Some(ask) = asks.first() else { return };
        let mut asked: Vec<ElementId> = asks.iter().filter_map(|ask| asked_element(&ask.quantity)).collect();
        asked.sort_unstable();
        asked.dedup();
        let message = if asked.is_empty() {
            "Nothing drives a current here: the circuit has no battery and no source".to_owned()
        } else {
            let names = wording::elements(facts.circuit, &asked);
            format!("Nothing drives a current through {names}: the circuit has no battery and no source")
        };
        let mut said = Diagnostic::new(META.name, META.severity, ask.at, message)
            .here("asked here")
            .ask("What drives a current in this circuit?")
            .help("Add a battery or a source, or ask for the `resistance between` two points");
        said.basis = asked.first().map(|id| Box::new(basis::piece(*id)));
        found.push(said);
    }
}

/// The questions and claims about currents and voltages that nothing drives.
pub fn asks<'a>(facts: &Facts<'a>) -> Vec<&'a Ask> {
    // A source that could not be read, or is declared and never placed, is reported there.
    let lacks_source = || facts.circuit.elements.iter().all(|element| !element.kind.is_source());
    if facts.broken().any || facts.circuit.finds.is_empty() && facts.circuit.claims.is_empty() || !lacks_source() {
        return Vec::new();
    }
    let undriven = |ask: &&Ask| {
        let piece = match ask.quantity {
            Quantity::ValueOf(_) | Quantity::ResistanceSeenBy(_) => None,
            Quantity::PotentialAt(node) => pieces::of_node(facts, node),
            ref quantity => asked_element(quantity).and_then(|element| pieces::of_element(facts, element)),
        };
        piece.is_some_and(|piece| {
            let dead = facts.pieces().get(piece).is_some_and(|piece| !piece.driven && !piece.asked_points);
            dead && !facts.pieces().floats(piece)
        })
    };
    facts.asks().filter(undriven).collect()
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn currents_without_a_source() {
        rule_says(
            "no-source",
            "resistor R1, R2 = 12 ohm\n\
             @a -- R1 -- @b\n\
             @a -- R2 -- @b\n\
             find current through R1, R2\n",
            expect![[r#"
                error no-source: Nothing drives a current through R1 and R2: the circuit has no battery and no source
                  at 4:6 `current through R1, R2` asked here
                  ask: What drives a current in this circuit?
                  help: Add a battery or a source, or ask for the `resistance between` two points
            "#]],
        );
    }
}
