//! odd-letter: a name begins with the letter of another kind.

use ohmline_circuit::Kind;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};

/// See the module.
pub struct OddLetter;

static META: Meta = Meta {
    name: "odd-letter",
    severity: Severity::Hint,
    group: Group::Style,
    summary: "a name begins with the letter of another kind",
    why: "By custom R is a resistor, C a capacitor, V a voltmeter, S a switch (IEC 81346-2 gives such letters). Here the \
          kind is declared and the name is free, but a reader who meets a resistor `C2` beside a capacitor `C1` will \
          misread the circuit.",
    bad: "battery   B1 = 6 V\n\
          resistor  R1, C2 = 12 ohm\n\
          capacitor C1 = 10 uF\n\
          B1+ -- R1 -- ( C2 | C1 ) -- B1-\n",
    good: "battery   B1 = 6 V\n\
          resistor  R1, R2 = 12 ohm\n\
          capacitor C1 = 10 uF\n\
          B1+ -- R1 -- ( R2 | C1 ) -- B1-\n",
    ignore_when: "the names follow a real device",
    fix: "None: rename it with the editor, which finds every place.",
};

impl Rule for OddLetter {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        let numbered = |name: &str| {
            let rest = name.strip_prefix(|c: char| c.is_ascii_uppercase())?;
            (!rest.is_empty() && rest.chars().all(|c| c.is_ascii_digit())).then(|| name.chars().next())?
        };
        let customary =
            |letter: char| facts.of_kinds(kinds_of(letter)).find(|id| numbered(facts.name(*id)) == Some(letter));
        for element in facts.circuit.elements.iter().filter(|element| element.is_placed() && !element.copied) {
            let Some(letter) = numbered(&element.name) else { continue };
            let kinds = kinds_of(letter);
            if kinds.is_empty() || kinds.contains(&element.kind) || also(letter, element.kind) {
                continue;
            }
            let Some(usual) = customary(letter) else { continue };
            let message = format!(
                "{} is a {}, and {} in the same file a {}: one letter for two kinds",
                element.name,
                element.kind.word(),
                facts.name(usual),
                facts.circuit.element(usual).kind.word()
            );
            found.push(
                Diagnostic::new(META.name, META.severity, element.declared, message)
                    .label(facts.circuit.element(usual).declared, "the customary kind for this letter")
                    .help("Give it a name that begins as its kind does"),
            );
        }
    }
}

/// The kinds that a letter stands for by custom (IEC 81346-2 and common practice).
fn kinds_of(letter: char) -> &'static [Kind] {
    match letter {
        'R' => &[Kind::Resistor, Kind::Potentiometer],
        'C' => &[Kind::Capacitor, Kind::Electrolytic],
        'D' => &[Kind::Diode],
        'S' => &[Kind::Switch, Kind::Changeover],
        'F' => &[Kind::Fuse],
        'A' => &[Kind::Ammeter],
        'V' => &[Kind::Voltmeter, Kind::VoltageSource],
        'L' => &[Kind::Lamp, Kind::Inductor],
        'B' => &[Kind::Battery],
        _ => &[],
    }
}

/// Uses that are common beside the customary ones.
fn also(letter: char, kind: Kind) -> bool {
    matches!(
        (letter, kind),
        ('R', Kind::Lamp)
            | ('V', Kind::Battery | Kind::Diode)
            | ('D', Kind::Lamp)
            | ('A' | 'B' | 'C', Kind::Lamp | Kind::Switch)
    )
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::example_says;

    #[test]
    fn the_example() {
        example_says(
            &super::OddLetter,
            expect![[r#"
            hint odd-letter: C2 is a resistor, and C1 in the same file a capacitor: one letter for two kinds
              at 2:15 `C2`
              -- 3:11 `C1` the customary kind for this letter
              help: Give it a name that begins as its kind does
        "#]],
        );
    }
}
