//! needless-wire: a wire joins what is joined already.

use ohmline_syntax::tree::{Item, ItemKind, StmtKind};
use ohmline_syntax::{Diagnostic, Severity};
use ohmline_syntax::{FileId, FileSpan, Fix, Safety};
use rustc_hash::FxHashSet;

use crate::facts::Facts;
use crate::places;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct NeedlessWire;

static META: Meta = Meta {
    name: "needless-wire",
    severity: Severity::Hint,
    group: Group::Style,
    summary: "a wire joins what is joined already",
    why: "A wire from a point to itself changes nothing, and a second wire beside another neither. It is mostly left over \
          from an earlier drawing.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2 = 12 ohm\n\
          B1+ -- R1 -- @mid -- R2 -- B1-\n\
          @mid -- @quay\n\
          @quay -- @mid\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2 = 12 ohm\n\
          B1+ -- R1 -- @mid -- R2 -- B1-\n\
          @mid -- @quay\n",
    ignore_when: "two wires are really there, as in a ring main",
    fix: "Takes the wire out. No answer changes.",
};

impl Rule for NeedlessWire {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let Some(main) = facts.sources.files.first() else { return };
        if facts.is_large() || !facts.is_sound() || !main.tree.blocks.is_empty() {
            return;
        }
        let mut seen: FxHashSet<(&str, &str)> = FxHashSet::default();
        for stmt in &main.tree.stmts {
            let StmtKind::Path(path) = &stmt.node.kind else { continue };
            let [first, second] = &path.items[..] else { continue };
            let plain = |item: &Item| match &item.kind {
                ItemKind::Junction(_) => true,
                // `B1+` is a terminal; `+B1-` and `R1` are elements.
                ItemKind::Element { before, after, .. } => before.is_none() && after.is_some(),
                ItemKind::Group(_) => false,
            };
            if !plain(first) || !plain(second) {
                continue;
            }
            let (a, b) = (main.tree.slice(stmt.span(first.span)), main.tree.slice(stmt.span(second.span)));
            let new = seen.insert((a.min(b), a.max(b)));
            if a != b && new {
                continue;
            }
            let at = FileSpan::new(FileId(0), stmt.range());
            let message = if a == b {
                format!("This wire joins {a} to itself")
            } else {
                format!("A wire joins {a} and {b} already")
            };
            let mut said = Diagnostic::new(META.name, META.severity, at, message).help("Take it out");
            if let Some(edit) = places::without_statement(facts, at) {
                said.fixes.push(Fix { title: "Take the wire out".into(), safety: Safety::Safe, edits: vec![edit] });
            }
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
            &super::NeedlessWire,
            expect![[r#"
            hint needless-wire: A wire joins @quay and @mid already
              at 5:1 `@quay -- @mid`
              help: Take it out
              fix: Take the wire out (5:1 `@quay -- @mid\n` -> "")
        "#]],
        );
    }
}
