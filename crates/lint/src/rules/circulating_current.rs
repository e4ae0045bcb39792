//! circulating-current: one battery drives a large current straight through another.

use ohmline_circuit::{Kind, Law, StateId, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::evidence::basis;
use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::wording;

/// See the module.
pub struct CirculatingCurrent;

static META: Meta = Meta {
    name: "circulating-current",
    severity: Severity::Warning,
    group: Group::Sources,
    summary: "one battery drives a large current straight through another",
    why: "Batteries side by side should be alike. Where their electromotive forces differ, the stronger drives a current \
          through the weaker even with nothing else joined; only the internal resistances limit it, both heat, and the \
          weaker is charged.",
    bad: "battery  B1 = 12 V, internal 50 mohm\n\
          battery  B2 = 9 V, internal 50 mohm\n\
          resistor R1 = 100 ohm\n\
          B1+ -- ( +B2- | R1 ) -- B1-\n",
    good: "battery  B1 = 12 V, internal 50 mohm\n\
          battery  B2 = 12 V, internal 50 mohm\n\
          resistor R1 = 100 ohm\n\
          B1+ -- ( +B2- | R1 ) -- B1-\n",
    ignore_when: "the current is what is asked",
    fix: "None: take like batteries, or a diode for each.",
};

impl Rule for CirculatingCurrent {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let Some(topology) = facts.topologies.first() else { return };
        for &one in facts.of_kind(Kind::Battery) {
            for other in topology.parallel_with(facts.circuit, one) {
                let same = facts.circuit.element(other).kind == Kind::Battery && other > one;
                let (Some(Law::Emf { emf, internal }), Some(Law::Emf { emf: second, internal: inside })) =
                    (facts.law_of(StateId::DRAWN, one), facts.law_of(StateId::DRAWN, other))
                else {
                    continue;
                };
                let ohms = internal + inside;
                if !same || ohms == 0 {
                    continue;
                }
                let (Some((plus, _)), Some((other_plus, _))) = (facts.two_nodes(one), facts.two_nodes(other)) else {
                    continue;
                };
                let aligned = facts.is_one_point(StateId::DRAWN, plus, other_plus);
                let left = if aligned { &emf - &second } else { &emf + &second };
                let current = ohmline_solve::Number::exact(&left / &ohms);
                if !crate::facts::is_above(&current, facts.limits().circulating_current) {
                    continue;
                }
                let (strong, weak) = if !aligned || emf >= second { (one, other) } else { (other, one) };
                let amperes = wording::number(&crate::facts::size(&current), Unit::Ampere);
                let (strong_name, weak_name) = (facts.name(strong), facts.name(weak));
                let message =
                    format!("{strong_name} drives {amperes} through {weak_name} even with nothing else joined");
                found.push(
                    Diagnostic::new(META.name, META.severity, facts.place(weak), message)
                        .proof(basis::ends(StateId::DRAWN, &[strong], &[weak]))
                        .label(facts.place(strong), "stands right beside it")
                        .note(format!(
                            "Round the two, {} stands over {}",
                            wording::number(&crate::facts::size(&ohmline_solve::Number::exact(left)), Unit::Volt),
                            wording::exact(&ohms, Unit::Ohm)
                        ))
                        .ask(format!(
                            "What current flows between {strong_name} and {weak_name} before anything else is joined?"
                        ))
                        .help("Join only batteries of the same kind and charge side by side"),
                );
            }
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
            &super::CirculatingCurrent,
            expect![[r#"
                warning circulating-current: B1 drives 30.0 A through B2 even with nothing else joined
                  at 4:10 `+B2-`
                  ask: What current flows between B1 and B2 before anything else is joined?
                  -- 4:1 `B1+` stands right beside it
                  note: Round the two, 3.00 V stands over 0.100 Ω
                  help: Join only batteries of the same kind and charge side by side
            "#]],
        );
    }
}
