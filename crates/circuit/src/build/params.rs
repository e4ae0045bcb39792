//! Declarations to values: `resistor R1 = 9 ohm, tolerance 5%` becomes [`Params`].

use malachite::Rational;
use ohmline_syntax::tree::{Declare, Expr, ExprKind, Name, OptionItem, Value, ValueMain};
use ohmline_syntax::{FileSpan, Safety, Span};

use super::cells::{Content, Reader};
use super::eval::{VALUE_WORDS, names_something};
use super::kinds::{KindWord, OptionSpec};
use super::report::{diagnostic, listed};
use super::{Builder, Site, rules};
use crate::model::{Amount, ElementId, Kind, Params, Throw};
use crate::quantity::{Dimension, Measure, read_unit};

/// What a value may be beside its dimension.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Range {
    /// Anything.
    Any,
    /// Zero or more.
    NotNegative,
    /// More than zero.
    Positive,
    /// Between 0 and 1.
    Share,
}

/// Where a value is read, and for which element.
#[derive(Clone, Copy)]
pub(super) struct Reading {
    pub(super) site: Site,
    pub(super) reader: Option<Reader>,
}

/// What came of a declaration without names, and without anything to report.
struct Literal {
    kind: Kind,
    params: Params,
    /// Whether it is a resistor below an ohm.
    is_small: bool,
}

impl<'a> Builder<'a> {
    /// Whether a declaration's values depend on names, which may be declared further down.
    pub(super) fn is_pending(declare: &Declare) -> bool {
        declare.value.as_ref().is_some_and(|value| {
            // A lone word such as `closed` needs nothing else.
            let word = matches!(&value.main, ValueMain::Expr(Expr { kind: ExprKind::Ref(name), .. })
                if matches!(name.parts.as_slice(), [only] if VALUE_WORDS.contains(&only.text.as_str())));
            !(word && value.at.is_none()) && names_something(value)
        }) || declare.options.iter().any(|option| names_something(&option.value))
    }

    /// The values of an element whose declaration could not be read.
    pub(super) fn unread(kind: KindWord) -> (Kind, Params) {
        let unread = || Amount::Invalid;
        match kind {
            KindWord::Battery => {
                (Kind::Battery, Params::Battery { emf: unread(), internal: None, capacity: None, limit: None })
            }
            KindWord::Source => (Kind::VoltageSource, Params::VoltageSource { voltage: unread(), limit: None }),
            KindWord::Resistor => {
                (Kind::Resistor, Params::Resistor { resistance: unread(), tolerance: None, rating: None })
            }
            KindWord::Lamp => (Kind::Lamp, Params::Lamp { resistance: unread(), rated: None }),
            KindWord::Switch => (Kind::Switch, Params::Switch { closed: None }),
            KindWord::Changeover => (Kind::Changeover, Params::Changeover { throw: None }),
            KindWord::Potentiometer => {
                (Kind::Potentiometer, Params::Potentiometer { resistance: unread(), at: unread(), rating: None })
            }
            KindWord::Fuse => (Kind::Fuse, Params::Fuse { rating: None, resistance: Some(unread()) }),
            KindWord::Ammeter => (Kind::Ammeter, Params::Ammeter { resistance: Some(unread()), range: None }),
            KindWord::Voltmeter => (Kind::Voltmeter, Params::Voltmeter { resistance: Some(unread()), range: None }),
            KindWord::Capacitor => {
                (Kind::Capacitor, Params::Capacitor { capacitance: unread(), initial: None, rating: None })
            }
            KindWord::Electrolytic => {
                (Kind::Electrolytic, Params::Capacitor { capacitance: unread(), initial: None, rating: None })
            }
            KindWord::Inductor => {
                (Kind::Inductor, Params::Inductor { inductance: unread(), initial: None, resistance: Some(unread()) })
            }
            KindWord::Diode => (Kind::Diode, Params::Diode { drop: unread(), resistance: None, limit: None }),
        }
    }

