//! What is asked, reported by whoever builds the circuit.

use super::{NEVER, Page};
use crate::registry::Group;

macro_rules! page {
    ($name:literal, $why:literal, $bad:literal, $good:literal, $ignore:expr, $fix:literal) => {
        Page {
            name: $name,
            group: Group::ClaimsAndAnswers,
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
        "duplicate-member",
        "A claim names each element once; a second time another was meant.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim R1, R1 in series\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         claim R1, R2 in series\n",
        NEVER,
        "None: only you know what was meant."
    ),
    page!(
        "wrong-quantity",
        "Not every element has every quantity: charge belongs to capacitors, and a current through a potentiometer has \
         no single meaning.",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find charge of R1\n",
        "battery B1 = 6 V\n\
         resistor R1, R2 = 12 ohm\n\
         B1+ -- R1 -- R2 -- B1-\n\
         find power of R1\n",
        NEVER,
        "None: only you know what was meant."
    ),
];
