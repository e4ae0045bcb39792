//! The dimension of a quantity, and quantities that carry theirs.

use std::fmt::Write as _;

use malachite::Rational;

use crate::model::Unit;

/// The dimension of a quantity as powers of volt, ampere and second.
///
/// Every unit of the notation is a product of whole powers of these three: an ohm is a volt per ampere, a watt a volt
/// ampere, a farad an ampere second per volt (BIPM, The SI Brochure, 9th edition, table 4).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Default, Debug)]
pub struct Dimension {
    volt: i16,
    ampere: i16,
    second: i16,
}

impl Dimension {
    /// A plain number.
    pub const NONE: Self = Self::of(0, 0, 0);
    /// Voltage.
    pub const VOLT: Self = Self::of(1, 0, 0);
    /// Current.
    pub const AMPERE: Self = Self::of(0, 1, 0);
    /// Time.
    pub const SECOND: Self = Self::of(0, 0, 1);
    /// Frequency.
    pub const HERTZ: Self = Self::of(0, 0, -1);
    /// Resistance.
    pub const OHM: Self = Self::of(1, -1, 0);
    /// Conductance.
    pub const SIEMENS: Self = Self::of(-1, 1, 0);
    /// Power.
    pub const WATT: Self = Self::of(1, 1, 0);
    /// Capacitance.
    pub const FARAD: Self = Self::of(-1, 1, 1);
    /// Inductance.
    pub const HENRY: Self = Self::of(1, -1, 1);
    /// Charge.
    pub const COULOMB: Self = Self::of(0, 1, 1);
    /// Energy.
    pub const JOULE: Self = Self::of(1, 1, 1);

    const fn of(volt: i16, ampere: i16, second: i16) -> Self {
        Self { volt, ampere, second }
    }

    /// The dimension of a product; `None` when a power grows out of all reason.
    pub fn times(self, other: Self) -> Option<Self> {
        Some(Self::of(
            self.volt.checked_add(other.volt)?,
            self.ampere.checked_add(other.ampere)?,
            self.second.checked_add(other.second)?,
        ))
    }

    /// The dimension of a quotient; `None` when a power grows out of all reason.
    pub fn over(self, other: Self) -> Option<Self> {
        Some(Self::of(
            self.volt.checked_sub(other.volt)?,
            self.ampere.checked_sub(other.ampere)?,
            self.second.checked_sub(other.second)?,
        ))
    }

    /// The unit of this dimension as it is typed, `ohm`, if it has one of its own.
    pub fn unit_word(self) -> Option<&'static str> {
        self.known().map(|(_, unit)| unit).filter(|unit| !unit.is_empty())
    }

    /// What it is, with an article: `a resistance`, `a plain number`, `a quantity in V^2 A`.
    pub fn describe(self) -> String {
        if let Some((name, _)) = self.known() {
            return name.to_owned();
        }
        let mut text = "a quantity in".to_owned();
        for (symbol, power) in [("V", self.volt), ("A", self.ampere), ("s", self.second)] {
            // Writing to a string cannot fail.
            let _ = match power {
                0 => Ok(()),
                1 => write!(text, " {symbol}"),
                _ => write!(text, " {symbol}^{power}"),
            };
        }
        text
    }

    fn known(self) -> Option<(&'static str, &'static str)> {
        Some(match self {
            Self::NONE => ("a plain number", ""),
            Self::VOLT => ("a voltage", "V"),
            Self::AMPERE => ("a current", "A"),
            Self::SECOND => ("a time", "s"),
            Self::HERTZ => ("a frequency", "Hz"),
            Self::OHM => ("a resistance", "ohm"),
            Self::SIEMENS => ("a conductance", "S"),
            Self::WATT => ("a power", "W"),
            Self::FARAD => ("a capacitance", "F"),
            Self::HENRY => ("an inductance", "H"),
            Self::COULOMB => ("a charge", "C"),
            Self::JOULE => ("an energy", "J"),
            _ => return None,
        })
    }
}

/// A value in SI base units with its dimension.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Measure {
    /// The value, exact.
    pub value: Rational,
    /// Its dimension.
    pub dimension: Dimension,
}

impl Unit {
    /// The symbol used in outputs: `Ω`, `V`; empty for a plain number.
    pub const fn symbol(self) -> &'static str {
        match self {
            Unit::Ohm => "Ω",
            Unit::Volt => "V",
            Unit::Ampere => "A",
            Unit::Watt => "W",
            Unit::Farad => "F",
            Unit::Henry => "H",
            Unit::Coulomb => "C",
            Unit::Joule => "J",
            Unit::Second => "s",
            Unit::One => "",
        }
    }

    /// The spelling in the notation and in JSON: `ohm`, `V`; empty for a plain number.
    pub const fn word(self) -> &'static str {
        match self {
            Unit::Ohm => "ohm",
            other => other.symbol(),
        }
    }

    /// The dimension it measures.
    pub const fn dimension(self) -> Dimension {
        match self {
            Unit::Ohm => Dimension::OHM,
            Unit::Volt => Dimension::VOLT,
            Unit::Ampere => Dimension::AMPERE,
            Unit::Watt => Dimension::WATT,
            Unit::Farad => Dimension::FARAD,
            Unit::Henry => Dimension::HENRY,
            Unit::Coulomb => Dimension::COULOMB,
            Unit::Joule => Dimension::JOULE,
            Unit::Second => Dimension::SECOND,
            Unit::One => Dimension::NONE,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// BIPM, The SI Brochure, 9th edition, table 4: each derived unit in terms of others.
    #[test]
    fn derived_units_follow_from_volt_ampere_and_second() {
        let v = Dimension::VOLT;
        let a = Dimension::AMPERE;
        let s = Dimension::SECOND;
        assert_eq!(v.over(a), Some(Dimension::OHM));
        assert_eq!(a.over(v), Some(Dimension::SIEMENS));
        assert_eq!(v.times(a), Some(Dimension::WATT));
        assert_eq!(a.times(s), Some(Dimension::COULOMB));
        assert_eq!(Dimension::COULOMB.over(v), Some(Dimension::FARAD));
        assert_eq!(v.times(s).and_then(|weber| weber.over(a)), Some(Dimension::HENRY));
        assert_eq!(Dimension::WATT.times(s), Some(Dimension::JOULE));
        assert_eq!(Dimension::NONE.over(s), Some(Dimension::HERTZ));
        assert_eq!(Dimension::OHM.times(Dimension::FARAD), Some(s));
    }

    #[test]
    fn absurd_powers_are_refused() {
        let mut dimension = Dimension::VOLT;
        let grown = (0..20).try_for_each(|_| {
            dimension = dimension.times(dimension)?;
            Some(())
        });
        assert_eq!(grown, None);
    }

    #[test]
    fn dimensions_are_described() {
        assert_eq!(Dimension::OHM.describe(), "a resistance");
        assert_eq!(
            Dimension::VOLT.times(Dimension::VOLT).map(Dimension::describe).as_deref(),
            Some("a quantity in V^2")
        );
    }
}
