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

/// Words that join the parts of questions and claims, those of [`AFTER_NUMBER`] apart. They may name elements.
pub const CONNECTIVES: &[&str] = &["through", "into", "across", "between", "seen", "by", "of", "series", "parallel"];

/// What an element can be in besides a value: plain names to the parser.
pub const STATES: &[&str] = &["open", "closed", "shorted"];

/// Unit symbols, ASCII spellings first; a prefix may stand before each but `%`.
pub const UNITS: &[&str] = &["ohm", "Ω", "V", "A", "W", "F", "H", "S", "C", "J", "Ah", "Wh", "s", "Hz", "%"];

/// SI prefixes with their powers of ten.
pub const PREFIXES: &[(&str, i32)] =
    &[("f", -15), ("p", -12), ("n", -9), ("u", -6), ("µ", -6), ("m", -3), ("k", 3), ("M", 6), ("G", 9)];

/// An option of a kind: `, name value`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct OptionWord {
    /// The word.
    pub name: &'static str,
    /// The unit of its value.
    pub unit: &'static str,
    /// What it means, in one sentence.
    pub help: &'static str,
}

const fn option(name: &'static str, unit: &'static str, help: &'static str) -> OptionWord {
    OptionWord { name, unit, help }
}

/// The options that a built-in kind takes; none for any other word.
pub fn options_of(kind: &str) -> &'static [OptionWord] {
    match kind {
        "battery" => {
            const {
                &[
                    option("internal", "ohm", "Internal resistance, in series with the emf."),
                    option("capacity", "Ah", "Charge that the full battery can deliver."),
                    option("limit", "A", "Greatest current that it may deliver."),
                ]
            }
        }
        "source" => {
            const { &[option("limit", "", "Greatest current of a voltage source, or greatest voltage of a current source.")] }
        }
        "resistor" => {
            const {
                &[
                    option("tolerance", "%", "How far the value may be off, to both sides."),
                    option("rating", "W", "Greatest power that it may turn into heat."),
                ]
            }
        }
        "potentiometer" => const { &[option("rating", "W", "Greatest power that it may turn into heat.")] },
        "fuse" => const { &[option("resistance", "ohm", "Resistance while it is whole; none if left out.")] },
        "ammeter" => const { &[option("range", "A", "Greatest current that it can show.")] },
        "voltmeter" => const { &[option("range", "V", "Greatest voltage that it can show.")] },
        "capacitor" | "electrolytic" => {
            const {
                &[
                    option("initial", "V", "Voltage across it before the circuit is closed."),
                    option("rating", "V", "Greatest voltage that it may stand."),
                ]
            }
        }
        "inductor" => {
            const {
                &[
                    option("initial", "A", "Current through it before the circuit is changed."),
                    option("resistance", "ohm", "Resistance of its wire; none if left out."),
                ]
            }
        }
        "diode" => {
            const {
                &[
                    option("resistance", "ohm", "Resistance in series with the fixed drop while it conducts."),
                    option("limit", "A", "Greatest current that it may carry."),
                ]
            }
        }
        _ => &[],
    }
}

