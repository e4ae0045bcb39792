//! How paths pass through elements, reported by whoever builds the circuit.

use super::{NEVER, Page};
use crate::registry::Group;

macro_rules! page {
    ($name:literal, $why:literal, $bad:literal, $good:literal, $ignore:expr, $fix:literal) => {
        Page {
            name: $name,
            group: Group::Connections,
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
        "misplaced-terminal",
        "A terminal is an end, so it stands at an end of a path. In the middle it would be unclear what passes on.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         potentiometer P1 = 100 ohm at 50%\n\
         B1+ -- P1.wiper -- R1 -- R2 -- B1-\n\
         P1.a -- B1-\n\
         P1.b -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         potentiometer P1 = 100 ohm at 50%\n\
         B1+ -- P1.wiper\n\
         B1+ -- R1 -- R2 -- B1-\n\
         P1.a -- B1-\n\
         P1.b -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "missing-polarity",
        "Which way round a battery, a meter or a diode stands decides the sign of everything. It is never guessed.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         ammeter A1\n\
         B1+ -- R1 -- A1 -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         ammeter A1\n\
         B1+ -- R1 -- +A1- -- R2 -- B1-\n",
        NEVER,
        "Writes one of the two polarities. They differ in sign, so choose."
    ),
    page!(
        "missing-terminal",
        "Through an element of three terminals a path can go in more than one way, so it names the terminal it means.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         changeover S1 = a\n\
         B1+ -- R1 -- S1 -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         changeover S1 = a\n\
         B1+ -- R1 -- S1.common\n\
         S1.a -- R2 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "needless-polarity",
        "A resistor has no plus and minus; a sign at it mostly belongs to another name.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- +R1- -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant; the circuit was understood already, so no answer changes."
    ),
    page!(
        "never-placed",
        "An element that is declared and drawn nowhere is not in the circuit, whatever its value.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor R3 = 100 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor R3 = 100 ohm\n\
         B1+ -- R3 -- B1-\n",
        "the drawing is not finished",
        "None: only you know what was meant."
    ),
    page!(
        "placed-twice",
        "An element stands at one place. Passed through a second time it would have four ends.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor R3 = 12 ohm\n\
         B1+ -- R3 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "second-reference",
        "Potentials are counted from one point. With two in one piece no number would be right.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         reference B1-\n\
         reference B1+\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         reference B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "shorted-group",
        "A way without an element is a wire across all the others: they are shorted.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- ( R2 | @by ) -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        "the short is the lesson",
        "None: only you know what was meant."
    ),
    page!(
        "unknown-terminal",
        "Each kind has its own terminals, such as `.wiper` of a potentiometer.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         potentiometer P1 = 100 ohm at 50%\n\
         B1+ -- R1 -- R2 -- B1-\n\
         B1+ -- P1.a\n\
         B1- -- P1.b\n\
         P1.middle -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         potentiometer P1 = 100 ohm at 50%\n\
         B1+ -- R1 -- R2 -- B1-\n\
         B1+ -- P1.a\n\
         B1- -- P1.b\n\
         P1.wiper -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "wrong-polarity",
        "A path enters an element at one terminal and leaves it at the other.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         ammeter A1\n\
         B1+ -- R1 -- +A1+ -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         ammeter A1\n\
         B1+ -- R1 -- +A1- -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
];