    /// The values of an element whose declaration speaks of no names: they depend on the declaration alone, so what came of it once,
    /// without anything to report, comes of it again.
    pub(super) fn literal_params(
        &mut self,
        kind: KindWord,
        name: &'a Name,
        declare: &'a Declare,
        site: Site,
        id: ElementId,
    ) -> (Kind, Params) {
        if let Some(Literal { kind, params, is_small }) = declare.memo.get() {
            if *is_small && self.recording {
                self.small_resistors.push(id);
            }
            return (*kind, params.clone());
        }
        let (said, small) = (self.report.asked, self.small_resistors.len());
        let (kind, params) = self.params(kind, name, declare, site, id);
        if self.report.asked == said && self.recording {
            let is_small = self.small_resistors.len() > small;
            declare.memo.set(Literal { kind, params: params.clone(), is_small });
        }
        (kind, params)
    }

    /// The values of an element as declared.
    pub(super) fn params(
        &mut self,
        kind: KindWord,
        name: &'a Name,
        declare: &'a Declare,
        site: Site,
        id: ElementId,
    ) -> (Kind, Params) {
        let how = Reading { site, reader: Some(Reader::Element(id)) };
        let (kind_of, mut params) = match &declare.value {
            Some(value) => self.main_value(kind, value, how),
            None => self.without_value(kind, name, declare, site),
        };
        for (index, option) in declare.options.iter().enumerate() {
            let Some(spec) = kind.option(&option.name.text) else {
                let at = site.at(option.name.span);
                let message =
                    format!("{} has no option `{}`", super::eval::capitalized(kind.with_article()), option.name.text);
                let known = kind.options().iter().map(|option| option.name).collect();
                self.report_unknown_option(at, message, &option.name.text, known);
                continue;
            };
            if declare.options[..index].iter().any(|earlier| earlier.name.text == option.name.text) {
                let message = format!("The option `{}` is written twice", option.name.text);
                self.report.add(diagnostic(rules::DUPLICATE_OPTION, site.at(option.name.span), message));
                continue;
            }
            let amount = self.option_value(kind, spec, option, how);
            set_option(&mut params, spec.name, amount);
        }
        (kind_of, params)
    }

    fn without_value(&mut self, kind: KindWord, name: &Name, declare: &Declare, site: Site) -> (Kind, Params) {
        match kind {
            KindWord::Ammeter => (Kind::Ammeter, Params::Ammeter { resistance: None, range: None }),
            KindWord::Voltmeter => (Kind::Voltmeter, Params::Voltmeter { resistance: None, range: None }),
            KindWord::Fuse => (Kind::Fuse, Params::Fuse { rating: None, resistance: None }),
            _ => {
                let at = site.at(name.span);
                let example = kind.example();
                let last = declare.names.last().map_or(name.span, |last| last.span);
                let mut behind = site.at(last);
                behind.span.start = behind.span.end;
                let found = diagnostic(
                    rules::MISSING_VALUE,
                    at,
                    format!("`{}` has no value: {} needs one", name.text, kind.with_article()),
                )
                .help(match kind {
                    KindWord::Switch => "Write `= open` or `= closed`".to_owned(),
                    KindWord::Changeover => "Write `= a` or `= b`, the throw it stands on".to_owned(),
                    _ => format!("Write it as in `= {example}`, or `= ?` to leave it to be found"),
                });
                let found = match kind {
                    KindWord::Switch | KindWord::Changeover | KindWord::Source => {
                        found.fix(format!("Write `= {example}`"), Safety::Asks, behind, format!(" = {example}"))
                    }
                    _ => found.fix("Write `= ?` to leave it to be found", Safety::Asks, behind, " = ?"),
                };
                self.report.add(found);
                Self::unread(kind)
            }
        }
    }

