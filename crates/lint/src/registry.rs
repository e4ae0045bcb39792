//! The list of all rules.

use std::sync::LazyLock;

use ohmline_circuit::build::BUILD_RULES;
use ohmline_syntax::diagnostic::SYNTAX_RULES;
use ohmline_syntax::{Diagnostic, Severity};
use rustc_hash::FxHashMap;

use crate::allow::ALLOW_RULES;
use crate::facts::Facts;
use crate::pages::{self, Page};
use crate::rules::*;

/// What a rule is about.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Group {
    /// Slips of the pen: text that does not follow the notation.
    Writing,
    /// Names, files, parts and repeats.
    Names,
    /// What is joined to what.
    Connections,
    /// Batteries and sources.
    Sources,
    /// What looks in series or in parallel.
    SeriesAndParallel,
    /// Ammeters and voltmeters.
    Meters,
    /// Switches and cases.
    SwitchesAndCases,
    /// Values and units.
    ValuesAndUnits,
    /// Ratings and safety.
    RatingsAndSafety,
    /// Claims, questions, readings.
    ClaimsAndAnswers,
    /// How the text looks.
    Style,
}

impl Group {
    /// All groups, in the order in which they are listed.
    pub const ALL: &[Group] = &[
        Group::Writing,
        Group::Names,
        Group::Connections,
        Group::Sources,
        Group::SeriesAndParallel,
        Group::Meters,
        Group::SwitchesAndCases,
        Group::ValuesAndUnits,
        Group::RatingsAndSafety,
        Group::ClaimsAndAnswers,
        Group::Style,
    ];

    /// The heading of the group: `Series and parallel`.
    pub const fn title(self) -> &'static str {
        match self {
            Group::Writing => "Writing",
            Group::Names => "Names, files and parts",
            Group::Connections => "Connections",
            Group::Sources => "Sources",
            Group::SeriesAndParallel => "Series and parallel",
            Group::Meters => "Meters",
            Group::SwitchesAndCases => "Switches and cases",
            Group::ValuesAndUnits => "Values and units",
            Group::RatingsAndSafety => "Ratings and safety",
            Group::ClaimsAndAnswers => "Claims and answers",
            Group::Style => "Style",
        }
    }

    /// The word by which settings and other programs speak of the group: `series-and-parallel`.
    pub const fn word(self) -> &'static str {
        match self {
            Group::Writing => "writing",
            Group::Names => "names",
            Group::Connections => "connections",
            Group::Sources => "sources",
            Group::SeriesAndParallel => "series-and-parallel",
            Group::Meters => "meters",
            Group::SwitchesAndCases => "switches-and-cases",
            Group::ValuesAndUnits => "values-and-units",
            Group::RatingsAndSafety => "ratings-and-safety",
            Group::ClaimsAndAnswers => "claims-and-answers",
            Group::Style => "style",
        }
    }

    /// The group of this word.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|group| group.word() == word)
    }
}

/// What everyone may know about a rule.
#[derive(Clone, Copy, Debug)]
pub struct Meta {
    /// Two or three words for what is wrong.
    pub name: &'static str,
    /// How bad it usually is.
    pub severity: Severity,
    /// What it is about.
    pub group: Group,
    /// One line.
    pub summary: &'static str,
    /// Why it matters in a real circuit.
    pub why: &'static str,
    /// A file that fires exactly this rule; empty where no single file can.
    pub bad: &'static str,
    /// The same file, mended.
    pub good: &'static str,
    /// When it is right to ignore it; no final period.
    pub ignore_when: &'static str,
    /// What its fix does, and what that does to the answers; or why it has none.
    pub fix: &'static str,
}

