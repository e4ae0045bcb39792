//! Values and units, reported by whoever builds the circuit.

use super::{NEVER, Page};
use crate::registry::Group;

macro_rules! page {
    ($name:literal, $why:literal, $bad:literal, $good:literal, $ignore:expr, $fix:literal) => {
        Page {
            name: $name,
            group: Group::ValuesAndUnits,
            why: $why,
            bad: $bad,
            good: $good,
            ignore_when: $ignore,
            fix: $fix,
        }
    };
}

/// One entry a rule, by name.
pub const PAGES: &[Page] = &[
    page!(
        "bad-number",
        "Letters that touch a number are a unit or one of the letter codes of IEC 60062, such as 4k7.",
        "battery B1 = 6 V\n\
         resistor R1 = 4x7\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 4k7\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "bare-prefix",
        "A prefix is part of a unit. 4.7 k could be ohms, volts or anything.",
        "battery B1 = 6 V\n\
         resistor R1 = 4.7 k\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 4.7 kohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "capital-kilo",
        "Kilo is a small k; a capital K is the kelvin (The SI Brochure, 9th edition).",
        "battery B1 = 6 V\n\
         resistor R1 = 4.7 Kohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 4.7 kohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "circular-value",
        "A value that is defined by itself has none.",
        "battery B1 = 6 V\n\
         let tide = ebb\n\
         let ebb = tide\n\
         resistor R1 = 5 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         let tide = 5 ohm\n\
         let ebb = tide\n\
         resistor R1 = ebb\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "division-by-zero",
        "Nothing can be divided by zero; mostly a named value was left at it.",
        "battery B1 = 6 V\n\
         let none = 0\n\
         resistor R1 = 5 ohm / none\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         let none = 2\n\
         resistor R1 = 5 ohm / none\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "duplicate-option",
        "An option has one value. Of two the first holds, and nobody sees which is meant.",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm, rating 5 W, rating 10 W\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm, rating 10 W\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "misplaced-unknown",
        "A `?` is a value to be found from what is given. Options and cases have none to find.",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm, tolerance ?\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm, tolerance 10%\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "missing-unit",
        "A bare number could be ohms or kilohms. The unit is part of the value.",
        "battery B1 = 6 V\n\
         resistor R1 = 12\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes the unit that goes with the kind. The value can then be used, so answers appear."
    ),
    page!(
        "missing-value",
        "Without its value an element cannot be solved. One that is to be found is written `?`.",
        "battery B1 = 6 V\n\
         resistor R1\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "mixed-units",
        "Volts and amperes cannot be added; that they stand together shows a slip in the expression.",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm + 3 V\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm + 3 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "out-of-range",
        "A resistance cannot be negative, a wiper cannot stand beyond its end, and numbers beyond 99 powers of ten are \
         slips.",
        "battery B1 = 6 V\n\
         resistor R1 = -12 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "unknown-option",
        "Each kind has its own options; another name is a slip of the pen or belongs to another kind.",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm, tolerence 5%\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm, tolerance 10%\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unknown-unit",
        "Any word behind a number is taken as its unit. This one is none that is known.",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohms\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unlikely-prefix",
        "A resistor of milliohms among kilohms is mostly one of megohms: a small m for a capital M.",
        "battery B1 = 6 V\n\
         resistor R1 = 4.7 kohm\n\
         resistor R2 = 10 mohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 4.7 kohm\n\
         resistor R2 = 10 Mohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        "it is a shunt",
        "Writes the capital M. The value grows by a thousand million, so answers change."
    ),
    page!(
        "wrong-unit",
        "The unit says what a value is. A resistor of 4.5 V is a slip: the wrong kind, or the wrong line.",
        "battery B1 = 6 V\n\
         resistor R1 = 4.5 V\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 4.5 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "wrong-value",
        "A switch is open or closed, a resistor has ohms. This value does not go with its place.",
        "battery B1 = 6 V\n\
         resistor R1 = closed\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
];
