//! What the user can choose about findings: the voice, the levels, the limits, what a class has met.
//!
//! Plain values; how they are read from a file or an editor is no matter of this crate.

use std::sync::LazyLock;

use ohmline_syntax::diagnostic::SYNTAX_RULES;
use ohmline_syntax::{Diagnostic, Severity};
use rustc_hash::FxHashMap;

use crate::limits::Limits;
use crate::registry::{Group, READING_RULES, all_metas};
use crate::topics::Topic;
use crate::voice::{self, Voice};

/// Everything that can be chosen. The usual settings change nothing and cost nothing.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Settings {
    /// How findings are worded.
    pub voice: Voice,
    /// How bad each rule is.
    pub levels: Levels,
    /// From which figures on something is reported.
    pub limits: Limits,
    /// What the class has not met yet: a circuit that needs it is reported.
    pub not_met: Vec<Topic>,
    /// Whether each claim that fails is reported by itself, and no common cause is looked for: that takes solving again for
    /// everything that may be it.
    pub without_causes: bool,
}

impl Settings {
    /// What remains of everything found, and how it is said. Findings come and go in order: files, then places, then severity.
    ///
    /// Findings of whoever reads files are handed through here too, so that the same settings hold for all.
    pub fn apply(&self, mut found: Vec<Diagnostic>) -> Vec<Diagnostic> {
        self.levels.apply(&mut found);
        voice::apply(self.voice, &mut found);
        found
    }
}

/// What becomes of the findings of a rule.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Level {
    /// They are not shown.
    Off,
    /// They are shown, each as bad as this.
    At(Severity),
}

impl Level {
    /// Every level, the gentlest first.
    pub const ALL: &[Level] = &[
        Level::Off,
        Level::At(Severity::Hint),
        Level::At(Severity::Info),
        Level::At(Severity::Warning),
        Level::At(Severity::Error),
    ];

    /// The word by which settings speak of it.
    pub const fn word(self) -> &'static str {
        match self {
            Level::Off => "off",
            Level::At(severity) => severity.word(),
        }
    }

    /// The level of this word.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|level| level.word() == word)
    }
}

/// Why a level cannot be set.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LevelError {
    /// There is no such rule or group.
    Unknown,
    /// What the rule reports could not be read as a circuit, so it stays an error whatever anybody sets.
    Fixed,
}

/// Levels of rules that differ from the usual ones. A level of a rule counts before one of its group, in whatever order they are set.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Levels {
    rules: FxHashMap<&'static str, Level>,
    groups: FxHashMap<Group, Level>,
    /// What comes of both.
    together: FxHashMap<&'static str, Level>,
}

/// The rules, once: names, groups, and whether the level is fixed.
static RULES: LazyLock<Vec<(&'static str, Group, bool)>> = LazyLock::new(|| {
    let read = SYNTAX_RULES.iter().chain(ohmline_circuit::build::BUILD_RULES).chain(READING_RULES);
    let unreadable: Vec<&str> = read.filter(|rule| rule.1 == Severity::Error).map(|rule| rule.0).collect();
    all_metas().iter().map(|meta| (meta.name, meta.group, unreadable.contains(&meta.name))).collect()
});

/// Whether a rule stays an error whatever is set: what it reports is left out of the circuit, so every answer may be wrong.
pub fn is_fixed(rule: &str) -> bool {
    RULES.iter().any(|(name, _, fixed)| *name == rule && *fixed)
}

/// The group of a rule.
pub fn group_of(rule: &str) -> Option<Group> {
    RULES.iter().find(|(name, ..)| *name == rule).map(|(_, group, _)| *group)
}

/// The rule of this name, for as long as the program runs.
pub fn rule_named(name: &str) -> Option<&'static str> {
    RULES.iter().map(|(name, ..)| *name).find(|own| *own == name)
}

/// The names of all rules, in the order in which they are listed.
pub fn rule_names() -> impl Iterator<Item = &'static str> {
    RULES.iter().map(|(name, ..)| *name)
}

impl Levels {
    /// Sets the level of one rule.
    pub fn set_rule(&mut self, rule: &str, level: Level) -> Result<(), LevelError> {
        let (name, _, fixed) = *RULES.iter().find(|(name, ..)| *name == rule).ok_or(LevelError::Unknown)?;
        if fixed && level != Level::At(Severity::Error) {
            return Err(LevelError::Fixed);
        }
        self.rules.insert(name, level);
        self.join();
        Ok(())
    }

    /// Sets the level of every rule of a group that has no level of its own and can have one.
    pub fn set_group(&mut self, group: Group, level: Level) {
        self.groups.insert(group, level);
        self.join();
    }