    /// The values that the part behind `=` gives.
    pub(super) fn main_value(&mut self, kind: KindWord, value: &'a Value, how: Reading) -> (Kind, Params) {
        if let Some(at) = &value.at
            && !matches!(kind, KindWord::Lamp | KindWord::Potentiometer)
        {
            let message = format!("`at` has no meaning for {}", kind.with_article());
            let found = diagnostic(rules::WRONG_VALUE, how.site.at(at.span), message)
                .help("It stands in the rating of a lamp, `5 W at 12 V`, and in the setting of a potentiometer, `1 kohm at 40%`");
            self.report.add(found);
        }
        let mut amount = |what: &str, dimension, range| self.amount(value, dimension, range, what, how);
        match kind {
            KindWord::Battery => {
                let emf = amount("the emf of a battery", Dimension::VOLT, Range::Any);
                (Kind::Battery, Params::Battery { emf, internal: None, capacity: None, limit: None })
            }
            KindWord::Source => self.source_value(value, how),
            KindWord::Resistor => {
                let resistance = self.resistance_or_conductance(value, how);
                if let (Amount::Known(known), Some(Reader::Element(id))) = (&resistance, how.reader)
                    && self.recording
                    && *known < 1
                {
                    self.small_resistors.push(id);
                }
                (Kind::Resistor, Params::Resistor { resistance, tolerance: None, rating: None })
            }
            KindWord::Lamp => (Kind::Lamp, self.lamp_value(value, how)),
            KindWord::Switch => {
                let closed = self.word_value(value, "the state of a switch", &["open", "closed"], how);
                (Kind::Switch, Params::Switch { closed: closed.map(|index| index == 1) })
            }
            KindWord::Changeover => {
                let throw = self.word_value(value, "the throw of a changeover", &["a", "b"], how);
                (
                    Kind::Changeover,
                    Params::Changeover { throw: throw.map(|index| if index == 0 { Throw::A } else { Throw::B }) },
                )
            }
            KindWord::Potentiometer => (Kind::Potentiometer, self.potentiometer_value(value, how)),
            KindWord::Fuse => {
                let rating = amount("the rating of a fuse", Dimension::AMPERE, Range::Positive);
                (Kind::Fuse, Params::Fuse { rating: Some(rating), resistance: None })
            }
            KindWord::Ammeter => {
                let resistance = amount("the resistance of an ammeter", Dimension::OHM, Range::NotNegative);
                (Kind::Ammeter, Params::Ammeter { resistance: Some(resistance), range: None })
            }
            KindWord::Voltmeter => {
                let resistance = amount("the resistance of a voltmeter", Dimension::OHM, Range::Positive);
                (Kind::Voltmeter, Params::Voltmeter { resistance: Some(resistance), range: None })
            }
            KindWord::Capacitor | KindWord::Electrolytic => {
                let kind = if kind == KindWord::Capacitor { Kind::Capacitor } else { Kind::Electrolytic };
                let capacitance = amount("the value of a capacitor", Dimension::FARAD, Range::Positive);
                (kind, Params::Capacitor { capacitance, initial: None, rating: None })
            }
            KindWord::Inductor => {
                let inductance = amount("the value of an inductor", Dimension::HENRY, Range::Positive);
                (Kind::Inductor, Params::Inductor { inductance, initial: None, resistance: None })
            }
            KindWord::Diode => {
                let drop = amount("the forward drop of a diode", Dimension::VOLT, Range::NotNegative);
                (Kind::Diode, Params::Diode { drop, resistance: None, limit: None })
            }
        }
    }

    /// An amount of one dimension.
    fn amount(&mut self, value: &'a Value, dimension: Dimension, range: Range, what: &str, how: Reading) -> Amount {
        match self.amount_of(&value.main, &[dimension], range, what, how) {
            Ok(Some(measure)) => Amount::Known(measure.value),
            Ok(None) => Amount::Asked,
            Err(()) => Amount::Invalid,
        }
    }

    /// A measure of one of several dimensions (the first is the one named in messages), `None` for `?`.
    fn amount_of(
        &mut self,
        main: &'a ValueMain,
        dimensions: &[Dimension],
        range: Range,
        what: &str,
        how: Reading,
    ) -> Result<Option<Measure>, ()> {
        let expected = dimensions[0];
        if let ValueMain::Unknown { unit: Some(unit), .. } = main {
            let at = how.site.at(unit.span);
            match read_unit(&unit.text) {
                Ok(read) if dimensions.contains(&read.dimension) => {}
                Ok(read) => {
                    let message = format!(
                        "{} is {}, not {}",
                        super::eval::capitalized(what),
                        expected.describe(),
                        read.dimension.describe()
                    );
                    let mut found = diagnostic(rules::WRONG_UNIT, at, message);
                    if let Some(unit) = expected.unit_word() {
                        found = found.fix(format!("Write `{unit}`"), Safety::Asks, at, unit);
                    }
                    self.report.add(found);
                    return Err(());
                }
                Err(error) => {
                    self.report_unit(error, &unit.text, at, Some(expected), false);
                    return Err(());
                }
            }
        }
        let measure = match self.main_content(main, how.site, how.reader, Some(expected)) {
            Content::Measure(measure) => measure,
            Content::Asked => return Ok(None),
            Content::Invalid => return Err(()),
            Content::Word(word) => {
                if VALUE_WORDS.contains(&word.as_str())
                    && let ValueMain::Expr(expr) = main
                {
                    let unit = expected.unit_word().unwrap_or("no unit");
                    let message = format!("{} is a number in {unit}, not `{word}`", super::eval::capitalized(what));
                    let found = diagnostic(rules::WRONG_VALUE, how.site.at(expr.span), message);
                    self.report.add(found);
                } else {
                    self.report_unknown_word(main, how.site);
                }
                return Err(());
            }
        };
        let ValueMain::Expr(expr) = main else { return Err(()) };
        if !dimensions.contains(&measure.dimension) {
            self.report_dimension(expr, measure.dimension, expected, what, how.site);
            return Err(());
        }
        self.check_range(&measure.value, range, what, how.site.at(expr.span))?;
        Ok(Some(measure))
    }

