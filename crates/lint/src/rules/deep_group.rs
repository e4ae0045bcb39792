//! deep-group: brackets stand in brackets too deep to be read.

use ohmline_syntax::tree::{ItemKind, Segment, StmtKind};
use ohmline_syntax::{Diagnostic, Severity};
use ohmline_syntax::{FileId, FileSpan, RelSpan};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct DeepGroup;

static META: Meta = Meta {
    name: "deep-group",
    severity: Severity::Hint,
    group: Group::Style,
    summary: "brackets stand in brackets too deep to be read",
    why: "A group within a group within a group is hard to follow on the page and on the board. Naming a junction or two \
          lets the inner part stand on a line of its own.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2, R3, R4, R5, R6 = 12 ohm\n\
          B1+ -- ( R1 | ( R2 | ( R3 | ( R4 | ( R5 | R6 ) ) ) ) ) -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2, R3, R4, R5, R6 = 12 ohm\n\
          B1+ -- ( R1 | R2 | R3 | R4 | R5 | R6 ) -- B1-\n",
    ignore_when: "the nest is the exercise",
    fix: "None: name the junctions of the inner group.",
};

impl Rule for DeepGroup {
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
                let (depth, place) = deepest(path);
                if let Some(place) = place.filter(|_| depth > facts.limits().deepest_group) {
                    let at = FileSpan::new(FileId(file as u32), stmt.span(place));
                    found.push(
                        Diagnostic::new(
                            META.name,
                            META.severity,
                            at,
                            format!("This group stands {depth} brackets deep"),
                        )
                        .help("Name the two junctions of an inner group, and draw it on a line of its own"),
                    );
                }
            }
        }
    }
}

/// How deep brackets go, and the place of the innermost group.
fn deepest(path: &Segment) -> (usize, Option<RelSpan>) {
    let mut most = (0, None);
    for item in &path.items {
        let ItemKind::Group(alternatives) = &item.kind else { continue };
        for alternative in alternatives {
            let (inner, place) = deepest(alternative);
            if inner + 1 > most.0 {
                most = (inner + 1, place.or(Some(item.span)));
            }
        }
    }
    most
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::DeepGroup,
            expect![[r#"
            hint deep-group: This group stands 5 brackets deep
              at 3:36 `( R5 | R6 )`
              help: Name the two junctions of an inner group, and draw it on a line of its own
        "#]],
        );
    }
}
