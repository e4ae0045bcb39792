//! Names, files and parts, reported by whoever builds the circuit or reads the files.

use super::{NEVER, Page};
use crate::registry::Group;

macro_rules! page {
    ($name:literal, $why:literal, $bad:literal, $good:literal, $ignore:expr, $fix:literal) => {
        Page { name: $name, group: Group::Names, why: $why, bad: $bad, good: $good, ignore_when: $ignore, fix: $fix }
    };
}

/// One entry a rule, by name.
pub const PAGES: &[Page] = &[
    page!(
        "bad-bounds",
        "A repeat counts in whole numbers, upward.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         repeat k from 3 to 4.5\n\
           resistor R{k} = 1 ohm\n\
           B1+ -- R{k} -- B1-\n\
         end\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         repeat k from 3 to 4\n\
           resistor R{k} = 1 ohm\n\
           B1+ -- R{k} -- B1-\n\
         end\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "circular-include",
        "Files that bring in each other would never end; what is shared belongs into a third.",
        "",
        "",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "conflicting-include",
        "Two definitions of one name: which of them holds would hang on the order of files.",
        "",
        "",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "duplicate-case",
        "A statement speaks of a case by its name, so no two may have the same.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         case \"ebb\": R1 = 20 ohm\n\
         case \"ebb\": R1 = 30 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         case \"ebb\": R1 = 20 ohm\n\
         case \"flood\": R1 = 30 ohm\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "duplicate-name",
        "A name means one thing. With two resistors R1 nobody knows of which the current is asked.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor R1 = 20 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor R3 = 20 ohm\n\
         B1+ -- R3 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "duplicate-title",
        "A file holds one circuit, so it has one title.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         circuit \"Pier\"\n\
         circuit \"Quay\"\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         circuit \"Pier\"\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "foreign-encoding",
        "Text is read as UTF-8. Another encoding turns signs such as Ω and µ into something else.",
        "",
        "",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "misplaced-statement",
        "Inside a part only its own drawing has a meaning: what is asked is asked of the circuit as a whole.",
        "battery B1 = 6 V\n\
         part dim(in, out)\n\
           resistor R = 2 ohm\n\
           @in -- R -- @out\n\
           find current through R\n\
         end\n\
         dim D1\n\
         B1+ -- D1 -- B1-\n",
        "battery B1 = 6 V\n\
         part dim(in, out)\n\
           resistor R = 2 ohm\n\
           @in -- R -- @out\n\
         end\n\
         dim D1\n\
         B1+ -- D1 -- B1-\n\
         find current through D1.R\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "not-a-value",
        "An expression is made of numbers and named values. An element has several values, so its name alone is none.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor R3 = R1\n\
         B1+ -- R3 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         let r = 12 ohm\n\
         resistor R3 = r\n\
         B1+ -- R3 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "not-an-element",
        "A value or a part is no element: nothing can be joined to it, and no current passes it.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         let slack = 5 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find current through slack\n\
         claim value of R1 = slack + 7 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         let slack = 5 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find current through R1\n\
         claim value of R1 = slack + 7 ohm\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "outside-include",
        "Only files of the workspace are read, so that opening a file never reaches into the rest of the disk.",
        "",
        "",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "recursive-part",
        "A part that contains itself would have no end.",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         part snail(in, out)\n\
           snail Shell\n\
           @in -- Shell -- @out\n\
         end\n\
         snail S1\n\
         B1+ -- R1 -- S1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         part snail(in, out)\n\
           resistor Shell = 5 ohm\n\
           @in -- Shell -- @out\n\
         end\n\
         snail S1\n\
         B1+ -- R1 -- S1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "too-many-cases",
        "Each case of a large circuit is solved anew. Beyond a bound that would take minutes and all memory.",
        "",
        "",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "too-many-copies",
        "A repeat makes at most 10,000 copies, so that a slip of a zero does not stop the editor.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         repeat k from 1 to 20000\n\
           resistor S{k} = 1 ohm\n\
         end\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "too-many-elements",
        "Parts within parts multiply quickly. A bound of a million elements keeps a slip from taking all memory.",
        "",
        "",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "unjoined-port",
        "A port that nothing inside of the part is joined to is a loose end for whoever uses it.",
        "battery B1 = 6 V\n\
         resistor R1 = 5 ohm\n\
         part box(a, b)\n\
           resistor R = 5 ohm\n\
           @a -- R -- @m\n\
         end\n\
         box X\n\
         B1+ -- R1 -- X -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 5 ohm\n\
         part box(a, b)\n\
           resistor R = 5 ohm\n\
           @a -- R -- @b\n\
         end\n\
         box X\n\
         B1+ -- R1 -- X -- B1-\n",
        "the port is kept for later use",
        "None: only you know what was meant."
    ),
    page!(
        "unknown-case",
        "A statement that speaks of a case which does not exist has no answer.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find current through R1 in \"fog\"\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         case \"fog\": R1 = 20 ohm\n\
         find current through R1 in \"fog\"\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unknown-kind",
        "The first word of a declaration is a kind of element, or a part of this file or a kit.",
        "battery B1 = 6 V\n\
         resistr R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unknown-name",
        "Everything that is drawn or asked about is declared once. A name that is not is mostly a slip of the pen.",
        "battery B1 = 6 V\n\
         resistor Rload = 12 ohm\n\
         B1+ -- Rlaod -- B1-\n",
        "battery B1 = 6 V\n\
         resistor Rload = 12 ohm\n\
         B1+ -- Rload -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unreadable-include",
        "A file that cannot be read is missing from the circuit, with all its parts.",
        "",
        "",
        NEVER,
        "None: only you know what was meant."
    ),
];
