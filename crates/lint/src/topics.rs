//! What a class may not have met yet, and where a circuit needs it all the same.
//!
//! Usually nothing is left out, and nothing is said. Profiles name what a class has not met: see [`Settings::not_met`].
//!
//! [`Settings::not_met`]: crate::Settings::not_met

use ohmline_circuit::{Element, Kind, Params, Quantity};
use ohmline_syntax::{Diagnostic, FileSpan, Severity};

use crate::facts::Facts;

/// The name of the rule.
const RULE: &str = "beyond-class";

/// Something that a class may not have met yet.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Topic {
    /// Batteries that lose voltage inside.
    InternalResistance,
    /// Meters, fuses and coils that have a resistance of their own.
    MeterResistance,
    /// Sources that drive a current whatever the voltage.
    CurrentSources,
    /// Power and energy, as something asked.
    Power,
    /// Values that are right within a share only.
    Tolerances,
    /// Diodes.
    Diodes,
    /// Capacitors.
    Capacitors,
    /// Inductors.
    Inductors,
}

impl Topic {
    /// All of them.
    pub const ALL: &[Topic] = &[
        Topic::InternalResistance,
        Topic::MeterResistance,
        Topic::CurrentSources,
        Topic::Power,
        Topic::Tolerances,
        Topic::Diodes,
        Topic::Capacitors,
        Topic::Inductors,
    ];

    /// Its name in a file of settings: `internal-resistance`.
    pub const fn name(self) -> &'static str {
        match self {
            Topic::InternalResistance => "internal-resistance",
            Topic::MeterResistance => "meter-resistance",
            Topic::CurrentSources => "current-sources",
            Topic::Power => "power",
            Topic::Tolerances => "tolerances",
            Topic::Diodes => "diodes",
            Topic::Capacitors => "capacitors",
            Topic::Inductors => "inductors",
        }
    }

    /// The topic of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|topic| topic.name() == name)
    }

    /// The words for it: `internal resistance`.
    pub const fn words(self) -> &'static str {
        match self {
            Topic::InternalResistance => "internal resistance",
            Topic::MeterResistance => "the resistance of meters",
            Topic::CurrentSources => "current sources",
            Topic::Power => "power",
            Topic::Tolerances => "tolerances",
            Topic::Diodes => "diodes",
            Topic::Capacitors => "capacitors",
            Topic::Inductors => "inductors",
        }
    }

    /// What an element has or is that belongs to it, and where that stands.
    fn of(self, element: &Element) -> Option<(&'static str, FileSpan)> {
        let is = |kind: bool, words| kind.then_some((words, element.declared));
        let has = |option: bool, words| option.then_some((words, element.value_at));
        match (self, &element.params) {
            (Topic::InternalResistance, Params::Battery { internal, .. }) => {
                has(internal.is_some(), "has an internal resistance")
            }
            (Topic::MeterResistance, Params::Ammeter { resistance, .. } | Params::Voltmeter { resistance, .. }) => {
                has(resistance.is_some(), "has a resistance of its own")
            }
            (Topic::Tolerances, Params::Resistor { tolerance, .. }) => has(tolerance.is_some(), "has a tolerance"),
            (Topic::CurrentSources, _) => is(element.kind == Kind::CurrentSource, "drives a fixed current"),
            (Topic::Diodes, _) => is(element.kind == Kind::Diode, "is a diode"),
            (Topic::Capacitors, _) => {
                is(matches!(element.kind, Kind::Capacitor | Kind::Electrolytic), "is a capacitor")
            }
            (Topic::Inductors, _) => is(element.kind == Kind::Inductor, "is an inductor"),
            _ => None,
        }
    }
}

/// Says where the circuit needs what the class has not met.
pub fn check(facts: &Facts<'_>, not_met: &[Topic]) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for topic in not_met {
        let say = |message: String, at: FileSpan| {
            let words = topic.words();
            Diagnostic::new(RULE, Severity::Warning, at, message)
                .note(format!("The profile of this class says that it has not met {words} yet"))
                .help("Leave it out of the circuit, or the profile out of the settings")
        };
        for element in &facts.circuit.elements {
            if let Some((what, at)) = topic.of(element) {
                found.push(say(format!("{} {what}, which the class has not met yet", element.name), at));
            }
        }
        if *topic == Topic::Power {
            let asks = facts.asks().filter(|ask| matches!(ask.quantity, Quantity::PowerOf(_) | Quantity::EnergyOf(_)));
            found.extend(asks.map(|ask| say(format!("The {} is beyond what the class has met", ask.text), ask.at)));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::Analyzed;
    use crate::settings::Settings;

    /// One of everything that a topic speaks of, in lines of their own.
    const TEXT: &str = "battery B1 = 6 V, internal 1 ohm\nsource J1 = 1 A\nresistor R1 = 12 ohm, tolerance 5 %\n\
        diode D1 = 0.7 V\ncapacitor C1 = 1 uF\ninductor M1 = 1 mH\nammeter A1 = 1 ohm\n\
        B1+ -- +A1- -- R1 -- +D1- -- M1 -- B1-\nB1+ -- C1 -- B1-\nB1+ -- J1 -- B1-\nfind power of R1\n";

    fn said(text: &str, not_met: &[Topic]) -> Vec<(u32, String)> {
        let settings = Settings { not_met: not_met.to_vec(), ..Settings::default() };
        let analyzed = Analyzed::new(text);
        let found = crate::check_within(&analyzed.context(), &settings, &|| false).expect("nothing stops it");
        let line = |at: FileSpan| text[..at.span.start as usize].matches('\n').count() as u32 + 1;
        found.into_iter().filter(|one| one.rule == RULE).map(|one| (line(one.primary.at), one.message)).collect()
    }

    #[test]
    fn each_topic_is_found_where_it_stands_and_nothing_else() {
        assert_eq!(said(TEXT, &[]), []);
        let expected = [
            (Topic::InternalResistance, 1, "B1 has an internal resistance, which the class has not met yet"),
            (Topic::CurrentSources, 2, "J1 drives a fixed current, which the class has not met yet"),
            (Topic::Tolerances, 3, "R1 has a tolerance, which the class has not met yet"),
            (Topic::Diodes, 4, "D1 is a diode, which the class has not met yet"),
            (Topic::Capacitors, 5, "C1 is a capacitor, which the class has not met yet"),
            (Topic::Inductors, 6, "M1 is an inductor, which the class has not met yet"),
            (Topic::MeterResistance, 7, "A1 has a resistance of its own, which the class has not met yet"),
            (Topic::Power, 11, "The power of R1 is beyond what the class has met"),
        ];
        assert_eq!(expected.len(), Topic::ALL.len());
        for (topic, line, message) in expected {
            assert_eq!(said(TEXT, &[topic]), [(line, message.to_owned())], "{topic:?}");
        }
        assert_eq!(said(TEXT, Topic::ALL).len(), Topic::ALL.len());
    }

    #[test]
    fn a_comment_may_allow_it() {
        let text = TEXT.replace("diode D1", "# allow beyond-class: a glimpse of what comes\ndiode D1");
        let settings = Settings { not_met: vec![Topic::Diodes], ..Settings::default() };
        let analyzed = Analyzed::new(&text);
        let found = crate::check_within(&analyzed.context(), &settings, &|| false).expect("nothing stops it");
        let own: Vec<_> = found.iter().filter(|one| one.rule == RULE).collect();
        assert!(own.len() == 1 && own[0].allowed.is_some(), "{own:?}");
    }
}
