//! bare-diode: nothing but a battery limits the current through a diode.

use ohmline_circuit::topology::NONE;
use ohmline_circuit::{ElementId, Kind, Params, StateId, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct BareDiode;

static META: Meta = Meta {
    name: "bare-diode",
    severity: Severity::Warning,
    group: Group::RatingsAndSafety,
    summary: "nothing but a battery limits the current through a diode",
    why: "Above its forward drop a diode's current rises steeply, so it needs a resistor in line. Straight across a \
          battery only the internal resistance is left, and the diode or the battery gives up.",
    bad: "battery  B1 = 3 V, internal 0.2 ohm\n\
          diode    D1 = 2 V\n\
          B1+ -- +D1- -- B1-\n",
    good: "battery  B1 = 3 V, internal 0.2 ohm\n\
          resistor R1 = 47 ohm\n\
          diode    D1 = 2 V\n\
          B1+ -- R1 -- +D1- -- B1-\n",
    ignore_when: "the diode is made for it, such as one for welding",
    fix: "None: a resistor in line decides the current.",
};

impl Rule for BareDiode {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for (id, battery, current) in bare(facts) {
            let (name, source) = (facts.name(id), facts.name(battery));
            let message = format!(
                "Only the internal resistance of {source} limits the current through {name}, to {}",
                wording::float(current, Unit::Ampere)
            );
            found.push(
                Diagnostic::new(META.name, META.severity, facts.place(id), message)
                    .label(facts.place(battery), "nothing else stands in its line")
                    .ask(format!("What decides how large the current through {name} becomes?"))
                    .help("Put a resistor in line with it"),
            );
        }
    }
}

/// Diodes across a battery with nothing to limit the current, each with that battery and the current, in the circuit as drawn.
pub fn bare(facts: &Facts<'_>) -> Vec<(ElementId, ElementId, f64)> {
    let mut all = Vec::new();
    for answers in facts.solved().take(1) {
        for &id in facts.of_kind(Kind::Diode) {
            let Some(current) = facts.amperes(answers.state, id).filter(|current| *current > 0.0) else { continue };
            let source = source_across(facts, answers.state, id);
            let battery = source.filter(|source| facts.circuit.element(*source).kind == Kind::Battery);
            all.extend(battery.map(|battery| (id, battery, current)));
        }
    }
    all
}

/// The battery or source of voltage that a diode without a resistance stands across with nothing to limit the current.
pub fn source_across(facts: &Facts<'_>, state: StateId, id: ElementId) -> Option<ElementId> {
    let Params::Diode { resistance: None, .. } = facts.circuit.params(state, id) else { return None };
    let topology = facts.topologies.get(state.index())?;
    let line = topology.series_with(facts.circuit, id);
    // The line must close by itself: what it leads to elsewhere may limit the current as well.
    let closed = facts.only_branch(id).is_some_and(|branch| {
        let class = topology.series.get(branch.index()).copied().unwrap_or(NONE);
        let chain = topology.chain(facts.circuit, class);
        !chain.nodes.is_empty() && facts.is_one_point(state, chain.from(), chain.to())
    });
    let drives = |other: &ElementId| matches!(facts.circuit.element(*other).kind, Kind::Battery | Kind::VoltageSource);
    let in_line = line.iter().copied().find(drives);
    let beside = || {
        let (anode, cathode) = facts.two_nodes(id)?;
        facts.of_kinds(&[Kind::Battery, Kind::VoltageSource]).find(|source| {
            facts.two_nodes(*source).is_some_and(|(plus, minus)| {
                facts.is_one_point(state, plus, anode) && facts.is_one_point(state, minus, cathode)
            })
        })
    };
    let harmless = [Kind::Battery, Kind::VoltageSource, Kind::Switch, Kind::Ammeter, Kind::Fuse, Kind::Diode];
    let limited = line.iter().any(|other| !harmless.contains(&facts.circuit.element(*other).kind));
    in_line.filter(|_| closed).or_else(beside).filter(|_| !limited)
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::BareDiode,
            expect![[r#"
            warning bare-diode: Only the internal resistance of B1 limits the current through D1, to 5.00 A
              at 3:8 `+D1-`
              ask: What decides how large the current through D1 becomes?
              -- 3:1 `B1+` nothing else stands in its line
              help: Put a resistor in line with it
        "#]],
        );
    }
}
