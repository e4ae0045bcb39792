//! The rules that the builder itself reports.

use ohmline_syntax::Severity;

macro_rules! rules {
    ($($constant:ident = $name:literal, $severity:ident, $summary:literal;)*) => {
        $(pub(super) const $constant: (&str, Severity) = ($name, Severity::$severity);)*

        /// Every rule that the builder reports: its name, how bad it is, one line about it.
        pub const BUILD_RULES: &[(&str, Severity, &str)] = &[$(($name, Severity::$severity, $summary)),*];
    };
}

rules! {
    BAD_BOUNDS = "bad-bounds", Error, "The bounds of a repeat are not whole numbers";
    BAD_NUMBER = "bad-number", Error, "Letters that touch a number are neither a unit nor a letter code";
    BARE_PREFIX = "bare-prefix", Error, "A prefix stands without a unit";
    CAPITAL_KILO = "capital-kilo", Error, "A capital K is no prefix: kilo is a small k";
    CIRCULAR_INCLUDE = "circular-include", Error, "A file includes itself, directly or through others";
    CIRCULAR_VALUE = "circular-value", Error, "A value is defined by itself, directly or through others";
    CONFLICTING_INCLUDE = "conflicting-include", Error, "An include brings in a name that is defined differently already";
    DEEP_NESTING = "deep-nesting", Error, "Parts and repeats stand in each other too deeply";
    DIVISION_BY_ZERO = "division-by-zero", Error, "An expression divides by zero";
    DUPLICATE_CASE = "duplicate-case", Error, "Two cases have one name";
    DUPLICATE_MEMBER = "duplicate-member", Error, "A claim names an element twice";
    DUPLICATE_NAME = "duplicate-name", Error, "Two things have one name";
    DUPLICATE_OPTION = "duplicate-option", Error, "An option or an assignment is written twice";
    DUPLICATE_TITLE = "duplicate-title", Error, "A file holds one circuit, so one title";
    MISPLACED_STATEMENT = "misplaced-statement", Error, "A statement stands in a part or a repeat where it has no meaning";
    MISPLACED_TERMINAL = "misplaced-terminal", Error, "A terminal stands inside a path, not at its end";
    MISPLACED_UNKNOWN = "misplaced-unknown", Error, "A ? stands where nothing can be left to be found";
    MISSING_POLARITY = "missing-polarity", Error, "A path passes an element that has polarity without saying which way round";
    MISSING_TERMINAL = "missing-terminal", Error, "A path passes an element that does not have exactly two terminals";
    MISSING_UNIT = "missing-unit", Error, "A value has no unit";
    MISSING_VALUE = "missing-value", Error, "An element is declared without the value that its kind needs";
    MIXED_UNITS = "mixed-units", Error, "An expression adds or subtracts values of different kinds";
    NEEDLESS_POLARITY = "needless-polarity", Error, "A sign stands at an element that has no polarity";
    NEVER_PLACED = "never-placed", Warning, "An element stands in no path";
    NOT_A_VALUE = "not-a-value", Error, "An expression names something that has no value";
    NOT_AN_ELEMENT = "not-an-element", Error, "A name that is no element stands where an element belongs";
    OUT_OF_RANGE = "out-of-range", Error, "A value lies outside of what is possible or can be computed";
    OUTSIDE_INCLUDE = "outside-include", Error, "An included file lies outside the workspace";
    PLACED_TWICE = "placed-twice", Error, "An element is passed through a second time";
    RECURSIVE_PART = "recursive-part", Error, "A part contains itself, directly or through others";
    RESERVED_NAME = "reserved-name", Error, "A word of the notation is used as a name";
    SECOND_REFERENCE = "second-reference", Error, "A piece of the circuit has two different reference points";
    SHORTED_GROUP = "shorted-group", Warning, "An alternative of a group holds no element, so it is a wire across the others";
    TOO_MANY_COPIES = "too-many-copies", Error, "A repeat makes more than 10,000 copies";
    TOO_MANY_ELEMENTS = "too-many-elements", Error, "Parts and repeats expand to more than 1,000,000 elements";
    UNJOINED_PORT = "unjoined-port", Warning, "A port of a part is joined to nothing inside of it";
    UNKNOWN_CASE = "unknown-case", Error, "No case has this name";
    UNKNOWN_KIND = "unknown-kind", Error, "A declaration begins with a word that is no kind of element and no part";
    UNKNOWN_NAME = "unknown-name", Error, "A name is not declared";
    UNKNOWN_OPTION = "unknown-option", Error, "The kind has no option of this name";
    UNKNOWN_TERMINAL = "unknown-terminal", Error, "The element has no terminal of this name";
    UNKNOWN_UNIT = "unknown-unit", Error, "A word behind a number is no unit";
    UNLIKELY_PREFIX = "unlikely-prefix", Warning, "A value looks like a slip of prefix";
    UNREADABLE_INCLUDE = "unreadable-include", Error, "An included file cannot be read";
    WRONG_POLARITY = "wrong-polarity", Error, "An element is entered and left by the same terminal";
    WRONG_QUANTITY = "wrong-quantity", Error, "A quantity is asked of something that does not have it";
    WRONG_UNIT = "wrong-unit", Error, "A value has a unit of another kind";
    WRONG_VALUE = "wrong-value", Error, "A value has a form that its place does not take";
}
