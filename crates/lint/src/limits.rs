//! The figures from which on something is reported. Settings may change each of them.

use ohmline_circuit::Unit;

/// Limits, in SI base units; shares are parts of one.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Limits {
    /// Volts, direct current free of ripple, above which a voltage is no extra-low voltage any more: 120 V (IEC 61140).
    pub extra_low_voltage: f64,
    /// Volts from which touching is a concern under more onerous conditions, such as damp rooms: 60 V (IEC 60364-4-41).
    pub touch_voltage: f64,
    /// Amperes of a shorted battery from which a note is given: 50 A (common practice, no source).
    pub short_circuit_current: f64,
    /// Joules stored from which a note is given: 1 J (common practice, no source).
    pub energy_note: f64,
    /// Joules stored from which a warning is given: 10 J (common practice, no source; the figure often taught).
    pub energy_danger: f64,
    /// Share of a power rating from which on a part is called warm: one half (common practice, no source).
    pub warm_share: f64,
    /// Share of a lamp's rated voltage above which it is overdriven: 1.1 (common practice, no source).
    pub lamp_over: f64,
    /// Share of a lamp's rated voltage below which it hardly glows: 0.3 (common practice, no source).
    pub lamp_dim: f64,
    /// Share of a battery's electromotive force below which its terminal voltage is called low: 0.75 (common practice, no source).
    pub sagging_share: f64,
    /// Amperes that one battery drives through another with nothing else joined, from which a warning is given: 10 A (common
    /// practice, no source).
    pub circulating_current: f64,
    /// Hours below which a battery's capacity is called soon empty: 0.5 h (common practice, no source).
    pub shortest_hours: f64,
    /// Relative change of a reading by the meter itself from which on the meter is said to load the circuit: 2 % (common
    /// practice, no source).
    pub meter_loading: f64,
    /// Share of its range below which a reading is called small: 5 % (common practice, no source).
    pub small_reading: f64,
    /// Amperes above which a current is called unlikely: 1 kA (common practice, no source).
    pub largest_current: f64,
    /// Share of the whole below which a resistor hardly matters: 0.1 % (common practice, no source).
    pub swamped_share: f64,
    /// Items of one path above which it is called crowded.
    pub longest_path: usize,
    /// Brackets within brackets above which a path is called deep.
    pub deepest_group: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            extra_low_voltage: 120.0,
            touch_voltage: 60.0,
            short_circuit_current: 50.0,
            energy_note: 1.0,
            energy_danger: 10.0,
            warm_share: 0.5,
            lamp_over: 1.1,
            lamp_dim: 0.3,
            sagging_share: 0.75,
            circulating_current: 10.0,
            shortest_hours: 0.5,
            meter_loading: 0.02,
            small_reading: 0.05,
            largest_current: 1_000.0,
            swamped_share: 0.001,
            longest_path: 16,
            deepest_group: 4,
        }
    }
}

/// One of the figures, with what settings and pages need to know of it.
#[derive(Clone, Copy, Debug)]
pub struct Limit {
    /// The name by which settings speak of it: `touch-voltage`.
    pub name: &'static str,
    /// Its unit; [`Unit::One`] for shares and for numbers of things.
    pub unit: Unit,
    /// What happens beyond it: a sentence, without its period.
    pub summary: &'static str,
    /// Where the usual figure comes from.
    pub source: &'static str,
    /// Whether it keeps people from harm: a larger figure than usual hides something that can hurt.
    pub guards: bool,
    field: Field,
}

