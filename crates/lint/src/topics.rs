//! What a class may not have met yet, and where a circuit needs it all the same.
//!
//! Usually nothing is left out, and nothing is said. Profiles name what a class has not met: see [`Settings::not_met`].
//!
//! [`Settings::not_met`]: crate::Settings::not_met

use ohmline_circuit::{Element, ElementId, Kind, Law, Params, Quantity, StateId};
use ohmline_syntax::{Diagnostic, FileSpan, Severity};

use crate::driven::{self, Line};
use crate::evidence::basis;
use crate::facts::Facts;
use crate::wording;

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
    /// The equations of junctions and loops, Kirchhoff's laws for more than series and parallel.
    Equations,
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
        Topic::Equations,
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
            Topic::Equations => "equations",
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
            Topic::Equations => "the equations of junctions and loops",
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
    if not_met.contains(&Topic::Equations) && !facts.is_large() {
        equations(facts, &mut found);
    }
    found
}

/// Says which questions series, parallel and sources in line do not answer. Resistances between points are [`not_reducible`]'s.
///
/// [`not_reducible`]: crate::rules::not_reducible
fn equations(facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
    let mut known: Vec<Option<Vec<Line>>> = vec![None; facts.circuit.states.len()];
    for ask in facts.asks() {
        let (Quantity::CurrentThrough(id) | Quantity::VoltageAcross(id) | Quantity::PowerOf(id)) = ask.quantity else {
            continue;
        };
        let ideal = matches!(facts.law_of(ask.state, id), Some(Law::Emf { internal, .. }) if internal == 0);
        if ideal && matches!(ask.quantity, Quantity::VoltageAcross(_)) {
            continue;
        }
        let lines = known[ask.state.index()].get_or_insert_with(|| driven::lines(facts, ask.state));
        // What has no resistance carries what is in line with it.
        let in_line = facts.topologies[ask.state.index()].series_reduced_with(facts.circuit, id);
        let within = [id].into_iter().chain(in_line).find(|id| lines.iter().any(|line| line.members.contains(id)));
        let Some(within) = within else { continue };
        let sources: Vec<ElementId> = driven::around(lines, within)
            .into_iter()
            .flat_map(|line| line.members.iter().copied())
            .filter(|id| facts.circuit.element(*id).kind.is_source())
            .collect();
        let why = match sources[..] {
            [_, _, ..] => format!(": {} drive it together", wording::elements(facts.circuit, &sources)),
            _ => String::new(),
        };
        let words = Topic::Equations.words();
        let message = format!("The {} does not follow from series and parallel alone{why}", ask.text);
        let mut said = Diagnostic::new(RULE, Severity::Warning, ask.at, message)
            .note(format!("The profile of this class says that it has not met {words} yet"))
            .help("Ask for something else, or leave the profile out of the settings")
            .proof(basis::driven(ask.state, within));
        if ask.state != StateId::DRAWN {
            said.cases = facts.circuit.states[ask.state.index()].name.iter().map(ToString::to_string).collect();
        }
        found.push(said);
    }
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
        // The diode keeps from saying what takes equations.
        assert_eq!(expected.len() + 1, Topic::ALL.len());
        for (topic, line, message) in expected {
            assert_eq!(said(TEXT, &[topic]), [(line, message.to_owned())], "{topic:?}");
        }
        assert_eq!(said(TEXT, Topic::ALL).len(), expected.len());
    }

    /// The circuits of textbooks: which of them need the equations of junctions and loops (common practice, no source).
    #[test]
    fn what_takes_equations() {
        let two = "resistor R1, R2, R3 = 10 ohm\nB1+ -- R1 -- @a\nB2+ -- R2 -- @a\n@a -- R3 -- B1-\nB1- -- B2-\n";
        let equations = |declared: &str, asked: &str| said(&format!("{declared}{asked}\n"), &[Topic::Equations]).len();
        let ideal = format!("battery B1 = 6 V\nbattery B2 = 9 V\n{two}");
        assert_eq!(equations(&ideal, "find current through R3"), 1);
        assert_eq!(equations(&ideal, "find power of R1\nfind power of R2"), 2);
        assert_eq!(equations(&ideal, "find voltage across B1"), 0);
        assert_eq!(equations(&ideal, "find value of R1"), 0);
        // Equal sources in equal lines are one.
        let equal = ideal.replace("9 V", "6 V");
        assert_eq!(equations(&equal, "find current through R3"), 0);
        // One source and a bridge; balanced, the bridge may be taken out.
        let bridge = "battery B1 = 6 V\nresistor R1, R2, R3 = 10 ohm\nresistor R4 = 20 ohm\nresistor R5 = 5 ohm\n\
            B1+ -- ( R1 -- @p -- R2 | R3 -- @q -- R4 ) -- B1-\n@p -- R5 -- @q\n";
        assert_eq!(equations(bridge, "find current through R5"), 1);
        assert_eq!(equations(&bridge.replace("20 ohm", "10 ohm"), "find current through R1"), 0);
        // Sources in line add up, also against each other.
        let line = "battery B1 = 6 V, internal 1 ohm\nsource E1 = 2 V\nresistor R1, R2, R3 = 10 ohm\n\
            B1+ -- R1 -- ( R2 | R3 ) -- E1- -- @x\nE1+ -- B1-\n";
        assert_eq!(equations(line, "find current through R2"), 0);
        // What stands straight across an ideal voltage is solved by itself, whatever else hangs there.
        let across = format!("{bridge}resistor R6 = 12 ohm\nB1+ -- R6 -- B1-\n");
        assert_eq!(equations(&across, "find current through R6"), 0);
        assert_eq!(equations(&across, "find current through B1"), 1);
        // A meter carries what its line carries.
        let meter = "battery B1 = 6 V\nbattery B2 = 9 V\nresistor R1, R2, R3 = 10 ohm\nammeter A1\n\
            B1+ -- R1 -- @a\nB2+ -- R2 -- @a\n@a -- +A1- -- R3 -- B1-\nB1- -- B2-\n";
        assert_eq!(equations(meter, "find current through A1"), 1);
        // Two sources that share two points: each load across one of them.
        let three = "battery B1, B2 = 6 V\nresistor R1, R2, R3 = 10 ohm\nB1+ -- R1 -- B1-\nB2+ -- R2 -- B2-\n\
            B1- -- B2+\nB1+ -- R3 -- B2-\n";
        assert_eq!(equations(three, "find current through R3"), 0);
        assert_eq!(equations(three, "find current through B2"), 0);
        // A current source beside a battery.
        let drive = "battery B1 = 6 V\nsource J1 = 1 A\nresistor R1, R2 = 10 ohm\nB1+ -- R1 -- @a -- R2 -- B1-\nB1- -- +J1- -- @a\n";
        assert_eq!(equations(drive, "find current through R2"), 1);
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