    fn join(&mut self) {
        let of_groups = RULES.iter().filter(|(_, _, fixed)| !fixed);
        let of_groups = of_groups.filter_map(|(name, group, _)| Some((*name, *self.groups.get(group)?)));
        self.together = of_groups.chain(self.rules.iter().map(|(name, level)| (*name, *level))).collect();
    }

    /// The level that was set for a rule, by itself or with its group.
    pub fn of(&self, rule: &str) -> Option<Level> {
        self.together.get(rule).copied()
    }

    /// Whether nothing was set.
    pub fn is_empty(&self) -> bool {
        self.together.is_empty()
    }

    /// Takes over what is set in `over`, which counts before what is set here.
    pub fn overlay(&mut self, over: &Levels) {
        // A group set nearer to the user counts before a rule set farther away.
        let reset = |rule: &str| RULES.iter().any(|(name, group, _)| *name == rule && over.groups.contains_key(group));
        self.rules.retain(|rule, _| !reset(rule));
        self.rules.extend(&over.rules);
        self.groups.extend(&over.groups);
        self.join();
    }

    /// Drops what is off and sets the severity of the rest.
    fn apply(&self, found: &mut Vec<Diagnostic>) {
        if self.is_empty() {
            return;
        }
        found.retain_mut(|one| match self.of(one.rule) {
            None => true,
            Some(Level::Off) => false,
            Some(Level::At(severity)) => {
                one.severity = severity;
                true
            }
        });
        found.sort_by_key(crate::merge::order);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::Analyzed;

    const TEXT: &str =
        "battery B1 = 6 V\nresistor R1 = 12 ohm\nlamp L1 = 12 ohm\nB1+ -- R1 -- B1-\nlet spare = 3 ohm\n";

    fn found(settings: &Settings) -> Vec<(&'static str, Severity)> {
        let analyzed = Analyzed::new(TEXT);
        let found = crate::check_within(&analyzed.context(), settings, &|| false).unwrap();
        found.iter().map(|one| (one.rule, one.severity)).collect()
    }

    fn with(set: impl FnOnce(&mut Levels)) -> Settings {
        let mut settings = Settings::default();
        set(&mut settings.levels);
        settings
    }

    #[test]
    fn a_level_of_a_rule_counts_before_that_of_its_group() {
        let usual = found(&Settings::default());
        assert!(usual.contains(&("never-placed", Severity::Warning)), "{usual:?}");
        assert!(usual.contains(&("unused-value", Severity::Info)), "{usual:?}");
        let off = with(|levels| levels.set_rule("never-placed", Level::Off).unwrap());
        assert!(found(&off).iter().all(|(rule, _)| *rule != "never-placed"));
        let both = with(|levels| {
            levels.set_rule("unused-value", Level::At(Severity::Error)).unwrap();
            levels.set_group(Group::ValuesAndUnits, Level::Off);
        });
        assert!(found(&both).contains(&("unused-value", Severity::Error)));
        let group = with(|levels| levels.set_group(Group::ValuesAndUnits, Level::Off));
        assert!(found(&group).iter().all(|(rule, _)| *rule != "unused-value"));
    }

    #[test]
    fn what_makes_a_circuit_unreadable_stays_an_error() {
        let mut levels = Levels::default();
        for rule in ["missing-value", "unknown-name", "too-many-cases", "unreadable-statement"] {
            assert_eq!(levels.set_rule(rule, Level::Off), Err(LevelError::Fixed), "{rule}");
            assert_eq!(levels.set_rule(rule, Level::At(Severity::Error)), Ok(()), "{rule}");
        }
        assert_eq!(levels.set_rule("no-such-rule", Level::Off), Err(LevelError::Unknown));
        assert_eq!(levels.set_rule("false-claim", Level::Off), Ok(()));
        levels.set_group(Group::Writing, Level::Off);
        assert_eq!(levels.of("missing-wire"), None);
        assert_eq!(levels.of("long-wire"), Some(Level::Off));
    }

    #[test]
    fn what_is_nearer_to_the_user_counts_first() {
        let mut far = Levels::default();
        far.set_rule("unused-value", Level::At(Severity::Error)).unwrap();
        far.set_rule("split-series", Level::Off).unwrap();
        let mut near = Levels::default();
        near.set_group(Group::ValuesAndUnits, Level::At(Severity::Hint));
        far.overlay(&near);
        assert_eq!(far.of("unused-value"), Some(Level::At(Severity::Hint)));
        assert_eq!(far.of("split-series"), Some(Level::Off));
    }

    #[test]
    fn the_order_stays_that_of_places_and_severity() {
        let settings = with(|levels| levels.set_group(Group::ValuesAndUnits, Level::At(Severity::Error)));
        let analyzed = Analyzed::new(TEXT);
        let found = crate::check_within(&analyzed.context(), &settings, &|| false).unwrap();
        assert!(found.is_sorted_by_key(crate::merge::order));
    }
}
