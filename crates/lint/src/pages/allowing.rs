//! Comments that allow a rule.

use super::Page;
use crate::registry::Group;

/// One entry a rule, by name.
pub const PAGES: &[Page] = &[
    Page {
        name: "missing-reason",
        group: Group::Writing,
        why: "What looks wrong and is right needs a word for the next reader, who may be you in a year. So a comment allows a rule \
              only with a reason behind a colon.",
        bad: "battery  B1 = 6 V\n\
              # allow off-series\n\
              resistor R1 = 210 ohm, tolerance 5%\n\
              B1+ -- R1 -- B1-\n",
        good: "battery  B1 = 6 V\n\
               # allow off-series: wound by hand for the fog bell\n\
               resistor R1 = 210 ohm, tolerance 5%\n\
               B1+ -- R1 -- B1-\n",
        ignore_when: "never; a few words are quickly written",
        fix: "Writes the colon where a reason follows. Answers stay.",
    },
    Page {
        name: "unknown-rule",
        group: Group::Writing,
        why: "A comment that allows a rule by a wrong name allows nothing. The name of a rule stands beside each of its findings.",
        bad: "battery  B1 = 6 V\n\
              # allow of-series: wound by hand for the fog bell\n\
              resistor R1 = 210 ohm, tolerance 5%\n\
              B1+ -- R1 -- B1-\n",
        good: "battery  B1 = 6 V\n\
               # allow off-series: wound by hand for the fog bell\n\
               resistor R1 = 210 ohm, tolerance 5%\n\
               B1+ -- R1 -- B1-\n",
        ignore_when: "an older version is used beside this one, which does not know the rule yet",
        fix: "Writes the nearest name of a rule. Answers stay.",
    },
    Page {
        name: "unused-allow",
        group: Group::Writing,
        why: "A comment that allows what is not there any more would hide the same mistake when it is made again.",
        bad: "battery  B1 = 6 V\n\
              resistor R1 = 12 ohm\n\
              B1+ -- R1 -- B1-  # allow open-end: the lamp comes later\n",
        good: "battery  B1 = 6 V\n\
               resistor R1 = 12 ohm\n\
               B1+ -- R1 -- B1-\n",
        ignore_when: "the text is made by a program that allows the same in every file",
        fix: "Takes the comment out, or the name of the rule if it allows others too. Answers stay.",
    },
];
