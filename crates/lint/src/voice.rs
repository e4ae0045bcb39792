//! The two voices: authors are told what is wrong, learners are asked.
//!
//! It is decided here, on the finding itself, so that terminal, editor, JSON and every other output say the same.

use ohmline_syntax::Diagnostic;

/// Whom findings speak to.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub enum Voice {
    /// Exactly what is wrong, why, and how to mend it.
    #[default]
    Author,
    /// A question that leads to the mistake. What would give the answer away is held back.
    Learner,
}

impl Voice {
    /// Both.
    pub const ALL: &[Voice] = &[Voice::Author, Voice::Learner];

    /// The word by which settings speak of it.
    pub const fn word(self) -> &'static str {
        match self {
            Voice::Author => "author",
            Voice::Learner => "learner",
        }
    }

    /// The voice of this word.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|voice| voice.word() == word)
    }
}

/// Findings about what can hurt a person. They are no riddles: everybody is told in full, with the caution.
pub const HAZARDS: &[&str] = &[
    "charging-cell",
    "opened-coil",
    "reversed-electrolytic",
    "short-circuit-current",
    "stored-energy",
    "sudden-charge",
    "touch-voltage",
];

/// Says findings in a voice. For learners a finding that has a question is that question, at its place; the other places, the reasons,
/// the advice and the fixes name what is to be found out, so they are left out. Slips of the pen and hazards are told as ever.
pub fn apply(voice: Voice, found: &mut [Diagnostic]) {
    if voice == Voice::Author {
        return;
    }
    for one in found.iter_mut().filter(|one| !HAZARDS.contains(&one.rule)) {
        let Some(question) = one.question.take() else { continue };
        one.message = question;
        one.primary.text.clear();
        one.labels.clear();
        one.notes.clear();
        one.help.clear();
        one.fixes.clear();
    }
}

#[cfg(test)]
mod tests {
    use ohmline_syntax::Severity;

    use super::*;
    use crate::fixture::Analyzed;
    use crate::registry::all_metas;
    use crate::settings::Settings;

    fn said(text: &str, voice: Voice) -> Vec<Diagnostic> {
        let settings = Settings { voice, ..Settings::default() };
        crate::check_within(&Analyzed::new(text).context(), &settings, &|| false).unwrap()
    }

    #[test]
    fn a_learner_is_asked_and_nothing_gives_the_answer_away() {
        let mut asked = 0;
        for meta in all_metas() {
            let (author, learner) = (said(meta.bad, Voice::Author), said(meta.bad, Voice::Learner));
            assert_eq!(author.len(), learner.len(), "{}", meta.name);
            for (author, learner) in author.iter().zip(&learner) {
                assert_eq!(
                    (author.rule, author.severity, author.primary.at),
                    (learner.rule, learner.severity, learner.primary.at)
                );
                match &author.question {
                    Some(question) if !HAZARDS.contains(&author.rule) => {
                        assert_eq!(learner.message, *question);
                        let away =
                            learner.fixes.len() + learner.help.len() + learner.notes.len() + learner.labels.len();
                        assert_eq!(away, 0, "{learner:?}");
                        asked += 1;
                    }
                    _ => assert_eq!(author, learner),
                }
            }
        }
        assert!(asked > 40, "{asked}");
    }

    #[test]
    fn what_can_hurt_is_told_to_everybody() {
        let metas = all_metas();
        for rule in HAZARDS {
            assert!(metas.iter().any(|meta| meta.name == *rule), "{rule}");
        }
        for meta in metas {
            for one in said(meta.bad, Voice::Author) {
                let caution = one.help.iter().chain(&one.notes).any(|line| line.contains("licensed practice"));
                assert!(!caution || HAZARDS.contains(&one.rule), "{} gives a caution", one.rule);
            }
        }
        let text = "battery B1 = 130 V\nresistor R1 = 1 kohm\nB1+ -- R1 -- B1-\n";
        let found = said(text, Voice::Learner);
        let touch = found.iter().find(|one| one.rule == "touch-voltage").expect("130 V is above the limit");
        assert!(touch.severity <= Severity::Info && touch.help.iter().any(|help| help.contains("licensed practice")));
    }
}
