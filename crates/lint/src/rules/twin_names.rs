//! twin-names: two names differ only in the case of a letter.

use ohmline_syntax::{Diagnostic, Severity};
use rustc_hash::FxHashMap;

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct TwinNames;

static META: Meta = Meta {
    name: "twin-names",
    severity: Severity::Hint,
    group: Group::Style,
    summary: "two names differ only in the case of a letter",
    why: "Upper and lower case count, so `Rx` and `rx` are two elements. Read aloud or written on the board they are one.",
    bad: "battery  B1 = 6 V\n\
          resistor Rx, rx = 12 ohm\n\
          B1+ -- Rx -- rx -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor Rx, Ry = 12 ohm\n\
          B1+ -- Rx -- Ry -- B1-\n",
    ignore_when: "the two letters are the custom of the book, such as R and r",
    fix: "None: rename one with the editor, which finds every place.",
};

impl Rule for TwinNames {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        let mut seen: FxHashMap<String, usize> = FxHashMap::default();
        for (at, element) in facts.circuit.elements.iter().enumerate() {
            if element.copied || element.name.chars().count() < 2 {
                continue;
            }
            let Some(first) = seen.insert(element.name.to_lowercase(), at) else { continue };
            let first = &facts.circuit.elements[first];
            if first.name == element.name {
                continue;
            }
            let message = format!("{} and {} differ only in the case of a letter", first.name, element.name);
            found.push(
                Diagnostic::new(META.name, META.severity, element.declared, message)
                    .label(first.declared, "the other one")
                    .help("Give one of them another name"),
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
            &super::TwinNames,
            expect![[r#"
            hint twin-names: Rx and rx differ only in the case of a letter
              at 2:14 `rx`
              -- 2:10 `Rx` the other one
              help: Give one of them another name
        "#]],
        );
    }
}
