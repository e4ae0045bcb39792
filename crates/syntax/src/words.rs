//! The words of the notation: one inventory, from which every list of them is made.

/// Words that begin a statement.
pub const STATEMENTS: &[&str] =
    &["circuit", "include", "let", "reference", "claim", "find", "given", "measured", "case", "part", "repeat", "end"];

/// Words that begin a quantity; reserved as element names like those that begin a statement.
pub const QUANTITIES: &[&str] =
    &["current", "voltage", "potential", "resistance", "capacitance", "power", "charge", "energy", "value"];

/// Built-in kinds of element. Reserved as element names.
pub const KINDS: &[&str] = &[
    "battery",
    "source",
    "resistor",
    "lamp",
    "switch",
    "changeover",
    "potentiometer",
    "fuse",
    "ammeter",
    "voltmeter",
    "capacitor",
    "electrolytic",
    "inductor",
    "diode",
];

/// Words that may follow a number and are then not its unit.
pub const AFTER_NUMBER: &[&str] = &["at", "within", "after", "in", "to", "from", "and"];

/// Unit symbols, ASCII spellings first; a prefix may stand before each but `%`.
pub const UNITS: &[&str] = &["ohm", "Ω", "V", "A", "W", "F", "H", "S", "C", "J", "Ah", "Wh", "s", "Hz", "%"];

/// SI prefixes with their powers of ten.
pub const PREFIXES: &[(&str, i32)] =
    &[("f", -15), ("p", -12), ("n", -9), ("u", -6), ("µ", -6), ("m", -3), ("k", 3), ("M", 6), ("G", 9)];
