//! unused-value: a named value is used nowhere.

use ohmline_syntax::tree::{StmtKind, Tree};
use ohmline_syntax::{Diagnostic, Severity};
use ohmline_syntax::{FileId, FileSpan, Safety};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::{places, written};

/// See the module.
pub struct UnusedValue;

static META: Meta = Meta {
    name: "unused-value",
    severity: Severity::Info,
    group: Group::ValuesAndUnits,
    summary: "a named value is used nowhere",
    why: "A name that nothing uses does nothing: changing it changes no answer. Mostly a number was written where the name \
          was meant.",
    bad: "let supply = 6 V\n\
          battery  B1 = 6 V\n\
          resistor R1 = 12 ohm\n\
          B1+ -- R1 -- B1-\n",
    good: "let supply = 6 V\n\
          battery  B1 = supply\n\
          resistor R1 = 12 ohm\n\
          B1+ -- R1 -- B1-\n",
    ignore_when: "the file is a kit that others include",
    fix: "Takes the line out. No answer changes.",
};

impl Rule for UnusedValue {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let Some(main) = facts.sources.files.first() else { return };
        if facts.is_sound() {
            parameters(&main.tree, found);
        }
        let lets = || main.tree.stmts.iter().filter(|stmt| matches!(stmt.node.kind, StmtKind::Let { .. }));
        if !facts.is_sound() || facts.circuit.elements.is_empty() || lets().next().is_none() {
            return;
        }
        let used = written::used_names(&main.tree);
        for stmt in lets() {
            let StmtKind::Let { name, .. } = &stmt.node.kind else { continue };
            if used.contains(name.text.as_str()) {
                continue;
            }
            let at = FileSpan::new(FileId(0), stmt.span(name.span));
            let mut said =
                Diagnostic::new(META.name, META.severity, at, format!("`{}` is used nowhere in this file", name.text))
                    .help("Write the name where its value was meant, or take the line out");
            if let Some(edit) = places::without_statement(facts, at) {
                said.fixes.push(ohmline_syntax::Fix {
                    title: "Take the line out".into(),
                    safety: Safety::Safe,
                    edits: vec![edit],
                });
            }
            found.push(said);
        }
    }
}

/// Parameters that nothing in their part reads.
fn parameters(tree: &Tree, found: &mut Vec<Diagnostic>) {
    for block in &tree.blocks {
        let Some(head) = tree.stmts.get(block.head as usize) else { continue };
        let StmtKind::Part { name: part, parameters, .. } = &head.node.kind else { continue };
        let body = tree.stmts.get(block.head as usize + 1..block.close as usize).unwrap_or_default();
        let used = written::names_in(body);
        for parameter in parameters.iter().filter(|parameter| !used.contains(parameter.name.text.as_str())) {
            let name = &parameter.name;
            let message = format!("Nothing in the part `{}` reads its parameter `{}`", part.text, name.text);
            found.push(
                Diagnostic::new(META.name, META.severity, FileSpan::new(FileId(0), head.span(name.span)), message)
                    .help("Write the name where its value was meant, or take it out"),
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
            &super::UnusedValue,
            expect![[r#"
            info unused-value: `supply` is used nowhere in this file
              at 1:5 `supply`
              help: Write the name where its value was meant, or take the line out
              fix: Take the line out (1:1 `let supply = 6 V\n` -> "")
        "#]],
        );
    }
}
