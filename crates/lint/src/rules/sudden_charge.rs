//! sudden-charge: nothing limits the current that charges a capacitor.

use ohmline_circuit::{ElementId, Kind, Law};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// See the module.
pub struct SuddenCharge;

static META: Meta = Meta {
    name: "sudden-charge",
    severity: Severity::Info,
    group: Group::RatingsAndSafety,
    summary: "nothing limits the current that charges a capacitor",
    why: "Joined straight to an ideal source by a switch, a capacitor would be charged at once by a current without limit. \
          In reality the leads decide, and the switch contact welds. A small resistance in line keeps it within bounds.",
    bad: "source    E1 = 6 V\n\
          switch    S1 = closed\n\
          capacitor C1 = 10 uF\n\
          resistor  R1 = 12 ohm\n\
          E1+ -- S1 -- ( C1 | R1 ) -- E1-\n",
    good: "source    E1 = 6 V\n\
          switch    S1 = closed\n\
          capacitor C1 = 10 uF\n\
          resistor  R1, R2 = 12 ohm\n\
          E1+ -- S1 -- R2 -- ( C1 | R1 ) -- E1-\n",
    ignore_when: "only the steady state is of interest",
    fix: "None: only you know the resistance.",
};

impl Rule for SuddenCharge {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.of_kind(Kind::Switch).is_empty() {
            return;
        }
        let mut all: ByState<(ElementId, ElementId), ()> = ByState::new();
        for answers in facts.solved() {
            let state = answers.state;
            for source in facts.of_kinds(&[Kind::Battery, Kind::VoltageSource]) {
                let ideal = matches!(facts.law_of(state, source), Some(Law::Emf { internal, .. }) if internal == 0);
                let Some((plus, minus)) = facts.two_nodes(source).filter(|_| ideal) else { continue };
                for id in facts.of_kinds(&[Kind::Capacitor, Kind::Electrolytic]) {
                    let Some((a, b)) = facts.two_nodes(id) else { continue };
                    let joined = |x, y| facts.is_one_point(state, x, y);
                    let across = joined(a, plus) && joined(b, minus) || joined(a, minus) && joined(b, plus);
                    // Without a switch between them they have been together from the beginning.
                    let by_wire = (a == plus || b == plus) && (a == minus || b == minus);
                    if across && !by_wire && !joined(a, b) {
                        all.add((id, source), state, ());
                    }
                }
            }
        }
        for ((id, source), seen) in all.into_found() {
            let (name, supply) = (facts.name(id), facts.name(source));
            let message = format!("Nothing limits the current from {supply} to {name} when they are joined");
            let mut said = Diagnostic::new(META.name, META.severity, facts.place(id), message)
                .proof(basis::short(seen[0].0, &[id], &[source]))
                .label(facts.place(source), "an ideal voltage")
                .ask(format!("How large is the current at the moment when {name} meets {supply}?"))
                .help(format!(
                    "Put a resistance in line with {}, or give the battery its internal resistance",
                    wording::elements(facts.circuit, &[id])
                ));
            said.cases = states::cases(facts.circuit, seen.iter().map(|(state, ())| *state));
            found.push(said);
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
            &super::SuddenCharge,
            expect![[r#"
            info sudden-charge: Nothing limits the current from E1 to C1 when they are joined
              at 5:16 `C1`
              ask: How large is the current at the moment when C1 meets E1?
              -- 5:1 `E1+` an ideal voltage
              help: Put a resistance in line with C1, or give the battery its internal resistance
        "#]],
        );
    }
}
