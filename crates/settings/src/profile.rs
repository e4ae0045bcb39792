//! The profiles that come with Ohmline: levels for classes, each named by what the class has not met yet.
//!
//! What a class cannot understand yet is not said; what it cannot solve yet is said aloud, and so is what a circuit needs beyond it. Hazards
//! are never silenced.

use ohmline_lint::{Level, Topic};
use ohmline_syntax::Severity;

/// A profile.
#[derive(Clone, Copy, Debug)]
pub struct Profile {
    /// Its name.
    pub name: &'static str,
    /// What the class has not met.
    pub summary: &'static str,
    /// What is reported where a circuit needs it.
    pub not_met: &'static [Topic],
    /// The levels of rules.
    pub levels: &'static [(&'static str, Level)],
}

const OFF: Level = Level::Off;
const WARNING: Level = Level::At(Severity::Warning);

/// All of them.
pub const PROFILES: &[Profile] = &[
    Profile {
        name: "no-internal-resistance",
        summary: "batteries are ideal: nothing is said of what they lose inside, nor asked about it",
        not_met: &[Topic::InternalResistance],
        levels: &[("missing-internal", OFF), ("voltage-sag", OFF)],
    },
    Profile {
        name: "no-meter-resistance",
        summary: "meters are ideal: nothing is said of how they change what they read",
        not_met: &[Topic::MeterResistance],
        levels: &[("meter-loading", OFF)],
    },
    Profile {
        name: "no-kirchhoff",
        summary: "series and parallel only: what does not reduce by them is a warning",
        not_met: &[Topic::Equations],
        levels: &[("not-reducible", WARNING), ("balanced-bridge", WARNING)],
    },
    Profile {
        name: "no-power",
        summary: "no power and no ratings yet: nothing is said of parts that run warm or of what a fault would overload",
        not_met: &[Topic::Power],
        levels: &[("near-rating", OFF), ("single-fault", OFF)],
    },
    Profile {
        name: "no-tolerances",
        summary: "values are exact: nothing is said of tolerances, of series of values or of digits",
        not_met: &[Topic::Tolerances],
        levels: &[("false-precision", OFF), ("needless-digits", OFF), ("off-series", OFF)],
    },
    Profile {
        name: "no-diodes",
        summary: "no diodes yet: nothing is said of why they block",
        not_met: &[Topic::Diodes],
        levels: &[("blocking-diode", OFF)],
    },
    Profile { name: "no-capacitors", summary: "no capacitors yet", not_met: &[Topic::Capacitors], levels: &[] },
    Profile { name: "no-inductors", summary: "no inductors yet", not_met: &[Topic::Inductors], levels: &[] },
    Profile {
        name: "no-current-sources",
        summary: "batteries only: no sources of a fixed current yet",
        not_met: &[Topic::CurrentSources],
        levels: &[],
    },
    Profile {
        name: "no-bench",
        summary: "circuits on paper: nothing is said of what matters on a bench alone; hazards are",
        not_met: &[],
        levels: &[
            ("idle-fuse", OFF),
            ("near-rating", OFF),
            ("off-series", OFF),
            ("single-fault", OFF),
            ("small-reading", OFF),
            ("soon-empty", OFF),
            ("swamped-resistor", OFF),
        ],
    },
];

/// The profile of this name.
pub fn profile(name: &str) -> Option<&'static Profile> {
    PROFILES.iter().find(|profile| profile.name == name)
}

#[cfg(test)]
mod tests {
    use ohmline_lint::settings::is_fixed;
    use ohmline_lint::voice::HAZARDS;
    use ohmline_lint::{Levels, meta};

    use super::*;

    #[test]
    fn each_sets_levels_of_rules_that_there_are_and_silences_no_hazard() {
        for profile in PROFILES {
            assert_eq!(PROFILES.iter().filter(|other| other.name == profile.name).count(), 1);
            assert!(!profile.levels.is_empty() || !profile.not_met.is_empty());
            for (rule, level) in profile.levels {
                let usual = meta(rule).unwrap_or_else(|| panic!("{}: there is no rule {rule}", profile.name)).severity;
                assert_ne!(Level::At(usual), *level, "{}: {rule} has this level anyway", profile.name);
                assert!(!is_fixed(rule) && !HAZARDS.contains(rule), "{}: {rule}", profile.name);
                assert_eq!(Levels::default().set_rule(rule, *level), Ok(()));
            }
        }
    }

    #[test]
    fn every_topic_belongs_to_a_profile() {
        for topic in Topic::ALL {
            assert_eq!(PROFILES.iter().filter(|profile| profile.not_met.contains(topic)).count(), 1, "{topic:?}");
        }
    }
}
