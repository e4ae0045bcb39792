//! near-names: two junctions have nearly the same name.

use ohmline_syntax::FileId;
use ohmline_syntax::tree::{ItemKind, Segment, StmtKind};
use ohmline_syntax::{Diagnostic, Severity};
use rustc_hash::FxHashMap;

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::{places, wording};

/// See the module.
pub struct NearNames;

static META: Meta = Meta {
    name: "near-names",
    severity: Severity::Warning,
    group: Group::Connections,
    summary: "two junctions have nearly the same name",
    why: "A slip in the name of a junction makes a second point where one was meant. The wires then lead to two places, \
          and the circuit on the page is not the one in mind; on a breadboard it is the lead in the row next door.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2, R3, R4 = 12 ohm\n\
          B1+ -- @quay -- R1 -- R2 -- B1-\n\
          @quay -- R3 -- @qauy -- R4 -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2, R3, R4 = 12 ohm\n\
          B1+ -- @quay -- R1 -- R2 -- B1-\n\
          @quay -- R3 -- @deck -- R4 -- B1-\n",
    ignore_when: "both points exist; names that differ more help the reader",
    fix: "Writes the name that is used more often. The two points become one, so answers change.",
};

impl Rule for NearNames {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        // Nobody invents so many names by hand; generated ones differ on purpose.
        if !facts.is_sound() || facts.circuit.junction_names.len() > MOST {
            return;
        }
        let Some(main) = facts.sources.files.first() else { return };
        let mut written: FxHashMap<&str, usize> = FxHashMap::default();
        for stmt in &main.tree.stmts {
            if let StmtKind::Path(path) = &stmt.node.kind {
                count(path, &mut written);
            }
        }
        let mut seldom: Vec<&str> = written.iter().filter(|(_, times)| **times == 1).map(|(name, _)| *name).collect();
        seldom.sort_unstable();
        for name in seldom {
            let Some(node) = facts.circuit.junction_names.get(name) else { continue };
            if facts.circuit.asked_nodes.contains(node) || facts.circuit.ends(*node).len() < 2 {
                continue;
            }
            let near = written.iter().filter(|(other, times)| **times >= 2 && is_slip(name, other));
            let Some((other, times)) = near.max_by_key(|(other, times)| (**times, std::cmp::Reverse(**other))) else {
                continue;
            };
            if facts.circuit.junction_names.get(*other).is_none_or(|one| one == node) {
                continue;
            }
            let message = format!("@{name} is written once and @{other} {times} times: one point or two?");
            let mut said = Diagnostic::new(META.name, META.severity, places::of_node(facts, *node), message)
                .here("written only here")
                .ask(format!("Are @{name} and @{other} the same point?"))
                .help(format!("Write `@{other}` if they are one point; else give this one a name of its own"));
            said.fixes.extend(places::rename_junction(facts, FileId(0), name, other));
            found.push(said);
        }
    }
}

/// Most junctions of a circuit that is written by hand.
const MOST: usize = 400;

/// Whether one name may be a slip of the pen for the other: another case, or one letter changed, left out or swapped with its neighbor. Numbers
/// differ on purpose.
fn is_slip(name: &str, other: &str) -> bool {
    let letters = name.chars().count().min(other.chars().count());
    wording::is_near(name, other)
        && (name.to_lowercase() == other.to_lowercase() || letters > 3 && strsim::osa_distance(name, other) == 1)
}

fn count<'t>(path: &'t Segment, written: &mut FxHashMap<&'t str, usize>) {
    for item in &path.items {
        match &item.kind {
            ItemKind::Junction(name) => *written.entry(name.text.as_str()).or_default() += 1,
            ItemKind::Group(alternatives) => alternatives.iter().for_each(|one| count(one, written)),
            ItemKind::Element { .. } => {}
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
            &super::NearNames,
            expect![[r#"
            warning near-names: @qauy is written once and @quay 2 times: one point or two?
              at 4:16 `@qauy` written only here
              ask: Are @qauy and @quay the same point?
              help: Write `@quay` if they are one point; else give this one a name of its own
              fix: Write `@quay` (4:16 `@qauy` -> "@quay")
        "#]],
        );
    }
}
