//! What the law of a branch means for the flow of current, whatever its numbers.

use crate::model::{BranchId, Circuit, Fault, Kind, Law, StateId};

/// How a branch takes part in the flow of current.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) enum Nature {
    /// A case has taken the element out.
    #[default]
    Removed,
    /// Carries nothing: an open switch, an ideal voltmeter.
    Open,
    /// Carries current until it is charged.
    Capacitor,
    /// No resistance.
    Short,
    /// Carries current, none at zero volts.
    Passive,
    /// Carries current, perhaps also at zero volts: a source, or something of unknown value that may have no resistance.
    Active,
}

impl Nature {
    /// Of a branch in a state.
    pub(super) fn of(circuit: &Circuit, state: StateId, branch: BranchId) -> Self {
        let element = circuit.branch(branch).element;
        if circuit.states[state.index()].faults.get(&element) == Some(&Fault::Open) {
            return Nature::Removed;
        }
        let kind = circuit.element(element).kind;
        match circuit.law(state, branch) {
            Law::Short => Nature::Short,
            Law::Capacitor { .. } => Nature::Capacitor,
            // A capacitor of unknown size is still a capacitor.
            Law::Open if matches!(kind, Kind::Capacitor | Kind::Electrolytic) => Nature::Capacitor,
            Law::Open => Nature::Open,
            Law::Resistance(_) => Nature::Passive,
            Law::Diode { drop, resistance } if drop != 0 || resistance != 0 => Nature::Passive,
            Law::Unknown if matches!(kind, Kind::Resistor | Kind::Lamp | Kind::Voltmeter) => Nature::Passive,
            Law::Emf { .. } | Law::Drive(_) | Law::Diode { .. } | Law::Unknown => Nature::Active,
        }
    }

    /// Whether nothing passes at any moment.
    pub(super) fn is_gap(self) -> bool {
        matches!(self, Nature::Removed | Nature::Open)
    }
}