/// A rule that looks at the finished analysis. Rules reported by the parser or the builder have only a [`Meta`], whose words stand in a page of their own.
pub trait Rule: Sync {
    /// What everyone may know about it.
    fn meta(&self) -> &'static Meta;
    /// Reports what it finds.
    fn check(&self, facts: &Facts<'_>, found: &mut Vec<Diagnostic>);
}

/// Every rule that looks at the finished analysis, by what it is about.
pub const RULES: &[&dyn Rule] = &[
    // Connections.
    &open_end::OpenEnd,
    &floating_piece::FloatingPiece,
    &dead_branch::DeadBranch,
    &no_source::NoSource,
    &shorted_element::ShortedElement,
    &near_names::NearNames,
    &same_points::SamePoints,
    &undriven_loop::UndrivenLoop,
    // Sources.
    &shorted_source::ShortedSource,
    &source_conflict::SourceConflict,
    &undecided_share::UndecidedShare,
    &charging_cell::ChargingCell,
    &opposed_sources::OpposedSources,
    &zero_source::ZeroSource,
    &missing_internal::MissingInternal,
    &circulating_current::CirculatingCurrent,
    &soon_empty::SoonEmpty,
    &voltage_sag::VoltageSag,
    &powerless_part::PowerlessPart,
    &negative_source::NegativeSource,
    &blocking_diode::BlockingDiode,
    // Series and parallel.
    &split_series::SplitSeries,
    &half_parallel::HalfParallel,
    &hidden_parallel::HiddenParallel,
    &hidden_series::HiddenSeries,
    &balanced_bridge::BalancedBridge,
    &not_reducible::NotReducible,
    &changing_shape::ChangingShape,
    // Meters, diodes, capacitors.
    &ammeter_across::AmmeterAcross,
    &voltmeter_in_line::VoltmeterInLine,
    &over_range::OverRange,
    &no_diode_state::NoDiodeState,
    &reversed_electrolytic::ReversedElectrolytic,
    &meter_loading::MeterLoading,
    &reversed_meter::ReversedMeter,
    &small_reading::SmallReading,
    // Claims and questions.
    &false_claim::FalseClaim,
    &common_cause::CommonCause,
    &claim_holds::ClaimHolds,
    &failed_measurement::FailedMeasurement,
    &undetermined_answer::UndeterminedAnswer,
    &not_solved_yet::NotSolvedYet,
    &slipped_prefix::SlippedPrefix,
    &lost_sign::LostSign,
    &wrong_state::WrongState,
    &wrong_element::WrongElement,
    &known_slip::KnownSlip,
    &readings_clash::ReadingsClash,
    &loose_claim::LooseClaim,
    &needless_given::NeedlessGiven,
    &given_answer::GivenAnswer,
    &zero_answer::ZeroAnswer,
    &hidden_slip::HiddenSlip,
    &repeated_question::RepeatedQuestion,
    &needless_digits::NeedlessDigits,
    // Ratings and safety.
    &fuse_blows::FuseBlows,
    &over_rating::OverRating,
    &over_limit::OverLimit,
    &touch_voltage::TouchVoltage,
    &short_circuit_current::ShortCircuitCurrent,
    &stored_energy::StoredEnergy,
    &idle_fuse::IdleFuse,
    &near_rating::NearRating,
    &dim_lamp::DimLamp,
    &single_fault::SingleFault,
    &opened_coil::OpenedCoil,
    &sudden_charge::SuddenCharge,
    &bare_diode::BareDiode,
    // Switches and cases.
    &empty_case::EmptyCase,
    &twin_cases::TwinCases,
    &idle_switch::IdleSwitch,
    &never_closed::NeverClosed,
    &bypass_switch::BypassSwitch,
    &dead_throw::DeadThrow,
    &open_switch_voltage::OpenSwitchVoltage,
    // Values and units.
    &zero_resistance::ZeroResistance,
    &off_series::OffSeries,
    &swamped_resistor::SwampedResistor,
    &false_precision::FalsePrecision,
    &unit_in_divisor::UnitInDivisor,
    &unlikely_current::UnlikelyCurrent,
    &unused_value::UnusedValue,
    // Style.
    &unused_part::UnusedPart,
    &mixed_spelling::MixedSpelling,
    &odd_letter::OddLetter,
    &twin_names::TwinNames,
    &name_gap::NameGap,
    &needless_wire::NeedlessWire,
    &deep_group::DeepGroup,
    &crowded_path::CrowdedPath,
];

/// Rules that are reported by whoever reads the files or runs the stages: name, severity, summary.
pub const READING_RULES: &[(&str, Severity, &str)] = &[
    ("beyond-class", Severity::Warning, "The circuit needs something that the class has not met yet."),
    ("foreign-encoding", Severity::Warning, "The file is not UTF-8."),
    ("silent-hazard", Severity::Info, "Settings silence what is said about something that can hurt."),
    ("too-many-cases", Severity::Error, "There are too many cases of too large a circuit to solve them all."),
    ("unknown-setting", Severity::Error, "Settings speak of something that there is none of."),
    ("unreadable-settings", Severity::Error, "The file of settings is no TOML, or cannot be read."),
    ("wrong-setting", Severity::Error, "A setting has a value that it cannot have."),
];

/// Every rule whose name can appear in a diagnostic: those of [`RULES`], those that the parser, the builder and whoever reads
/// the files report, and those about comments that allow something.
pub fn all_metas() -> &'static [Meta] {
    static METAS: LazyLock<Vec<Meta>> = LazyLock::new(|| {
        let mut metas: Vec<Meta> = RULES.iter().map(|rule| *rule.meta()).collect();
        for &(name, severity, summary) in SYNTAX_RULES.iter().chain(BUILD_RULES).chain(READING_RULES).chain(ALLOW_RULES)
        {
            // Some are reported by both: by the parser for the form, by the builder for the meaning.
            if metas.iter().all(|meta| meta.name != name) {
                metas.push(of_reading(name, severity, summary));
            }
        }
        metas
    });
    &METAS
}

/// A rule that is reported while files are read, with its page.
fn of_reading(name: &'static str, severity: Severity, summary: &'static str) -> Meta {
    let summary = summary.trim_end_matches('.');
    let bare =
        Meta { name, severity, group: Group::Writing, summary, why: "", bad: "", good: "", ignore_when: "", fix: "" };
    match pages::page(name) {
        Some(&Page { group, why, bad, good, ignore_when, fix, .. }) => {
            Meta { group, why, bad, good, ignore_when, fix, ..bare }
        }
        None => bare,
    }
}

/// What is known about the rule of this name.
pub fn meta(name: &str) -> Option<&'static Meta> {
    static BY_NAME: LazyLock<FxHashMap<&str, &Meta>> =
        LazyLock::new(|| all_metas().iter().map(|meta| (meta.name, meta)).collect());
    BY_NAME.get(name).copied()
}
