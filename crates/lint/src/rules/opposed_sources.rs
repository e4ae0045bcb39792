//! opposed-sources: two ideal voltages in one line oppose each other.

use ohmline_circuit::topology::NONE;
use ohmline_circuit::{ElementId, Kind, Law, Rational, StateId, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::{places, wording};

/// See the module.
pub struct OpposedSources;

static META: Meta = Meta {
    name: "opposed-sources",
    severity: Severity::Info,
    group: Group::Sources,
    summary: "two ideal voltages in one line oppose each other",
    why: "Voltages in one line add up with their signs: what stands the other way round takes away. That is sometimes \
          meant, and often one of them has only been put in the wrong way.",
    bad: "source   E1 = 9 V\n\
          source   E2 = 3 V\n\
          resistor R1 = 12 ohm\n\
          E1+ -- R1 -- +E2- -- E1-\n",
    good: "source   E1 = 9 V\n\
          source   E2 = 3 V\n\
          resistor R1 = 12 ohm\n\
          E1+ -- R1 -- -E2+ -- E1-\n",
    ignore_when: "the difference of the two is what is wanted",
    fix: "Turns the source round. Its voltage then counts the other way, so currents change.",
};

impl Rule for OpposedSources {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let sources = facts.of_kind(Kind::VoltageSource);
        if sources.len() + facts.of_kind(Kind::Battery).len() < 2 || sources.is_empty() {
            return;
        }
        let Some(topology) = facts.topologies.first() else { return };
        let mut seen: Vec<u32> = Vec::new();
        for &id in sources {
            let Some(branch) = facts.only_branch(id) else { continue };
            let class = topology.series.get(branch.index()).copied().unwrap_or(NONE);
            if class == NONE || seen.contains(&class) {
                continue;
            }
            seen.push(class);
            let chain = topology.chain(facts.circuit, class);
            let mut forward: Vec<(ElementId, Rational)> = Vec::new();
            let mut backward = Vec::new();
            for (at, &other) in chain.elements.iter().enumerate() {
                let Some(Law::Emf { emf, .. }) = facts.law_of(StateId::DRAWN, other) else { continue };
                let Some((plus, _)) = facts.two_nodes(other) else { continue };
                if emf == 0 {
                    continue;
                }
                // A negative value pushes the other way.
                let (size, turned) = if emf < 0 { (-emf, true) } else { (emf, false) };
                if (chain.nodes.get(at) == Some(&plus)) != turned {
                    backward.push((other, size))
                } else {
                    forward.push((other, size))
                }
            }
            found.extend(report(facts, &forward, &backward));
        }
    }
}

fn report(facts: &Facts<'_>, one: &[(ElementId, Rational)], other: &[(ElementId, Rational)]) -> Option<Diagnostic> {
    let sum = |list: &[(ElementId, Rational)]| list.iter().fold(Rational::from(0), |sum, (_, emf)| sum + emf);
    let (a, b) = (sum(one), sum(other));
    let (strong, weak, net) = if a >= b { (one, other, &a - &b) } else { (other, one, &b - &a) };
    // A battery that is overcome is charged, which is reported as that.
    if weak.is_empty() || net != 0 && weak.iter().any(|(id, _)| facts.circuit.element(*id).kind == Kind::Battery) {
        return None;
    }
    let ids = |list: &[(ElementId, Rational)]| list.iter().map(|(id, _)| *id).collect::<Vec<_>>();
    let (strong, weak) = (ids(strong), ids(weak));
    let names = wording::elements(facts.circuit, &weak);
    let against = wording::elements(facts.circuit, &strong);
    let left = wording::exact(&net, Unit::Volt);
    let verb = wording::verb(weak.len(), "opposes", "oppose");
    let mut said = Diagnostic::new(
        META.name,
        META.severity,
        facts.place(weak[0]),
        format!("{names} {verb} {against} in one line: {left} is left"),
    )
    .proof(basis::pair(StateId::DRAWN, weak[0], strong[0]))
    .ask(format!("Going once round, do {names} and {against} push the same way?"))
    .help("Turn it round if they should help each other");
    said = places::label_each(said, facts, &strong, "pushes the other way");
    said.fixes.extend(places::turn_round(facts, weak[0]));
    Some(said)
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::OpposedSources,
            expect![[r#"
            info opposed-sources: E2 opposes E1 in one line: 6.00 V is left
              at 4:14 `+E2-`
              ask: Going once round, do E2 and E1 push the same way?
              -- 4:1 `E1+` pushes the other way
              help: Turn it round if they should help each other
              fix: Turn it round: `-E2+` (4:14 `+E2-` -> "-E2+")
        "#]],
        );
    }
}