impl PartialEq for Limit {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

/// Where a figure stands among the others.
#[derive(Clone, Copy, Debug)]
enum Field {
    /// In the unit of the limit, times this factor.
    Figure(fn(&mut Limits) -> &mut f64, f64),
    Count(fn(&mut Limits) -> &mut usize),
}

const COMMON: &str = "common practice, no source";

impl Limit {
    /// Every limit, in the order in which they are listed.
    pub const ALL: &[Limit] = &[
        Limit {
            name: "touch-voltage",
            unit: Unit::Volt,
            summary: "Voltages above it are a note, and so is what holds them as a charge",
            source: "IEC 60364-4-41, damp rooms and bare parts in reach",
            guards: true,
            field: Field::Figure(|limits| &mut limits.touch_voltage, 1.0),
        },
        Limit {
            name: "extra-low-voltage",
            unit: Unit::Volt,
            summary: "Voltages above it are a warning",
            source: "IEC 61140, direct current free of ripple",
            guards: true,
            field: Field::Figure(|limits| &mut limits.extra_low_voltage, 1.0),
        },
        Limit {
            name: "short-circuit-current",
            unit: Unit::Ampere,
            summary: "A battery whose short circuit would carry more is noted",
            source: COMMON,
            guards: true,
            field: Field::Figure(|limits| &mut limits.short_circuit_current, 1.0),
        },
        Limit {
            name: "energy-note",
            unit: Unit::Joule,
            summary: "More stored energy is a note",
            source: COMMON,
            guards: true,
            field: Field::Figure(|limits| &mut limits.energy_note, 1.0),
        },
        Limit {
            name: "energy-danger",
            unit: Unit::Joule,
            summary: "More stored energy is a warning",
            source: "common practice, no source; the figure often taught",
            guards: true,
            field: Field::Figure(|limits| &mut limits.energy_danger, 1.0),
        },
        Limit {
            name: "circulating-current",
            unit: Unit::Ampere,
            summary: "A larger current that one battery drives through another is reported",
            source: COMMON,
            guards: true,
            field: Field::Figure(|limits| &mut limits.circulating_current, 1.0),
        },
        Limit {
            name: "largest-current",
            unit: Unit::Ampere,
            summary: "A larger current is called unlikely",
            source: COMMON,
            guards: false,
            field: Field::Figure(|limits| &mut limits.largest_current, 1.0),
        },
        Limit {
            name: "warm-share",
            unit: Unit::One,
            summary: "A part that takes a larger share of its power rating is called warm",
            source: COMMON,
            guards: false,
            field: Field::Figure(|limits| &mut limits.warm_share, 1.0),
        },
        Limit {
            name: "lamp-over",
            unit: Unit::One,
            summary: "A lamp that gets a larger share of its rated voltage is overdriven",
            source: COMMON,
            guards: false,
            field: Field::Figure(|limits| &mut limits.lamp_over, 1.0),
        },
        Limit {
            name: "lamp-dim",
            unit: Unit::One,
            summary: "A lamp that gets a smaller share of its rated voltage hardly glows",
            source: COMMON,
            guards: false,
            field: Field::Figure(|limits| &mut limits.lamp_dim, 1.0),
        },
        Limit {
            name: "sagging-share",
            unit: Unit::One,
            summary: "A battery that keeps a smaller share of its electromotive force under load sags",
            source: COMMON,
            guards: false,
            field: Field::Figure(|limits| &mut limits.sagging_share, 1.0),
        },
        Limit {
            name: "shortest-life",
            unit: Unit::Second,
            summary: "A battery that lasts for less is soon empty",
            source: COMMON,
            guards: false,
            field: Field::Figure(|limits| &mut limits.shortest_hours, 3600.0),
        },
        Limit {
            name: "meter-loading",
            unit: Unit::One,
            summary: "A meter that changes its own reading by a larger share loads the circuit",
            source: COMMON,
            guards: false,
            field: Field::Figure(|limits| &mut limits.meter_loading, 1.0),
        },
        Limit {
            name: "small-reading",
            unit: Unit::One,
            summary: "A reading that is a smaller share of the range is called small",
            source: COMMON,
            guards: false,
            field: Field::Figure(|limits| &mut limits.small_reading, 1.0),
        },
        Limit {
            name: "swamped-share",
            unit: Unit::One,
            summary: "A resistor that is a smaller share of another in its line hardly matters",
            source: COMMON,
            guards: false,
            field: Field::Figure(|limits| &mut limits.swamped_share, 1.0),
        },
        Limit {
            name: "longest-path",
            unit: Unit::One,
            summary: "A path of more items on one line is crowded",
            source: COMMON,
            guards: false,
            field: Field::Count(|limits| &mut limits.longest_path),
        },
        Limit {
            name: "deepest-group",
            unit: Unit::One,
            summary: "More brackets within brackets are too deep",
            source: COMMON,
            guards: false,
            field: Field::Count(|limits| &mut limits.deepest_group),
        },
    ];

    /// The limit of this name.
    pub fn named(name: &str) -> Option<&'static Limit> {
        Self::ALL.iter().find(|limit| limit.name == name)
    }

    /// Whether it counts things: a whole number.
    pub fn is_count(&self) -> bool {
        matches!(self.field, Field::Count(_))
    }

    /// The figure in force, in SI base units.
    pub fn of(&self, limits: &Limits) -> f64 {
        let mut limits = *limits;
        match self.field {
            Field::Figure(field, factor) => *field(&mut limits) * factor,
            Field::Count(field) => *field(&mut limits) as f64,
        }
    }

    /// Puts another figure in force, in SI base units. What is no number, or is below zero, changes nothing.
    pub fn set(&self, limits: &mut Limits, figure: f64) {
        if !(figure >= 0.0 && figure.is_finite()) {
            return;
        }
        match self.field {
            Field::Figure(field, factor) => *field(limits) = figure / factor,
            Field::Count(field) => *field(limits) = figure as usize,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::fixture::Analyzed;
    use crate::registry::all_metas;
    use crate::settings::Settings;

    #[test]
    fn each_is_listed_once_and_is_read_as_it_is_set() {
        let names: BTreeSet<&str> = Limit::ALL.iter().map(|limit| limit.name).collect();
        assert_eq!(names.len(), Limit::ALL.len());
        for limit in Limit::ALL {
            let usual = Limits::default();
            let mut limits = usual;
            limit.set(&mut limits, 7.0);
            assert!((limit.of(&limits) - 7.0).abs() < 1e-12, "{}", limit.name);
            let others = Limit::ALL.iter().filter(|other| other.name != limit.name);
            assert!(others.into_iter().all(|other| other.of(&limits) == other.of(&usual)), "{}", limit.name);
            for wrong in [f64::NAN, f64::INFINITY, -1.0] {
                let before = limits;
                limit.set(&mut limits, wrong);
                assert_eq!(before, limits);
            }
        }
    }

    #[test]
    fn every_figure_of_the_limits_can_be_set() {
        // A field that is left out of the list would stay as it is.
        let mut limits = Limits::default();
        Limit::ALL.iter().for_each(|limit| limit.set(&mut limits, 7.0));
        let usual = format!("{:?}", Limits::default());
        let set = format!("{limits:?}");
        for (usual, set) in usual.split(',').zip(set.split(',')) {
            assert_ne!(usual, set);
        }
    }

    /// A limit that no rule looks at would be a promise that is not kept.
    #[test]
    fn each_changes_what_is_found() {
        let metas = all_metas();
        for limit in Limit::ALL {
            let changes = |figure: f64| {
                let mut settings = Settings::default();
                limit.set(&mut settings.limits, figure);
                metas.iter().filter(|meta| !meta.bad.is_empty()).any(|meta| {
                    let analyzed = Analyzed::new(meta.bad);
                    let found = |settings| crate::check_within(&analyzed.context(), settings, &|| false);
                    found(&settings) != found(&Settings::default())
                })
            };
            assert!(changes(0.0) || changes(1e12), "{} changes nothing", limit.name);
        }
    }
}