/// What a word of the notation is for: its form on the first line, its meaning on the second.
pub fn help(word: &str) -> Option<&'static str> {
    Some(match word {
        "circuit" => "circuit \"TITLE\"\nNames the circuit; the title heads every result.",
        "include" => {
            "include \"FILE.ohmline\"\nBrings in the parts and `let` values of another file, and nothing else of it."
        }
        "let" => "let NAME = VALUE\nNames a value, to be used in other values: `resistor R1 = 2 * base`.",
        "reference" => "reference POINT\nMakes a junction or terminal the 0 V point of its piece of the circuit.",
        "claim" => {
            "claim E1, E2 in series | in parallel, or claim QUANTITY = VALUE [within 2%], then [in \"CASE\"]\n\
             States something to be checked; the answer says whether and why it holds."
        }
        "find" => "find QUANTITY [in \"CASE\"]\nAsks for a quantity; the answers stand first in the results.",
        "given" => {
            "given QUANTITY = VALUE [in \"CASE\"]\nA condition that is known to hold; it settles values written `?`."
        }
        "measured" => {
            "measured QUANTITY = VALUE [within 2%] [in \"CASE\"]\n\
             The reading of a real meter, to be compared with what the circuit predicts."
        }
        "case" => {
            "case \"NAME\": E1 = VALUE, E2.OPTION = VALUE, ...\nA second state of the same circuit, solved beside the first."
        }
        "part" => {
            "part NAME(PORT, PORT, ...), PARAMETER DEFAULT ... end\n\
             Defines a kind of element of your own from the lines up to `end`."
        }
        "repeat" => {
            "repeat k from 1 to 50 ... end\n\
             Repeats its declarations and paths; `{k}`, `{k+1}`, `{k-1}` in names and `k` in values are filled in."
        }
        "end" => "end\nCloses the `part` or `repeat` above, on a line of its own.",
        "battery" => {
            "battery NAME[, NAME...] = EMF V[, internal OHMS ohm][, capacity CHARGE Ah][, limit CURRENT A]\nA source of voltage with terminals + and -; its value is the emf."
        }
        "source" => {
            "source NAME[, NAME...] = VOLTAGE V | CURRENT A[, limit GREATEST]\n\
             An ideal source of voltage or of current, with terminals + and -; a current source drives its current out of +."
        }
        "resistor" => {
            "resistor NAME[, NAME...] = OHMS ohm[, tolerance PERCENT %][, rating POWER W]\nA resistance (or a conductance, in S) between two unnamed ends."
        }
        "lamp" => {
            "lamp NAME[, NAME...] = OHMS ohm, or lamp NAME = POWER W at VOLTAGE V\nA lamp, taken as the resistance it has at its rated values."
        }
        "switch" => {
            "switch NAME[, NAME...] = open | closed\nA switch, ideal: open it carries nothing, closed it has no voltage."
        }
        "changeover" => {
            "changeover NAME[, NAME...] = a | b\nA switch that joins .common to .a or to .b; its value is the throw it stands on."
        }
        "potentiometer" => {
            "potentiometer NAME[, NAME...] = OHMS ohm at PERCENT %[, rating POWER W]\n\
             A resistance with a sliding contact; terminals .a, .b, .wiper. The share is the part between a and the wiper."
        }
        "fuse" => {
            "fuse NAME[, NAME...] = CURRENT A[, resistance OHMS ohm]\nA fuse; its value is the current that it carries for good."
        }
        "ammeter" => {
            "ammeter NAME[, NAME...] [= OHMS ohm][, range CURRENT A]\nMeasures the current that enters at +; ideal when no resistance is given."
        }
        "voltmeter" => {
            "voltmeter NAME[, NAME...] [= OHMS ohm][, range VOLTAGE V]\nMeasures the voltage from + to -; ideal when no resistance is given."
        }
        "capacitor" => {
            "capacitor NAME[, NAME...] = FARADS F[, initial VOLTAGE V][, rating VOLTAGE V]\nStores charge; carries no direct current once it is charged."
        }
        "electrolytic" => {
            "electrolytic NAME[, NAME...] = FARADS F[, initial VOLTAGE V][, rating VOLTAGE V]\nA capacitor with polarity: + must never be below -."
        }
        "inductor" => {
            "inductor NAME[, NAME...] = HENRIES H[, initial CURRENT A][, resistance OHMS ohm]\nA coil; for a steady current only its resistance counts."
        }
        "diode" => {
            "diode NAME[, NAME...] = DROP V[, resistance OHMS ohm][, limit CURRENT A]\n\
             Lets current pass from + (anode) to - (cathode) only, at a fixed drop; `0 V` is an ideal diode."
        }
        "current" => {
            "current through R1, or current into P1.wiper\nThe current in the positive direction of an element, or into a terminal."
        }
        "voltage" => {
            "voltage across R1, or voltage from @a to @b\nPotential where the element is entered minus where it is left, or of the first point minus the second."
        }
        "potential" => "potential at @a\nThe voltage from a point to the reference point.",
        "resistance" => {
            "resistance between @a and @b, or resistance seen by B1\nThe equivalent resistance between two points, or of all that a source feeds."
        }
        "capacitance" => "capacitance between @a and @b\nThe equivalent capacitance between two points.",
        "power" => "power of R1\nPower that an element takes up; of a battery or source, power that it delivers.",
        "charge" => "charge of C1\nThe charge on the plate where a capacitor is entered.",
        "energy" => "energy of C1\nThe energy stored in a capacitor or an inductor.",
        "value" => "value of R2\nThe value of an element: asked for where it is written `?`.",
        _ => return None,
    })
}

/// Whether a word names the 0 V point in everyday speech; the notation says `reference`.
pub fn zero_point(word: &str) -> bool {
    ["ground", "earth", "gnd"].iter().any(|known| word.eq_ignore_ascii_case(known))
}

/// The kinds that an everyday word for an element, or the quantity it is known by, may stand for.
pub fn everyday_kinds(word: &str) -> &'static [&'static str] {
    match word.to_lowercase().as_str() {
        "cell" | "accumulator" | "emf" | "supply" => &["battery"],
        "generator" | "psu" => &["source"],
        "voltage" => &["battery", "source"],
        "current" => &["source"],
        "resistance" | "motor" | "heater" | "load" => &["resistor"],
        "bulb" | "lightbulb" | "light" => &["lamp"],
        "led" | "rectifier" => &["diode"],
        "key" | "button" | "pushbutton" | "toggle" => &["switch"],
        "pot" | "rheostat" | "trimmer" | "dimmer" => &["potentiometer"],
        "breaker" => &["fuse"],
        "coil" | "inductance" | "choke" | "solenoid" => &["inductor"],
        "capacitance" | "condenser" | "cap" => &["capacitor"],
        "galvanometer" | "milliammeter" | "amperemeter" => &["ammeter"],
        _ => &[],
    }
}

/// The state of a switch that an everyday word stands for.
pub fn everyday_state(word: &str) -> Option<&'static str> {
    match word.to_lowercase().as_str() {
        "on" | "close" | "shut" | "made" => Some("closed"),
        "off" | "opened" | "broken" => Some("open"),
        _ => None,
    }
}

/// The word among some that a mistyped one most likely stands for; `None` when none is near.
pub fn nearest<'w>(word: &str, among: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    let lower = word.to_lowercase();
    let limit = (lower.chars().count() / 3).clamp(1, 3);
    among
        .into_iter()
        .map(|candidate| (strsim::osa_distance(&lower, &candidate.to_lowercase()), candidate))
        .filter(|(distance, _)| *distance <= limit)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}
