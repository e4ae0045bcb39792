//! The kind words of the notation and their options.

use crate::quantity::Dimension;

/// A built-in kind as its word says; a `source` becomes a voltage or a current source by its value.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
#[allow(missing_docs)]
pub enum KindWord {
    Battery,
    Source,
    Resistor,
    Lamp,
    Switch,
    Changeover,
    Potentiometer,
    Fuse,
    Ammeter,
    Voltmeter,
    Capacitor,
    Electrolytic,
    Inductor,
    Diode,
}

/// An option of a kind.
#[derive(Clone, Copy, Debug)]
pub struct OptionSpec {
    /// Its name.
    pub name: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// Whether it may be left to be found with `?`.
    pub may_be_asked: bool,
}

const fn option(name: &'static str, dimension: Dimension, may_be_asked: bool) -> OptionSpec {
    OptionSpec { name, dimension, may_be_asked }
}

const INTERNAL: OptionSpec = option("internal", Dimension::OHM, true);
const RESISTANCE: OptionSpec = option("resistance", Dimension::OHM, true);
const LIMIT: OptionSpec = option("limit", Dimension::AMPERE, false);
const RATING_W: OptionSpec = option("rating", Dimension::WATT, false);
const RATING_V: OptionSpec = option("rating", Dimension::VOLT, false);

/// The options of every kind.
pub const OPTIONS: &[(KindWord, &[OptionSpec])] = &[
    (KindWord::Battery, &[INTERNAL, option("capacity", Dimension::COULOMB, false), LIMIT]),
    (KindWord::Source, &[LIMIT]),
    (KindWord::Resistor, &[option("tolerance", Dimension::NONE, false), RATING_W]),
    (KindWord::Lamp, &[]),
    (KindWord::Switch, &[]),
    (KindWord::Changeover, &[]),
    (KindWord::Potentiometer, &[RATING_W]),
    (KindWord::Fuse, &[RESISTANCE]),
    (KindWord::Ammeter, &[option("range", Dimension::AMPERE, false)]),
    (KindWord::Voltmeter, &[option("range", Dimension::VOLT, false)]),
    (KindWord::Capacitor, &[option("initial", Dimension::VOLT, false), RATING_V]),
    (KindWord::Electrolytic, &[option("initial", Dimension::VOLT, false), RATING_V]),
    (KindWord::Inductor, &[option("initial", Dimension::AMPERE, false), RESISTANCE]),
    (KindWord::Diode, &[RESISTANCE, LIMIT]),
];

impl KindWord {
    /// The kind that a word names.
    pub fn of(word: &str) -> Option<Self> {
        Some(match word {
            "battery" => Self::Battery,
            "source" => Self::Source,
            "resistor" => Self::Resistor,
            "lamp" => Self::Lamp,
            "switch" => Self::Switch,
            "changeover" => Self::Changeover,
            "potentiometer" => Self::Potentiometer,
            "fuse" => Self::Fuse,
            "ammeter" => Self::Ammeter,
            "voltmeter" => Self::Voltmeter,
            "capacitor" => Self::Capacitor,
            "electrolytic" => Self::Electrolytic,
            "inductor" => Self::Inductor,
            "diode" => Self::Diode,
            _ => return None,
        })
    }

    /// Its options.
    pub fn options(self) -> &'static [OptionSpec] {
        OPTIONS.iter().find(|(kind, _)| *kind == self).map_or(&[], |(_, options)| options)
    }

    /// The option of this name.
    pub fn option(self, name: &str) -> Option<&'static OptionSpec> {
        self.options().iter().find(|option| option.name == name)
    }

    /// A value as it may be written, for advice: `9 ohm`.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Battery => "4.5 V",
            Self::Source => "5 V",
            Self::Resistor => "10 ohm",
            Self::Lamp => "5 W at 12 V",
            Self::Switch => "closed",
            Self::Changeover => "a",
            Self::Potentiometer => "1 kohm at 40%",
            Self::Fuse => "2 A",
            Self::Ammeter => "0.1 ohm",
            Self::Voltmeter => "10 Mohm",
            Self::Capacitor | Self::Electrolytic => "47 uF",
            Self::Inductor => "10 mH",
            Self::Diode => "0.7 V",
        }
    }

    /// With its article: `a resistor`, `an ammeter`.
    pub const fn with_article(self) -> &'static str {
        match self {
            Self::Battery => "a battery",
            Self::Source => "a source",
            Self::Resistor => "a resistor",
            Self::Lamp => "a lamp",
            Self::Switch => "a switch",
            Self::Changeover => "a changeover",
            Self::Potentiometer => "a potentiometer",
            Self::Fuse => "a fuse",
            Self::Ammeter => "an ammeter",
            Self::Voltmeter => "a voltmeter",
            Self::Capacitor => "a capacitor",
            Self::Electrolytic => "an electrolytic",
            Self::Inductor => "an inductor",
            Self::Diode => "a diode",
        }
    }
}

#[cfg(test)]
mod tests {
    use ohmline_syntax::words::KINDS;

    use super::*;

    #[test]
    fn every_kind_word_is_known_and_has_its_row() {
        for word in KINDS {
            let kind = KindWord::of(word).unwrap_or_else(|| panic!("{word}"));
            assert!(OPTIONS.iter().any(|(row, _)| *row == kind), "{word}");
        }
        assert_eq!(OPTIONS.len(), KINDS.len());
    }
}
