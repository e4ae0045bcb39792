//! What is in force once every place has spoken, and where each of it came from.

use std::collections::BTreeMap;

use ohmline_lint::limits::Limit;
use ohmline_lint::settings::{group_of, is_fixed, rule_named, rule_names};
use ohmline_lint::{Level, Levels, Settings, Topic};
use ohmline_syntax::Span;

use crate::deny::Deny;
use crate::layer::{Layer, Target, TargetLevel};
use crate::profile;

/// Where something in force was said.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Origin {
    /// The layer, by its index.
    pub layer: usize,
    /// Where in it; of a level that comes from a profile, where the profile is chosen.
    pub at: Span,
    /// The profile through which it came, if through one.
    pub profile: Option<String>,
}

/// What is in force.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct InForce {
    /// What is found, and how it is said.
    pub findings: Settings,
    /// What ends a check with status 1, besides errors.
    pub deny: Vec<(Deny, Origin)>,
    /// Who chose the voice; `None` where nobody did, here as below.
    pub voice: Option<Origin>,
    /// The profiles that count, in their order.
    pub profiles: Vec<(String, Origin)>,
    /// The rules that have another level than usual, or were given their usual one.
    pub levels: BTreeMap<&'static str, (Level, Origin)>,
    /// The limits that were set.
    pub limits: Vec<(&'static Limit, Origin)>,
    /// Profiles that are named and that there are none of.
    pub missing: Vec<(String, Origin)>,
}

impl InForce {
    /// Whether a finding is not let pass.
    pub fn denies(&self, found: &ohmline_syntax::Diagnostic) -> bool {
        self.deny.iter().any(|(deny, _)| deny.covers(found))
    }
}

/// Levels that count together: the level of a rule before that of its group, and all of it before what stands below.
type Stratum = Vec<(TargetLevel, Origin)>;

/// Joins what several places say, the one that counts least first.
///
/// Voice and each limit are those of the last place that speaks of them, and so are the profiles: choosing some takes away those
/// chosen by a lesser place. Levels lie above each other: first those of the profiles, in their order, then those of the place itself. What
/// is denied is denied, whoever says so.
pub fn in_force(layers: &[&Layer]) -> InForce {
    let mut out = InForce::default();
    let chosen = layers.iter().rposition(|layer| layer.profiles.is_some());
    let mut strata: Vec<Stratum> = Vec::new();
    for (index, layer) in layers.iter().enumerate() {
        let origin = |at: Span| Origin { layer: index, at, profile: None };
        if let Some(voice) = &layer.voice {
            out.findings.voice = voice.what;
            out.voice = Some(origin(voice.at));
        }
        if Some(index) == chosen {
            for name in layer.profiles.iter().flatten() {
                let own = Origin { profile: Some(name.what.clone()), ..origin(name.at) };
                match profile_of(&name.what, layers) {
                    Some((topics, levels)) => {
                        for topic in topics {
                            if !out.findings.not_met.contains(&topic) {
                                out.findings.not_met.push(topic);
                            }
                        }
                        out.profiles.push((name.what.clone(), origin(name.at)));
                        strata.push(levels.into_iter().map(|level| (level, own.clone())).collect());
                    }
                    None => out.missing.push((name.what.clone(), origin(name.at))),
                }
            }
        }
        strata.push(layer.levels.iter().map(|level| (level.what, origin(level.at))).collect());
        for limit in &layer.limits {
            let (which, figure) = limit.what;
            which.set(&mut out.findings.limits, figure);
            out.limits.retain(|(other, _)| other.name != which.name);
            out.limits.push((which, origin(limit.at)));
        }
        for deny in &layer.deny {
            if out.deny.iter().all(|(other, _)| *other != deny.what) {
                out.deny.push((deny.what, origin(deny.at)));
            }
        }
    }
    for stratum in &strata {
        let mut levels = Levels::default();
        for ((target, level), _) in stratum {
            match target {
                // The names were looked up when they were read; levels that a rule cannot have were not taken.
                Target::Rule(rule) => drop(levels.set_rule(rule, *level)),
                Target::Group(group) => levels.set_group(*group, *level),
            }
        }
        out.findings.levels.overlay(&levels);
    }
    for rule in rule_names() {
        let group = group_of(rule).map(Target::Group);
        let said = strata.iter().rev().find_map(|stratum| {
            let of = |wanted: Target| stratum.iter().rev().find(|((target, _), _)| *target == wanted);
            of(Target::Rule(rule)).or_else(|| of(group?).filter(|_| !is_fixed(rule)))
        });
        if let Some(((_, level), origin)) = said {
            out.levels.insert(rule, (*level, origin.clone()));
        }
    }
    out
}

/// What the class of a profile has not met, and its levels: of one of those that come with Ohmline, else of one that any place defines,
/// the last first.
fn profile_of(name: &str, layers: &[&Layer]) -> Option<(Vec<Topic>, Vec<TargetLevel>)> {
    if let Some(shipped) = profile::profile(name) {
        let level = |(rule, level): &(&str, Level)| Some((Target::Rule(rule_named(rule)?), *level));
        return Some((shipped.not_met.to_vec(), shipped.levels.iter().filter_map(level).collect()));
    }
    let own = layers.iter().rev().find_map(|layer| layer.own.iter().find(|own| own.name == name))?;
    Some((own.not_met.clone(), own.levels.iter().map(|level| level.what).collect()))
}

