//! mixed-spelling: a unit is spelled in two ways in one file.

use ohmline_syntax::{Diagnostic, Severity};
use ohmline_syntax::{Edit, FileId, FileSpan, Fix, Safety, Span};

use crate::facts::Facts;
use crate::registry::{Group, Meta, Rule};
use crate::written;

/// See the module.
pub struct MixedSpelling;

static META: Meta = Meta {
    name: "mixed-spelling",
    severity: Severity::Hint,
    group: Group::Style,
    summary: "a unit is spelled in two ways in one file",
    why: "`ohm` and `Ω`, `u` and `µ` mean the same. A file that sticks to one of them is easier to search and to change.",
    bad: "battery  B1 = 6 V\n\
          resistor R1, R2 = 12 ohm\n\
          resistor R3 = 15 Ω\n\
          B1+ -- R1 -- R2 -- R3 -- B1-\n",
    good: "battery  B1 = 6 V\n\
          resistor R1, R2 = 12 ohm\n\
          resistor R3 = 15 ohm\n\
          B1+ -- R1 -- R2 -- R3 -- B1-\n",
    ignore_when: "never mind it where several people write",
    fix: "Writes the spelling that the file uses more often. No answer changes.",
};

impl Rule for MixedSpelling {
    fn meta(&self) -> &'static Meta {
        &META
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let Some(main) = facts.sources.files.first() else { return };
        if facts.is_large() || !facts.is_sound() {
            return;
        }
        let units = written::units(&main.tree);
        for (ascii, signs) in [("ohm", &["Ω", "\u{2126}"][..]), ("u", &["µ", "\u{3bc}"][..])] {
            let mut plain: Vec<Span> = Vec::new();
            let mut signed: Vec<Span> = Vec::new();
            for &span in &units {
                let text = main.tree.slice(span);
                let part =
                    |start: usize, len: usize| Span::new(span.start + start as u32, span.start + (start + len) as u32);
                if let Some((at, sign)) = signs.iter().find_map(|sign| Some((text.find(sign)?, sign))) {
                    signed.push(part(at, sign.len()));
                } else if ascii == "ohm" && text.ends_with(ascii) {
                    plain.push(part(text.len() - ascii.len(), ascii.len()));
                } else if ascii == "u" && text.len() > 1 && text.starts_with(ascii) {
                    plain.push(part(0, 1));
                }
            }
            let (few, many, to) =
                if plain.len() < signed.len() { (&plain, &signed, signs[0]) } else { (&signed, &plain, ascii) };
            let Some(&first) = few.first() else { continue };
            let at = |span: Span| FileSpan::new(FileId(0), span);
            let message = format!("`{}` is written `{to}` elsewhere in this file", main.tree.slice(first));
            let mut said = Diagnostic::new(META.name, META.severity, at(first), message)
                .label(at(many[0]), "the usual spelling here");
            let mut edits: Vec<Edit> = few.iter().map(|span| Edit { at: at(*span), text: to.to_owned() }).collect();
            edits.sort_by_key(|edit| edit.at.span.start);
            said.fixes.push(Fix { title: format!("Write `{to}` everywhere"), safety: Safety::Safe, edits });
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
            &super::MixedSpelling,
            expect![[r#"
            hint mixed-spelling: `Ω` is written `ohm` elsewhere in this file
              at 3:18 `Ω`
              -- 2:22 `ohm` the usual spelling here
              fix: Write `ohm` everywhere (3:18 `Ω` -> "ohm")
        "#]],
        );
    }
}
