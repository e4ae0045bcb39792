//! Every setting, once: what it takes, what is usual, an example. The page about settings is written from this list.

use std::fmt::Write as _;

use ohmline_lint::limits::{Limit, Limits};
use ohmline_lint::{Group, Level, Topic, Voice, meta};

use crate::profile::PROFILES;
use crate::read::what;
pub use crate::read::written;

/// A setting.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Key {
    /// As it is written; of one that stands in a table, with the name of the table: `limits.touch-voltage`.
    pub name: String,
    /// What it takes.
    pub takes: String,
    /// What is in force without it.
    pub usual: String,
    /// What it does.
    pub summary: String,
    /// A file that sets it.
    pub example: String,
}

/// Every setting, in the order in which they are listed.
pub fn keys() -> Vec<Key> {
    let quoted = |words: Vec<&str>| words.iter().map(|word| format!("`\"{word}\"`")).collect::<Vec<_>>().join(", ");
    let key = |name: &str, takes: String, usual: &str, summary: &str, example: &str| Key {
        name: name.to_owned(),
        takes,
        usual: usual.to_owned(),
        summary: summary.to_owned(),
        example: example.to_owned(),
    };
    let levels = quoted(Level::ALL.iter().map(|level| level.word()).collect());
    let mut keys = vec![
        key(
            "voice",
            quoted(Voice::ALL.iter().map(|voice| voice.word()).collect()),
            "`\"author\"`",
            "Whom findings speak to: authors are told what is wrong, learners are asked a question that leads to it. Hazards are told to both.",
            "voice = \"learner\"\n",
        ),
        key(
            "profile",
            "a name of a profile, or a list of names".to_owned(),
            "none",
            "Levels for a class, by what it has not met yet. Of several profiles the last counts most.",
            "profile = [\"no-internal-resistance\", \"no-kirchhoff\"]\n",
        ),
        key(
            "deny",
            "`\"warnings\"`, `\"infos\"`, a rule, a group, or a list of these".to_owned(),
            "nothing",
            "What ends a check with status 1, besides errors. It changes the exit status alone, not how findings are shown.",
            "deny = [\"warnings\", \"hidden-slip\"]\n",
        ),
        key(
            "levels.RULE",
            levels.clone(),
            "that of `ohmline explain`",
            "How bad what a rule finds is. Errors of what could not be read stay errors.",
            "[levels]\nname-gap = \"off\"\n",
        ),
        key(
            "levels.GROUP",
            levels.clone(),
            "that of each rule",
            "The same for every rule of a group that has no level of its own.",
            "[levels]\nstyle = \"off\"\nname-gap = \"hint\"\n",
        ),
        key(
            "profiles.NAME.RULE",
            format!("{levels}; groups too"),
            "none",
            "A profile of your own: levels as in `[levels]`, in force where `profile` names it.",
            "profile = \"year-9\"\n\n[profiles.year-9]\nnot-reducible = \"error\"\nstyle = \"off\"\n",
        ),
        key(
            "profiles.NAME.not-met",
            quoted(Topic::ALL.iter().map(|topic| topic.name()).collect()) + ", or a list of these",
            "nothing",
            "What the class of a profile of your own has not met: where a circuit needs it, that is a warning (`beyond-class`).",
            "profile = \"year-9\"\n\n[profiles.year-9]\nnot-met = [\"diodes\", \"internal-resistance\"]\n",
        ),
    ];
    let usual = Limits::default();
    for limit in Limit::ALL {
        let written = written(limit, &usual);
        let written = if limit.is_count() { written } else { format!("\"{written}\"") };
        keys.push(Key {
            name: format!("limits.{}", limit.name),
            takes: what(limit).to_owned(),
            usual: format!("`{written}`"),
            summary: format!("{} ({}).", limit.summary, limit.source),
            example: format!("[limits]\n{} = {written}\n", limit.name),
        });
    }
    keys
}

/// The settings as tables of Markdown: the keys, the limits, the profiles, the groups.
pub fn markdown() -> String {
    let mut out = String::new();
    let row = |out: &mut String, cells: &[&str]| {
        let cells: Vec<String> = cells.iter().map(|cell| cell.replace('|', "\\|")).collect();
        // Writing to a string cannot fail.
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    };
    let all = keys();
    let (limits, others): (Vec<&Key>, Vec<&Key>) = all.iter().partition(|key| key.name.starts_with("limits."));
    for (heading, keys) in [("Keys", others), ("Limits", limits)] {
        let _ = writeln!(out, "## {heading}\n\n| key | takes | usual | what it does |\n|---|---|---|---|");
        for key in keys {
            row(&mut out, &[&format!("`{}`", key.name), &key.takes, &key.usual, &key.summary]);
        }
        out.push('\n');
    }
    let _ =
        writeln!(out, "## Profiles\n\n| profile | the class | `beyond-class` reports | levels |\n|---|---|---|---|");
    for profile in PROFILES {
        let level = |(rule, level): &(&str, Level)| format!("`{rule}` {}", level.word());
        let levels = profile.levels.iter().map(level).collect::<Vec<_>>().join(", ");
        let topics = profile.not_met.iter().map(|topic| topic.words()).collect::<Vec<_>>().join(", ");
        row(&mut out, &[&format!("`{}`", profile.name), profile.summary, &topics, &levels]);
    }
    let _ = writeln!(out, "\n## Groups\n\n| group | about | rules |\n|---|---|---|");
    let mut names: Vec<&str> = ohmline_lint::settings::rule_names().collect();
    names.sort_unstable();
    for group in Group::ALL {
        let own = names.iter().filter(|name| meta(name).is_some_and(|meta| meta.group == *group)).count();
        row(&mut out, &[&format!("`{}`", group.word()), group.title(), &format!("{own}")]);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::{KEYS, read};

    #[test]
    fn each_example_is_read_and_says_something() {
        for key in keys() {
            let read = read(&key.example);
            assert_eq!(read.problems, [], "{}", key.name);
            assert_ne!(read.layer, crate::Layer::default(), "{}", key.name);
        }
    }

    #[test]
    fn every_key_that_is_read_is_listed() {
        for word in KEYS {
            assert!(keys().iter().any(|key| key.name.split('.').next() == Some(word)), "{word}");
        }
    }

    #[test]
    fn what_is_usual_changes_nothing() {
        for limit in Limit::ALL {
            let example = keys().into_iter().find(|key| key.name == format!("limits.{}", limit.name)).expect("listed");
            let layer = read(&example.example).layer;
            let force = crate::in_force(&[&layer]);
            let usual = limit.of(&Limits::default());
            assert!((limit.of(&force.findings.limits) - usual).abs() <= 1e-12 * usual, "{}", limit.name);
        }
    }
}
