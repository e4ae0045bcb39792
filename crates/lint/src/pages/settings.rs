//! Rules about settings: what is wrong in an `ohmline.toml`.

use super::Page;
use crate::registry::Group;

/// Why a wrong entry matters.
const ELSE: &str = "Never: what is not read is not in force, and what is usual holds in its place";

pub(super) const PAGES: &[Page] = &[
    Page {
        name: "beyond-class",
        group: Group::ClaimsAndAnswers,
        why: "A sheet is for a class that has met some things and not others. Whoever meets an internal resistance or a diode on it for \
              the first time cannot work it out, however sound the circuit is.",
        bad: "",
        good: "",
        ignore_when: "the teacher means to show what comes next",
        fix: "None: leaving it out makes another circuit.",
    },
    Page {
        name: "silent-hazard",
        group: Group::RatingsAndSafety,
        why: "Voltages that can be touched, stored energy and currents of a short can hurt or kill. Whoever builds a circuit from a \
              file that says nothing of them is not warned. Local codes and licensed practice decide what is safe, not a setting.",
        bad: "",
        good: "",
        ignore_when: "nobody builds what these files describe",
        fix: "None: whether it is right to be silent is for a person to decide.",
    },
    Page {
        name: "unknown-setting",
        group: Group::Writing,
        why: "A slip of the pen in a name would leave the usual in force without a word, and everybody would believe otherwise.",
        bad: "",
        good: "",
        ignore_when: ELSE,
        fix: "Puts the nearest name that there is. It changes no answer, only what is found and how it is said.",
    },
    Page {
        name: "unreadable-settings",
        group: Group::Writing,
        why: "Settings that cannot be read are not in force. What stands before and behind the place in question still is, as far as \
              it can be told apart.",
        bad: "",
        good: "",
        ignore_when: ELSE,
        fix: "None: what was meant cannot be told.",
    },
    Page {
        name: "wrong-setting",
        group: Group::Writing,
        why: "A level, a limit or a choice that cannot be is not in force; what is usual holds in its place. Levels of what makes a \
              circuit unreadable cannot be changed, since every answer may be wrong.",
        bad: "",
        good: "",
        ignore_when: ELSE,
        fix: "Puts the nearest word where a word is needed. It changes no answer, only what is found and how it is said.",
    },
];
