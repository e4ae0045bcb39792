//! Sentences and equations whose numbers are still exact: a view rounds them when it writes them.

use malachite::Rational;
use ohmline_circuit::Unit;

/// A number in a sentence, exact, in SI base units.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Figure {
    /// The value.
    pub value: Rational,
    /// Its unit.
    pub unit: Unit,
    /// Whether it is given (written as the user wrote it) rather than worked out.
    pub given: bool,
}

impl Figure {
    /// A number that is worked out.
    pub fn new(value: &Rational, unit: Unit) -> Self {
        Self { value: value.clone(), unit, given: false }
    }

    /// A resistance, in ohms.
    pub fn ohm(value: &Rational) -> Self {
        Self::new(value, Unit::Ohm)
    }

    /// A voltage, in volts.
    pub fn volt(value: &Rational) -> Self {
        Self::new(value, Unit::Volt)
    }

    /// A current, in amperes.
    pub fn ampere(value: &Rational) -> Self {
        Self::new(value, Unit::Ampere)
    }

    /// The same number, given by the user.
    pub fn given(self) -> Self {
        Self { given: true, ..self }
    }

    /// The same number, given if `given`.
    pub(crate) fn given_if(self, given: bool) -> Self {
        Self { given, ..self }
    }
}

/// A stretch of a line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Piece {
    /// Words, names and signs.
    Text(String),
    /// A number.
    Figure(Figure),
}

/// A sentence, or one side of an equation.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Line(pub Vec<Piece>);

impl Line {
    /// Fills the figures into the places marked `#` of the template, in order. No name of the notation holds a `#`.
    pub fn of(template: &str, figures: impl IntoIterator<Item = Figure>) -> Self {
        let mut figures = figures.into_iter();
        let mut pieces = Vec::new();
        for (index, text) in template.split('#').enumerate() {
            if index > 0
                && let Some(figure) = figures.next()
            {
                pieces.push(Piece::Figure(figure));
            }
            if !text.is_empty() {
                pieces.push(Piece::Text(text.to_owned()));
            }
        }
        Self(pieces)
    }

    /// Words without a number.
    pub fn text(text: impl Into<String>) -> Self {
        Self(vec![Piece::Text(text.into())])
    }

    /// The numbers in it.
    pub fn figures(&self) -> impl Iterator<Item = &Figure> {
        self.0.iter().filter_map(|piece| match piece {
            Piece::Figure(figure) => Some(figure),
            Piece::Text(_) => None,
        })
    }

    /// The line followed by another.
    #[must_use]
    pub fn and(mut self, other: Line) -> Self {
        self.0.extend(other.0);
        self
    }
}

/// Sides that are equal, from the symbol through the formula and the numbers put in to the result.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Equation {
    /// Two sides or more.
    pub sides: Vec<Line>,
}

impl Equation {
    /// Begins with what stands on the left.
    pub fn new(left: impl Into<String>) -> Self {
        Self { sides: vec![Line::text(left)] }
    }

    /// Goes on with a formula without numbers.
    #[must_use]
    pub fn is(mut self, formula: impl Into<String>) -> Self {
        self.sides.push(Line::text(formula));
        self
    }

    /// Goes on with numbers put in; see [`Line::of`].
    #[must_use]
    pub fn put(mut self, template: &str, figures: impl IntoIterator<Item = Figure>) -> Self {
        self.sides.push(Line::of(template, figures));
        self
    }

    /// Ends with a number.
    #[must_use]
    pub fn gives(mut self, figure: Figure) -> Self {
        self.sides.push(Line(vec![Piece::Figure(figure)]));
        self
    }
}

/// One line of a step.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Statement {
    /// A sentence, with its final period.
    Say(Line),
    /// An equation.
    Equation(Equation),
}

impl Statement {
    /// A sentence without a number.
    pub fn say(text: impl Into<String>) -> Self {
        Statement::Say(Line::text(text))
    }
}

/// `R1`, `R1 and R2`, `R1, R2 and R3`.
pub(crate) fn list<T: AsRef<str>>(names: &[T]) -> String {
    match names {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [most @ .., last] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", most.join(", "), last.as_ref())
        }
    }
}

/// The form of a verb for so many subjects.
pub(crate) const fn verb(count: usize, one: &'static str, many: &'static str) -> &'static str {
    if count == 1 { one } else { many }
}
