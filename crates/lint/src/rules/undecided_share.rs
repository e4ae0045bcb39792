//! undecided-share: how a current divides within a loop of zero resistance.

use ohmline_circuit::{ElementId, Kind};
use ohmline_solve::Cause;
use ohmline_syntax::{Diagnostic, Severity};
use rustc_hash::FxHashSet;

use crate::evidence::basis;
use crate::facts::{Facts, asked_element};
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct UndecidedShare;

static META: Meta = Meta {
    name: "undecided-share",
    severity: Severity::Warning,
    group: Group::Sources,
    summary: "how the current divides within a loop of zero resistance is undecided",
    why: "Where two ways have no resistance at all, nothing decides how much current takes which. In a real circuit the few milliohms \
          of leads and contacts decide it, so two meters side by side each show a part that says nothing.",
    bad: "battery  B1 = 6 V\nresistor R1 = 12 ohm\nammeter  A1, A2\nB1+ -- ( +A1- | +A2- ) -- R1 -- B1-\n",
    good: "battery  B1 = 6 V\nresistor R1 = 12 ohm\nammeter  A1, A2 = 0.1 ohm\nB1+ -- ( +A1- | +A2- ) -- R1 -- B1-\n",
    ignore_when: "Nobody asks how the current divides there, as with two switches side by side",
    fix: "None: it takes the real resistances.",
};

impl Rule for UndecidedShare {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let mut loops: ByState<Vec<ElementId>, ()> = ByState::new();
        for answers in facts.solved() {
            for cause in &answers.causes {
                let Cause::ZeroLoop { elements } = cause else { continue };
                // One element with both ends at one point is a shorted element.
                if elements.len() > 1 {
                    loops.add(elements.clone(), answers.state, ());
                }
            }
        }
        let loops = loops.into_found();
        if loops.is_empty() {
            return;
        }
        let asked: FxHashSet<ElementId> = facts.asks().filter_map(|ask| asked_element(&ask.quantity)).collect();
        for (mut elements, seen) in loops {
            let round = basis::short(seen[0].0, &[], &elements);
            elements.sort_unstable();
            let names = wording::elements(facts.circuit, &elements);
            // Switches side by side are common and harmless as long as nobody reads one of them.
            let read = |id: &ElementId| {
                let kind = facts.circuit.element(*id).kind;
                matches!(kind, Kind::Ammeter | Kind::Diode) || kind.is_source() || asked.contains(id)
            };
            let severity = if elements.iter().any(read) { Severity::Warning } else { Severity::Info };
            let message = format!(
                "How the current divides between {names} is undecided: there is no resistance anywhere in their loop"
            );
            let mut said = Diagnostic::new(META.name, severity, facts.place(elements[0]), message)
                .ask(format!("What decides how much of the current goes through each of {names}?"));
            for element in elements.iter().skip(1).take(5) {
                said = said.label(facts.place(*element), "in the same loop of zero resistance");
            }
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
            found.push(said.proof(round).help("Give one of them its real resistance, or leave one out"));
        }
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn two_ammeters_side_by_side() {
        rule_says(
            "undecided-share",
            "battery B1 = 6 V\n\
             resistor R1 = 12 ohm\n\
             ammeter A1, A2\n\
             B1+ -- ( +A1- | +A2- ) -- R1 -- B1-\n\
             find current through A1\n",
            expect![[r#"
                warning undecided-share: How the current divides between A1 and A2 is undecided: there is no resistance anywhere in their loop
                  at 4:10 `+A1-`
                  ask: What decides how much of the current goes through each of A1 and A2?
                  -- 4:17 `+A2-` in the same loop of zero resistance
                  help: Give one of them its real resistance, or leave one out
            "#]],
        );
    }

    #[test]
    fn two_diodes_side_by_side() {
        rule_says(
            "undecided-share",
            "battery B1 = 6 V\n\
             resistor R1 = 12 ohm\n\
             diode D1, D2 = 0.7 V\n\
             B1+ -- ( +D1- | +D2- ) -- R1 -- B1-\n",
            expect![[r#"
                warning undecided-share: How the current divides between D1 and D2 is undecided: there is no resistance anywhere in their loop
                  at 4:10 `+D1-`
                  ask: What decides how much of the current goes through each of D1 and D2?
                  -- 4:17 `+D2-` in the same loop of zero resistance
                  help: Give one of them its real resistance, or leave one out
            "#]],
        );
    }

    #[test]
    fn two_switches_side_by_side() {
        rule_says(
            "undecided-share",
            "battery B1 = 6 V\n\
             resistor R1 = 12 ohm\n\
             switch S1 = closed\n\
             switch S2 = closed\n\
             B1+ -- ( S1 | S2 ) -- R1 -- B1-\n",
            expect![[r#"
                info undecided-share: How the current divides between S1 and S2 is undecided: there is no resistance anywhere in their loop
                  at 5:10 `S1`
                  ask: What decides how much of the current goes through each of S1 and S2?
                  -- 5:15 `S2` in the same loop of zero resistance
                  help: Give one of them its real resistance, or leave one out
            "#]],
        );
    }
}
