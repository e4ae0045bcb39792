//! no-diode-state, several-diode-states, unproved-diodes: what the search for the states of diodes came to.

use ohmline_circuit::ElementId;
use ohmline_solve::Cause;
use ohmline_syntax::{Diagnostic, Severity};

use crate::facts::Facts;
use crate::registry::{Meta, Rule};
use crate::states::{self, ByState};
use crate::wording;

/// No state fits.
pub struct NoDiodeState;
/// More than one state fits.
pub struct SeveralDiodeStates;
/// One fits, and whether others do was not tried.
pub struct UnprovedDiodes;

static NONE_FITS: Meta = Meta {
    name: "no-diode-state",
    severity: Severity::Error,
    summary: "no combination of conducting and blocking diodes fits",
    why: "An ideal diode with a fixed drop straight across a source cannot conduct (the voltages disagree) and cannot block (it is pushed \
          forward). A real diode would carry a very large current for a moment; it needs a resistor in series.",
    bad: "battery B1 = 6 V\ndiode   D1 = 0.7 V\nB1+ -- +D1- -- B1-\n",
    good: "battery  B1 = 6 V\ndiode    D1 = 0.7 V\nresistor R1 = 100 ohm\nB1+ -- R1 -- +D1- -- B1-\n",
};

static SEVERAL_FIT: Meta = Meta {
    name: "several-diode-states",
    severity: Severity::Warning,
    summary: "more than one combination of conducting and blocking diodes fits",
    why: "Where several combinations fit, the model does not decide which of them a real circuit takes. Two equal ideal diodes side by side \
          are the common case: nothing decides which of them conducts.",
    bad: "source   J1 = 20 mA\ndiode    D1, D2 = 0.7 V\nJ1+ -- ( +D1- | +D2- ) -- J1-\n",
    good: "source   J1 = 20 mA\ndiode    D1, D2 = 0.7 V, resistance 5 ohm\nJ1+ -- ( +D1- | +D2- ) -- J1-\n",
};

static UNPROVED: Meta = Meta {
    name: "unproved-diodes",
    severity: Severity::Info,
    summary: "a state of the diodes fits, but whether another does too was not tried",
    why: "With many diodes there are too many combinations to try them all. The one shown satisfies every law; it is not proved to \
          be the only one.",
    bad: "battery  B1 = 12 V\nresistor R1, R2, R3, R4, R5, R6, R7, R8, R9, R10, R11, R12, R13 = 100 ohm\n\
          diode    D1, D2, D3, D4, D5, D6, D7, D8, D9, D10, D11, D12, D13 = 0.7 V\n\
          B1+ -- ( R1 -- +D1- | R2 -- +D2- | R3 -- +D3- | R4 -- +D4- | R5 -- +D5- | R6 -- +D6- | R7 -- +D7- | R8 -- +D8-\n    \
          | R9 -- +D9- | R10 -- +D10- | R11 -- +D11- | R12 -- +D12- | R13 -- +D13- ) -- B1-\n",
    good: "battery  B1 = 12 V\nresistor R1, R2 = 100 ohm\ndiode    D1, D2 = 0.7 V\nB1+ -- ( R1 -- +D1- | R2 -- +D2- ) -- B1-\n",
};

impl Rule for NoDiodeState {
    fn meta(&self) -> &'static Meta {
        &NONE_FITS
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let of = |cause: &Cause| match cause {
            Cause::NoDiodeState { diodes } => Some((diodes.clone(), 0)),
            _ => None,
        };
        report(facts, found, &NONE_FITS, of, |names, _, one| {
            let (can, it) = if one { ("can neither conduct nor block", "its") } else { ("fit in no state", "their") };
            (
                format!("{names} {can}: no current agrees with {it} fixed drop"),
                "Put a resistor in series, or give the diode a resistance",
            )
        });
    }
}

impl Rule for SeveralDiodeStates {
    fn meta(&self) -> &'static Meta {
        &SEVERAL_FIT
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let of = |cause: &Cause| match cause {
            Cause::SeveralDiodeStates { diodes, count } => Some((diodes.clone(), *count)),
            _ => None,
        };
        report(facts, found, &SEVERAL_FIT, of, |names, count, _| {
            let message =
                format!("{names} can be conducting or blocking in {count} ways, all of which satisfy every law");
            (message, "Give each diode a resistance, so that one way remains")
        });
    }
}

fn report(
    facts: &Facts<'_>,
    found: &mut Vec<Diagnostic>,
    meta: &Meta,
    of: impl Fn(&Cause) -> Option<(Vec<ElementId>, usize)>,
    words: impl Fn(&str, usize, bool) -> (String, &'static str),
) {
    let mut all: ByState<Vec<ElementId>, usize> = ByState::new();
    for answers in facts.solved() {
        for (diodes, count) in answers.causes.iter().filter_map(&of) {
            all.add(diodes, answers.state, count);
        }
    }
    for (diodes, seen) in all.into_found() {
        let names = wording::elements(facts.circuit, &diodes);
        let (message, help) = words(&names, seen[0].1, diodes.len() == 1);
        let at = diodes.first().map(|id| facts.place(*id)).unwrap_or_default();
        let mut said = Diagnostic::new(meta.name, meta.severity, at, message).help(help);
        for diode in diodes.iter().skip(1).take(6) {
            said = said.label(facts.place(*diode), facts.name(*diode));
        }
        said.cases = states::cases(facts.circuit, seen.iter().map(|(state, _)| *state));
        found.push(said);
    }
}

impl Rule for UnprovedDiodes {
    fn meta(&self) -> &'static Meta {
        &UNPROVED
    }

    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>) {
        let unproved: Vec<_> =
            facts.solved().filter(|answers| !answers.diodes.is_empty() && !answers.diodes_unique).collect();
        let Some(first) = unproved.first() else { return };
        let count = first.diodes.len();
        let message =
            format!("One state of the {count} diodes satisfies every law; whether it is the only one is not proved");
        let mut said = Diagnostic::new(UNPROVED.name, UNPROVED.severity, facts.place(first.diodes[0].0), message);
        said.cases = states::cases(facts.circuit, unproved.iter().map(|answers| answers.state));
        found.push(said);
    }
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use crate::fixture::rule_says;

    #[test]
    fn a_diode_across_a_battery() {
        rule_says(
            "no-diode-state",
            "battery B1 = 6 V\n\
             diode D1 = 0.7 V\n\
             B1+ -- +D1- -- B1-\n",
            expect![[""]],
        );
    }
}
