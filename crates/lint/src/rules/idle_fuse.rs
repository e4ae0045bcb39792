//! idle-fuse: a fuse can never blow, since the battery cannot give so much.

use ohmline_circuit::{Amount, Kind, Law, Params, StateId, Unit};
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::{pieces, wording};

/// See the module.
pub struct IdleFuse;

static META: Meta = Meta {
    name: "idle-fuse",
    severity: Severity::Info,
    group: Group::RatingsAndSafety,
    summary: "a fuse can never blow, since the battery cannot give so much",
    why: "A fuse protects only when a fault drives more current than it is rated for. A battery of large internal \
          resistance may not even do that when it is shorted: the fuse is an ornament, and the wires and the battery heat \
          all the same.",
    bad: "battery  B1 = 6 V, internal 6 ohm\n\
          fuse     F1 = 2 A\n\
          lamp     L1 = 54 ohm\n\
          B1+ -- F1 -- L1 -- B1-\n",
    good: "battery  B1 = 6 V, internal 6 ohm\n\
          fuse     F1 = 500 mA\n\
          lamp     L1 = 54 ohm\n\
          B1+ -- F1 -- L1 -- B1-\n",
    ignore_when: "the fuse stands for the drawing of a real device",
    fix: "None: take the smallest fuse that carries the working current.",
};

impl Rule for IdleFuse {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        for &fuse in facts.of_kind(Kind::Fuse) {
            let Some(piece) = pieces::of_element(facts, fuse) else { continue };
            let mut sources = facts.of_kinds_in(piece, &[Kind::Battery, Kind::VoltageSource, Kind::CurrentSource]);
            let (Some(battery), None) = (sources.next(), sources.next()) else { continue };
            let Some(Law::Emf { emf, internal }) = facts.law_of(StateId::DRAWN, battery) else { continue };
            let Params::Fuse { rating: Some(Amount::Known(rating)), .. } = &facts.circuit.element(fuse).params else {
                continue;
            };
            if internal == 0 {
                continue;
            }
            let most = &emf / &internal;
            if most > *rating {
                continue;
            }
            let (name, source) = (facts.name(fuse), facts.name(battery));
            let (most, rating) = (wording::exact(&most, Unit::Ampere), wording::exact(rating, Unit::Ampere));
            let message =
                format!("{name} never blows: even shorted, {source} gives {most}, and the fuse is rated {rating}");
            found.push(
                Diagnostic::new(META.name, META.severity, facts.place(fuse), message)
                    .label(facts.place(battery), "limits the current by itself")
                    .ask(format!("What is the largest current that {source} can ever drive through {name}?"))
                    .help("Take the smallest fuse that carries the working current"),
            );
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
            &super::IdleFuse,
            expect![[r#"
            info idle-fuse: F1 never blows: even shorted, B1 gives 1.00 A, and the fuse is rated 2.00 A
              at 4:8 `F1`
              ask: What is the largest current that B1 can ever drive through F1?
              -- 4:1 `B1+` limits the current by itself
              help: Take the smallest fuse that carries the working current
        "#]],
        );
    }
}
