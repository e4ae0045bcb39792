//! unused-part: a part is defined and never placed.

use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::{Diagnostic, Severity};
use ohmline_syntax::{FileId, FileSpan};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct UnusedPart;

static META: Meta = Meta {
    name: "unused-part",
    severity: Severity::Info,
    group: Group::Style,
    summary: "a part is defined and never placed",
    why: "A part is a drawing for use. One that nothing declares a copy of is not in the circuit, whatever it holds.",
    bad: "part lantern(in, out)\n\
            lamp L = 12 ohm\n\
            @in -- L -- @out\n\
          end\n\
          battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1+ -- R1 -- B1-\n",
    good: "part lantern(in, out)\n\
            lamp L = 12 ohm\n\
            @in -- L -- @out\n\
          end\n\
          battery  B1 = 6 V\n\
          lantern  Left\n\
          B1+ -- Left -- B1-\n",
    ignore_when: "the file is a kit that others include",
    fix: "None: declare a copy, or take the part out.",
};

impl Rule for UnusedPart {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let Some(main) = facts.sources.files.first() else { return };
        if !facts.is_sound() || facts.circuit.elements.is_empty() {
            return;
        }
        for stmt in &main.tree.stmts {
            let StmtKind::Part { name, .. } = &stmt.node.kind else { continue };
            let declares =
                |kind: &StmtKind| matches!(kind, StmtKind::Declare(declare) if declare.kind.text == name.text);
            if main.tree.stmts.iter().any(|other| declares(&other.node.kind)) {
                continue;
            }
            let at = FileSpan::new(FileId(0), stmt.span(name.span));
            found.push(
                Diagnostic::new(
                    META.name,
                    META.severity,
                    at,
                    format!("No copy of the part `{}` is declared in this file", name.text),
                )
                .help(format!("Declare one, as in `{} X1`, or take the part out", name.text)),
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
            &super::UnusedPart,
            expect![[r#"
            info unused-part: No copy of the part `lantern` is declared in this file
              at 1:6 `lantern`
              help: Declare one, as in `lantern X1`, or take the part out
        "#]],
        );
    }
}
