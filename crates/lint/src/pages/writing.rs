//! Slips of the pen, reported by the parser.

use super::{NEVER, Page};
use crate::registry::Group;

macro_rules! page {
    ($name:literal, $why:literal, $bad:literal, $good:literal, $ignore:expr, $fix:literal) => {
        Page { name: $name, group: Group::Writing, why: $why, bad: $bad, good: $good, ignore_when: $ignore, fix: $fix }
    };
}

/// One entry a rule, by name.
pub const PAGES: &[Page] = &[
    page!(
        "curly-quotes",
        "A word processor turns straight quotes into curly ones. Titles, files and cases stand between straight ones.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         circuit “Pier”\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         circuit \"Pier\"\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "dash-for-minus",
        "A typographic dash looks like a minus, and copied text is full of them; a number takes the hyphen-minus or the \
         minus sign.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         capacitor C1 = 47 uF, initial –2 V\n\
         B1+ -- R1 -- ( C1 | R2 ) -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         capacitor C1 = 47 uF, initial -2 V\n\
         B1+ -- R1 -- ( C1 | R2 ) -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "decimal-comma",
        "A comma parts the members of a list, so the decimal sign is a point. 4,5 V read as 4 V would be a silent \
         mistake of a tenth.",
        "battery B1 = 4,5 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 4.5 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "deep-nesting",
        "Brackets within brackets by the hundred are no drawing; a bound keeps broken or hostile text from taking all \
         memory.",
        "",
        "",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "doubled-wire",
        "Two wires with nothing between them: an element has been left out, or a wire is written twice. The two \
         readings are different circuits.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         B1+ -- -- R3 -- B1-\n\
         resistor R3 = 5 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         B1+ -- R3 -- B1-\n\
         resistor R3 = 5 ohm\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "empty-alternative",
        "A bar with nothing behind it is a way without an element, which would be a wire that shorts all others. Nobody \
         draws that on purpose.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- ( R1 | R2 | ) -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- ( R1 | R2 ) -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "equals-after-option",
        "Only the value of a declaration stands behind an equals sign; options take theirs as a word does: `tolerance \
         5%`.",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm, tolerance = 5%\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm, tolerance 5%\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "foreign-sign",
        "Braces, square brackets and semicolons have no meaning here: a statement ends with its line.",
        "battery B1 = 6 V;\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "leftover-text",
        "Something stands behind a statement that is complete without it. Leaving it out silently could drop half of \
         what was meant.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         @a -- R3 = 9 ohm\n\
         resistor R3 = 9 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         B1+ -- R3 -- B1-\n\
         resistor R3 = 9 ohm\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "lone-member",
        "Series and parallel are said of two or more. A claim about one element says nothing.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim R1 in series\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim R1, R2 in series\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "long-expression",
        "An expression of thousands of operations is no value that a person writes; a bound keeps broken text from \
         taking all memory.",
        "",
        "",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "long-wire",
        "A wire is two hyphens. Longer runs and typographic dashes are understood between blanks, and mended so that \
         everyone writes alike.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ --- R1 -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        "the file is drawn with long lines on purpose",
        "Writes what was plainly meant; the circuit was understood already, so no answer changes."
    ),
    page!(
        "loose-end-wire",
        "A path that ends in a wire leads to nothing. Half-typed lines look so, and lines whose second half begins \
         without a wire.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         B1+ -- R3 --\n\
         resistor R3 = 5 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         B1+ -- R3 -- B1-\n\
         resistor R3 = 5 ohm\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "loose-line",
        "A line that begins with a wire goes on with the statement right above it. A blank or a comment in between ends \
         that statement.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1\n\
         # on\n\
         -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         # on\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "loose-sign",
        "A polarity belongs to the name it touches. With a blank between, `B1 + -- R1` could mean either end.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1 + -- R1 -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "misplaced-case",
        "The case that a statement speaks of stands at its end, so that every statement reads alike.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         case \"ebb\": R1 = 20 ohm\n\
         claim current through R1 in \"ebb\" = 187.5 mA\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         case \"ebb\": R1 = 20 ohm\n\
         claim current through R1 = 187.5 mA in \"ebb\"\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "misplaced-kind",
        "A path names elements; their kinds are declared once, beside the drawing.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- resistor R1 -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "misplaced-unit",
        "A unit belongs to the number right before it. Behind a word or another unit it has no number.",
        "battery B1 = 6 V\n\
         resistor R1 = five ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 5 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "missing-colon",
        "Behind the name of a case a colon stands, then what it sets.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         case \"flood\" R1 = 20 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         case \"flood\": R1 = 20 ohm\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "missing-comma",
        "Members of a list are parted by commas; without one two names read as one statement of another form.",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm tolerance 5%\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm, tolerance 5%\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "missing-end",
        "A part or a repeat goes on until its `end`. Without it everything below would belong to it.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         repeat k from 3 to 4\n\
           resistor R{k} = 1 ohm\n\
           B1+ -- R{k} -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         repeat k from 3 to 4\n\
           resistor R{k} = 1 ohm\n\
           B1+ -- R{k} -- B1-\n\
         end\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "missing-equals",
        "A value stands behind an equals sign; without it a number reads as part of the name.",
        "battery B1 = 6 V\n\
         resistor R1 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "missing-kind",
        "A kind is never guessed from a letter: `R1 = 9 ohm` could be a resistor, a lamp or a heater.",
        "battery B1 = 6 V\n\
         R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "missing-name",
        "A declaration gives a name to what it declares; without one nothing can be drawn or asked.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor = 9 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor R3 = 9 ohm\n\
         B1+ -- R3 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "missing-point",
        "A junction begins with `@`, a terminal is `B1+` or `P1.wiper`. Here one belongs.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         reference\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         reference B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "missing-ports",
        "A part is joined to the rest by its ports, which its head lists in brackets.",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         part hatch\n\
           resistor R = 2 ohm\n\
           @in -- R -- @out\n\
         end\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         part hatch(in, out)\n\
           resistor R = 2 ohm\n\
           @in -- R -- @out\n\
         end\n\
         hatch H1\n\
         B1+ -- R1 -- H1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "missing-quotes",
        "Titles, files and cases stand in quotes, so that they may hold blanks.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         include kit.ohmline\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "missing-sign",
        "Through an element that has polarity the path says both ends: `+A1-` enters at plus, `-A1+` at minus.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         ammeter A1\n\
         B1+ -- R1 -- +A1 -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         ammeter A1\n\
         B1+ -- R1 -- +A1- -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "missing-wire",
        "Two items of a path stand side by side; between them a wire `--` belongs, or one of them is on the wrong line.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ R1 -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "missing-word",
        "A statement of several parts has words between them: `in series`, `to`, `within`.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim R1, R2 series\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim R1, R2 in series\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "missing-zero",
        "A number begins with a digit, so that no point is overlooked: 0.5, not .5.",
        "battery B1 = 6 V\n\
         resistor R1 = .5 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 0.5 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "name-begins",
        "A name begins with a letter, so that it can be told from a number.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor 3R = 5 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor R3 = 5 ohm\n\
         B1+ -- R3 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "nameless-junction",
        "The name of a junction touches its `@`; with a blank between, the name reads as an element.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- @ fork -- R1 -- R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- @fork -- R1 -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "no-negation",
        "A claim states what holds. That two elements are not in series is shown by what joins between them.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim R1, R2 not in parallel\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim R1, R2 in series\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "no-power",
        "Only numbers have powers, written 5e3; a unit with a power is written by its name.",
        "battery B1 = 6 V\n\
         resistor R1 = 5*10^3 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 5e3 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "only-equals",
        "Claims and readings compare by `=`, with `within` for how close: an inequality would have to say what happens \
         at the limit.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim current through R1 < 1 A\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim current through R1 = 0.25 A\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "reserved-name",
        "Words of the notation cannot name elements, or a line could be read in two ways.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor lamp = 5 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor heater = 5 ohm\n\
         B1+ -- heater -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "several-elements",
        "A value belongs to one element. A list of names may be asked about, not claimed to have one number.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim current through R1, R2 = 0.25 A\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim current through R1 = 0.25 A\n\
         claim current through R2 = 0.25 A\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "short-path",
        "A path joins two items at least. A single one says nothing about what it is joined to.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         @fork\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "single-alternative",
        "A group shows ways side by side, so it has two or more. A single one is a plain line.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- ( R1 -- R2 ) -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "single-hyphen",
        "A wire is two hyphens. One is a minus, and could be the polarity of what stands beside it.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 - R2 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "slash-comment",
        "A comment begins with `#`; slashes divide.",
        "battery B1 = 6 V // the spare one\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V # the spare one\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "split-name",
        "A name is one word without blanks and hyphens, or it would fall apart in a path.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor R 3 = 5 ohm\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         resistor R3 = 5 ohm\n\
         B1+ -- R3 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "split-number",
        "The digits of a number stand together: with blanks 1 000 would read as two numbers.",
        "battery B1 = 6 V\n\
         resistor R1 = 1 000 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 1000 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "stray-comma",
        "A comma at the end of a line promises that something follows.",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm,\n\
         \n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         \n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "stray-end",
        "An `end` closes a part or a repeat. Here none is open: one `end` is too many, or a head could not be read.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         end\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "swapped-kind",
        "The kind comes first, then the name: `resistor R1`.",
        "battery B1 = 6 V\n\
         R1 resistor = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 12 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "touching-dashes",
        "In `R1---B1+` a dash could be a polarity or part of the wire. A circuit hangs on it, so it is not guessed.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1---R1 -- R2 -- B1+\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1- -- R1 -- R2 -- B1+\n",
        NEVER,
        "Writes one of the two readings. They are different circuits, so choose."
    ),
    page!(
        "unclosed-group",
        "A bracket opens a group of ways side by side and has to be closed where they meet again.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1- -- @x\n\
         B1+ -- ( R1 -- @x | R2 -- @x\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1- -- @x\n\
         B1+ -- ( R1 -- @x | R2 -- @x )\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unclosed-text",
        "A quote opens a text that ends on the same line.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         circuit \"Pier\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         circuit \"Pier\"\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unknown-character",
        "A character that the notation does not use: mostly one that looks like another.",
        "battery B1 = 6 V\n\
         resistor R1 = 9 × 2 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 9 * 2 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unknown-quantity",
        "Only quantities that can be solved may be asked: current, voltage, potential, resistance, capacitance, power, \
         charge, energy, value.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find curent through R1\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find current through R1\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unknown-statement",
        "A line begins with a word of the notation, a kind, or an item of a path. This one begins with none.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         clam R1, R2 in series\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim R1, R2 in series\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unopened-group",
        "A closing bracket without an opening one: the group begins somewhere, but where?",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 ) -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "unreadable-statement",
        "The line follows no form of the notation. It is left out, and everything else is read.",
        "battery B1 = 6 V\n\
         resistor R1 = * 2\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 2 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "value-in-find",
        "A find asks for a value. One that is known is claimed, or given.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find current through R1 = 0.25 A\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find current through R1\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
    page!(
        "wire-in-value",
        "Two hyphens are a wire; a value takes one minus.",
        "battery B1 = 6 V\n\
         resistor R1 = 13 ohm--1 ohm\n\
         B1+ -- R1 -- B1-\n",
        "battery B1 = 6 V\n\
         resistor R1 = 13 ohm - 1 ohm\n\
         B1+ -- R1 -- B1-\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "wrong-preposition",
        "Current goes through, voltage stands across, power is of an element: the words say what kind of quantity it \
         is.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find current of R1\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find current through R1\n",
        NEVER,
        "Writes what was plainly meant. What could not be read is then part of the circuit, so answers may change."
    ),
];