    fn check_range(&mut self, value: &Rational, range: Range, what: &str, at: FileSpan) -> Result<(), ()> {
        let problem = match range {
            Range::Any => None,
            Range::NotNegative if *value < 0 => Some("cannot be negative"),
            Range::Positive if *value <= 0 => Some("must be more than zero"),
            Range::Share if *value < 0 || *value > 1 => Some("lies between 0% and 100%"),
            _ => None,
        };
        let Some(problem) = problem else { return Ok(()) };
        let message = format!("{} {problem}", super::eval::capitalized(what));
        self.report.add(diagnostic(rules::OUT_OF_RANGE, at, message));
        Err(())
    }

    fn resistance_or_conductance(&mut self, value: &'a Value, how: Reading) -> Amount {
        let what = "the value of a resistor";
        match self.amount_of(&value.main, &[Dimension::OHM, Dimension::SIEMENS], Range::NotNegative, what, how) {
            Ok(Some(measure)) if measure.dimension == Dimension::SIEMENS => {
                if measure.value == 0 {
                    let message =
                        "A conductance of zero conducts nothing: leave the resistor out, or use an open switch";
                    self.report.add(diagnostic(rules::OUT_OF_RANGE, how.site.at(value.span), message));
                    return Amount::Invalid;
                }
                Amount::Known(Rational::from(1) / measure.value)
            }
            Ok(Some(measure)) => Amount::Known(measure.value),
            Ok(None) => Amount::Asked,
            Err(()) => Amount::Invalid,
        }
    }

    fn source_value(&mut self, value: &'a Value, how: Reading) -> (Kind, Params) {
        let what = "the value of a source";
        if let ValueMain::Unknown { span, unit } = &value.main {
            let voltage = |amount| (Kind::VoltageSource, Params::VoltageSource { voltage: amount, limit: None });
            let current = |amount| (Kind::CurrentSource, Params::CurrentSource { drive: amount, limit: None });
            return match unit.as_ref().map(|unit| (unit, read_unit(&unit.text))) {
                Some((_, Ok(read))) if read.dimension == Dimension::VOLT => voltage(Amount::Asked),
                Some((_, Ok(read))) if read.dimension == Dimension::AMPERE => current(Amount::Asked),
                Some((unit, Ok(read))) => {
                    let message =
                        format!("The value of a source is a voltage or a current, not {}", read.dimension.describe());
                    self.report.add(diagnostic(rules::WRONG_UNIT, how.site.at(unit.span), message));
                    voltage(Amount::Invalid)
                }
                Some((unit, Err(error))) => {
                    self.report_unit(error, &unit.text, how.site.at(unit.span), None, false);
                    voltage(Amount::Invalid)
                }
                None => {
                    let at = how.site.at(*span);
                    let found = diagnostic(
                        rules::MISSING_UNIT,
                        at,
                        "A source to be found needs a unit: its value is a voltage or a current",
                    )
                    .fix("Write `? V`: a voltage source", Safety::Asks, at, "? V")
                    .fix("Write `? A`: a current source", Safety::Asks, at, "? A");
                    self.report.add(found);
                    voltage(Amount::Invalid)
                }
            };
        }
        match self.amount_of(&value.main, &[Dimension::VOLT, Dimension::AMPERE], Range::Any, what, how) {
            Ok(Some(measure)) if measure.dimension == Dimension::AMPERE => {
                (Kind::CurrentSource, Params::CurrentSource { drive: Amount::Known(measure.value), limit: None })
            }
            other => {
                let voltage = match other {
                    Ok(Some(measure)) => Amount::Known(measure.value),
                    // `?` handed on by a name: nothing says whether it is a voltage.
                    Ok(None) => Amount::Asked,
                    Err(()) => Amount::Invalid,
                };
                (Kind::VoltageSource, Params::VoltageSource { voltage, limit: None })
            }
        }
    }