#[cfg(test)]
mod tests {
    use ohmline_lint::Voice;
    use ohmline_syntax::Severity;

    use super::*;
    use crate::read::read;

    fn layers(texts: &[&str]) -> Vec<Layer> {
        let read = |text: &&str| {
            let read = read(text);
            assert_eq!(read.problems, [], "{text}");
            read.layer
        };
        texts.iter().map(read).collect()
    }

    fn joined(texts: &[&str]) -> InForce {
        let layers = layers(texts);
        in_force(&layers.iter().collect::<Vec<_>>())
    }

    const OFF: Level = Level::Off;
    const HINT: Level = Level::At(Severity::Hint);
    const ERROR: Level = Level::At(Severity::Error);

    #[test]
    fn the_last_place_that_speaks_of_something_counts() {
        let both = joined(&[
            "voice = \"learner\"\ndeny = \"warnings\"\n[limits]\ntouch-voltage = \"25 V\"\nwarm-share = \"60 %\"\n",
            "deny = [\"split-series\", \"warnings\"]\n[limits]\ntouch-voltage = \"30 V\"\n",
        ]);
        assert_eq!(both.findings.voice, Voice::Learner);
        assert_eq!(both.findings.limits.touch_voltage, 30.0);
        assert_eq!(both.findings.limits.warm_share, 0.6);
        let denied: Vec<_> = both.deny.iter().map(|(deny, origin)| (deny.word(), origin.layer)).collect();
        assert_eq!(denied, [("warnings", 0), ("split-series", 1)]);
        assert_eq!(
            both.limits.iter().map(|(limit, origin)| (limit.name, origin.layer)).collect::<Vec<_>>(),
            [("warm-share", 0), ("touch-voltage", 1)]
        );
        assert_eq!(joined(&[]), InForce::default());
    }

    #[test]
    fn levels_lie_above_those_of_profiles_and_above_each_other() {
        let file = "profile = \"no-kirchhoff\"\n[levels]\nnot-reducible = \"hint\"\nstyle = \"off\"\n";
        let one = joined(&[file]);
        assert_eq!(one.findings.levels.of("not-reducible"), Some(HINT));
        assert_eq!(one.levels["not-reducible"].1.profile, None);
        assert_eq!(one.levels["balanced-bridge"].1.profile.as_deref(), Some("no-kirchhoff"));
        assert_eq!(one.findings.levels.of("name-gap"), Some(OFF));
        // Another choice of profiles takes the place of the first, and lies above what the first place sets.
        let two = joined(&[file, "profile = [\"quiet\"]\n[profiles.quiet]\nnot-reducible = \"error\"\n"]);
        assert_eq!(two.findings.levels.of("not-reducible"), Some(ERROR));
        assert_eq!(two.findings.levels.of("balanced-bridge"), None);
        assert_eq!(two.profiles.len(), 1);
        assert_eq!(joined(&[file, "profile = []\n"]).findings.levels.of("balanced-bridge"), None);
    }

    #[test]
    fn of_several_profiles_the_last_counts_most_and_one_may_be_defined_elsewhere() {
        let file = "[profiles.loud]\nnear-rating = \"error\"\n[profiles.soft]\nratings-and-safety = \"hint\"\n";
        let call = Layer {
            profiles: Some(
                ["soft", "loud", "lost"].map(|name| Stated { at: Span::new(0, 0), what: name.to_owned() }).into(),
            ),
            ..Layer::default()
        };
        let layers = layers(&[file]);
        let both = in_force(&[&layers[0], &call]);
        assert_eq!(both.findings.levels.of("near-rating"), Some(ERROR));
        assert_eq!(both.findings.levels.of("single-fault"), Some(HINT));
        assert_eq!(both.missing.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["lost"]);
    }

    use crate::layer::Stated;

    #[test]
    fn an_own_profile_says_what_its_class_has_not_met() {
        let file = "profile = [\"year-9\", \"no-power\"]\n\
                    [profiles.year-9]\nnot-met = [\"diodes\", \"power\"]\nstyle = \"off\"\n";
        let one = joined(&[file]);
        assert_eq!(one.findings.not_met, [Topic::Diodes, Topic::Power]);
        assert_eq!(one.findings.levels.of("name-gap"), Some(OFF));
        for topic in Topic::ALL {
            let text = format!("profile = \"own\"\n[profiles.own]\nnot-met = \"{}\"\n", topic.name());
            assert_eq!(joined(&[&text]).findings.not_met, [*topic]);
        }
    }

    /// What is said to be in force is in force: the two are found in different ways.
    #[test]
    fn what_is_told_is_what_counts() {
        let texts = [
            "profile = [\"no-bench\", \"no-power\"]\n[levels]\nwriting = \"off\"\nname-gap = \"warning\"\n",
            "[levels]\nstyle = \"error\"\nratings-and-safety = \"hint\"\nnear-rating = \"info\"\n",
            "profile = \"no-tolerances\"\n[levels]\nfalse-precision = \"error\"\n",
        ];
        for count in 0..=texts.len() {
            let told = joined(&texts[..count]);
            for rule in rule_names() {
                assert_eq!(told.levels.get(rule).map(|(level, _)| *level), told.findings.levels.of(rule), "{rule}");
            }
        }
    }
}
