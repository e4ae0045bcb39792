//! crowded-path: a path has too many items for one line.

use ohmline_syntax::tree::StmtKind;
use ohmline_syntax::{Diagnostic, Severity};
use ohmline_syntax::{FileId, FileSpan};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct CrowdedPath;

static META: Meta = Meta {
    name: "crowded-path",
    severity: Severity::Hint,
    group: Group::Style,
    summary: "a path has too many items for one line",
    why: "A path reads aloud like a sentence; one of twenty items is as hard to follow as a sentence of that length. A \
          named junction in the middle makes two of it, and the answers speak of that junction too.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2, R3, R4, R5, R6, R7, R8, R9, R10, R11, R12, R13, R14, R15, R16 = 1 ohm\n\
          B1+ -- R1 -- R2 -- R3 -- R4 -- R5 -- R6 -- R7 -- R8 -- R9 -- R10 -- R11 -- R12 -- R13 -- R14 -- R15 -- R16 -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2, R3, R4, R5, R6, R7, R8, R9, R10, R11, R12, R13, R14, R15, R16 = 1 ohm\n\
          B1+ -- R1 -- R2 -- R3 -- R4 -- R5 -- R6 -- R7 -- R8 -- @half\n\
          @half -- R9 -- R10 -- R11 -- R12 -- R13 -- R14 -- R15 -- R16 -- B1-\n",
    ignore_when: "the path goes over several lines already",
    fix: "None: name a junction in the middle.",
};

impl Rule for CrowdedPath {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() {
            return;
        }
        for (file, source) in facts.sources.files.iter().enumerate() {
            for stmt in &source.tree.stmts {
                let StmtKind::Path(path) = &stmt.node.kind else { continue };
                let items = path.items.len();
                if items > facts.limits().longest_path && !source.tree.slice(stmt.range()).contains('\n') {
                    let at = FileSpan::new(FileId(file as u32), stmt.range());
                    found.push(
                        Diagnostic::new(
                            META.name,
                            META.severity,
                            at,
                            format!("This path has {items} items on one line"),
                        )
                        .help("Name a junction in the middle, or go on on the next line"),
                    );
                }
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
            &super::CrowdedPath,
            expect![[r#"
            hint crowded-path: This path has 18 items on one line
              at 3:1 `B1+ -- R1 -- R2 -- R3 -- R4 -- R5 -- R6 -- R7 -- R8 -- R9 -- R10 -- R11 -- R12 -- R13 -- R14 -- R15 -- R16 -- B1-`
              help: Name a junction in the middle, or go on on the next line
        "#]],
        );
    }
}