    fn lamp_value(&mut self, value: &'a Value, how: Reading) -> Params {
        let invalid = Params::Lamp { resistance: Amount::Invalid, rated: None };
        let Some(at) = &value.at else {
            let resistance = match self.amount_of(
                &value.main,
                &[Dimension::OHM, Dimension::WATT, Dimension::VOLT, Dimension::AMPERE],
                Range::NotNegative,
                "the value of a lamp",
                how,
            ) {
                Ok(Some(measure)) if measure.dimension != Dimension::OHM => {
                    let place = how.site.at(value.span);
                    let given = measure.dimension.describe();
                    let message =
                        format!("{} alone does not tell the resistance of a lamp", super::eval::capitalized(&given));
                    let found = diagnostic(rules::MISSING_VALUE, place, message)
                        .help("Write its power and the voltage it is rated for, as in `5 W at 12 V`");
                    self.report.add(found);
                    Amount::Invalid
                }
                Ok(Some(measure)) => Amount::Known(measure.value),
                Ok(None) => Amount::Asked,
                Err(()) => Amount::Invalid,
            };
            return Params::Lamp { resistance, rated: None };
        };
        let power = self.amount_of(&value.main, &[Dimension::WATT], Range::Positive, "the rated power of a lamp", how);
        let voltage = self.number_of(at, Dimension::VOLT, Range::Positive, "the rated voltage of a lamp", how);
        match (power, voltage) {
            (Ok(Some(power)), Some(voltage)) => Params::Lamp {
                resistance: Amount::Known(&voltage * &voltage / &power.value),
                rated: Some(Box::new((power.value, voltage))),
            },
            (Ok(None), _) => {
                self.report_misplaced_unknown(how.site.at(value.span), "the rated power of a lamp");
                invalid
            }
            _ => invalid,
        }
    }

    fn potentiometer_value(&mut self, value: &'a Value, how: Reading) -> Params {
        let resistance = self.amount(value, Dimension::OHM, Range::Positive, "the value of a potentiometer", how);
        let at = match &value.at {
            Some(at) => self
                .number_of(at, Dimension::NONE, Range::Share, "the setting of a potentiometer", how)
                .map_or(Amount::Invalid, Amount::Known),
            None => {
                let place = how.site.at(value.span);
                let mut behind = place;
                behind.span.start = behind.span.end;
                let found = diagnostic(rules::MISSING_VALUE, place, "The setting of the potentiometer is missing")
                    .help("Write the part that lies between `a` and the wiper, as in `at 40%`")
                    .fix("Write `at 50%`", Safety::Asks, behind, " at 50%");
                self.report.add(found);
                Amount::Invalid
            }
        };
        Params::Potentiometer { resistance, at, rating: None }
    }

    /// The resistance of a potentiometer, its setting left as it is.
    pub(super) fn potentiometer_resistance(&mut self, value: &'a Value, how: Reading) -> Amount {
        self.amount(value, Dimension::OHM, Range::Positive, "the value of a potentiometer", how)
    }

    /// The setting of a potentiometer by itself: `P1.at = 90%`.
    pub(super) fn setting(&mut self, value: &'a Value, how: Reading) -> Amount {
        if let Some(at) = &value.at {
            let found = diagnostic(rules::WRONG_VALUE, how.site.at(at.span), "A setting is a percentage alone");
            self.report.add(found);
            return Amount::Invalid;
        }
        self.amount(value, Dimension::NONE, Range::Share, "the setting of a potentiometer", how)
    }

    /// A number that cannot be left to be found.
    fn number_of(
        &mut self,
        expr: &'a Expr,
        dimension: Dimension,
        range: Range,
        what: &str,
        how: Reading,
    ) -> Option<Rational> {
        let measure = self.eval(expr, how.site, how.reader, Some(dimension))?;
        if measure.dimension != dimension {
            self.report_dimension(expr, measure.dimension, dimension, what, how.site);
            return None;
        }
        self.check_range(&measure.value, range, what, how.site.at(expr.span)).ok()?;
        Some(measure.value)
    }

