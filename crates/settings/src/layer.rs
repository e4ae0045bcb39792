//! What one place says: a file, an editor, a call.

use ohmline_lint::limits::Limit;
use ohmline_lint::settings::{rule_named, rule_names};
use ohmline_lint::{Group, Level, Topic, Voice};
use ohmline_syntax::Span;

use crate::deny::Deny;

/// Something that was said, and where.
#[derive(Clone, PartialEq, Debug)]
pub struct Stated<T> {
    /// Where; empty where there is no text.
    pub at: Span,
    /// What.
    pub what: T,
}

/// What a level is set for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Target {
    /// One rule.
    Rule(&'static str),
    /// Every rule of a group that has no level of its own.
    Group(Group),
}

impl Target {
    /// The rule or group of this name.
    pub fn named(name: &str) -> Option<Self> {
        rule_named(name).map(Target::Rule).or_else(|| Group::of_word(name).map(Target::Group))
    }

    /// The names of all rules and groups.
    pub fn names() -> impl Iterator<Item = &'static str> {
        Group::ALL.iter().map(|group| group.word()).chain(rule_names())
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Target::Rule(name) => name,
            Target::Group(group) => group.word(),
        }
    }
}

/// A level for a rule or a group.
pub type TargetLevel = (Target, Level);

/// A profile of the user's own.
#[derive(Clone, PartialEq, Debug)]
pub struct OwnProfile {
    /// Its name.
    pub name: String,
    /// What the class has not met.
    pub not_met: Vec<Topic>,
    /// The levels that it sets, in text order.
    pub levels: Vec<Stated<TargetLevel>>,
}

/// Everything that one place says; what it does not say is left to others.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Layer {
    /// How findings are worded.
    pub voice: Option<Stated<Voice>>,
    /// Names of profiles, in the order in which they count: the last one most.
    pub profiles: Option<Vec<Stated<String>>>,
    /// Levels, in text order.
    pub levels: Vec<Stated<TargetLevel>>,
    /// Limits, in SI base units.
    pub limits: Vec<Stated<(&'static Limit, f64)>>,
    /// What ends a check with status 1, besides errors.
    pub deny: Vec<Stated<Deny>>,
    /// Profiles that are defined here.
    pub own: Vec<OwnProfile>,
}
