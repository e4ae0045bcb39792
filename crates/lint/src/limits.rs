//! The figures from which on something is reported. Settings may change each of them.

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