    fn report_misplaced_unknown(&mut self, at: FileSpan, what: &str) {
        let message = format!("{} cannot be left to be found", super::eval::capitalized(what));
        self.report.add(diagnostic(rules::MISPLACED_UNKNOWN, at, message).help("Write its value, or leave it out"));
    }

    /// Which of the words a value is.
    fn word_value(&mut self, value: &'a Value, what: &str, words: &[&str], how: Reading) -> Option<usize> {
        let at = how.site.at(value.span);
        match self.main_content(&value.main, how.site, how.reader, None) {
            Content::Word(word) => {
                let found = words.iter().position(|known| *known == word);
                if found.is_none() {
                    self.report_word(at, what, &word, words);
                }
                found
            }
            Content::Asked => {
                self.report_misplaced_unknown(at, what);
                None
            }
            Content::Measure(_) => {
                let found = diagnostic(
                    rules::WRONG_VALUE,
                    at,
                    format!(
                        "{} is {}, not a number",
                        super::eval::capitalized(what),
                        listed(words).replace(" and ", " or ")
                    ),
                );
                self.report.add(found);
                None
            }
            Content::Invalid => None,
        }
    }

    /// The value of an option.
    pub(super) fn option_value(
        &mut self,
        kind: KindWord,
        spec: &OptionSpec,
        option: &'a OptionItem,
        how: Reading,
    ) -> Option<Amount> {
        let at = how.site.at(option.name.span);
        self.option_amount(kind, spec, &option.value, at, how)
    }

    pub(super) fn option_amount(
        &mut self,
        kind: KindWord,
        spec: &OptionSpec,
        value: &'a Value,
        name_at: FileSpan,
        how: Reading,
    ) -> Option<Amount> {
        let what = format!("the {} of {}", option_words(spec), kind.with_article());
        if let Some(at) = &value.at {
            let message = format!("`at` has no meaning in {what}");
            self.report.add(diagnostic(rules::WRONG_VALUE, how.site.at(at.span), message));
        }
        let range = match (kind, spec.name) {
            (_, "initial") => Range::Any,
            (_, "capacity" | "limit" | "rating" | "range") => Range::Positive,
            _ => Range::NotNegative,
        };
        match self.amount_of(&value.main, &[spec.dimension], range, &what, how) {
            Ok(Some(measure)) => Some(Amount::Known(measure.value)),
            Ok(None) if spec.may_be_asked => Some(Amount::Asked),
            Ok(None) => {
                let at = FileSpan { span: Span::new(name_at.span.start, how.site.at(value.span).span.end), ..name_at };
                self.report_misplaced_unknown(if name_at.span.end <= at.span.end { at } else { name_at }, &what);
                None
            }
            Err(()) => spec.may_be_asked.then_some(Amount::Invalid),
        }
    }
}

fn option_words(spec: &OptionSpec) -> &'static str {
    match spec.name {
        "internal" => "internal resistance",
        "initial" if spec.dimension == Dimension::VOLT => "initial voltage",
        "initial" => "initial current",
        other => other,
    }
}

/// Puts the value of an option in its place.
pub(super) fn set_option(params: &mut Params, name: &str, amount: Option<Amount>) {
    let Some(amount) = amount else { return };
    let known = || amount.known().cloned().map(Box::new);
    match (params, name) {
        (Params::Battery { internal, .. }, "internal") => *internal = Some(amount),
        (Params::Battery { capacity, .. }, "capacity") => *capacity = known(),
        (
            Params::Battery { limit, .. }
            | Params::VoltageSource { limit, .. }
            | Params::CurrentSource { limit, .. }
            | Params::Diode { limit, .. },
            "limit",
        ) => *limit = known(),
        (Params::Resistor { tolerance, .. }, "tolerance") => *tolerance = known(),
        (
            Params::Resistor { rating, .. } | Params::Potentiometer { rating, .. } | Params::Capacitor { rating, .. },
            "rating",
        ) => *rating = known(),
        (
            Params::Fuse { resistance, .. } | Params::Inductor { resistance, .. } | Params::Diode { resistance, .. },
            "resistance",
        ) => *resistance = Some(amount),
        (Params::Ammeter { range, .. } | Params::Voltmeter { range, .. }, "range") => *range = known(),
        (Params::Capacitor { initial, .. } | Params::Inductor { initial, .. }, "initial") => *initial = known(),
        _ => {}
    }
}
