//! name-gap: a number is missing in a row of names.

use ohmline_syntax::{Diagnostic, Severity};
use rustc_hash::FxHashMap;

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct NameGap;

static META: Meta = Meta {
    name: "name-gap",
    severity: Severity::Hint,
    group: Group::Style,
    summary: "a number is missing in a row of names",
    why: "R1, R2, R4: readers look for R3 and think a part was lost. It often was: an element that has been deleted, or \
          its declaration with it.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2, R4 = 12 ohm\n\
          B1+ -- R1 -- R2 -- R4 -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2, R3 = 12 ohm\n\
          B1+ -- R1 -- R2 -- R3 -- B1-\n",
    ignore_when: "the numbers are those of a real device",
    fix: "None: rename the later ones with the editor.",
};

impl Rule for NameGap {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        let mut rows: FxHashMap<&str, Vec<(u32, usize)>> = FxHashMap::default();
        for (at, element) in facts.circuit.elements.iter().enumerate().filter(|(_, element)| !element.copied) {
            let name = element.name.as_str();
            let letters = name.trim_end_matches(|c: char| c.is_ascii_digit());
            if let (false, Ok(number)) = (letters.is_empty(), name[letters.len()..].parse()) {
                rows.entry(letters).or_default().push((number, at));
            }
        }
        let mut rows: Vec<_> = rows.into_iter().filter(|(_, row)| row.len() >= 3).collect();
        rows.sort_unstable();
        for (letters, mut row) in rows {
            row.sort_unstable();
            let gaps: Vec<_> = row.windows(2).filter(|pair| pair[1].0 > pair[0].0 + 1).collect();
            let [[before, behind]] = gaps[..] else { continue };
            if behind.0 != before.0 + 2 || row[0].0 > 1 {
                continue;
            }
            let message = format!(
                "There is no {letters}{} between {letters}{} and {letters}{}",
                before.0 + 1,
                before.0,
                behind.0
            );
            found.push(
                Diagnostic::new(META.name, META.severity, facts.circuit.elements[behind.1].declared, message)
                    .help("Add what is missing, or number the rest anew"),
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
            &super::NameGap,
            expect![[r#"
            hint name-gap: There is no R3 between R2 and R4
              at 2:18 `R4`
              help: Add what is missing, or number the rest anew
        "#]],
        );
    }
}
